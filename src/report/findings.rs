//! Findings with the garden they are about: told once for like parts, with what its owner accepted, and its cautions.
//!
//! What is worth a warning is decided in `crate::findings`.

use super::Look;
use crate::findings::limits::{self, Threshold};
use crate::findings::{CautionSet, FOLLOW, Finding, FindingGroup, Level, grouped, report, show, unmet};
use crate::garden::{Accepted, Garden, Thresholds};
use crate::quantity::{Preference, Quantity, UnitSystem};
use crate::table::{Column, Table, TableError, Values};

/// Findings, the most severe first and the accepted ones last, and the garden they are about.
#[derive(Clone, Debug)]
pub struct FindingList {
    garden: Option<Garden>,
    list: Vec<FindingGroup>,
}

impl FindingList {
    /// Findings about a garden.
    pub fn of(garden: Garden, findings: &[Finding]) -> FindingList {
        let list = grouped(findings, garden.accepted());
        FindingList { garden: Some(garden), list }
    }

    /// Findings about ground, which has no cautions.
    pub fn of_ground(accepted: &Accepted, findings: &[Finding]) -> FindingList {
        FindingList { garden: None, list: grouped(findings, accepted) }
    }

    /// The findings, the most severe first and the accepted ones last.
    pub fn list(&self) -> &[FindingGroup] {
        &self.list
    }

    /// The garden they are about; nothing for ground.
    pub fn garden(&self) -> Option<&Garden> {
        self.garden.as_ref()
    }

    /// How many there are of a level, without those that were accepted.
    pub fn count(&self, level: Level) -> usize {
        self.list.iter().filter(|group| group.level() == level && group.accepted().is_none()).count()
    }

    /// How many were accepted.
    pub fn accepted(&self) -> usize {
        self.list.iter().filter(|group| group.accepted().is_some()).count()
    }

    /// The codes that the garden accepts and no finding has, in a sentence; nothing when there are none.
    pub fn unmet(&self) -> Option<String> {
        unmet(&self.list, self.garden.as_ref()?.accepted())
    }

    /// The findings for people.
    pub fn in_words(&self, look: Look) -> String {
        match &self.garden {
            Some(garden) => report(garden, &self.list, look.system, look.width),
            None => show(&self.list, look.system, look.width),
        }
    }

    /// The cautions that apply to the garden; none for ground.
    pub fn cautions(&self) -> CautionSet {
        self.garden.as_ref().map_or_else(CautionSet::default, CautionSet::of)
    }

    /// One row a finding, where `accepted` has the reason of those that were accepted, and a last row for the cautions where some
    /// apply.
    pub fn table(&self, system: UnitSystem) -> Result<Table, TableError> {
        let one = |group: &FindingGroup| {
            let (level, code) = (group.level().word().to_string(), group.code().to_string());
            [level, code, group.names().join(", "), group.what(system), group.action(system)]
        };
        let mut rows: Vec<[String; 5]> = self.list.iter().map(one).collect();
        let mut accepted: Vec<Option<_>> = self.list.iter().map(|group| group.accepted().map(Into::into)).collect();
        let cautions = self.cautions();
        if !cautions.is_empty() {
            let action = format!("{FOLLOW} Texts and sources: help(\"safety\").");
            rows.push(["Caution".into(), "cautions".into(), String::new(), cautions.in_sentences(), action]);
            accepted.push(None);
        }
        let texts = |at: usize, name: &str| Column::texts(name, rows.iter().map(|row| row[at].clone()));
        let names = ["level", "code", "part", "what", "do"];
        let mut columns: Vec<Column> = names.iter().enumerate().map(|(at, name)| texts(at, name)).collect();
        columns.push(Column { name: "accepted".into(), values: Values::Texts(accepted) });
        Table::new(columns)
    }
}

/// The usual value of a threshold, in the unit in which the trade gives it.
pub fn usual(threshold: &Threshold) -> Quantity {
    with_unit(threshold, threshold.usual)
}

fn with_unit(threshold: &Threshold, si: f64) -> Quantity {
    let quantity = Quantity::new(si, threshold.dimension);
    if threshold.unit.is_empty() { quantity } else { Quantity { preference: Preference::written_in(threshold.unit), ..quantity } }
}

/// A threshold that was set, in a line for the report of a study.
pub fn changed(threshold: &Threshold, set: Quantity, system: UnitSystem) -> String {
    format!("findings: {} is set to {} ({} is usual)", threshold.name, set.show(system), usual(threshold).show(system))
}

/// All thresholds of findings: name, the value that holds where it was set, the source of the usual one, that itself, and what is judged by it.
pub fn thresholds(set: &Thresholds) -> Result<Table, TableError> {
    let texts = |name: &str, of: &dyn Fn(&Threshold) -> String| Column::texts(name, limits::ALL.iter().map(of));
    let shown = |threshold: &Threshold, si: f64| with_unit(threshold, si).to_string();
    let is_set = |threshold: &Threshold| set.get(threshold.name).map(|&si| shown(threshold, si));
    let set = Column { name: "set".into(), values: Values::Texts(limits::ALL.iter().map(is_set).collect()) };
    Table::new(vec![
        texts("threshold", &|threshold| threshold.name.into()),
        set,
        texts("source", &|threshold| threshold.source.words()),
        texts("usual", &|threshold| shown(threshold, threshold.usual)),
        texts("about", &|threshold| threshold.about.into()),
    ])
}
