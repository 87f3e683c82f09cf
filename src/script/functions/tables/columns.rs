//! Words that choose and make columns: by name, by a closure for each row or group, from the values of another column.

use super::calculated::operand;
use super::cells::{as_written, for_each_row, map_row, refs, value_cell};
use crate::script::language::calls::call_each;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::key_order::Written;
use crate::script::language::values::{as_names, describe, expect_number};
use crate::table::{Aggregate, Cell, Column, Growing, Operand, Table, TableColumn, Wanted};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Map};

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
        table.select(&refs(&names)).map_err(raise)
    }

    /// A new table without the named columns.
    ///
    /// ```hw
    /// table([#{ a: 1, b: 2, c: 3 }]).without("b").names   // => ["a", "c"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn without(table: Table, columns: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let names = as_names(&columns, "without")?;
        table.without(&refs(&names)).map_err(raise)
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

    /// A new table with one more column: calculated with columns, computed for each row by a closure, a list, or one value for all rows.
    /// A column of that name is replaced.
    ///
    /// ```hw
    /// let t = table([#{ p: 40.psi }, #{ p: 20.psi }]);
    /// t.with("margin", t["p"] - 30.psi)["margin"]    // => [10 psi, -10 psi]
    /// t.with("margin", |r| r.p - 30.psi)["margin"]   // => [10 psi, -10 psi]
    /// t.with("zone", "beds")["zone"]                 // => ["beds", "beds"]
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

    #[rhai_fn(name = "with", return_raw)]
    pub fn with_column(table: Table, name: &str, value: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let series = match operand(&value, "with")? {
            Operand::Column(series) => series,
            Operand::Value(Cell::Text(text)) if is_formula(&text, &table.names()) => {
                let error = ScriptError::new(format!("with: the string \"{text}\" is not calculated")).about("value");
                return Err(error.with_hint("calculate with columns, as in t.with(\"margin\", t[\"p\"] * 2)").into());
            }
            Operand::Value(cell) => TableColumn::of_cells(name, vec![cell; table.rows()]).map_err(raise)?,
        };
        table.with_series(name, &series).map_err(raise)
    }

    /// A long table of a wide one: a row for each cell of the columns that are not kept, with the name of its column and its value.
    ///
    /// ```hw
    /// let t = table(#{ month: ["Jun", "Jul"], beds: [30.gal, 40.gal], lawn: [80.gal, 95.gal] });
    /// t.unpivot("month", "zone", "water").names   // => ["month", "zone", "water"]
    /// t.unpivot("month", "zone", "water").rows    // => 4
    /// ```
    #[rhai_fn(return_raw)]
    pub fn unpivot(table: Table, kept: Dynamic, names: &str, values: &str) -> Result<Table, Box<EvalAltResult>> {
        table.unpivot(&refs(&as_names(&kept, "unpivot")?), names, values).map_err(raise)
    }

    /// Groups the rows by the values of a column, or of several, and makes one row of each group. A map gives the new columns: the name
    /// of a column with "sum", "mean", "min", "max", "median", "sd", "count", "first", "last", or "quantile" and a fraction; or a closure
    /// makes the row of the group, which it gets as a table. The new columns come as they are written; a list such as `["lowest", "p", "min"]` of
    /// each will do, too.
    ///
    /// ```hw
    /// let t = table([#{ diameter: "half", p: 20.psi }, #{ diameter: "half", p: 30.psi }, #{ diameter: "five eighths", p: 40.psi }]);
    /// t.group_by("diameter", #{ lowest: ["p", "min"], n: ["p", "count"] })["lowest"]   // => [20 psi, 40 psi]
    /// t.group_by("diameter", #{ high: ["p", "quantile", 0.5] })["high"]                // => [25 psi, 40 psi]
    /// t.group_by("diameter", [["n", "p", "count"], ["lowest", "p", "min"]]).names       // => ["diameter", "n", "lowest"]
    /// t.group_by("diameter", |g| #{ range: g["p"].max() - g["p"].min() })["range"]     // => [10 psi, 0 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn group_by(
        call: NativeCallContext,
        table: Table,
        columns: Dynamic,
        closure: FnPtr,
    ) -> Result<Table, Box<EvalAltResult>> {
        let names = as_names(&columns, "group_by")?;
        let groups = table.groups(&refs(&names)).map_err(raise)?;
        let answers = call_each(&call, &closure, groups.iter().map(|group| Ok(Dynamic::from(group.clone()))))?;
        let written = Written::in_closure(&closure, call.global_runtime_state());
        let mut rows = Vec::with_capacity(groups.len());
        for (group, answer) in groups.into_iter().zip(answers) {
            let key = |name: &String| Ok((name.clone(), group.cell(0, name).map_err(raise)?));
            let mut row = names.iter().map(key).collect::<Answer<Vec<_>>>()?;
            row.extend(map_row(&answer, "group_by", &written)?.into_iter().filter(|(name, _)| !names.contains(name)));
            rows.push(row);
        }
        Table::from_rows(rows).map_err(raise)
    }

    #[rhai_fn(name = "group_by", return_raw)]
    pub fn group_by_aggregates(
        call: NativeCallContext,
        table: Table,
        columns: Dynamic,
        wanted: Map,
    ) -> Result<Table, Box<EvalAltResult>> {
        grouped(&table, &columns, &wishes_of(&call, wanted, "group_by")?)
    }

    #[rhai_fn(name = "group_by", return_raw)]
    pub fn group_by_listed(table: Table, columns: Dynamic, wanted: Array) -> Result<Table, Box<EvalAltResult>> {
        grouped(&table, &columns, &wishes_in(&wanted, "group_by")?)
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

fn grouped(table: &Table, columns: &Dynamic, wishes: &[Wish]) -> Answer<Table> {
    let names = as_names(columns, "group_by")?;
    table.aggregated(&refs(&names), &as_wanted(wishes)).map_err(raise)
}

/// A new column with the column and the aggregate that it is made of.
pub type Wish = (String, String, Aggregate);

/// Wishes as the tables take them.
pub fn as_wanted(wishes: &[Wish]) -> Vec<Wanted<'_>> {
    wishes.iter().map(|(name, column, what)| (name.as_str(), column.as_str(), *what)).collect()
}

