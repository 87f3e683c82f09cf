//! When the sun rises and sets on the clock of a place.
//!
//! Source: FAO Irrigation and Drainage Paper 56 (1998), equations 24, 31 and 33; the sun rises when its upper edge, lifted by the air, is
//! on the horizon, 0.833 degrees below it (common practice of almanacs).

use super::evapotranspiration::declination;
use super::reference::{ClockZone, Place};
use crate::moment::Date;
use std::f64::consts::PI;

/// How far below the horizon the middle of the sun is when it rises, degrees.
const DEPRESSION_DEG: f64 = 0.833;

/// From sunrise to noon by the sun, h; zero where it does not rise and 12 where it does not set.
pub fn half_day_h(latitude_deg: f64, day_of_year: f64) -> f64 {
    let (latitude, declination) = (latitude_deg.to_radians(), declination(day_of_year));
    let height = -DEPRESSION_DEG.to_radians().sin();
    let cosine = (height - latitude.sin() * declination.sin()) / (latitude.cos() * declination.cos()).max(1e-12);
    12.0 / PI * cosine.clamp(-1.0, 1.0).acos()
}

/// By how much the sun is ahead of the mean clock of its meridian, h (equation 33).
fn ahead_h(day_of_year: f64) -> f64 {
    let b = 2.0 * PI * (day_of_year - 81.0) / 364.0;
    0.1645 * (2.0 * b).sin() - 0.1255 * b.cos() - 0.025 * b.sin()
}

/// Noon by the sun on the clock of a zone, h after midnight (equation 31).
fn noon_h(zone: ClockZone, day_of_year: f64) -> f64 {
    12.0 + zone.ahead_of_utc_h - zone.longitude_deg / 15.0 - ahead_h(day_of_year)
}

/// Sunrise and sunset of a day, s after midnight: on the clock of the place, or by the sun where its clock is not given.
pub fn sunrise_and_sunset_s(place: &Place, date: Date) -> [f64; 2] {
    let day_of_year = f64::from(date.day_of_year());
    let noon_h = place.zone.map_or(12.0, |zone| noon_h(zone, day_of_year));
    let half_h = half_day_h(place.latitude_deg, day_of_year);
    [3600.0 * (noon_h - half_h), 3600.0 * (noon_h + half_h)]
}

#[cfg(test)]
mod tests {
    use super::super::evapotranspiration::daylight_h;
    use super::*;
    use proptest::prelude::*;

    fn clock(latitude_deg: f64, longitude_deg: f64, ahead_of_utc_h: f64, day: &str) -> [f64; 2] {
        let place =
            Place::new(latitude_deg, 0.0).and_then(|place| place.with_zone(longitude_deg, ahead_of_utc_h)).expect("a place");
        sunrise_and_sunset_s(&place, Date::read(day).expect("a day")).map(|seconds| seconds / 60.0)
    }

    /// From memory, almanacs: on the equator at the equinox the sun is up for 12 h 7 min, centered on 12:07 at the prime meridian; in
    /// London it rises at 4:43 and sets at 21:21 at midsummer by summer time, and at 8:04 and 15:53 at midwinter.
    #[test]
    fn the_sun_rises_within_minutes_of_the_almanac() {
        for ([latitude, longitude, zone], day, rises, sets) in [
            ([0.0, 0.0, 0.0], "2015-03-20", 6.0 * 60.0 + 4.0, 18.0 * 60.0 + 11.0),
            ([51.5, -0.12, 1.0], "2015-06-21", 4.0 * 60.0 + 43.0, 21.0 * 60.0 + 21.0),
            ([51.5, -0.12, 0.0], "2015-12-21", 8.0 * 60.0 + 4.0, 15.0 * 60.0 + 53.0),
        ] {
            let found = clock(latitude, longitude, zone, day);
            assert!((found[0] - rises).abs() < 4.0 && (found[1] - sets).abs() < 4.0, "{day} at {latitude}: {found:?}");
        }
    }

    proptest! {
        #[test]
        fn the_sun_is_up_a_little_longer_than_daylight_without_air(latitude in -60.0..60.0, day in 1u32..366) {
            let longer_h = 2.0 * half_day_h(latitude, f64::from(day)) - daylight_h(latitude, f64::from(day));
            prop_assert!((0.1..0.4).contains(&longer_h), "{}", longer_h);
        }

        #[test]
        fn poles_have_day_or_night_and_no_panic(latitude in -90.0..=90.0, day in 1u32..366) {
            let half_h = half_day_h(latitude, f64::from(day));
            prop_assert!((0.0..=12.0).contains(&half_h));
        }
    }
}
