//! Writing files so that nothing is lost, and keeping scripts inside their own folder.
//!
//! Knows nothing of what the files hold. What is read is in `read`.

mod read;

pub use read::{read_bytes, read_text, read_text_or_pipe, text_of};

use std::fs;
use std::io::Write;
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use thiserror::Error;

/// Why a file could not be read or written.
#[derive(Debug, Error)]
pub enum FileError {
    #[error("the name of the file is empty")]
    NoName,
    #[error("'{name}' cannot be the name of a file")]
    BadName { name: String },
    #[error("'{name}' leaves the folder of the script")]
    Outside { name: String },
    #[error("cannot {action} '{path}': {reason}")]
    Failed { action: &'static str, path: String, reason: String },
}

impl FileError {
    /// What to do about it.
    pub fn hint(&self) -> String {
        match self {
            FileError::BadName { .. } => "leave out line ends and other signs that cannot be seen".into(),
            FileError::NoName => "give a name such as \"feed-length.svg\"".into(),
            FileError::Outside { .. } => {
                "use a plain name or a sub-folder of the script's folder, without '..' or a leading '/'".into()
            }
            FileError::Failed { action: "write", .. } => "check that the folder exists, can be written and has room".into(),
            FileError::Failed { .. } => "check the name; file names are looked up beside the script".into(),
        }
    }
}

/// The folder a script may read from and write to.
#[derive(Clone, Debug)]
pub struct Folder {
    root: PathBuf,
}

impl Folder {
    /// The folder at `root`, which need not exist yet.
    pub fn new(root: impl Into<PathBuf>) -> Folder {
        let root = root.into();
        Folder { root: if root.as_os_str().is_empty() { PathBuf::from(".") } else { root } }
    }

    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The path of a file in this folder.
    ///
    /// Errors: an empty name, an absolute path, a `..`, or a link that leads outside are refused.
    pub fn file(&self, name: &str) -> Result<PathBuf, FileError> {
        if name.trim().is_empty() {
            return Err(FileError::NoName);
        }
        if name.contains(char::is_control) {
            return Err(FileError::BadName { name: name.escape_debug().to_string() });
        }
        let outside = || FileError::Outside { name: name.to_string() };
        let relative = Path::new(name);
        if relative.components().any(|part| !matches!(part, Component::Normal(_) | Component::CurDir)) {
            return Err(outside());
        }
        let path = self.root.join(relative);
        // A link inside the folder must not lead out of it: compare what exists of the path with the real folder.
        let real_root = self.root.canonicalize().unwrap_or_else(|_| self.root.clone());
        let existing = path.ancestors().find_map(|ancestor| ancestor.canonicalize().ok());
        if existing.is_some_and(|real| !real.starts_with(&real_root) && !real_root.starts_with(&real)) {
            return Err(outside());
        }
        Ok(path)
    }
}

/// Set once by a command that only looks.
static WITHHELD: AtomicBool = AtomicBool::new(false);

/// From now on this process writes no file; whoever writes is told that all went well.
pub fn withhold_writes() {
    WITHHELD.store(true, Ordering::SeqCst);
}

/// Writes a file whole or not at all: an old file of that name survives a failed write.
///
/// Errors: [`FileError::Failed`] with the reason of the operating system.
pub fn write_atomically(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    if WITHHELD.load(Ordering::SeqCst) {
        return Ok(());
    }
    let mut file = Unfinished::begin(path)?;
    file.write_all(bytes).map_err(|error| failed_write(path, &error))?;
    file.finish()
}

/// A file that is being written beside its place, and put there when it is whole; dropped before, it leaves nothing.
pub struct Unfinished {
    file: tempfile::NamedTempFile,
    path: PathBuf,
}

impl Unfinished {
    /// Begins a file for that place. Errors: the folder cannot be written.
    pub fn begin(path: &Path) -> Result<Unfinished, FileError> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file = tempfile::Builder::new().prefix(".hosewright-").tempfile_in(folder);
        Ok(Unfinished { file: file.map_err(|error| failed_write(path, &error))?, path: path.to_path_buf() })
    }

    /// Puts the file in its place. Errors: the reason of the operating system.
    pub fn finish(mut self) -> Result<(), FileError> {
        if WITHHELD.load(Ordering::SeqCst) {
            return Ok(());
        }
        let path = &self.path;
        self.file.flush().map_err(|error| failed_write(path, &error))?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(path).map_or(0o644, |old| old.permissions().mode());
            let set = self.file.as_file().set_permissions(fs::Permissions::from_mode(mode));
            set.map_err(|error| failed_write(path, &error))?;
        }
        self.file.persist(path).map_err(|error| failed_write(path, &error.error))?;
        Ok(())
    }
}

impl Write for Unfinished {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.file.flush()
    }
}

fn failed_write(path: &Path, error: &std::io::Error) -> FileError {
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
        ErrorKind::InvalidData => "it is not a text in UTF-8".into(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_that_leave_the_folder_are_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let folder = Folder::new(home.path());
        for bad in ["../x.csv", "/etc/passwd", "a/../../x", ""] {
            assert!(folder.file(bad).is_err(), "{bad}");
        }
        assert!(folder.file("tables/x.csv").is_ok());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_outside_is_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let elsewhere = tempfile::tempdir().expect("a folder");
        std::os::unix::fs::symlink(elsewhere.path(), home.path().join("way-out")).expect("a link");
        assert!(Folder::new(home.path()).file("way-out/x.csv").is_err());
    }

    #[test]
    fn an_old_file_survives_a_failed_write() {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("keep.txt");
        write_atomically(&path, b"old").expect("the first write");
        assert!(write_atomically(&home.path().join("no-such-folder/keep.txt"), b"new").is_err());
        assert_eq!(read_text(&path).expect("still there"), "old");
        write_atomically(&path, b"new").expect("the second write");
        assert_eq!(read_text(&path).expect("replaced"), "new");
    }
}
