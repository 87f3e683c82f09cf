//! Words that make, choose, sort and join rows.
//!
//! Words that make other columns are in `columns.rs`.

use super::calculated::operand;
use super::cells::{as_written, for_each_row, map_row, order_written, refs, row_map};

use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::key_order::Written;
use crate::script::language::values::{self, as_names};
use crate::study::{Samples, Spreading};
use crate::table::{Join, Operand, Order, Table, TableColumn};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, INT, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A table from a list of rows, each a map of cells; or from columns, each a list: in a map, or as a list of names with them. The columns come
    /// as they are written.
    ///
    /// ```hw
    /// table([#{ zone: "beds", minutes: 20.min }, #{ zone: "berries", minutes: 15.min }]).rows   // => 2
    /// table(#{ zone: ["beds", "berries"], minutes: [20.min, 15.min] }).names                    // => ["zone", "minutes"]
    /// table([["zone", ["beds", "berries"]], ["minutes", [20.min, 15.min]]]).names               // => ["zone", "minutes"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn table(call: NativeCallContext, rows: Array) -> Result<Table, Box<EvalAltResult>> {
        if rows.first().is_some_and(|first| first.is::<Array>()) {
            return of_columns(rows.iter().enumerate().map(named_column).collect::<Answer<_>>()?);
        }
        let written = match rows.first().and_then(|first| first.read_lock::<Map>()) {
            Some(first) => order_written(&call, &first)?,
            None => Written::default(),
        };
        let rows = rows.iter().map(|row| map_row(row, "table", &written)).collect::<Result<_, _>>()?;
        Table::from_rows(rows).map_err(raise)
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_columns(call: NativeCallContext, columns: Map) -> Result<Table, Box<EvalAltResult>> {
        of_columns(as_written(&call, columns)?)
    }

    /// A new table of the rows in which a comparison of columns is true, or for which a closure gives true.
    ///
    /// ```hw
    /// let t = table([#{ p: 20.psi }, #{ p: 40.psi }]);
    /// t.filter(t["p"] > 30.psi)["p"]    // => [40 psi]
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

    #[rhai_fn(name = "filter", return_raw)]
    pub fn filter_by_column(table: Table, keep: TableColumn) -> Result<Table, Box<EvalAltResult>> {
        table.filter_by(&keep).map_err(|error| raise_about(error, "keep"))
    }

    /// A new table sorted by a column, rising, or "falling"; by several columns, each with its order, where the first is equal. Missing cells last.
    ///
    /// ```hw
    /// let t = table(#{ p: [40.psi, 20.psi, 30.psi], bore: ["half", "half", "wide"] });
    /// t.sort_by("p")["p"]              // => [20 psi, 30 psi, 40 psi]
    /// t.sort_by("p", "falling")["p"]   // => [40 psi, 30 psi, 20 psi]
    /// t.sort_by(["bore", "p"])["p"]    // => [20 psi, 40 psi, 30 psi]
    /// t.sort_by(["bore", "p"], ["falling", "rising"])["p"]   // => [30 psi, 20 psi, 40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sort_by(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        sorted(&table, &columns, &["rising".into()])
    }

    #[rhai_fn(name = "sort_by", return_raw)]
    pub fn sort_by_order(table: Table, columns: Dynamic, order: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        sorted(&table, &columns, &as_names(&order, "sort_by")?)
    }

    /// The first row of each different value of a column, of each different set of values of several, or of all. Of a column: its different values.
    ///
    /// ```hw
    /// let t = table(#{ bore: ["half", "half", "wide"], zone: ["a", "b", "a"] });
    /// t.unique("bore").rows             // => 2
    /// t.unique(["bore", "zone"]).rows   // => 3
    /// t["zone"].unique()                // => ["a", "b"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn unique(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.distinct(&refs(&as_names(&columns, "unique")?)).map_err(raise)
    }

    #[rhai_fn(name = "unique", return_raw)]
    pub fn unique_rows(table: Table) -> Result<Table, Box<EvalAltResult>> {
        table.distinct(&refs(&table.names())).map_err(raise)
    }

    #[rhai_fn(name = "unique", return_raw)]
    pub fn unique_cells(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        let only = Table::of_series(vec![("cells".into(), column)]).and_then(|table| table.distinct(&["cells"]));
        only.and_then(|table| table.series("cells")).map_err(raise)
    }

    #[rhai_fn(name = "drop_missing", return_raw)]
    pub fn drop_rows(table: Table) -> Result<Table, Box<EvalAltResult>> {
        table.drop_missing(&refs(&table.names())).map_err(raise)
    }

    #[rhai_fn(name = "drop_missing", return_raw)]
    pub fn drop_rows_by(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.drop_missing(&refs(&as_names(&columns, "drop_missing")?)).map_err(raise)
    }

    /// The rows of several tables, one below the other (stack); a cell is missing where a table has no such column.
    ///
    /// ```hw
    /// concat([table(#{ month: ["Jun"], lawn: [3] }), table(#{ month: ["Jul"], beds: [5] })])["beds"]   // => [(), 5]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn concat(tables: Array) -> Result<Table, Box<EvalAltResult>> {
        let one = |value: Dynamic| {
            let found = values::describe(&value);
            value
                .try_cast::<Table>()
                .ok_or_else(|| ScriptError::new(format!("concat takes a list of tables, found {found}")).into())
        };
        Table::stacked(&tables.into_iter().map(one).collect::<Answer<Vec<_>>>()?).map_err(raise)
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

    /// The rows of two tables with the same columns, one below the other; or a table and one row, a map in which columns may be left out.
    ///
    /// ```hw
    /// table(#{ zone: ["beds"], p: [40.psi] }).append(#{ zone: "lawn" })["p"]   // => [40 psi, ()]
    /// table([#{ a: 1 }]).append(table([#{ a: 2 }])).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn append(table: Table, other: Table) -> Result<Table, Box<EvalAltResult>> {
        table.append(&other).map_err(raise)
    }

    #[rhai_fn(name = "append", return_raw)]
    pub fn append_row(table: Table, row: Map) -> Result<Table, Box<EvalAltResult>> {
        let row = map_row(&row.into(), "append", &Written::default())?;
        row.iter().try_for_each(|(name, _)| table.kind(name).map(drop)).map_err(raise)?;
        let row = Table::from_rows(vec![row]).map_err(raise)?;
        Table::stacked(&[table, row]).map_err(raise)
    }

    /// Joins two tables: rows with the same value in a column, or in several, side by side.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.USD }]);
    /// table([#{ pump: "small", p: 40.psi }]).join(prices, "pump")["price"]   // => [$90.00]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn join(table: Table, other: Table, on: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, &refs(&as_names(&on, "join")?), Join::Inner).map_err(raise)
    }

    /// Joins two tables and keeps all rows of the first: with the cells of the second that have the same value in a column, or in several,
    /// missing if there is none.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.USD }]);
    /// table([#{ pump: "small" }, #{ pump: "large" }]).left_join(prices, "pump")["price"]   // => [$90.00, ()]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn left_join(table: Table, other: Table, on: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, &refs(&as_names(&on, "left_join")?), Join::Left).map_err(raise)
    }

    /// Joins two tables and keeps all rows of both: rows of the second that have no partner come last, and what they have not is missing.
    ///
    /// ```hw
    /// let prices = table(#{ pump: ["small", "tiny"], price: [90.USD, 60.USD] });
    /// table(#{ pump: ["small", "large"] }).outer_join(prices, "pump")["pump"]   // => ["small", "large", "tiny"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn outer_join(table: Table, other: Table, on: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, &refs(&as_names(&on, "outer_join")?), Join::Outer).map_err(raise)
    }

    /// The rows of a table that have no partner in another: no row there has the same value in a column, or in several.
    ///
    /// ```hw
    /// let prices = table(#{ pump: ["small"], price: [90.USD] });
    /// table(#{ pump: ["small", "large"] }).anti_join(prices, "pump")["pump"]   // => ["large"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn anti_join(table: Table, other: Table, on: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, &refs(&as_names(&on, "anti_join")?), Join::Anti).map_err(raise)
    }
}

