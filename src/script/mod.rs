//! What scripts see: the engine, its words, a session that keeps what was said, and errors in the words of the garden.
//!
//! The only room that knows the script engine. Each area of words is a file with `pub fn register(engine, context)`,
//! listed in `areas.rs`; how to document a word is told at the top of `help.rs`.

pub mod answers; // best setting, one at a time, spread, shares
pub mod areas; // the list of areas: one line for each file of words
mod arguments; // messages for calls with the wrong values
mod best; // knobs, limits, the best setting
mod calling; // what a word learns of the engine that calls it
mod calls; // a closure for many values
mod cases; // a closure for every case of a study, on all cores
mod caught; // what catch gets
mod compare; // options side by side
pub mod context; // what the words share: units, folder, stop flag, lines to show
pub mod diagnostic; // a message with its place in the script, as text and as JSON
pub mod engine; // the script engine with our rules and limits
mod engine_words; // words of the engine, within the limits
mod entries; // the entries of a session, for places in messages
pub mod entry; // is a text a whole entry?
pub mod error; // the error that words raise
pub mod examples; // runs the examples of the help texts
mod explain; // from the engine's errors to messages for people
mod fault; // the value of a call that an error is about
pub mod figures; // charts of tables
pub mod findings; // what to mind
mod freight; // values packed for another thread
mod functions; // functions of numbers
pub mod garden; // joining parts, running zones
mod gather; // parts of a divided study
mod general; // words for numbers and lists
mod hands; // a closure for many values, on all cores
pub mod help; // help texts, the reference, the examples in them
mod imports; // modules from the script's own folder, and nowhere else
pub mod insight; // what would help most, numbers from readings
pub mod json; // values as JSON
pub mod knock; // the blow of a valve that shuts
pub mod language; // the script language, told in the help
pub mod lists; // going through lists and maps with closures
pub mod memory; // the state of a session, to go back to
mod modules; // the files of modules
pub mod names; // the names known at a moment: completion, "did you mean", signatures
mod nesting; // how deep values may lie in each other
pub mod operation; // the garden over time
pub mod operators; // arithmetic and comparison of quantities and numbers
mod pages; // the word for sliders
pub mod paint; // what each piece of a script is, for colours
mod partial; // what is kept of a sweep that was stopped
pub mod parts; // constructors and numbers of parts
pub mod plan; // the garden from above
pub mod present; // values as a notebook shows them
mod problem; // a message as a map and back
mod progress; // how far a long sweep is
pub mod quantities; // numbers with units
pub mod rain; // rain on the ground
pub mod reference; // the documented words and the page made of them
pub mod render; // a message drawn with its line
pub mod scan; // pieces of a text: comments, texts, words, symbols
pub mod session; // entries evaluated one after another
pub mod settings; // settings of the pressure switch, falls of pressure
pub mod sizes; // how large scripts and values may be
pub mod sliders; // where sliders stand
pub mod span; // where a token ends
mod start; // contexts and sessions that know all words
pub mod statements; // where each statement of a text begins and ends
pub mod stepwise; // a study, one statement at a time
mod stopped; // what is said and kept of an evaluation that was stopped
pub mod study; // axes, sweeps, seek, compare
mod syntax; // messages for scripts that do not parse

pub mod tables; // tables: rows, columns, files
mod types; // types in words
mod values; // values of a script for other rooms
pub mod vocabulary; // words by area, and what is said of them
mod written; // names in the order in which a closure writes them

pub use areas::VOCABULARY;
pub use context::Context;
pub use diagnostic::Diagnostic;
pub use error::ScriptError;
pub use session::{CellResult, Outcome, Session};
pub use values::{expect_number, expect_quantity};
