//! A study on paper: its prose as it stands, and the values set in below, with a blank line between the two. A bare number has its
//! statement beside it.

use super::cells::{Cell, cells};
use crate::lines::{cut_to, fitted, width_of};
use crate::shell::paint::Paint;
use crate::visible::visible;
use std::io::{self, Write};

/// How far values are set in from the prose.
pub const SET_IN: &str = "    ";
/// Columns that values with their statements beside them take at least, so that the statements stand in line.
const VALUES: usize = 12;
/// Between a value and its statement.
const BESIDE: &str = "   ";
/// Columns of a statement below which it stands above its value.
const LEAST_STATEMENT: usize = 24;

/// The page on which a study is printed.
#[derive(Clone, Copy)]
pub struct Page {
    /// Columns of a line; none where the page has no edge.
    pub width: Option<usize>,
    /// Colors.
    pub paint: Paint,
}

/// Writes prose and values in the order of the study, each as soon as it is known.
pub struct Printer<W> {
    out: W,
    page: Page,
    cells: std::vec::IntoIter<Cell>,
    waiting: Option<Cell>,
    /// What was written last, for the blank lines.
    last: Last,
}

#[derive(PartialEq, Eq)]
enum Last {
    Nothing,
    Prose,
    /// Values of a line each.
    Value,
    /// A value of several lines.
    Block,
}

impl<W: Write> Printer<W> {
    /// A printer for a study.
    pub fn new(source: &str, page: Page, out: W) -> Printer<W> {
        let mut cells = cells(source).into_iter();
        let waiting = cells.next();
        Printer { out, page, cells, waiting, last: Last::Nothing }
    }

    /// Writes the prose of all cells that begin at or before a line.
    pub fn prose_until(&mut self, line: usize) -> io::Result<()> {
        while let Some(cell) = self.waiting.take_if(|cell| cell.lines.0 <= line) {
            if !cell.prose.is_empty() {
                if self.last != Last::Nothing {
                    writeln!(self.out)?;
                }
                let prose = self.fitted(&visible(&cell.prose), 0);
                writeln!(self.out, "{}", self.page.paint.prose(&prose))?;
                self.last = Last::Prose;
            }
            self.waiting = self.cells.next();
        }
        self.out.flush()
    }

    /// Writes what the statement on a line showed; `named` is the statement where what it shows last is a bare number.
    pub fn values(&mut self, line: usize, shown: &[String], named: Option<&str>) -> io::Result<()> {
        self.prose_until(line)?;
        for (number, text) in shown.iter().enumerate() {
            if matches!(self.last, Last::Prose | Last::Block) || (self.last == Last::Value && text.contains('\n')) {
                writeln!(self.out)?;
            }
            let lines: Vec<String> = text.lines().map(|line| visible(line).into_owned()).collect();
            // A literal says what it is.
            let named = named.filter(|named| number + 1 == shown.len() && lines.len() == 1 && *named != lines[0]);
            let told = match named {
                Some(statement) => self.beside(&lines[0], statement),
                None => self.page.paint.values(&self.fitted(&lines.join("\n"), SET_IN.len())),
            };
            for line in told.lines() {
                writeln!(self.out, "{}", format!("{SET_IN}{line}").trim_end())?;
            }
            self.last = if text.contains('\n') { Last::Block } else { Last::Value };
        }
        self.out.flush()
    }

    /// A value and the statement that gives it, in one line where they fit.
    fn beside(&self, value: &str, statement: &str) -> String {
        let statement = visible(&statement.split_whitespace().collect::<Vec<_>>().join(" ")).into_owned();
        let taken = width_of(value).max(VALUES) + BESIDE.len();
        let room = self.page.width.map_or(usize::MAX, |width| width.saturating_sub(SET_IN.len() + taken));
        let paint = |text: &str| self.page.paint.aside(text);
        if room < LEAST_STATEMENT.min(width_of(&statement)) {
            let room = room.saturating_add(taken);
            return format!("{}\n{}", paint(&shortened(&statement, room)), self.fitted(value, SET_IN.len()));
        }
        let space = " ".repeat(taken - width_of(value));
        format!("{value}{space}{}", paint(&shortened(&statement, room)))
    }

    fn fitted(&self, text: &str, set_in: usize) -> String {
        self.page.width.map_or_else(|| text.to_string(), |width| fitted(text, width.saturating_sub(set_in)))
    }

    /// Writes lines that hold for the whole study, below all.
    pub fn closing(&mut self, text: &str) -> io::Result<()> {
        if self.last != Last::Nothing {
            writeln!(self.out)?;
        }
        writeln!(self.out, "{}", self.page.paint.values(&visible(text)))?;
        self.last = Last::Prose;
        self.out.flush()
    }

    /// Writes the prose that is left.
    pub fn finish(&mut self) -> io::Result<()> {
        self.prose_until(usize::MAX)
    }
}

/// A statement cut to the room.
fn shortened(statement: &str, room: usize) -> String {
    if width_of(statement) <= room { statement.to_string() } else { cut_to(statement, room.saturating_sub(3)) + "..." }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: Page = Page { width: None, paint: Paint::NONE };

    #[test]
    fn values_stand_below_their_prose_with_space_around_those_of_several_lines() {
        let mut bytes = Vec::new();
        let mut printer = Printer::new("// # Title\nlet a = 1;\na;\n// More\na + 1;\n// End", PAGE, &mut bytes);
        printer.values(3, &["1".into()], None).expect("a vector takes it");
        printer.values(5, &["2".into(), "a\nb".into(), "3".into()], None).expect("a vector takes it");
        printer.finish().expect("a vector takes it");
        let text = String::from_utf8(bytes).expect("text");
        assert_eq!(text, "# Title\n\n    1\n\nMore\n\n    2\n\n    a\n    b\n\n    3\n\nEnd\n");
    }

    #[test]
    fn a_bare_number_has_its_statement_beside_it_or_above() {
        let told = |width: Option<usize>, value: &str| {
            let mut bytes = Vec::new();
            let mut printer = Printer::new("", Page { width, ..PAGE }, &mut bytes);
            printer
                .values(1, &[value.into()], Some("plot.run(\"berries\")\n    .pressure(\"berry\")"))
                .expect("a vector takes it");
            String::from_utf8(bytes).expect("text")
        };
        assert_eq!(told(None, "37.4 psi"), "    37.4 psi       plot.run(\"berries\") .pressure(\"berry\")\n");
        assert_eq!(told(Some(50), "37.4 psi"), "    37.4 psi       plot.run(\"berries\") .pressur...\n");
        assert_eq!(told(Some(40), "37.4 psi"), "    plot.run(\"berries\") .pressure(\"be...\n    37.4 psi\n");
    }

    #[test]
    fn prose_breaks_between_words() {
        let mut bytes = Vec::new();
        let page = Page { width: Some(20), ..PAGE };
        let mut printer = Printer::new("// The berry head has 28 psi left.\n1;", page, &mut bytes);
        printer.finish().expect("a vector takes it");
        assert_eq!(String::from_utf8(bytes).expect("text"), "The berry head has\n28 psi left.\n");
    }
}
