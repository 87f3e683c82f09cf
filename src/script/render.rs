//! A message drawn for a terminal or a page: what is wrong, the line it is about with a mark under the place, and what to do.
//!
//! One look for all messages. Texts are broken to the width; of a line that is too long the part around the place is shown.
//! Knows nothing of what went wrong.

use super::diagnostic::{Colour, Diagnostic, Place};
use crate::visible::{stand_in, visible, visible_line};
use anstyle::{AnsiColor, Style};
use std::fmt::Write;
use std::ops::Range;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Columns of a message where no terminal says how many it has.
pub const USUAL_WIDTH: usize = 100;
/// Columns below which nothing is readable.
const LEAST_WIDTH: usize = 30;
/// Stands where a line is cut.
const CUT: &str = "...";
/// Columns of a tab.
const TAB: &str = "    ";

/// The part of a line that is shown, and where in it the place is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excerpt {
    pub text: String,
    /// Columns of the text, counted from zero.
    pub columns: Range<usize>,
}

/// The message in at most so many columns.
pub fn draw(diagnostic: &Diagnostic, colour: Colour, width: usize) -> String {
    let pen = Pen { colour, width: width.max(LEAST_WIDTH) };
    let mut lines = pen.headline(diagnostic);
    match &diagnostic.place {
        Some(place) => lines.extend(pen.place(diagnostic, place)),
        None => {
            for (title, text) in remarks(diagnostic) {
                lines.extend(pen.remark("  ", &title, &text));
            }
        }
    }
    lines.iter().map(|line| line.trim_end()).collect::<Vec<_>>().join("\n")
}

/// The first line of a place, cut to so many columns around it.
pub fn excerpt(place: &Place, room: usize) -> Excerpt {
    let start = place.text[..place.range.start].rfind('\n').map_or(0, |at| at + 1);
    let line = place.text[start..].split('\n').next().unwrap_or("");
    let (from, to) = (place.range.start - start, (place.range.end - start).min(line.len()));
    let columns =
        |until: usize| line.char_indices().take_while(|(at, _)| *at < until).map(|(_, sign)| shown(sign).1).sum::<usize>();
    let first = columns(from);
    let marked = columns(to).saturating_sub(first).max(1);
    let all = columns(usize::MAX).max(first + 1);
    if all <= room {
        return Excerpt { text: window(line, 0, all), columns: first..first + marked };
    }
    let inner = room.saturating_sub(2 * CUT.len()).max(1);
    let marked = marked.min(inner);
    // The place stands in the middle, unless the line begins or ends nearer.
    let begin = first.saturating_sub((inner - marked) / 2).min(all - (inner + CUT.len()));
    if begin <= CUT.len() {
        return Excerpt { text: window(line, 0, inner + CUT.len()) + CUT, columns: first..first + marked };
    }
    let to_the_end = all - begin <= inner + CUT.len();
    let text = if to_the_end { window(line, begin, all) } else { window(line, begin, begin + inner) + CUT };
    let first = first - begin + CUT.len();
    Excerpt { text: format!("{CUT}{text}"), columns: first..first + marked }
}

/// The signs of a line that stand between two columns; half a wide sign becomes a space.
fn window(line: &str, begin: usize, end: usize) -> String {
    let (mut text, mut column) = (String::new(), 0);
    for sign in line.chars() {
        let (signs, width) = shown(sign);
        let (from, to) = (column, column + width);
        column = to;
        if from >= begin && to <= end {
            text.push_str(&signs);
        } else if to > begin && from < end {
            text.push_str(&" ".repeat(to.min(end) - from.max(begin)));
        }
    }
    text
}

/// A sign as it is shown, and its columns.
fn shown(sign: char) -> (String, usize) {
    match sign {
        '\t' => (TAB.into(), TAB.len()),
        sign => {
            let text = stand_in(sign).unwrap_or_else(|| sign.into());
            let width = text.width();
            (text, width)
        }
    }
}

/// Help and notes with their titles, in the order in which they are read.
fn remarks(diagnostic: &Diagnostic) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = diagnostic.hint.iter().map(|hint| ("Help".into(), hint.clone())).collect();
    let many = diagnostic.calls.len() > 1;
    let title = |at: usize| if many { format!("Note {}", at + 1) } else { "Note".into() };
    all.extend(diagnostic.calls.iter().enumerate().map(|(at, call)| (title(at), call.line())));
    all
}

