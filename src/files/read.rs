//! What is read: regular files that fit into the memory an evaluation may use.
//!
//! What scripts name is read by way of [`Folder`](super::Folder), which stays inside itself; here is what follows the path that the
//! user gave.

use super::error::{FileError, plain_reason};
use super::held::open_regular;
use crate::limits;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

/// Bytes read between two looks at the stop flag.
const AT_ONCE_BYTES: usize = 4 << 20;
/// Bytes of a piece of a file that is read in pieces.
const PIECE_BYTES: usize = 1 << 18;

/// Reads a file whole.
///
/// Errors: it cannot be read, is no regular file, or holds more than may be used of the memory.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, FileError> {
    bytes_of(open_regular(path), path)
}

/// Reads a regular file whole that was opened; the path is for messages. Errors: as [`read_bytes`].
pub(super) fn bytes_of(file: io::Result<File>, path: &Path) -> Result<Vec<u8>, FileError> {
    let failed = |reason: String| FileError::Failed { action: "read", path: path.display().to_string(), reason };
    let sized = file.and_then(|file| Ok((file.metadata()?.len(), file)));
    let (size, file) = sized.map_err(|error| failed(plain_reason(&error)))?;
    let size = usize::try_from(size).unwrap_or(usize::MAX);
    let stopped = |_| failed("it does not fit into the memory limit, or the evaluation was stopped".into());
    limits::room_for(size).map_err(stopped)?;
    let mut bytes = Vec::new();
    bytes.try_reserve_exact(size).map_err(|_| failed("it does not fit into the memory".into()))?;
    // A file that grows meanwhile is read as long as it was.
    let mut rest = file.take(size as u64);
    while rest.by_ref().take(AT_ONCE_BYTES as u64).read_to_end(&mut bytes).map_err(|error| failed(plain_reason(&error)))? > 0 {
        limits::go_on().map_err(stopped)?;
    }
    Ok(bytes)
}

/// Reads a file in pieces, each of which `take` sees, in the memory of one. Errors: as [`read_bytes`].
pub fn read_in_pieces(path: &Path, mut take: impl FnMut(&[u8])) -> Result<(), FileError> {
    let failed = |reason: String| FileError::Failed { action: "read", path: path.display().to_string(), reason };
    let mut file = open_regular(path).map_err(|error| failed(plain_reason(&error)))?;
    let mut piece = vec![0; PIECE_BYTES];
    loop {
        match file.read(&mut piece) {
            Ok(0) => return Ok(()),
            Ok(read) => take(&piece[..read]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(failed(plain_reason(&error))),
        }
        limits::go_on().map_err(|_| failed("the evaluation was stopped".into()))?;
    }
}

/// Reads a text file, without the mark that some editors put at its start.
///
/// Errors: those of [`read_bytes`]; it is not a text in UTF-8.
pub fn read_text(path: &Path) -> Result<String, FileError> {
    text_of(read_bytes(path)?, path)
}

/// The text that the bytes of a file are, without the mark that some editors put at its start.
///
/// Errors: it is not a text in UTF-8.
pub fn text_of(bytes: Vec<u8>, path: &Path) -> Result<String, FileError> {
    let text = String::from_utf8(bytes).map_err(|_| not_text(path))?;
    Ok(text.strip_prefix('\u{feff}').map(String::from).unwrap_or(text))
}

/// Reads a text that somebody names at the command line, to its end: a pipe may be meant there. Errors: as [`read_text`].
pub fn read_text_or_pipe(path: &Path) -> Result<String, FileError> {
    if fs::metadata(path).is_ok_and(|kind| kind.is_file() || kind.is_dir()) {
        return read_text(path);
    }
    fs::read_to_string(path).map_err(|error| match error.kind() {
        io::ErrorKind::InvalidData => not_text(path),
        _ => FileError::Failed { action: "read", path: path.display().to_string(), reason: plain_reason(&error) },
    })
}

fn not_text(path: &Path) -> FileError {
    FileError::NotText { path: path.display().to_string() }
}

#[cfg(test)]
mod tests {
    use super::super::held::NOT_REGULAR;
    use super::*;
    use crate::limits::{Budget, Limits};
    use std::sync::Arc;

    #[test]
    fn a_file_larger_than_the_memory_that_may_be_used_is_not_begun() {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("large.csv");
        // It takes no room on the disk.
        File::create(&path).and_then(|file| file.set_len(6_000_000_000)).expect("a file");
        let budget = Budget::new(Arc::default());
        budget.set_limits(Limits { time: None, memory_bytes: Some(2_000_000_000) });
        let _inside = budget.enter();
        let error = read_bytes(&path).unwrap_err();
        assert!(error.to_string().contains("does not fit into the memory"), "{error}");
    }

    #[cfg(unix)]
    #[test]
    fn pipes_and_devices_are_refused_at_once() {
        let home = tempfile::tempdir().expect("a folder");
        let pipe = home.path().join("pipe.csv");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status().expect("mkfifo");
        assert!(made.success());
        for path in [pipe.as_path(), Path::new("/dev/zero"), Path::new("/dev/tty")] {
            let error = read_text(path).unwrap_err();
            assert!(error.to_string().ends_with(NOT_REGULAR), "{error}");
        }
        assert!(read_text(home.path()).unwrap_err().to_string().ends_with("it is a folder"));
    }
}
