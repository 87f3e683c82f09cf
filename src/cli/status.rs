//! How the program ends.

use crate::script::diagnostic::{Diagnostic, Trouble};
use crate::shell::terminal;
use std::io::{self, Write};
use std::sync::atomic::AtomicBool;

/// How the program ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// All went well.
    Fine,
    /// A script or an entry failed.
    ScriptError,
    /// The command line was not understood.
    Usage,
    /// A file could not be read or written.
    FileProblem,
    /// Somebody pressed Ctrl-C.
    Interrupted,
}

impl Status {
    /// The exit code.
    pub fn code(self) -> u8 {
        match self {
            Status::Fine => 0,
            Status::ScriptError => 1,
            Status::Usage => 2,
            Status::FileProblem => 3,
            Status::Interrupted => 130,
        }
    }

    /// Of two outcomes the one that says more: a stop before everything else, and anything before none.
    pub fn graver(self, other: Status) -> Status {
        if other == Status::Interrupted || self == Status::Fine { other } else { self }
    }
}

pub fn status_of(error: &Diagnostic) -> Status {
    if error.kind == Trouble::Stopped { Status::Interrupted } else { Status::ScriptError }
}

/// Somebody pressed Ctrl-C.
pub static INTERRUPTED: AtomicBool = AtomicBool::new(false);

pub fn say_error(error: &Diagnostic) -> Status {
    let _ = writeln!(io::stderr(), "{}", error.render_within(terminal::color(), terminal::columns()));
    status_of(error)
}
