//! The error that words of ours raise: what is wrong, and what to do about it.
//!
//! It travels through the engine as the text of an error of calculation, of which the engine keeps the place also for `catch`, and is
//! taken out again by `explain.rs` and `caught.rs`.

use crate::limits::Ended;
use crate::told::Told;
use rhai::{Dynamic, EvalAltResult, Position};
use std::fmt;

/// What is wrong, in one fact without a full stop, and what to do, if anything can be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScriptError {
    /// What is wrong, lower case.
    pub what: String,
    /// What to do about it, if anything can be done.
    pub hint: Option<String>,
    /// The parameter whose value is wrong, or the word in the call that is: `fault.rs` finds where it is written.
    pub about: Option<String>,
}

/// The result of a word.
pub type Answer<T> = Result<T, Box<EvalAltResult>>;

/// Stands before and behind an error in a text, where no message has it.
const PACKED: char = '\0';
/// Stands between what is wrong, what to do and what it is about.
const BETWEEN: char = '\u{1f}';

impl ScriptError {
    /// An error without advice that is about no parameter.
    pub fn new(what: impl Into<String>) -> ScriptError {
        ScriptError { what: what.into(), hint: None, about: None }
    }

    /// The same error with advice; an empty hint says nothing.
    pub fn with_hint(self, hint: impl Into<String>) -> ScriptError {
        let hint = hint.into();
        ScriptError { hint: (!hint.is_empty()).then_some(hint), ..self }
    }

    /// The same error about the value of a parameter, or about what says a word in the call; one that names something already keeps it.
    pub fn about(self, name: impl Into<String>) -> ScriptError {
        ScriptError { about: self.about.or_else(|| Some(name.into())).filter(|name| !name.is_empty()), ..self }
    }

    /// The same error with the name of the word in front, as in `hose: ...`.
    pub fn said_by(self, word: &str) -> ScriptError {
        ScriptError { what: format!("{word}: {}", self.what), ..self }
    }

    /// The error inside an engine error, if it is one of ours.
    pub fn inside(error: &EvalAltResult) -> Option<ScriptError> {
        match error {
            EvalAltResult::ErrorArithmetic(text, _) => ScriptError::unpack(text).map(|(inner, _)| inner),
            _ => None,
        }
    }

    /// The error as one text.
    fn pack(&self) -> String {
        let plain = |text: &str| text.replace([PACKED, BETWEEN], "\u{fffd}");
        let [hint, about] = [&self.hint, &self.about].map(|part| plain(part.as_deref().unwrap_or_default()));
        format!("{PACKED}{}{BETWEEN}{hint}{BETWEEN}{about}{PACKED}", plain(&self.what))
    }

    /// Takes an error out of a text that begins with it, and gives what stands behind it; nothing for other texts.
    pub(super) fn unpack(text: &str) -> Option<(ScriptError, &str)> {
        let (packed, rest) = text.strip_prefix(PACKED)?.split_once(PACKED)?;
        let (what, advice) = packed.split_once(BETWEEN)?;
        let (hint, about) = advice.split_once(BETWEEN)?;
        Some((ScriptError::new(what).with_hint(hint).about(about), rest))
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
        Box::new(EvalAltResult::ErrorArithmetic(error.pack(), Position::NONE))
    }
}

impl From<Ended> for Box<EvalAltResult> {
    fn from(_: Ended) -> Self {
        Box::new(EvalAltResult::ErrorTerminated(Dynamic::UNIT, Position::NONE))
    }
}

/// Every error that says what to do about it.
impl<E: Told> From<E> for ScriptError {
    fn from(error: E) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default()).about(error.about().unwrap_or_default())
    }
}

/// As [`raise`], for an error about the value of a parameter.
pub fn raise_about(error: impl Into<ScriptError>, parameter: &str) -> Box<EvalAltResult> {
    error.into().about(parameter).into()
}

/// Turns any error that has a `ScriptError` into the engine's, for use with `map_err`.
pub fn raise(error: impl Into<ScriptError>) -> Box<EvalAltResult> {
    error.into().into()
}

/// As [`raise`], with the name of the word in front.
pub fn raise_as<E: Into<ScriptError>>(word: &str) -> impl Fn(E) -> Box<EvalAltResult> {
    move |error| error.into().said_by(word).into()
}
