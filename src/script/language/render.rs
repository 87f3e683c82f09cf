//! A message drawn for a terminal or a page: what is wrong, the line it is about with a mark under the place, and what to do.
//!
//! One look for all messages. Knows nothing of what went wrong.

use super::diagnostic::{Color, Diagnostic};
use super::place::{Place, USUAL_WIDTH, first_line};
use crate::lines::broken;
use crate::visible::{stand_in, visible, visible_line};
use anstyle::{AnsiColor, Style};
use textwrap::core::display_width;

/// Columns below which nothing is readable.
const LEAST_WIDTH: usize = 30;
/// Stands where something is cut.
const CUT: &str = "...";
/// Columns that a line that is cut shows after its mark, where there is room.
const BESIDE_MARK: usize = 12;
/// Stands before what belongs to the message.
const INDENT: &str = "  ";
/// Stands before a line of a script and its mark.
const QUOTE: &str = "    ";
/// Columns of a tab.
const TAB: &str = "    ";

impl Diagnostic {
    /// The message with the line it is about, in the usual width; with colors if `color` says so.
    pub fn render(&self, color: Color) -> String {
        draw(self, color, USUAL_WIDTH)
    }

    /// The message in at most `width` columns.
    pub fn render_within(&self, color: Color, columns: usize) -> String {
        draw(self, color, columns)
    }
}

/// The message in at most `width` columns.
fn draw(diagnostic: &Diagnostic, color: Color, width: usize) -> String {
    let width = width.max(LEAST_WIDTH);
    let paint = |ink: AnsiColor, text: &str| match color {
        Color::No => text.to_string(),
        Color::Yes => {
            let style = Style::new().fg_color(Some(ink.into()));
            format!("{style}{text}{style:#}")
        }
    };
    let headline = diagnostic.headline();
    let message = filled(&diagnostic.message, width, headline.len() + 2, &" ".repeat(headline.len() + 2));
    let mut lines = vec![format!("{}: {message}", paint(AnsiColor::Red, headline))];
    if let Some(place) = &diagnostic.place {
        let numbers = format!(":{}:{}", place.line, place.column);
        let source =
            shortened(&visible_line(&place.source), width.saturating_sub(INDENT.len() + "at ".len() + numbers.len()).max(8));
        lines.push(format!("{INDENT}{}", paint(AnsiColor::BrightBlack, &format!("at {source}{numbers}"))));
        let (quoted, before, mark) = quote(place, width - QUOTE.len(), diagnostic.label());
        lines.push(format!("{QUOTE}{quoted}").trim_end().to_string());
        lines.push(format!("{QUOTE}{before}{}", paint(AnsiColor::Red, &mark)));
    }
    let remark = |text: &str| format!("{INDENT}{}", filled(text, width, INDENT.len(), INDENT));
    lines.extend(diagnostic.hint.iter().map(|hint| remark(hint)));
    lines.extend(diagnostic.calls.iter().map(|call| remark(&call.line())));
    lines.join("\n")
}

/// The line of a place in `width` columns, the blanks before its mark, and the mark with its label.
fn quote(place: &Place, room: usize, label: Option<&str>) -> (String, String, String) {
    let (line, marked) = first_line(place);
    let columns = |text: &str| display_width(text);
    let (before, inside, after) = (shown(&line[..marked.start]), shown(&line[marked.clone()]), shown(&line[marked.end..]));
    let label = label.map_or(String::new(), |label| format!(" {label}"));
    let from = columns(&before);
    let most = room.saturating_sub(2 * CUT.len() + label.len()).max(1);
    let size = columns(beginning(&inside, most)).max(1);
    let whole = [before, inside, after].concat();
    // The first column that is shown: as far to the right as the mark, its label and some columns after it need.
    let needed = size + label.len().max(CUT.len());
    let asked = if columns(&whole) <= room { 0 } else { (from + needed.max(size + BESIDE_MARK)).saturating_sub(room) };
    let first = if asked == 0 { 0 } else { asked.min(from.saturating_sub(CUT.len())).max((from + needed).saturating_sub(room)) };
    (window(&whole, first, room), " ".repeat(from - first), format!("{}{label}", "=".repeat(size)))
}

/// The columns of a text from the first on, at most `most`; dots where it is cut.
fn window(text: &str, first: usize, room: usize) -> String {
    let cut_before = if first > 0 { CUT } else { "" };
    let is_cut_after = display_width(text) > first + room;
    let (from, to) = (first + cut_before.len(), first + room - if is_cut_after { CUT.len() } else { 0 });
    let mut out = cut_before.to_string();
    let mut column = 0;
    for sign in text.chars() {
        let wide = display_width(sign.encode_utf8(&mut [0; 4]));
        if column >= from && column + wide <= to {
            out.push(sign);
        } else if column < from && column + wide > from {
            out.push_str(&" ".repeat(column + wide - from));
        }
        column += wide;
    }
    if is_cut_after { out + CUT } else { out }
}

