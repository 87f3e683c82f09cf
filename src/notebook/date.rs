//! The moment of a run in words, in universal time.

use std::fmt;
use std::time::{SystemTime, UNIX_EPOCH};

/// A moment, in whole seconds since the beginning of 1970.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    seconds: u64,
}

impl Moment {
    /// This moment, or the one in `SOURCE_DATE_EPOCH`, by which builds that can be repeated fix their date.
    pub fn now() -> Moment {
        let fixed = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|text| text.parse().ok());
        let passed = || SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |passed| passed.as_secs());
        Moment { seconds: fixed.unwrap_or_else(passed) }
    }

    /// Year, month and day by the calendar of today.
    fn date(self) -> (u64, u64, u64) {
        // Days are counted from 1 March of the year 0, so that the leap day ends a year; 146097 days are 400 years.
        let days = self.seconds / 86_400 + 719_468;
        let (era, day) = (days / 146_097, days % 146_097);
        let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
        let of_year = day - (365 * year + year / 4 - year / 100);
        let month = (5 * of_year + 2) / 153;
        let (day, month) = (of_year - (153 * month + 2) / 5 + 1, if month < 10 { month + 3 } else { month - 9 });
        (era * 400 + year + u64::from(month <= 2), month, day)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.date();
        let minutes = self.seconds / 60 % 1440;
        write!(f, "{year:04}-{month:02}-{day:02} {:02}:{:02} UTC", minutes / 60, minutes % 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_those_of_the_calendar() {
        // From memory: well-known counts of seconds.
        for (seconds, text) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_782_400, "2000-02-29 00:00 UTC"),
            (1_000_000_000, "2001-09-09 01:46 UTC"),
            (4_102_444_799, "2099-12-31 23:59 UTC"),
        ] {
            assert_eq!(Moment { seconds }.to_string(), text);
        }
    }
}
