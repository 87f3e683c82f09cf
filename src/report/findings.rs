//! Findings with the garden they are about, whose cautions are shown with them.
//!
//! What is worth a warning is decided in `crate::findings`.

use super::Look;
use crate::findings::{Finding, Level, report, show};
use crate::garden::Garden;
use crate::quantity::UnitSystem;
use crate::table::{Column, Table, TableError};

/// Findings, the gravest first, and the garden they are about.
#[derive(Clone, Debug)]
pub struct FindingList {
    garden: Option<Garden>,
    list: Vec<Finding>,
}

impl FindingList {
    /// Findings about a garden.
    pub fn of(garden: Garden, list: Vec<Finding>) -> FindingList {
        FindingList { garden: Some(garden), list }
    }

    /// Findings about ground, which has no cautions.
    pub fn of_ground(list: Vec<Finding>) -> FindingList {
        FindingList { garden: None, list }
    }

    /// The findings, the gravest first.
    pub fn list(&self) -> &[Finding] {
        &self.list
    }

    /// How many there are of a level.
    pub fn count(&self, level: Level) -> usize {
        self.list.iter().filter(|finding| finding.level() == level).count()
    }

    /// The findings for people.
    pub fn in_words(&self, look: Look) -> String {
        match &self.garden {
            Some(garden) => report(garden, &self.list, look.system, look.width),
            None => show(&self.list, look.system, look.width),
        }
    }

    /// One row a finding.
    pub fn table(&self, system: UnitSystem) -> Result<Table, TableError> {
        let texts = |name: &str, text: &dyn Fn(&Finding) -> String| Column::texts(name, self.list.iter().map(text));
        Table::new(vec![
            texts("level", &|finding| finding.level().word().to_string()),
            texts("code", &|finding| finding.code().to_string()),
            texts("part", &|finding| finding.name.clone()),
            texts("what", &|finding| finding.what(system)),
            texts("do", &|finding| finding.action(system)),
        ])
    }
}
