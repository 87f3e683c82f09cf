//! From numbers to pixels: the range an axis shows, and where a number lies along it.

use super::description::{Axis, AxisScale, Zero};
use super::ticks::{Tick, clocks, linear, logarithmic, round_out, round_out_clocks};
use crate::numeric::lowest_and_highest;

/// Ends around values are round where the axis has about this number of ticks.
const ROUND_TICKS: usize = 8;

impl Axis {
    /// The same around these values, at least one, with round ends: a mark farther away has an arrow at the edge of the plot.
    pub fn around(self, values: &[f64]) -> Axis {
        let (low, high) = choose_range(values, &self, Fit::Rounded, ROUND_TICKS);
        self.within(low, high)
    }
}

/// How a range is chosen around the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fit {
    /// The data reach from end to end.
    Snug,
    /// A little room at both ends.
    Padded,
    /// Widened to whole ticks.
    Rounded,
}

/// A range of numbers laid along a range of pixels.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    pub kind: AxisScale,
    pub low: f64,
    pub high: f64,
    /// Where `low` and `high` lie.
    pub pixels: (f64, f64),
}

impl Scale {
    /// Where a number lies; on a logarithmic axis it is above zero.
    pub fn px(&self, value: f64) -> f64 {
        let along = |value: f64| if self.kind == AxisScale::Log { value.log10() } else { value };
        let share = (along(value) - along(self.low)) / (along(self.high) - along(self.low));
        self.pixels.0 + share * (self.pixels.1 - self.pixels.0)
    }

    pub fn holds(&self, value: f64) -> bool {
        let slack = 1e-9 * (self.high - self.low);
        value >= self.low - slack && value <= self.high + slack
    }

    /// The most ticks.
    pub fn ticks(&self, most: usize) -> Vec<Tick> {
        match self.kind {
            AxisScale::Linear => linear(self.low, self.high, most),
            AxisScale::Log => logarithmic(self.low, self.high, most),
            AxisScale::Clock => clocks(self.low, self.high, most),
        }
    }
}

/// The ends of an axis that shows `values` (drawable, above zero on a logarithmic axis, at least one).
///
/// An upright axis starts at zero where its data begin within 30 % of their largest value from it; a level one, which the
/// data fill from end to end, only within 3 %. Equal values are shown against zero, so
/// that noise in the last digits is not blown up to a mountain range.
pub(super) fn choose_range(values: &[f64], axis: &Axis, fit: Fit, most_ticks: usize) -> (f64, f64) {
    if let Some(range) = axis.range {
        return range;
    }
    let reach = axis.reach.filter(|(low, _)| axis.scale != AxisScale::Log || *low > 0.0);
    let (low, high) = lowest_and_highest(values.iter().copied().chain(reach.into_iter().flat_map(|(low, high)| [low, high])));
    match axis.scale {
        AxisScale::Log => log_range(low, high, fit),
        AxisScale::Clock => clock_range(low, high, axis.zero, fit, most_ticks),
        AxisScale::Linear => linear_range(low, high, axis.zero, fit, most_ticks),
    }
}

fn log_range(low: f64, high: f64, fit: Fit) -> (f64, f64) {
    if high / low < 1.0 + 1e-9 {
        return (low / 2.0, high * 2.0);
    }
    let room = if fit == Fit::Snug { 1.0 } else { (high / low).powf(0.04) };
    (low / room, high * room)
}

/// Hours; midnight is no better an end than any other time.
fn clock_range(low: f64, high: f64, zero: Zero, fit: Fit, most_ticks: usize) -> (f64, f64) {
    let low = if zero == Zero::Always { low.min(0.0) } else { low };
    // Equal times get half an hour on both sides.
    let (low, high) = if high - low < 1e-6 { (low - 0.5, high + 0.5) } else { (low, high) };
    let (round_low, round_high) = round_out_clocks(low, high, most_ticks);
    match fit {
        Fit::Snug => (low, high),
        Fit::Padded => (low - 0.03 * (high - low), high + 0.03 * (high - low)),
        Fit::Rounded => (round_low, round_high),
    }
}

