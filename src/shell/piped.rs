//! Entries from a pipe or a file on standard input: no prompt, no history.

use super::{Answer, answer};
use crate::script::Session;
use crate::script::diagnostic::Colour;
use crate::script::entry::Entries;
use std::io::{self, BufRead};

/// How entries from a pipe ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piped {
    Fine,
    /// An entry failed; those behind it were evaluated all the same.
    Failed,
    /// Stopped by Ctrl-C.
    Stopped,
}

/// Reads entries until the input ends or one says `quit`.
///
/// Errors: standard input or output that cannot be read or written.
pub fn read_piped(session: &mut Session) -> io::Result<Piped> {
    let entries = Entries::default();
    let colour = Colour::for_stderr();
    let mut ended = Piped::Fine;
    let mut text = String::new();
    for line in io::stdin().lock().lines() {
        text.push_str(&line?);
        if entries.goes_on(&text) {
            text.push('\n');
            continue;
        }
        match evaluate(session, &mut text, colour)? {
            Answer::Fine => {}
            Answer::Failed => ended = Piped::Failed,
            Answer::Stopped => return Ok(Piped::Stopped),
            Answer::Leave => return Ok(ended),
        }
    }
    Ok(match evaluate(session, &mut text, colour)? {
        Answer::Failed => Piped::Failed,
        Answer::Stopped => Piped::Stopped,
        Answer::Fine | Answer::Leave => ended,
    })
}

fn evaluate(session: &mut Session, text: &mut String, colour: Colour) -> io::Result<Answer> {
    let entry = std::mem::take(text);
    if entry.trim().is_empty() { Ok(Answer::Fine) } else { answer(session, &entry, colour) }
}
