//! Words that make, choose, sort and join rows.
//!
//! Words that make other columns are in `columns.rs`.

use super::cells::{for_each_row, map_row, row_map};

use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::key_order::Written;
use crate::script::language::values;
use crate::study::{Samples, Spreading};
use crate::table::{Join, Order, Table};
use rhai::plugin::*;
use rhai::{Array, EvalAltResult, FnPtr, INT, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A table from a list of rows, each a map of cells.
    ///
    /// ```hw
    /// table([#{ zone: "beds", minutes: 20.min }, #{ zone: "berries", minutes: 15.min }]).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn table(rows: Array) -> Result<Table, Box<EvalAltResult>> {
        let rows = rows.iter().map(|row| map_row(row, "table", &Written::default())).collect::<Result<_, _>>()?;
        Table::from_rows(rows).map_err(raise)
    }

    /// A new table of the rows for which a closure gives true.
    ///
    /// ```hw
    /// let t = table([#{ p: 20.psi }, #{ p: 40.psi }]);
    /// t.filter(|r| r.p > 30.psi)["p"]   // => [40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn filter(call: NativeCallContext, table: Table, keep: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let flags = for_each_row(&call, "filter", &table, &keep, |answer| {
            answer.as_bool().map_err(|_| {
                let found = values::describe(answer);
                ScriptError::new(format!("filter: the closure must give true or false, found {found}")).into()
            })
        })?;
        table.filter(&flags).map_err(raise)
    }

    /// A new table sorted by a column, rising, or "falling"; missing cells last.
    ///
    /// ```hw
    /// let t = table([#{ p: 40.psi }, #{ p: 20.psi }, #{ p: 30.psi }]);
    /// t.sort_by("p")["p"]              // => [20 psi, 30 psi, 40 psi]
    /// t.sort_by("p", "falling")["p"]   // => [40 psi, 30 psi, 20 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sort_by(table: Table, column: &str) -> Result<Table, Box<EvalAltResult>> {
        table.sort_by(column, Order::Rising).map_err(raise)
    }

    #[rhai_fn(name = "sort_by", return_raw)]
    pub fn sort_by_order(table: Table, column: &str, order: &str) -> Result<Table, Box<EvalAltResult>> {
        let order = match order {
            "rising" => Order::Rising,
            "falling" => Order::Falling,
            _ => {
                return Err(ScriptError::new(format!("sort_by: there is no order \"{order}\""))
                    .with_hint("choose \"rising\" or \"falling\"")
                    .into());
            }
        };
        table.sort_by(column, order).map_err(raise)
    }

    /// A row as a map of its cells; the first is number 0.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).row(0).p   // => 40 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn row(table: Table, number: INT) -> Result<Map, Box<EvalAltResult>> {
        let index = usize::try_from(number)
            .map_err(|_| ScriptError::new(format!("row: there is no row {number}; the first is 0")).about("number"))?;
        row_map(table.row(index).map_err(|error| raise_about(error, "number"))?)
    }

    /// The first rows.
    ///
    /// ```hw
    /// table([#{ a: 1 }, #{ a: 2 }, #{ a: 3 }]).first_rows(2).rows   // => 2
    /// ```
    pub fn first_rows(table: Table, n: INT) -> Table {
        table.head(count(n))
    }

    /// The last rows.
    ///
    /// ```hw
    /// table([#{ a: 1 }, #{ a: 2 }, #{ a: 3 }]).last_rows(1)["a"]   // => [3]
    /// ```
    pub fn last_rows(table: Table, n: INT) -> Table {
        table.tail(count(n))
    }

    /// Random rows of a table, in their order, for display or a chart of a long table. Default seed 1.
    ///
    /// ```hw
    /// let t = sweep(vary("x", steps(1, 1000, 1)), |case| case.x);
    /// t.sample_rows(10).rows      // => 10
    /// t.sample_rows(10, 7).rows   // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sample_rows(call: NativeCallContext, table: Table, n: INT) -> Result<Table, Box<EvalAltResult>> {
        chosen_rows(&call, &table, n, 1)
    }

    #[rhai_fn(name = "sample_rows", return_raw)]
    pub fn some_rows_from(call: NativeCallContext, table: Table, n: INT, seed: INT) -> Result<Table, Box<EvalAltResult>> {
        chosen_rows(&call, &table, n, seed)
    }

    /// The rows of two tables with the same columns, one below the other.
    ///
    /// ```hw
    /// table([#{ a: 1 }]).append(table([#{ a: 2 }])).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn append(table: Table, other: Table) -> Result<Table, Box<EvalAltResult>> {
        table.append(&other).map_err(raise)
    }

    /// Joins two tables: rows with the same value in a column, side by side.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.USD }]);
    /// table([#{ pump: "small", p: 40.psi }]).join(prices, "pump")["price"]   // => [$90.00]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn join(table: Table, other: Table, on: &str) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, on, Join::Inner).map_err(raise)
    }

    /// Joins two tables and keeps all rows of the first: with the cells of the second that have the same value in a column, missing if there is none.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.USD }]);
    /// table([#{ pump: "small" }, #{ pump: "large" }]).left_join(prices, "pump")["price"]   // => [$90.00, ()]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn left_join(table: Table, other: Table, on: &str) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, on, Join::Left).map_err(raise)
    }
}

/// Random rows: those whose random numbers are the smallest.
fn chosen_rows(call: &NativeCallContext, table: &Table, n: INT, seed: INT) -> Answer<Table> {
    let samples = Samples { n: table.rows(), seed: seed as u64, spreading: Spreading::Independent };
    context_of(call)?.note_samples(Some(samples));
    let mut rows: Vec<usize> = (0..table.rows()).collect();
    rows.sort_by(|a, b| samples.uniform(*a, 0).total_cmp(&samples.uniform(*b, 0)));
    rows.truncate(count(n));
    rows.sort_unstable();
    table.rows_at(&rows).map_err(raise)
}

fn count(n: INT) -> usize {
    usize::try_from(n).unwrap_or(0)
}
