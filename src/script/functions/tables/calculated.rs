//! A column of a table as a value: arithmetic and comparisons with it, its sum and mean, cells that are missing.
//!
//! The calculations are in `crate::table`; where a function takes a list, a column will do (`language/as_lists.rs`).

use super::cells::value_cell;
use crate::quantity::show_number_with;
use crate::script::functions::quantities::NUMBER_DIGITS;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{cell_value, column_list, expect_number};
use crate::table::{Aggregate, Arithmetic, Cell, Comparison, Logic, Operand, TableColumn};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};

/// Columns up to this many cells are shown whole, others by their first and last ones.
const MOST_SHOWN: usize = 100;
const FIRST_SHOWN: usize = 10;
const LAST_SHOWN: usize = 3;

/// Registers the type, its operators and functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<TableColumn>("a column");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, series: TableColumn| shown(&call, &series));
    }
    engine.register_get("len", |series: &mut TableColumn| series.len() as INT);
    engine.register_get("name", |series: &mut TableColumn| series.name().to_string());
    engine.register_indexer_get(|series: &mut TableColumn, row: INT| -> Answer<Dynamic> {
        let from_end = |row: INT| usize::try_from(row.unsigned_abs()).ok().and_then(|back| series.len().checked_sub(back));
        let place = if row < 0 { from_end(row) } else { usize::try_from(row).ok() }.filter(|place| *place < series.len());
        let place = place.ok_or_else(|| {
            let error = ScriptError::new(format!("there is no cell {row} in a column of {} cells", series.len()));
            error.with_hint("cells are numbered from 0; -1 is the last")
        })?;
        cell_value(&series.cell(place))
    });
    let mut iterators = Module::new();
    iterators.set_iter_result(std::any::TypeId::of::<TableColumn>(), |column| {
        let series = column.cast::<TableColumn>();
        Box::new((0..series.len()).map(move |row| cell_value(&series.cell(row))))
    });
    engine.register_global_module(iterators.into());
    operator(engine, "+", |a, b| TableColumn::calculate(Arithmetic::Plus, a, b));
    operator(engine, "-", |a, b| TableColumn::calculate(Arithmetic::Minus, a, b));
    operator(engine, "*", |a, b| TableColumn::calculate(Arithmetic::Times, a, b));
    operator(engine, "/", |a, b| TableColumn::calculate(Arithmetic::Over, a, b));
    operator(engine, "<", |a, b| TableColumn::compare(Comparison::Less, a, b));
    operator(engine, "<=", |a, b| TableColumn::compare(Comparison::LessOrEqual, a, b));
    operator(engine, ">", |a, b| TableColumn::compare(Comparison::Greater, a, b));
    operator(engine, ">=", |a, b| TableColumn::compare(Comparison::GreaterOrEqual, a, b));
    operator(engine, "==", |a, b| TableColumn::compare(Comparison::Equal, a, b));
    operator(engine, "!=", |a, b| TableColumn::compare(Comparison::NotEqual, a, b));
    operator(engine, "&", |a, b| TableColumn::combine(Logic::And, a, b));
    operator(engine, "|", |a, b| TableColumn::combine(Logic::Or, a, b));
    engine.register_fn("!", |column: TableColumn| -> Answer<TableColumn> { column.negation().map_err(raise) });
    engine.register_fn("-", |column: TableColumn| -> Answer<TableColumn> {
        let minus = Operand::Value(Cell::number(-1.0));
        TableColumn::calculate(Arithmetic::Times, &Operand::Column(column), &minus).map_err(raise)
    });
    engine.register_global_module(exported_module!(functions).into());
}

type Law = fn(&Operand, &Operand) -> Result<TableColumn, crate::table::TableError>;

/// An operator between a column and a column, a list or a single value.
fn operator(engine: &mut Engine, name: &'static str, law: Law) {
    let apply = move |a: Operand, b: Operand| -> Answer<TableColumn> { law(&a, &b).map_err(raise) };
    engine
        .register_fn(name, move |a: TableColumn, b: TableColumn| apply(Operand::Column(a), Operand::Column(b)))
        .register_fn(name, move |a: TableColumn, b: Dynamic| apply(Operand::Column(a), operand(&b, name)?))
        .register_fn(name, move |a: Dynamic, b: TableColumn| apply(operand(&a, name)?, Operand::Column(b)));
}

