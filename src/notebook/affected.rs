//! Which statements of a study a change asks to run again, and what keeps one of them from running.

use super::statement::Statement;
use super::uses::Uses;
use crate::script::diagnostic::Trouble;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The given statements and all that must run with them: those that read what these write, and, of a name that several
/// statements write, all of these, since only the last value is kept.
pub(super) fn affected(statements: &[Statement], mut wanted: BTreeSet<usize>) -> BTreeSet<usize> {
    let aliases = aliases(statements);
    let expand = |names: &BTreeSet<String>| -> BTreeSet<String> {
        names.iter().flat_map(|name| aliases.get(name).into_iter().flatten().chain([name])).cloned().collect()
    };
    let reads: Vec<BTreeSet<String>> = statements.iter().map(|statement| expand(&statement.uses.reads)).collect();
    let writes: Vec<BTreeSet<String>> = statements.iter().map(|statement| with_files(&statement.uses)).collect();
    let mut writers: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (index, names) in writes.iter().enumerate() {
        for name in names {
            writers.entry(name).or_default().push(index);
        }
    }
    loop {
        let before = wanted.len();
        let hoisted = |index: &usize| statements[*index].uses.function;
        for index in 0..statements.len() {
            let touched = |other: &usize| {
                (*other < index || hoisted(other))
                    && (statements[*other].uses.global
                        || !writes[*other].is_disjoint(&reads[index])
                        || !writes[*other].is_disjoint(&statements[index].uses.texts))
            };
            if !wanted.contains(&index) && wanted.iter().any(touched) {
                wanted.insert(index);
            }
        }
        let names: BTreeSet<&String> = wanted.iter().flat_map(|index| reads[*index].iter().chain(&writes[*index])).collect();
        for name in names {
            if let Some(all) = writers.get(name.as_str()).filter(|all| all.len() > 1) {
                wanted.extend(all);
            }
        }
        if wanted.len() == before {
            return wanted;
        }
    }
}

/// What a statement writes, files that it saves included.
fn with_files(uses: &Uses) -> BTreeSet<String> {
    let mut names = uses.writes.clone();
    if uses.saves {
        names.extend(uses.texts.iter().filter(|text| text.contains('.')).cloned());
    }
    names
}

/// Names that stand for others: a closure sees later changes of what it captured, so who reads it reads those too.
fn aliases(statements: &[Statement]) -> BTreeMap<String, BTreeSet<String>> {
    let mut aliases: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for statement in statements.iter().filter(|statement| statement.uses.closure) {
        let mut seen: BTreeSet<String> = statement.uses.reads.clone();
        seen.extend(statement.uses.reads.iter().flat_map(|name| aliases.get(name).into_iter().flatten().cloned()));
        for name in &statement.uses.writes {
            aliases.entry(name.clone()).or_default().extend(seen.iter().cloned());
        }
    }
    aliases
}

/// At most this many statements that do not work are reported; a study with more is another text taken for one.
const MOST_ERRORS: usize = 1000;

/// What a statement must know of those before it, to run.
#[derive(Default)]
pub(super) struct Before {
    /// Where the study ended, or was stopped.
    ended: Option<usize>,
    stopped: Option<usize>,
    errors: usize,
    /// Names that are not there, with the lines that did not make them.
    missing: HashMap<String, usize>,
}

impl Before {
    /// Notes what became of a statement.
    pub(super) fn note(&mut self, statement: &Statement) {
        let (line, result) = (statement.lines.0, &statement.result);
        if result.ended {
            self.ended.get_or_insert(line);
        }
        if result.error.as_ref().is_some_and(|error| error.kind == Trouble::Stopped) {
            self.stopped.get_or_insert(line);
        }
        self.errors += usize::from(result.error.is_some());
        let failed = result.error.is_some() || result.skipped.is_some();
        for name in &statement.uses.writes {
            if failed {
                self.missing.insert(name.clone(), line);
            } else {
                self.missing.remove(name);
            }
        }
    }

    /// Why a statement cannot run: the study has ended, somebody stopped it, or something that it reads was not made.
    pub(super) fn reason_to_skip(&self, statement: &Statement) -> Option<String> {
        if let Some(line) = self.ended {
            return Some(format!("the study ends in line {line}"));
        }
        if let Some(line) = self.stopped {
            return Some(format!("the run was stopped in line {line}"));
        }
        if self.errors >= MOST_ERRORS {
            return Some(format!("{MOST_ERRORS} statements before it failed"));
        }
        let (name, line) = statement.uses.reads.iter().find_map(|name| self.missing.get_key_value(name))?;
        Some(format!("it needs '{name}', and line {line} failed"))
    }
}
