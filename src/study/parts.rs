//! A study divided between several runs: each evaluates its part of every sweep into a file, and the files are joined again.
//!
//! A part is a table `sweep-1-part-003-of-007.parquet` and a note of the same name that ends with `.json`. The note is
//! written last, so a part with a note is whole; a run that finds it goes on at once. It knows nothing of what is swept.

use crate::files::{FileError, Folder, Place, read_bytes, text_of, write_atomically};
use crate::table::{Column, ReadOptions, Table, TableError};
use crate::told::Told;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use thiserror::Error;

/// One part of one sweep.
#[derive(Clone, Debug)]
pub struct PartOfSweep {
    /// The folder in which the parts lie.
    pub folder: PathBuf,
    /// Which sweep of the script, counted from 1.
    pub sweep: usize,
    /// Which part, counted from 1.
    pub part: usize,
    /// How many parts the sweep is cut into.
    pub parts: usize,
    /// Identifies the study, so that parts of two are not mixed.
    pub study: String,
    /// What the run has read besides the study until now.
    pub inputs: Arc<Inputs>,
    /// Cases of the whole sweep.
    pub cases: usize,
}

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

    fn marks(&self) -> BTreeMap<String, String> {
        self.marks.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// True when all these files hold now what they held then.
    fn are_as(&self, then: &BTreeMap<String, String>) -> bool {
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
    fn sealed(self) -> PartNote {
        let open = PartNote { seal: String::new(), ..self };
        let seal = mark_of(serde_json::to_string(&open).unwrap_or_default().as_bytes());
        PartNote { seal, ..open }
    }

    /// The bytes of the table's file; nothing when they are not those noted.
    fn marks(&self, table: Result<Vec<u8>, FileError>) -> Option<Vec<u8>> {
        table.ok().filter(|bytes| mark_of(bytes) == self.table)
    }

    /// The name of the table's file.
    fn table_file(&self) -> String {
        format!("{}.parquet", part_name(self.sweep, self.part, self.parts))
    }

    /// Whatever was read for this part and for another, and was not the same.
    fn differs_from(&self, other: &PartNote) -> Option<String> {
        if self.study != other.study || self.parts != other.parts || self.cases != other.cases {
            return Some("the study".into());
        }
        let mut common = self.inputs.iter().filter_map(|(name, mark)| Some((name, mark, other.inputs.get(name)?)));
        common.find(|(_, ours, theirs)| ours != theirs).map(|(name, ..)| format!("'{name}'"))
    }
}

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

/// Reads `3/7`. Errors: anything else, or a part that there is not.
pub fn read_part(text: &str) -> Result<(usize, usize), PartError> {
    let bad = || PartError::BadPart { text: text.to_string() };
    let (part, parts) = text.split_once('/').ok_or_else(bad)?;
    let (part, parts) = (part.trim().parse().map_err(|_| bad())?, parts.trim().parse().map_err(|_| bad())?);
    if (1..=parts).contains(&part) { Ok((part, parts)) } else { Err(bad()) }
}

impl PartOfSweep {
    /// The cases of this part, in whole blocks of this size.
    pub fn range(&self, block: usize) -> Range<usize> {
        let blocks = self.cases.div_ceil(block) as u128;
        let edge = |part: usize| (blocks * part as u128 / self.parts as u128) as usize * block;
        edge(self.part - 1).min(self.cases)..edge(self.part).min(self.cases)
    }

    /// Where the table of this part belongs.
    pub fn table_path(&self) -> PathBuf {
        self.folder.join(format!("{}.parquet", self.name()))
    }

    /// The place of that table. Errors: a folder that is not there.
    pub fn table_place(&self) -> Result<Place, FileError> {
        Place::at(&self.table_path())
    }

    /// True when this part was finished by an earlier run of the same study.
    pub fn is_finished(&self) -> bool {
        let path = self.note_path();
        let note = read_bytes(&path).map_err(PartError::from).and_then(|bytes| note_of(bytes, &path)).ok();
        let same = |note: &PartNote| note.study == self.study && note.cases == self.cases && self.inputs.are_as(&note.inputs);
        note.is_some_and(|note| same(&note) && note.marks(read_bytes(&self.table_path())).is_some())
    }

    /// Notes that the table is whole. Errors: there is no table, or the note cannot be written.
    pub fn finish(&self, rows: usize, failed: usize, seconds: f64) -> Result<(), PartError> {
        let PartOfSweep { sweep, part, parts, cases, .. } = *self;
        let path = self.table_path();
        let table = mark_of(&read_bytes(&path)?);
        let (study, inputs, seal) = (self.study.clone(), self.inputs.marks(), String::new());
        let note = PartNote { study, sweep, part, parts, cases, rows, failed, seconds, table, inputs, seal };
        let text = serde_json::to_string_pretty(&note.sealed()).unwrap_or_default() + "\n";
        Ok(write_atomically(&Place::at(&self.note_path())?, text.as_bytes())?)
    }

    fn name(&self) -> String {
        part_name(self.sweep, self.part, self.parts)
    }

    fn note_path(&self) -> PathBuf {
        self.folder.join(format!("{}.json", self.name()))
    }
}

/// How the files of a part are called, without their endings.
fn part_name(sweep: usize, part: usize, parts: usize) -> String {
    let width = parts.to_string().len().max(3);
    format!("sweep-{sweep}-part-{part:0width$}-of-{parts:0width$}")
}

/// Whether parts may be missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Demand {
    /// All must be there.
    AllParts,
    /// Those that are there are joined, and those that are missing are reported.
    WhatIsThere,
}

