//! The shell: a prompt that reads entries, evaluates them in one session, and shows what they give.
//!
//! Knows the terminal; the script language is behind `Session`.

mod complete; // names for the Tab key
mod history; // where old entries are kept

mod piped; // entries from a pipe, without a prompt

pub use piped::{Piped, read_piped};

use crate::script::diagnostic::{Colour, Trouble};
use crate::script::entry::Entries;
use crate::script::{Session, help};
use complete::Completion;
use rustyline::error::ReadlineError;
use rustyline::history::DefaultHistory;
use rustyline::{ColorMode, CompletionType, Config, Editor};
use std::io::{self, Write};
use std::path::PathBuf;
use std::sync::atomic::Ordering;

/// The prompt for a new entry and for one that goes on.
const PROMPT: &str = "plot> ";
const GOES_ON: &str = "....> ";

type Line = Editor<Completion, DefaultHistory>;

/// How a line was answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Answer {
    Fine,
    Failed,
    /// Stopped by Ctrl-C.
    Stopped,
    Leave,
}

/// Runs the shell until the user leaves. Errors: a terminal that cannot be read or written.
pub fn run(session: &mut Session) -> io::Result<()> {
    let mut line = open_line(session).map_err(io::Error::other)?;
    let history = history::file();
    if let Some(path) = &history {
        let _ = line.load_history(path); // The first time there is none.
    }
    println!("hosewright {}: type help for the words, quit to leave", env!("CARGO_PKG_VERSION"));
    session.context().listen(Box::new(|line| drop(writeln!(io::stdout(), "{line}"))));
    let entries = Entries::default();
    loop {
        match read_entry(&mut line, &entries) {
            Ok(text) if text.trim().is_empty() => {}
            Ok(text) => {
                keep(&mut line, history.as_ref(), &text);
                if answer(session, &text, Colour::for_stderr())? == Answer::Leave {
                    return Ok(());
                }
                if let Some(helper) = line.helper_mut() {
                    helper.names = session.names();
                }
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => return Ok(()),
            Err(ReadlineError::Io(error)) => return Err(error),
            Err(error) => return Err(io::Error::other(error)),
        }
    }
}

/// Evaluates an entry and shows what it gives.
pub(crate) fn answer(session: &mut Session, text: &str, colour: Colour) -> io::Result<Answer> {
    let mut out = io::stdout().lock();
    match text.trim().trim_end_matches(';') {
        "quit" | "exit" => return Ok(Answer::Leave),
        "help" => {
            writeln!(out, "{}", help::overview())?;
            return Ok(Answer::Fine);
        }
        entry => {
            if let Some(topic) = entry.strip_prefix("help ").map(str::trim).filter(|topic| !topic.contains(['(', '=', '.'])) {
                match help::topic_text(topic.trim_matches('"')) {
                    Ok(text) => writeln!(out, "{text}")?,
                    Err(error) => writeln!(out, "{error}; {}", error.hint.as_deref().unwrap_or_default())?,
                }
                return Ok(Answer::Fine);
            }
        }
    }
    let stop = session.context().stop.clone();
    stop.store(false, Ordering::Relaxed);
    let mut written = Ok(());
    let mut result = Answer::Fine;
    let name = session.next_name();
    session.evaluate_each(&name, text, &mut |cell| {
        for shown in &cell.shown {
            written = written
                .as_mut()
                .map_err(|error: &mut io::Error| io::Error::from(error.kind()))
                .and_then(|()| writeln!(out, "{shown}"));
        }
        if let Some(error) = &cell.error {
            let _ = out.flush();
            eprintln!("{}", error.render(colour));
            result = if error.kind == Trouble::Stopped { Answer::Stopped } else { Answer::Failed };
        }
    });
    stop.store(false, Ordering::Relaxed);
    written?;
    out.flush()?;
    Ok(if session.context().left() { Answer::Leave } else { result })
}

fn open_line(session: &Session) -> rustyline::Result<Line> {
    let config = Config::builder()
        .completion_type(CompletionType::List)
        .color_mode(if Colour::for_stderr() == Colour::Yes { ColorMode::Enabled } else { ColorMode::Disabled })
        .build();
    let mut line = Line::with_config(config)?;
    if let Some((columns, _)) = line.dimensions() {
        session.context().set_width(usize::from(columns));
    }
    line.set_helper(Some(Completion { names: session.names() }));
    Ok(line)
}

/// Reads lines until the entry is whole; an empty line ends it in any case.
fn read_entry(line: &mut Line, entries: &Entries) -> rustyline::Result<String> {
    let mut text = line.readline(PROMPT)?;
    while entries.goes_on(&text) {
        let more = line.readline(GOES_ON)?;
        text.push('\n');
        text.push_str(&more);
        if more.trim().is_empty() {
            break;
        }
    }
    Ok(text)
}

fn keep(line: &mut Line, history: Option<&PathBuf>, text: &str) {
    let added = line.add_history_entry(text).unwrap_or(false);
    if let (true, Some(path)) = (added, history) {
        let _ = line.append_history(path); // A history that cannot be written must not stop the work.
    }
}
