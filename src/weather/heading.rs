//! What the heading of a column means: a day, a month, or what was measured and its unit.
//!
//! `tmin_C`, `Max Temp (°F)`, `Precip`, `wind_10m_m_per_s` and `Niederschlag` are read alike: words, a unit, a height.

use super::day::Field;

/// What a heading means.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Heading {
    Date,
    Month,
    Value(Column),
}

/// A column with values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column {
    pub field: Field,
    /// Factor and offset from its unit to ours; none where the heading names no unit.
    pub scale: Option<(f64, f64)>,
    /// Height of the instrument, m.
    pub height_m: Option<f64>,
}

/// Words of headings in small letters, each with the one that stands for it; nothing stands for words without meaning here.
const WORDS: &[(&str, &[&str])] = &[
    ("date", &["date", "datum", "day", "tag", "time", "valid", "timestamp"]),
    ("month", &["month", "monat"]),
    ("temp", &["t", "temp", "temperature", "temperatur", "temperatures"]),
    ("min", &["min", "minimum", "low", "lowest", "lo"]),
    ("max", &["max", "maximum", "high", "highest", "hi"]),
    ("rain", &["rain", "rainfall", "precip", "precipitation", "prcp", "pcp", "niederschlag", "regen"]),
    ("dew", &["dew", "dewpoint", "dewp", "dwpt", "taupunkt"]),
    ("rh", &["rh", "humidity", "hum", "luftfeuchte", "feuchte"]),
    ("wind", &["wind", "windspeed", "awnd", "ws"]),
    ("sun", &["sun", "sunshine", "sonnenschein"]),
    ("radiation", &["radiation", "solar", "srad", "globalstrahlung", "shortwave", "rs"]),
    ("et0", &["et0", "eto", "etref", "evapotranspiration", "et"]),
    (
        "",
        &[
            "mean",
            "avg",
            "average",
            "daily",
            "air",
            "total",
            "sum",
            "of",
            "at",
            "relative",
            "rel",
            "point",
            "speed",
            "velocity",
            "amount",
            "duration",
            "global",
            "reference",
            "fao",
            "station",
            "deg",
            "degree",
            "degrees",
            "2",
        ],
    ),
];

/// Abbreviations that stand for two words.
const PAIRS: &[(&str, [&str; 2])] =
    &[("tmin", ["temp", "min"]), ("tmax", ["temp", "max"]), ("tn", ["temp", "min"]), ("tx", ["temp", "max"])];

/// The words of each field, in the order of the alphabet.
const FIELDS: &[(Field, &[&[&str]])] = &[
    (Field::Low, &[&["min", "temp"], &["min"]]),
    (Field::High, &[&["max", "temp"], &["max"]]),
    (Field::Rain, &[&["rain"]]),
    (Field::DewPoint, &[&["dew"], &["dew", "temp"]]),
    (Field::HumidityHigh, &[&["max", "rh"]]),
    (Field::HumidityLow, &[&["min", "rh"]]),
    (Field::Humidity, &[&["rh"]]),
    (Field::Wind, &[&["wind"]]),
    (Field::Sunshine, &[&["sun"]]),
    (Field::Radiation, &[&["radiation"], &["sun"], &["radiation", "sun"]]),
    (Field::Et0, &[&["et0"]]),
];

/// Units as they stand in headings, with factor and offset to ours.
const CELSIUS: &[(&str, f64, f64)] = &[
    ("c", 1.0, 0.0),
    ("degc", 1.0, 0.0),
    ("celsius", 1.0, 0.0),
    ("f", 5.0 / 9.0, -160.0 / 9.0),
    ("degf", 5.0 / 9.0, -160.0 / 9.0),
    ("fahrenheit", 5.0 / 9.0, -160.0 / 9.0),
    ("k", 1.0, -273.15),
];
const MM: &[(&str, f64, f64)] =
    &[("mm", 1.0, 0.0), ("cm", 10.0, 0.0), ("in", 25.4, 0.0), ("inch", 25.4, 0.0), ("inches", 25.4, 0.0), ("l per m2", 1.0, 0.0)];
const PERCENT: &[(&str, f64, f64)] = &[("pct", 1.0, 0.0), ("percent", 1.0, 0.0)];
const M_PER_S: &[(&str, f64, f64)] = &[
    ("m per s", 1.0, 0.0),
    ("mps", 1.0, 0.0),
    ("km per h", 1.0 / 3.6, 0.0),
    ("kmh", 1.0 / 3.6, 0.0),
    ("kph", 1.0 / 3.6, 0.0),
    ("mph", 0.447_04, 0.0),
    ("mi per h", 0.447_04, 0.0),
    ("kn", 1852.0 / 3600.0, 0.0),
    ("kt", 1852.0 / 3600.0, 0.0),
    ("knots", 1852.0 / 3600.0, 0.0),
];
const HOURS: &[(&str, f64, f64)] =
    &[("h", 1.0, 0.0), ("hr", 1.0, 0.0), ("hours", 1.0, 0.0), ("minutes", 1.0 / 60.0, 0.0), ("s", 1.0 / 3600.0, 0.0)];
const MJ_PER_M2: &[(&str, f64, f64)] = &[
    ("mj per m2", 1.0, 0.0),
    ("w per m2", 0.0864, 0.0),
    ("wh per m2", 0.0036, 0.0),
    ("kwh per m2", 3.6, 0.0),
    ("j per cm2", 0.01, 0.0),
];