/// A line of a script as it is shown: a visible sign for each that a terminal would obey, so that columns stay what they are.
fn shown(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match (sign, stand_in(sign)) {
            ('\t', _) => out.push_str(TAB),
            (_, None) => out.push(sign),
            (_, Some(other)) => out.push(other.parse().unwrap_or(char::REPLACEMENT_CHARACTER)),
        }
    }
    out
}

/// The text broken to what is left of the width after a lead of `lead` columns; its further lines begin with `below`.
fn filled(text: &str, width: usize, lead: usize, below: &str) -> String {
    broken(&visible(text), width.saturating_sub(lead).max(10)).join(&format!("\n{below}"))
}

/// As much of the beginning as fits into `most` columns.
fn beginning(text: &str, most: usize) -> &str {
    let mut columns = 0;
    let end = text.char_indices().find(|(_, sign)| {
        columns += display_width(sign.encode_utf8(&mut [0; 4]));
        columns > most
    });
    end.map_or(text, |(end, _)| &text[..end])
}

/// The end of a long name of a file, which identifies it better than its beginning.
fn shortened(name: &str, most: usize) -> String {
    let n = name.chars().count();
    if n <= most { name.to_string() } else { CUT.chars().chain(name.chars().skip(n - most + CUT.len())).collect() }
}

#[cfg(test)]
mod tests {
    use super::super::diagnostic::{Call, Trouble};
    use super::super::place::excerpt;
    use super::*;
    use std::ops::Range;

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

    fn long_line() -> String {
        format!("{}hosee(1.ft){}", "supply(50.psi) >> ".repeat(20), " >> head(\"a\")".repeat(20))
    }

    /// What stands in the drawn line above the mark, each sign as wide as the terminal shows it.
    fn marked(drawn: &str) -> String {
        let lines: Vec<&str> = drawn.lines().collect();
        let at = lines.iter().position(|line| line.trim_start().starts_with('=')).expect("a mark");
        let from = lines[at].find('=').expect("there");
        let to = lines[at].rfind('=').expect("there") + 1;
        let mut column = 0;
        let mut above = String::new();
        for sign in lines[at - 1].chars() {
            if (from..to).contains(&column) {
                above.push(sign);
            }
            column += display_width(sign.encode_utf8(&mut [0; 4]));
        }
        above
    }

    #[test]
    fn the_mark_stands_under_its_place_at_every_width_of_a_long_line() {
        let line = long_line();
        for begin in [0, 18, 90, 360, 365] {
            let end = begin + 5;
            for width in 40..200 {
                let drawn = draw(&message(&line, begin..end), Color::No, width);
                assert_eq!(marked(&drawn), line[begin..end], "{begin} in {width}:\n{drawn}");
            }
        }
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        let line = long_line();
        for width in 40..140 {
            for range in [360..365, 3..300, 0..line.len(), line.len()..line.len()] {
                let mut error = message(&line, range);
                error.calls = vec![Call { what: "in 'a_function' called".into(), place: error.place.clone() }];
                for error in
                    [error.clone(), Diagnostic { kind: Trouble::Stopped, ..error.clone() }, Diagnostic { place: None, ..error }]
                {
                    let text = draw(&error, Color::No, width);
                    assert!(text.lines().all(|line| line.chars().count() <= width), "{width}:\n{text}");
                    let bare = anstream::adapter::strip_str(&draw(&error, Color::Yes, width)).to_string();
                    assert_eq!(bare, text);
                }
            }
        }
    }

    #[test]
    fn wide_signs_tabs_and_signs_without_a_shape_keep_the_mark_in_place() {
        let line = "\tlet 水 = \u{7}\"é\u{9b}\" + fed";
        let from = line.find("fed").expect("there");
        let drawn = draw(&message(line, from..from + 3), Color::No, 80);
        assert_eq!(marked(&drawn), "fed");
        assert!(drawn.contains("    let 水 = \u{2407}\"é\u{fffd}\" + fed") && drawn.contains("study.rhai:1:18\n"), "{drawn}");
    }

    #[test]
    fn a_message_on_a_narrow_terminal() {
        let line = format!("{}hosee(1.ft)", "supply(50.psi) >> ".repeat(20));
        insta::assert_snapshot!(draw(&message(&line, 360..365), Color::No, 42), @r"
        unknown name: there is no function 'hosee'
                      that takes (a quantity)
          at study.rhai:1:361
            ...supply(50.psi) >> hosee(1.ft)
                                 =====
          say how long the hose is and how wide it
          is inside, as in hose(100.ft,
          (5/8).inch)
        ");
    }

    #[test]
    fn an_excerpt_holds_its_place() {
        let line = format!("水{}", long_line());
        for (range, most) in [(363..368, 100), (0..3, 20), (line.len()..line.len(), 30), (3..400, 50)] {
            let (text, marked) = excerpt(&at(&line, range.clone()), most);
            let expected: String = line[range.clone()].chars().take(most).collect();
            assert_eq!(text.chars().skip(marked.start).take(marked.len()).collect::<String>(), expected);
            assert!(text.chars().count() <= most && line.contains(&text), "{text}");
        }
        assert_eq!(excerpt(&at("a\n1 +", 4..5), 100), ("1 +".into(), 2..3));
    }
}
