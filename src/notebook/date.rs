//! The moment of a run in words, in universal time.

use crate::moment;
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
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Texts have whole minutes.
        let ms = i64::try_from((self.seconds / 60).saturating_mul(60_000)).unwrap_or(i64::MAX);
        match moment::Moment::of_ms(ms, true) {
            Some(moment) => write!(f, "{moment} UTC"),
            None => f.write_str("a date after the year 9999"),
        }
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
