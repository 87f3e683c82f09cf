//! The columns of a chart, chosen and checked, and axes with their units.

use super::Chart;
use super::ChartError;
use crate::figure::Axis;
use crate::quantity::UnitSystem;
use crate::table::{Cell, Column, ColumnKind, Values};

/// Columns chosen and checked, and the unit system they show in.
pub struct Drawing<'a> {
    pub chart: &'a Chart,
    pub system: UnitSystem,
}

impl Drawing<'_> {
    /// The first column said for an axis.
    pub fn needed(&self, axis: &'static str) -> Result<&str, ChartError> {
        let said = if axis == "x" { self.chart.x.as_deref() } else { self.chart.y.first().map(String::as_str) };
        said.ok_or_else(|| self.missing(axis))
    }

    pub fn missing(&self, axis: &'static str) -> ChartError {
        ChartError::NoColumn { axis, names: self.chart.table.names() }
    }

    /// The values of a column of numbers, as shown. Errors: an unknown column, or one of texts.
    pub fn numbers(&self, name: &str) -> Result<(Vec<Option<f64>>, ColumnKind), ChartError> {
        let column = self.chart.table.column(name)?;
        if !column.kind().is_numeric() {
            return Err(ChartError::NoNumbers { name: name.into() });
        }
        Ok((self.shown(&column), column.kind()))
    }

    /// An axis that is labeled with the name and unit of a column.
    pub fn axis(&self, name: &str, kind: ColumnKind) -> Axis {
        let axis = Axis::new(name);
        match kind.unit_text(self.system) {
            None if kind.is_clock() => axis.clocks(),
            Some(unit) => axis.unit(unit),
            None => axis,
        }
    }

    /// The y axis: all its columns must be of one dimension.
    pub fn y_axis(&self) -> Result<(Axis, ColumnKind), ChartError> {
        let names = &self.chart.y;
        let first = self.chart.table.column(&names[0])?.kind();
        for name in names {
            let kind = self.chart.table.column(name)?.kind();
            if !kind.is_numeric() {
                return Err(ChartError::NoNumbersOnY { name: name.clone() });
            }
            if !kind.fits(first) {
                return Err(ChartError::Unlike { first: names[0].clone(), other: name.clone() });
            }
        }
        let common = names.iter().map(|name| name.rsplit('.').next().unwrap_or(name)).collect::<Vec<_>>();
        let label = if names.len() == 1 {
            names[0].clone()
        } else if common.iter().all(|word| *word == common[0]) {
            common[0].to_string()
        } else {
            names.join(", ")
        };
        Ok((self.axis(&label, first), first))
    }

    /// The values of a column in the unit it shows in.
    pub fn shown(&self, column: &Column) -> Vec<Option<f64>> {
        let kind = column.kind();
        match &column.values {
            Values::Quantities { si, .. } => kind.shown_values(si, self.system),
            _ => vec![None; column.len()],
        }
    }

    /// A cell as it stands in a legend or below bars.
    pub fn key_in_words(&self, key: &Cell) -> String {
        key.show(self.system)
    }
}