/// Draws in one width and with or without colours.
struct Pen {
    colour: Colour,
    width: usize,
}

impl Pen {
    fn headline(&self, diagnostic: &Diagnostic) -> Vec<String> {
        let title = diagnostic.headline();
        let mut lines = wrapped(&format!("{title}: {}", diagnostic.message), self.width, "  ");
        if let Some(rest) = lines[0].strip_prefix(title) {
            lines[0] = format!("{}{rest}", self.red(title));
        }
        lines
    }

    fn place(&self, diagnostic: &Diagnostic, place: &Place) -> Vec<String> {
        let number = place.line.to_string();
        let margin = " ".repeat(number.len() + 2);
        let excerpt = excerpt(place, self.width.saturating_sub(margin.len() + 2));
        let bar = self.grey(&format!("{margin}│"));
        let place_name =
            shortened(&visible_line(&place.source), self.width.saturating_sub(margin.len() + number.len() + 14).max(8));
        let Range { start, end } = excerpt.columns;
        let stem = start + (end - start) / 2;
        let mark = format!("{}┬{}", "─".repeat(stem - start), "─".repeat(end - stem - 1));
        let label = diagnostic.label();
        let fits = margin.len() + 2 + end + 3 + label.len() <= self.width;
        let (arrow_from, arrow) = if fits {
            (stem, format!("╰{} {label}", "─".repeat(end + 1 - stem)))
        } else {
            let from = stem.saturating_sub(label.len() + 3);
            (from, format!("{label} {}╯", "─".repeat((stem - from).saturating_sub(label.len() + 1))))
        };
        let mut lines = vec![
            format!("{}[ {place_name}:{}:{} ]", self.grey(&format!("{margin}╭─")), place.line, place.column),
            bar.clone(),
            format!("{} {}", self.grey(&format!(" {number} │")), excerpt.text),
            format!("{bar} {}{}", " ".repeat(start), self.red(&mark)),
            format!("{bar} {}{}", " ".repeat(arrow_from), self.red(&arrow)),
        ];
        for (title, text) in remarks(diagnostic) {
            lines.push(bar.clone());
            lines.extend(self.remark(&format!("{bar} "), &title, &text));
        }
        lines.push(self.grey(&format!("{}╯", "─".repeat(margin.len()))));
        lines
    }

    /// A title and its text behind a margin; further lines stand under the text.
    fn remark(&self, margin: &str, title: &str, text: &str) -> Vec<String> {
        let indent = " ".repeat(title.len() + 2);
        let columns = anstream::adapter::strip_str(margin).to_string().chars().count();
        let lines = wrapped(&format!("{title}: {text}"), self.width.saturating_sub(columns), &indent);
        lines.into_iter().map(|line| format!("{margin}{line}")).collect()
    }

    fn red(&self, text: &str) -> String {
        self.painted(text, AnsiColor::Red.on_default())
    }

    fn grey(&self, text: &str) -> String {
        self.painted(text, AnsiColor::BrightBlack.on_default())
    }

    fn painted(&self, text: &str, style: Style) -> String {
        if self.colour == Colour::Yes { format!("{style}{text}{style:#}") } else { text.to_string() }
    }
}

/// The text in lines of at most so many columns; all but the first are indented. A word that is longer is cut.
fn wrapped(text: &str, width: usize, indent: &str) -> Vec<String> {
    let columns = |text: &str| text.chars().map(|sign| sign.width().unwrap_or(0)).sum::<usize>();
    let width = width.max(indent.len() + 10);
    let text = &*visible(text);
    let mut lines: Vec<String> = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = if lines.is_empty() { String::new() } else { indent.to_string() };
        let mut empty = true;
        for word in paragraph.split(' ') {
            let space = usize::from(!empty);
            if !empty && columns(&line) + space + columns(word) > width {
                lines.push(std::mem::replace(&mut line, indent.to_string()));
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            empty = false;
            for sign in word.chars() {
                if columns(&line) + sign.width().unwrap_or(0) > width {
                    lines.push(std::mem::replace(&mut line, indent.to_string()));
                }
                line.push(sign);
            }
        }
        lines.push(line);
    }
    lines
}

