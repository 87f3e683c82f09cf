//! A smooth rising curve that is dear to evaluate: looked up between points that are worked out where somebody asks.
//!
//! Intervals are halved until the cubic through value and slope at both ends has those of the curve in the middle. Which points
//! there are depends on the curve alone: an answer is the same whatever was asked before, and in every thread.

use std::sync::OnceLock;

/// A point of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Value of the curve there.
    pub value: f64,
    /// Derivative of the value there.
    pub slope: f64,
}

/// Width of the intervals before any is halved.
const WIDTH: f64 = 0.5;
/// What a slope that is off moves the value on the way to a quarter of the interval.
const MOST_TURN: f64 = 0.25;
/// How often an interval is halved at most: down to 2e-6.
const MOST_HALVINGS: usize = 18;

/// A curve of one variable over a range, refined where it is asked for.
#[derive(Debug)]
pub struct RefinedCurve {
    low: f64,
    tolerance: f64,
    intervals: Box<[OnceLock<Interval>]>,
}

/// A stretch of the curve between two points.
#[derive(Debug)]
struct Interval {
    from: Point,
    to: Point,
    /// Its halves; none where the cubic between its ends will do.
    halves: OnceLock<Option<Box<[Interval; 2]>>>,
}

impl RefinedCurve {
    /// A curve from `low` to `high`, to be met within `tolerance`.
    pub fn new(low: f64, high: f64, tolerance: f64) -> RefinedCurve {
        let number = ((high - low) / WIDTH).ceil().max(1.0) as usize;
        RefinedCurve { low, tolerance, intervals: (0..number).map(|_| OnceLock::new()).collect() }
    }

    /// Value and slope at `x`, which are those of `curve`; outside the range it is asked itself.
    pub fn at(&self, x: f64, curve: impl Fn(f64) -> Point) -> Point {
        let position = (x - self.low) / WIDTH;
        // Written so that what is no number is outside.
        if !(position >= 0.0 && position < self.intervals.len() as f64) {
            return curve(x);
        }
        let index = position as usize;
        let (mut from, mut width) = (self.low + index as f64 * WIDTH, WIDTH);
        let mut interval = self.intervals[index].get_or_init(|| Interval::new(curve(from), curve(from + WIDTH)));
        for halvings in 0..=MOST_HALVINGS {
            let halves = interval.halves.get_or_init(|| {
                let middle = curve(from + 0.5 * width);
                let cubic = interval.cubic(0.5, width);
                // The value alone may agree at random beside a corner; the slope of a smooth curve is met better than its value.
                let off = (cubic.value - middle.value).abs().max(MOST_TURN * width * (cubic.slope - middle.slope).abs());
                let met = off <= self.tolerance;
                let small = halvings == MOST_HALVINGS;
                let halves = || Box::new([Interval::new(interval.from, middle), Interval::new(middle, interval.to)]);
                (!met && !small).then(halves)
            });
            let Some(halves) = halves else { break };
            width *= 0.5;
            let second = usize::from(x >= from + width);
            from += width * second as f64;
            interval = &halves[second];
        }
        interval.cubic((x - from) / width, width)
    }
}

impl Interval {
    fn new(from: Point, to: Point) -> Interval {
        Interval { from, to, halves: OnceLock::new() }
    }

    /// The cubic that has value and slope of both ends, at a share of the way (Hermite).
    fn cubic(&self, share: f64, width: f64) -> Point {
        let (a, b) = (self.from.slope * width, self.to.slope * width);
        let rise = self.to.value - self.from.value;
        let (bend, turn) = (3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise);
        let value = self.from.value + share * (a + share * (bend + share * turn));
        Point { value, slope: (a + share * (2.0 * bend + 3.0 * share * turn)) / width }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::cell::Cell;

    /// Smooth but for a corner at 0.3.
    fn bent(x: f64) -> Point {
        let corner = (x - 0.3).max(0.0);
        Point { value: x.exp() + 0.1 * corner, slope: x.exp() + if x > 0.3 { 0.1 } else { 0.0 } }
    }

    #[test]
    fn a_second_question_nearby_costs_nothing() {
        let (curve, asked) = (RefinedCurve::new(-2.0, 2.0, 1e-9), Cell::new(0));
        let counted = |x: f64| {
            asked.set(asked.get() + 1);
            bent(x)
        };
        curve.at(-0.4, counted);
        let first = asked.get();
        curve.at(-0.400_01, counted);
        assert!(first < 20 && asked.get() == first, "{first}, {}", asked.get());
    }

    proptest! {
        #[test]
        fn values_are_met_within_tolerance_and_do_not_depend_on_earlier_questions(x in -2.5f64..2.5, other in -2.0f64..2.0) {
            let curve = RefinedCurve::new(-2.0, 2.0, 1e-9);
            let first = curve.at(x, bent);
            // The corner lies in an interval of 2e-6; the bend of the curve there is 0.1.
            prop_assert!((first.value - bent(x).value).abs() <= 1e-7);
            if (x - 0.3).abs() > 1e-5 {
                prop_assert!((first.value - bent(x).value).abs() <= 1e-8);
                prop_assert!((first.slope - bent(x).slope).abs() <= 1e-4);
            }
            let again = RefinedCurve::new(-2.0, 2.0, 1e-9);
            again.at(other, bent);
            prop_assert_eq!(again.at(x, bent), first);
        }
    }
}