/// The parts of a study to be joined: they lie in a folder below that of the script.
#[derive(Clone, Copy, Debug)]
pub struct Joint<'j> {
    /// The folder of the script.
    pub folder: &'j Folder,
    /// The name of the folder of the parts.
    pub parts: &'j str,
}

impl Joint<'_> {
    /// The name of one of the files, as seen from the script.
    fn file(&self, name: &str) -> String {
        format!("{}/{name}", self.parts)
    }

    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        self.folder.read(&self.file(name))
    }

    /// The folder of the parts, for messages.
    fn shown(&self) -> String {
        self.folder.root().join(self.parts).display().to_string()
    }
}

/// What is noted of the parts in a folder, as it stands there: names of files with their bytes.
pub fn notes_as_read(joint: &Joint) -> Result<Vec<(String, Vec<u8>)>, PartError> {
    let is_note = |name: &String| name.starts_with("sweep-") && name.ends_with(".json");
    let names = joint.folder.names(joint.parts)?.into_iter().filter(is_note);
    names.map(|name| Ok((joint.file(&name), joint.read(&name)?))).collect()
}

/// The tables of all parts of a sweep, joined in order; without a number, of the only sweep there is.
///
/// Errors: no or several sweeps, missing parts, parts of different studies, files that cannot be read.
pub fn gather(joint: &Joint, sweep: Option<usize>, demand: Demand) -> Result<Table, PartError> {
    let shown = || joint.shown();
    let notes = notes(joint)?;
    let mut sweeps: Vec<usize> = notes.iter().map(|note| note.sweep).collect();
    sweeps.dedup();
    let sweep = match (sweep, sweeps.as_slice()) {
        (_, []) => return Err(PartError::NoParts { folder: shown() }),
        (Some(sweep), some) if some.contains(&sweep) => sweep,
        (Some(sweep), _) => return Err(PartError::NoSweep { folder: shown(), sweep }),
        (None, [one]) => *one,
        (None, some) => {
            let sweeps = some.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
            return Err(PartError::SeveralSweeps { folder: shown(), sweeps });
        }
    };
    let notes: Vec<PartNote> = notes.into_iter().filter(|note| note.sweep == sweep).collect();
    let first = &notes[0];
    for (place, note) in notes.iter().enumerate() {
        // Not all parts need have read the same files, so each is compared with all before it.
        let other = notes[..place].iter().find_map(|before| Some((before.part, note.differs_from(before)?)));
        if let Some((first, what)) = other {
            return Err(PartError::OtherStudy { sweep, part: note.part, first, what });
        }
    }
    let mut tables = Vec::with_capacity(notes.len());
    let mut missing: Vec<usize> = (1..=first.parts).collect();
    let mut damaged = false;
    for note in &notes {
        let file = note.table_file();
        match note.marks(joint.read(&file)) {
            Some(bytes) => {
                tables.push(Table::from_bytes(Path::new(&file), bytes, &ReadOptions::default())?.0);
                missing.retain(|part| *part != note.part);
            }
            None => damaged = true,
        }
    }
    let needed = demand == Demand::AllParts || tables.is_empty();
    if let (Some(least), true) = (missing.first(), needed) {
        let which = missing.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
        let state = if damaged { "missing or damaged" } else { "missing" };
        return Err(PartError::Missing { missing: missing.len(), state, parts: first.parts, which, first: *least });
    }
    let table = Table::stacked(&tables)?;
    let empty = table.names().iter().any(|name| name == "reason") && table.is_all_missing("reason")?;
    Ok(if empty && table.rows() > 0 { table.without(&["reason"])? } else { table })
}

