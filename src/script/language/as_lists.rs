//! A column of a table goes wherever a list goes: each function that takes a list gets an overload that takes a column.
//!
//! Functions that would change the list in place end with an error instead, since a column belongs to its table.

use super::error::{Answer, ScriptError};
use super::values::column_list;
use crate::table::TableColumn;
use rhai::{Array, Dynamic, Engine, NativeCallContext};
use std::any::TypeId;

/// Functions of the engine and of ours that change their list.
const CHANGING: &[&str] = &[
    "append",
    "chop",
    "clear",
    "dedup",
    "drain",
    "insert",
    "pad",
    "pop",
    "push",
    "remove",
    "retain",
    "reverse",
    "set",
    "shift",
    "sort",
    "sort_by",
    "sort_desc",
    "splice",
    "truncate",
];

/// Functions by which the engine shows values; a column has its own.
const OWN: &[&str] = &["to_debug", "to_string", "print", "debug"];

/// Registers the overloads, for all functions that the engine has by now.
pub fn register(engine: &mut Engine) {
    let (list, column) = (TypeId::of::<Array>(), TypeId::of::<TableColumn>());
    let functions = engine.collect_fn_metadata(
        None,
        |function| {
            let (name, types) = (&function.metadata.name, &function.metadata.param_types);
            let is_name = name.starts_with(char::is_alphabetic) && !name.contains('$') && !OWN.contains(&name.as_str());
            let takes = types.contains(&list) || types.contains(&column);
            (is_name && takes).then(|| (name.to_string(), types.to_vec()))
        },
        true,
    );
    let own: Vec<_> = functions.iter().filter(|(_, types)| types.contains(&column)).cloned().collect();
    for (name, mut types) in functions.into_iter().filter(|(_, types)| types.contains(&list)) {
        types.iter_mut().filter(|of| **of == list).for_each(|of| *of = column);
        if own.iter().any(|(other, theirs)| *other == name && *theirs == types) {
            continue;
        }
        let word = name.clone();
        engine.register_raw_fn(name, types, move |call: NativeCallContext, arguments: &mut [&mut Dynamic]| -> Answer<Dynamic> {
            if CHANGING.contains(&word.as_str()) && arguments.first().is_some_and(|first| first.is::<TableColumn>()) {
                let error = ScriptError::new(format!("{word}: a column of a table is not changed in place"));
                return Err(error
                    .with_hint("take the list of its cells with to_list(), or make a new column with with(..)")
                    .into());
            }
            for argument in arguments.iter_mut() {
                let list = argument.read_lock::<TableColumn>().map(|series| column_list(&series)).transpose()?;
                if let Some(list) = list {
                    **argument = Dynamic::from_array(list);
                }
            }
            call.call_native_fn_raw(&word, true, arguments)
        });
    }
}
