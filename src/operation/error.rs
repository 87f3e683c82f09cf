//! What can go wrong when a garden is operated.

use crate::garden::GardenError;
use crate::hydraulics::{RunError, SolveError};
use crate::told::Told;
use thiserror::Error;

#[derive(Debug, Error, Clone, PartialEq)]
pub enum OperationError {
    #[error(transparent)]
    Garden(#[from] GardenError),
    #[error("at {when} with {setting}: {error}")]
    Solve { when: String, setting: String, error: SolveError },
    #[error("'{text}' is not a time of the day")]
    NotAClock { text: String },
    #[error("{what} must be above zero, found {found}")]
    NotPositive { what: String, found: String },
    #[error("the programme opens '{name}', which is a {word}")]
    CannotOpen { name: String, word: &'static str },
    #[error("timer '{timer}' has {missing}")]
    Unfinished { timer: String, missing: &'static str },
    #[error("a {word} such as '{name}' cannot fail that way: {kind}")]
    NoSuchFault { name: String, word: &'static str, kind: &'static str, possible: String },
    #[error("there is no fault called '{kind}'")]
    UnknownFault { kind: String, possible: String },
    #[error("the run does not get beyond {when}: after {steps} steps and {events} events switches act on each other without end")]
    TooManySteps { steps: usize, when: String, events: usize },
    #[error("the programme opens something more than {most} times in this run")]
    TooManyOpenings { most: usize },
    #[error("no pressure switch drives a booster in this garden")]
    NoSwitch,
    #[error("the pump does not reach cut-out of switch '{switch}' against shut valves")]
    CannotReach { switch: String },
    #[error("stopped")]
    Stopped,
}

impl Told for OperationError {
    fn hint(&self) -> Option<String> {
        match self {
            OperationError::Garden(error) => error.hint(),
            OperationError::Solve { error, .. } => RunError::Solve(error.clone()).hint(),
            OperationError::TooManyOpenings { .. } => Some("let it run for fewer days, or open less often".into()),
            OperationError::NoSwitch => Some("put pressure_switch(30.psi, 50.psi) behind the booster".into()),
            OperationError::CannotReach { .. } => Some("set cut-out lower, or take a stronger pump".into()),
            OperationError::NotAClock { .. } => Some("write hours and minutes, as in \"05:30\"".into()),
            OperationError::NotPositive { .. } | OperationError::Stopped => None,
            OperationError::CannotOpen { .. } => Some("a programme opens valves and draws".into()),
            OperationError::Unfinished { .. } => Some("write timer(\"east\").start(\"05:30\").zone(\"beds\", 20.min)".into()),
            OperationError::NoSuchFault { possible, .. } => Some(format!("its faults are: {possible}")),
            OperationError::UnknownFault { possible, .. } => Some(format!("the faults are: {possible}")),
            OperationError::TooManySteps { .. } => Some("look at switches whose cut-in lies at another's cut-out".into()),
        }
    }
}
