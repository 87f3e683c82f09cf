//! Why something cannot be told.

use crate::garden::GardenError;
use crate::hydraulics::SolveError;
use crate::operation::OperationError;
use crate::table::TableError;
use crate::told::Told;
use thiserror::Error;

/// Why something cannot be told.
#[derive(Debug, Error)]
pub enum ReportError {
    #[error(transparent)]
    Garden(#[from] GardenError),
    #[error(transparent)]
    Operation(#[from] OperationError),
    #[error(transparent)]
    Table(#[from] TableError),
    #[error(transparent)]
    Solve(#[from] SolveError),
    #[error("no supply reaches '{name}' with {zones}")]
    Unreached { name: String, zones: String },
    #[error("no supply ever reaches '{name}' in this run")]
    NeverReached { name: String },
    #[error("speed: '{name}' has no bore that water runs through")]
    NoBore { name: String },
    #[error("power: '{name}' is a {word}, not a booster")]
    NotABooster { name: String, word: &'static str },
    #[error("{asked}: '{name}' has neither watts nor an efficiency")]
    PowerUnknown { asked: &'static str, name: String },
    #[error("{asked}: the run was {why}; its sums would be too small")]
    CutShort { asked: &'static str, why: String },
    #[error("water: nothing is added up for '{name}', a {word}")]
    NotAddedUp { name: String, word: &'static str },
    #[error("runs: '{name}' is no booster")]
    NoRuns { name: String },
    #[error("no pump was started and stopped in this run")]
    NoRun,
    #[error("no pump was started twice in this run")]
    NoRest,
}

impl Told for ReportError {
    fn hint(&self) -> Option<String> {
        let hint = match self {
            ReportError::Garden(error) => return error.hint(),
            ReportError::Operation(error) => return error.hint(),
            ReportError::Table(error) => return error.hint(),
            ReportError::Unreached { .. } => "open the valve of its zone in run(..)",
            ReportError::PowerUnknown { .. } => "say .watts(550.W) or .efficiency(0.4)",
            ReportError::CutShort { .. } => ".findings() tells more; cure it, or run a shorter time",
            ReportError::NotAddedUp { .. } => "ask for a supply, a valve, a head or another outlet",
            ReportError::NoRuns { .. } => "name the pump whose runs you want",
            ReportError::Solve(_)
            | ReportError::NeverReached { .. }
            | ReportError::NoBore { .. }
            | ReportError::NotABooster { .. }
            | ReportError::NoRun
            | ReportError::NoRest => return None,
        };
        Some(hint.into())
    }
}
