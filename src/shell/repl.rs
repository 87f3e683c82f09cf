//! The desk: a session with the entries that worked, so that they can be kept, undone and said again.
//!
//! Writes to the standard output and error; knows nothing of keys and prompts.

use super::command::{Command, command};
use super::paint::Paint;
use super::plot::plot;
use super::spinner::Waiting;
use super::status_line;
use crate::figure::Graphic;
use crate::files::{Folder, write_atomically};
use crate::lines::fitted;
use crate::quantity::UnitSystem;
use crate::report::chart::Chart;
use crate::script::diagnostic::{Color, Trouble};
use crate::script::entry::{Entries, continues, joined, only_comments};
use crate::script::memory::Memory;
use crate::script::{CellResult, Session, overview, search, topic_text};
use crate::told::Told;
use crate::visible::visible;
use std::collections::{BTreeSet, VecDeque};
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// How many entries can be undone.
const MOST_STEPS: usize = 100;

/// How an entry was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    Fine,
    Failed,
    /// Stopped by Ctrl-C.
    Stopped,
    Leave,
}

/// How an entry came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrival {
    /// Somebody saw the answer before, and then wrote it.
    Seen,
    /// It was there before the previous entry was answered: pasted, typed ahead, or from a pipe.
    Waiting,
}

/// How an entry went.
struct Attempt {
    answer: Answer,
    /// The part that worked, in bytes from the start.
    good_until: usize,
}

/// What can be undone: an entry of which something worked.
struct Step {
    /// How things stood before it.
    before: Memory,
    /// How many texts had worked before it.
    worked: usize,
    entry: String,
    origin: Origin,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Origin {
    Typed,
    File,
}

/// A session and what was said in it.
pub struct Repl<'s> {
    pub session: &'s mut Session,
    color: Color,
    paint: Paint,
    /// Texts that worked, in order.
    worked: Vec<String>,
    steps: VecDeque<Step>,
    /// The last entry failed.
    failed: bool,
    undone: Vec<String>,
    /// Files that `keep` wrote.
    kept: BTreeSet<String>,
}

