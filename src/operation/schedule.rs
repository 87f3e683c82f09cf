//! Schedules: which valve opens when. Timers run their zones one after another; demands are opened by hand.
//!
//! Time zero is midnight of the first day, which has a date where days of the week or of the month matter. A schedule knows names only; whether a garden has them is asked when it is run (`lend_ranges`).

use super::error::OperationError;
use crate::garden::Garden;
use crate::moment::{Date, Moment, WEEKDAYS};
use crate::parts::Id;
use crate::quantity::{DAY_S, Preference, Quantity, dim, unit_for_size};

/// Openings and overlaps of one run at most: ten zones, twice a day, for more than a century.
const MOST_OPENINGS: usize = 1_000_000;

/// A tick of the clock, s. Times of a schedule are whole ticks, and so, up to centuries, are their sums: an opening has the same
/// time of the day on every day, to the last bit.
pub(super) const TICK_S: f64 = 1.0 / 65_536.0;

/// A time in whole ticks, s; one that is above zero is at least a tick.
pub(super) fn ticked(time_s: f64) -> f64 {
    let ticks = (time_s / TICK_S).round();
    if ticks == 0.0 && time_s > 0.0 { TICK_S } else { ticks * TICK_S }
}

/// A timer with its zones, which run one after another.
#[derive(Clone, Debug, PartialEq)]
pub struct Timer {
    /// Its name, by which reports and findings name the timer.
    pub name: String,
    /// Times of the day at which it starts, s.
    pub starts_s: Vec<f64>,
    /// From one start to the same start again, s; a day by default.
    pub every_s: f64,
    /// The first day on which it starts; 1 by default.
    pub first_day: u32,
    /// Days that are left out, counted from 1.
    pub skipped_days: Vec<u32>,
    /// Days of the calendar on which it starts; all where there are none.
    pub calendar: Option<CalendarDays>,
    /// Share of the run time that each zone runs; 1 by default.
    pub adjustment: f64,
    /// Rest between two zones, s.
    pub pause_s: f64,
    /// Zones with how long each runs, s.
    pub zones: Vec<(String, f64)>,
    /// Lowest and highest pressure at which its own valves work, as of a hose-end timer.
    pub range: Option<[Quantity; 2]>,
}

/// Days of the calendar on which a timer starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CalendarDays {
    /// Days of the week, counted from Monday, 0 to 6.
    Weekdays(Vec<usize>),
    /// Days of the month with an odd number.
    Odd,
    /// Days of the month with an even number.
    Even,
}

impl CalendarDays {
    /// Whether a date is one of them.
    pub fn contains(&self, date: Date) -> bool {
        match self {
            CalendarDays::Weekdays(days) => days.contains(&date.days_since_monday()),
            CalendarDays::Odd => !date.day().is_multiple_of(2),
            CalendarDays::Even => date.day().is_multiple_of(2),
        }
    }

    /// In words, as in `on Mon, Thu`.
    pub fn in_words(&self) -> String {
        match self {
            CalendarDays::Weekdays(days) => {
                let names: Vec<&str> = days.iter().filter_map(|day| WEEKDAYS.get(*day).copied()).collect();
                format!("on {}", names.join(", "))
            }
            CalendarDays::Odd => "on odd days".into(),
            CalendarDays::Even => "on even days".into(),
        }
    }
}

/// Hours of every day in which water may run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hours {
    /// The beginning, s after midnight.
    pub from_s: f64,
    /// The end, s after midnight; at or before the beginning it is on the next day.
    pub to_s: f64,
}

/// Days and hours in which timers may water.
#[derive(Clone, Debug, PartialEq)]
pub struct Allowed {
    /// The days; all where there are none.
    pub days: Option<CalendarDays>,
    /// The hours. Those after midnight belong to the day that has begun then.
    pub hours: Hours,
}

/// Something that is opened by hand: a valve or a demand.
#[derive(Clone, Debug, PartialEq)]
pub struct HandOpening {
    /// Name of the valve or demand.
    pub name: String,
    /// Time of the first opening, s.
    pub at_s: f64,
    /// How long it stays open each time, s; above zero.
    pub lasting_s: f64,
    /// From one opening to the next, s; none for a single one.
    pub every_s: Option<f64>,
}

