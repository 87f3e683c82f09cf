//! Days of the calendar, without time of day and time zones. Knows nothing of weather or schedules.

use crate::moment::WEEKDAYS;
use chrono::{Datelike, NaiveDate};
use std::fmt;

/// Days from 31 December of the year before the first to 1 January 1970.
const EPOCH_DAYS: i32 = 719_163;
/// The years that are accepted: weather was hardly measured before, and a later one is a slip.
const YEARS: std::ops::RangeInclusive<i32> = 1700..=2300;

/// A day of the Gregorian calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    /// Days since 1 January 1970.
    days: i32,
}

impl Date {
    /// A day of the years 1700 to 2300; none where the calendar has no such day.
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

    /// A day written as 2015-05-15; none for any other text.
    pub fn read(text: &str) -> Option<Date> {
        let mut pieces = text.trim().split('-');
        let (year, month, day) = (pieces.next()?, pieces.next()?, pieces.next()?);
        let plain = |piece: &str, most: usize| piece.len() <= most && piece.bytes().all(|byte| byte.is_ascii_digit());
        if pieces.next().is_some() || year.len() != 4 || !plain(year, 4) || !plain(month, 2) || !plain(day, 2) {
            return None;
        }
        Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    }

    /// Year, month and day of the month.
    pub fn parts(self) -> (i32, u32, u32) {
        let date = self.naive();
        (date.year(), date.month(), date.day())
    }

    /// The year.
    pub fn year(self) -> i32 {
        self.parts().0
    }

    /// The month, from 1 to 12.
    pub fn month(self) -> u32 {
        self.parts().1
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
        self.days - other.days
    }

    /// The day of the week in three letters.
    pub fn weekday(self) -> &'static str {
        WEEKDAYS[self.naive().weekday().num_days_from_monday() as usize]
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_of_six_centuries_follows_the_one_before() {
        let mut day = Date::new(1700, 1, 1).expect("a day");
        let (mut year, mut month, mut of_month) = (1700, 1, 1);
        while year <= 2300 {
            assert_eq!((day.parts(), Date::new(year, month, of_month)), ((year, month, of_month), Some(day)));
            assert_eq!(Date::read(&day.to_string()), Some(day));
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
        for text in ["2015-02-29", "2015-13-01", "15-05-15", "2015-5-15-1", "2015/05/15", "+015-05-15", ""] {
            assert_eq!(Date::read(text), None, "{text}");
        }
    }
}