fn linear_range(low: f64, high: f64, zero: Zero, fit: Fit, most_ticks: usize) -> (f64, f64) {
    let largest = low.abs().max(high.abs());
    if largest < 1e-90 {
        return (0.0, 1.0);
    }
    let equal = high - low <= 1e-9 * largest;
    let (mut start, mut end) = (low, high);
    let share = if fit == Fit::Rounded { 0.3 } else { 0.03 };
    let near = |edge: f64| zero == Zero::Always || equal || edge.abs() <= share * largest;
    if low > 0.0 && near(low) {
        start = 0.0;
    } else if high < 0.0 && near(high) {
        end = 0.0;
    }
    if equal {
        return (start * if start < 0.0 { 1.25 } else { 1.0 }, end * if end > 0.0 { 1.25 } else { 1.0 });
    }
    let room = 0.03 * (end - start);
    let (roomy_start, roomy_end) = (if start == 0.0 { 0.0 } else { start - room }, if end == 0.0 { 0.0 } else { end + room });
    match fit {
        Fit::Snug => {
            // A tick just beyond the data is worth reaching for.
            let (round_start, round_end) = round_out(start, end, most_ticks);
            (if start - round_start < room { round_start } else { start }, if round_end - end < room { round_end } else { end })
        }
        Fit::Padded => (roomy_start, roomy_end),
        Fit::Rounded => {
            let (round_start, round_end) = round_out(start, end, most_ticks);
            // Data on the very edge get room instead of another whole step.
            (round_start.min(roomy_start), round_end.max(roomy_end))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn data_that_begin_near_zero_start_at_zero() {
        assert_eq!(choose_range(&[25.0, 300.0], &Axis::new("y"), Fit::Rounded, 8).0, 0.0);
        assert_eq!(choose_range(&[25.0, 300.0], &Axis::new("x"), Fit::Snug, 8), (25.0, 300.0));
        assert_eq!(choose_range(&[5.0, 300.0], &Axis::new("x"), Fit::Snug, 8), (0.0, 300.0));
        assert_eq!(choose_range(&[52.0, 61.0], &Axis::new("y"), Fit::Snug, 8), (52.0, 61.0));
        assert_eq!(choose_range(&[52.0, 61.0], &Axis::new("y").from_zero(), Fit::Snug, 8).0, 0.0);
    }

    #[test]
    fn equal_values_are_shown_against_zero() {
        assert_eq!(choose_range(&[40.0, 40.0], &Axis::new("y"), Fit::Rounded, 8), (0.0, 50.0));
        assert_eq!(choose_range(&[-4.0], &Axis::new("y"), Fit::Rounded, 8), (-5.0, 0.0));
        assert_eq!(choose_range(&[0.0, 0.0], &Axis::new("y"), Fit::Rounded, 8), (0.0, 1.0));
    }

    #[test]
    fn an_axis_of_times_of_the_day_does_not_reach_for_midnight() {
        let axis = Axis::new("start").clocks();
        assert_eq!(choose_range(&[5.5, 21.25], &axis, Fit::Rounded, 8), (4.0, 22.0));
        assert_eq!(choose_range(&[5.5, 21.25], &axis, Fit::Snug, 8), (5.5, 21.25));
        assert_eq!(choose_range(&[6.0], &axis, Fit::Snug, 8), (5.5, 6.5));
        let scale = Scale { kind: AxisScale::Clock, low: 5.5, high: 7.0, pixels: (0.0, 1.0) };
        let labels: Vec<String> = scale.ticks(4).into_iter().map(|tick| tick.label).collect();
        assert_eq!(labels, ["05:30", "06:00", "06:30", "07:00"]);
    }

    #[test]
    fn a_logarithmic_axis_puts_the_ratio_mean_in_the_middle() {
        let scale = Scale { kind: AxisScale::Log, low: 1.0, high: 100.0, pixels: (0.0, 200.0) };
        assert_relative_eq!(scale.px(10.0), 100.0, max_relative = 1e-12);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        #[test]
        fn the_range_holds_all_data_and_its_ticks_lie_inside(values in prop::collection::vec(0.001f64..1e5, 1..20), shift in -1e5f64..1e5) {
            for fit in [Fit::Snug, Fit::Padded, Fit::Rounded] {
                for (kind, shift) in [(AxisScale::Linear, shift), (AxisScale::Log, 0.0)] {
                    let values: Vec<f64> = values.iter().map(|value| value + shift).collect();
                    let axis = Axis { scale: kind, ..Axis::new("y") };
                    let (low, high) = choose_range(&values, &axis, fit, 8);
                    prop_assert!(low < high, "{low} to {high}");
                    let scale = Scale { kind, low, high, pixels: (300.0, 20.0) };
                    prop_assert!(values.iter().all(|value| scale.holds(*value)), "{low} to {high} for {values:?}");
                    for tick in scale.ticks(8) {
                        prop_assert!(scale.holds(tick.value), "{} in {low} to {high}", tick.value);
                    }
                }
            }
        }

        #[test]
        fn pixels_go_evenly_from_end_to_end(low in -100.0f64..100.0, span in 0.1f64..1000.0, share in 0.0f64..1.0) {
            let scale = Scale { kind: AxisScale::Linear, low, high: low + span, pixels: (300.0, 20.0) };
            prop_assert!((scale.px(low + share * span) - (300.0 - 280.0 * share)).abs() < 1e-9);
            let log = Scale { kind: AxisScale::Log, low: span, high: 10.0 * span, pixels: (0.0, 100.0) };
            prop_assert!((log.px(span * 10f64.powf(share)) - 100.0 * share).abs() < 1e-9);
        }
    }
}