/// What opens when.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Schedule {
    /// The timers; each runs its own zones, whatever the others do.
    pub timers: Vec<Timer>,
    /// What is opened by hand.
    pub by_hand: Vec<HandOpening>,
    /// The date of the first day.
    pub first_date: Option<Moment>,
    /// Pressure that the garden holds at the beginning where that is more than the supply gives at rest, Pa.
    pub held_pa: Option<f64>,
    /// Days and hours in which timers may water; any where there is no rule.
    pub allowed: Option<Allowed>,
}

/// A time in which something is open.
#[derive(Clone, Debug, PartialEq)]
pub struct Interval {
    /// When it opens, seconds after midnight of the first day.
    pub from_s: f64,
    /// When it closes, seconds after midnight of the first day.
    pub to_s: f64,
    /// The valve or demand.
    pub name: String,
    /// The timer that opens it; none when it is opened by hand.
    pub timer: Option<String>,
}

/// Two openings at the same time, of two timers, by hand and by timer, or of one timer that begins again before it is done.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlap {
    /// When the later of the two begins, seconds after midnight of the first day.
    pub from_s: f64,
    /// When the earlier of the two ends, seconds after midnight of the first day.
    pub to_s: f64,
    /// The opening that begins first.
    pub first: Interval,
    /// The opening that begins while the first still runs.
    pub second: Interval,
}

impl Timer {
    /// A timer without starts and zones yet.
    pub fn new(name: &str) -> Timer {
        Timer {
            name: name.to_string(),
            starts_s: Vec::new(),
            every_s: DAY_S,
            first_day: 1,
            skipped_days: Vec::new(),
            calendar: None,
            adjustment: 1.0,
            pause_s: 0.0,
            zones: Vec::new(),
            range: None,
        }
    }

    /// Errors: it has no start, no zones, or a number that makes no sense.
    fn check(&self) -> Result<(), OperationError> {
        let unfinished = |missing| OperationError::Unfinished { timer: self.name.clone(), missing };
        if self.starts_s.is_empty() {
            return Err(unfinished("no start"));
        }
        if self.zones.is_empty() {
            return Err(unfinished("no zones"));
        }
        let not_positive = |what: String, found: f64| Err(OperationError::NotPositive { what, found: format!("{found} s") });
        if !(self.every_s.is_finite() && self.every_s > 0.0) {
            return not_positive(format!("the interval between starts of timer '{}'", self.name), self.every_s);
        }
        if !(self.pause_s.is_finite() && self.pause_s >= 0.0) {
            let what = format!("the delay between zones of timer '{}'", self.name);
            return Err(OperationError::Negative { what, found: format!("{} s", self.pause_s) });
        }
        if !(self.adjustment.is_finite() && self.adjustment > 0.0) {
            return not_positive(format!("the seasonal adjustment of timer '{}'", self.name), self.adjustment);
        }
        match self.zones.iter().find(|(_, lasting_s)| !(lasting_s.is_finite() && *lasting_s > 0.0)) {
            Some((zone, lasting_s)) => {
                not_positive(format!("the run time of zone '{zone}' of timer '{}'", self.name), *lasting_s)
            }
            None => Ok(()),
        }
    }

    /// Errors: too many openings; days of the calendar without the date of the first day.
    fn intervals(&self, first_date: Option<Moment>, until_s: f64, into: &mut Vec<Interval>) -> Result<(), OperationError> {
        let waters = |day: u32| match (&self.calendar, first_date) {
            (None, _) => Ok(true),
            (Some(days), Some(first)) => {
                let date = first.later_by(f64::from(day - 1) * DAY_S);
                Ok(date.is_some_and(|date| days.contains(date.date())))
            }
            (Some(days), None) => Err(OperationError::NoDate { timer: self.name.clone(), days: days.in_words() }),
        };
        for start_s in &self.starts_s {
            let mut begun = 0;
            let (mut begin_s, every_s) =
                (ticked(*start_s) + f64::from(self.first_day.saturating_sub(1)) * DAY_S, ticked(self.every_s));
            while begin_s < until_s {
                let day = ((begin_s / DAY_S).floor() as u32).saturating_add(1);
                if !self.skipped_days.contains(&day) && waters(day)? {
                    self.round(begin_s, into);
                }
                begin_s += every_s;
                begun += 1;
                few(begun.max(into.len()))?;
            }
        }
        Ok(())
    }

