//! From a chart to the description of its figure: columns chosen and checked, axes with their units.
//!
//! What is special to a kind of figure is in its siblings.

use super::front::with_front;
use super::{Chart, Style};
use crate::figure::{Axis, CurveStyle, Figure};
use crate::quantity::UnitSystem;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::table::{Cell, Column, Kind, Values};

/// Columns chosen and checked, and the unit system they show in.
pub struct Drawing<'a> {
    pub chart: &'a Chart,
    pub system: UnitSystem,
}

impl Drawing<'_> {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self) -> Answer<Figure> {
        let chart = self.chart;
        if let Some(figure) = self.special()? {
            return Ok(self.dressed(figure));
        }
        let missing = |what: &str| {
            let names = chart.table.names().join(", ");
            ScriptError::new(format!("the chart does not know what stands on its {what} axis"))
                .with_hint(format!("say .{what}(\"...\") with a column of the table: {names}"))
        };
        let x_name = chart.x.as_deref().ok_or_else(|| missing("x"))?;
        if chart.y.is_empty() {
            return Err(missing("y").into());
        }
        let x = chart.table.column(x_name).map_err(raise)?;
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
                    let error = ScriptError::new(format!("the column '{x_name}' holds texts; lines need numbers along x"));
                    return Err(error.with_hint("leave .lines() out for bars, or choose another column").into());
                }
                let series = self.curves(x_name)?;
                match chart.front {
                    Some(front) => with_front(x_axis, y_axis, curve, series, front)?,
                    None => Figure::curves(x_axis, y_axis, curve, series),
                }
            }
            // Drawn above.
            Style::Histogram | Style::Boxes | Style::Heat(_) | Style::Swings(_) => return Err(missing("x").into()),
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
    pub fn needed(&self, axis: &str) -> Answer<&str> {
        let said = if axis == "x" { self.chart.x.as_deref() } else { self.chart.y.first().map(String::as_str) };
        let names = self.chart.table.names().join(", ");
        said.ok_or_else(|| {
            let error = ScriptError::new(format!("the chart does not know what stands on its {axis} axis"));
            error.with_hint(format!("say .{axis}(\"...\") with a column of the table: {names}")).into()
        })
    }

    /// The values of a column of numbers, as shown. Errors: an unknown column, or one of texts.
    pub fn numbers(&self, name: &str) -> Answer<(Vec<Option<f64>>, Kind)> {
        let column = self.chart.table.column(name).map_err(raise)?;
        if !column.kind().is_numeric() {
            return Err(ScriptError::new(format!("the column '{name}' holds no numbers"))
                .with_hint("choose another column")
                .into());
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
    pub fn y_axis(&self) -> Answer<(Axis, Kind)> {
        let names = &self.chart.y;
        let first = self.chart.table.column(&names[0]).map_err(raise)?.kind();
        for name in names {
            let kind = self.chart.table.column(name).map_err(raise)?.kind();
            if !kind.is_numeric() {
                return Err(
                    ScriptError::new(format!("the column '{name}' holds no numbers and cannot stand on the y axis")).into()
                );
            }
            if !kind.fits(first) {
                let error = ScriptError::new(format!(
                    "'{}' and '{name}' are of different dimensions and cannot share the y axis",
                    names[0]
                ));
                return Err(error.with_hint("draw two charts").into());
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