/// The wishes of a map, in the order in which the script writes them.
pub fn wishes_of(call: &NativeCallContext, map: Map, word: &str) -> Answer<Vec<Wish>> {
    let one = |(name, value): (String, Dynamic)| {
        let list = value.read_lock::<Array>().map(|list| list.clone()).unwrap_or_default();
        let (column, what) = wish(&name, &list, "[\"p\", \"min\"], [\"p\", \"count\"] or [\"p\", \"quantile\", 0.9]", word)?;
        Ok((name, column, what))
    };
    as_written(call, map)?.into_iter().map(one).collect()
}

/// The wishes of a list: of each a list with the new name, the column and what is asked of it.
pub fn wishes_in(list: &Array, word: &str) -> Answer<Vec<Wish>> {
    let one = |value: &Dynamic| {
        let items = value.read_lock::<Array>().map(|items| items.clone()).unwrap_or_default();
        let name = items.first().and_then(|name| name.as_immutable_string_ref().ok().map(|name| name.to_string()));
        let Some(name) = name else {
            let what = format!("{word}: a new column needs a name, a column and what is asked of it, found {}", describe(value));
            return Err(ScriptError::new(what).with_hint("write [\"lowest\", \"p\", \"min\"] for each").about("wanted").into());
        };
        let form = "[\"lowest\", \"p\", \"min\"] or [\"high\", \"p\", \"quantile\", 0.9]";
        let (column, what) = wish(&name, &items[1..], form, word)?;
        Ok((name, column, what))
    };
    list.iter().map(one).collect()
}

/// True for a text that calculates with a column, such as `a * 2` or `=a+b`, rather than naming something.
fn is_formula(text: &str, columns: &[String]) -> bool {
    let text = text.trim();
    let mut pieces =
        text.trim_start_matches('=').split(['+', '-', '*', '/', '(', ')']).map(str::trim).filter(|piece| !piece.is_empty());
    let calculates =
        text.starts_with('=') || text.contains(" * ") || text.contains(" + ") || text.contains(" / ") || text.contains(" - ");
    let is_column = |piece: &str| columns.iter().any(|name| name == piece);
    let known = |piece: &str| is_column(piece) || piece.parse::<f64>().is_ok();
    calculates && pieces.clone().any(is_column) && pieces.all(known)
}

/// The column and the aggregate in `["p", "min"]` or `["p", "quantile", 0.9]`; `form` says how the whole is written.
fn wish(name: &str, list: &[Dynamic], form: &str, word: &str) -> Answer<(String, Aggregate)> {
    let text = |value: &Dynamic| value.as_immutable_string_ref().map(|text| text.to_string()).ok();
    let found = list.first().and_then(text).zip(list.get(1).and_then(text));
    match (found, list.get(2)) {
        (Some((column, word)), None) if word != "quantile" => Ok((column, Aggregate::of_name(&word).map_err(raise)?)),
        (Some((column, word)), Some(fraction)) if word == "quantile" && list.len() == 3 => {
            Ok((column, Aggregate::Quantile(expect_number(fraction, &format!("{word}: fraction"))?)))
        }
        _ => {
            let what = format!("{word}: the new column '{name}' needs a column and what is asked of it");
            Err(ScriptError::new(what).with_hint(format!("write {form}")).about("wanted").into())
        }
    }
}
