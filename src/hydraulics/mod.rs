//! The steady solve: pressures and flows in a garden whose valves stand as they do.
//!
//! Each layer knows only those above it in this list:
//!
//! - `tolerances`: every number that the solve goes by;
//! - `model`: what is fixed for a set of open valves. What cannot flow is stripped and parts in series are joined into links between
//!   the nodes that remain (`structure`); their laws are added up into one loss curve each (`link`); the balances have a sparse
//!   pattern (`sparse`);
//! - `state`: what a solve changes; `circuit`: a structure with laws and a state;
//! - `solve`: from the last state to a steady one, by Newton's method or the slower fallback methods;
//! - `answer`: what follows from the state: pressures at all nodes, splits that nothing decides, slopes;
//! - `setting`: what the axes of a study change in each place;
//! - `network`: the parts of a garden over its circuit; `sensitivity`: slopes to the parameters of parts;
//! - `lanes`: many cases of a network side by side, for sweeps;
//! - `switch`, `solution`, `doing`, `rest`: what pressure switches make of it, the answer in the words of a garden, what each part does,
//!   and the garden at rest.
//!
//! It knows parts by their laws only, and nothing of switches in motion, tables or scripts.

mod answer;
mod budget;
mod circuit;
mod doing;
mod lanes;
mod model;
mod network;
mod outcome;
mod rest;
mod sensitivity;
mod setting;
mod solution;
mod solve;
mod state;
mod switch;
#[cfg(test)]
mod test_parts;
#[cfg(test)]
mod tests;
mod tolerances;

pub use answer::no_slope::NoSlope;
pub use answer::probe::{Probe, ProbeKind};
pub use answer::slopes::Slopes;
pub use budget::{BudgetCause, BudgetRow, BudgetStep, PressureBudget, budget_rows};
pub use doing::Doing;
pub use lanes::{Cases, Given, Lanes};
pub use network::{Network, PumpState};
pub use outcome::{Convergence, Method, SolveError};
pub use rest::{Drive, Outlets, RestState, Resting};
pub use setting::{Change, Setting};
pub(crate) use solution::run_switched;
pub use solution::{PartState, ProfilePoint, RunError, Solution, run};
pub use switch::{SwitchState, Switches, Verdict};
pub use tolerances::{Foresight, NO_FLOW_M3_PER_S, TAP_FULL_PA};
