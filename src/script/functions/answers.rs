//! Results of studies: the best setting, one parameter at a time, spreads and chances, Sobol indices, break-even.
//!
//! The work is in `crate::study` and `crate::table`; here closures of the script are called.

use super::best::{Best, best_setting, limit as limit_of};
use super::study::cases::sweep_cases;
use super::study::seek_between;
use crate::garden::Garden;
use crate::limits;
use crate::quantity::Quantity;
use crate::report::sobol as report;
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::calls::call_once;
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::values::{as_names, as_quantity, describe, value_of};
use crate::study::{
    Axes, Axis, Limit, SweepOptions, TornadoRow, design, garden_answers, sobol_indices, solution_column, tornado_table,
};
use crate::table::{Column, Table, Values};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, Map};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`best` changes a few variables until a value is as low or as high as the limits allow. `tornado` varies one parameter at a time and
shows which matters most. `spread`, `chance_below` and `chance_above` evaluate a column of samples; `sobol_indices` gives the share of each
parameter in the variance. `pareto` keeps the rows that no other row beats. `break_even` finds where two options are equal.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
let found = best(#{ length: between(50.ft, 900.ft) }, |k| #{
    highest: k.length,
    limits: #{ berry: at_least(plot.with("feed.length", k.length).run().pressure("berry"), 30.psi) },
});
found["length"]   // => 396.3 ft
found.value       // => 396.3 ft
found.notes       // => ["berry is at its limit, at least 30 psi"]
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Best>("a best setting").register_type_with_name::<Limit>("a limit");
    engine.register_get("value", |best: &mut Best| value_of(best.found.said.value));
    engine
        .register_get("notes", |best: &mut Best| -> Array { best.found.notes.iter().map(|note| note.clone().into()).collect() });
    engine.register_get("tried", |best: &mut Best| best.found.tried as rhai::INT);
    engine.register_indexer_get(|best: &mut Best, name: &str| best.variable(name));
    engine
        .register_fn("to_debug", |call: NativeCallContext, best: Best| -> Answer<String> {
            Ok(best.in_words(look_of(&call)?.system))
        })
        .register_fn("to_string", |best: Best| best.in_words(Default::default()))
        .register_fn("to_debug", |call: NativeCallContext, limit: Limit| -> Answer<String> {
            Ok(limit.in_words(look_of(&call)?.system))
        })
        .register_fn("to_string", |limit: Limit| limit.in_words(Default::default()));
    engine.register_global_module(exported_module!(functions).into());
}

/// Low and high end of each number, from a map of lists.
pub fn ranges(map: &Map, word: &str, n: usize) -> Answer<Vec<(String, Vec<Quantity>)>> {
    let one = |(name, value): (&rhai::Identifier, &Dynamic)| -> Answer<(String, Vec<Quantity>)> {
        let list = value.read_lock::<Array>().filter(|list| list.len() == n);
        let quantities = list.and_then(|list| list.iter().map(as_quantity).collect::<Option<Vec<Quantity>>>());
        let quantities = quantities.ok_or_else(|| {
            let what = if n == 2 { "[low, high]" } else { "[low, usual, high]" };
            ScriptError::new(format!("{word}: the range of '{name}' must be {what}, found {}", describe(value)))
        })?;
        Ok((name.to_string(), quantities))
    };
    let all: Vec<(String, Vec<Quantity>)> = map.iter().map(one).collect::<Answer<_>>()?;
    if all.is_empty() {
        return Err(ScriptError::new(format!("{word}: there is no parameter")).into());
    }
    Ok(all)
}

/// The answers to all cases, from a closure that gives a number or quantity.
fn answers_of(call: &NativeCallContext, axes: &Axes, closure: &FnPtr, word: &str) -> Answer<Column> {
    let done = sweep_cases(call, axes, closure, 0..axes.cases())?;
    limits::go_on()?;
    done.table.column(super::study::cases::VALUE).map_err(|_| {
        let error = ScriptError::new(format!("{word}: the closure must give a number or quantity, found a map"));
        error.with_hint(format!("let it end with one value for {word}")).into()
    })
}

fn si_of(column: &Column, word: &str) -> Answer<Vec<Option<f64>>> {
    match &column.values {
        Values::Quantities { si, .. } => Ok(si.clone()),
        _ => Err(ScriptError::new(format!("{word}: the closure must give a number or quantity, found {}", column.kind())).into()),
    }
}

fn names_of(axes: &Axes) -> Vec<String> {
    axes.axes().iter().map(|axis| axis.name.clone()).collect()
}

