//! From a chart to the description of its figure: columns chosen and checked, axes with their units.
//!
//! What is special to a kind of figure is in its siblings.

use super::ChartError;
use super::front::with_front;
use super::{Chart, Style};
use crate::figure::{Axis, CurveStyle, Figure};
use crate::quantity::UnitSystem;
use crate::table::{Cell, Column, Kind, Values};

/// Columns chosen and checked, and the unit system they show in.
pub struct Drawing<'a> {
    pub chart: &'a Chart,
    pub system: UnitSystem,
}

impl Drawing<'_> {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self) -> Result<Figure, ChartError> {
        let chart = self.chart;
        if let Some(figure) = self.special()? {
            return Ok(self.dressed(figure));
        }
        let x_name = self.needed("x")?;
        self.needed("y")?;
        let x = chart.table.column(x_name)?;
        let style =
            chart.style.clone().unwrap_or(if x.kind().is_numeric() { Style::Curves(CurveStyle::Lines) } else { Style::Bars });
        let (y_axis, y_kind) = self.y_axis()?;
        let x_axis = self.axis(x_name, x.kind());
        let mut figure = match style {
            Style::Bars => {
                let (categories, series) = self.bars(x_name)?;
                Figure::bars(x_axis, y_axis, categories, series)
            }
            Style::Curves(curve) => {
                if !x.kind().is_numeric() {
                    return Err(ChartError::TextsAlongX { name: x_name.into() });
                }
                let series = self.curves(x_name)?;
                match chart.front {
                    Some(front) => with_front(x_axis, y_axis, curve, series, front)?,
                    None => Figure::curves(x_axis, y_axis, curve, series),
                }
            }
            // Drawn above.
            Style::Histogram | Style::Boxes | Style::Heat(_) | Style::Swings(_) => return Err(self.missing("x")),
        };
        for (name, spans) in &chart.bands {
            figure = figure.band(name.as_str(), self.spans(spans, x_name, x.kind())?);
        }
        for (value, label) in &chart.marks {
            figure = self.mark(figure, x.kind(), y_kind, *value, label)?;
        }
        if let (Some(names), true) = (&chart.names, x.kind().is_numeric()) {
            figure = self.named_points(figure, names, x_name)?;
        }
        if let Some(by) = &chart.by {
            figure = figure.legend(by.as_str());
        }
        Ok(self.dressed(figure))
    }

    /// With title and size.
    fn dressed(&self, figure: Figure) -> Figure {
        let titled = match &self.chart.title {
            Some(title) => figure.titled(title.as_str()),
            None => figure,
        };
        match self.chart.size {
            Some((width, height)) => titled.sized(width, height),
            None => titled,
        }
    }

    /// The first column said for an axis.
    pub fn needed(&self, axis: &'static str) -> Result<&str, ChartError> {
        let said = if axis == "x" { self.chart.x.as_deref() } else { self.chart.y.first().map(String::as_str) };
        said.ok_or_else(|| self.missing(axis))
    }

    fn missing(&self, axis: &'static str) -> ChartError {
        ChartError::NoColumn { axis, names: self.chart.table.names() }
    }

    /// The values of a column of numbers, as shown. Errors: an unknown column, or one of texts.
    pub fn numbers(&self, name: &str) -> Result<(Vec<Option<f64>>, Kind), ChartError> {
        let column = self.chart.table.column(name)?;
        if !column.kind().is_numeric() {
            return Err(ChartError::NoNumbers { name: name.into() });
        }
        Ok((self.shown(&column), column.kind()))
    }

    /// An axis that is labelled with the name and unit of a column.
    pub fn axis(&self, name: &str, kind: Kind) -> Axis {
        let axis = Axis::new(name);
        match kind.unit_text(self.system) {
            Some(unit) => axis.unit(unit),
            None => axis,
        }
    }

    /// The y axis: all its columns must be of one dimension.
    pub fn y_axis(&self) -> Result<(Axis, Kind), ChartError> {
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