/// A column of a list, by its place: its name and its cells.
fn named_column((place, value): (usize, &Dynamic)) -> Answer<(String, Dynamic)> {
    let pair = value.read_lock::<Array>().filter(|pair| pair.len() == 2).map(|pair| (pair[0].clone(), pair[1].clone()));
    let named = pair.and_then(|(name, cells)| Some((name.as_immutable_string_ref().ok()?.to_string(), cells)));
    named.ok_or_else(|| {
        let error = ScriptError::new(format!("table: column {} of the list is not a name with a list", place + 1));
        error.with_hint("write [\"zone\", [\"beds\", \"lawn\"]] for each column").about("rows").into()
    })
}

fn of_columns(columns: Vec<(String, Dynamic)>) -> Answer<Table> {
    let column = |(name, value): (String, Dynamic)| match operand(&value, "table")? {
        Operand::Column(series) => Ok((name, series)),
        Operand::Value(_) => {
            let error = ScriptError::new(format!("table: column '{name}' must be a list, found {}", values::describe(&value)));
            Err(error
                .with_hint("write table(#{ zone: [\"beds\", \"lawn\"], p: [{30.psi|2.bar}, {40.psi|3.bar}] })")
                .about("columns")
                .into())
        }
    };
    Table::of_series(columns.into_iter().map(column).collect::<Answer<_>>()?).map_err(raise)
}

/// A table sorted by columns, each in its order or all in one.
fn sorted(table: &Table, columns: &Dynamic, orders: &[String]) -> Answer<Table> {
    let names = as_names(columns, "sort_by")?;
    if orders.len() != 1 && orders.len() != names.len() {
        let error = ScriptError::new(format!("sort_by: {} orders for {} columns", orders.len(), names.len()));
        return Err(error.with_hint("give one order for all columns, or one for each").about("order").into());
    }
    let one = |(place, name): (usize, &String)| {
        let order = &orders[if orders.len() == 1 { 0 } else { place }];
        match order.as_str() {
            "rising" | "ascending" => Ok((name.clone(), Order::Rising)),
            "falling" | "descending" => Ok((name.clone(), Order::Falling)),
            _ => {
                let error = ScriptError::new(format!("sort_by: there is no order \"{order}\""));
                Err(error.with_hint("choose \"rising\" or \"falling\"").into())
            }
        }
    };
    let keys = names.iter().enumerate().map(one).collect::<Answer<Vec<_>>>()?;
    table.sort_by_all(&keys.iter().map(|(name, order)| (name.as_str(), *order)).collect::<Vec<_>>()).map_err(raise)
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