/// A result by its full name: `berry` stands for its pressure.
fn solution_name(what: &str) -> String {
    if what.ends_with(".pressure") || what.ends_with(".flow") { what.to_string() } else { format!("{what}.pressure") }
}

fn tornado_of_garden(call: &NativeCallContext, garden: &Garden, zones: &[String], what: &str, map: &Map) -> Answer<Table> {
    let context = context_of(call)?;
    let ranges: Vec<(String, Quantity, Quantity)> =
        ranges(map, "tornado", 2)?.into_iter().map(|(name, ends)| (name, ends[0], ends[1])).collect();
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    let options = SweepOptions { threads: context.threads(), ..SweepOptions::default() };
    let usual = |name: &str| Ok(garden.parameter(name)?);
    let answers = |axes: &Axes| garden_answers(garden, &zones, &solution_name(what), axes, &options);
    crate::study::tornado(&ranges, context.units(), usual, answers).map_err(raise_as("sweep"))
}

fn shares_of_garden(call: &NativeCallContext, garden: &Garden, zones: &[String], what: &str, axes: &Axes) -> Answer<Table> {
    sobol_of(call, axes, |cases| {
        let table = super::study::sweep_garden(call, garden, cases, Some(zones))?;
        table.column(&solution_column(&solution_name(what), cases)).map_err(raise)
    })
}

/// The Sobol indices of an answer that is computed for all cases of a design.
pub fn sobol_of(call: &NativeCallContext, axes: &Axes, answers: impl FnOnce(&Axes) -> Answer<Column>) -> Answer<Table> {
    context_of(call)?.note_samples(axes.samples());
    let cases = design(axes).map_err(raise)?;
    let column = answers(&cases)?;
    report::table(&sobol_indices(&names_of(&cases), &si_of(&column, "sobol_indices")?).map_err(raise)?).map_err(raise)
}

