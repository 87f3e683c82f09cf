//! A study as a notebook: prose from its comments, cells of code between, values under their cells.
//!
//! Knows nothing of the terminal's keys; the shell is elsewhere.

mod affected; // which statements a change runs again
pub mod ahead; // settings of controls that are computed ahead
mod cells; // cutting a study into prose and code
mod starts; // the starts of controls in the text of a study
mod statement; // a statement and what it gave
pub mod uses; // names that a statement reads and writes
pub mod workbook; // a study that is kept, and what a change runs again

mod date; // the moment of a run
pub mod live; // the live page
mod markdown; // a study as Markdown
pub mod page; // a study as a page
mod print; // a study with its values, line by line

pub use cells::{Cell, cells};
pub use date::Moment;
pub use markdown::markdown;
pub use print::{Page, Printer, SET_IN};
