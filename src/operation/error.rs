//! What can go wrong when a garden is operated.

use crate::garden::GardenError;
use crate::hydraulics::{RunError, SolveError};
use crate::told::Told;
use crate::unit_system::example;
use thiserror::Error;

/// Why a garden cannot be operated, or a question on its operation has no answer.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum OperationError {
    /// A part is not in the garden, or the garden makes no sense.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The steady state at a moment was not found.
    #[error("at {when} with {setting}: {error}")]
    Solve {
        /// Day and time of the day of that moment.
        when: String,
        /// What stood open, in words.
        setting: String,
        /// Why it was not found.
        error: SolveError,
    },
    /// A text is not a time such as `05:30` or `17:05:30`.
    #[error("'{text}' is not a time of day")]
    NotAClock {
        /// The text as it was given.
        text: String,
    },
    /// A time or a limit is zero, below it, or not finite.
    #[error("{what} must be above zero, found {found}")]
    NotPositive {
        /// What it is, in words.
        what: String,
        /// What was given: a time in s, a rate of starts in 1/s.
        found: String,
    },
    /// A time that may be zero is below it, or not finite.
    #[error("{what} must be zero or above, found {found}")]
    Negative {
        /// What it is, in words.
        what: String,
        /// What was given, a time in s.
        found: String,
    },
    /// A schedule opens a part that is neither valve nor demand.
    #[error("the schedule cannot open '{name}', which is a {what}")]
    CannotOpen {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
    },
    /// A timer cannot run yet.
    #[error("timer '{timer}' has {missing}")]
    Unfinished {
        /// Name of the timer.
        timer: String,
        /// What it lacks, such as `no start`.
        missing: &'static str,
    },
    /// Days of the calendar need the date of the first day.
    #[error("timer '{timer}' waters {days}, but the date of the first day is not given")]
    NoDate {
        /// Name of the timer.
        timer: String,
        /// Its days, such as `on Mon, Thu`.
        days: String,
    },
    /// Parts of that kind do not fail.
    #[error("'{name}' is a {what}, which has no failures")]
    NeverFails {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Names of the parts of the garden that can fail.
        able: Vec<String>,
    },
    /// A part of that kind has no such fault.
    #[error("a {what} such as '{name}' has no failure '{kind}'")]
    NoSuchFault {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// The fault that was asked for.
        kind: &'static str,
        /// Faults that such a part has, in words.
        possible: String,
    },
    /// No fault has that name.
    #[error("there is no failure called '{kind}'")]
    UnknownFault {
        /// The name that was asked for.
        kind: String,
        /// Names of all faults.
        possible: String,
    },
    /// Switches act on each other at one moment without coming to rest, or a fall of pressure takes too many steps.
    #[error("the run stops at {when}: after {steps} steps and {events} events switches keep acting on each other")]
    TooManySteps {
        /// Steps of the run until then.
        steps: usize,
        /// Day and time of the day of that moment.
        when: String,
        /// Events of the run until then.
        events: usize,
    },
    /// The schedule opens valves and demands more often than a run can hold.
    #[error("the schedule has more than {most} openings in this run")]
    TooManyOpenings {
        /// How many openings it can hold.
        most: usize,
    },
    /// A tank was sought, and no pressure switch of the garden has a booster to drive.
    #[error("no pressure switch drives a booster in this garden")]
    NoSwitch,
    /// A tank was sought, and its pump would never stop.
    #[error("the pump does not reach cut-out of switch '{switch}' at shut-off, with all valves closed")]
    CannotReach {
        /// Name of the switch.
        switch: String,
    },
    /// Somebody or a limit stopped it.
    #[error("stopped")]
    Stopped,
}

impl Told for OperationError {
    fn hint(&self) -> Option<String> {
        match self {
            OperationError::Garden(error) => error.hint(),
            OperationError::Solve { error, .. } => RunError::Solve(error.clone()).hint(),
            OperationError::TooManyOpenings { .. } => Some("run fewer days, or open less often".into()),
            OperationError::NoSwitch => Some(example(
                "put pressure_switch(30.psi, 50.psi) downstream of the booster",
                "put pressure_switch(2.bar, 3.5.bar) downstream of the booster",
            )),
            OperationError::CannotReach { .. } => Some("lower cut-out, or use a pump with more boost".into()),
            OperationError::NotAClock { .. } => Some("write hours and minutes, as in \"05:30\"".into()),
            OperationError::NotPositive { .. } | OperationError::Negative { .. } | OperationError::Stopped => None,
            OperationError::CannotOpen { .. } => Some("a schedule opens valves and demands".into()),
            OperationError::Unfinished { .. } => Some("write timer(\"east\").start(\"05:30\").zone(\"beds\", 20.min)".into()),
            OperationError::NoDate { .. } => Some("write schedule([east]).starts_on(date(\"2026-07-01\"))".into()),
            OperationError::NeverFails { able, .. } if able.is_empty() => None,
            OperationError::NeverFails { able, .. } => Some(format!("parts that can fail are {}", able.join(", "))),
            OperationError::NoSuchFault { possible, .. } => Some(format!("its failures are: {possible}")),
            OperationError::UnknownFault { possible, .. } => Some(format!("the failures are: {possible}")),
            OperationError::TooManySteps { .. } => Some("look for a switch whose cut-in equals the cut-out of another".into()),
        }
    }
}
