//! A file that a script wrote, as a value that shows what became of it.

use crate::quantity::with_commas;
use std::fmt;

/// What became of a file that a script was to write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Saved {
    /// It was written.
    File(String),
    /// It was written with the cases of a sweep.
    Cases {
        /// Name of the file.
        file: String,
        /// How many cases were written.
        cases: usize,
    },
    /// It was left out: this run has only a part of its tables.
    LeftOut {
        /// Name of the file.
        file: String,
        /// Which part the run makes, counted from 1.
        part: usize,
        /// How many parts there are.
        parts: usize,
    },
}

impl fmt::Display for Saved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Saved::File(file) => write!(f, "saved {file}"),
            Saved::Cases { file, cases } => write!(f, "saved {file}: {} cases", with_commas(*cases)),
            Saved::LeftOut { file, part, parts } => write!(f, "left out {file}: this run is part {part} of {parts}"),
        }
    }
}
