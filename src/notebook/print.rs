//! A study on paper: its prose as it stands, and the values set in below, with a blank line between the two.

use super::cells::{Cell, cells};
use crate::visible::visible;
use std::io::{self, Write};

/// How far values are set in from the prose.
const SET_IN: &str = "    ";

/// Writes prose and values in the order of the study, each as soon as it is known.
pub struct Printer<W> {
    out: W,
    cells: std::vec::IntoIter<Cell>,
    waiting: Option<Cell>,
    /// What was written last, for the blank lines.
    last: Last,
}

#[derive(PartialEq, Eq)]
enum Last {
    Nothing,
    Prose,
    Value,
}

impl<W: Write> Printer<W> {
    /// A printer for a study.
    pub fn new(source: &str, out: W) -> Printer<W> {
        let mut cells = cells(source).into_iter();
        let waiting = cells.next();
        Printer { out, cells, waiting, last: Last::Nothing }
    }

    /// Writes the prose of all cells that begin at or before a line.
    pub fn prose_until(&mut self, line: usize) -> io::Result<()> {
        while let Some(cell) = self.waiting.take_if(|cell| cell.lines.0 <= line) {
            if !cell.prose.is_empty() {
                if self.last != Last::Nothing {
                    writeln!(self.out)?;
                }
                writeln!(self.out, "{}", visible(&cell.prose))?;
                self.last = Last::Prose;
            }
            self.waiting = self.cells.next();
        }
        self.out.flush()
    }

    /// Writes what the statement on a line showed.
    pub fn values(&mut self, line: usize, shown: &[String]) -> io::Result<()> {
        self.prose_until(line)?;
        for text in shown {
            if self.last == Last::Prose || (self.last == Last::Value && text.contains('\n')) {
                writeln!(self.out)?;
            }
            for line in text.lines() {
                writeln!(self.out, "{}", visible(&format!("{SET_IN}{line}")).trim_end())?;
            }
            self.last = Last::Value;
        }
        self.out.flush()
    }

    /// Writes lines that hold for the whole study, below all.
    pub fn closing(&mut self, text: &str) -> io::Result<()> {
        if self.last != Last::Nothing {
            writeln!(self.out)?;
        }
        writeln!(self.out, "{}", visible(text))?;
        self.last = Last::Prose;
        self.out.flush()
    }

    /// Writes the prose that is left.
    pub fn finish(&mut self) -> io::Result<()> {
        self.prose_until(usize::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_stand_below_their_prose() {
        let mut bytes = Vec::new();
        let mut printer = Printer::new("// # Title\nlet a = 1;\na;\n// More\na + 1;\n// End", &mut bytes);
        printer.values(3, &["1".into()]).expect("a vector takes it");
        printer.values(5, &["2".into(), "a\nb".into()]).expect("a vector takes it");
        printer.finish().expect("a vector takes it");
        let text = String::from_utf8(bytes).expect("text");
        assert_eq!(text, "# Title\n\n    1\n\nMore\n\n    2\n\n    a\n    b\n\nEnd\n");
    }
}
