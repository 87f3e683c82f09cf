//! Texts for people, broken into lines at blanks, and how much room they take.
//!
//! Knows nothing of what the texts say. Columns are those of a terminal, on which some characters take two.

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter};

/// A blank at which no line breaks.
const NO_BREAK: &str = "\u{a0}";

/// The text in lines of at most `width` columns; line ends in it stay. Words longer than a line are cut.
pub fn broken(text: &str, width: usize) -> Vec<String> {
    lines(text, width, "", true)
}

/// As [`broken`], but all lines except the first are indented, and words longer than a line stay whole, so that it can be
/// copied.
pub fn broken_between_words(text: &str, width: usize, indent: &str) -> Vec<String> {
    lines(text, width, indent, false)
}

/// A text as it stands where its lines fit into `width` columns; longer ones are broken between words and go on where they began.
/// Lines whose words stand in columns, as those of tables do, are left alone.
pub fn fitted(text: &str, width: usize) -> String {
    let fit = |line: &str| {
        let words = line.trim_start();
        let indent = &line[..line.len() - words.len()];
        let hangs = words.starts_with("- ") || words.starts_with("* ");
        if display_width(line) <= width || words.contains("  ") || words.contains('\t') || !words.contains(' ') {
            return line.to_string();
        }
        let (room, hang) = (width.saturating_sub(display_width(indent)).max(10), if hangs { "  " } else { "" });
        let rows = broken_between_words(words, room, hang);
        rows.into_iter().map(|row| format!("{indent}{row}")).collect::<Vec<_>>().join("\n")
    };
    text.split('\n').map(fit).collect::<Vec<_>>().join("\n")
}

/// A text that ends like a sentence: with the mark that it has, or a full stop.
pub fn as_sentence(text: &str) -> String {
    let text = text.trim_end();
    if text.is_empty() || text.ends_with(['.', '!', '?', '…']) { text.to_string() } else { format!("{text}.") }
}

/// Columns that a text of one line takes.
pub fn width_of(text: &str) -> usize {
    display_width(text)
}

/// As much of the beginning of a text of one line as fits into a number of columns.
pub fn cut_to(text: &str, columns: usize) -> String {
    let mut taken = 0;
    let fits = |letter: &char| {
        taken += display_width(letter.encode_utf8(&mut [0; 4]));
        taken <= columns
    };
    text.chars().take_while(fits).collect()
}

fn lines(text: &str, width: usize, indent: &str, cuts_words: bool) -> Vec<String> {
    // At a hyphen nothing is broken: names and numbers have them.
    let options =
        Options::new(width).subsequent_indent(indent).break_words(cuts_words).word_splitter(WordSplitter::NoHyphenation);
    let joined: Vec<String> = text.split('\n').map(|line| joined(line, width)).collect();
    textwrap::wrap(&joined.join("\n"), options).into_iter().map(|line| line.replace(NO_BREAK, " ")).collect()
}

/// A line with a blank that does not break between each number and its unit or noun, where both fit into a line.
fn joined(line: &str, width: usize) -> String {
    let mut joined = String::with_capacity(line.len());
    let mut number: Option<usize> = None;
    for (at, word) in line.split(' ').enumerate() {
        if at > 0 {
            let fits = number.is_some_and(|columns| !word.is_empty() && columns + 1 + display_width(word) <= width);
            joined.push_str(if fits { NO_BREAK } else { " " });
        }
        joined.push_str(word);
        let bare = word.trim_start_matches(['[', '(', '$', '\'', '"']);
        // Of `6 1 x` only the first two belong together.
        number = (number.is_none() && bare.parse::<f64>().is_ok()).then(|| display_width(word));
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_later_ones_are_indented() {
        assert_eq!(broken("a cut-in of 30 psi", 8), ["a cut-in", "of", "30 psi"]);
        assert_eq!(broken_between_words("one two three", 7, "  "), ["one two", "  three"]);
        assert_eq!(broken("first\nsecond line", 20), ["first", "second line"]);
    }

    #[test]
    fn a_number_stays_with_its_unit() {
        assert_eq!(broken_between_words("it has 37.4 psi here", 11, ""), ["it has", "37.4 psi", "here"]);
        assert_eq!(broken_between_words("[42.6 psi, 67 psi]", 10, ""), ["[42.6 psi,", "67 psi]"]);
        assert_eq!(broken_between_words("of 12 heads-and-more", 8, ""), ["of 12", "heads-and-more"]);
    }

    #[test]
    fn a_long_word_is_cut_or_stays_whole() {
        assert_eq!(broken("see https://a.b", 8), ["see", "https://", "a.b"]);
        assert_eq!(broken_between_words("see https://a.b", 8, ""), ["see", "https://a.b"]);
    }

    #[test]
    fn wide_signs_take_two_columns() {
        assert_eq!(broken("水水 水水", 5), ["水水", "水水"]);
        assert_eq!((width_of("水a"), cut_to("水水水", 5)), (3, "水水".to_string()));
    }

    #[test]
    fn long_lines_go_on_where_they_began_and_columns_are_left_alone() {
        assert_eq!(fitted("  one two three\nshort", 10), "  one two\n  three\nshort");
        assert_eq!(fitted("- one two three", 10), "- one two\n  three");
        assert_eq!(fitted("name    12.5 psi", 10), "name    12.5 psi");
    }
}
