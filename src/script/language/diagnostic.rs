//! A message for people with its place in the script: as text with the line it is about, and as JSON.
//!
//! Knows nothing of the engine: `explain.rs` and `syntax.rs` make the messages, `render.rs` draws them.

use super::render::{USUAL_WIDTH, draw, excerpt};
use super::span::Lines;
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};
use std::ops::Range;

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

/// A place in a text. As JSON it has the part of its line around it as well, and where in that part the place is, in
/// characters counted from zero.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Name of the file or entry.
    pub source: String,
    /// Line and columns count from one; a column is a character; `column_end` is behind the last one.
    pub line: usize,
    pub column: usize,
    pub column_end: usize,
    pub text: String,
    /// The place in bytes of the text.
    pub range: Range<usize>,
}

impl Place {
    /// The place of another part of the same text.
    pub fn moved_to(&self, range: Range<usize>) -> Place {
        let lines = Lines::of(&self.text);
        let (line, column) = lines.line_and_column(range.start);
        let first_line = self.text[range.clone()].lines().next().unwrap_or("");
        // The text may stand below others, by which its lines are counted on.
        let line = (self.line + line).saturating_sub(lines.line(self.range.start));
        Place {
            source: self.source.clone(),
            line,
            column,
            column_end: column + first_line.chars().count(),
            text: self.text.clone(),
            range,
        }
    }
}

impl Serialize for Place {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (excerpt, marked) = excerpt(self, USUAL_WIDTH);
        let mut place = serializer.serialize_struct("Place", 7)?;
        place.serialize_field("source", &self.source)?;
        place.serialize_field("line", &self.line)?;
        place.serialize_field("column", &self.column)?;
        place.serialize_field("column_end", &self.column_end)?;
        place.serialize_field("excerpt", &excerpt)?;
        place.serialize_field("excerpt_from", &marked.start)?;
        place.serialize_field("excerpt_to", &marked.end)?;
        place.end()
    }
}

/// A function call or import that led to the trouble.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Call {
    pub what: String,
    pub place: Option<Place>,
}

/// A message for people.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    pub kind: Trouble,
    /// One fact, lower case, without a full stop.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
    pub place: Option<Place>,
    /// From the innermost outwards.
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

    /// The message with the line it is about, in the usual width; with colours if `colour` says so.
    pub fn render(&self, colour: Colour) -> String {
        draw(self, colour, USUAL_WIDTH)
    }

    /// The message in at most so many columns.
    pub fn render_within(&self, colour: Colour, columns: usize) -> String {
        draw(self, colour, columns)
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
            Trouble::Stopped | Trouble::Limit => Some("it was here"),
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

/// Whether a text may carry colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    Yes,
    No,
}

impl Colour {
    /// Colours for the standard error output when it is a terminal and nobody forbade them (`NO_COLOR`).
    pub fn for_stderr() -> Colour {
        match anstream::AutoStream::choice(&std::io::stderr()) {
            anstream::ColorChoice::Never => Colour::No,
            _ => Colour::Yes,
        }
    }
}
