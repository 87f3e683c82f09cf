//! The shell: a prompt that reads entries, evaluates them in one session, and shows what they give.
//!
//! Knows the terminal; the script language is reached through `Session`.

mod command; // the shell's own commands
mod complete; // names for the Tab key
pub mod helper; // what the line editor asks while somebody types
mod history; // where old entries are kept
mod lead; // the prompt of lines that go on
pub mod paint; // colors of what is printed
mod piped; // entries from a pipe, without a prompt
mod plot; // a figure in characters
mod repl; // a session, and what was said in it
mod spinner; // a line for work that takes long
pub mod status_line; // the line that reports progress
pub mod terminal; // what the terminal is

pub use piped::{Piped, read_piped};

use crate::script::Session;
use crate::visible::visible;
use helper::Typing;
use history::{History, MOST_ENTRIES};
use repl::{Answer, Arrival, Repl};
use rustyline::error::ReadlineError;
use rustyline::history::MemHistory;
use rustyline::{ColorMode, CompletionType, Config, Editor, EventHandler, KeyCode, KeyEvent, Modifiers};
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// Nobody reads an answer and writes an entry in less time: it was there before.
const QUICKEST: Duration = Duration::from_millis(250);

type Line = Editor<Typing, MemHistory>;

/// Runs the shell until the user leaves. Errors: a terminal that cannot be read or written.
pub fn run(session: &mut Session) -> io::Result<()> {
    let mut line = open_line(session).map_err(io::Error::other)?;
    let history = History::find();
    for entry in history.iter().flat_map(History::load) {
        line.add_history_entry(lead::led(&entry)).map_err(io::Error::other)?;
    }
    println!("hosewright {}: ? lists help by question, ? and a term searches, quit leaves", env!("CARGO_PKG_VERSION"));
    session.context().listen(Box::new(|line| drop(writeln!(io::stdout(), "{}", visible(line)))));
    let mut repl = Repl::new(session, terminal::color());
    let mut typed = String::new();
    loop {
        let ready = Instant::now();
        let begun = lead::led(&std::mem::take(&mut typed));
        match line.readline_with_initial(lead::PROMPT, (&begun, "")).map(|text| lead::plain(&text)) {
            Ok(text) if text.trim().is_empty() => {}
            Ok(text) => {
                keep(&mut line, history.as_ref(), &text);
                fit(&mut line, repl.session);
                let arrival = if ready.elapsed() < QUICKEST { Arrival::Waiting } else { Arrival::Seen };
                if repl.answer(&text, arrival)? == Answer::Leave {
                    return Ok(());
                }
                if arrival == Arrival::Seen {
                    println!(); // Space between entries, unless they were pasted.
                }
                if let Some(typing) = line.helper_mut() {
                    typing.names = repl.session.names();
                }
            }
            Err(ReadlineError::Interrupted) => {}
            Err(ReadlineError::Eof) => return Ok(()),
            // A byte in another encoding: what was typed before it stays.
            Err(ReadlineError::Io(error)) if error.kind() == io::ErrorKind::InvalidData => {
                typed = line.helper().map(Typing::typed).unwrap_or_default();
                eprintln!("\na byte that is not UTF-8 was left out\n  set the terminal to UTF-8, and paste text in UTF-8");
            }
            Err(ReadlineError::Io(error)) => return Err(error),
            Err(error) => return Err(io::Error::other(error)),
        }
    }
}

fn open_line(session: &Session) -> rustyline::Result<Line> {
    let color = terminal::color();
    let config = Config::builder()
        .completion_type(CompletionType::List)
        .max_history_size(MOST_ENTRIES)?
        // The lead of a line is painted without colors too.
        .color_mode(ColorMode::Forced)
        .build();
    let history = MemHistory::with_config(&config);
    let mut line = Line::with_history(config, history)?;
    let context = session.context();
    line.set_helper(Some(Typing::new(session.names(), context.folder.clone(), context.width(), color)));
    // What a terminal sends as the end of a line is Enter, or Ctrl-J.
    for key in [KeyEvent(KeyCode::Enter, Modifiers::NONE), KeyEvent(KeyCode::Char('J'), Modifiers::CTRL)] {
        line.bind_sequence(key, EventHandler::Conditional(Box::new(lead::Enter::default())));
    }
    for key in [KeyEvent(KeyCode::Backspace, Modifiers::NONE), KeyEvent(KeyCode::Char('H'), Modifiers::CTRL)] {
        line.bind_sequence(key, EventHandler::Conditional(Box::new(lead::Backspace)));
    }
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

fn keep(line: &mut Line, history: Option<&History>, text: &str) {
    let added = line.add_history_entry(lead::led(text)).unwrap_or(false);
    if let (true, Some(history)) = (added, history) {
        history.add(text);
    }
}