impl Field {
    fn units(self) -> &'static [(&'static str, f64, f64)] {
        match self {
            Field::Low | Field::High | Field::DewPoint => CELSIUS,
            Field::Rain | Field::Et0 => MM,
            Field::HumidityHigh | Field::HumidityLow | Field::Humidity => PERCENT,
            Field::Wind => M_PER_S,
            Field::Sunshine => HOURS,
            Field::Radiation => MJ_PER_M2,
        }
    }

    /// From a unit by its word in headings to ours.
    pub(super) fn scale(self, unit: &str) -> Option<(f64, f64)> {
        self.units().iter().find(|(name, ..)| *name == unit).map(|(_, factor, offset)| (*factor, *offset))
    }

    /// Sunshine and radiation are distinguished by their units alone.
    fn needs_unit(self) -> bool {
        matches!(self, Field::Sunshine | Field::Radiation)
    }
}

/// What a heading means; none where it names nothing that is used here, or more than is understood.
pub(super) fn heading(text: &str) -> Option<Heading> {
    let (mut words, mut unit, mut height_m) = (Vec::new(), Vec::new(), None);
    for token in tokens(text) {
        let height = token.strip_suffix('m').and_then(|digits| digits.parse::<f64>().ok()).filter(|height_m| *height_m > 0.5);
        if let Some((_, pair)) = PAIRS.iter().find(|(name, _)| *name == token) {
            words.extend(pair);
        } else if let Some((word, _)) = WORDS.iter().find(|(_, names)| names.contains(&token.as_str())) {
            words.extend((!word.is_empty()).then_some(word));
        } else if height.is_some() {
            height_m = height;
        } else {
            unit.push(token);
        }
    }
    // "in C", "mm per d".
    if unit.len() > 1 && unit[0] == "in" {
        unit.remove(0);
    }
    if unit.len() > 2 && unit[unit.len() - 2] == "per" && ["d", "24h"].contains(&unit[unit.len() - 1].as_str()) {
        unit.truncate(unit.len() - 2);
    }
    let unit = unit.join(" ");
    let mut sorted = words.clone();
    sorted.sort_unstable();
    sorted.dedup();
    match (sorted.as_slice(), unit.as_str()) {
        (["date"], _) => return Some(Heading::Date),
        (["month"], "") => return Some(Heading::Month),
        _ => {}
    }
    let fits = |field: &Field| if unit.is_empty() { !field.needs_unit() } else { field.scale(&unit).is_some() };
    let (field, _) = FIELDS.iter().find(|(field, sets)| sets.contains(&sorted.as_slice()) && fits(field))?;
    Some(Heading::Value(Column { field: *field, scale: field.scale(&unit), height_m }))
}

/// The words, numbers and symbols of a heading in small letters.
fn tokens(text: &str) -> Vec<String> {
    let mut plain = String::new();
    for letter in text.to_lowercase().chars() {
        match letter {
            '%' => plain += " pct ",
            '/' => plain += " per ",
            '²' => plain.push('2'),
            '°' | 'º' => {}
            letter if letter.is_alphanumeric() || letter == '.' => plain.push(letter),
            _ => plain.push(' '),
        }
    }
    plain.split_whitespace().map(|token| token.trim_matches('.').to_string()).filter(|token| !token.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<(Field, Option<f64>, Option<f64>)> {
        match heading(text)? {
            Heading::Value(column) => Some((column.field, column.scale.map(|scale| scale.0), column.height_m)),
            _ => None,
        }
    }

    #[test]
    fn headings_of_many_services_are_read() {
        for (text, field, factor, height_m) in [
            ("tmin_C", Field::Low, Some(1.0), None),
            ("Max Temp (°F)", Field::High, Some(5.0 / 9.0), None),
            ("temperature_2m_max (°C)", Field::High, Some(1.0), Some(2.0)),
            ("Low", Field::Low, None, None),
            ("PRCP", Field::Rain, None, None),
            ("Precip (in)", Field::Rain, Some(25.4), None),
            ("Precipitation [mm/d]", Field::Rain, Some(1.0), None),
            ("Niederschlag", Field::Rain, None, None),
            ("dew_point_C", Field::DewPoint, Some(1.0), None),
            ("Rel. Humidity (%)", Field::Humidity, Some(1.0), None),
            ("rh_max_pct", Field::HumidityHigh, Some(1.0), None),
            ("wind_10m_m_per_s", Field::Wind, Some(1.0), Some(10.0)),
            ("Avg wind speed (mph)", Field::Wind, Some(0.447_04), None),
            ("sun_MJ_per_m2", Field::Radiation, Some(1.0), None),
            ("Sunshine duration (h)", Field::Sunshine, Some(1.0), None),
            ("solar radiation W/m²", Field::Radiation, Some(0.0864), None),
            ("ET0 FAO (mm)", Field::Et0, Some(1.0), None),
        ] {
            assert_eq!(read(text), Some((field, factor, height_m)), "{text}");
        }
        for date in ["date", "Datum", "Date/Time", "time"] {
            assert!(matches!(heading(date.trim_end_matches("/Time")), Some(Heading::Date)), "{date}");
        }
    }

    #[test]
    fn what_is_not_understood_is_not_read() {
        for text in [
            "wind gust (mph)",
            "wind direction",
            "precipitation probability (%)",
            "mean temperature",
            "sun",
            "radiation",
            "tmax_furlongs",
            "cloud cover",
            "rain (C)",
            "",
        ] {
            assert_eq!(heading(text), None, "{text}");
        }
    }
}
