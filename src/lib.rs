//! hosewright: a notebook-style scripting shell for what-if studies of a garden watered through hoses.
//!
//! The rooms, in the order in which data flows; each knows only the ones above it.
//! The core (down to `findings`) knows nothing of the script engine, the table library, figures or the shell.

pub mod atmosphere;
pub mod cli;
pub mod coverage;
pub mod figure;
pub mod files;
pub mod findings;
pub mod garden;
pub mod hydraulics;
pub mod invisible;
pub mod knock;
pub mod laws;
pub mod limits;
pub mod nearest;
pub mod notebook;
pub mod numeric;
pub mod operation;
pub mod parts;
pub mod plan;
pub mod quantity;
pub mod script;
pub mod settings;
pub mod shell;
pub mod signals;
pub mod study;
pub mod table;
pub mod visible;
pub mod water;
