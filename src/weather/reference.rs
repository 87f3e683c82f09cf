//! The reference evapotranspiration of a day, and how it was determined from what is known.

use super::day::{Day, Field};
use super::error::WeatherError;
use super::evapotranspiration::{
    Conditions, INLAND, USUAL_WIND_M_PER_S, daylight_h, extraterrestrial_mj_per_m2, hargreaves_mm, mean_saturation_kpa,
    radiation_by_sunshine_mj_per_m2, radiation_by_temperatures_mj_per_m2, saturation_kpa, wind_at_2_m,
};
use std::fmt;

/// Where the weather was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Latitude, degrees; south is below zero.
    pub latitude_deg: f64,
    /// Elevation above sea level, m.
    pub elevation_m: f64,
    /// Its clock; none where only the sun's time is needed.
    pub zone: Option<ClockZone>,
}

/// Where a place is in its time zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClockZone {
    /// Longitude, degrees; west is below zero.
    pub longitude_deg: f64,
    /// How far its clock is ahead of universal time, h.
    pub ahead_of_utc_h: f64,
}

impl Place {
    /// A place. Errors: no latitude from -90 to 90, or an elevation outside of -450 m to 6000 m, where people have gardens.
    pub fn new(latitude_deg: f64, elevation_m: f64) -> Result<Place, WeatherError> {
        if !(-90.0..=90.0).contains(&latitude_deg) {
            let expected = "degrees from -90 in the south to 90 in the north";
            return Err(WeatherError::BadPlace { what: "latitude", found: latitude_deg, expected });
        }
        if !(-450.0..=6000.0).contains(&elevation_m) {
            return Err(WeatherError::BadPlace { what: "elevation", found: elevation_m, expected: "-450 m to 6000 m" });
        }
        Ok(Place { latitude_deg, elevation_m, zone: None })
    }

    /// The same with its clock. Errors: no longitude from -180 to 180, or a clock that no place has.
    pub fn with_zone(self, longitude_deg: f64, ahead_of_utc_h: f64) -> Result<Place, WeatherError> {
        if !(-180.0..=180.0).contains(&longitude_deg) {
            let expected = "degrees from -180 in the west to 180 in the east";
            return Err(WeatherError::BadPlace { what: "longitude", found: longitude_deg, expected });
        }
        if !(-12.0..=14.0).contains(&ahead_of_utc_h) || (ahead_of_utc_h - longitude_deg / 15.0).abs() > 4.0 {
            let expected = "hours ahead of universal time, within 4 h of the longitude over 15";
            return Err(WeatherError::BadPlace { what: "clock", found: ahead_of_utc_h, expected });
        }
        Ok(Place { zone: Some(ClockZone { longitude_deg, ahead_of_utc_h }), ..self })
    }
}

/// Which method is used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Method {
    /// What the file gives; Penman-Monteith where wind, humidity or sun is known, Hargreaves-Samani elsewhere.
    #[default]
    ByData,
    /// Penman-Monteith, missing values by the rules of its paper.
    PenmanMonteith,
    /// Hargreaves-Samani, from temperatures alone.
    Hargreaves,
}

impl Method {
    /// Each with the word for it.
    pub const ALL: [(&str, Method); 3] =
        [("by data", Method::ByData), ("Penman-Monteith", Method::PenmanMonteith), ("Hargreaves", Method::Hargreaves)];
}

/// How a series is evaluated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// The method.
    pub method: Method,
    /// Height of the wind instrument, m.
    pub wind_height_m: f64,
    /// Factor of radiation from temperatures: 0.16 inland, 0.19 on a coast.
    pub radiation_factor: f64,
}

impl Default for Settings {
    fn default() -> Settings {
        // Stations of weather services measure wind at 10 m.
        Settings { method: Method::ByData, wind_height_m: 10.0, radiation_factor: INLAND }
    }
}

/// Where the humidity of a day comes from, best first as in the paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Humidity {
    /// The dew point (equation 14).
    DewPoint,
    /// Highest and lowest relative humidity (equation 17).
    Extremes,
    /// Highest relative humidity alone (equation 18).
    Highest,
    /// Mean relative humidity (equation 19).
    Mean,
    /// Not measured: the low is taken as dew point (equation 48).
    Low,
}

/// Where the radiation of a day comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sky {
    /// It was measured.
    Radiation,
    /// Hours of sunshine (equation 35).
    Sunshine,
    /// Not measured: from low and high (equation 50).
    Temperatures,
}

/// How reference evapotranspiration was determined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Air {
    /// The file gives it.
    Given,
    /// Penman-Monteith with these data.
    PenmanMonteith {
        /// Where humidity comes from.
        humidity: Humidity,
        /// True where the wind was measured; 2 m/s elsewhere.
        wind: bool,
        /// Where radiation comes from.
        sky: Sky,
    },
    /// Hargreaves-Samani.
    Hargreaves,
}

