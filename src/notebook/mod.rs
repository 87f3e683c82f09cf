//! A study as a notebook: prose from its comments, cells of code between, values under their cells.
//!
//! Knows nothing of the terminal's keys; the shell is elsewhere.

mod cells; // cutting a study into prose and code
mod print; // a study with its values, line by line

pub use cells::{Cell, cells};
pub use print::Printer;
