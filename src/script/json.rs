//! Values of a script as JSON, for other programs.
//!
//! A quantity is an object with its shown value and unit and its SI value; anything larger is an object whose `kind` says what
//! it is: `table`, `reading`, `log`, `findings`, `comparison`, `part` or `garden`. docs/tour.md tells the keys.

use super::findings::FindingList;
use super::quantities::as_quantity;
use super::tables::WholeTable;
use super::{log, reading};
use crate::findings::{Finding, of_log, of_run};
use crate::garden::Garden;
use crate::hydraulics::Reading;
use crate::operation::Log;
use crate::parts::Part;
use crate::quantity::{Quantity, UnitSystem};
use crate::study::Compared;
use crate::table::{Column, Table, Values};
use rhai::{Array, Dynamic, Map};
use serde_json::{Value, json};

/// A value as JSON; kinds of values that JSON has no form for become null.
pub fn of(value: &Dynamic, system: UnitSystem) -> Value {
    if let Ok(whole) = value.as_int() {
        return json!(whole);
    }
    if let Some(found) = as_quantity(value) {
        return quantity(&found, system);
    }
    if let Ok(truth) = value.as_bool() {
        return json!(truth);
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        return json!(text.as_str());
    }
    if let Some(list) = value.read_lock::<Array>() {
        return list.iter().map(|item| of(item, system)).collect();
    }
    if let Some(map) = value.read_lock::<Map>() {
        return map.iter().map(|(name, item)| (name.to_string(), of(item, system))).collect();
    }
    if let Some(part) = value.read_lock::<Part>() {
        return of_part(&part, part.name().unwrap_or_default(), system);
    }
    if let Some(garden) = value.read_lock::<Garden>() {
        let parts = garden.parts().iter().enumerate().map(|(place, part)| of_part(part, garden.name(place), system));
        return json!({ "kind": "garden", "parts": parts.collect::<Vec<_>>() });
    }
    of_answer(value, system).unwrap_or(Value::Null)
}

/// Tables, and what holds them.
fn of_answer(value: &Dynamic, system: UnitSystem) -> Option<Value> {
    if let Some(found) = value.read_lock::<Table>() {
        return Some(table(&found, system));
    }
    if let Some(found) = value.read_lock::<WholeTable>() {
        return Some(table(&found.0, system));
    }
    if let Some(found) = value.read_lock::<Reading>() {
        let rows = reading::table(&found).map_or(Value::Null, |rows| table(&rows, system));
        return Some(
            json!({ "kind": "reading", "zones": found.zones, "table": rows, "findings": list(&of_run(&found), system) }),
        );
    }
    if let Some(found) = value.read_lock::<Log>() {
        let rows = log::water(&found).map_or(Value::Null, |rows| table(&rows, system));
        return Some(json!({ "kind": "log", "table": rows, "findings": list(&of_log(&found), system) }));
    }
    if let Some(found) = value.read_lock::<Compared>() {
        return Some(json!({ "kind": "comparison", "table": table(&found.table, system), "words": found.words }));
    }
    value.read_lock::<FindingList>().map(|found| json!({ "kind": "findings", "findings": list(found.list(), system) }))
}

fn quantity(quantity: &Quantity, system: UnitSystem) -> Value {
    if quantity.dimension.is_number() {
        return json!(quantity.si);
    }
    let unit = quantity.shown_unit(system);
    let number = unit.map_or(quantity.si, |unit| unit.from_si(quantity.si));
    let symbol = unit.map_or_else(|| quantity.dimension.base_units(), |unit| unit.symbol.to_string());
    json!({ "value": number, "unit": symbol, "si": quantity.si })
}

/// A part by the numbers that are given.
fn of_part(part: &Part, name: &str, system: UnitSystem) -> Value {
    let numbers: serde_json::Map<String, Value> =
        part.given().map(|(number, value)| (number.name().to_string(), quantity(&value, system))).collect();
    json!({ "kind": "part", "part": part.spec().word, "name": name, "numbers": numbers })
}

/// A table by its columns, in their order; a missing value is null.
fn table(table: &Table, system: UnitSystem) -> Value {
    let columns = table.columns().unwrap_or_default();
    let columns: Vec<Value> = columns.iter().map(|column| of_column(column, system)).collect();
    json!({ "kind": "table", "rows": table.rows(), "columns": columns })
}

fn of_column(column: &Column, system: UnitSystem) -> Value {
    let kind = column.kind();
    match &column.values {
        Values::Quantities { si, .. } => {
            let (unit, shown) = (kind.unit_text(system), kind.shown_values(si, system));
            match unit {
                Some(unit) => json!({ "name": column.name, "unit": unit, "values": shown, "si": si }),
                None => json!({ "name": column.name, "unit": null, "values": shown }),
            }
        }
        Values::Texts(texts) => json!({ "name": column.name, "unit": null, "values": texts }),
        Values::Flags(flags) => json!({ "name": column.name, "unit": null, "values": flags }),
    }
}

fn list(findings: &[Finding], system: UnitSystem) -> Vec<Value> {
    findings.iter().map(|one| finding(one, system)).collect()
}

/// A finding: its level and code for programs, its sentences for people.
pub fn finding(finding: &Finding, system: UnitSystem) -> Value {
    json!({
        "level": finding.level().word().to_lowercase(), "code": finding.code(), "part": finding.name, "what": finding.what(system),
        "why": finding.why(), "do": finding.action(system), "source": finding.source().words(),
    })
}
