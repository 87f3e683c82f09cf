//! Reference evapotranspiration: what a short green grass uses on a day, from the sky and the air above it.
//!
//! Source of all: R. G. Allen, L. S. Pereira, D. Raes and M. Smith, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56
//! (1998); the numbers of its equations stand beside each formula. Units are those of that paper: degC, kPa, MJ/m2 and mm a day.

use std::f64::consts::PI;

/// Share of the sky's radiation that grass reflects (equation 38).
pub const ALBEDO: f64 = 0.23;
/// Water that a radiation evaporates, mm for each MJ/m2 (equation 20).
pub const MM_PER_MJ: f64 = 0.408;
/// Factor of radiation from temperatures inland (equation 50).
pub const INLAND: f64 = 0.16;
/// Factor of radiation from temperatures on a coast (equation 50).
pub const COAST: f64 = 0.19;
/// Wind at 2 m that is taken where none is known, m/s (chapter 3).
pub const USUAL_WIND_M_PER_S: f64 = 2.0;

/// Constants of grass of 0.12 m, and of alfalfa of 0.5 m, for days.
const GRASS: [f64; 2] = [900.0, 0.34];
const TALL: [f64; 2] = [1600.0, 0.38];

/// Vapor pressure by the dry and the wet bulb of a ventilated psychrometer at an air pressure, kPa (equations 15 and 16).
pub fn vapor_by_psychrometer_kpa(dry_c: f64, wet_c: f64, pressure_kpa: f64) -> f64 {
    saturation_kpa(wet_c) - 0.000_662 * pressure_kpa * (dry_c - wet_c)
}

/// Vapor pressure of air that is saturated, kPa (equation 11).
pub fn saturation_kpa(temperature_c: f64) -> f64 {
    0.6108 * (17.27 * temperature_c / (temperature_c + 237.3)).exp()
}

/// Mean of the saturation vapor pressures of the highest and lowest temperature of a day, kPa (equation 12).
pub fn mean_saturation_kpa(low_c: f64, high_c: f64) -> f64 {
    (saturation_kpa(low_c) + saturation_kpa(high_c)) / 2.0
}

/// How fast saturation vapor pressure rises with temperature, kPa/degC (equation 13).
pub fn slope_kpa_per_c(temperature_c: f64) -> f64 {
    4098.0 * saturation_kpa(temperature_c) / (temperature_c + 237.3).powi(2)
}

/// Pressure of the air by elevation, kPa (equation 7). This method has a formula of its own, less than 0.1 % off the standard
/// atmosphere below 3000 m.
pub fn air_pressure_kpa(elevation_m: f64) -> f64 {
    101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0).powf(5.26)
}

/// Psychrometric constant, kPa/degC (equation 8).
pub fn psychrometric_kpa_per_c(elevation_m: f64) -> f64 {
    0.665e-3 * air_pressure_kpa(elevation_m)
}

/// Declination of the sun, rad (equation 24).
pub fn declination(day_of_year: f64) -> f64 {
    0.409 * (2.0 * PI * day_of_year / 365.0 - 1.39).sin()
}

/// Declination of the sun and the angle at which it sets, rad (equations 24 and 25); it never sets or never rises near the poles.
fn sun_angles(latitude_deg: f64, day_of_year: f64) -> (f64, f64) {
    let declination = declination(day_of_year);
    (declination, (-latitude_deg.to_radians().tan() * declination.tan()).clamp(-1.0, 1.0).acos())
}

/// Radiation above the atmosphere, MJ/m2 a day (equation 21); south is a latitude below zero. Days count from 1 January in years of
/// 365 days, also in leap years.
pub fn extraterrestrial_mj_per_m2(latitude_deg: f64, day_of_year: f64) -> f64 {
    let latitude = latitude_deg.to_radians();
    let (declination, sunset) = sun_angles(latitude_deg, day_of_year);
    let distance = 1.0 + 0.033 * (2.0 * PI * day_of_year / 365.0).cos();
    let height = sunset * latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * sunset.sin();
    (24.0 * 60.0 / PI * 0.0820 * distance * height).max(0.0)
}

/// From sunrise to sunset, h (equation 34).
pub fn daylight_h(latitude_deg: f64, day_of_year: f64) -> f64 {
    24.0 / PI * sun_angles(latitude_deg, day_of_year).1
}

/// Radiation under a clear sky, MJ/m2 a day (equation 37).
pub fn clear_sky_mj_per_m2(extraterrestrial_mj_per_m2: f64, elevation_m: f64) -> f64 {
    (0.75 + 2e-5 * elevation_m) * extraterrestrial_mj_per_m2
}

/// Radiation on the ground from the share of daylight in which the sun shines, MJ/m2 a day (equation 35).
pub fn radiation_by_sunshine_mj_per_m2(extraterrestrial_mj_per_m2: f64, share_of_daylight: f64) -> f64 {
    (0.25 + 0.5 * share_of_daylight) * extraterrestrial_mj_per_m2
}

/// Radiation on the ground from the temperatures of a day, MJ/m2 a day (equation 50), with its factor for inland or coast.
pub fn radiation_by_temperatures_mj_per_m2(extraterrestrial_mj_per_m2: f64, low_c: f64, high_c: f64, factor: f64) -> f64 {
    factor * (high_c - low_c).max(0.0).sqrt() * extraterrestrial_mj_per_m2
}

