//! Which statement of a study saved which file: no two statements save under one name, or both would show the same file.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The files that the statements of a study saved.
#[derive(Debug, Default)]
pub struct Saves {
    /// Files of the statements before this one, with the line of each.
    before: Mutex<BTreeMap<PathBuf, usize>>,
    /// Files of this statement.
    own: Mutex<BTreeSet<PathBuf>>,
}

impl Saves {
    /// Begins a statement; what those before it saved is given with their lines.
    pub fn begin(&self, before: BTreeMap<PathBuf, usize>) {
        *self.before.lock().unwrap_or_else(PoisonError::into_inner) = before;
        self.own.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// Notes a file that this statement saves. Errors: the line of the statement that saved it before.
    pub fn note(&self, file: &Path) -> Result<(), usize> {
        if let Some(line) = self.before.lock().unwrap_or_else(PoisonError::into_inner).get(file) {
            return Err(*line);
        }
        self.own.lock().unwrap_or_else(PoisonError::into_inner).insert(file.to_path_buf());
        Ok(())
    }

    /// What this statement saved.
    pub fn take(&self) -> BTreeSet<PathBuf> {
        std::mem::take(&mut *self.own.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
