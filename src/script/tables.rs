//! Tables as scripts see them: rows as maps, columns with units, filters and groups by closures, files beside the script.
//!
//! The table itself is in `crate::table`.

use super::Context;
use super::calls::call_each;
use super::engine::context_of;
use super::error::{Answer, ScriptError, raise};
use super::hands::Job;
use super::quantities::{self, as_quantity, value_of};
use super::written::Written;
use crate::study::{Samples, Spreading};
use crate::table::{Best, Cell, Column, Growing, Join, Kind, Order, Sheet, Table};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, INT, Map};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A table has named columns; columns of quantities keep their unit. A closure sees a row as a map of its cells.
`table.rows` is the number of rows, `table.names` the list of columns, `table["length"]` the values of a column.

```hw
let t = table([#{ hose: "half", loss: 9.psi }, #{ hose: "five eighths", loss: 3.psi }]);
t.rows                                  // => 2
t["loss"]                               // => [9 psi, 3 psi]
t.filter(|r| r.loss < 5.psi).rows       // => 1
```
"#;

/// A table that shows all its rows.
#[derive(Clone, Debug)]
pub struct WholeTable(pub Table);

/// Registers the words of this area.
pub fn register(engine: &mut Engine, context: &Arc<Context>) {
    engine.register_type_with_name::<Table>("a table");
    engine.register_get("rows", |table: &mut Table| table.rows() as INT);
    engine.register_get("names", |table: &mut Table| table.names().into_iter().map(Dynamic::from).collect::<Array>());
    engine.register_indexer_get(|table: &mut Table, name: &str| -> Answer<Array> {
        table.column(name).map_err(raise)?.cells().map(|cell| cell_value(&cell)).collect()
    });
    let shared = context.clone();
    engine.register_fn("to_debug", move |table: Table| {
        let see_all = "show(table) shows all".to_string();
        table.show_on(&Sheet { system: shared.units(), width: Some(shared.width()), see_all, ..Sheet::default() })
    });
    engine.register_type_with_name::<WholeTable>("a table shown whole");
    for word in ["to_debug", "to_string"] {
        let shared = context.clone();
        engine.register_fn(word, move |table: WholeTable| {
            let sheet = Sheet { system: shared.units(), width: Some(shared.width()), rows: None, ..Sheet::default() };
            table.0.show_on(&sheet)
        });
    }
    engine.register_fn("to_string", |table: Table| format!("a table of {} rows", table.rows()));
    engine.register_global_module(exported_module!(words).into());
}

/// A cell as a script value; missing is `()`.
pub fn cell_value(cell: &Cell) -> Answer<Dynamic> {
    Ok(match cell {
        Cell::Missing => Dynamic::UNIT,
        Cell::Quantity(quantity) => return value_of(*quantity),
        Cell::Text(text) => text.clone().into(),
        Cell::Flag(flag) => (*flag).into(),
    })
}

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
    if let Ok(flag) = value.as_bool() {
        return Ok(Cell::Flag(flag));
    }
    let error = ScriptError::new(format!("{word}: column '{name}' cannot hold {}", quantities::describe(value)));
    Err(error.with_hint("a cell is a number, a quantity, a text, true or false, or () for missing").into())
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

/// What a word says to a value that is no map of columns.
pub fn no_map(value: &Dynamic, word: &str) -> ScriptError {
    let error = ScriptError::new(format!("{word}: expected a map of columns, found {}", quantities::describe(value)));
    error.with_hint("let the closure end with a map, as in #{ pressure: r.pressure(\"berry\") }")
}

