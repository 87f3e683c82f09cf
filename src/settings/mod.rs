//! Settings of the pressure switch or the drive, and what stored water and leaks make of them between two starts.
//!
//! - `window`: for each zone the pressures at the switch, and the range that is left for cut-in and cut-out; `make` finds it,
//!   `case` has the question and the pressures at the switch
//! - `bench`: the solves the window asks for
//! - `bounds`: what sets the ends of the range
//! - `mains`: the garden at the lowest and the highest pressure of the main
//! - `suggest`: settings that can be bought, on the `scale` of a switch
//! - `judge`: the settings the switch has now, against the window
//! - `remedies`: changes that make settings possible, found by trying
//! - `card`: the window in words
//! - `drive`: the set pressures of a variable-speed drive that work in every zone
//! - `store`: what keeps its pressure when the pump has stopped
//! - `decay`: how pressure falls by a leak, and the leak from a fall
//!
//! All of it are steady states; the course over time is the work of `operation`. It knows nothing of scripts and tables.

mod bench;
mod bounds;
mod card;
mod case;
mod change;
mod decay;
mod drive;
mod error;
mod judge;
mod mains;
mod make;
mod remedies;
mod scale;
mod store;
mod suggest;
#[cfg(test)]
mod tests;
mod window;
mod words;

pub use bounds::{Bound, BoundKind};
pub use case::{Ask, Case, Range};
pub use change::Remedy;
pub use decay::{Fall, leak_down_time, leak_from_decay};
pub use drive::{DriveBound, DriveWindow, DrivenZones, drive_window};
pub use error::SettingsError;
pub use remedies::switch_window;
pub use scale::{Scale, Suggestion, scale};
pub use store::Store;
pub use window::{Verdict, Window};
