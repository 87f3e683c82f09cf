//! A message drawn for a terminal or a page: what is wrong, the line it is about with a mark under the place, and what to do.
//!
//! One look for all messages, that of annotate-snippets. Knows nothing of what went wrong.

use super::diagnostic::{Color, Diagnostic};
use super::place::{Place, USUAL_WIDTH, first_line};
use crate::lines::broken;
use crate::visible::{stand_in, visible, visible_line};
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Renderer, Snippet};
use anstyle::AnsiColor;
use textwrap::core::display_width;

/// Columns below which nothing is readable.
const LEAST_WIDTH: usize = 30;
/// Stands where something is cut.
const CUT: &str = "...";
/// Columns that the drawing keeps free on both sides of a mark in a line that it cuts.
const BESIDE_MARK: usize = 12;

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
    let digits = diagnostic.place.as_ref().map_or(1, |place| place.line.to_string().len());
    let headline = diagnostic.headline();
    let message = filled(&diagnostic.message, width, headline.len() + 2);
    let mut group = Group::with_title(Level::ERROR.with_name(headline).primary_title(message));
    if let Some(place) = &diagnostic.place {
        group = group.element(snippet(diagnostic, place, width, digits));
    }
    // After the number of the line stand ` = help: `.
    let remark = |text: &str| filled(text, width, digits + " = help: ".len());
    group = group.elements(diagnostic.hint.iter().map(|hint| Level::HELP.message(remark(hint))));
    group = group.elements(diagnostic.calls.iter().map(|call| Level::NOTE.message(remark(&call.line()))));
    let drawn = renderer(color).term_width(width).render(&[group]);
    drawn.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

fn renderer(color: Color) -> Renderer {
    match color {
        Color::No => Renderer::plain(),
        Color::Yes => {
            let (red, gray, plain) = (AnsiColor::Red.on_default(), AnsiColor::BrightBlack.on_default(), anstyle::Style::new());
            Renderer::styled().error(red).line_num(gray).emphasis(plain).help(plain).note(plain)
        }
    }
}

/// The line of a place with the mark under it.
fn snippet<'a>(diagnostic: &Diagnostic, place: &Place, width: usize, digits: usize) -> Snippet<'a, Annotation<'a>> {
    let (line, marked) = first_line(place);
    let label = diagnostic.label();
    let room = width.saturating_sub(digits + 3 + BESIDE_MARK + label.map_or(0, |label| label.len() + 1)).max(1);
    let (before, inside, after) = (shown(&line[..marked.start]), shown(&line[marked.clone()]), shown(&line[marked.end..]));
    let mark = before.len()..before.len() + beginning(&inside, room).len();
    Snippet::source([before, inside, after].concat())
        .line_start(place.line)
        .path(shortened(&visible_line(&place.source), width.saturating_sub(digits + 18).max(8)))
        .annotation(AnnotationKind::Primary.span(mark).label(label))
}

/// A line of a script as it is shown: a visible sign for each that a terminal would obey, so that columns stay what they are.
fn shown(text: &str) -> String {
    let shown = |sign| match stand_in(sign) {
        None => sign,
        Some(_) if sign == '\t' => sign,
        Some(other) => other.parse().unwrap_or(char::REPLACEMENT_CHARACTER),
    };
    text.chars().map(shown).collect()
}

/// The text broken to what is left of the width after a lead.
fn filled(text: &str, width: usize, lead: usize) -> String {
    broken(&visible(text), width.saturating_sub(lead).max(10)).join("\n")
}

/// As much of the beginning as fits into `most` columns.
fn beginning(text: &str, most: usize) -> String {
    let mut columns = 0;
    text.chars()
        .take_while(|sign| {
            columns += if *sign == '\t' { 4 } else { display_width(sign.encode_utf8(&mut [0; 4])) };
            columns <= most
        })
        .collect()
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
        let at = lines.iter().position(|line| line.contains('^')).expect("a mark");
        let from = lines[at].find('^').expect("there");
        let to = lines[at].rfind('^').expect("there") + 1;
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
         --> study.rhai:1:361
          |
        1 | ...y(50.psi) >> hosee(1.ft)
          |                 ^^^^^
          |
          = help: say how long the hose is and how
                  wide it is inside, as in
                  hose(100.ft, (5/8).inch)
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
