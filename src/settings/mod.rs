//! Settings of the pressure switch, and what stored water and leaks make of them between two starts.
//!
//! - `window`: for each zone the pressures at the switch, and the range that is left for cut-in and cut-out
//! - `bench`: the solves the window asks for
//! - `bounds`: what sets the ends of the range
//! - `judge`: the settings the switch has now, against the window
//! - `open`: what would open a window that is shut, found by trying
//! - `card`: the window in words
//! - `store`: water stored by tanks and by the stretch of hoses
//! - `decay`: how pressure falls by a leak, and the leak from a fall
//!
//! All of it are steady states and one integral; the course over time is the work of `operation`. It knows nothing of
//! scripts and tables.

mod bench;
mod bounds;
mod card;
mod decay;
mod error;
mod judge;
mod open;
mod store;
mod window;

pub use bounds::{Bound, Kind as BoundKind};
pub use decay::{Fall, leak_from, time_to_fall};
pub use error::SettingsError;
pub use open::Opener;
pub use store::{Store, Stored, tank_water_m3};
pub use window::{Ask, Case, Range, Verdict, Window, switch_window};
