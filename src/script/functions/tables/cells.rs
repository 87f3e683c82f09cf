//! Cells and rows of a table as values of a script, and back.
//!
//! Has no functions of scripts; those are in its siblings.

use crate::moment::Moment;
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::key_order::Written;
use crate::script::language::parallel_calls::Job;
use crate::script::language::values;
use crate::script::language::values::{as_quantity, cell_value};
use crate::table::{Cell, Column, Table};
use rhai::{Dynamic, FnPtr, Map, NativeCallContext};

/// A script value as a cell. Errors: values that no table can hold.
pub fn value_cell(value: &Dynamic, word: &str, name: &str) -> Answer<Cell> {
    if value.is_unit() {
        return Ok(Cell::Missing);
    }
    if let Some(quantity) = as_quantity(value) {
        return Ok(Cell::Quantity(quantity));
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        return Ok(Cell::text(text.as_str()));
    }
    if let Some(saved) = value.read_lock::<Saved>() {
        return Ok(Cell::text(saved.to_string()));
    }
    if let Ok(flag) = value.as_bool() {
        return Ok(Cell::Flag(flag));
    }
    if let Some(date) = value.read_lock::<Moment>() {
        return Ok(Cell::Date(*date));
    }
    let error = ScriptError::new(format!("{word}: column '{name}' cannot hold {}", values::describe(value)));
    Err(error.with_hint("a cell is a number, a quantity, a string, a date, true or false, or () for missing").into())
}

/// A row as a map.
pub fn row_map(row: Vec<(String, Cell)>) -> Answer<Map> {
    row.into_iter().map(|(name, cell)| Ok((name.into(), cell_value(&cell)?))).collect()
}

/// A map as a row, in the order in which its names are written.
pub fn map_row(value: &Dynamic, word: &str, written: &Written) -> Answer<Vec<(String, Cell)>> {
    let map = value.read_lock::<Map>().ok_or_else(|| no_map(value, word))?;
    let one = |(name, value): (&rhai::Identifier, &Dynamic)| Ok((name.to_string(), value_cell(value, word, name)?));
    let mut row: Vec<(String, Cell)> = map.iter().map(one).collect::<Answer<_>>()?;
    written.sort(&mut row, |(name, _)| name);
    Ok(row)
}

/// The names of a map in the order in which the script writes them.
pub fn order_written(call: &NativeCallContext, map: &Map) -> Answer<Written> {
    if map.len() < 2 {
        return Ok(Written::default());
    }
    let context = context_of(call)?;
    let names: Vec<&str> = map.keys().map(|name| name.as_str()).collect();
    let texts: Vec<_> = context.sources().into_iter().chain([context.text()]).collect();
    Ok(Written::in_texts(&names, &texts))
}

/// A map as pairs in the order in which the script writes them.
pub fn as_written(call: &NativeCallContext, map: Map) -> Answer<Vec<(String, Dynamic)>> {
    let written = order_written(call, &map)?;
    let mut pairs: Vec<(String, Dynamic)> = map.into_iter().map(|(name, value)| (name.to_string(), value)).collect();
    written.sort(&mut pairs, |(name, _)| name);
    Ok(pairs)
}

/// The error for a value that is no map of columns.
pub fn no_map(value: &Dynamic, word: &str) -> ScriptError {
    let error = ScriptError::new(format!("{word}: expected a map of columns, found {}", values::describe(value)));
    error.with_hint("let the closure end with a map, as in #{ pressure: r.pressure(\"berry\") }").about("closure")
}

/// A table that shows all its rows.
#[derive(Clone, Debug)]
pub struct WholeTable(pub Table);

/// What a closure says to each row, on all cores where it takes a while; `read` reads its answers.
pub fn for_each_row<T: Send>(
    call: &NativeCallContext,
    word: &'static str,
    table: &Table,
    closure: &FnPtr,
    read: impl Fn(&Dynamic) -> Answer<T> + Sync,
) -> Answer<Vec<T>> {
    let columns = table.columns().map_err(raise)?;
    let make = || {
        let columns = &columns;
        move |row: usize| {
            let cell = |column: &Column| Ok((column.name.as_str().into(), cell_value(&column.cell(row))?));
            Ok(Dynamic::from_map(columns.iter().map(cell).collect::<Answer<Map>>()?))
        }
    };
    let job = Job { call, closure, word, range: 0..table.rows() };
    job.answers(make, read, |row| format!("row {row} of the table"))
}

/// Names as the tables take them.
pub fn refs(names: &[String]) -> Vec<&str> {
    names.iter().map(String::as_str).collect()
}