    fn round(&self, begin_s: f64, into: &mut Vec<Interval>) {
        let mut from_s = begin_s;
        for (zone, lasting_s) in &self.zones {
            let to_s = from_s + ticked(self.adjustment * lasting_s);
            into.push(Interval { from_s, to_s, name: zone.clone(), timer: Some(self.name.clone()) });
            from_s = to_s + ticked(self.pause_s);
        }
    }
}

impl Schedule {
    /// The garden in which valves without an operating range have that of their timer. Errors: no such valve, a range that makes no
    /// sense.
    pub(super) fn lend_ranges(&self, garden: &Garden) -> Result<Garden, OperationError> {
        let mut lent = garden.clone();
        let ranged = self.timers.iter().filter_map(|timer| Some((timer, timer.range?)));
        for (zone, range) in ranged.flat_map(|(timer, range)| timer.zones.iter().map(move |(zone, _)| (zone, range))) {
            let ids = [Id::RangeLow, Id::RangeHigh];
            let part = &garden.parts()[garden.find(zone)?];
            if part.spec().has(Id::RangeLow) && ids.iter().all(|&id| part.si(id).is_none()) {
                for (id, end) in ids.into_iter().zip(range) {
                    lent = lent.with(&format!("{zone}.{id}"), end)?;
                }
            }
        }
        Ok(lent)
    }

    /// A moment of the schedule: day or date, and the time of the day.
    pub fn moment(&self, time_s: f64) -> String {
        self.dated(time_s, day_and_clock(time_s))
    }

    /// The date of a moment with its weekday, as in "Mon 2026-07-06"; none where the schedule has no date.
    pub fn date(&self, time_s: f64) -> Option<String> {
        let date = self.first_date?.later_by(day_hours_minutes_seconds(time_s)[0] * DAY_S)?;
        Some(format!("{} {date}", date.date().weekday()))
    }

    /// A day and a clock time, with the date in place of the number of the day where it is known.
    fn dated(&self, time_s: f64, text: String) -> String {
        match (self.date(time_s), text.split_once(", ")) {
            (Some(date), Some((_, clock))) => format!("{date}, {clock}"),
            _ => text,
        }
    }

    /// All openings that begin before a time, in the order in which they begin.
    ///
    /// Errors: a timer without start or zones, a time that is not above zero, too many openings.
    pub fn intervals(&self, until_s: f64) -> Result<Vec<Interval>, OperationError> {
        let mut intervals = Vec::new();
        for timer in &self.timers {
            timer.check()?;
            timer.intervals(self.first_date, until_s, &mut intervals)?;
        }
        for opening in &self.by_hand {
            if !(opening.lasting_s.is_finite() && opening.lasting_s > 0.0)
                || opening.every_s.is_some_and(|every_s| every_s <= 0.0)
            {
                let what = format!("how long and how often '{}' opens", opening.name);
                return Err(OperationError::NotPositive { what, found: format!("{} s", opening.lasting_s) });
            }
            let mut from_s = ticked(opening.at_s);
            while from_s < until_s {
                into_opening(opening, from_s, &mut intervals);
                let Some(every_s) = opening.every_s else { break };
                from_s += ticked(every_s);
                few(intervals.len())?;
            }
        }
        intervals.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        Ok(intervals)
    }

    /// Openings that run at the same time before a time. Errors as for [`Schedule::intervals`].
    pub fn overlaps(&self, until_s: f64) -> Result<Vec<Overlap>, OperationError> {
        let intervals = self.intervals(until_s)?;
        let mut overlaps = Vec::new();
        for (index, first) in intervals.iter().enumerate() {
            for second in intervals[index + 1..].iter().take_while(|second| second.from_s < first.to_s) {
                let to_s = first.to_s.min(second.to_s);
                overlaps.push(Overlap { from_s: second.from_s, to_s, first: first.clone(), second: second.clone() });
                few(overlaps.len())?;
            }
        }
        Ok(overlaps)
    }
}

