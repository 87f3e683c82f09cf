//! Days and hours in which watering is allowed, and when a schedule waters outside of them.

use super::schedule::{Allowed, CalendarDays, Hours, Interval, Schedule, clock};
use crate::moment::Moment;
use crate::quantity::DAY_S;

/// A timer that waters when it may not.
#[derive(Clone, Debug, PartialEq)]
pub struct Breach {
    /// The opening.
    pub interval: Interval,
    /// Its first moment that is not allowed, seconds after midnight of the first day.
    pub at_s: f64,
}

impl Allowed {
    /// In words, as in `on odd days, 18:00 to 10:00`.
    pub fn in_words(&self) -> String {
        let hours = format!("{} to {}", clock(self.hours.from_s), clock(self.hours.to_s));
        self.days.as_ref().map_or_else(|| hours.clone(), |days| format!("{}, {hours}", days.in_words()))
    }

    /// The first moment of an opening that is not allowed. Without the date of the first day only hours are known.
    fn first_breach_s(&self, interval: &Interval, first_date: Option<Moment>) -> Option<f64> {
        let first_day = (interval.from_s / DAY_S).floor() as u32;
        let last_day = (interval.to_s / DAY_S).ceil() as u32;
        (first_day..last_day.max(first_day + 1)).find_map(|day| {
            let midnight_s = f64::from(day) * DAY_S;
            let (from_s, to_s) = ((interval.from_s - midnight_s).max(0.0), (interval.to_s - midnight_s).min(DAY_S));
            let is_allowed = |days: &CalendarDays| {
                first_date.and_then(|first| first.later_by(midnight_s)).is_none_or(|date| days.contains(date.date()))
            };
            if !self.days.as_ref().is_none_or(is_allowed) {
                return Some(midnight_s + from_s);
            }
            self.hours.first_outside_s(from_s, to_s).map(|at_s| midnight_s + at_s)
        })
    }
}

impl Hours {
    /// The end, s after the midnight before the beginning: beyond a day where it is in the next morning.
    pub fn end_s(&self) -> f64 {
        if self.to_s <= self.from_s { self.to_s + DAY_S } else { self.to_s }
    }

    /// The first time of the day between two that is outside of them.
    fn first_outside_s(&self, from_s: f64, to_s: f64) -> Option<f64> {
        let Hours { from_s: begin_s, to_s: end_s } = *self;
        if begin_s == end_s {
            return None;
        }
        if begin_s < end_s {
            return if from_s < begin_s { Some(from_s) } else { (to_s > end_s).then_some(from_s.max(end_s)) };
        }
        (to_s > end_s && from_s < begin_s).then_some(from_s.max(end_s))
    }
}

impl Schedule {
    /// The openings by timers before a time that are not allowed, in the order in which they begin; none without a rule, and
    /// where the schedule is not sound.
    pub fn breaches(&self, until_s: f64) -> Vec<Breach> {
        let (Some(allowed), Ok(intervals)) = (&self.allowed, self.intervals(until_s)) else { return Vec::new() };
        let by_timer = intervals.into_iter().filter(|interval| interval.timer.is_some());
        let breach = |interval: Interval| {
            allowed.first_breach_s(&interval, self.first_date).map(|at_s| Breach { interval: interval.clone(), at_s })
        };
        by_timer.filter_map(breach).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn opening(from_s: f64, to_s: f64) -> Interval {
        Interval { from_s, to_s, name: "beds".into(), timer: Some("east".into()) }
    }

    fn hours(from_h: u32, to_h: u32) -> Hours {
        Hours { from_s: 3600.0 * f64::from(from_h), to_s: 3600.0 * f64::from(to_h) }
    }

    proptest! {
        #[test]
        fn the_first_moment_outside_is_the_one_that_second_by_second_looking_finds(
            begin_h in 0u32..24, end_h in 0u32..24, from_min in 0u32..4000, lasting_min in 1u32..1500,
        ) {
            let allowed = Allowed { days: None, hours: hours(begin_h, end_h) };
            let (from_s, to_s) = (60 * from_min, 60 * (from_min + lasting_min));
            let is_inside = |time_s: u32| {
                let of_day = time_s % 86_400;
                if begin_h == end_h { true } else if begin_h < end_h { (3600 * begin_h..3600 * end_h).contains(&of_day) } else { !(3600 * end_h..3600 * begin_h).contains(&of_day) }
            };
            let found = allowed.first_breach_s(&opening(f64::from(from_s), f64::from(to_s)), None);
            let expected = (from_s..to_s).step_by(60).find(|&time_s| !is_inside(time_s)).map(f64::from);
            prop_assert_eq!(found, expected);
        }
    }

    #[test]
    fn days_are_those_of_the_calendar() {
        let first = crate::moment::Date::new(2026, 7, 1).expect("a date").moment();
        let allowed = Allowed { days: Some(CalendarDays::Odd), hours: hours(0, 24) };
        let breach = |day: f64| allowed.first_breach_s(&opening(day * DAY_S + 3600.0, day * DAY_S + 7200.0), Some(first));
        assert_eq!((breach(0.0), breach(1.0), breach(2.0)), (None, Some(DAY_S + 3600.0), None));
        // Through midnight into an even day.
        assert_eq!(allowed.first_breach_s(&opening(DAY_S - 600.0, DAY_S + 600.0), Some(first)), Some(DAY_S));
        let evenings = Allowed { hours: hours(18, 10), ..allowed };
        assert_eq!(evenings.in_words(), "on odd days, 18:00 to 10:00");
    }
}