/// What is there of every part: a row each, with failed and missing ones.
pub fn report(joint: &Joint) -> Result<Table, PartError> {
    let notes = notes(joint)?;
    if notes.is_empty() {
        return Err(PartError::NoParts { folder: joint.shown() });
    }
    let (mut rows, mut states) = (Vec::new(), Vec::new());
    let mut sweeps: Vec<(usize, usize)> = notes.iter().map(|note| (note.sweep, note.parts)).collect();
    sweeps.dedup();
    for (sweep, parts) in sweeps {
        for part in 1..=parts {
            let note = notes.iter().find(|note| (note.sweep, note.part, note.parts) == (sweep, part, parts));
            let failure = joint.folder.read_text(&joint.file(&failure_file(part, parts))).ok();
            states.push(match (note, failure) {
                (Some(note), _) if note.marks(joint.read(&note.table_file())).is_none() => "damaged".to_string(),
                (Some(_), _) => "done".to_string(),
                (None, Some(reason)) => format!("failed: {}", reason.trim()),
                (None, None) => "missing".to_string(),
            });
            rows.push((sweep, part, note));
        }
    }
    let of = |name: &str, value: fn(&PartNote) -> f64| {
        Column::numbers(name, rows.iter().map(|(_, _, note)| note.map_or(f64::NAN, value)))
    };
    Ok(Table::new(vec![
        Column::numbers("sweep", rows.iter().map(|row| row.0 as f64)),
        Column::numbers("part", rows.iter().map(|row| row.1 as f64)),
        Column::texts("state", states),
        of("cases", |note| note.rows as f64),
        of("failed", |note| note.failed as f64),
        of("seconds", |note| note.seconds),
    ])?)
}

/// Notes why a run of a part failed, or takes such a note away. Errors: the note cannot be written.
pub fn note_failure(folder: &Path, part: usize, parts: usize, reason: Option<&str>) -> Result<(), PartError> {
    let path = folder.join(failure_file(part, parts));
    match reason {
        Some(reason) => Ok(write_atomically(&Place::at(&path)?, reason.as_bytes())?),
        None => {
            let _ = std::fs::remove_file(path); // There need not be one.
            Ok(())
        }
    }
}

fn failure_file(part: usize, parts: usize) -> String {
    format!("part-{part}-of-{parts}.failed")
}

/// All notes of a folder, by sweep and part.
fn notes(joint: &Joint) -> Result<Vec<PartNote>, PartError> {
    let read = notes_as_read(joint)?.into_iter().map(|(name, bytes)| note_of(bytes, &joint.folder.root().join(name)));
    let mut notes: Vec<PartNote> = read.collect::<Result<_, _>>()?;
    notes.sort_by_key(|note| (note.sweep, note.parts, note.part));
    Ok(notes)
}

/// The note that these bytes of a file are; the path is for messages.
fn note_of(bytes: Vec<u8>, path: &Path) -> Result<PartNote, PartError> {
    let bad = |reason: String| PartError::BadNote { path: path.display().to_string(), reason };
    let note: PartNote = serde_json::from_str(&text_of(bytes, path)?).map_err(|error| bad(error.to_string()))?;
    if note.clone().sealed() == note { Ok(note) } else { Err(bad("it was changed after it was saved".into())) }
}

/// A short mark of a text or a file, the same on every machine: the beginning of its SHA-256 (FIPS 180-4).
pub fn mark_of(bytes: &[u8]) -> String {
    let hash = Sha256::digest(bytes);
    hash[..8].iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn part(part: usize, parts: usize, cases: usize) -> PartOfSweep {
        PartOfSweep {
            folder: ".".into(),
            sweep: 1,
            part,
            parts,
            study: String::new(),
            inputs: Arc::new(Inputs::of(&Folder::new("."))),
            cases,
        }
    }

    proptest! {
        #[test]
        fn parts_follow_each_other_in_whole_blocks_and_leave_nothing_out(
            cases in 0usize..5000, parts in 1usize..20, block in 1usize..600,
        ) {
            let mut next = 0;
            for number in 1..=parts {
                let range = part(number, parts, cases).range(block);
                prop_assert_eq!(range.start, next);
                prop_assert!(range.start.is_multiple_of(block) || range.start == cases);
                next = range.end;
            }
            prop_assert_eq!(next, cases);
        }
    }

    #[test]
    fn parts_are_read_and_nonsense_is_refused() {
        assert_eq!(read_part("3/7").ok(), Some((3, 7)));
        for bad in ["0/7", "8/7", "3", "a/b", "", "-1/3", "1/0"] {
            assert!(read_part(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn the_mark_of_a_text_is_that_of_the_published_hash() {
        // The example of FIPS 180-4, and the well-known hash of nothing.
        assert_eq!(mark_of(b""), "e3b0c44298fc1c14");
        assert_eq!(mark_of(b"abc"), "ba7816bf8f01cfea");
    }
}