/// Errors: more openings than a run may have.
fn few(openings: usize) -> Result<(), OperationError> {
    if openings > MOST_OPENINGS { Err(OperationError::TooManyOpenings { most: MOST_OPENINGS }) } else { Ok(()) }
}

fn into_opening(opening: &HandOpening, from_s: f64, intervals: &mut Vec<Interval>) {
    intervals.push(Interval { from_s, to_s: from_s + ticked(opening.lasting_s), name: opening.name.clone(), timer: None });
}

/// A time of the day, such as "05:30", "17:05:30" or "5:30 PM", in seconds after midnight. Errors: anything else.
pub fn clock_time_s(text: &str) -> Result<f64, OperationError> {
    let ns = crate::clock::read_ns(text).ok_or_else(|| OperationError::NotAClock { text: text.to_string() })?;
    Ok(crate::clock::seconds_of(ns))
}

/// Day, counted from 0, hours, minutes and seconds of a moment; a hair below a full second counts as that second.
fn day_hours_minutes_seconds(time_s: f64) -> [f64; 4] {
    let whole = (time_s + 1e-6).floor();
    let day = (whole / DAY_S).floor();
    let rest = whole - day * DAY_S;
    [day, (rest / 3600.0).floor(), ((rest % 3600.0) / 60.0).floor(), rest % 60.0]
}

/// The day, counted from 1, and the time of the day of a moment, as in "day 2, 05:30:00".
pub fn day_and_clock(time_s: f64) -> String {
    let [day, hours, minutes, seconds] = day_hours_minutes_seconds(time_s);
    format!("day {}, {hours:02.0}:{minutes:02.0}:{seconds:02.0}", day + 1.0)
}

/// The time of the day of a moment, as in "05:30"; seconds where there are any.
pub fn clock(time_s: f64) -> String {
    let [_, hours, minutes, seconds] = day_hours_minutes_seconds(time_s);
    crate::clock::text(3600.0 * hours + 60.0 * minutes + seconds).unwrap_or_default()
}

