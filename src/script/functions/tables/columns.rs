//! Words that choose and make columns: by name, by a closure for each row or group, from the values of another column.

use super::cells::{for_each_row, map_row, value_cell};
use crate::script::language::calls::call_each;
use crate::script::language::error::raise;
use crate::script::language::key_order::Written;
use crate::script::language::values::as_names;
use crate::table::{Column, Growing, Table};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult, FnPtr};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A new table with only the named columns, in that order.
    ///
    /// ```hw
    /// table([#{ a: 1, b: 2, c: 3 }]).select(["c", "a"]).names   // => ["c", "a"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn select(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let names = as_names(&columns, "select")?;
        table.select(&names.iter().map(String::as_str).collect::<Vec<_>>()).map_err(raise)
    }

    /// A new table without the named columns.
    ///
    /// ```hw
    /// table([#{ a: 1, b: 2, c: 3 }]).without("b").names   // => ["a", "c"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn without(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let names = as_names(&columns, "without")?;
        table.without(&names.iter().map(String::as_str).collect::<Vec<_>>()).map_err(raise)
    }

    /// A new table with a column under another name (rename).
    ///
    /// ```hw
    /// table([#{ a: 1 }]).rename("a", "b").names   // => ["b"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rename(table: Table, from: &str, to: &str) -> Result<Table, Box<EvalAltResult>> {
        table.renamed(from, to).map_err(raise)
    }

    /// A new table with one more column, computed for each row by a closure; a column of that name is replaced.
    ///
    /// ```hw
    /// let t = table([#{ p: 40.psi }, #{ p: 20.psi }]);
    /// t.with("margin", |r| r.p - 30.psi)["margin"]   // => [10 psi, -10 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn with(call: NativeCallContext, table: Table, name: &str, value: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let cells = for_each_row(&call, "with", &table, &value, |answer| value_cell(answer, "with", name))?;
        if cells.is_empty() {
            return table.with(Column::texts(name, Vec::<String>::new())).map_err(raise);
        }
        let mut column = Growing::default();
        cells.into_iter().try_for_each(|cell| column.add([(name, cell)])).map_err(raise)?;
        table.with(column.into_columns()?.remove(0)).map_err(raise)
    }

    /// Groups the rows by the values of a column; a closure makes one row of each group, which it gets as a table.
    ///
    /// ```hw
    /// let t = table([#{ diameter: "half", p: 20.psi }, #{ diameter: "half", p: 30.psi }, #{ diameter: "five eighths", p: 40.psi }]);
    /// t.group_by("diameter", |g| #{ worst: min(g["p"]) })["worst"]   // => [20 psi, 40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn group_by(call: NativeCallContext, table: Table, column: &str, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let groups = table.group_by(column).map_err(raise)?;
        let answers = call_each(&call, &closure, groups.iter().map(|(_, group)| Ok(Dynamic::from(group.clone()))))?;
        let written = Written::in_closure(&closure, call.global_runtime_state());
        let mut rows = Vec::with_capacity(groups.len());
        for ((key, _), answer) in groups.into_iter().zip(answers) {
            let mut row = vec![(column.to_string(), key)];
            row.extend(map_row(&answer, "group_by", &written)?.into_iter().filter(|(name, _)| name != column));
            rows.push(row);
        }
        Table::from_rows(rows).map_err(raise)
    }

    /// A pivot table: one row for each value of the first column, one column for each value of the second, filled from the third.
    ///
    /// ```hw
    /// let t = table([#{ l: 50.ft, diameter: "half", p: 20.psi }, #{ l: 50.ft, diameter: "wide", p: 30.psi }]);
    /// t.pivot("l", "diameter", "p").names   // => ["l", "half", "wide"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pivot(table: Table, rows: &str, columns: &str, values: &str) -> Result<Table, Box<EvalAltResult>> {
        table.pivot(rows, columns, values).map_err(raise)
    }
}
