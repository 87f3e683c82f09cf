//! The readings of a fit, its answer, and why there may be none.

use crate::garden::{Garden, GardenError};
use crate::hydraulics::{ProbeKind, RunError};
use crate::moment::Date;
use crate::quantity::{PSI_PA, Quantity};
use crate::season::{Scenario, SeasonError};
use crate::told::Told;
use crate::unit_system::chosen;
use thiserror::Error;

/// A reading of a gauge or a bucket test.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// The valves that were open.
    pub zones: Vec<String>,
    /// The part: pressure downstream of it, or upstream of an outlet; flow through it.
    pub at: String,
    /// What was read: a pressure or a flow.
    pub kind: ProbeKind,
    /// The reading: a pressure or a flow.
    pub value: Quantity,
    /// Its standard error; default [`USUAL_GAUGE_ERROR_PA`] or [`USUAL_BUCKET_ERROR`].
    pub error: Option<Quantity>,
}

/// Error of a gauge of which nothing is said: 1 psi, common practice for a garden gauge.
pub const USUAL_GAUGE_ERROR_PA: f64 = PSI_PA;

/// Error of a bucket test of which nothing is said, as a share of the flow; common practice.
pub const USUAL_BUCKET_ERROR: f64 = 0.03;

/// A parameter that was fitted.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The path of the parameter, such as `feed.length`.
    pub path: String,
    /// What the garden said before.
    pub start: Quantity,
    /// The parameter that fits the readings best.
    pub value: Quantity,
    /// Standard error, SI; nothing where the readings do not fix the parameter, or a bound holds it.
    pub error: Option<f64>,
    /// True where the parameter ran into the end of its range.
    pub bound: bool,
}

/// A reading and what the fitted model says of it.
#[derive(Clone, Debug)]
pub struct Checked {
    /// What was read, such as `berry.pressure`.
    pub what: String,
    /// In which situation: the zones that were on, or the day.
    pub when: String,
    /// The reading.
    pub value: Quantity,
    /// True where nobody gave its error.
    pub error_is_usual: bool,
    /// What the fitted model says, SI.
    pub model: f64,
    /// Standard error that was used, SI.
    pub error: f64,
}

impl Checked {
    /// Model less reading, in standard errors.
    pub fn off(&self) -> f64 {
        (self.model - self.value.si) / self.error
    }
}

/// What was fitted.
#[derive(Clone, Debug)]
pub enum Subject {
    /// A garden.
    Garden(Garden),
    /// Beds in a weather.
    Season(Box<Scenario>),
}

/// The answer of a fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The garden or the season with the fitted parameters.
    pub subject: Subject,
    /// The parameters that were fitted, in the order in which they were asked for.
    pub parameters: Vec<Fitted>,
    /// The readings, in the order in which they were given.
    pub readings: Vec<Checked>,
    /// Sum of the squares of all residuals in standard errors.
    pub chi_square: f64,
    /// Readings less the unknowns that no bound holds; zero or less where the quality cannot be determined.
    pub freedom: i64,
    /// Correlation between two parameters; nothing where it is not known.
    pub correlation: Vec<Vec<Option<f64>>>,
    /// Warnings and limits.
    pub notes: Vec<String>,
    /// Steps that the search took.
    pub iterations: usize,
}

impl Fit {
    /// The fitted garden, where it is one.
    pub fn garden(&self) -> Option<&Garden> {
        if let Subject::Garden(garden) = &self.subject { Some(garden) } else { None }
    }

    /// The fitted season, where it is one.
    pub fn season(&self) -> Option<&Scenario> {
        if let Subject::Season(scenario) = &self.subject { Some(scenario) } else { None }
    }
}

/// Why nothing could be fitted.
#[derive(Debug, Error)]
pub enum FitError {
    /// The garden cannot be solved with the zones of a reading.
    #[error(transparent)]
    Run(#[from] RunError),
    /// Beds, weather or a path of a season do not fit.
    #[error(transparent)]
    Season(#[from] SeasonError),
    /// A season has no such bed, or no such day of it.
    #[error("the season of '{bed}' has no {day}, so there is no reading")]
    NoDay {
        /// Name of the bed.
        bed: String,
        /// The day.
        day: Date,
    },
    /// The list of readings is empty.
    #[error("there are no readings")]
    NoReadings,
    /// The list of readings of the soil is empty.
    #[error("there are no readings")]
    NoSoilReadings,
    /// The list of parameters to fit is empty.
    #[error("there is no parameter to calibrate")]
    NoUnknowns,
    /// A parameter was to be fitted twice.
    #[error("'{path}' is listed twice among the parameters")]
    Twice {
        /// The path of the parameter.
        path: String,
    },
    /// A reading is neither a pressure nor a flow, or its error is of another dimension.
    #[error("the reading at '{at}' must be {expected}, found {found}")]
    Dimension {
        /// Name of the part.
        at: String,
        /// What it must be, in words.
        expected: String,
        /// What was given, in words.
        found: String,
    },
    /// The standard error of a reading is zero or below.
    #[error("the error of the reading at '{at}' must be above zero, found {found}")]
    BadError {
        /// Name of the part.
        at: String,
        /// The error that was given, with its unit.
        found: String,
    },
    /// A reading was taken where no water comes from any supply.
    #[error("no supply reaches '{at}' with {zones}, so there is no reading")]
    NotFed {
        /// Name of the part.
        at: String,
        /// The zones that were open, in words.
        zones: String,
    },
    /// The garden has no steady state with the parameters with which the search begins.
    #[error("the garden cannot be run with its present parameters: {reason}")]
    Start {
        /// Why, in words.
        reason: String,
    },
}

impl Told for FitError {
    fn hint(&self) -> Option<String> {
        match self {
            FitError::Run(error) => error.hint(),
            FitError::Season(error) => error.hint(),
            FitError::NoDay { .. } => Some("give a day from planting to harvest that the weather has".into()),
            FitError::NoReadings => Some(chosen(
                "give a list of readings such as #{ zones: \"beds\", at: \"bed\", pressure: {31.psi, error: 1.psi|2.1.bar, error: 0.1.bar} }",
            )),
            FitError::NoSoilReadings => {
                Some("give a list of readings such as #{ bed: \"tomatoes\", on: \"2015-07-13\", finger: \"moist\" }".into())
            }
            FitError::NoUnknowns => {
                Some("name the parameters to calibrate, as in [\"feed.roughness\", \"supply.static_pressure\"]".into())
            }
            FitError::Dimension { expected, .. } => Some(if *expected == crate::quantity::dim::FLOW.to_string() {
                chosen("give it a unit, as in flow: {3.gpm|12.lpm}")
            } else {
                chosen("give it a unit, as in pressure: {38.psi|2.6.bar}")
            }),
            FitError::NotFed { .. } => Some("name the zones that were on during the reading".into()),
            FitError::Start { .. } => Some("start with parameters near the true ones".into()),
            _ => None,
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            FitError::Dimension { expected, .. } if *expected == crate::quantity::dim::FLOW.to_string() => Some("flow".into()),
            FitError::Dimension { .. } => Some("pressure".into()),
            FitError::BadError { .. } => Some("error".into()),
            _ => None,
        }
    }
}

impl From<GardenError> for FitError {
    fn from(error: GardenError) -> FitError {
        FitError::Run(error.into())
    }
}