/// A time in the unit in which people say it: seconds, minutes, hours or days.
pub fn time_in_words(seconds: f64) -> Quantity {
    let preference = unit_for_size(dim::TIME, false, seconds).map_or(Preference::Usual, Preference::Written);
    Quantity { si: seconds, dimension: dim::TIME, preference }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn east() -> Timer {
        Timer {
            starts_s: vec![19_800.0],
            every_s: 2.0 * DAY_S,
            pause_s: 60.0,
            zones: vec![("beds".into(), 1200.0), ("berries".into(), 900.0)],
            ..Timer::new("east")
        }
    }

    #[test]
    fn a_timer_runs_its_zones_one_after_another_with_a_pause_every_second_day() {
        let schedule = Schedule { timers: vec![east()], ..Schedule::default() };
        let intervals = schedule.intervals(3.0 * DAY_S).expect("a sound schedule");
        let spans: Vec<(f64, f64)> = intervals.iter().map(|interval| (interval.from_s, interval.to_s)).collect();
        let later = 2.0 * DAY_S;
        let expected = [
            (19_800.0, 21_000.0),
            (21_060.0, 21_960.0),
            (later + 19_800.0, later + 21_000.0),
            (later + 21_060.0, later + 21_960.0),
        ];
        assert_eq!(spans, expected);
    }

    #[test]
    fn skipped_days_are_left_out() {
        let timer = Timer { every_s: DAY_S, skipped_days: vec![2], ..east() };
        let schedule = Schedule { timers: vec![timer], ..Schedule::default() };
        let days: Vec<f64> =
            schedule.intervals(3.0 * DAY_S).expect("sound").iter().map(|i| (i.from_s / DAY_S).floor() + 1.0).collect();
        assert_eq!(days, [1.0, 1.0, 3.0, 3.0]);
    }

    #[test]
    fn days_of_the_week_and_of_the_month_are_those_of_the_calendar() {
        // 1 July 2026 is a Wednesday, 31 August 2026 a Monday.
        let days = |calendar, date: Option<Moment>| {
            let timer = Timer { every_s: DAY_S, calendar: Some(calendar), zones: vec![("beds".into(), 60.0)], ..east() };
            let schedule = Schedule { timers: vec![timer], first_date: date, ..Schedule::default() };
            let intervals = schedule.intervals(8.0 * DAY_S)?;
            Ok::<_, OperationError>(intervals.iter().map(|i| (i.from_s / DAY_S).floor() as u32 + 1).collect::<Vec<_>>())
        };
        let july = Date::new(2026, 7, 1).map(Date::moment);
        assert_eq!(days(CalendarDays::Weekdays(vec![0, 3]), july), Ok(vec![2, 6]));
        assert_eq!(days(CalendarDays::Odd, july), Ok(vec![1, 3, 5, 7]));
        assert_eq!(days(CalendarDays::Even, july), Ok(vec![2, 4, 6, 8]));
        // Odd days on both sides of the end of a month follow each other.
        assert_eq!(days(CalendarDays::Odd, Date::new(2026, 8, 31).map(Date::moment)), Ok(vec![1, 2, 4, 6, 8]));
        let error = days(CalendarDays::Odd, None).expect_err("no date");
        assert_eq!(error.to_string(), "timer 'east' waters on odd days, but the date of the first day is not given");
    }

    #[test]
    fn a_seasonal_adjustment_scales_run_times_and_moves_the_zones_behind() {
        let schedule = |adjustment| Schedule { timers: vec![Timer { adjustment, ..east() }], ..Schedule::default() };
        let intervals = schedule(0.5).intervals(DAY_S).expect("sound");
        let spans: Vec<(f64, f64)> = intervals.iter().map(|interval| (interval.from_s, interval.to_s)).collect();
        assert_eq!(spans, [(19_800.0, 20_400.0), (20_460.0, 20_910.0)]);
        assert!(schedule(0.0).intervals(DAY_S).is_err());
    }

    #[test]
    fn two_timers_that_run_at_once_are_shown_as_overlap() {
        let west = Timer { starts_s: vec![20_400.0], zones: vec![("herbs".into(), 300.0)], ..Timer::new("west") };
        let schedule = Schedule { timers: vec![east(), west], ..Schedule::default() };
        let overlaps = schedule.overlaps(DAY_S).expect("a sound schedule");
        assert_eq!(overlaps.len(), 1);
        assert_eq!((overlaps[0].from_s, overlaps[0].to_s), (20_400.0, 20_700.0));
        assert_eq!((overlaps[0].first.name.as_str(), overlaps[0].second.name.as_str()), ("beds", "herbs"));
    }

    #[test]
    fn times_of_the_day_are_read_and_shown() {
        assert_eq!(clock_time_s("05:30"), Ok(19_800.0));
        assert_eq!(clock_time_s("17:05:30"), Ok(61_530.0));
        for (us, other) in
            [("5:30 AM", "05:30"), ("5:30 pm", "17:30"), ("12:30 AM", "00:30"), ("12:00PM", "12:00"), ("1:00 am", "01:00")]
        {
            assert_eq!(clock_time_s(us), clock_time_s(other), "{us}");
        }
        for wrong in ["", "5", "24:00", "05:60", "five", "05:030", "-1:00"] {
            assert!(clock_time_s(wrong).is_err(), "{wrong}");
        }
        assert_eq!(day_and_clock(DAY_S + 61_530.0), "day 2, 17:05:30");
    }

    #[test]
    fn a_timer_without_zones_or_start_says_what_is_missing() {
        let schedule = |timer| Schedule { timers: vec![timer], ..Schedule::default() };
        let error = schedule(Timer::new("east")).intervals(DAY_S).expect_err("no start");
        assert_eq!(error.to_string(), "timer 'east' has no start");
        let error = schedule(Timer { zones: Vec::new(), ..east() }).intervals(DAY_S).expect_err("no zones");
        assert_eq!(error.to_string(), "timer 'east' has no zones");
    }
}
