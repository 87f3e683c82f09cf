//! Answers as JSON, for other programs.
//!
//! A quantity is an object with its shown value and unit and its SI value; anything larger is an object whose `kind` says what
//! it is: `table`, `solution`, `log`, `findings`, `comparison`, `part` or `garden`. docs/tour.md lists the keys.

use super::FindingList;
use crate::clock;
use crate::findings::{CautionSet, FindingGroup, of_log, of_run};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::operation::Log;
use crate::parts::Part;
use crate::quantity::{Quantity, UnitSystem};
use crate::study::Compared;
use crate::table::{Cell, Column, Table, TableError, Values};
use serde_json::{Value, json};

/// A quantity: its value in the unit in which it is shown, the unit, and its value in SI; a plain number stands alone.
pub fn quantity(quantity: &Quantity, system: UnitSystem) -> Value {
    if quantity.dimension.is_number() {
        return json!(quantity.si);
    }
    let unit = quantity.shown_unit(system);
    let number = unit.map_or(quantity.si, |unit| unit.from_si(quantity.si));
    let symbol = unit.map_or_else(|| quantity.dimension.base_units(), |unit| unit.symbol.to_string());
    json!({ "value": number, "unit": symbol, "si": quantity.si })
}

/// A part that stands alone.
pub fn part(part: &Part, system: UnitSystem) -> Value {
    named_part(part, part.name().unwrap_or_default(), system)
}

/// A part by the parameters that are given.
fn named_part(part: &Part, name: &str, system: UnitSystem) -> Value {
    let numbers: serde_json::Map<String, Value> =
        part.given().map(|(number, value)| (number.name().to_string(), quantity(&value, system))).collect();
    json!({ "kind": "part", "part": part.spec().word, "name": name, "numbers": numbers })
}

/// A garden as the list of its parts, each with the parameters that it was given.
pub fn garden(garden: &Garden, system: UnitSystem) -> Value {
    let parts = garden.parts().iter().enumerate().map(|(place, part)| named_part(part, garden.name(place), system));
    json!({ "kind": "garden", "parts": parts.collect::<Vec<_>>() })
}

/// A solution: the zones that run, its table and what is to be warned of.
pub fn solution(solution: &Solution, system: UnitSystem) -> Value {
    let rows = table_or_null(super::solution::table(solution), system);
    let found = FindingList::of(solution.garden.clone(), &of_run(solution));
    json!({ "kind": "result", "zones": solution.zones, "table": rows, "findings": list(&found, system),
        "cautions": ids(found.cautions()) })
}

/// A run over time: its table of water and what is to be warned of.
pub fn log(log: &Log, system: UnitSystem) -> Value {
    let rows = table_or_null(super::log::water(log), system);
    let found = FindingList::of(log.garden.clone(), &of_log(log));
    json!({ "kind": "log", "table": rows, "findings": list(&found, system), "cautions": ids(found.cautions()) })
}

/// A comparison: its table and its conclusion in sentences.
pub fn comparison(compared: &Compared, system: UnitSystem) -> Value {
    json!({ "kind": "comparison", "table": table(&compared.table, system), "words": compared.words })
}

/// Findings as a list, each with code, level, parts, words, and the reason if it is accepted; and the names of the cautions that
/// apply to their garden.
pub fn findings(findings: &FindingList, system: UnitSystem) -> Value {
    json!({ "kind": "findings", "findings": list(findings, system), "cautions": ids(findings.cautions()) })
}

/// A table by its columns, in their order; a missing value is null.
pub fn table(table: &Table, system: UnitSystem) -> Value {
    let columns = table.columns().unwrap_or_default();
    let columns: Vec<Value> = columns.iter().map(|column| of_column(column, system)).collect();
    json!({ "kind": "table", "rows": table.rows(), "columns": columns })
}

fn table_or_null(found: Result<Table, TableError>, system: UnitSystem) -> Value {
    found.map_or(Value::Null, |found| table(&found, system))
}

fn of_column(column: &Column, system: UnitSystem) -> Value {
    let kind = column.kind();
    match &column.values {
        Values::Quantities { si, .. } if kind.is_clock() => {
            let texts: Vec<Option<String>> = si.iter().map(|time| time.and_then(clock::full_text)).collect();
            json!({ "name": column.name, "unit": null, "values": texts, "si": si })
        }
        Values::Quantities { si, .. } => {
            let (unit, shown) = (kind.unit_text(system), kind.shown_values(si, system));
            match unit {
                Some(unit) => json!({ "name": column.name, "unit": unit, "values": shown, "si": si }),
                None => json!({ "name": column.name, "unit": null, "values": shown }),
            }
        }
        Values::Texts(texts) => json!({ "name": column.name, "unit": null, "values": texts }),
        Values::Flags(flags) => json!({ "name": column.name, "unit": null, "values": flags }),
        Values::Dates { .. } => {
            let dates = column.cells().map(|cell| if let Cell::Date(date) = cell { Some(date.to_string()) } else { None });
            json!({ "name": column.name, "unit": null, "values": dates.collect::<Vec<_>>() })
        }
    }
}

fn list(findings: &FindingList, system: UnitSystem) -> Vec<Value> {
    findings.list().iter().map(|one| finding(one, system)).collect()
}

/// The names of cautions; their texts stand in [`cautions`].
fn ids(set: CautionSet) -> Vec<&'static str> {
    set.iter().map(|caution| caution.id).collect()
}

/// Cautions as a list: their name for programs, what they protect, what to do in short, text and source.
pub fn cautions(set: CautionSet) -> Value {
    let one = |caution: &crate::findings::Caution| {
        json!({
            "id": caution.id, "subject": caution.subject.words().to_lowercase(), "do": caution.short, "text": caution.text,
            "source": caution.source.words(),
        })
    };
    set.iter().map(one).collect()
}

/// A finding: its level and code for programs, its sentences for people.
pub fn finding(finding: &FindingGroup, system: UnitSystem) -> Value {
    json!({
        "level": finding.level().word().to_lowercase(), "code": finding.code(), "parts": finding.names(), "what": finding.what(system),
        "why": finding.why(system), "do": finding.action(system), "source": finding.source(system),
        "accepted": finding.accepted(),
    })
}
