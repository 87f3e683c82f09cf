//! Why a file could not be read or written, and what to do about it.

use crate::told::Told;
use std::path::Path;
use thiserror::Error;

/// Why a file could not be read or written.
#[derive(Debug, Error)]
pub enum FileError {
    /// A file was to be read or written under an empty name.
    #[error("the name of the file is empty")]
    NoName,
    /// A name has characters in it that no name of a file should have.
    #[error("'{name}' cannot be the name of a file")]
    BadName {
        /// The name as it was given.
        name: String,
    },
    /// A name leads out of the folder of the script.
    #[error("'{name}' leaves the folder of the script")]
    Outside {
        /// The name as it was given.
        name: String,
    },
    /// The system refused to read or write a file.
    #[error("cannot {action} '{path}': {reason}")]
    Failed {
        /// What was tried, such as `read`.
        action: &'static str,
        /// Path of the file.
        path: String,
        /// What the system said.
        reason: String,
    },
    /// There is no such file, but there are some whose names look like it.
    #[error("cannot read '{path}': no such file or folder")]
    Misspelled {
        /// Path of the file.
        path: String,
        /// The end of a sentence that names those that look like it.
        meant: String,
    },
    /// A file that should be a text is none.
    #[error("cannot read '{path}': it is not a text in UTF-8")]
    NotText {
        /// Path of the file.
        path: String,
    },
}

impl Told for FileError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            FileError::BadName { .. } => "leave out line ends and other invisible characters".into(),
            FileError::NoName => "give a name such as \"feed-length.svg\"".into(),
            FileError::Outside { .. } => {
                "use a plain name or a sub-folder of the script's folder, without '..' or a leading '/'".into()
            }
            FileError::Misspelled { meant, .. } => meant.clone(),
            FileError::Failed { action: "write", .. } => "check that the folder exists, can be written and has room".into(),
            FileError::Failed { .. } | FileError::NotText { .. } => {
                "check the name; file names are relative to the folder of the script".into()
            }
        })
    }
}

pub(super) fn failed_read(path: &Path, error: &std::io::Error) -> FileError {
    FileError::Failed { action: "read", path: path.display().to_string(), reason: plain_reason(error) }
}

pub(super) fn failed_write(path: &Path, error: &std::io::Error) -> FileError {
    FileError::Failed { action: "write", path: path.display().to_string(), reason: plain_reason(error) }
}

/// The reason in words that do not depend on the operating system's numbers.
pub fn plain_reason(error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match error.kind() {
        ErrorKind::NotFound => "no such file or folder".into(),
        ErrorKind::PermissionDenied => "permission denied".into(),
        ErrorKind::IsADirectory => "it is a folder".into(),
        ErrorKind::NotADirectory => "a part of the path is not a folder".into(),
        ErrorKind::StorageFull => "no space left".into(),
        ErrorKind::QuotaExceeded => "no space left for this user".into(),
        ErrorKind::FileTooLarge => "the file would be larger than files may be here".into(),
        ErrorKind::ReadOnlyFilesystem => "the file is read-only".into(),
        ErrorKind::InvalidData => "it is not a text in UTF-8".into(),
        _ => error.to_string(),
    }
}
