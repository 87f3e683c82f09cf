//! Entries from a pipe or a file on standard input: no prompt, no history.

use super::repl::{Answer, Arrival, Repl};
use super::terminal;
use crate::script::Session;
use crate::script::entry::Entries;
use std::io::{self, BufRead};

/// How entries from a pipe ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piped {
    /// All entries went well.
    Fine,
    /// An entry failed; those after it were evaluated all the same.
    Failed,
    /// Stopped by Ctrl-C.
    Stopped,
}

/// Reads entries until the input ends or one says `quit`.
///
/// Errors: standard input or output that cannot be read or written.
pub fn read_piped(session: &mut Session) -> io::Result<Piped> {
    let entries = Entries::default();
    let mut repl = Repl::new(session, terminal::color());
    let mut ended = Piped::Fine;
    let mut text = String::new();
    for line in io::stdin().lock().split(b'\n') {
        let Ok(line) = String::from_utf8(line?) else {
            text.clear();
            repl.refuse("this line is not UTF-8 text, so it was left out", "save the entries as UTF-8")?;
            ended = Piped::Failed;
            continue;
        };
        text.push_str(line.strip_suffix('\r').unwrap_or(&line));
        if entries.goes_on(&text) {
            text.push('\n');
            continue;
        }
        match evaluate(&mut repl, &mut text)? {
            Answer::Fine => {}
            Answer::Failed => ended = Piped::Failed,
            Answer::Stopped => return Ok(Piped::Stopped),
            Answer::Leave => return Ok(ended),
        }
    }
    Ok(match evaluate(&mut repl, &mut text)? {
        Answer::Failed => Piped::Failed,
        Answer::Stopped => Piped::Stopped,
        Answer::Fine | Answer::Leave => ended,
    })
}

fn evaluate(repl: &mut Repl, text: &mut String) -> io::Result<Answer> {
    let entry = std::mem::take(text);
    if entry.trim().is_empty() { Ok(Answer::Fine) } else { repl.answer(&entry, Arrival::Waiting) }
}
