//! Why a result cannot be reported.

use crate::garden::GardenError;
use crate::hydraulics::SolveError;
use crate::money::MoneyError;
use crate::operation::OperationError;
use crate::table::TableError;
use crate::told::Told;
use thiserror::Error;

/// Why a result cannot be reported.
#[derive(Debug, Error)]
pub enum ReportError {
    /// A part or a zone is not in the garden, or the garden makes no sense.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The garden could not be operated.
    #[error(transparent)]
    Operation(#[from] OperationError),
    /// A table could not be made.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A cost could not be computed.
    #[error(transparent)]
    Money(#[from] MoneyError),
    /// A steady state was not found.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// A pressure was asked for where no supply reaches.
    #[error("no supply reaches '{name}' with {zones}")]
    Unreached {
        /// Name of the part.
        name: String,
        /// The zones that were open, in words.
        zones: String,
    },
    /// A pressure over time was asked for where no supply reaches at any time.
    #[error("no water reaches '{name}' in this run")]
    NeverReached {
        /// Name of the part.
        name: String,
    },
    /// A speed was asked for in a part through whose diameter no water runs.
    #[error("velocity: '{name}' has no inside diameter")]
    NoBore {
        /// Name of the part.
        name: String,
    },
    /// A power was asked for of a part that takes none.
    #[error("power: '{name}' is a {kind}, not a booster")]
    NotABooster {
        /// Name of the part.
        name: String,
        /// What it is: the name of the function that makes such a part.
        kind: &'static str,
    },
    /// A power or an energy was asked for, and the booster does not say what it takes.
    #[error("{asked}: '{name}' has neither input_power nor efficiency")]
    PowerUnknown {
        /// What was asked for: `power` or `energy`.
        asked: &'static str,
        /// Name of the booster.
        name: String,
    },
    /// A sum was asked for over a run that ended before its time.
    #[error("{asked}: the run was {why}; its totals are incomplete")]
    CutShort {
        /// What was asked for, such as `energy`.
        asked: &'static str,
        /// When and why it ended, in words.
        why: String,
    },
    /// Water was asked for of a part for which a run adds none up.
    #[error("water: there is no total for '{name}', a {kind}")]
    NotAddedUp {
        /// Name of the part.
        name: String,
        /// What it is: the name of the function that makes such a part.
        kind: &'static str,
    },
    /// A card was asked for, and the garden has nothing to show on it.
    #[error("nothing for a card of {card}: the garden has no {missing}")]
    EmptyCard {
        /// What the card is of.
        card: &'static str,
        /// What there would be on it.
        missing: &'static str,
    },
    /// Starts and stops were asked for of a part that has none.
    #[error("runs: '{name}' is not a booster")]
    NoRuns {
        /// Name of the part.
        name: String,
    },
    /// A comparison was asked for, and there is nothing to compare.
    #[error("there is no result to compare")]
    NoResult,
    /// The shortest run was asked for, and no pump has both started and stopped.
    #[error("no pump was started and stopped in this run")]
    NoRun,
    /// The shortest rest was asked for, and no pump has started twice.
    #[error("no pump was started twice in this run")]
    NoRest,
}

impl Told for ReportError {
    fn hint(&self) -> Option<String> {
        let hint = match self {
            ReportError::Garden(error) => return error.hint(),
            ReportError::Operation(error) => return error.hint(),
            ReportError::Table(error) => return error.hint(),
            ReportError::Money(error) => return error.hint(),
            ReportError::Unreached { .. } => "open the valve of its zone in run(..)",
            ReportError::PowerUnknown { .. } => "say .input_power(550.W) or .efficiency(0.4)",
            ReportError::CutShort { .. } => ".findings() gives the cause; correct it, or run a shorter time",
            ReportError::NotAddedUp { .. } => "name a supply, a valve, a head or another outlet",
            ReportError::NoRuns { .. } => "name a booster",
            ReportError::NoResult => "give a map of results, as in #{ now: g.run(\"beds\"), wider: h.run(\"beds\") }",
            ReportError::Solve(_)
            | ReportError::NeverReached { .. }
            | ReportError::NoBore { .. }
            | ReportError::NotABooster { .. }
            | ReportError::EmptyCard { .. }
            | ReportError::NoRun
            | ReportError::NoRest => return None,
        };
        Some(hint.into())
    }
}
