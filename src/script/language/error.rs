//! The error that our functions raise: what is wrong, and what to do about it.
//!
//! It travels through the engine as the text of an error of calculation, of which the engine keeps the place also for `catch`, and is
//! taken out again by `explain.rs` and `caught.rs`.

use crate::limits::Ended;
use crate::quantity::UnitSystem;
use crate::told::Told;
use crate::unit_system::{chosen, told_in};
use rhai::{Dynamic, EvalAltResult, Position};
use std::fmt;

/// What is wrong, in one fact without a full stop, and what to do, if anything can be done: in each system of units, since the reader's is
/// known only where the error is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScriptError {
    /// In the order of [`SYSTEMS`]; the first alone where the others read the same.
    texts: Vec<Texts>,
    /// The parameter whose value is wrong, or the name in the call that is: `fault.rs` finds where it is written.
    pub about: Option<String>,
}

/// The texts of an error in one system of units.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Texts {
    what: String,
    /// Empty where there is no advice.
    hint: String,
}

const SYSTEMS: [UnitSystem; 4] = [UnitSystem::AsWritten, UnitSystem::AsWrittenMetric, UnitSystem::Us, UnitSystem::Metric];

/// The result of a function.
pub type Answer<T> = Result<T, Box<EvalAltResult>>;

/// Stands before and after an error in a text, where no message has it.
const PACKED: char = '\0';
/// Stands between what it is about and its texts, and between these.
const BETWEEN: char = '\u{1f}';

impl ScriptError {
    /// An error that reads the same in all units.
    pub fn new(what: impl Into<String>) -> ScriptError {
        ScriptError { texts: vec![Texts { what: what.into(), hint: String::new() }], about: None }
    }

    /// An error by its texts in each system.
    fn in_each(texts: impl Fn(UnitSystem) -> Texts) -> ScriptError {
        let mut texts: Vec<Texts> = SYSTEMS.into_iter().map(texts).collect();
        if texts.iter().all(|other| *other == texts[0]) {
            texts.truncate(1);
        }
        ScriptError { texts, about: None }
    }

    fn texts(&self, system: UnitSystem) -> &Texts {
        let index = SYSTEMS.iter().position(|known| *known == system).unwrap_or(0);
        self.texts.get(index).unwrap_or(&self.texts[0])
    }

    /// What is wrong and what to do, in these units.
    pub fn told(&self, system: UnitSystem) -> (String, Option<String>) {
        let Texts { what, hint } = self.texts(system);
        (what.clone(), (!hint.is_empty()).then(|| hint.clone()))
    }

    /// The same error with advice, in which parts such as `{30.psi|2.bar}` are for both systems of units; an empty hint says nothing.
    pub fn with_hint(self, hint: impl Into<String>) -> ScriptError {
        let hint = hint.into();
        let advised = |system| Texts { hint: told_in(system, || chosen(&hint)), ..self.texts(system).clone() };
        ScriptError { about: self.about.clone(), ..ScriptError::in_each(advised) }
    }

    /// The same error about the value of a parameter, or about the value that contains a name; one that names something already keeps it.
    pub fn about(self, name: impl Into<String>) -> ScriptError {
        ScriptError { about: self.about.or_else(|| Some(name.into())).filter(|name| !name.is_empty()), ..self }
    }

    /// The same error about the value of a parameter, whatever it names already.
    pub fn about_only(self, name: &str) -> ScriptError {
        ScriptError { about: Some(name.into()), ..self }
    }

    /// The same error with the name of the function before it, as in `hose: ...`.
    pub fn said_by(mut self, function: &str) -> ScriptError {
        self.texts.iter_mut().for_each(|texts| texts.what.insert_str(0, &format!("{function}: ")));
        self
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
        let mut text = format!("{PACKED}{}", plain(self.about.as_deref().unwrap_or_default()));
        for Texts { what, hint } in &self.texts {
            text += &format!("{BETWEEN}{}{BETWEEN}{}", plain(what), plain(hint));
        }
        text.push(PACKED);
        text
    }

    /// Takes an error out of a text that begins with it, and gives what follows it; `None` for other texts.
    pub(super) fn unpack(text: &str) -> Option<(ScriptError, &str)> {
        let (packed, rest) = text.strip_prefix(PACKED)?.split_once(PACKED)?;
        let mut pieces = packed.split(BETWEEN);
        let about = pieces.next().filter(|about| !about.is_empty()).map(String::from);
        let mut texts = Vec::new();
        while let (Some(what), Some(hint)) = (pieces.next(), pieces.next()) {
            texts.push(Texts { what: what.into(), hint: hint.into() });
        }
        (!texts.is_empty()).then_some((ScriptError { texts, about }, rest))
    }
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.texts[0].what)
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
        let texts = |system| Texts { what: error.words(system), hint: error.advice(system).unwrap_or_default() };
        ScriptError::in_each(texts).about(error.about().unwrap_or_default())
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

/// As [`raise`], with the name of the function before it.
pub fn raise_as<E: Into<ScriptError>>(function: &str) -> impl Fn(E) -> Box<EvalAltResult> {
    move |error| error.into().said_by(function).into()
}
