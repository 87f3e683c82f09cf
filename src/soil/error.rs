//! What is wrong with a soil or a crop.

use crate::told::Told;
use thiserror::Error;

/// Why there is no such soil or crop, or why a number of it is refused.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum SoilError {
    /// No texture has that name.
    #[error("no soil is called '{name}'")]
    NoSoil {
        /// The name.
        name: String,
        /// Names that are known.
        known: Vec<&'static str>,
    },
    /// No crop has that name.
    #[error("no crop is called '{name}'")]
    NoCrop {
        /// The name.
        name: String,
        /// Names that look like it, or all.
        known: Vec<&'static str>,
    },
    /// A number that does not fit.
    #[error("{what} is {found}; expected {expected}")]
    OutOfRange {
        /// What it is, in words.
        what: &'static str,
        /// What was given, in the unit that `expected` names.
        found: f64,
        /// What is accepted.
        expected: &'static str,
    },
    /// No table gives how long the stages of a crop last.
    #[error("no table gives how long the stages of {name} last")]
    NoStages {
        /// Name of the crop.
        name: String,
    },
}

impl SoilError {
    /// A number inside a range, or the error that says what was expected.
    pub(crate) fn within(
        what: &'static str,
        found: f64,
        least: f64,
        most: f64,
        expected: &'static str,
    ) -> Result<f64, SoilError> {
        if (least..=most).contains(&found) { Ok(found) } else { Err(SoilError::OutOfRange { what, found, expected }) }
    }
}

impl Told for SoilError {
    fn hint(&self) -> Option<String> {
        match self {
            SoilError::NoSoil { known, .. } | SoilError::NoCrop { known, .. } => Some(format!("known are {}", known.join(", "))),
            SoilError::NoStages { .. } => {
                Some("give initial, development, middle and late stage in days, as in crop(\"garlic\", [30, 60, 90, 30])".into())
            }
            SoilError::OutOfRange { .. } => None,
        }
    }
}