/// What a closure says to each row, on all cores where it takes a while; `read` reads its answers.
fn for_each_row<T: Send>(
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

fn names_of(value: &Dynamic, word: &str) -> Answer<Vec<String>> {
    super::garden::as_names(value, word)
}

/// Columns and which end of each is wished for, from a list that has them in turn.
fn wishes(list: &Array) -> Answer<Vec<(String, Best)>> {
    let wrong = |what: String| ScriptError::new(what).with_hint("write [\"price\", \"lowest\", \"pressure\", \"highest\"]");
    let names: Vec<String> = list.iter().map(|item| Ok(names_of(item, "trade_off")?.remove(0))).collect::<Answer<_>>()?;
    if names.is_empty() || !names.len().is_multiple_of(2) {
        return Err(wrong("trade_off: every column needs \"lowest\" or \"highest\" behind it".into()).into());
    }
    let one = |pair: &[String]| match pair[1].as_str() {
        "lowest" => Ok((pair[0].clone(), Best::Lowest)),
        "highest" => Ok((pair[0].clone(), Best::Highest)),
        other => Err(wrong(format!("trade_off: '{}' cannot be \"{other}\"", pair[0])).into()),
    };
    names.chunks(2).map(one).collect()
}

/// A limit for the values of a column. Errors: no number, or one of another dimension.
fn a_limit(table: &Table, column: &str, value: &Dynamic, word: &str) -> Answer<crate::quantity::Quantity> {
    let limit = as_quantity(value).ok_or_else(|| {
        ScriptError::new(format!("{word}: the limit must be a number or quantity, found {}", quantities::describe(value)))
    })?;
    match table.kind(column).map_err(raise)? {
        Kind::Quantity { dimension, .. } if dimension != limit.dimension => {
            let what = format!("{word}: '{column}' holds {dimension}, but the limit is {}", limit.described());
            Err(ScriptError::new(what).with_hint("give the limit in a unit of the column, as in 30.psi").into())
        }
        _ => Ok(limit),
    }
}

/// Rows by chance: those whose random numbers are the smallest.
fn chosen_rows(call: &NativeCallContext, table: &Table, n: INT, seed: INT) -> Answer<Table> {
    let samples = Samples { n: table.rows(), seed: seed as u64, spreading: Spreading::Independent };
    context_of(call)?.draws(Some(samples));
    let mut rows: Vec<usize> = (0..table.rows()).collect();
    rows.sort_by(|a, b| samples.uniform(*a, 0).total_cmp(&samples.uniform(*b, 0)));
    rows.truncate(count(n));
    rows.sort_unstable();
    table.rows_at(&rows).map_err(raise)
}

fn count(n: INT) -> usize {
    usize::try_from(n).unwrap_or(0)
}

#[export_module]
mod words {
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

    /// The rows for which the closure says true.
    ///
    /// ```hw
    /// let t = table([#{ p: 20.psi }, #{ p: 40.psi }]);
    /// t.filter(|r| r.p > 30.psi)["p"]   // => [40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn filter(call: NativeCallContext, table: Table, keep: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let flags = for_each_row(&call, "filter", &table, &keep, |answer| {
            answer.as_bool().map_err(|_| {
                let found = quantities::describe(answer);
                ScriptError::new(format!("filter: the closure must say true or false, found {found}")).into()
            })
        })?;
        table.filter(&flags).map_err(raise)
    }

    /// The table sorted by a column, rising, or "falling"; missing cells last.
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

    /// Only the named columns, in that order.
    ///
    /// ```hw
    /// table([#{ a: 1, b: 2, c: 3 }]).select(["c", "a"]).names   // => ["c", "a"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn select(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let names = names_of(&columns, "select")?;
        table.select(&names.iter().map(String::as_str).collect::<Vec<_>>()).map_err(raise)
    }

    /// All but the named columns.
    ///
    /// ```hw
    /// table([#{ a: 1, b: 2, c: 3 }]).without("b").names   // => ["a", "c"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn without(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let names = names_of(&columns, "without")?;
        table.without(&names.iter().map(String::as_str).collect::<Vec<_>>()).map_err(raise)
    }

    /// The table with one column under another name.
    ///
    /// ```hw
    /// table([#{ a: 1 }]).renamed("a", "b").names   // => ["b"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn renamed(table: Table, from: &str, to: &str) -> Result<Table, Box<EvalAltResult>> {
        table.renamed(from, to).map_err(raise)
    }

    /// The table with a column more, computed for each row by a closure; a column of that name is replaced.
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
        table.with(column.into_columns().remove(0)).map_err(raise)
    }

    /// For each value of a column the rows that have it, made into one row by a closure that sees them as a table.
    ///
    /// ```hw
    /// let t = table([#{ bore: "half", p: 20.psi }, #{ bore: "half", p: 30.psi }, #{ bore: "five eighths", p: 40.psi }]);
    /// t.group_by("bore", |g| #{ worst: min(g["p"]) })["worst"]   // => [20 psi, 40 psi]
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

    /// The row with the highest value in a column, or the "lowest", as a table of one row.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 40.psi }, #{ pump: "large", p: 55.psi }]);
    /// t.best("p")["pump"]             // => ["large"]
    /// t.best("p", "lowest")["pump"]   // => ["small"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn best(table: Table, column: &str) -> Result<Table, Box<EvalAltResult>> {
        let row = table.best(column, Best::Highest).map_err(raise)?;
        table.rows_at(&[row]).map_err(raise)
    }

    #[rhai_fn(name = "best", return_raw)]
    pub fn best_of(table: Table, column: &str, which: &str) -> Result<Table, Box<EvalAltResult>> {
        let which = match which {
            "highest" => Best::Highest,
            "lowest" => Best::Lowest,
            _ => {
                return Err(ScriptError::new(format!("best: there is no choice \"{which}\""))
                    .with_hint("choose \"highest\" or \"lowest\"")
                    .into());
            }
        };
        let row = table.best(column, which).map_err(raise)?;
        table.rows_at(&[row]).map_err(raise)
    }

    /// The rows that no other beats in every wish, such as cheap and strong: the trade-off between them, ordered by the first wish.
    /// A wish is the name of a column with "lowest" or "highest".
    ///
    /// ```hw
    /// let t = table([#{ pump: "a", price: 90, p: 40 }, #{ pump: "b", price: 95, p: 38 }, #{ pump: "c", price: 150, p: 55 }]);
    /// t.trade_off(["price", "lowest", "p", "highest"])["pump"]   // => ["a", "c"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn trade_off(table: Table, wishes: Array) -> Result<Table, Box<EvalAltResult>> {
        let wishes = super::wishes(&wishes)?;
        let wishes: Vec<(&str, Best)> = wishes.iter().map(|(name, best)| (name.as_str(), *best)).collect();
        table.front(&wishes).map_err(raise)
    }

    /// Mean, standard deviation and percentiles of a column of samples.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).even_samples(1024), |case| case.x);
    /// t.spread("value").row(6).value   // => 50.02 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn spread(table: Table, column: &str) -> Result<Table, Box<EvalAltResult>> {
        table.spread(column).map_err(raise)
    }

    /// How likely a sampled value lies below a limit, with its standard error; samples without a value are counted apart.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).even_samples(1024), |case| case.x);
    /// t.chance_below("value", 25.psi)["chance"]   // => [0.25]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn chance_below(table: Table, column: &str, limit: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table
            .chance_below(column, a_limit(&table, column, &limit, "chance_below")?)
            .and_then(|chance| chance.table())
            .map_err(raise)
    }

    /// How likely a sampled value lies above a limit; see `chance_below`.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).even_samples(1024), |case| case.x);
    /// t.chance_above("value", 90.psi)["chance"]   // => [0.0996094]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn chance_above(table: Table, column: &str, limit: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table
            .chance_above(column, a_limit(&table, column, &limit, "chance_above")?)
            .and_then(|chance| chance.table())
            .map_err(raise)
    }

    /// Some rows by chance, in their order: a part of a long table to look at or to draw. The seed is 1 unless said.
    ///
    /// ```hw
    /// let t = sweep(vary("x", steps(1, 1000, 1)), |case| case.x);
    /// t.some_rows(10).rows      // => 10
    /// t.some_rows(10, 7).rows   // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn some_rows(call: NativeCallContext, table: Table, n: INT) -> Result<Table, Box<EvalAltResult>> {
        chosen_rows(&call, &table, n, 1)
    }

    #[rhai_fn(name = "some_rows", return_raw)]
    pub fn some_rows_from(call: NativeCallContext, table: Table, n: INT, seed: INT) -> Result<Table, Box<EvalAltResult>> {
        chosen_rows(&call, &table, n, seed)
    }

    /// A row as a map of its cells; the first is number 0.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).row(0).p   // => 40 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn row(table: Table, number: INT) -> Result<Map, Box<EvalAltResult>> {
        let index =
            usize::try_from(number).map_err(|_| ScriptError::new(format!("row: there is no row {number}; the first is 0")))?;
        row_map(table.row(index).map_err(raise)?)
    }

    /// The first rows.
    ///
    /// ```hw
    /// table([#{ a: 1 }, #{ a: 2 }, #{ a: 3 }]).head_rows(2).rows   // => 2
    /// ```
    pub fn head_rows(table: Table, n: INT) -> Table {
        table.head(count(n))
    }

    /// The last rows.
    ///
    /// ```hw
    /// table([#{ a: 1 }, #{ a: 2 }, #{ a: 3 }]).tail_rows(1)["a"]   // => [3]
    /// ```
    pub fn tail_rows(table: Table, n: INT) -> Table {
        table.tail(count(n))
    }

    /// The rows of two tables of the same columns, one under the other.
    ///
    /// ```hw
    /// table([#{ a: 1 }]).append(table([#{ a: 2 }])).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn append(table: Table, other: Table) -> Result<Table, Box<EvalAltResult>> {
        table.append(&other).map_err(raise)
    }

    /// Rows of two tables that agree in a column, side by side.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.dollars }]);
    /// table([#{ pump: "small", p: 40.psi }]).join(prices, "pump")["price"]   // => [$90.00]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn join(table: Table, other: Table, on: &str) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, on, Join::Inner).map_err(raise)
    }

    /// All rows of the first table, each with the cells of the second that agree in a column, missing where none does.
    ///
    /// ```hw
    /// let prices = table([#{ pump: "small", price: 90.dollars }]);
    /// table([#{ pump: "small" }, #{ pump: "large" }]).join_all(prices, "pump")["price"]   // => [$90.00, ()]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn join_all(table: Table, other: Table, on: &str) -> Result<Table, Box<EvalAltResult>> {
        table.join(&other, on, Join::Left).map_err(raise)
    }

    /// The table in Markdown, with all its rows, to be copied into a report.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).markdown()   // => | p (psi) |
    /// // => | ---: |
    /// // => | 40 |
    /// ```
    #[rhai_fn(return_raw)]
    pub fn markdown(call: NativeCallContext, table: Table) -> Result<String, Box<EvalAltResult>> {
        table.show_markdown(context_of(&call)?.units()).map_err(raise)
    }

    /// One row for each value of the first column, one column for each value of the second, filled from the third.
    ///
    /// ```hw
    /// let t = table([#{ l: 50.ft, bore: "half", p: 20.psi }, #{ l: 50.ft, bore: "wide", p: 30.psi }]);
    /// t.pivot("l", "bore", "p").names   // => ["l", "half", "wide"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pivot(table: Table, rows: &str, columns: &str, values: &str) -> Result<Table, Box<EvalAltResult>> {
        table.pivot(rows, columns, values).map_err(raise)
    }

    /// Count, mean, spread and quartiles of each column.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }, #{ p: 20.psi }]).describe().rows   // => 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn describe(call: NativeCallContext, table: Table) -> Result<Table, Box<EvalAltResult>> {
        table.describe_table(context_of(&call)?.units()).map_err(raise)
    }

    /// A table with all its rows, however many.
    ///
    /// ```hw
    /// show(table([#{ p: 40.psi }]))   // =>     p
    /// // => (psi)
    /// // => -----
    /// // =>    40
    /// ```
    #[rhai_fn(name = "show")]
    pub fn show_whole(table: Table) -> WholeTable {
        WholeTable(table)
    }

    /// Writes a table beside the script as .csv, .parquet, .json or .md, with the units in the heads of the columns.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv")   // => saved pressures.csv
    /// ```
    #[rhai_fn(return_raw)]
    pub fn save(call: NativeCallContext, table: Table, file: &str) -> Result<String, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        if let Some(left_out) = context.leaves_out(file) {
            return Ok(left_out);
        }
        let path = context.folder.file(file).map_err(raise)?;
        table.write(&path, context.units()).map_err(raise)?;
        Ok(format!("saved {file}"))
    }

    /// Reads a table from a .csv or .parquet file beside the script; a head such as `length [ft]` gives the unit.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv");
    /// read_table("pressures.csv")["p"]   // => [40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn read_table(call: NativeCallContext, file: &str) -> Result<Table, Box<EvalAltResult>> {
        let path = context_of(&call)?.folder.file(file).map_err(raise)?;
        Table::read(&path).map_err(raise)
    }
}
