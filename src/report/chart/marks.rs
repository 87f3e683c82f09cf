//! Marks and bands of a chart, in the units of its axes; refused where their dimension fits none.
//!
//! Where their labels stand is the work of `crate::figure`.

use super::ChartError;
use super::drawing::Drawing;
use crate::figure::{Figure, MarkedAxis};
use crate::quantity::Quantity;
use crate::table::ColumnKind;

impl Drawing<'_> {
    /// One mark on the axis of its dimension, y where both fit. Errors: neither fits.
    pub fn mark(&self, figure: Figure, x: ColumnKind, y: ColumnKind, value: Quantity, label: &str) -> Result<Figure, ChartError> {
        let dimension = |kind: ColumnKind| match kind {
            ColumnKind::Quantity { dimension, .. } => Some(dimension),
            _ => None,
        };
        let fits = |kind: ColumnKind| dimension(kind) == Some(value.dimension);
        if fits(y) {
            return Ok(figure.marked(MarkedAxis::Y, y.shown_value(value.si, self.system), label));
        }
        if fits(x) {
            return Ok(figure.marked(MarkedAxis::X, x.shown_value(value.si, self.system), label));
        }
        Err(ChartError::MarkOnNoAxis { value, x: dimension(x), y: dimension(y) })
    }

    /// All marks on the level axis, which shows values of this kind.
    pub fn marked_on_x(&self, mut figure: Figure, kind: ColumnKind) -> Result<Figure, ChartError> {
        for (value, label) in &self.chart.marks {
            let fits = matches!(kind, ColumnKind::Quantity { dimension, .. } if dimension == value.dimension);
            if !fits {
                return Err(ChartError::MarkUnlikeValues { value: *value });
            }
            figure = figure.marked(MarkedAxis::X, kind.shown_value(value.si, self.system), label.as_str());
        }
        Ok(figure)
    }

    /// Times of a band on the x axis. Errors: of another dimension than it.
    pub fn spans(&self, spans: &[(Quantity, Quantity)], x_name: &str, kind: ColumnKind) -> Result<Vec<(f64, f64)>, ChartError> {
        let fits = |value: &Quantity| matches!(kind, ColumnKind::Quantity { dimension, .. } if dimension == value.dimension);
        if let Some((start, _)) = spans.iter().find(|(start, end)| !fits(start) || !fits(end)) {
            return Err(ChartError::BandUnlike { start: *start, x: x_name.into() });
        }
        let shown = |value: &Quantity| kind.shown_value(value.si, self.system);
        Ok(spans.iter().map(|(start, end)| (shown(start), shown(end))).collect())
    }
}