#[export_module]
mod functions {
    /// Optimum: finds the values of variables for which the `highest` or `lowest` of a closure is best within all its `limits`.
    /// A variable is `between(low, high)` or a list of choices; at most six. The result shows the variables, the value, and which
    /// limits or ends are reached; `found["variable"]`, `found.value` and `found.notes` give them. The search starts from fixed
    /// seeds, so its result is always the same.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
    /// let found = best(#{ diameter: [(1/2).inch, (5/8).inch, (3/4).inch] }, |k| #{
    ///     lowest: k.diameter,
    ///     limits: #{ berry: at_least(plot.with("feed.diameter", k.diameter).run().pressure("berry"), 40.psi) },
    /// });
    /// found["diameter"]   // => 5/8 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn best(call: NativeCallContext, variables: Map, closure: FnPtr) -> Result<Best, Box<EvalAltResult>> {
        best_setting(&call, &variables, &closure)
    }

    /// A lower limit: for `best` with its value and limit, for `compare` with the limit alone.
    ///
    /// ```hw
    /// at_least(30.psi)           // => at least 30 psi
    /// at_least(44.psi, 30.psi)   // => 44 psi, at least 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn at_least(limit: Dynamic) -> Result<Limit, Box<EvalAltResult>> {
        limit_of(None, Some(&limit), None)
    }

    #[rhai_fn(name = "at_least", return_raw)]
    pub fn at_least_of(value: Dynamic, limit: Dynamic) -> Result<Limit, Box<EvalAltResult>> {
        limit_of(Some(&value), Some(&limit), None)
    }

    /// An upper limit; see `at_least`.
    ///
    /// ```hw
    /// at_most(60.psi)   // => at most 60 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn at_most(limit: Dynamic) -> Result<Limit, Box<EvalAltResult>> {
        limit_of(None, None, Some(&limit))
    }

    #[rhai_fn(name = "at_most", return_raw)]
    pub fn at_most_of(value: Dynamic, limit: Dynamic) -> Result<Limit, Box<EvalAltResult>> {
        limit_of(Some(&value), None, Some(&limit))
    }

    /// A tornado study: varies one parameter at a time over its range while the others stay, and reports the effect on a pressure (or flow),
    /// the largest first. Without a garden, a closure gives the result, and a range has its usual value in the middle.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    ///     >> valve("berries") >> head("berry", (5/32).inch);
    /// let t = plot.tornado("berries", "berry", #{ "feed.length": [50.ft, 200.ft], "supply.static_pressure": [55.psi, 61.psi] });
    /// t["parameter"]   // => ["feed.length", "supply.static_pressure"]
    /// t["swing"]    // => [8 psi, 4.4 psi]
    /// tornado(#{ x: [1, 2, 4], y: [0, 5, 6] }, |k| k.x * k.y)["swing"]   // => [15, 12]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tornado(
        call: NativeCallContext,
        garden: Garden,
        zones: Dynamic,
        what: &str,
        ranges: Map,
    ) -> Result<Table, Box<EvalAltResult>> {
        tornado_of_garden(&call, &garden, &as_names(&zones, "tornado")?, what, &ranges)
    }

    #[rhai_fn(name = "tornado", return_raw)]
    pub fn tornado_of_closure(call: NativeCallContext, ranges: Map, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let ranges = super::ranges(&ranges, "tornado", 3)?;
        let mut zipped = Vec::with_capacity(ranges.len());
        for (place, (name, triple)) in ranges.iter().enumerate() {
            let mut values = vec![triple[1]; 2 * ranges.len()];
            (values[2 * place], values[2 * place + 1]) = (triple[0], triple[2]);
            zipped.push(Axis::of_quantities(name, &values).map_err(raise)?);
        }
        let axes = Axes::default().and_paired(zipped).map_err(raise)?;
        let column = answers_of(&call, &axes, &closure, "tornado")?;
        let si = si_of(&column, "tornado")?;
        let swing = |(place, (name, triple)): (usize, &(String, Vec<Quantity>))| TornadoRow {
            name: name.clone(),
            low: triple[0],
            high: triple[2],
            at_low: si[2 * place],
            at_high: si[2 * place + 1],
        };
        let swings: Vec<TornadoRow> = ranges.iter().enumerate().map(swing).collect();
        tornado_table(&swings, &column, context_of(&call)?.units()).map_err(raise)
    }

    /// Sobol indices: which uncertain parameter causes the spread of a result. For each its share of the variance alone (`first_order`), and with
    /// all interactions (`total`), each with its standard error. Needs n (k + 2) cases for k parameters and n samples.
    ///
    /// ```hw
    /// let axes = vary("x", between(0, 1)).vary("y", between(0, 1)).samples(512);
    /// let t = sobol_indices(axes, |case| 3 * case.x + case.y);
    /// t["parameter"]   // => ["x", "y"]
    /// round_to(t["total"][0], 0.01)   // => 0.9
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
    /// let axes = vary("feed.length", normal(100.ft, 2.ft)).vary("supply.static_pressure", normal(58.psi, 1.psi)).samples(256);
    /// plot.sobol_indices([], "berry", axes)["parameter"][0]   // => supply.static_pressure
    /// ```
    #[rhai_fn(name = "sobol_indices", return_raw)]
    pub fn shares_of_closure(call: NativeCallContext, axes: Axes, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        context_of(&call)?.note_samples(axes.samples());
        let cases = design(&axes).map_err(raise)?;
        let column = answers_of(&call, &cases, &closure, "sobol_indices")?;
        report::table(&crate::study::sobol_indices(&names_of(&cases), &si_of(&column, "sobol_indices")?).map_err(raise)?)
            .map_err(raise)
    }

    #[rhai_fn(name = "sobol_indices", return_raw)]
    pub fn shares_in_garden(
        call: NativeCallContext,
        garden: Garden,
        zones: Dynamic,
        what: &str,
        axes: Axes,
    ) -> Result<Table, Box<EvalAltResult>> {
        shares_of_garden(&call, &garden, &as_names(&zones, "sobol_indices")?, what, &axes)
    }

    /// Break-even: the value between two ends at which two closures give the same.
    ///
    /// ```hw
    /// let efficient_pump = |hours| 150.USD + hours / 1.h * 0.05.USD;
    /// let cheap_pump = |hours| 95.USD + hours / 1.h * 0.11.USD;
    /// break_even(0.h, 2000.h, efficient_pump, cheap_pump)   // => 917 h
    /// ```
    #[rhai_fn(return_raw)]
    pub fn break_even(
        call: NativeCallContext,
        low: Dynamic,
        high: Dynamic,
        first: FnPtr,
        second: FnPtr,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        seek_between(&call, "break_even", "the difference of the two", &low, &high, |x| {
            let of = |closure: &FnPtr| -> Answer<Quantity> {
                let answer = call_once(&call, closure, x.clone())?;
                as_quantity(&answer).ok_or_else(|| {
                    let what = format!("break_even: the closure must give a number or quantity, found {}", describe(&answer));
                    ScriptError::new(what).into()
                })
            };
            of(&first)?.minus(of(&second)?).map_err(raise)
        })
    }
}
