//! Words for what the numbers of a table say: the best row, the trade-off, spread, chances, a description of all columns.
//!
//! The statistics themselves are in `crate::table`.

use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values;
use crate::script::language::values::{as_names, as_quantity};
use crate::table::{Best, ColumnKind, Table};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
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

    /// The Pareto front: rows that no other row beats in every goal, such as low price and high pressure (trade-off), sorted by the first goal.
    /// A goal is the name of a column with "lowest" or "highest".
    ///
    /// ```hw
    /// let t = table([#{ pump: "a", price: 90, p: 40 }, #{ pump: "b", price: 95, p: 38 }, #{ pump: "c", price: 150, p: 55 }]);
    /// t.pareto(["price", "lowest", "p", "highest"])["pump"]   // => ["a", "c"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pareto(table: Table, wishes: Array) -> Result<Table, Box<EvalAltResult>> {
        let wishes = super::wishes(&wishes)?;
        let wishes: Vec<(&str, Best)> = wishes.iter().map(|(name, best)| (name.as_str(), *best)).collect();
        table.pareto(&wishes).map_err(raise)
    }

    /// Mean, standard deviation and percentiles of a column of samples.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).sobol_samples(1024), |case| case.x);
    /// t.spread("value").row(6).value   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn spread(table: Table, column: &str) -> Result<Table, Box<EvalAltResult>> {
        table.spread(column).map_err(raise)
    }

    /// The probability that a sampled value is below a limit, with its standard error; samples without a value are counted separately.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).sobol_samples(1024), |case| case.x);
    /// t.chance_below("value", 25.psi)["chance"]   // => [0.25]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn chance_below(table: Table, column: &str, limit: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table
            .chance_below(column, a_limit(&table, column, &limit, "chance_below")?)
            .and_then(|chance| chance.table())
            .map_err(raise)
    }

    /// The probability that a sampled value is above a limit; see `chance_below`.
    ///
    /// ```hw
    /// let t = sweep(vary("x", between(0.psi, 100.psi)).sobol_samples(1024), |case| case.x);
    /// t.chance_above("value", 90.psi)["chance"]   // => [0.0996094]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn chance_above(table: Table, column: &str, limit: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        table
            .chance_above(column, a_limit(&table, column, &limit, "chance_above")?)
            .and_then(|chance| chance.table())
            .map_err(raise)
    }

    /// Summary statistics of each column: count, mean, spread and quartiles.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }, #{ p: 20.psi }]).describe().rows   // => 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn describe(call: NativeCallContext, table: Table) -> Result<Table, Box<EvalAltResult>> {
        table.describe_table(context_of(&call)?.units()).map_err(raise)
    }
}

/// Columns and which end of each is wished for, from a list that has them in turn.
fn wishes(list: &Array) -> Answer<Vec<(String, Best)>> {
    let wrong = |what: String| {
        ScriptError::new(what).with_hint("write [\"price\", \"lowest\", \"pressure\", \"highest\"]").about("wishes")
    };
    let names: Vec<String> = list.iter().map(|item| Ok(as_names(item, "pareto")?.remove(0))).collect::<Answer<_>>()?;
    if names.is_empty() || !names.len().is_multiple_of(2) {
        return Err(wrong("pareto: every column needs \"lowest\" or \"highest\" after it".into()).into());
    }
    let one = |pair: &[String]| match pair[1].as_str() {
        "lowest" => Ok((pair[0].clone(), Best::Lowest)),
        "highest" => Ok((pair[0].clone(), Best::Highest)),
        other => Err(wrong(format!("pareto: '{}' cannot be \"{other}\"", pair[0])).into()),
    };
    names.chunks(2).map(one).collect()
}

/// A limit for the values of a column. Errors: no number, or one of another dimension.
fn a_limit(table: &Table, column: &str, value: &Dynamic, word: &str) -> Answer<crate::quantity::Quantity> {
    let limit = as_quantity(value).ok_or_else(|| {
        ScriptError::new(format!("{word}: the limit must be a number or quantity, found {}", values::describe(value)))
            .about("limit")
    })?;
    match table.kind(column).map_err(raise)? {
        ColumnKind::Quantity { dimension, .. } if dimension != limit.dimension => {
            let what = format!("{word}: '{column}' holds {dimension}, but the limit is {}", limit.described());
            Err(ScriptError::new(what)
                .with_hint("give the limit in a unit of the column, as in {30.psi|2.bar}")
                .about("limit")
                .into())
        }
        _ => Ok(limit),
    }
}