/// A script value as one side of a calculation: a column, a list with a value for each row, or one value for all.
pub fn operand(value: &Dynamic, word: &str) -> Answer<Operand> {
    if let Some(series) = value.read_lock::<TableColumn>() {
        return Ok(Operand::Column(series.clone()));
    }
    if let Some(list) = value.read_lock::<Array>() {
        return Ok(Operand::Column(list_column("list", &list, word)?));
    }
    Ok(Operand::Value(value_cell(value, word, "value")?))
}

/// A list as a column.
pub fn list_column(name: &str, list: &Array, word: &str) -> Answer<TableColumn> {
    let cells = list.iter().map(|value| value_cell(value, word, name)).collect::<Answer<Vec<_>>>()?;
    TableColumn::of_cells(name, cells).map_err(raise)
}

fn shown(call: &NativeCallContext, series: &TableColumn) -> Answer<String> {
    let system = look_of(call)?.system;
    let text = |row: usize| match series.cell(row) {
        Cell::Missing => "()".into(),
        Cell::Text(text) => format!("{text:?}"),
        Cell::Flag(flag) => flag.to_string(),
        Cell::Date(date) => date.to_string(),
        Cell::Quantity(quantity) if quantity.dimension.is_number() => show_number_with(quantity.si, NUMBER_DIGITS),
        Cell::Quantity(quantity) => quantity.show(system),
    };
    let texts = |rows: std::ops::Range<usize>| rows.map(text).collect::<Vec<_>>().join(", ");
    let rows = series.len();
    Ok(if rows <= MOST_SHOWN {
        format!("[{}]", texts(0..rows))
    } else {
        format!("[{}, ..., {}] ({rows} cells)", texts(0..FIRST_SHOWN), texts(rows - LAST_SHOWN..rows))
    })
}

fn one(series: &TableColumn, what: Aggregate) -> Answer<Dynamic> {
    cell_value(&series.aggregate(what).map_err(raise)?)
}

/// The aggregate of a column or a list.
fn of_list(values: &Dynamic, what: Aggregate, word: &str) -> Answer<Dynamic> {
    match operand(values, word)? {
        Operand::Column(series) => one(&series, what),
        Operand::Value(cell) => one(&TableColumn::of_cells("value", [cell]).map_err(raise)?, what),
    }
}

#[export_module]
mod functions {
    /// The sum of a column, without its missing cells; of true and false the number of true.
    ///
    /// ```hw
    /// let t = table(#{ q: [2.gpm, (), 3.gpm] });
    /// t["q"].sum()               // => 5 gpm
    /// (t["q"] > 2.gpm).sum()     // => 1
    /// ```
    #[rhai_fn(name = "sum", return_raw)]
    pub fn sum_of_column(column: TableColumn) -> Result<Dynamic, Box<EvalAltResult>> {
        one(&column, Aggregate::Sum)
    }

    /// The mean of a column, without its missing cells; of true and false the share of true.
    ///
    /// ```hw
    /// table(#{ p: [28.psi, (), 32.psi] })["p"].mean()   // => 30 psi
    /// ```
    #[rhai_fn(name = "mean", return_raw)]
    pub fn mean_of_column(column: TableColumn) -> Result<Dynamic, Box<EvalAltResult>> {
        one(&column, Aggregate::Mean)
    }

    /// The smallest value of a column, without its missing cells.
    ///
    /// ```hw
    /// table(#{ p: [28.psi, (), 32.psi] })["p"].min()   // => 28 psi
    /// ```
    #[rhai_fn(name = "min", return_raw)]
    pub fn min_of_column(column: TableColumn) -> Result<Dynamic, Box<EvalAltResult>> {
        one(&column, Aggregate::Min)
    }

    /// The largest value of a column, without its missing cells.
    ///
    /// ```hw
    /// table(#{ p: [28.psi, (), 32.psi] })["p"].max()   // => 32 psi
    /// ```
    #[rhai_fn(name = "max", return_raw)]
    pub fn max_of_column(column: TableColumn) -> Result<Dynamic, Box<EvalAltResult>> {
        one(&column, Aggregate::Max)
    }

