//! A study divided between several runs: each evaluates its part of every sweep into a file, and the files are joined again.
//!
//! A part is a table `sweep-1-part-003-of-007.parquet` and a note of the same name that ends with `.json`. The note is
//! written last, so a part with a note is whole; a run that finds it goes on at once. It knows nothing of what is swept.
//!
//! - `part`: one part, `names`: how its files are called, `note`: what is noted of it
//! - `gather`: how parts are joined, `error`: why they could not be

mod error;
mod gather;
mod names;
mod note;
mod part;

pub use error::PartError;
pub use gather::{Demand, Gathering, Joint, gather, notes_as_read, report};
pub use note::{Inputs, PartNote, mark_of};
pub use part::{PartOfSweep, note_failure, read_part};