impl Air {
    /// True where nothing but temperatures went into it.
    pub fn is_of_temperatures(self) -> bool {
        let blind = Air::PenmanMonteith { humidity: Humidity::Low, wind: false, sky: Sky::Temperatures };
        self == Air::Hargreaves || self == blind
    }
}

impl fmt::Display for Air {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Air::PenmanMonteith { humidity, wind, sky } = self else {
            return f.write_str(if *self == Air::Given { "given" } else { "Hargreaves" });
        };
        let humidity = match humidity {
            Humidity::DewPoint => "dew point",
            Humidity::Extremes => "humidity",
            Humidity::Highest => "highest humidity",
            Humidity::Mean => "mean humidity",
            Humidity::Low => "dew point = low",
        };
        let sky = match sky {
            Sky::Radiation => "radiation",
            Sky::Sunshine => "sunshine",
            Sky::Temperatures => "sun by temperatures",
        };
        write!(f, "Penman-Monteith: {humidity}, {}, {sky}", if *wind { "wind" } else { "wind 2 m/s" })
    }
}

/// Reference evapotranspiration of a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Et0 {
    /// Depth of a day, mm.
    pub mm: f64,
    /// How it was determined.
    pub how: Air,
}

/// Mean temperatures of the months before and after, and what only means of months have.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Means {
    /// Heat that the ground takes, MJ/m2 a day.
    pub ground_heat_mj_per_m2: f64,
    /// Share of daylight in which the sun shines.
    pub sunshine_share: Option<f64>,
}

/// Reference evapotranspiration of a day of the year at a place; none without low and high, unless it is given.
pub fn evapotranspiration_of(day: &Day, day_of_year: f64, place: &Place, settings: &Settings, means: &Means) -> Option<Et0> {
    if settings.method == Method::ByData
        && let Some(mm) = day.get(Field::Et0)
    {
        return Some(Et0 { mm, how: Air::Given });
    }
    let (low_c, high_c) = (day.get(Field::Low)?, day.get(Field::High)?);
    let above = extraterrestrial_mj_per_m2(place.latitude_deg, day_of_year);
    let known = [Field::DewPoint, Field::HumidityHigh, Field::Humidity, Field::Wind, Field::Sunshine, Field::Radiation];
    let is_blind = known.iter().all(|field| day.get(*field).is_none()) && means.sunshine_share.is_none();
    if settings.method == Method::Hargreaves || settings.method == Method::ByData && is_blind {
        return Some(Et0 { mm: hargreaves_mm(above, low_c, high_c), how: Air::Hargreaves });
    }
    let share = |field: Field| day.get(field).map(|percent| percent.min(100.0) / 100.0);
    let (humidity, vapor_kpa) = match (day.get(Field::DewPoint), share(Field::HumidityHigh), share(Field::HumidityLow)) {
        (Some(dew_c), ..) => (Humidity::DewPoint, saturation_kpa(dew_c)),
        (_, Some(most), Some(least)) => {
            (Humidity::Extremes, (saturation_kpa(low_c) * most + saturation_kpa(high_c) * least) / 2.0)
        }
        (_, Some(most), None) => (Humidity::Highest, saturation_kpa(low_c) * most),
        (_, None, _) => match share(Field::Humidity) {
            Some(mean) => (Humidity::Mean, mean * mean_saturation_kpa(low_c, high_c)),
            None => (Humidity::Low, saturation_kpa(low_c)),
        },
    };
    let sunshine = day.get(Field::Sunshine).map(|sunshine_h| sunshine_h / daylight_h(place.latitude_deg, day_of_year).max(1e-6));
    let (sky, radiation_mj_per_m2) = match (day.get(Field::Radiation), sunshine.or(means.sunshine_share)) {
        (Some(radiation), _) => (Sky::Radiation, radiation),
        (None, Some(share)) => (Sky::Sunshine, radiation_by_sunshine_mj_per_m2(above, share.clamp(0.0, 1.0))),
        (None, None) => (Sky::Temperatures, radiation_by_temperatures_mj_per_m2(above, low_c, high_c, settings.radiation_factor)),
    };
    let wind = day.get(Field::Wind).map(|wind_m_per_s| wind_at_2_m(wind_m_per_s, settings.wind_height_m));
    let conditions = Conditions {
        low_c,
        high_c,
        vapor_kpa,
        wind_m_per_s: wind.unwrap_or(USUAL_WIND_M_PER_S),
        radiation_mj_per_m2,
        extraterrestrial_mj_per_m2: above,
        ground_heat_mj_per_m2: means.ground_heat_mj_per_m2,
        elevation_m: place.elevation_m,
    };
    Some(Et0 { mm: conditions.evapotranspiration_mm(), how: Air::PenmanMonteith { humidity, wind: wind.is_some(), sky } })
}
