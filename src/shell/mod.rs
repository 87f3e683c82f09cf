//! The shell: a prompt that reads entries, evaluates them in one session, and shows what they give.
//!
//! Knows the terminal; the script language is behind `Session`.

mod command; // the shell's own words
mod complete; // names for the Tab key
mod desk; // a session, and what was said in it
pub mod helper; // what the line editor asks while somebody types
mod history; // where old entries are kept
mod piped; // entries from a pipe, without a prompt
mod plot; // a figure in characters
mod waiting; // a line for work that takes long

pub use piped::{Piped, read_piped};

use crate::script::Session;
use crate::script::diagnostic::Colour;
use desk::{Answer, Arrival, Desk};
use helper::Typing;
use rustyline::error::ReadlineError;
use rustyline::history::DefaultHistory;
use rustyline::{ColorMode, CompletionType, Config, Editor};
use std::io::{self, Write};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// The prompt.
const PROMPT: &str = "plot> ";

/// Nobody reads an answer and writes an entry in less time: it was there before.
const QUICKEST: Duration = Duration::from_millis(250);

type Line = Editor<Typing, DefaultHistory>;

/// Runs the shell until the user leaves. Errors: a terminal that cannot be read or written.
pub fn run(session: &mut Session) -> io::Result<()> {
    let mut line = open_line(session).map_err(io::Error::other)?;
    let history = history::file();
    if let Some(path) = &history {
        let _ = line.load_history(path); // The first time there is none.
    }
    println!("hosewright {}: type help for the words, quit to leave", env!("CARGO_PKG_VERSION"));
    session.context().listen(Box::new(|line| drop(writeln!(io::stdout(), "{line}"))));
    let mut desk = Desk::new(session, Colour::for_stderr());
    loop {
        let ready = Instant::now();
        match line.readline(PROMPT) {
            Ok(text) if text.trim().is_empty() => {}
            Ok(text) => {
                keep(&mut line, history.as_ref(), &text);
                fit(&mut line, desk.session);
                let arrival = if ready.elapsed() < QUICKEST { Arrival::Waiting } else { Arrival::Seen };
                if desk.answer(&text, arrival)? == Answer::Leave {
                    return Ok(());
                }
                if let Some(typing) = line.helper_mut() {
                    typing.names = desk.session.names();
                }
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => return Ok(()),
            Err(ReadlineError::Io(error)) => return Err(error),
            Err(error) => return Err(io::Error::other(error)),
        }
    }
}

fn open_line(session: &Session) -> rustyline::Result<Line> {
    let colour = Colour::for_stderr();
    let config = Config::builder()
        .completion_type(CompletionType::List)
        .color_mode(if colour == Colour::Yes { ColorMode::Enabled } else { ColorMode::Disabled })
        .build();
    let mut line = Line::with_config(config)?;
    let context = session.context();
    line.set_helper(Some(Typing::new(session.names(), context.folder.clone(), context.width(), colour)));
    fit(&mut line, session);
    Ok(line)
}

/// Takes the width of the terminal, which may have changed.
fn fit(line: &mut Line, session: &Session) {
    let Some((columns, _)) = line.dimensions() else { return };
    session.context().set_width(usize::from(columns));
    if let Some(typing) = line.helper_mut() {
        typing.columns = usize::from(columns);
    }
}

fn keep(line: &mut Line, history: Option<&PathBuf>, text: &str) {
    let added = line.add_history_entry(text).unwrap_or(false);
    if let (true, Some(path)) = (added, history) {
        let _ = line.append_history(path); // A history that cannot be written must not stop the work.
    }
}
