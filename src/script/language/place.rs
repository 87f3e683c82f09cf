//! A place in a text, and the part of its line that is shown.

use super::span::Lines;
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};
use std::ops::Range;

/// Columns of a message where no terminal says how many it has.
pub const USUAL_WIDTH: usize = 100;

/// A place in a text. As JSON it has the part of its line around it as well, and where in that part the place is, in
/// characters counted from zero.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Name of the file or entry.
    pub source: String,
    /// Line, counted from one.
    pub line: usize,
    /// Column of the first character, counted from one; a column is a character.
    pub column: usize,
    /// Column after the last character; on the line of the first one.
    pub column_end: usize,
    /// The text that `range` counts in.
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

/// The part of a line that JSON has: at most `most` characters around the place, and where in them it is.
pub fn excerpt(place: &Place, most: usize) -> (String, Range<usize>) {
    let (line, marked) = first_line(place);
    let before: Vec<char> = line[..marked.start].chars().collect();
    let n_marked = line[marked.clone()].chars().count().min(most);
    let n_before = before.len().min((most - n_marked) / 2);
    let text: String = before[before.len() - n_before..].iter().copied().chain(line[marked.start..].chars()).take(most).collect();
    (text, n_before..n_before + n_marked)
}

/// The first line of a place, and the bytes of the place in it.
pub fn first_line(place: &Place) -> (&str, Range<usize>) {
    let start = place.text[..place.range.start].rfind('\n').map_or(0, |at| at + 1);
    let line = place.text[start..].split('\n').next().unwrap_or("");
    (line, place.range.start - start..(place.range.end - start).min(line.len()))
}