/// Radiation that the ground sends out, MJ/m2 a day (equation 39); `share` is that of the radiation under a clear sky, at most one.
pub fn net_longwave_mj_per_m2(low_c: f64, high_c: f64, vapor_kpa: f64, share: f64) -> f64 {
    let fourth = |temperature_c: f64| (temperature_c + 273.16).powi(4);
    let humidity = 0.34 - 0.14 * vapor_kpa.max(0.0).sqrt();
    4.903e-9 * (fourth(high_c) + fourth(low_c)) / 2.0 * humidity * (1.35 * share.min(1.0) - 0.35)
}

/// Wind at 2 m from wind at another height, which is above 0.1 m, m/s (equation 47).
pub fn wind_at_2_m(wind_m_per_s: f64, height_m: f64) -> f64 {
    wind_m_per_s * 4.87 / (67.8 * height_m - 5.42).ln()
}

/// Heat that the ground takes from one month to the next, MJ/m2 a day: by the means of the months before and after (equation 43).
pub fn ground_heat_by_month_mj_per_m2(before_c: f64, after_c: f64) -> f64 {
    0.07 * (after_c - before_c)
}

/// A day, or the mean day of a month, in all that the method of Penman and Monteith asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Lowest temperature, degC.
    pub low_c: f64,
    /// Highest temperature, degC.
    pub high_c: f64,
    /// Vapor pressure, kPa.
    pub vapor_kpa: f64,
    /// Wind at 2 m, m/s.
    pub wind_m_per_s: f64,
    /// Radiation on level ground, MJ/m2 a day.
    pub radiation_mj_per_m2: f64,
    /// Radiation above the atmosphere, MJ/m2 a day.
    pub extraterrestrial_mj_per_m2: f64,
    /// Heat that the ground takes, MJ/m2 a day; zero for single days.
    pub ground_heat_mj_per_m2: f64,
    /// Elevation above sea level, m.
    pub elevation_m: f64,
}

impl Conditions {
    /// Radiation that grass keeps, MJ/m2 a day (equations 38 to 40).
    pub fn net_radiation_mj_per_m2(&self) -> f64 {
        let clear = clear_sky_mj_per_m2(self.extraterrestrial_mj_per_m2, self.elevation_m);
        // In the polar night there is no share; the sky counts as clear.
        let share = if clear > 0.0 { self.radiation_mj_per_m2 / clear } else { 1.0 };
        let longwave = net_longwave_mj_per_m2(self.low_c, self.high_c, self.vapor_kpa, share);
        (1.0 - ALBEDO) * self.radiation_mj_per_m2 - longwave
    }

    /// Reference evapotranspiration by the method of Penman and Monteith, mm a day (equation 6).
    pub fn evapotranspiration_mm(&self) -> f64 {
        self.of_cover_mm(GRASS)
    }

    /// That of a tall cover like alfalfa, mm a day.
    ///
    /// Source: ASCE-EWRI, The ASCE standardized reference evapotranspiration equation (2005), constants of days, from memory.
    pub fn of_tall_cover_mm(&self) -> f64 {
        self.of_cover_mm(TALL)
    }

    fn of_cover_mm(&self, [numerator, denominator]: [f64; 2]) -> f64 {
        let mean_c = (self.low_c + self.high_c) / 2.0;
        let (slope, constant) = (slope_kpa_per_c(mean_c), psychrometric_kpa_per_c(self.elevation_m));
        let energy = MM_PER_MJ * slope * (self.net_radiation_mj_per_m2() - self.ground_heat_mj_per_m2);
        let deficit = mean_saturation_kpa(self.low_c, self.high_c) - self.vapor_kpa;
        let air = constant * numerator / (mean_c + 273.0) * self.wind_m_per_s * deficit;
        (energy + air) / (slope + constant * (1.0 + denominator * self.wind_m_per_s))
    }
}

/// Reference evapotranspiration from temperatures alone, mm a day, by the method of Hargreaves and Samani (equation 52).
pub fn hargreaves_mm(extraterrestrial_mj_per_m2: f64, low_c: f64, high_c: f64) -> f64 {
    let mean_c = (low_c + high_c) / 2.0;
    0.0023 * (mean_c + 17.8) * (high_c - low_c).max(0.0).sqrt() * MM_PER_MJ * extraterrestrial_mj_per_m2
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn dry_windy_or_sunny_days_take_more(low_c in 0.0..25.0, range_c in 2.0..20.0, wind in 0.5..6.0, sun in 0.3..0.9, vapor in 0.3..0.9) {
            let extraterrestrial = extraterrestrial_mj_per_m2(45.0, 180.0);
            let day = Conditions {
                low_c, high_c: low_c + range_c, wind_m_per_s: wind, elevation_m: 100.0, ground_heat_mj_per_m2: 0.0,
                vapor_kpa: vapor * saturation_kpa(low_c),
                radiation_mj_per_m2: sun * clear_sky_mj_per_m2(extraterrestrial, 100.0),
                extraterrestrial_mj_per_m2: extraterrestrial,
            };
            let found = day.evapotranspiration_mm();
            prop_assert!(found > 0.0);
            let sunnier = Conditions { radiation_mj_per_m2: 1.05 * day.radiation_mj_per_m2, ..day };
            prop_assert!(sunnier.evapotranspiration_mm() > found);
            prop_assert!(hargreaves_mm(extraterrestrial, low_c, low_c + range_c + 1.0) > hargreaves_mm(extraterrestrial, low_c, low_c + range_c));
        }

        #[test]
        fn north_and_south_have_the_same_days_half_a_year_apart(latitude in 0.0..89.0, day in 1.0..365.0) {
            let north = daylight_h(latitude, day);
            prop_assert!((north + daylight_h(-latitude, day) - 24.0).abs() < 1e-9);
            prop_assert!(extraterrestrial_mj_per_m2(latitude, day) >= 0.0 && north.is_finite());
        }
    }
}
