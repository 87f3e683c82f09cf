//! Results made ready for people and programs: tables, texts and JSON of solutions, logs, coverage, water hammer, windows, findings.
//!
//! It judges and computes nothing that another room answers, and knows neither the script engine nor the terminal.

pub mod card; // cards to print
pub mod cautions; // standing cautions as a table
pub mod chart; // charts of tables
pub mod coverage; // rain on the ground
mod error; // why a result cannot be reported
pub mod findings; // findings with the garden they are about
pub mod json; // answers as JSON, for other programs
pub mod log; // what happened in a run
pub mod money; // bills, electricity, payback
pub mod parts; // a part by itself
pub mod pressure_budget; // where the pressure goes
pub mod remedies; // the cheapest cure
pub mod restriction; // causes of readings that do not fit
mod saved; // a file that a script wrote
pub mod schedule; // what opens when
pub mod setting; // the best setting of variables
pub mod settings; // settings of the pressure switch, falls of pressure
pub mod sobol; // which parameter causes a spread
pub mod solution; // a steady state
pub mod water_hammer; // water hammer as tables and values
pub mod watering; // weather, seasons and weeks of beds
pub mod zones; // heads divided into zones

pub use error::ReportError;
pub use findings::FindingList;
pub use saved::Saved;

use crate::findings::FindingGroup;
use crate::garden::Garden;
use crate::quantity::{Dimension, UnitSystem};
use crate::table::{Column, Sheet, Table};

/// Rows of the table below a headline.
const ROWS_OF_A_SUMMARY: usize = 40;

/// How wide a text may be, and its units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Units in which values are shown.
    pub system: UnitSystem,
    /// Characters a line of prose.
    pub width: usize,
    /// Characters a line of a table; none where the page has no edge, as in a file.
    pub tables: Option<usize>,
}

impl Look {
    /// The look of answers about a garden: in its units, unless others were chosen.
    fn or_own(self, garden: &Garden) -> Look {
        Look { system: self.system.or_own(garden.units()), ..self }
    }

    /// A sheet for a table of which the first rows are shown.
    pub fn sheet(self) -> Sheet {
        Sheet { system: self.system, width: self.tables, ..Sheet::default() }
    }
}

/// A column of computed values of a garden, in its units.
fn given_by(garden: &Garden, name: &str, values: impl IntoIterator<Item = Option<f64>>, dimension: Dimension) -> Column {
    Column::quantities(name, values, dimension, garden.units().preference(dimension))
}

/// A headline, a table where there is one, and the findings in short.
fn summary(headline: String, table: Option<Table>, findings: &[FindingGroup], look: Look) -> String {
    let mut lines = vec![headline];
    let sheet = Sheet { rows: Some(ROWS_OF_A_SUMMARY), ..look.sheet() };
    lines.extend(table.map(|table| table.show_on(&sheet)));
    lines.extend(in_short(findings, look.system));
    lines.join("\n")
}

/// Findings a line each, and how to see them whole.
fn in_short(findings: &[FindingGroup], system: UnitSystem) -> Vec<String> {
    let mut lines: Vec<String> =
        findings.iter().map(|finding| format!("{}: {}", finding.heading(), finding.what(system))).collect();
    if !findings.is_empty() {
        lines.push("(.findings() gives reasons and what to do)".into());
    }
    lines
}

#[cfg(test)]
mod tests;
