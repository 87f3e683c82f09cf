//! One part of a sweep: its cases, where its files lie, whether it is finished.

use super::error::PartError;
use super::names::{failure_file, part_name};
use super::note::{Inputs, PartNote, mark_of_file, note_of, whole_milliseconds};
use crate::files::{FileError, Place, read_bytes, write_atomically};
use crate::study::sweep::Written;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
        note.is_some_and(|note| same(&note) && mark_of_file(&self.table_path()).is_ok_and(|mark| mark == note.table))
    }

    /// Notes that the table is whole. Errors: there is no table, or the note cannot be written.
    pub fn finish(&self, written: Written, seconds: f64) -> Result<(), PartError> {
        let PartOfSweep { sweep, part, parts, cases, .. } = *self;
        let Written { cases: rows, failed } = written;
        let table = mark_of_file(&self.table_path())?;
        let (study, inputs, seal) = (self.study.clone(), self.inputs.marks(), String::new());
        let seconds = whole_milliseconds(seconds);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
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
}
