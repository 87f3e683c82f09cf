//! Days of the calendar, and moments of them, as a logger writes them and a watering calendar names them: local, without time zones.
//!
//! A [`Date`] is a day; a [`Moment`] is a day that may have a time of the day. Both are read, counted, named and written here.
//! Knows nothing of quantities, tables or scripts.

use crate::clock;
use chrono::{DateTime, Datelike, Months, NaiveDate, NaiveDateTime, Timelike};
use std::cmp::Ordering;
use std::fmt;

/// Milliseconds of a day.
pub const DAY_MS: i64 = 86_400_000;

/// Days from 31 December of the year before the first to 1 January 1970.
const EPOCH_DAYS: i32 = 719_163;
/// Years of which there are dates.
const YEARS: std::ops::RangeInclusive<i32> = 1..=9999;

/// The days of the week, Monday first (ISO 8601).
pub const WEEKDAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// The day of the week, as in [`WEEKDAYS`], that a text means which is written otherwise: `Wednesday`, `Wednes.`, `WED`.
pub fn weekday_meant(text: &str) -> Option<&'static str> {
    const IN_FULL: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let lower = text.trim().trim_end_matches('.').to_lowercase();
    let day = IN_FULL.iter().position(|day| lower.len() >= 3 && day.starts_with(&lower))?;
    (text != WEEKDAYS[day]).then_some(WEEKDAYS[day])
}

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

/// A day of the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    /// Days since 1 January 1970.
    days: i32,
}

/// Three numbers of a day as they are written, before anybody knows their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrittenDay {
    /// The numbers from left to right.
    pub numbers: [u32; 3],
    /// The sign between them.
    pub mark: char,
    /// True where the first has four digits, which only a year has.
    pub year_first: bool,
    /// True where the last has four digits.
    pub year_last: bool,
}

impl WrittenDay {
    /// Three numbers with the same sign between them, `-`, `/` or `.`; none for any other text.
    pub fn read(text: &str) -> Option<WrittenDay> {
        let mark = text.chars().find(|sign| !sign.is_ascii_digit()).filter(|sign| matches!(sign, '-' | '/' | '.'))?;
        let mut pieces = text.split(mark);
        let (a, b, c) = (pieces.next()?, pieces.next()?, pieces.next()?);
        let numbers = [digits(a, 4)?, digits(b, 4)?, digits(c, 4)?];
        let whole = pieces.next().is_none();
        whole.then_some(WrittenDay { numbers, mark, year_first: a.len() == 4, year_last: c.len() == 4 })
    }

    /// The day they name in an order; a year of four digits in front needs none.
    pub fn in_order(self, order: DateOrder) -> Option<Date> {
        let [a, b, c] = self.numbers;
        let (year, month, day) = match order {
            _ if self.year_first => (a, b, c),
            DateOrder::YearMonthDay => (a, b, c),
            DateOrder::DayMonthYear => (c, b, a),
            DateOrder::MonthDayYear => (c, a, b),
        };
        Date::new(i32::try_from(year).ok()?, month, day)
    }
}

impl Date {
    /// A day of the years 1 to 9999; none where the calendar has no such day.
    pub fn new(year: i32, month: u32, day: u32) -> Option<Date> {
        let date = NaiveDate::from_ymd_opt(year, month, day).filter(|_| YEARS.contains(&year))?;
        Some(Date { days: date.num_days_from_ce() - EPOCH_DAYS })
    }

    fn naive(self) -> NaiveDate {
        NaiveDate::from_num_days_from_ce_opt(self.days.saturating_add(EPOCH_DAYS)).unwrap_or(NaiveDate::MAX)
    }

    /// That many days after 1 January 1970.
    pub fn from_days(days: i32) -> Date {
        Date { days }
    }

    /// A day written with the year first, as 2015-05-15; none for any other text.
    pub fn read(text: &str) -> Option<Date> {
        WrittenDay::read(text.trim()).filter(|written| written.year_first)?.in_order(DateOrder::YearMonthDay)
    }

    /// Its beginning, as a date without a time.
    pub fn moment(self) -> Moment {
        Moment { ms: i64::from(self.days) * DAY_MS, clock: false }
    }

    /// Year, month and day of the month.
    pub fn parts(self) -> (i32, u32, u32) {
        let date = self.naive();
        (date.year(), date.month(), date.day())
    }

    /// The year.
    pub fn year(self) -> i32 {
        self.naive().year()
    }

    /// The month, from 1 to 12.
    pub fn month(self) -> u32 {
        self.naive().month()
    }

    /// The day of the month, from 1.
    pub fn day(self) -> u32 {
        self.naive().day()
    }

    /// The day of the year, from 1 to 366.
    pub fn day_of_year(self) -> u32 {
        self.naive().ordinal()
    }

    /// That many days later, or earlier where they are below zero.
    pub fn plus(self, days: i32) -> Date {
        Date { days: self.days.saturating_add(days) }
    }

    /// Days from another day to this one.
    pub fn since(self, other: Date) -> i32 {
        self.days.saturating_sub(other.days)
    }

    /// The same day of another year; 29 February becomes 28 February where that year has none.
    pub fn in_year(self, year: i32) -> Option<Date> {
        let (_, month, day) = self.parts();
        Date::new(year, month, day).or_else(|| Date::new(year, month, day.min(days_in_month(year, month))))
    }

