//! Where each top-level statement of a text begins and ends, from where the parser says it is.
//!
//! The parser knows only a place inside each statement; the marks between them are found in the text.

use super::scan::{Kind, Piece, Scan, depth_change};
use std::ops::Range;

/// The bytes of each statement, given an offset inside or at the start of each, in order.
///
/// Comments before a statement and the `;` behind it are left out.
pub fn ranges(scan: &Scan, inside: &[usize]) -> Vec<Range<usize>> {
    let marks = top_level_marks(scan);
    let solid: Vec<&Piece> = scan.pieces.iter().filter(|piece| is_solid(piece.kind)).collect();
    let mut result = Vec::with_capacity(inside.len());
    // Both lists are in order, so each is gone through once.
    let (mut mark, mut piece) = (0, 0);
    let mut from = 0;
    for (index, &at) in inside.iter().enumerate() {
        let next = inside.get(index + 1).copied().unwrap_or(usize::MAX);
        while marks.get(mark).is_some_and(|mark| mark.end <= at) {
            from = from.max(marks[mark].end);
            mark += 1;
        }
        let between = || marks[mark..].iter().take_while(|mark| mark.start < next);
        let semicolon = between().find(|mark| mark.symbol == ';').map(|mark| mark.start);
        let brace =
            if next == usize::MAX { None } else { between().filter(|mark| mark.symbol == '}').last().map(|mark| mark.end) };
        let end = semicolon.or(brace).unwrap_or(usize::MAX);
        while solid.get(piece).is_some_and(|piece| piece.range.start < from) {
            piece += 1;
        }
        let first = piece;
        while solid.get(piece).is_some_and(|piece| piece.range.end <= end) {
            piece += 1;
        }
        let range = if piece > first { solid[first].range.start..solid[piece - 1].range.end } else { from..from };
        from = range.end;
        result.push(range);
    }
    result
}

fn is_solid(kind: Kind) -> bool {
    !matches!(kind, Kind::Space | Kind::LineComment | Kind::BlockComment)
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
