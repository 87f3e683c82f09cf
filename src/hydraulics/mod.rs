//! The steady solve: pressures and flows in a garden whose valves stand as they do.
//!
//! The way of a solve: `structure` strips what cannot flow and joins parts in series into links between the nodes that
//! remain; `link` turns their laws into one loss curve each; `newton` solves for node pressures with `sparse`;
//! `one_by_one` and `relax` are the slower roads; `parting` looks after water that parts under too much suction, `loose`
//! after trapped water; `split` finds flows that nothing decides; `reading` spreads the answer over all parts.
//! Two laws serve gardens over time alone: `stored` for water in store and `taps` for draws that take what comes.
//!
//! It knows parts by their laws only, and nothing of switches in motion, tables or scripts.

mod doing;
mod heights;
mod link;
mod loose;
mod network;
mod newton;
mod one_by_one;
mod outcome;
mod parting;
mod reading;
mod relax;
mod rest;
mod sensitivity;
mod sparse;
mod split;
mod start;
mod stored;
mod structure;
mod switch;
mod taps;
#[cfg(test)]
mod test_parts;
mod trace;

pub use doing::Doing;
pub use network::{Network, Probe, ProbeKind, PumpState};
pub use outcome::{Convergence, Road, SolveError};
pub(crate) use reading::run_switched;
pub use reading::{PartState, ProfilePoint, Reading, RunError, run};
pub use rest::{Drive, Outlets, RestState};
pub use sensitivity::{NoSlope, Slopes};
pub use switch::{SwitchState, Switches, Verdict, booster_of};
pub use taps::FULL_PA as TAP_FULL_PA;
