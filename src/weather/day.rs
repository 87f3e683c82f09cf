//! What is known of the weather of a day.

/// What is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    /// Lowest temperature, degC.
    Low,
    /// Highest temperature, degC.
    High,
    /// Rain, mm.
    Rain,
    /// Mean dew point, degC.
    DewPoint,
    /// Highest relative humidity, percent.
    HumidityHigh,
    /// Lowest relative humidity, percent.
    HumidityLow,
    /// Mean relative humidity, percent.
    Humidity,
    /// Mean wind at the height of the instrument, m/s.
    Wind,
    /// How long the sun shone, h.
    Sunshine,
    /// Radiation on level ground, MJ/m2.
    Radiation,
    /// Reference evapotranspiration that was computed elsewhere, mm.
    Et0,
}

impl Field {
    /// All fields, in the order of columns.
    pub const ALL: [Field; 11] = [
        Field::Low,
        Field::High,
        Field::Rain,
        Field::DewPoint,
        Field::HumidityHigh,
        Field::HumidityLow,
        Field::Humidity,
        Field::Wind,
        Field::Sunshine,
        Field::Radiation,
        Field::Et0,
    ];

    /// The name of its column.
    pub fn name(self) -> &'static str {
        match self {
            Field::Low => "tmin",
            Field::High => "tmax",
            Field::Rain => "rain",
            Field::DewPoint => "dew_point",
            Field::HumidityHigh => "rh_max",
            Field::HumidityLow => "rh_min",
            Field::Humidity => "rh",
            Field::Wind => "wind",
            Field::Sunshine => "sunshine",
            Field::Radiation => "radiation",
            Field::Et0 => "et0",
        }
    }

    /// The least and the greatest value of a day that anybody has measured, generously. From memory: extremes of weather on record,
    /// -68 to 56.7 degC and 1825 mm a day where people live.
    pub(super) fn range(self) -> (f64, f64) {
        match self {
            Field::Low | Field::High => (-70.0, 57.0),
            Field::Rain => (0.0, 1900.0),
            Field::DewPoint => (-80.0, 36.0),
            Field::HumidityHigh | Field::HumidityLow | Field::Humidity => (0.0, 101.0),
            Field::Wind => (0.0, 70.0),
            Field::Sunshine => (0.0, 24.0),
            Field::Radiation => (0.0, 45.0),
            Field::Et0 => (-1.0, 25.0),
        }
    }
}

/// What is known of a day; what was not measured is missing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Day {
    values: [Option<f64>; Field::ALL.len()],
}

impl Day {
    /// A value in the unit of its field.
    pub fn get(&self, field: Field) -> Option<f64> {
        self.values[field as usize]
    }

    /// Sets a value in the unit of its field, or takes it away.
    pub fn set(&mut self, field: Field, value: Option<f64>) {
        self.values[field as usize] = value;
    }

    /// The same with a value.
    pub fn with(mut self, field: Field, value: f64) -> Day {
        self.set(field, Some(value));
        self
    }

    /// The same as a station without other instruments would know it: temperatures and rain.
    pub fn temperatures_only(&self) -> Day {
        let mut day = Day::default();
        for field in [Field::Low, Field::High, Field::Rain] {
            day.set(field, self.get(field));
        }
        day
    }
}
