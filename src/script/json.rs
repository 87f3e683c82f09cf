//! Values of a script as JSON, for other programs; their forms are those of `crate::report::json`.

use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::operation::Log;
use crate::parts::Part;
use crate::quantity::UnitSystem;
use crate::report::{FindingList, Saved, json as report};
use crate::script::functions::tables::WholeTable;
use crate::script::language::values::{as_quantity, column_list};
use crate::study::Compared;
use crate::table::{Table, TableColumn};
use rhai::{Array, Dynamic, Map};
use serde_json::{Value, json};

/// A value as JSON; kinds of values that JSON has no form for become null.
pub fn of(value: &Dynamic, system: UnitSystem) -> Value {
    if let Ok(whole) = value.as_int() {
        return json!(whole);
    }
    if let Some(found) = as_quantity(value) {
        return report::quantity(&found, system);
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
    fn json_of<T: Clone + 'static>(value: &Dynamic, make: impl FnOnce(&T) -> Value) -> Option<Value> {
        value.read_lock::<T>().map(|found| make(&found))
    }
    json_of(value, |part: &Part| report::part(part, system))
        .or_else(|| json_of(value, |garden: &Garden| report::garden(garden, system)))
        .or_else(|| json_of(value, |table: &Table| report::table(table, system)))
        .or_else(|| json_of(value, |table: &WholeTable| report::table(&table.0, system)))
        .or_else(|| {
            json_of(value, |series: &TableColumn| column_list(series).map_or(Value::Null, |list| of(&list.into(), system)))
        })
        .or_else(|| json_of(value, |solution: &Solution| report::solution(solution, system)))
        .or_else(|| json_of(value, |log: &Log| report::log(log, system)))
        .or_else(|| json_of(value, |compared: &Compared| report::comparison(compared, system)))
        .or_else(|| json_of(value, |findings: &FindingList| report::findings(findings, system)))
        .or_else(|| json_of(value, |saved: &Saved| json!(saved.to_string())))
        .unwrap_or(Value::Null)
}
