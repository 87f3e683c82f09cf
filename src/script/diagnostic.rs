//! A message for people with its place in the script: as text with the line it is about, and as JSON.
//!
//! Knows nothing of the engine: `explain.rs` and `syntax.rs` make the messages.

use ariadne::{CharSet, Color, Config, IndexType, Label, Report, ReportKind, Source};
use serde::Serialize;
use std::fmt::Write;
use std::ops::Range;

/// Bytes of a line above which a message does not show the line.
const LONGEST_LINE: usize = 240;

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

/// A place in a text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place {
    /// Name of the file or entry.
    pub source: String,
    /// Line and columns count from one; a column is a character; `column_end` is behind the last one.
    pub line: usize,
    pub column: usize,
    pub column_end: usize,
    #[serde(skip)]
    pub text: String,
    /// The place in bytes of the text.
    #[serde(skip)]
    pub range: Range<usize>,
}

impl Place {
    /// The part of the range that is on its first line.
    fn first_line(&self) -> Range<usize> {
        let length = self.text.get(self.range.clone()).map_or(0, |part| part.find('\n').unwrap_or(part.len()));
        self.range.start..self.range.start + length
    }

    fn line_length(&self) -> usize {
        let before = self.text[..self.range.start].rfind('\n').map_or(0, |at| at + 1);
        self.text[before..].find('\n').unwrap_or(self.text.len() - before)
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

    /// The message with the line it is about; with colours if `colour` says so.
    pub fn render(&self, colour: Colour) -> String {
        let Some(place) = &self.place else { return self.without_place() };
        let config = Config::default()
            .with_color(colour == Colour::Yes)
            .with_index_type(IndexType::Byte)
            .with_char_set(CharSet::Unicode)
            .with_compact(false);
        let range = place.first_line();
        if place.line_length() > LONGEST_LINE {
            return self.without_line(place);
        }
        let span = (place.source.as_str(), range);
        let kind = ReportKind::Custom(self.headline(), Color::Red);
        let mut report = Report::build(kind, span.clone())
            .with_config(config)
            .with_message(&self.message)
            .with_label(Label::new(span).with_message(self.label()).with_color(Color::Red));
        for call in &self.calls {
            report = report.with_note(call.line());
        }
        if let Some(hint) = &self.hint {
            report = report.with_help(hint);
        }
        let mut bytes = Vec::new();
        let source = (place.source.as_str(), Source::from(place.text.as_str()));
        if report.finish().write(source, &mut bytes).is_err() {
            return self.without_place();
        }
        let text = String::from_utf8_lossy(&bytes);
        // The headline is coloured in any case.
        let text = if colour == Colour::Yes { text.into_owned() } else { anstream::adapter::strip_str(&text).to_string() };
        text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
    }

    fn headline(&self) -> &'static str {
        match self.kind {
            Trouble::Syntax => "cannot read this",
            Trouble::Name => "unknown name",
            Trouble::Value => "error",
            Trouble::Limit => "limit",
            Trouble::Stopped => "stopped",
        }
    }

    fn label(&self) -> &'static str {
        match self.kind {
            Trouble::Stopped | Trouble::Limit => "it was here",
            _ => "here",
        }
    }

    /// For a line that is too long to show: only what stands at the place.
    fn without_line(&self, place: &Place) -> String {
        let there: String = place.text[place.range.start..].lines().next().unwrap_or("").chars().take(40).collect();
        let at = format!("at {}:{}:{}: {there}", place.source, place.line, place.column);
        let calls = std::iter::once(Call { what: at, place: None }).chain(self.calls.iter().cloned()).collect();
        Diagnostic { calls, ..self.clone() }.without_place()
    }

    fn without_place(&self) -> String {
        let mut text = format!("{}: {}", self.headline(), self.message);
        if let Some(hint) = &self.hint {
            let _ = write!(text, "\n  {hint}");
        }
        for call in &self.calls {
            let _ = write!(text, "\n  {}", call.line());
        }
        text
    }
}

impl Call {
    fn line(&self) -> String {
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
