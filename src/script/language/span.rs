//! Places in a text: from line and column to bytes and back, and where the word at a place ends.
//!
//! Lines and columns count from one; a column is a character, not a byte.

use super::tokens::{TokenKind, Tokens};
use std::ops::Range;

/// Operators of more than one character, longest first.
const LONG_OPERATORS: &[&str] = &[
    "..=", "**=", "<<=", ">>=", "**", "==", "!=", "<=", ">=", "&&", "||", "+=", "-=", "*=", "/=", "%=", "..", "::", "=>", "??",
    "?.",
];

/// Where the lines of a text begin, to go from line and column to bytes and back.
pub struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
    /// True when each character of the text is a byte.
    is_ascii: bool,
}

impl<'t> Lines<'t> {
    /// The lines of a text, which a line feed ends; one pass over it.
    pub fn of(text: &'t str) -> Lines<'t> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Lines { text, starts, is_ascii: text.is_ascii() }
    }

    /// Byte offset of a line and column; the end of the line when the column lies beyond it.
    pub fn offset(&self, line: usize, column: usize) -> usize {
        let line = line.saturating_sub(1);
        let Some(&start) = self.starts.get(line) else { return self.text.len() };
        let end = self.starts.get(line + 1).map_or(self.text.len(), |next| next - 1);
        if self.is_ascii {
            return end.min(start + column.saturating_sub(1));
        }
        let in_line = &self.text[start..end];
        start + in_line.char_indices().nth(column.saturating_sub(1)).map_or(in_line.len(), |(at, _)| at)
    }

    /// The line of a byte offset.
    pub fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).max(1)
    }

    /// Line and column of a byte offset, which stands between characters.
    pub fn line_and_column(&self, offset: usize) -> (usize, usize) {
        let offset = offset.min(self.text.len());
        let line = self.line(offset);
        (line, self.text[self.starts[line - 1]..offset].chars().count() + 1)
    }
}

/// The bytes of the word, text or operator that begins at an offset; one character where there is none.
pub fn word_at(text: &str, scan: &Tokens, offset: usize) -> Range<usize> {
    let Some(token) = scan.tokens.iter().find(|token| token.range.contains(&offset)) else {
        return offset.min(text.len())..text.len().min(offset + 1);
    };
    if let TokenKind::Symbol(symbol) = token.kind {
        let rest = &text[offset..];
        let long = LONG_OPERATORS.iter().find(|operator| rest.starts_with(**operator)).map(|operator| operator.len());
        return offset..offset + long.unwrap_or(symbol.len_utf8());
    }
    let end = match text[offset..token.range.end].find('\n') {
        Some(line_end) if line_end > 0 => offset + line_end,
        _ => token.range.end,
    };
    offset..end.max(offset + 1).min(text.len())
}

#[cfg(test)]
mod tests {
    use super::super::tokens::tokenize;
    use super::*;

    #[test]
    fn columns_count_characters() {
        let text = "a\nä = x";
        let lines = Lines::of(text);
        assert_eq!(lines.offset(2, 5), text.len() - 1);
        assert_eq!(lines.line_and_column(text.len() - 1), (2, 5));
        assert_eq!(lines.offset(1, 9), 1);
        assert_eq!(lines.offset(7, 1), text.len());
    }

    #[test]
    fn a_word_and_an_operator_end_where_they_end() {
        let text = "feed >= 30.psi";
        let cut = tokenize(text);
        assert_eq!(&text[word_at(text, &cut, 0)], "feed");
        assert_eq!(&text[word_at(text, &cut, 5)], ">=");
        assert_eq!(&text[word_at(text, &cut, 11)], "psi");
    }
}
