//! Local times of time zones, for files that have moments of all the world. Knows nothing of columns.

use chrono::{DateTime, FixedOffset, Offset, TimeZone};

/// A time zone.
#[derive(Clone, Copy, Debug)]
pub(super) enum Zone {
    Named(chrono_tz::Tz),
    Fixed(FixedOffset),
}

impl Zone {
    /// The zone of that name, such as `America/Denver`, `UTC` or `+02:00`.
    pub(super) fn of_name(name: &str) -> Option<Zone> {
        let name = name.trim();
        match name.parse::<chrono_tz::Tz>() {
            Ok(zone) => Some(Zone::Named(zone)),
            Err(_) => name.parse().ok().map(Zone::Fixed),
        }
    }

    /// True for the zone of the whole world.
    pub(super) fn is_utc(self) -> bool {
        match self {
            Zone::Named(zone) => zone == chrono_tz::UTC,
            Zone::Fixed(offset) => offset.local_minus_utc() == 0,
        }
    }

    /// What clocks of the zone show, both in milliseconds since 1970 began; none outside of the calendar.
    pub(super) fn local_ms(self, utc_ms: i64) -> Option<i64> {
        let utc = DateTime::from_timestamp_millis(utc_ms)?.naive_utc();
        let offset = match self {
            Zone::Named(zone) => zone.offset_from_utc_datetime(&utc).fix(),
            Zone::Fixed(offset) => offset,
        };
        utc_ms.checked_add(i64::from(offset.local_minus_utc()) * 1000)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn summer_time_is_that_of_the_zone() {
        let ms = |text: &str| text.parse::<DateTime<chrono::Utc>>().expect("a time").timestamp_millis();
        let zone = Zone::of_name("America/Denver").expect("a zone");
        assert_eq!(zone.local_ms(ms("2026-07-01T11:30:00Z")), Some(ms("2026-07-01T05:30:00Z")));
        assert_eq!(zone.local_ms(ms("2026-01-01T12:30:00Z")), Some(ms("2026-01-01T05:30:00Z")));
        let fixed = Zone::of_name("+02:00").expect("a zone");
        assert_eq!(fixed.local_ms(0), Some(7_200_000));
        assert!(Zone::of_name("UTC").is_some_and(Zone::is_utc) && Zone::of_name("+00:00").is_some_and(Zone::is_utc));
        assert!(Zone::of_name("Nowhere/Else").is_none());
    }
}
