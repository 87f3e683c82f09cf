//! Values of a script as JSON, for other programs.
//!
//! A quantity is an object with its shown value and unit and its SI value.

use super::quantities::as_quantity;
use crate::quantity::UnitSystem;
use rhai::{Array, Dynamic, Map};
use serde_json::{Value, json};

/// A value as JSON; kinds of values that JSON has no form for become null.
pub fn of(value: &Dynamic, system: UnitSystem) -> Value {
    if let Ok(whole) = value.as_int() {
        return json!(whole);
    }
    if let Some(quantity) = as_quantity(value) {
        if quantity.dimension.is_number() {
            return json!(quantity.si);
        }
        let unit = quantity.shown_unit(system);
        let number = unit.map_or(quantity.si, |unit| unit.from_si(quantity.si));
        let symbol = unit.map_or_else(|| quantity.dimension.base_units(), |unit| unit.symbol.to_string());
        return json!({ "value": number, "unit": symbol, "si": quantity.si });
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
    Value::Null
}
