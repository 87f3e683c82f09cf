//! Why parts could not be written or joined.

use crate::files::FileError;
use crate::table::TableError;
use crate::told::Told;
use thiserror::Error;

/// Why parts could not be written or joined.
#[derive(Debug, Error)]
pub enum PartError {
    /// A text is not a part such as `3/7`.
    #[error("'{text}' is not a valid part, such as 3/7")]
    BadPart {
        /// The text as it was given.
        text: String,
    },
    /// A folder has no part of any study in it.
    #[error("'{folder}' holds no parts of a study")]
    NoParts {
        /// Name of the folder.
        folder: String,
    },
    /// A folder holds parts of several sweeps, and none was named.
    #[error("'{folder}' holds the sweeps {sweeps}")]
    SeveralSweeps {
        /// Name of the folder.
        folder: String,
        /// Numbers of the sweeps, in words.
        sweeps: String,
    },
    /// A folder holds no part of the sweep that was named.
    #[error("there is no sweep {sweep} in '{folder}'")]
    NoSweep {
        /// Name of the folder.
        folder: String,
        /// Number of the sweep, counted from 1.
        sweep: usize,
    },
    /// Parts are missing or damaged, and all were asked for.
    #[error("{missing} of {parts} parts are {state}: {which}")]
    Missing {
        /// How many are.
        missing: usize,
        /// What they are, in words.
        state: &'static str,
        /// How many parts the sweep is cut into.
        parts: usize,
        /// Numbers of these parts, in words.
        which: String,
        /// Number of the first of them, counted from 1.
        first: usize,
    },
    /// Two parts were made by different states of the study.
    #[error(
        "parts {first} and {part} of sweep {sweep} were made from different versions of the study: {what} was changed between them"
    )]
    OtherStudy {
        /// Number of the sweep, counted from 1.
        sweep: usize,
        /// The part that differs, counted from 1.
        part: usize,
        /// The part with which it was compared, counted from 1.
        first: usize,
        /// What was changed, in words.
        what: String,
    },
    /// A file that the study reads had other contents when it was read again for the same part.
    #[error("'{file}' was changed while this part ran")]
    Changing {
        /// Name of the file.
        file: String,
    },
    /// The note beside a part is damaged or of another format.
    #[error("the record file of a part, '{path}', cannot be read: {reason}")]
    BadNote {
        /// Path of the note.
        path: String,
        /// What is wrong with it, in words.
        reason: String,
    },
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// The tables of the parts could not be read or joined.
    #[error(transparent)]
    Table(#[from] TableError),
}

impl Told for PartError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            PartError::BadPart { .. } => "write --part 3/7 for the third of seven parts".into(),
            PartError::NoParts { .. } => "make them with: hosewright run STUDY --part 1/4 --out FOLDER".into(),
            PartError::SeveralSweeps { .. } => "choose one, as in gather(\"parts\", 1)".into(),
            PartError::NoSweep { .. } => "gather_report(\"parts\") lists them".into(),
            PartError::Missing { parts, first, .. } => format!(
                "run each again, as in --part {first}/{parts}; gather_report(...) gives the reasons, gather_present(...) ignores missing parts"
            ),
            PartError::OtherStudy { .. } => "rerun the parts that were made before the change".into(),
            PartError::Changing { .. } => "rerun that part when the file no longer changes".into(),
            PartError::BadNote { .. } => "rerun that part".into(),
            PartError::File(error) => return error.hint(),
            PartError::Table(error) => return error.hint(),
        })
    }
}
