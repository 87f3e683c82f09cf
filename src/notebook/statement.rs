//! A statement of a study, and what it gave when it last ran.

use super::uses::Uses;
use crate::findings::CautionSet;
use crate::garden::Thresholds;
use crate::quantity::UnitSystem;
use crate::script::Diagnostic;
use crate::script::controls::Control;
use crate::script::diagnostic::Trouble;
use crate::script::present::Shown;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

/// A statement and what it gave.
#[derive(Clone, Debug)]
pub struct Statement {
    /// Where it is in the text of the study, bytes.
    pub range: Range<usize>,
    /// First and last line, counted from one.
    pub lines: (usize, usize),
    /// What it gave when it last ran.
    pub result: StatementOutcome,
    /// The number of the run that gave the result.
    pub run: usize,
    /// True when it must run again: what it gave belongs to an earlier state of the study.
    pub stale: bool,
    pub(super) uses: Uses,
    pub(super) files: BTreeMap<String, Stamp>,
}

/// What a statement gave.
#[derive(Clone, Debug, Default)]
pub struct StatementOutcome {
    /// What it printed, then its value.
    pub shown: Vec<Shown>,
    /// Why it failed or was stopped, if so.
    pub error: Option<Diagnostic>,
    /// Why it did not run, if it did not.
    pub skipped: Option<String>,
    /// Time from its start to its end, on the clock.
    pub took: Duration,
    /// The controls that it asked for.
    pub controls: Vec<Control>,
    /// Seeds and numbers of the samples it drew.
    pub drawn: BTreeSet<(u64, usize)>,
    /// The cautions that apply to the gardens that it made.
    pub cautions: CautionSet,
    /// The units in which it shows.
    pub units: UnitSystem,
    /// The thresholds by which it judges.
    pub thresholds: Thresholds,
    /// True when it drew figures on axes that were held, and not on their own.
    pub stretched: bool,
    /// The files that it saved.
    pub(super) saved: BTreeSet<PathBuf>,
    /// True when the study ended here, by `return` or `exit`.
    pub(super) ended: bool,
}

impl StatementOutcome {
    /// True for what must be tried again in any case: it was stopped or did not run.
    pub(super) fn is_unfinished(&self) -> bool {
        self.skipped.is_some() || self.error.as_ref().is_some_and(|error| error.kind == Trouble::Stopped)
    }
}

/// When a file was last written, and its size; nothing when there is none.
pub(super) type Stamp = Option<(SystemTime, u64)>;
