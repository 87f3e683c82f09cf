//! The error that words of ours raise: what is wrong, and what to do about it.
//!
//! It travels through the engine inside a run-time error and is taken out again by `explain.rs`.

use crate::files::FileError;
use crate::limits::Ended;
use crate::quantity::{QuantityError, ReadError};
use rhai::{Dynamic, EvalAltResult, Position};
use std::fmt;

/// What is wrong, in one fact without a full stop, and what to do, if anything can be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScriptError {
    pub what: String,
    pub hint: Option<String>,
}

/// The result of a word.
pub type Answer<T> = Result<T, Box<EvalAltResult>>;

impl ScriptError {
    pub fn new(what: impl Into<String>) -> ScriptError {
        ScriptError { what: what.into(), hint: None }
    }

    /// The same error with advice; an empty hint says nothing.
    pub fn with_hint(self, hint: impl Into<String>) -> ScriptError {
        let hint = hint.into();
        ScriptError { hint: (!hint.is_empty()).then_some(hint), ..self }
    }

    /// The same error with the name of the word in front, as in `hose: ...`.
    pub fn said_by(self, word: &str) -> ScriptError {
        ScriptError { what: format!("{word}: {}", self.what), ..self }
    }

    /// The error inside an engine error, if it is one of ours.
    pub fn inside(error: &EvalAltResult) -> Option<ScriptError> {
        match error {
            EvalAltResult::ErrorRuntime(value, _) => value.read_lock::<ScriptError>().map(|inner| inner.clone()),
            _ => None,
        }
    }
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}

impl std::error::Error for ScriptError {}

impl From<ScriptError> for Box<EvalAltResult> {
    fn from(error: ScriptError) -> Self {
        Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(error), Position::NONE))
    }
}

impl From<Ended> for Box<EvalAltResult> {
    fn from(_: Ended) -> Self {
        Box::new(EvalAltResult::ErrorTerminated(Dynamic::UNIT, Position::NONE))
    }
}

impl From<QuantityError> for ScriptError {
    fn from(error: QuantityError) -> Self {
        ScriptError { what: error.to_string(), hint: error.hint() }
    }
}

impl From<ReadError> for ScriptError {
    fn from(error: ReadError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint())
    }
}

impl From<FileError> for ScriptError {
    fn from(error: FileError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint())
    }
}

/// Turns any error that has a `ScriptError` into the engine's, for use with `map_err`.
pub fn raise(error: impl Into<ScriptError>) -> Box<EvalAltResult> {
    error.into().into()
}
