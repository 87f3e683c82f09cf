//! Where a file is to be written: a name in a folder that is held open, and whether anything is written at all.

use super::error::{FileError, failed_write};
use super::held::Held;
use std::collections::BTreeMap;
use std::ffi::OsString;
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// A place for a file: a name in a folder that is held open.
#[derive(Clone, Debug)]
pub struct Place {
    pub(super) folder: Arc<Held>,
    pub(super) name: OsString,
    pub(super) path: PathBuf,
    /// Whether a write waits until the disk holds it.
    pub(super) waits: bool,
}

impl Place {
    /// The place of a path that the user gave, wherever it leads. Errors: a folder that is not there.
    pub fn at(path: &Path) -> Result<Place, FileError> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let Some(name) = path.file_name() else { return Err(FileError::BadName { name: path.display().to_string() }) };
        let held = Held::open(folder).map_err(|error| failed_write(path, &error))?;
        Ok(Place { folder: Arc::new(held), name: name.into(), path: path.to_path_buf(), waits: true })
    }

    /// The same for what is soon written again: whole or not at all as ever, but nobody waits for the disk. Should the power fail at
    /// once, the file may be lost.
    pub fn without_waiting(self) -> Place {
        Place { waits: false, ..self }
    }

    /// The path, for messages.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// True when something is there already.
    pub fn is_taken(&self) -> bool {
        self.folder.has(&self.name)
    }
}

/// Set once by a command that only looks.
static WITHHELD: AtomicBool = AtomicBool::new(false);

/// What would have been written while writes are withheld, so that a study reads what it saves.
static WITHHELD_FILES: Mutex<BTreeMap<PathBuf, Vec<u8>>> = Mutex::new(BTreeMap::new());

fn without_dots(path: &Path) -> PathBuf {
    path.components().filter(|part| *part != Component::CurDir).collect()
}

/// Keeps what would have been written to a path.
pub(super) fn keep_withheld(path: &Path, bytes: Vec<u8>) {
    WITHHELD_FILES.lock().unwrap_or_else(PoisonError::into_inner).insert(without_dots(path), bytes);
}

/// What would have been written to a path.
pub(super) fn withheld(path: &Path) -> Option<Vec<u8>> {
    if !writes_are_withheld() {
        return None;
    }
    WITHHELD_FILES.lock().unwrap_or_else(PoisonError::into_inner).get(&without_dots(path)).cloned()
}

/// From now on this process writes no file; a write reports success, and what it wrote is read from memory.
pub fn withhold_writes() {
    WITHHELD.store(true, Ordering::SeqCst);
}

pub(super) fn writes_are_withheld() -> bool {
    WITHHELD.load(Ordering::SeqCst)
}