    /// The median of a column or list: half of its values are below it. Missing cells are passed over.
    ///
    /// ```hw
    /// table(#{ p: [20.psi, 34.psi, (), 24.psi] })["p"].median()   // => 24 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn median(values: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        of_list(&values, Aggregate::Median, "median")
    }

    /// The value that a fraction of a column or list is below (percentile): 0.9 for 90 %. Missing cells are passed over.
    ///
    /// ```hw
    /// table(#{ p: [20.psi, 30.psi, 40.psi] })["p"].quantile(0.25)   // => 25 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn quantile(values: Dynamic, fraction: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        of_list(&values, Aggregate::Quantile(expect_number(&fraction, "quantile: fraction")?), "quantile")
    }

    /// The standard deviation of a column or list, divided by n - 1; missing cells are passed over.
    ///
    /// ```hw
    /// table(#{ p: [20.psi, 30.psi, 40.psi] })["p"].sd()   // => 10 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sd(values: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        of_list(&values, Aggregate::StandardDeviation, "sd")
    }

    /// How many cells of a column have a value.
    ///
    /// ```hw
    /// table(#{ p: [20.psi, (), 40.psi] })["p"].count()   // => 2
    /// ```
    pub fn count(column: TableColumn) -> INT {
        (0..column.len()).filter(|row| !column.cell(*row).is_missing()).count() as INT
    }

    /// True if a column of true and false is true in every row.
    ///
    /// ```hw
    /// (table(#{ p: [28.psi, 32.psi] })["p"] > 30.psi).all()   // => false
    /// ```
    #[rhai_fn(name = "all", return_raw)]
    pub fn all_of_column(column: TableColumn) -> Result<bool, Box<EvalAltResult>> {
        let others = column.negation().map_err(raise)?;
        Ok(others.cells().all(|cell| cell == Cell::Flag(false)))
    }

    /// True if a column of true and false is true in at least one row.
    ///
    /// ```hw
    /// (table(#{ p: [28.psi, 32.psi] })["p"] > 30.psi).some()   // => true
    /// ```
    #[rhai_fn(name = "some", return_raw)]
    pub fn some_of_column(column: TableColumn) -> Result<bool, Box<EvalAltResult>> {
        column.negation().map_err(raise)?;
        Ok(column.cells().any(|cell| cell == Cell::Flag(true)))
    }

    /// Which cells of a column are missing: a column of true and false.
    ///
    /// ```hw
    /// let t = table(#{ p: [20.psi, ()] });
    /// t["p"].is_missing()             // => [false, true]
    /// t.filter(!t["p"].is_missing()).rows   // => 1
    /// ```
    pub fn is_missing(column: TableColumn) -> TableColumn {
        column.is_missing()
    }

    /// The same column with a value in place of each missing cell; the cells of another column will do, too.
    ///
    /// ```hw
    /// table(#{ q: [2.gpm, ()] })["q"].fill(0.gpm)   // => [2 gpm, 0 gpm]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fill(column: TableColumn, value: Dynamic) -> Result<TableColumn, Box<EvalAltResult>> {
        column.fill(&operand(&value, "fill")?).map_err(|error| raise_about(error, "value"))
    }

    /// The cells of a column that have a value; or the rows of a table that have one in every column, or in the named columns.
    ///
    /// ```hw
    /// let t = table(#{ p: [20.psi, ()], zone: [(), "lawn"] });
    /// t["p"].drop_missing()       // => [20 psi]
    /// t.drop_missing("p").rows    // => 1
    /// t.drop_missing().rows       // => 0
    /// ```
    pub fn drop_missing(column: TableColumn) -> TableColumn {
        column.drop_missing()
    }

    /// The running total along a column; a missing cell stays missing and is passed over.
    ///
    /// ```hw
    /// table(#{ v: [2.gal, 3.gal, 1.gal] })["v"].cumulative_sum()   // => [2 gal, 5 gal, 6 gal]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn cumulative_sum(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.cumulative_sum().map_err(raise)
    }

    /// What each row of a column has more than the row before it, such as the use between two readings of a meter; the first is missing.
    ///
    /// ```hw
    /// table(#{ meter: [100.gal, 130.gal, 135.gal] })["meter"].diff()   // => [(), 30 gal, 5 gal]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn diff(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.difference().map_err(raise)
    }

    /// The moving mean along a column (smoothing): of each row and the rows before it, n together; missing until there are n.
    ///
    /// ```hw
    /// table(#{ p: [20.psi, 30.psi, 40.psi] })["p"].rolling_mean(2)   // => [(), 25 psi, 35 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rolling_mean(column: TableColumn, n: INT) -> Result<TableColumn, Box<EvalAltResult>> {
        column.rolling_mean(usize::try_from(n).unwrap_or(0)).map_err(|error| raise_about(error, "n"))
    }

    /// The cells of a column as a list of its own, which may be changed.
    ///
    /// ```hw
    /// let pressures = table(#{ p: [30.psi, 20.psi] })["p"].to_list();
    /// pressures.sort();
    /// pressures   // => [20 psi, 30 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn to_list(column: TableColumn) -> Result<Array, Box<EvalAltResult>> {
        column_list(&column)
    }
}
