//! Which options have a meaning for which kind of chart: one that has none is an error, so that nothing that was said is left out.

use super::drawing::Drawing;
use super::{Chart, ChartError, Style};
use crate::figure::Axis;
use crate::quantity::Quantity;
use crate::table::ColumnKind;

/// One option: its name, whether it was said, and the kinds of charts for which it has a meaning.
type Rule = (&'static str, fn(&Chart) -> bool, &'static [&'static str]);

const CURVES: &str = "lines or points";
const BARS: &str = "bars";
const HISTOGRAM: &str = "a histogram";
const ECDF: &str = "an ecdf";
const BOXES: &str = "boxes";
const HEAT: &str = "a heat map";
const TORNADO: &str = "a tornado";

const RULES: &[Rule] = &[
    ("y", |chart| !chart.y.is_empty(), &[CURVES, BARS, BOXES, HEAT, TORNADO]),
    ("by", |chart| chart.by.is_some(), &[CURVES, BARS, HISTOGRAM, ECDF, BOXES, TORNADO]),
    ("bands", |chart| !chart.bands.is_empty(), &[CURVES]),
    ("from_above", |chart| chart.above.is_some(), &[CURVES]),
    ("names_from", |chart| chart.names.is_some(), &[CURVES]),
    ("pareto_front", |chart| chart.front.is_some(), &[CURVES]),
    ("fan", |chart| chart.fan, &[CURVES]),
    ("equality_line", |chart| chart.equality, &[CURVES]),
    ("x_limits", |chart| chart.x_limits.is_some(), &[CURVES, HISTOGRAM, ECDF]),
    ("y_limits", |chart| chart.y_limits.is_some(), &[CURVES, BARS, BOXES, TORNADO]),
    ("x_log", |chart| chart.x_log, &[CURVES, ECDF, HEAT]),
    ("y_log", |chart| chart.y_log, &[CURVES, BOXES, HEAT]),
];

impl Drawing<'_> {
    /// Errors: an option without a meaning for this kind of chart, or two that contradict each other.
    pub fn check_options(&self) -> Result<(), ChartError> {
        let chart = self.chart;
        let kind = match self.style()? {
            Style::Curves(_) => CURVES,
            Style::Bars => BARS,
            Style::Histogram => HISTOGRAM,
            Style::Ecdf => ECDF,
            Style::Boxes => BOXES,
            Style::Heat(_) => HEAT,
            Style::Tornado(_) => TORNADO,
        };
        for (option, is_said, kinds) in RULES {
            if is_said(chart) && !kinds.contains(&kind) {
                return Err(ChartError::NoMeaning { option, kind, kinds });
            }
        }
        if chart.fan && chart.front.is_some() {
            return Err(ChartError::NoMeaning { option: "pareto_front", kind: "a fan", kinds: &["points"] });
        }
        if kind == BOXES && chart.y.len() > 1 {
            return Err(ChartError::OneColumn { kind, found: chart.y.len() });
        }
        Ok(())
    }

    /// An axis with the limits and the scale that were said for x or y. Errors: limits of another dimension than its column.
    pub fn scaled(&self, axis: Axis, which: &'static str, kind: ColumnKind) -> Result<Axis, ChartError> {
        let (limits, log) =
            if which == "x" { (self.chart.x_limits, self.chart.x_log) } else { (self.chart.y_limits, self.chart.y_log) };
        let axis = if log { axis.log() } else { axis };
        let Some((low, high)) = limits else { return Ok(axis) };
        let fits = |value: &Quantity| matches!(kind, ColumnKind::Quantity { dimension, .. } if dimension == value.dimension);
        match [low, high].into_iter().find(|value| !fits(value)) {
            Some(value) => Err(ChartError::LimitUnlike { axis: which, value }),
            None => Ok(axis.within(kind.shown_value(low.si, self.system), kind.shown_value(high.si, self.system))),
        }
    }
}
