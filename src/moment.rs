//! Dates and times of the calendar as a logger writes them and a watering calendar names them: local, without time zones.
//!
//! Knows nothing of quantities, tables or scripts.

use crate::clock;
use chrono::{DateTime, Datelike, Days, Months, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use std::cmp::Ordering;
use std::fmt;

/// Milliseconds of a day.
pub const DAY_MS: i64 = 86_400_000;

/// Years of which there are dates.
const YEARS: std::ops::RangeInclusive<i32> = 1..=9999;

/// The days of the week, Monday first (ISO 8601).
pub const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// In which order day, month and year are written. A date that begins with a year of four digits needs none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateOrder {
    /// 2026-07-01.
    YearMonthDay,
    /// 1.7.2026.
    DayMonthYear,
    /// 7/1/2026.
    MonthDayYear,
}

/// A stretch of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Period {
    /// From a full hour to the next.
    Hour,
    /// From midnight to midnight.
    Day,
    /// From Monday to Sunday (ISO 8601).
    Week,
    /// A month.
    Month,
    /// A year.
    Year,
}

/// A date, or a date with a time of the day, to the millisecond.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    ms: i64,
    /// Whether a time of the day belongs to it.
    clock: bool,
}

impl PartialEq for Moment {
    /// A date without a time is its midnight.
    fn eq(&self, other: &Moment) -> bool {
        self.ms == other.ms
    }
}

impl Eq for Moment {}

impl PartialOrd for Moment {
    fn partial_cmp(&self, other: &Moment) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Moment {
    fn cmp(&self, other: &Moment) -> Ordering {
        self.ms.cmp(&other.ms)
    }
}

impl Period {
    /// The one of that name, such as `week`.
    pub fn of_name(name: &str) -> Option<Period> {
        Some(match name {
            "hour" => Period::Hour,
            "day" => Period::Day,
            "week" => Period::Week,
            "month" => Period::Month,
            "year" => Period::Year,
            _ => return None,
        })
    }
}

impl Moment {
    /// That many milliseconds after the midnight with which 1970 began; none outside the years 1 to 9999.
    pub fn of_ms(ms: i64, clock: bool) -> Option<Moment> {
        let time = DateTime::from_timestamp_millis(ms)?.naive_utc();
        YEARS.contains(&time.year()).then_some(Moment { ms, clock: clock || ms.rem_euclid(DAY_MS) != 0 })
    }

    fn of_naive(time: NaiveDateTime, clock: bool) -> Option<Moment> {
        Moment::of_ms(time.and_utc().timestamp_millis(), clock)
    }

    /// A day of the calendar; none where there is no such day.
    pub fn of_day(year: i32, month: u32, day: u32) -> Option<Moment> {
        Moment::of_naive(NaiveDate::from_ymd_opt(year, month, day)?.and_time(NaiveTime::MIN), false)
    }

    /// A date as people and loggers write it: `2026-07-01`, `2026-07-01 05:30`, `2026-07-01T05:30:15.250Z`, `1.7.2026 5:30 PM`.
    ///
    /// Day and month come in the given order where the year does not come first.
    pub fn read(text: &str, order: DateOrder) -> Option<Moment> {
        let text = text.trim();
        let text = text.strip_suffix('Z').unwrap_or(text);
        let (day, clock) = text.split_once(['T', ' ']).map_or((text, None), |(day, clock)| (day, Some(clock)));
        let mark = day.chars().find(|sign| !sign.is_ascii_digit()).filter(|sign| matches!(sign, '-' | '/' | '.'))?;
        let mut numbers = day.split(mark).map(|number| digits(number, 4));
        let (a, b, c) = (numbers.next()??, numbers.next()??, numbers.next()??);
        if numbers.next().is_some() {
            return None;
        }
        let (year, month, day) = match (order, day.find(mark)) {
            (_, Some(4)) | (DateOrder::YearMonthDay, _) => (a, b, c),
            (DateOrder::DayMonthYear, _) => (c, b, a),
            (DateOrder::MonthDayYear, _) => (c, a, b),
        };
        let day = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month, day)?;
        let time_ns = clock.map_or(Some(0), clock::read_ns)?;
        let midnight = Moment::of_naive(day.and_time(NaiveTime::MIN), clock.is_some())?;
        Moment::of_ms(midnight.ms + time_ns / 1_000_000, clock.is_some())
    }

    /// Milliseconds since the midnight with which 1970 began.
    pub fn ms(self) -> i64 {
        self.ms
    }

    /// Whether a time of the day belongs to it.
    pub fn has_clock(self) -> bool {
        self.clock
    }

    fn naive(self) -> NaiveDateTime {
        DateTime::from_timestamp_millis(self.ms).unwrap_or_default().naive_utc()
    }

    /// The year.
    pub fn year(self) -> i32 {
        self.naive().year()
    }

    /// The month, from 1.
    pub fn month(self) -> u32 {
        self.naive().month()
    }

    /// The day of the month, from 1.
    pub fn day(self) -> u32 {
        self.naive().day()
    }

    /// The day of the year, from 1.
    pub fn day_of_year(self) -> u32 {
        self.naive().ordinal()
    }

    /// Days since Monday, 0 to 6.
    pub fn days_since_monday(self) -> usize {
        self.naive().weekday().num_days_from_monday() as usize
    }

