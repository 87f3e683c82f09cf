//! The desk: a session with the entries that worked, so that they can be kept, undone and said again.
//!
//! Writes to the standard output and error; knows nothing of keys and prompts.

use super::command::{Command, command};
use super::plot::plot;
use super::waiting::Waiting;
use crate::files::{read_text, write_atomically};
use crate::script::diagnostic::{Colour, Trouble};
use crate::script::figures::Chart;
use crate::script::memory::Memory;
use crate::script::{CellResult, Session, help};
use std::collections::{BTreeSet, VecDeque};
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::Ordering;

/// How many entries can be undone.
const MOST_MEMORIES: usize = 100;

/// How an entry was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    Fine,
    Failed,
    /// Stopped by Ctrl-C.
    Stopped,
    Leave,
}

/// A session and what was said in it.
pub struct Desk<'s> {
    pub session: &'s mut Session,
    colour: Colour,
    /// Texts that worked, in order.
    worked: Vec<String>,
    /// How things stood before each of the last entries, and how many texts had worked then.
    memories: VecDeque<(Memory, usize, String)>,
    undone: Vec<String>,
    /// Files that `keep` wrote.
    kept: BTreeSet<String>,
}

impl<'s> Desk<'s> {
    pub fn new(session: &'s mut Session, colour: Colour) -> Desk<'s> {
        Desk { session, colour, worked: Vec::new(), memories: VecDeque::new(), undone: Vec::new(), kept: BTreeSet::new() }
    }

    /// Does what an entry says. Errors: an output that cannot be written.
    pub fn answer(&mut self, entry: &str) -> io::Result<Answer> {
        match command(entry) {
            Command::Quit => Ok(Answer::Leave),
            Command::Help(topic) => self.help(topic.as_deref()),
            Command::Keep(file) => self.keep(&file),
            Command::Load(file) => self.load(&file),
            Command::Undo => self.undo(),
            Command::Redo => match self.undone.pop() {
                Some(entry) => {
                    say(&one_line(&entry))?;
                    let name = self.session.next_name();
                    self.evaluate(&name, &entry)
                }
                None => complain("there is nothing to redo", "redo says the entry again that undo took back"),
            },
            Command::Evaluate => {
                self.undone.clear();
                let name = self.session.next_name();
                self.evaluate(&name, entry)
            }
        }
    }

    fn help(&self, topic: Option<&str>) -> io::Result<Answer> {
        let width = self.session.context().width();
        match topic.map(|topic| help::topic_text(topic, width)) {
            None => say(&help::overview(width))?,
            Some(Ok(text)) => say(&text)?,
            Some(Err(error)) => say(&format!("{error}; {}", error.hint.as_deref().unwrap_or_default()))?,
        }
        Ok(Answer::Fine)
    }

    /// Writes the entries that worked, but never over a file that somebody else wrote.
    fn keep(&mut self, file: &str) -> io::Result<Answer> {
        let path = match self.session.context().folder.file(file) {
            Ok(path) if file.ends_with(".rhai") => path,
            Ok(_) => return complain("a kept script needs a name that ends with .rhai", "write keep(\"study.rhai\")"),
            Err(error) => return complain(&error.to_string(), &error.hint()),
        };
        if self.worked.is_empty() {
            return complain("there is nothing to keep yet", "entries that worked are kept");
        }
        if path.exists() && !self.kept.contains(file) {
            return complain(&format!("there is a file '{file}' already"), "choose another name");
        }
        let text: String = self.worked.iter().map(|entry| ended(entry)).collect();
        if let Err(error) = write_atomically(&path, text.as_bytes()) {
            return complain(&error.to_string(), &error.hint());
        }
        self.kept.insert(file.to_string());
        say(&format!("kept {} entries in {file}", self.worked.len()))?;
        Ok(Answer::Fine)
    }

    fn load(&mut self, file: &str) -> io::Result<Answer> {
        let folder = &self.session.context().folder;
        match folder.file(file).and_then(|path| read_text(&path)) {
            Ok(text) => {
                self.undone.clear();
                self.evaluate(file, &text)
            }
            Err(error) => complain(&error.to_string(), &error.hint()),
        }
    }

    fn undo(&mut self) -> io::Result<Answer> {
        let Some((memory, worked, entry)) = self.memories.pop_back() else {
            return complain("there is nothing to undo", "undo takes the last entry back");
        };
        self.session.go_back(memory);
        self.worked.truncate(worked);
        say(&format!("took back: {}", one_line(&entry)))?;
        self.undone.push(entry);
        Ok(Answer::Fine)
    }

    /// Evaluates a text and shows what it gives.
    fn evaluate(&mut self, name: &str, text: &str) -> io::Result<Answer> {
        self.memories.push_back((self.session.remember(), self.worked.len(), text.to_string()));
        if self.memories.len() > MOST_MEMORIES {
            self.memories.pop_front();
        }
        let context = self.session.context().clone();
        context.stop.store(false, Ordering::Relaxed);
        let terminal = io::stdout().is_terminal();
        let width = context.width();
        let mut written = Ok(());
        let mut result = Answer::Fine;
        let mut good_until = text.len();
        let waiting = Waiting::begin();
        let colour = self.colour;
        let shared = context.clone();
        self.session.evaluate_each(name, text, &mut |cell: CellResult| {
            waiting.quiet();
            let figure = shared.take_figure();
            for shown in &cell.shown {
                keep_first(&mut written, say(shown));
            }
            if terminal {
                let unsaved =
                    cell.value.as_ref().and_then(|value| value.read_lock::<Chart>()).and_then(|chart| chart.figure(&shared).ok());
                if let Some(figure) = unsaved.or(figure) {
                    keep_first(&mut written, say(plot(&figure, width).trim_end_matches('\n')));
                }
            }
            if let Some(error) = &cell.error {
                good_until = cell.range.start;
                eprintln!("{}", error.render_within(colour, width));
                result = if error.kind == Trouble::Stopped { Answer::Stopped } else { Answer::Failed };
            }
        });
        drop(waiting);
        context.stop.store(false, Ordering::Relaxed);
        written?;
        let good = text[..good_until].trim();
        if !good.is_empty() {
            self.worked.push(good.to_string());
        }
        Ok(if context.left() { Answer::Leave } else { result })
    }
}

/// An entry as statements of a script.
fn ended(entry: &str) -> String {
    let entry = entry.trim_end();
    let whole = entry.ends_with([';', '}']) || entry.lines().last().is_some_and(|line| line.trim_start().starts_with("//"));
    // A map or a closure that ends with a brace needs its semicolon too; one too many does no harm.
    if whole && !entry.ends_with('}') { format!("{entry}\n") } else { format!("{entry};\n") }
}

fn one_line(entry: &str) -> String {
    let first = entry.trim().lines().next().unwrap_or("");
    if entry.trim().contains('\n') { format!("{first} ...") } else { first.to_string() }
}

fn say(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    if text.is_empty() {
        return Ok(());
    }
    writeln!(out, "{text}")?;
    out.flush()
}

fn complain(what: &str, hint: &str) -> io::Result<Answer> {
    let mut out = io::stderr().lock();
    writeln!(out, "{what}\n  {hint}")?;
    Ok(Answer::Failed)
}

/// Remembers the first trouble in writing.
fn keep_first(written: &mut io::Result<()>, next: io::Result<()>) {
    if written.is_ok() {
        *written = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_become_statements() {
        assert_eq!(ended("let a = 1"), "let a = 1;\n");
        assert_eq!(ended("let a = 1;"), "let a = 1;\n");
        assert_eq!(ended("let a = #{ b: 1 }"), "let a = #{ b: 1 };\n");
        assert_eq!(ended("// prose"), "// prose\n");
        assert_eq!(ended("fn f() {\n  1\n}"), "fn f() {\n  1\n};\n");
    }
}
