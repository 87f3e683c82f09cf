//! Entries from a pipe or a file on standard input: no prompt, no history.

use crate::script::entry::Entries;
use super::{Answer, answer};
use crate::script::Session;
use crate::script::diagnostic::Colour;
use std::io::{self, BufRead};

/// Reads entries until the input ends or one says `quit`. True when every entry was fine.
///
/// Errors: standard input or output that cannot be read or written.
pub fn read_piped(session: &mut Session) -> io::Result<bool> {
    let entries = Entries::default();
    let colour = Colour::for_stderr();
    let mut fine = true;
    let mut text = String::new();
    for line in io::stdin().lock().lines() {
        text.push_str(&line?);
        if entries.goes_on(&text) {
            text.push('\n');
            continue;
        }
        match evaluate(session, &mut text, colour)? {
            Answer::Fine => {}
            Answer::Failed => fine = false,
            Answer::Leave => return Ok(fine),
        }
    }
    Ok(evaluate(session, &mut text, colour)? != Answer::Failed && fine)
}

fn evaluate(session: &mut Session, text: &mut String, colour: Colour) -> io::Result<Answer> {
    let entry = std::mem::take(text);
    if entry.trim().is_empty() { Ok(Answer::Fine) } else { answer(session, &entry, colour) }
}