    /// The day of the week, such as `Mon`.
    pub fn weekday(self) -> &'static str {
        WEEKDAYS[self.days_since_monday()]
    }

    /// Seconds since midnight.
    pub fn clock_s(self) -> f64 {
        self.ms.rem_euclid(DAY_MS) as f64 / 1000.0
    }

    /// That many seconds later, to the millisecond; none outside of the calendar. Whole days leave a date without a time.
    pub fn later_by(self, seconds: f64) -> Option<Moment> {
        let ms = (seconds * 1000.0).round();
        // Both fit into 52 bits.
        let inside = ms.abs() < 1e15;
        inside.then(|| Moment::of_ms(self.ms + ms as i64, self.clock)).flatten()
    }

    /// Seconds from another date to this one.
    pub fn seconds_since(self, other: Moment) -> f64 {
        (self.ms - other.ms) as f64 / 1000.0
    }

    /// The beginning of the period it lies in.
    pub fn start_of(self, period: Period) -> Moment {
        let day = self.naive().date();
        let first = match period {
            Period::Hour => return Moment { ms: self.ms - self.ms.rem_euclid(DAY_MS / 24), clock: true },
            Period::Day => Some(day),
            Period::Week => day.checked_sub_days(Days::new(self.days_since_monday() as u64)),
            Period::Month => day.with_day(1),
            Period::Year => NaiveDate::from_ymd_opt(day.year(), 1, 1),
        };
        first.and_then(|day| Moment::of_naive(day.and_time(NaiveTime::MIN), false)).unwrap_or(self)
    }

    /// That many months later, on the same day or the last one of a shorter month; none outside of the calendar.
    pub fn months_later(self, months: u32) -> Option<Moment> {
        Moment::of_naive(self.naive().checked_add_months(Months::new(months))?, self.clock)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let time = self.naive();
        write!(f, "{:04}-{:02}-{:02}", time.year(), time.month(), time.day())?;
        if !self.clock {
            return Ok(());
        }
        write!(f, " {:02}:{:02}", time.hour(), time.minute())?;
        match (time.second(), self.ms.rem_euclid(1000)) {
            (0, 0) => Ok(()),
            (second, 0) => write!(f, ":{second:02}"),
            (second, ms) => write!(f, ":{second:02}.{ms:03}"),
        }
    }
}

/// A number of at most that many digits.
fn digits(text: &str, most: usize) -> Option<u32> {
    let fine = (1..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
    if fine { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Option<String> {
        Moment::read(text, DateOrder::DayMonthYear).map(|date| date.to_string())
    }

    #[test]
    fn dates_are_read_as_loggers_write_them() {
        for (text, expected) in [
            ("2026-07-01", Some("2026-07-01")),
            (" 2026/7/1 ", Some("2026-07-01")),
            ("1.7.2026", Some("2026-07-01")),
            ("2026-07-01T05:30:00Z", Some("2026-07-01 05:30")),
            ("2026-07-01 00:00", Some("2026-07-01 00:00")),
            ("31/12/2026 11:59:30.25 PM", Some("2026-12-31 23:59:30.250")),
            ("1.7.2026 12:05 am", Some("2026-07-01 00:05")),
            ("2024-02-29", Some("2024-02-29")),
            ("2026-02-29", None),
            ("2026-13-01", None),
            ("0000-01-01", None),
            ("2026-07-01 24:00", None),
            ("2026-07-01 5", None),
            ("2026-07-01 05:30+02:00", None),
            ("2026-07", None),
            ("5/8", None),
            ("30", None),
            ("", None),
            ("é.é.é", None),
            ("1.1.2026 é", None),
        ] {
            assert_eq!(read(text).as_deref(), expected, "{text}");
        }
        let us = Moment::read("7/1/2026", DateOrder::MonthDayYear).expect("a date");
        assert_eq!((us.month(), us.day(), us.weekday(), us.day_of_year()), (7, 1, "Wed", 182));
    }

    #[test]
    fn periods_begin_where_the_calendar_says() {
        let date = Moment::read("2026-07-01 17:45:10", DateOrder::YearMonthDay).expect("a date");
        let start = |period| date.start_of(period).to_string();
        assert_eq!(start(Period::Hour), "2026-07-01 17:00");
        assert_eq!(start(Period::Day), "2026-07-01");
        assert_eq!(start(Period::Week), "2026-06-29");
        assert_eq!(start(Period::Month), "2026-07-01");
        assert_eq!(start(Period::Year), "2026-01-01");
        assert_eq!(date.clock_s(), 63_910.0);
        let end = Moment::of_day(2026, 1, 31).expect("a date");
        assert_eq!(end.months_later(1).expect("a date").to_string(), "2026-02-28");
        assert!(Moment::of_day(9999, 12, 31).and_then(|date| date.later_by(86_400.0)).is_none());
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(ms in -62_135_596_800_000i64..253_402_300_800_000) {
            let date = Moment::of_ms(ms, true).expect("inside the calendar");
            prop_assert_eq!(Moment::read(&date.to_string(), DateOrder::YearMonthDay), Some(date));
            prop_assert_eq!(date.later_by(90.5).map(|later| later.seconds_since(date)).unwrap_or(90.5), 90.5);
            prop_assert!(date.start_of(Period::Week) <= date && date.start_of(Period::Week).weekday() == "Mon" || date.year() == 1);
        }

        #[test]
        fn no_text_panics(text in "[0-9./: TZapm-]{0,25}|\\PC{0,20}") {
            let _ = Moment::read(&text, DateOrder::MonthDayYear);
        }
    }
}
