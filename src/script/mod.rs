//! What scripts see: the engine with its functions, sessions, and errors in the terms of the garden.
//!
//! The only room that knows the script engine; it knows no terminal. `language` is the runtime and names no function,
//! `functions` has them, `help` describes them.

pub mod by_statement;
mod functions; // the functions, and the one list of them
mod help; // help texts, the reference, the examples in them
pub mod json; // values as JSON
mod language; // the engine, sessions, messages
pub mod present; // values as a notebook shows them
mod start; // contexts and sessions that know all functions // a study, one statement at a time

pub use functions::VOCABULARY;
pub use help::{examples, overview, reference, search, topic_text, topics};
pub use language::arguments::parameters;
pub use language::context::Context;
pub use language::diagnostic::Diagnostic;
pub use language::error::ScriptError;
pub use language::session::{CellResult, Outcome, Session};
pub use language::values::{as_quantity, expect_number, expect_quantity};
pub use language::{
    context, controls, diagnostic, entry, error, highlight, memory, names, place, share, sizes, span, statements, tokens,
};
