//! Places in a text: from line and column to bytes and back, and where the word at a place ends.
//!
//! Lines and columns count from one; a column is a character, not a byte.

use super::scan::{Kind, Scan};
use std::ops::Range;

/// Operators of more than one character, longest first.
const LONG_OPERATORS: &[&str] = &[
    "..=", "**=", "<<=", ">>=", "**", "==", "!=", "<=", ">=", "&&", "||", "+=", "-=", "*=", "/=", "%=", "..", "::", "=>", "??",
    "?.",
];

/// Byte offset of a line and column; the end of the line when the column lies behind it.
pub fn offset(text: &str, line: usize, column: usize) -> usize {
    let start = line_start(text, line);
    let length = text[start..].find('\n').unwrap_or(text.len() - start);
    let in_line = &text[start..start + length];
    let bytes = in_line.char_indices().nth(column.saturating_sub(1)).map_or(in_line.len(), |(at, _)| at);
    start + bytes
}

/// Line and column of a byte offset.
pub fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let before = &text[..offset.min(text.len())];
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    (before.matches('\n').count() + 1, before[start..].chars().count() + 1)
}

/// The bytes of the word, text or operator that begins at an offset; one character where there is none.
pub fn word_at(text: &str, scan: &Scan, offset: usize) -> Range<usize> {
    let Some(piece) = scan.pieces.iter().find(|piece| piece.range.contains(&offset)) else {
        return offset.min(text.len())..text.len().min(offset + 1);
    };
    if let Kind::Symbol(symbol) = piece.kind {
        let rest = &text[offset..];
        let long = LONG_OPERATORS.iter().find(|operator| rest.starts_with(**operator)).map(|operator| operator.len());
        return offset..offset + long.unwrap_or(symbol.len_utf8());
    }
    let end = match text[offset..piece.range.end].find('\n') {
        Some(line_end) if line_end > 0 => offset + line_end,
        _ => piece.range.end,
    };
    offset..end.max(offset + 1).min(text.len())
}

fn line_start(text: &str, line: usize) -> usize {
    if line <= 1 {
        return 0;
    }
    text.match_indices('\n').nth(line - 2).map_or(text.len(), |(at, _)| at + 1)
}

#[cfg(test)]
mod tests {
    use super::super::scan::scan;
    use super::*;

    #[test]
    fn columns_count_characters() {
        let text = "a\nä = x";
        assert_eq!(offset(text, 2, 5), text.len() - 1);
        assert_eq!(line_and_column(text, text.len() - 1), (2, 5));
    }

    #[test]
    fn a_word_and_an_operator_end_where_they_end() {
        let text = "feed >= 30.psi";
        let cut = scan(text);
        assert_eq!(&text[word_at(text, &cut, 0)], "feed");
        assert_eq!(&text[word_at(text, &cut, 5)], ">=");
        assert_eq!(&text[word_at(text, &cut, 11)], "psi");
    }
}
