//! The parts of a study joined again: all in one table, or one after another.

use super::error::PartError;
use super::names::failure_file;
use super::note::{PartNote, note_of};
use crate::files::{FileError, Folder};
use crate::table::{Column, REASON, ReadOptions, Table, Values};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

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

/// The parts of one sweep that are noted, which belong together.
pub struct Gathering<'j> {
    joint: Joint<'j>,
    /// The notes of the parts, in order.
    notes: Vec<PartNote>,
}

impl<'j> Gathering<'j> {
    /// The parts of a sweep; without a number, of the only sweep there is.
    ///
    /// Errors: no or several sweeps, parts of different studies, files that cannot be read.
    pub fn of(joint: Joint<'j>, sweep: Option<usize>) -> Result<Gathering<'j>, PartError> {
        let shown = || joint.shown();
        let notes = notes(&joint)?;
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
        one_study(sweep, &notes)?;
        Ok(Gathering { joint, notes })
    }

    /// How many parts are noted.
    pub fn noted(&self) -> usize {
        self.notes.len()
    }

    /// The table of a part, by its place among those that are noted; none where it is missing or damaged. All parts have a column of reasons
    /// where a case of any part failed, and no part has one elsewhere.
    ///
    /// Errors: the table cannot be made.
    pub fn table(&self, place: usize) -> Result<Option<Table>, PartError> {
        let file = self.notes[place].table_file();
        let Some(bytes) = self.notes[place].marks(self.joint.read(&file)) else { return Ok(None) };
        let table = Table::from_bytes(Path::new(&file), bytes, &ReadOptions::default())?.0;
        let (has, needs) = (table.names().iter().any(|name| name == REASON), self.notes.iter().any(|note| note.failed > 0));
        Ok(Some(match (has, needs) {
            (true, false) => table.without(&[REASON])?,
            (false, true) => {
                let none = Values::Texts(vec![None; table.rows()]);
                table.with(Column { name: REASON.into(), values: none })?
            }
            _ => table,
        }))
    }

    /// The error that parts are missing, where any is: those that are not noted and these, by their places.
    pub fn complete(&self, damaged: &[usize]) -> Result<(), PartError> {
        let parts = self.notes.first().map_or(0, |note| note.parts);
        let there = self.notes.iter().enumerate().filter(|(place, _)| !damaged.contains(place)).map(|(_, note)| note.part);
        let there: BTreeSet<usize> = there.collect();
        let missing: Vec<usize> = (1..=parts).filter(|part| !there.contains(part)).collect();
        let Some(first) = missing.first().copied() else { return Ok(()) };
        let which = missing.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
        let state = if damaged.is_empty() { "missing" } else { "missing or damaged" };
        Err(PartError::Missing { missing: missing.len(), state, parts, which, first })
    }
}

/// Errors: parts that were not made by one study from the same files.
fn one_study(sweep: usize, notes: &[PartNote]) -> Result<(), PartError> {
    // Not all parts need have read the same files: each file is compared with the first part that read it.
    let mut read: BTreeMap<&str, (&str, usize)> = BTreeMap::new();
    for note in notes {
        let other = |first, what| Err(PartError::OtherStudy { sweep, part: note.part, first, what });
        if !note.is_of_study(&notes[0]) {
            return other(notes[0].part, "the study".into());
        }
        for (name, mark) in &note.inputs {
            let (known, first) = *read.entry(name.as_str()).or_insert((mark.as_str(), note.part));
            if known != mark {
                return other(first, format!("'{name}'"));
            }
        }
    }
    Ok(())
}

/// The tables of all parts of a sweep, joined in order; without a number, of the only sweep there is.
///
/// Errors: no or several sweeps, missing parts, parts of different studies, files that cannot be read.
pub fn gather(joint: Joint, sweep: Option<usize>, demand: Demand) -> Result<Table, PartError> {
    let gathering = Gathering::of(joint, sweep)?;
    let (mut tables, mut damaged) = (Vec::with_capacity(gathering.noted()), Vec::new());
    for place in 0..gathering.noted() {
        match gathering.table(place)? {
            Some(table) => tables.push(table),
            None => damaged.push(place),
        }
    }
    if demand == Demand::AllParts || tables.is_empty() {
        gathering.complete(&damaged)?;
    }
    Ok(Table::stacked(&tables)?)
}

/// What is there of every part: a row each, with failed and missing ones.
pub fn report(joint: &Joint) -> Result<Table, PartError> {
    let notes = notes(joint)?;
    if notes.is_empty() {
        return Err(PartError::NoParts { folder: joint.shown() });
    }
    let (mut rows, mut states) = (Vec::new(), Vec::new());
    let by_part: BTreeMap<_, _> = notes.iter().map(|note| ((note.sweep, note.part, note.parts), note)).collect();
    let mut sweeps: Vec<(usize, usize)> = notes.iter().map(|note| (note.sweep, note.parts)).collect();
    sweeps.dedup();
    for (sweep, parts) in sweeps {
        for part in 1..=parts {
            let note = by_part.get(&(sweep, part, parts)).copied();
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

/// All notes of a folder, by sweep and part.
fn notes(joint: &Joint) -> Result<Vec<PartNote>, PartError> {
    let read = notes_as_read(joint)?.into_iter().map(|(name, bytes)| note_of(bytes, &joint.folder.root().join(name)));
    let mut notes: Vec<PartNote> = read.collect::<Result<_, _>>()?;
    notes.sort_by_key(|note| (note.sweep, note.parts, note.part));
    Ok(notes)
}