    /// Days since Monday, 0 to 6.
    pub fn days_since_monday(self) -> usize {
        self.naive().weekday().num_days_from_monday() as usize
    }

    /// The day of the week, such as `Mon`.
    pub fn weekday(self) -> &'static str {
        WEEKDAYS[self.days_since_monday()]
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

/// Days of a month, from 1 to 12.
pub fn days_in_month(year: i32, month: u32) -> u32 {
    NaiveDate::from_ymd_opt(year, month, 1).map_or(31, |first| first.num_days_in_month().into())
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

    /// A date as people and loggers write it: `2026-07-01`, `2026-07-01 05:30`, `2026-07-01T05:30:15.250Z`, `1.7.2026 5:30 PM`.
    ///
    /// Day and month come in the given order where the year does not come first.
    pub fn read(text: &str, order: DateOrder) -> Option<Moment> {
        let text = text.trim();
        let text = text.strip_suffix('Z').unwrap_or(text);
        let (day, clock) = text.split_once(['T', ' ']).map_or((text, None), |(day, clock)| (day, Some(clock)));
        let day = WrittenDay::read(day)?.in_order(order)?;
        let time_ns = clock.map_or(Some(0), clock::read_ns)?;
        Moment::of_ms(day.moment().ms + time_ns / 1_000_000, clock.is_some())
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

    /// The day it lies in.
    pub fn date(self) -> Date {
        Date { days: self.ms.div_euclid(DAY_MS) as i32 }
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
        let day = self.date();
        let (year, month, _) = day.parts();
        let first = match period {
            Period::Hour => return Moment { ms: self.ms - self.ms.rem_euclid(DAY_MS / 24), clock: true },
            Period::Day => Some(day),
            Period::Week => Some(day.plus(-(day.days_since_monday() as i32))).filter(|first| YEARS.contains(&first.year())),
            Period::Month => Date::new(year, month, 1),
            Period::Year => Date::new(year, 1, 1),
        };
        first.map_or(self, Date::moment)
    }

    /// That many months later, on the same day or the last one of a shorter month; none outside of the calendar.
    pub fn months_later(self, months: u32) -> Option<Moment> {
        Moment::of_naive(self.naive().checked_add_months(Months::new(months))?, self.clock)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let time = self.naive();
        write!(f, "{}", self.date())?;
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
    fn a_weekday_written_otherwise_is_known() {
        for (text, day) in [("Wednesday", Some("Wed")), ("WED", Some("Wed")), (" sat", Some("Sat")), ("Tues.", Some("Tue"))] {
            assert_eq!(weekday_meant(text), day, "{text}");
        }
        for other in ["Wed", "Sunflower", "", "We", "Monday morning", "mulch"] {
            assert_eq!(weekday_meant(other), None, "{other}");
        }
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
        let day = us.date();
        assert_eq!((day.month(), day.day(), day.weekday(), day.day_of_year()), (7, 1, "Wed", 182));
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
        let end = Date::new(2026, 1, 31).expect("a date").moment();
        assert_eq!(end.months_later(1).expect("a date").to_string(), "2026-02-28");
        assert!(Date::new(9999, 12, 31).and_then(|date| date.moment().later_by(86_400.0)).is_none());
    }

    #[test]
    fn every_day_of_six_centuries_follows_the_one_before() {
        let mut day = Date::new(1700, 1, 1).expect("a day");
        let (mut year, mut month, mut of_month) = (1700, 1, 1);
        while year <= 2300 {
            assert_eq!((day.parts(), Date::new(year, month, of_month)), ((year, month, of_month), Some(day)));
            assert_eq!(Date::read(&day.to_string()), Some(day));
            assert_eq!((day.moment().date(), day.moment().to_string()), (day, day.to_string()));
            day = day.plus(1);
            of_month += 1;
            if of_month > days_in_month(year, month) {
                (of_month, month) = (1, month + 1);
            }
            if month > 12 {
                (month, year) = (1, year + 1);
            }
        }
    }

    #[test]
    fn well_known_days_are_where_they_belong() {
        let day = Date::new(2000, 2, 29).expect("a leap day");
        assert_eq!((day.since(Date::from_days(0)), day.day_of_year(), day.weekday()), (11_016, 60, "Tue"));
        assert_eq!(day.in_year(2015), Date::new(2015, 2, 28));
        assert_eq!(day.in_year(2012), Date::new(2012, 2, 29));
        for text in ["2015-02-29", "2015-13-01", "15-05-15", "2015-5-15-1", "15.5.2015", "+015-05-15", "2015-05/15", ""] {
            assert_eq!(Date::read(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(ms in -62_135_596_800_000i64..253_402_300_800_000) {
            let date = Moment::of_ms(ms, true).expect("inside the calendar");
            prop_assert_eq!(Moment::read(&date.to_string(), DateOrder::YearMonthDay), Some(date));
            prop_assert_eq!(date.later_by(90.5).map(|later| later.seconds_since(date)).unwrap_or(90.5), 90.5);
            prop_assert!(date.start_of(Period::Week) <= date && date.start_of(Period::Week).date().weekday() == "Mon" || date.date().year() == 1);
        }

        #[test]
        fn no_text_panics(text in "[0-9./: TZapm-]{0,25}|\\PC{0,20}") {
            let _ = Moment::read(&text, DateOrder::MonthDayYear);
        }
    }
}