impl<'s> Repl<'s> {
    pub fn new(session: &'s mut Session, color: Color) -> Repl<'s> {
        session.context().keep_partial_tables();
        Repl {
            session,
            color,
            paint: Paint::of_output(),
            worked: Vec::new(),
            steps: VecDeque::new(),
            failed: false,
            undone: Vec::new(),
            kept: BTreeSet::new(),
        }
    }

    /// Does what an entry says. Errors: an output that cannot be written.
    pub fn answer(&mut self, entry: &str, arrival: Arrival) -> io::Result<Answer> {
        match command(entry) {
            Command::Quit => Ok(Answer::Leave),
            Command::Help(topic) => self.help(topic.as_deref()),
            Command::Search(text) => self.search(&text),
            Command::Keep(file) => self.keep(&file),
            Command::Load(file) => self.load(&file),
            Command::Undo => self.undo(),
            Command::Variables => self.variables(),
            Command::Redo => match self.undone.pop() {
                Some(entry) => {
                    say(&one_line(&entry))?;
                    self.evaluate(&entry)
                }
                None => complain("there is nothing to redo", "redo repeats the entry that undo took back"),
            },
            Command::Evaluate => {
                self.undone.clear();
                let answer = match continues(entry) {
                    true => self.go_on(entry, arrival),
                    false => self.evaluate(entry),
                }?;
                self.failed = answer == Answer::Failed;
                Ok(answer)
            }
        }
    }

    /// Says why something that was entered is not evaluated. Errors: an output that cannot be written.
    pub fn refuse(&mut self, what: &str, hint: &str) -> io::Result<()> {
        self.failed = true;
        complain(what, hint).map(drop)
    }

    fn help(&self, topic: Option<&str>) -> io::Result<Answer> {
        let (vocabulary, width) = (self.session.context().vocabulary(), self.session.context().width());
        match topic.map(|topic| topic_text(vocabulary, topic, width)) {
            None => say(&overview(vocabulary, width))?,
            Some(Ok(text)) => say(&text)?,
            Some(Err(error)) => say(&format!("{error}; {}", error.told(UnitSystem::default()).1.unwrap_or_default()))?,
        }
        Ok(Answer::Fine)
    }

    fn variables(&self) -> io::Result<Answer> {
        let all = self.session.variables();
        let width = all.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
        let lines: Vec<String> = all.iter().map(|(name, what)| format!("{name:width$}  {what}")).collect();
        say(&if lines.is_empty() { "no variables yet; let x = 3.ft; makes one".to_string() } else { lines.join("\n") })?;
        Ok(Answer::Fine)
    }

    fn search(&self, text: &str) -> io::Result<Answer> {
        let (vocabulary, width) = (self.session.context().vocabulary(), self.session.context().width());
        say(&topic_text(vocabulary, text, width).unwrap_or_else(|_| search(vocabulary, text, width)))?;
        Ok(Answer::Fine)
    }

    /// Writes the entries that worked, but never over a file that somebody else wrote.
    fn keep(&mut self, file: &str) -> io::Result<Answer> {
        if file.is_empty() {
            return complain("the script needs a name", "write keep(\"study.rhai\")");
        }
        let file = if file.contains('.') { file.to_string() } else { format!("{file}.rhai") };
        let place = match self.session.context().folder.place(&file) {
            Ok(place) if file.ends_with(".rhai") => place,
            Ok(_) => return complain("the name of the script must end with .rhai", "write keep(\"study.rhai\")"),
            Err(error) => return complain(&error.to_string(), &error.hint().unwrap_or_default()),
        };
        if self.worked.is_empty() {
            return complain("there are no entries to keep yet", "keep saves the entries that worked");
        }
        if place.is_taken() && !self.kept.contains(&file) {
            let hint = format!("choose another name, such as keep(\"{}\")", free_name(&file, &self.session.context().folder));
            return complain(&format!("the file '{file}' already exists and was not changed"), &hint);
        }
        let text: String = self.worked.iter().map(|entry| ended(entry)).collect();
        if let Err(error) = write_atomically(&place, text.as_bytes()) {
            return complain(&error.to_string(), &error.hint().unwrap_or_default());
        }
        let entries = if self.worked.len() == 1 { "entry" } else { "entries" };
        say(&format!("kept {} {entries} in {file}", self.worked.len()))?;
        self.kept.insert(file);
        Ok(Answer::Fine)
    }

    fn load(&mut self, file: &str) -> io::Result<Answer> {
        if file.is_empty() {
            return complain("which script?", "write load(\"study.rhai\")");
        }
        let folder = &self.session.context().folder;
        match folder.read_text(file) {
            Ok(text) => {
                self.undone.clear();
                let before = self.session.remember();
                let attempt = self.attempt(file, &text)?;
                Ok(self.settle(before, attempt, &text, Origin::File))
            }
            Err(error) => complain(&error.to_string(), &error.hint().unwrap_or_default()),
        }
    }

    fn undo(&mut self) -> io::Result<Answer> {
        let Some(step) = self.steps.pop_back() else {
            return complain("there is nothing to undo", "undo takes back the last entry that worked");
        };
        self.session.go_back(step.before);
        self.worked.truncate(step.worked);
        self.failed = false;
        say(&format!("took back: {}", one_line(&step.entry)))?;
        self.undone.push(step.entry);
        Ok(Answer::Fine)
    }

    fn evaluate(&mut self, entry: &str) -> io::Result<Answer> {
        let mended = if entry.contains('\n') { Entries::default().mended(entry) } else { None };
        let text = mended.as_deref().unwrap_or(entry);
        let before = self.session.remember();
        let name = self.session.next_name();
        let attempt = self.attempt(&name, text)?;
        Ok(self.settle(before, attempt, text, Origin::Typed))
    }

    /// Takes the entry before back and evaluates it together with this one; when that fails all is as it was.
    fn go_on(&mut self, entry: &str, arrival: Arrival) -> io::Result<Answer> {
        if self.failed && arrival == Arrival::Waiting {
            // What was pasted after a line with a mistake must not be joined around it.
            return complain("the previous entry failed, so this line cannot continue from it", "correct that entry first");
        }
        let last = self.steps.iter().rposition(|step| !only_comments(&step.entry));
        let Some(last) = last.filter(|last| self.steps[*last].origin == Origin::Typed) else {
            return complain(
                "there is no entry to continue from",
                "begin with a part or a garden, such as supply(58.psi); a line that begins with >> or a dot continues from it",
            );
        };
        let now = self.session.remember();
        let mut steps = self.steps.split_off(last);
        let Some(first) = steps.pop_front() else { return Ok(Answer::Failed) };
        let worked = self.worked.split_off(first.worked);
        let comments = steps.iter().map(|step| step.entry.as_str());
        let whole = comments.chain([entry]).fold(first.entry.clone(), |whole, next| joined(&whole, next));
        note(&format!("continues from: {}", one_line(&first.entry)))?;
        let before = self.session.rewind(first.before);
        let name = self.session.next_name();
        let attempt = self.attempt(&name, &whole)?;
        if matches!(attempt.answer, Answer::Failed | Answer::Stopped) {
            self.session.go_back(now);
            self.steps.push_back(Step { before, ..first });
            self.steps.append(&mut steps);
            self.worked.extend(worked);
            note("the previous entry is unchanged")?;
            return Ok(attempt.answer);
        }
        Ok(self.settle(before, attempt, &whole, Origin::Typed))
    }

    /// Remembers what worked of an entry. What did not work changes nothing.
    fn settle(&mut self, before: Memory, attempt: Attempt, text: &str, origin: Origin) -> Answer {
        let good = text[..attempt.good_until].trim();
        if good.is_empty() {
            self.session.go_back(before);
            return attempt.answer;
        }
        self.steps.push_back(Step { before, worked: self.worked.len(), entry: text.to_string(), origin });
        if self.steps.len() > MOST_STEPS {
            self.steps.pop_front();
        }
        self.worked.push(good.to_string());
        attempt.answer
    }

    /// Evaluates a text and shows what it gives.
    fn attempt(&mut self, name: &str, text: &str) -> io::Result<Attempt> {
        let context = self.session.context().clone();
        context.stop.store(false, Ordering::Relaxed);
        let terminal = io::stdout().is_terminal();
        let width = context.width();
        let mut written = Ok(());
        let mut answer = Answer::Fine;
        let mut good_until = text.len();
        let spinner = Waiting::begin();
        let (color, paint) = (self.color, self.paint);
        let shared = context.clone();
        self.session.evaluate_each(name, text, &mut |cell: CellResult| {
            spinner.quiet();
            status_line::wipe();
            let picture = shared.take_picture();
            let figure = picture.and_then(|picture| match picture.graphic() {
                Graphic::Figure(figure) => Some(figure.clone()),
                _ => None,
            });
            for shown in &cell.shown {
                keep_first(&mut written, say_until(&paint.values(&fitted(&visible(shown), width)), &shared.stop));
            }
            if terminal {
                let unsaved = cell
                    .value
                    .as_ref()
                    .and_then(|value| value.read_lock::<Chart>())
                    .and_then(|chart| chart.figure(shared.units()).ok());
                if let Some(figure) = unsaved.or(figure) {
                    keep_first(&mut written, say(plot(&figure, width).trim_end_matches('\n')));
                }
            }
            if let Some(error) = &cell.error {
                good_until = cell.range.start;
                eprintln!("{}", error.render_within(color, width));
                answer = if error.kind == Trouble::Stopped { Answer::Stopped } else { Answer::Failed };
            }
        });
        drop(spinner);
        context.stop.store(false, Ordering::Relaxed);
        written?;
        Ok(Attempt { answer: if context.left() { Answer::Leave } else { answer }, good_until })
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
    writeln!(out, "{}", visible(text))?;
    out.flush()
}

/// Shows a text without control characters but those of colors, which may be long; Ctrl-C cuts it off, and the entry goes on.
fn say_until(text: &str, stop: &AtomicBool) -> io::Result<()> {
    let already = stop.load(Ordering::Relaxed);
    for line in text.lines() {
        writeln!(io::stdout().lock(), "{line}")?;
        if !already && stop.swap(false, Ordering::Relaxed) {
            return note("... cut off by Ctrl-C");
        }
    }
    io::stdout().flush()
}

/// A remark beside the answers.
fn note(text: &str) -> io::Result<()> {
    writeln!(io::stderr().lock(), "{}", visible(text))
}

/// A name of a script that no file of the folder has: `study-2.rhai`.
fn free_name(file: &str, folder: &Folder) -> String {
    let stem = file.trim_end_matches(".rhai");
    let mut names = (2..).map(|number| format!("{stem}-{number}.rhai"));
    names.find(|name| folder.file(name).is_ok_and(|path| !path.exists())).unwrap_or_default()
}

fn complain(what: &str, hint: &str) -> io::Result<Answer> {
    let mut out = io::stderr().lock();
    writeln!(out, "{}\n  {}", visible(what), visible(hint))?;
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
