//! The entries of a session, kept for places in messages, and the numbering of their lines.
//!
//! Each entry is compiled after as many empty lines as the session has had before it, so that the line of a position identifies
//! the entry, also for functions of earlier entries.

use super::modules::file_name;
use super::place::Place;
use super::span::{Lines, word_at};
use super::tokens::tokenize;
use crate::files::Folder;
use rhai::Position;
use std::ops::Range;

/// Line number at which the numbering of the session starts again; the engine counts lines to 65535.
const LAST_LINE: usize = 60_000;

/// The entries of the session.
#[derive(Default)]
pub struct Entries {
    entries: Vec<Entry>,
    next_line: usize,
    count: usize,
    /// True when the last entry defines functions, so that places in it may be asked for later.
    stays: bool,
}

struct Entry {
    name: String,
    text: String,
    lines_before: usize,
    /// Lines of the whole text before the entry, where it is a part of one.
    lines_in_front: usize,
}

impl Entries {
    /// Adds an entry, and gives the number of lines that the session has had before it. `lines_in_front` is the number of lines
    /// before it in the text that it is a part of.
    pub fn add(&mut self, name: &str, text: &str, lines_in_front: usize) -> usize {
        if let Some(passed) = self.entries.pop_if(|_| !self.stays) {
            self.next_line = passed.lines_before;
        }
        self.stays = false;
        let lines = text.matches('\n').count() + 1;
        if self.next_line + lines > LAST_LINE {
            self.entries.clear();
            self.next_line = 1;
        }
        let lines_before = self.next_line;
        self.entries.push(Entry { name: name.to_string(), text: text.to_string(), lines_before, lines_in_front });
        self.next_line += lines;
        self.count += 1;
        lines_before
    }

    /// Keeps the last entry beyond the next: it defines functions. Others give their lines to the next one, since what stands
    /// before an entry is read each time.
    pub fn keep_last(&mut self) {
        self.stays = true;
    }

    /// How many entries there were.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The place of a position in an entry, or in the named module of a folder.
    pub fn place(&self, folder: &Folder, module: Option<&str>, at: Position) -> Option<Place> {
        let line = at.line()?;
        let column = at.position().unwrap_or(1);
        if let Some(module) = module {
            let file = file_name(module);
            let text = folder.read_text(&file).ok()?;
            return Some(place_at(&file, &text, line, column));
        }
        let entry = self.entries.iter().rev().find(|entry| entry.lines_before < line)?;
        Some(entry.in_whole(place_at(&entry.name, &entry.text, line - entry.lines_before, column)))
    }

    /// The place of a range of the last entry.
    pub fn place_in_last(&self, range: Range<usize>) -> Option<Place> {
        self.entries.last().map(|entry| entry.in_whole(place_of(&entry.name, &entry.text, range)))
    }
}

impl Entry {
    /// The place with its line counted from the start of the whole text.
    fn in_whole(&self, place: Place) -> Place {
        Place { line: place.line + self.lines_in_front, ..place }
    }
}

/// The byte offset of a position in a text that was compiled after `lines_before` lines.
pub fn offset_of(lines: &Lines, at: Position, lines_before: usize) -> usize {
    let line = at.line().unwrap_or(lines_before + 1).saturating_sub(lines_before);
    lines.offset(line, at.position().unwrap_or(1))
}

fn place_at(source: &str, text: &str, line: usize, column: usize) -> Place {
    let start = Lines::of(text).offset(line, column);
    place_of(source, text, word_at(text, &tokenize(text), start))
}

fn place_of(source: &str, text: &str, range: Range<usize>) -> Place {
    let (line, column) = Lines::of(text).line_and_column(range.start);
    let first_line = text.get(range.clone()).and_then(|part| part.lines().next()).unwrap_or("");
    let column_end = column + first_line.chars().count();
    Place { source: source.to_string(), line, column, column_end, text: text.to_string(), range }
}
