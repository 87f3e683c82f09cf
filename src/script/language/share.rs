//! What a run makes of the sweeps of its study where it does not make them whole: one part of each, or a look at each.
//!
//! The files of parts are in `crate::study`.

use crate::report::Saved;
use crate::study::{Inputs, PartOfSweep};
use std::path::PathBuf;
use std::sync::Arc;

/// What a run makes of the sweeps of its study.
#[derive(Clone, Debug)]
pub struct Share {
    task: Task,
    /// Sweeps that were begun.
    pub sweeps: usize,
    /// Closures that functions are calling now, each inside the one before.
    pub closures: usize,
    /// What was found out about the sweeps, in a run that looks at them.
    pub looks: Vec<Look>,
}

#[derive(Clone, Debug)]
enum Task {
    Part(OnePart),
    Look,
}

/// The part of a divided study that a run evaluates.
#[derive(Clone, Debug)]
pub struct OnePart {
    /// Which part, counted from 1.
    pub part: usize,
    /// How many parts the study is divided into.
    pub parts: usize,
    /// Where the tables of the part go.
    pub folder: PathBuf,
    /// Identifies the study.
    pub study: String,
}

/// What becomes of a sweep that begins.
pub enum Turn {
    /// This part of it is evaluated into a file.
    Part(PartOfSweep),
    /// Some of its cases are solved, to see how long they take.
    Look,
}

/// What was found out about a sweep.
#[derive(Clone, Debug)]
pub struct Look {
    /// Its cases.
    pub cases: usize,
    /// The columns of its table.
    pub columns: usize,
    /// Time for a case on one core, s.
    pub seconds_a_case: f64,
    /// Memory that a part takes for each of its cases, bytes; nothing where a part goes to its file as it is solved.
    pub bytes_a_case: usize,
}

impl Share {
    /// One part of each sweep.
    pub fn of_part(part: OnePart) -> Share {
        Share { task: Task::Part(part), sweeps: 0, closures: 0, looks: Vec::new() }
    }

    /// A look at each sweep.
    pub fn of_look() -> Share {
        Share { task: Task::Look, sweeps: 0, closures: 0, looks: Vec::new() }
    }

    /// What becomes of the sweep that begins now, with this number of cases.
    pub fn next_turn(&mut self, cases: usize, inputs: &Arc<Inputs>) -> Turn {
        self.sweeps += 1;
        match &self.task {
            Task::Look => Turn::Look,
            Task::Part(OnePart { part, parts, folder, study }) => {
                let (folder, study, inputs) = (folder.clone(), study.clone(), inputs.clone());
                Turn::Part(PartOfSweep { folder, sweep: self.sweeps, part: *part, parts: *parts, study, inputs, cases })
            }
        }
    }

    /// What becomes of a file, since there is only a part of its tables.
    pub fn leaves_out(&self, file: &str) -> Saved {
        match &self.task {
            Task::Part(OnePart { part, parts, .. }) => Saved::LeftOut { file: file.into(), part: *part, parts: *parts },
            Task::Look => Saved::LeftOut { file: file.into(), part: 1, parts: 1 },
        }
    }
}
