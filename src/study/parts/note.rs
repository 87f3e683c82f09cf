//! What is noted of a finished part, and the marks by which files are known again.

use super::error::PartError;
use super::names::part_name;
use crate::files::{FileError, Folder, read_in_pieces, text_of};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// Imports and files that a run reads, each with the mark of what stood in it.
#[derive(Debug)]
pub struct Inputs {
    /// Where the names are looked up.
    folder: Folder,
    /// True in a run of one part; nobody asks in others.
    begun: AtomicBool,
    marks: Mutex<BTreeMap<String, String>>,
}

impl Inputs {
    /// No inputs yet; their names are looked up in that folder.
    pub fn of(folder: &Folder) -> Inputs {
        Inputs { folder: folder.clone(), begun: AtomicBool::new(false), marks: Mutex::default() }
    }

    /// From now on inputs are noted.
    pub fn begin(&self) {
        self.begun.store(true, Ordering::Relaxed);
    }

    /// Notes what stood in a file. Errors: something else stood there before in the same run.
    pub fn note(&self, name: &str, bytes: &[u8]) -> Result<(), PartError> {
        if !self.begun.load(Ordering::Relaxed) {
            return Ok(());
        }
        let mark = mark_of(bytes);
        let mut marks = self.marks.lock().unwrap_or_else(PoisonError::into_inner);
        match marks.insert(name.to_string(), mark.clone()) {
            Some(before) if before != mark => Err(PartError::Changing { file: name.to_string() }),
            _ => Ok(()),
        }
    }

    pub(super) fn marks(&self) -> BTreeMap<String, String> {
        self.marks.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// True when all these files hold now what they held then.
    pub(super) fn are_as(&self, then: &BTreeMap<String, String>) -> bool {
        let now = |name: &String| self.folder.read(name).ok().map(|bytes| mark_of(&bytes));
        then.iter().all(|(name, mark)| now(name).as_ref() == Some(mark))
    }
}

/// What is noted of a finished part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartNote {
    /// Mark of the study, by which parts of another are recognized.
    pub study: String,
    /// Which sweep of the script, counted from 1.
    pub sweep: usize,
    /// Which part, counted from 1.
    pub part: usize,
    /// How many parts the sweep is cut into.
    pub parts: usize,
    /// Cases of the whole sweep.
    pub cases: usize,
    /// Cases of this part.
    pub rows: usize,
    /// Cases of this part that failed.
    pub failed: usize,
    /// How long the part took, s.
    pub seconds: f64,
    /// Mark of the table's file; one with another mark is damaged.
    pub table: String,
    /// Imports and files that had been read when the part was finished, each with the mark of what stood in it.
    pub inputs: BTreeMap<String, String>,
    /// Mark of this note without this line.
    pub seal: String,
}

impl PartNote {
    /// The note with its seal.
    pub(super) fn sealed(self) -> PartNote {
        let open = PartNote { seal: String::new(), ..self };
        let seal = mark_of(serde_json::to_string(&open).unwrap_or_default().as_bytes());
        PartNote { seal, ..open }
    }

    /// The bytes of the table's file; nothing when they are not those noted.
    pub(super) fn marks(&self, table: Result<Vec<u8>, FileError>) -> Option<Vec<u8>> {
        table.ok().filter(|bytes| mark_of(bytes) == self.table)
    }

    /// The name of the table's file.
    pub(super) fn table_file(&self) -> String {
        format!("{}.parquet", part_name(self.sweep, self.part, self.parts))
    }

    /// True where another part is one of the same division of the same study.
    pub(super) fn is_of_study(&self, other: &PartNote) -> bool {
        self.study == other.study && self.parts == other.parts && self.cases == other.cases
    }
}

/// A time in whole milliseconds, s. With all its digits it may come back from a text another in the last of them, and the seal would no
/// longer fit.
pub(super) fn whole_milliseconds(seconds: f64) -> f64 {
    (seconds * 1e3).round() / 1e3
}

/// The note that these bytes of a file are; the path is for messages.
pub(super) fn note_of(bytes: Vec<u8>, path: &Path) -> Result<PartNote, PartError> {
    let bad = |reason: String| PartError::BadNote { path: path.display().to_string(), reason };
    let note: PartNote = serde_json::from_str(&text_of(bytes, path)?).map_err(|error| bad(error.to_string()))?;
    if note.clone().sealed() == note { Ok(note) } else { Err(bad("it was changed after it was saved".into())) }
}

/// A short mark of a text or a file, the same on every machine: the beginning of its SHA-256 (FIPS 180-4).
pub fn mark_of(bytes: &[u8]) -> String {
    shown(Sha256::new_with_prefix(bytes))
}

/// The mark of a file, which is read piece by piece. Errors: it cannot be read.
pub(super) fn mark_of_file(path: &Path) -> Result<String, FileError> {
    let mut hash = Sha256::new();
    read_in_pieces(path, |bytes| hash.update(bytes))?;
    Ok(shown(hash))
}

fn shown(hash: Sha256) -> String {
    hash.finalize()[..8].iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_reads_back_as_it_was_saved_whatever_time_its_part_took() {
        for step in 0..20_000u32 {
            let seconds = whole_milliseconds(f64::from(step) * 0.731_834_217_653);
            let note = PartNote {
                study: "s".into(),
                sweep: 1,
                part: 1,
                parts: 1,
                cases: 1,
                rows: 1,
                failed: 0,
                seconds,
                table: "t".into(),
                inputs: BTreeMap::new(),
                seal: String::new(),
            };
            let text = serde_json::to_string(&note.sealed()).expect("a text");
            assert_eq!(note_of(text.into_bytes(), Path::new("note")).expect("as it was").seconds, seconds);
        }
    }

    #[test]
    fn the_mark_of_a_text_is_that_of_the_published_hash() {
        // The example of FIPS 180-4, and the well-known hash of nothing.
        assert_eq!(mark_of(b""), "e3b0c44298fc1c14");
        assert_eq!(mark_of(b"abc"), "ba7816bf8f01cfea");
    }
}