/// The end of a long name of a file, which tells more than its beginning.
fn shortened(name: &str, most: usize) -> String {
    let n = name.chars().count();
    if n <= most {
        return name.to_string();
    }
    let mut text = String::new();
    let _ = write!(text, "{CUT}{}", name.chars().skip(n - most + CUT.len()).collect::<String>());
    text
}

#[cfg(test)]
mod tests {
    use super::super::diagnostic::{Call, Trouble};
    use super::*;

    fn at(text: &str, range: Range<usize>) -> Place {
        let column = text[..range.start].chars().count() + 1;
        let column_end = column + text[range.clone()].chars().count();
        Place { source: "study.rhai".into(), line: 1, column, column_end, text: text.into(), range }
    }

    fn message(text: &str, range: Range<usize>) -> Diagnostic {
        let hint = Some("say how long the hose is and how wide it is inside, as in hose(100.ft, (5/8).inch)".into());
        Diagnostic {
            hint,
            place: Some(at(text, range)),
            ..Diagnostic::new(Trouble::Name, "there is no function 'hosee' that takes (a quantity)")
        }
    }

    fn marked(excerpt: &Excerpt) -> String {
        excerpt.text.chars().skip(excerpt.columns.start).take(excerpt.columns.len()).collect()
    }

    #[test]
    fn the_mark_stands_under_its_place_at_every_width_of_a_long_line() {
        let line = format!("{}hosee(1.ft){}", "supply(50.psi) >> ".repeat(20), " >> head(\"a\")".repeat(20));
        for begin in [0, 18, 90, 360, 365] {
            let end = begin + 5;
            for room in 40..200 {
                let cut = excerpt(&at(&line, begin..end), room);
                assert_eq!(marked(&cut), line[begin..end], "{begin} in {room}: {}", cut.text);
                assert!(cut.text.chars().count() <= room, "{room}: {}", cut.text);
            }
        }
    }

    #[test]
    fn a_place_at_the_end_of_a_long_line_is_shown() {
        let line = format!("{}b", "a + ".repeat(200));
        let cut = excerpt(&at(&line, line.len() - 1..line.len()), 60);
        assert_eq!(marked(&cut), "b");
        let behind = excerpt(&at(&line, line.len()..line.len()), 60);
        assert_eq!(behind.columns.start, behind.text.chars().count());
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        let line = format!("{}hosee(1.ft){}", "supply(50.psi) >> ".repeat(20), " >> head(\"a\")".repeat(20));
        for width in 40..140 {
            let mut error = message(&line, 360..365);
            error.calls = vec![Call { what: "in 'a_function' called".into(), place: error.place.clone() }];
            for text in [draw(&error, Colour::No, width), draw(&Diagnostic { place: None, ..error.clone() }, Colour::No, width)] {
                assert!(text.lines().all(|line| line.chars().count() <= width), "{width}:\n{text}");
            }
            let bare = anstream::adapter::strip_str(&draw(&error, Colour::Yes, width)).to_string();
            assert_eq!(bare, draw(&error, Colour::No, width));
        }
    }

    #[test]
    fn wide_signs_tabs_and_signs_without_a_shape_keep_the_mark_in_place() {
        let line = "\tlet 水 = \u{7}\"é\" + fed";
        let from = line.find("fed").expect("there");
        let cut = excerpt(&at(line, from..from + 3), 80);
        assert_eq!(cut.text, "    let 水 = \u{2407}\"é\" + fed");
        assert_eq!(cut.columns, 20..23);
    }

    #[test]
    fn a_message_on_a_narrow_terminal() {
        let line = format!("{}hosee(1.ft)", "supply(50.psi) >> ".repeat(20));
        let expected = "unknown name: there is no function 'hosee'
  that takes (a quantity)
   ╭─[ study.rhai:1:361 ]
   │
 1 │ ...) >> supply(50.psi) >> hosee(1.ft)
   │                           ──┬──
   │                      here ──╯
   │
   │ Help: say how long the hose is and
   │       how wide it is inside, as in
   │       hose(100.ft, (5/8).inch)
───╯";
        assert_eq!(draw(&message(&line, 360..365), Colour::No, 42), expected);
    }
}
