//! What the line editor asks while somebody types: completion, hint, colors, and whether the entry is whole.

use super::complete::candidates;
use super::lead::{self, PROMPT};
use super::terminal::columns_of_screen;
use crate::files::Folder;
use crate::script::VOCABULARY;
use crate::script::diagnostic::Color;
use crate::script::entry::Entries;
use crate::script::highlight::{Role, roles};
use crate::script::names::Names;
use crate::script::reference::first_line;
use crate::script::tokens::{TokenKind, tokenize};
use anstyle::{AnsiColor, Style};
use rustyline::completion::{Completer, Pair};
use rustyline::highlight::{CmdKind, Highlighter};
use rustyline::hint::Hinter;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{Context, Helper};
use std::borrow::Cow;
use std::sync::{Mutex, PoisonError};

/// A longer entry is not highlighted while it is typed.
const LONGEST_PAINTED: usize = 20_000;

/// Knows the names of the session; the shell renews them after each entry.
pub struct Typing {
    /// Names that are offered and highlighted as known.
    pub names: Names,
    /// Columns of the terminal.
    pub columns: usize,
    folder: Folder,
    entries: Entries,
    color: Color,
    /// The entry as it stood last, for an editor that fails in the middle of it.
    typed: Mutex<String>,
}

impl Typing {
    /// A helper for a prompt of this width; files are offered from `folder`.
    pub fn new(names: Names, folder: Folder, columns: usize, color: Color) -> Typing {
        Typing { names, columns, folder, entries: Entries::default(), color, typed: Mutex::default() }
    }

    /// What stands in the line that is typed.
    pub fn typed(&self) -> String {
        self.typed.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// A text beside the entry.
    fn dimmed<'t>(&self, text: &'t str) -> Cow<'t, str> {
        if self.color == Color::No {
            return Cow::Borrowed(text);
        }
        let dim = Style::new().dimmed();
        Cow::Owned(format!("{dim}{text}{dim:#}"))
    }

    /// What Tab offers after a text, for benchmarks and tests too.
    pub fn offers(&self, before: &str) -> (usize, Vec<Pair>) {
        candidates(&self.names, &self.folder, before)
    }
}

impl Helper for Typing {}

impl Completer for Typing {
    type Candidate = Pair;

    fn complete(&self, line: &str, pos: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        let before = lead::plain(&line[..pos]);
        let (from, offers) = self.offers(&before);
        // What is completed has no lead in it.
        Ok((pos - (before.len() - from), offers))
    }
}

impl Hinter for Typing {
    type Hint = String;

    /// How the function whose brackets are open is called, and what it does.
    fn hint(&self, line: &str, pos: usize, _: &Context<'_>) -> Option<String> {
        let entry = lead::plain(line);
        entry.clone_into(&mut self.typed.lock().unwrap_or_else(PoisonError::into_inner));
        if pos < line.len() {
            return None;
        }
        let hint = format!("   {}", signature(open_call(&entry)?)?);
        let used = entry.rsplit('\n').next().map_or(0, |last| last.chars().count()) + PROMPT.len() + 1;
        // A terminal that has become narrower while somebody types would break the hint.
        let columns = columns_of_screen().map_or(self.columns, |columns| columns.min(self.columns));
        let room = columns.checked_sub(used).filter(|room| *room > 12)?;
        Some(if hint.chars().count() > room { hint.chars().take(room - 3).chain("...".chars()).collect() } else { hint })
    }
}

impl Highlighter for Typing {
    fn highlight<'l>(&self, line: &'l str, _: usize) -> Cow<'l, str> {
        let paints = self.color == Color::Yes && line.len() <= LONGEST_PAINTED;
        if !paints && !lead::is_led(line) {
            return Cow::Borrowed(line);
        }
        let entry = lead::plain(line);
        let painted = if paints { highlighted(&entry) } else { entry };
        Cow::Owned(lead::shown(line, &painted, &self.dimmed(lead::LEAD)))
    }

    fn highlight_hint<'h>(&self, hint: &'h str) -> Cow<'h, str> {
        self.dimmed(hint)
    }

    fn highlight_char(&self, line: &str, _: usize, _: CmdKind) -> bool {
        self.color == Color::Yes || lead::is_led(line)
    }
}

impl Validator for Typing {
    /// An entry that goes on takes another line; an empty line ends it in any case.
    fn validate(&self, context: &mut ValidationContext) -> rustyline::Result<ValidationResult> {
        Ok(if lead::goes_on(&self.entries, context.input()) {
            ValidationResult::Incomplete
        } else {
            ValidationResult::Valid(None)
        })
    }
}

/// A script in colors for the terminal.
pub fn highlighted(source: &str) -> String {
    let color = |color: AnsiColor| Style::new().fg_color(Some(color.into()));
    let mut out = String::with_capacity(source.len() * 2);
    for (role, range) in roles(source) {
        let part = &source[range];
        let style = match role {
            Role::Comment => Style::new().dimmed(),
            Role::Text => color(AnsiColor::Yellow),
            Role::Number => color(AnsiColor::Cyan),
            Role::Unit => color(AnsiColor::Green),
            Role::Keyword => color(AnsiColor::Magenta),
            Role::Call => Style::new().bold(),
            Role::Plain => {
                out.push_str(part);
                continue;
            }
        };
        out.push_str(&format!("{style}{part}{style:#}"));
    }
    out
}

/// The function whose bracket is the innermost open one.
fn open_call(line: &str) -> Option<&str> {
    let cut = tokenize(line);
    let mut open = Vec::new();
    for (index, token) in cut.tokens.iter().enumerate() {
        match token.kind {
            TokenKind::Symbol('(' | '[' | '{') => open.push(index),
            TokenKind::Symbol(')' | ']' | '}') => drop(open.pop()),
            _ => {}
        }
    }
    let at = open.into_iter().rev().find(|at| cut.tokens[*at].kind == TokenKind::Symbol('('))?;
    let word = &cut.tokens[at.checked_sub(1)?];
    (word.kind == TokenKind::Word).then(|| &line[word.range.clone()])
}

/// The first way to call a function, and the first line of its help.
fn signature(name: &str) -> Option<String> {
    let word = VOCABULARY.functions().iter().find(|word| word.name == name)?;
    Some(format!("{}  {}", word.signatures.first()?, first_line(&word.doc)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_innermost_open_call_is_found() {
        assert_eq!(open_call("let a = hose(100.ft, min("), Some("min"));
        assert_eq!(open_call("let a = hose(100.ft, min(2, 3), "), Some("hose"));
        assert_eq!(open_call("sweep(vary(\"a\", [1, "), Some("vary"));
        assert_eq!(open_call("a + (1 "), None);
        assert_eq!(open_call("\"text("), None);
    }

    #[test]
    fn a_hint_says_how_a_word_is_called() {
        let hint = signature("hose").expect("a word of ours");
        assert!(hint.starts_with("hose(") && hint.contains("diameter"), "{hint}");
        assert_eq!(signature("no_such_word"), None);
    }

    #[test]
    fn colors_change_nothing_but_colors() {
        let source = "let a = (5/8).inch + 3.ft // \"é\"";
        assert_ne!(highlighted(source), source);
        assert_eq!(anstream::adapter::strip_str(&highlighted(source)).to_string(), source);
    }
}
