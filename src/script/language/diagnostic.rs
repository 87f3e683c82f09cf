//! A message for people with its place in the script: as text with the line it is about, and as JSON.
//!
//! Knows nothing of the engine: `explain.rs` and `syntax.rs` make the messages, `render.rs` draws them.

use super::place::Place;
use serde::Serialize;

/// What kind of trouble it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Trouble {
    /// The script does not parse.
    Syntax,
    /// A name is unknown.
    Name,
    /// A value is wrong.
    Value,
    /// A limit that protects the machine was reached.
    Limit,
    /// Somebody stopped the evaluation.
    Stopped,
}

impl Trouble {
    const ALL: [Trouble; 5] = [Trouble::Syntax, Trouble::Name, Trouble::Value, Trouble::Limit, Trouble::Stopped];

    /// The word for it, as in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Trouble::Syntax => "syntax",
            Trouble::Name => "name",
            Trouble::Value => "value",
            Trouble::Limit => "limit",
            Trouble::Stopped => "stopped",
        }
    }

    /// The kind of that word.
    pub fn of_word(word: &str) -> Option<Trouble> {
        Trouble::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// A function call or import that led to the trouble.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Call {
    /// What was called or imported, in words.
    pub what: String,
    /// Where it was called; `None` where the engine does not know.
    pub place: Option<Place>,
}

/// A message for people.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// What sort of trouble it is, which programs go by.
    pub kind: Trouble,
    /// One fact, lower case, without a full stop.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    /// Where the trouble is; `None` where the engine does not know.
    pub place: Option<Place>,
    /// Calls and imports around it, from the innermost outward.
    pub calls: Vec<Call>,
}

impl Diagnostic {
    /// A message without a place.
    pub fn new(kind: Trouble, message: impl Into<String>) -> Diagnostic {
        Diagnostic { kind, message: message.into(), hint: None, place: None, calls: Vec::new() }
    }

    /// The same message with texts that people can read to the end: what is longer is cut, as where it quotes a long text.
    pub fn readable(self) -> Diagnostic {
        Diagnostic { message: cut(self.message), hint: self.hint.map(cut), ..self }
    }

    pub(super) fn headline(&self) -> &'static str {
        match self.kind {
            Trouble::Syntax => "cannot read this",
            Trouble::Name => "unknown name",
            Trouble::Value => "error",
            Trouble::Limit => "limit",
            Trouble::Stopped => "stopped",
        }
    }

    /// What stands beside the mark.
    pub(super) fn label(&self) -> Option<&'static str> {
        match self.kind {
            Trouble::Stopped | Trouble::Limit => Some("stopped here"),
            _ => None,
        }
    }
}

/// Characters of a message, and of its hint.
const LONGEST: usize = 2000;

fn cut(text: String) -> String {
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text,
    }
}

impl Call {
    pub(super) fn line(&self) -> String {
        match &self.place {
            Some(place) => format!("{} at {}:{}:{}", self.what, place.source, place.line, place.column),
            None => self.what.clone(),
        }
    }
}

/// Whether a text may carry colors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Color {
    /// With the escape codes of terminals (ECMA-48).
    Yes,
    /// Plain text.
    No,
}
