//! Where each top-level statement of a text begins and ends, from where the parser says it is.
//!
//! The parser knows only a place inside each statement; the marks between them are found in the text.

use super::scan::{Kind, Scan, depth_change};
use std::ops::Range;

/// The bytes of each statement, given an offset inside or at the start of each, in order.
///
/// Comments before a statement and the `;` behind it are left out.
pub fn ranges(scan: &Scan, inside: &[usize]) -> Vec<Range<usize>> {
    let marks = top_level_marks(scan);
    let mut result = Vec::with_capacity(inside.len());
    let mut from = 0;
    for (index, &at) in inside.iter().enumerate() {
        let next = inside.get(index + 1).copied().unwrap_or(usize::MAX);
        let start =
            marks.iter().filter(|mark| mark.end <= at && mark.end >= from).map(|mark| mark.end).next_back().unwrap_or(from);
        let between = || marks.iter().filter(|mark| mark.end > at && mark.start < next);
        let semicolon = between().find(|mark| mark.symbol == ';').map(|mark| mark.start);
        let brace = if next == usize::MAX { None } else { between().rfind(|mark| mark.symbol == '}').map(|mark| mark.end) };
        let end = semicolon.or(brace).unwrap_or(usize::MAX);
        let range = trimmed(scan, start..end);
        from = range.end;
        result.push(range);
    }
    result
}

struct Mark {
    symbol: char,
    start: usize,
    end: usize,
}

/// Semicolons and closing braces outside of all brackets.
fn top_level_marks(scan: &Scan) -> Vec<Mark> {
    let mut depth = 0;
    let mut marks = Vec::new();
    for piece in &scan.pieces {
        depth += depth_change(piece.kind);
        if depth == 0
            && let Kind::Symbol(symbol @ (';' | '}')) = piece.kind
        {
            marks.push(Mark { symbol, start: piece.range.start, end: piece.range.end });
        }
    }
    marks
}

/// The range from its first to its last piece that is neither space nor comment.
fn trimmed(scan: &Scan, range: Range<usize>) -> Range<usize> {
    let inside = scan.pieces.iter().filter(|piece| piece.range.start >= range.start && piece.range.end <= range.end);
    let mut solid = inside.filter(|piece| !matches!(piece.kind, Kind::Space | Kind::LineComment | Kind::BlockComment));
    let Some(first) = solid.next() else { return range.start..range.start };
    let last = solid.next_back().unwrap_or(first);
    first.range.start..last.range.end
}

#[cfg(test)]
mod tests {
    use super::super::scan::scan;
    use super::*;

    #[test]
    fn statements_begin_and_end_at_their_own_words() {
        let text = "let a = #{ x: 1 }; // one\n/* two */ (a.x +\n 1);\nif a { 1 }\n`a;b`";
        let inside = [0, text.find("a.x").unwrap(), text.find("if").unwrap(), text.find('`').unwrap()];
        let parts: Vec<&str> = ranges(&scan(text), &inside).into_iter().map(|range| &text[range]).collect();
        assert_eq!(parts, ["let a = #{ x: 1 }", "(a.x +\n 1)", "if a { 1 }", "`a;b`"]);
    }
}
