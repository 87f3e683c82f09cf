//! Texts for people, broken into lines at blanks.
//!
//! Knows nothing of what the texts say. Columns are those of a terminal, on which some characters take two.

use textwrap::{Options, WordSplitter};

/// The text in lines of at most `width` columns; line ends in it stay. Words longer than a line are cut.
pub fn broken(text: &str, width: usize) -> Vec<String> {
    lines(text, width, "", true)
}

/// As [`broken`], but all lines except the first are indented, and words longer than a line stay whole, so that it can be
/// copied.
pub fn broken_between_words(text: &str, width: usize, indent: &str) -> Vec<String> {
    lines(text, width, indent, false)
}

fn lines(text: &str, width: usize, indent: &str, cuts_words: bool) -> Vec<String> {
    // At a hyphen nothing is broken: names and numbers have them.
    let options =
        Options::new(width).subsequent_indent(indent).break_words(cuts_words).word_splitter(WordSplitter::NoHyphenation);
    textwrap::wrap(text, options).into_iter().map(|line| line.into_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_later_ones_are_indented() {
        assert_eq!(broken("a cut-in of 30 psi", 8), ["a cut-in", "of 30", "psi"]);
        assert_eq!(broken_between_words("one two three", 7, "  "), ["one two", "  three"]);
        assert_eq!(broken("first\nsecond line", 20), ["first", "second line"]);
    }

    #[test]
    fn a_long_word_is_cut_or_stays_whole() {
        assert_eq!(broken("see https://a.b", 8), ["see", "https://", "a.b"]);
        assert_eq!(broken_between_words("see https://a.b", 8, ""), ["see", "https://a.b"]);
    }

    #[test]
    fn wide_signs_take_two_columns() {
        assert_eq!(broken("水水 水水", 5), ["水水", "水水"]);
    }
}
