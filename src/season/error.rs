//! Why a season or a week cannot be computed.

use crate::moment::Date;
use crate::operation::OperationError;
use crate::soil::SoilError;
use crate::told::Told;
use crate::unit_system::chosen;
use crate::weather::WeatherError;
use thiserror::Error;

/// Why a season or a week cannot be computed.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum SeasonError {
    /// The weather does not serve.
    #[error(transparent)]
    Weather(#[from] WeatherError),
    /// A soil or crop does not serve.
    #[error("bed '{bed}': {error}")]
    Soil {
        /// Name of the bed.
        bed: String,
        /// What is wrong.
        error: SoilError,
    },
    /// No bed was given.
    #[error("there is no bed")]
    NoBeds,
    /// Two beds have the same name.
    #[error("two beds are called '{name}'")]
    SameName {
        /// The name.
        name: String,
    },
    /// The day of planting is not given.
    #[error("bed '{bed}': the day on which {crop} was planted is not given")]
    NotPlanted {
        /// Name of the bed.
        bed: String,
        /// Name of the crop.
        crop: String,
    },
    /// The weather has no day of the crop.
    #[error("bed '{bed}': {crop} grows from {from} to {to}, and the weather has none of these days")]
    NoDays {
        /// Name of the bed.
        bed: String,
        /// Name of the crop.
        crop: String,
        /// First day of the crop.
        from: Date,
        /// Its last day.
        to: Date,
    },
    /// The weather says nothing of the days before a week.
    #[error("the week begins on {date}, and the weather has the days from {first} to {end}")]
    NoWeek {
        /// First day of the week.
        date: Date,
        /// First day of the weather.
        first: Date,
        /// Its last day.
        end: Date,
    },
    /// A number of a bed or a rule that does not fit.
    #[error("{what} is {found}; expected {expected}")]
    OutOfRange {
        /// What it is, in words.
        what: String,
        /// What was given, in the unit that `expected` names.
        found: f64,
        /// What is accepted.
        expected: &'static str,
    },
    /// A bed has no rate, so that there are no minutes.
    #[error("bed '{bed}': the rate at which it is watered is not given")]
    NoRate {
        /// Name of the bed.
        bed: String,
    },
    /// A bed has no ground, so that there are no volumes.
    #[error("bed '{bed}': its area is not given")]
    NoArea {
        /// Name of the bed.
        bed: String,
    },
    /// Nothing of a season has that path.
    #[error("a season has nothing called '{path}'")]
    NoPath {
        /// The path.
        path: String,
        /// Paths that look like it, or the names of all beds.
        known: Vec<String>,
    },
    /// A path is set to a value of another kind.
    #[error("'{path}' must be {expected}, found {found}")]
    WrongKind {
        /// The path.
        path: String,
        /// What it must be, in words.
        expected: String,
        /// What was given, in words.
        found: String,
    },
    /// A path is about a name or a day.
    #[error("'{path}' is not a number")]
    NotANumber {
        /// The path.
        path: String,
    },
    /// A path has no value yet.
    #[error("'{path}' has no value yet")]
    NoValue {
        /// The path.
        path: String,
    },
    /// A text that is no day.
    #[error("{path}: '{text}' is not a day")]
    NotADay {
        /// What it is for.
        path: String,
        /// The text.
        text: String,
    },
    /// No year has all days of a season.
    #[error("the weather has no year with all days of the season")]
    NoYears {
        /// Years of which it has a part.
        left_out: Vec<i32>,
    },
    /// No parameter of a bed has that path.
    #[error("a bed has no parameter '{path}'")]
    NoParameter {
        /// The path.
        path: String,
        /// Paths that look like it, or all.
        known: Vec<&'static str>,
    },
    /// A time of day that is none.
    #[error(transparent)]
    Clock(#[from] OperationError),
}

impl Told for SeasonError {
    fn hint(&self) -> Option<String> {
        match self {
            SeasonError::Weather(error) => error.hint(),
            SeasonError::Soil { error, .. } => error.hint(),
            SeasonError::NoParameter { known, .. } => Some(format!("known are {}", known.join(", "))),
            SeasonError::NoPath { known, .. } => Some(format!("known are {}", known.join(", "))),
            SeasonError::NoArea { .. } => Some(chosen("give .area({60.ft2|6.m2}) or .watered_by(coverage of its zone)")),
            SeasonError::NotADay { .. } => Some("write year, month and day, as in \"2015-05-15\"".into()),
            SeasonError::NotANumber { .. } => Some("set it to a name or a day".into()),
            SeasonError::NoValue { .. } => Some("set it first".into()),
            SeasonError::NoYears { .. } => Some("read days of whole years; monthly means have no years".into()),
            SeasonError::WrongKind { .. } => None,
            SeasonError::NoBeds => {
                Some("give beds in a list, as in [bed(\"tomatoes\", crop(\"tomato\"), soil(\"loam\"))]".into())
            }
            SeasonError::SameName { .. } => Some("give each bed a name of its own".into()),
            SeasonError::NotPlanted { .. } => Some("give it as in .planted(\"2015-05-15\")".into()),
            SeasonError::NoDays { .. } | SeasonError::NoWeek { .. } => Some("read the weather of that year".into()),
            SeasonError::NoRate { .. } => Some("give .watered_by(coverage of its zone) or .rate(0.5.in_per_h, 70)".into()),
            SeasonError::Clock(error) => error.hint(),
            SeasonError::OutOfRange { .. } => None,
        }
    }
}
