//! Marks and bands of a chart, in the units of its axes; refused where their dimension fits none.
//!
//! Where their labels stand is the work of `crate::figure`.

use super::drawing::Drawing;
use crate::figure::{Figure, MarkedAxis};
use crate::quantity::{Dimension, Quantity};
use crate::script::language::error::{Answer, ScriptError};
use crate::table::Kind;

impl Drawing<'_> {
    /// One mark on the axis of its dimension, y where both fit. Errors: neither fits.
    pub fn mark(&self, figure: Figure, x: Kind, y: Kind, value: Quantity, label: &str) -> Answer<Figure> {
        let dimension = |kind: Kind| match kind {
            Kind::Quantity { dimension, .. } => Some(dimension),
            _ => None,
        };
        let fits = |kind: Kind| dimension(kind) == Some(value.dimension);
        if fits(y) {
            return Ok(figure.marked(MarkedAxis::Y, y.shown_value(value.si, self.system), label));
        }
        if fits(x) {
            return Ok(figure.marked(MarkedAxis::X, x.shown_value(value.si, self.system), label));
        }
        let words =
            |kind: Kind| dimension(kind).map_or_else(|| "texts".to_string(), |dimension: Dimension| dimension.to_string());
        let what = format!("mark: {} fits neither axis: x is {}, y is {}", value.described(), words(x), words(y));
        Err(ScriptError::new(what).into())
    }

    /// All marks on the level axis, which shows values of this kind.
    pub fn marked_on_x(&self, mut figure: Figure, kind: Kind) -> Answer<Figure> {
        for (value, label) in &self.chart.marks {
            let fits = matches!(kind, Kind::Quantity { dimension, .. } if dimension == value.dimension);
            if !fits {
                let what = format!("mark: {} does not fit the values of the chart", value.described());
                return Err(ScriptError::new(what).with_hint("marks are of the dimension of the values").into());
            }
            figure = figure.marked(MarkedAxis::X, kind.shown_value(value.si, self.system), label.as_str());
        }
        Ok(figure)
    }

    /// Times of a band on the x axis. Errors: of another dimension than it.
    pub fn spans(&self, spans: &[(Quantity, Quantity)], x_name: &str, kind: Kind) -> Answer<Vec<(f64, f64)>> {
        let fits = |value: &Quantity| matches!(kind, Kind::Quantity { dimension, .. } if dimension == value.dimension);
        if let Some((start, _)) = spans.iter().find(|(start, end)| !fits(start) || !fits(end)) {
            let what = format!("bands: {} is not on the axis of '{x_name}'", start.described());
            return Err(ScriptError::new(what).with_hint("give starts and ends in the unit of the x axis").into());
        }
        let shown = |value: &Quantity| kind.shown_value(value.si, self.system);
        Ok(spans.iter().map(|(start, end)| (shown(start), shown(end))).collect())
    }
}
