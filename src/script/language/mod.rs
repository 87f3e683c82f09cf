//! The script language: the engine with its limits, a session that keeps what was defined, and errors in the terms of the garden.
//!
//! Names no function of scripts: the list of all functions is passed in with the context.

pub mod arguments; // messages for calls with the wrong values
mod as_lists; // columns of tables where lists are taken
pub mod calling; // what a function gets from the engine that calls it
pub mod calls; // a closure for many values
mod caught; // what catch gets
mod chains; // long chains of >>, within the depth that the parser allows
pub mod context; // what the functions share: units, folder, stop flag, lines to show
pub mod controls; // how the controls of a study are set
pub mod diagnostic; // a message with its place in the script, as text and as JSON
mod engine; // the script engine with our rules and limits
mod engine_functions; // functions of the engine, within the limits
mod entries; // the entries of a session, for places in messages
pub mod entry; // is a text a whole entry?
pub mod error; // the error that functions raise
mod explain; // from the engine's errors to messages for people
mod fault; // the value of a call that an error is about
pub mod held_axes; // the axes of figures while a handle is held
pub mod highlight; // what each token of a script is, for colors
mod imports; // modules from the script's own folder, and nowhere else
pub mod key_order;
pub mod memory; // the state of a session, to go back to
mod modules; // the files of modules
pub mod names; // the names known at a moment: completion, "did you mean", signatures
mod nesting; // how deep values may lie in each other
pub mod parallel_calls; // a closure for many values, on all cores
pub mod place; // a place in a text
mod problem; // a message as a map and back
pub mod progress; // how far a long sweep is
mod render; // a message drawn with its line
mod saves; // which statement saved which file
pub mod session; // entries evaluated one after another
pub mod share; // one part of each sweep, or a look at each
pub mod sizes; // how large scripts and values may be

mod slips; // what people probably meant
pub mod span; // where a token ends
pub mod statements; // where each statement of a text begins and ends
pub mod stopped; // what is said of an evaluation that was stopped
mod syntax; // messages for scripts that do not parse
pub mod tokens; // tokens of a script: comments, texts, names, symbols
mod transfer; // values packed for another thread
mod types; // types in words
mod units_written; // in which units a script is written
pub mod values; // values of a script for other rooms
pub mod vocabulary; // functions by topic, with their documentation // names in the order in which a closure writes them
