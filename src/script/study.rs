//! Studies as scripts see them: axes, native and closure sweeps, seeking and comparing.
//!
//! The native work is in `crate::study`; here closures of the script are called.

use super::Context;
use super::calls::call_each;
use super::engine::{check_stop, context_of};
use super::error::{Answer, ScriptError, raise};
use super::garden::as_names;
use super::quantities::{as_quantity, describe, value_of};
use super::tables::{map_row, value_cell};
use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::Quantity;
use crate::study::{Axes, Axis, AxisError, AxisValues, SeekError, SweepError, SweepOptions};
use crate::table::{Cell, Table};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, Map};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`vary` names what varies and through which values; chained, it makes a grid of all combinations. A sweep over a garden
solves every case natively and gives a table with the pressure and flow of every supply, booster and outlet; a sweep with
a closure calls it for every case and takes whatever map it returns.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> valve("berries") >> head("berry", (5/32).inch);
let axes = vary("feed.length", steps(50.ft, 150.ft, 50.ft)).vary("feed.bore", [(1/2).inch, (5/8).inch]);
sweep(plot, axes, "berries").rows   // => 6
sweep(vary("length", [50.ft, 100.ft]), |case| #{ p: plot.but("feed.length", case.length).run("berries").pressure("berry") })["p"]   // => [45.04 psi, 42.08 psi]
```
"#;

impl From<AxisError> for ScriptError {
    fn from(error: AxisError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, _context: &Arc<Context>) {
    engine.register_type_with_name::<Axes>("the axes of a study");
    engine.register_get("cases", |axes: &mut Axes| axes.cases() as rhai::INT);
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |axes: Axes| axes_in_words(&axes));
    }
    engine.register_global_module(exported_module!(words).into());
}

fn axes_in_words(axes: &Axes) -> String {
    let each: Vec<String> = axes
        .axes()
        .iter()
        .map(|axis| format!("{}: {} values from {} to {}", axis.name, axis.len(), axis.label(0), axis.label(axis.len() - 1)))
        .collect();
    format!("{}\n{} cases", each.join("\n"), axes.cases())
}

/// An axis from a list of quantities, parts or texts.
fn axis(name: &str, values: &Array) -> Answer<Axis> {
    if values.iter().all(|value| value.is::<Part>()) && !values.is_empty() {
        let parts = values.iter().filter_map(|value| value.read_lock::<Part>().map(|part| part.clone())).collect();
        return Axis::of_parts(name, parts).map_err(raise);
    }
    if values.iter().all(Dynamic::is_string) && !values.is_empty() {
        let texts = values.iter().map(ToString::to_string).collect();
        return Ok(Axis { name: name.to_string(), values: AxisValues::Texts(texts) });
    }
    let quantities: Vec<Quantity> = values
        .iter()
        .map(|value| {
            as_quantity(value)
                .ok_or_else(|| ScriptError::new(format!("vary: '{name}' cannot take the value {}", describe(value))))
        })
        .collect::<Result<_, _>>()?;
    Axis::of_quantities(name, &quantities).map_err(raise)
}

fn add(axes: Axes, name: &str, values: &Array) -> Answer<Axes> {
    axes.and(axis(name, values)?).map_err(raise)
}

fn sweep_garden(call: &NativeCallContext, garden: &Garden, axes: &Axes, zones: &[String]) -> Answer<Table> {
    let context = context_of(call)?;
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let options = SweepOptions { stop: Some(&context.stop), ..SweepOptions::default() };
    crate::study::sweep(garden, axes, &names, &options).map_err(|error| {
        if matches!(error, SweepError::Stopped) {
            return check_stop(&context).err().unwrap_or_else(|| ScriptError::new("stopped").into());
        }
        ScriptError::new(format!("sweep: {error}")).with_hint(error.hint().unwrap_or_default()).into()
    })
}

/// A case as the map that a closure sees.
fn case_map(axes: &Axes, indices: &[usize]) -> Answer<Map> {
    let mut map = Map::new();
    for (axis, &index) in axes.axes().iter().zip(indices) {
        let value = match &axis.values {
            AxisValues::Parts(parts) => Dynamic::from(parts[index].clone()),
            AxisValues::Texts(texts) => texts[index].clone().into(),
            AxisValues::Quantities { .. } => axis.quantity(index).map_or(Ok(Dynamic::UNIT), value_of)?,
        };
        map.insert(axis.name.as_str().into(), value);
    }
    Ok(map)
}

fn case_row(axes: &Axes, indices: &[usize]) -> Vec<(String, Cell)> {
    let cell = |axis: &Axis, index: usize| match axis.quantity(index) {
        Some(quantity) => Cell::Quantity(quantity),
        None => Cell::text(axis.label(index)),
    };
    axes.axes().iter().zip(indices).map(|(axis, &index)| (axis.name.clone(), cell(axis, index))).collect()
}

/// How an option of a comparison is called.
fn option_name(option: &Dynamic, index: usize) -> String {
    if let Some(part) = option.read_lock::<Part>()
        && let Some(name) = part.name()
    {
        return name.to_string();
    }
    if let Ok(text) = option.as_immutable_string_ref() {
        return text.to_string();
    }
    if let Some(quantity) = as_quantity(option) {
        return quantity.to_string();
    }
    if let Some(name) = option.read_lock::<Map>().and_then(|map| map.get("name").map(ToString::to_string)) {
        return name;
    }
    format!("option {}", index + 1)
}

#[export_module]
mod words {
    /// Values from the first to the second by the third, both ends included.
    ///
    /// ```hw
    /// steps(25.ft, 100.ft, 25.ft)   // => [25 ft, 50 ft, 75 ft, 100 ft]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn steps(from: Dynamic, to: Dynamic, by: Dynamic) -> Result<Array, Box<EvalAltResult>> {
        let one = |value: &Dynamic, which: &str| {
            as_quantity(value).ok_or_else(|| {
                ScriptError::new(format!("steps: the {which} must be a number or quantity, found {}", describe(value)))
            })
        };
        let values = crate::study::steps(one(&from, "start")?, one(&to, "end")?, one(&by, "step")?).map_err(raise)?;
        values.into_iter().map(value_of).collect()
    }

    /// Something that varies: the path of a number of a garden, or any name for a closure, and its values.
    /// Chained, each further axis runs through all its values for every case so far.
    ///
    /// ```hw
    /// vary("feed.length", steps(25.ft, 100.ft, 25.ft)).vary("feed.bore", [(1/2).inch, (5/8).inch]).cases   // => 8
    /// ```
    #[rhai_fn(return_raw)]
    pub fn vary(path: &str, values: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(Axes::default(), path, &values)
    }

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_more(axes: Axes, path: &str, values: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(axes, path, &values)
    }

    /// Parts that take turns in the place of the named one.
    ///
    /// ```hw
    /// vary_part("spray", [head("small", (3/32).inch), head("large", (1/8).inch)]).cases   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn vary_part(name: &str, parts: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(Axes::default(), name, &only_parts(name, parts)?)
    }

    #[rhai_fn(name = "vary_part", return_raw)]
    pub fn vary_part_more(axes: Axes, name: &str, parts: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(axes, name, &only_parts(name, parts)?)
    }

    /// Solves all cases of the axes. With a garden and its zones: natively, on all cores; the table has pressure and flow of
    /// every supply, booster and outlet. With a closure: whatever map it returns for each case.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// sweep(line, vary("feed.length", [50.ft, 100.ft]))["spray.pressure"]   // => [48.06 psi, 46.24 psi]
    /// sweep(vary("x", [1, 2, 3]), |case| #{ square: case.x * case.x })["square"]   // => [1, 4, 9]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep(call: NativeCallContext, garden: Garden, axes: Axes, zones: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        sweep_garden(&call, &garden, &axes, &as_names(&zones, "sweep")?)
    }

    #[rhai_fn(name = "sweep", return_raw)]
    pub fn sweep_shut(call: NativeCallContext, garden: Garden, axes: Axes) -> Result<Table, Box<EvalAltResult>> {
        sweep_garden(&call, &garden, &axes, &[])
    }

    #[rhai_fn(name = "sweep", return_raw)]
    pub fn sweep_closure(call: NativeCallContext, axes: Axes, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let n = axes.axes().len();
        let mut indices = vec![0; n];
        let cases = (0..axes.cases()).map(|case| {
            axes.indices(case, &mut indices);
            Ok(Dynamic::from_map(case_map(&axes, &indices)?))
        });
        let answers = call_each(&call, &closure, cases)?;
        let mut indices = vec![0; n];
        let mut rows = Vec::with_capacity(answers.len());
        for (case, answer) in answers.into_iter().enumerate() {
            axes.indices(case, &mut indices);
            let mut row = case_row(&axes, &indices);
            row.extend(
                map_row(&answer, "sweep")?.into_iter().filter(|(name, _)| axes.axes().iter().all(|axis| axis.name != *name)),
            );
            rows.push(row);
        }
        Table::from_rows(rows).map_err(raise)
    }

    /// The value between two ends at which a closure gives zero, such as a pressure above what is needed.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// seek(50.ft, 400.ft, |length| line.but("feed.length", length).run().pressure("spray") - 40.psi)   // => 301.9 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn seek(call: NativeCallContext, low: Dynamic, high: Dynamic, closure: FnPtr) -> Result<Dynamic, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let end = |value: &Dynamic, which: &str| {
            as_quantity(value).ok_or_else(|| {
                ScriptError::new(format!("seek: the {which} end must be a number or quantity, found {}", describe(value)))
            })
        };
        let (low, high) = (end(&low, "low")?, end(&high, "high")?);
        if low.dimension != high.dimension {
            return Err(ScriptError::new(format!(
                "seek: the ends must be alike, found {} and {}",
                low.described(),
                high.described()
            ))
            .into());
        }
        let mut shown: Option<Quantity> = None;
        let tolerance = 1e-9 * (high.si - low.si).abs();
        let found = crate::study::seek(low.si, high.si, tolerance, |si| -> Answer<f64> {
            check_stop(&context)?;
            let answer: Dynamic = closure.call_within_context(&call, (value_of(Quantity { si, ..low })?,))?;
            let quantity = as_quantity(&answer).ok_or_else(|| {
                ScriptError::new(format!("seek: the closure must give a number or quantity, found {}", describe(&answer)))
            })?;
            shown = Some(quantity);
            Ok(quantity.si)
        });
        let in_words = |si: f64| shown.map_or_else(String::new, |kind| Quantity { si, ..kind }.show(context.units()));
        match found {
            Ok(sought) => value_of(Quantity { si: sought.x, ..low }),
            Err(SeekError::Failed(error)) => Err(error),
            Err(SeekError::SameSign { at_low, at_high }) => {
                let what = format!(
                    "seek: the value does not pass zero between {} and {}: it is {} and {} there",
                    low.show(context.units()),
                    high.show(context.units()),
                    in_words(at_low),
                    in_words(at_high)
                );
                Err(ScriptError::new(what).with_hint("widen the ends, or look at the values with a sweep").into())
            }
            Err(error) => Err(ScriptError::new(format!("seek: {error}")).into()),
        }
    }

    /// A table with a row for each option, from what a closure says of it. An option is called by the name of the part, by the
    /// `name` in its map, or by its number.
    ///
    /// ```hw
    /// let heads = [head("small", (3/32).inch), head("large", (1/8).inch)];
    /// compare(heads, |h| #{ flow: h.flow_at(40.psi) })   // => option    flow
    /// // =>          (gpm)
    /// // => --------------
    /// // => small    1.592
    /// // => large    2.831
    /// ```
    #[rhai_fn(return_raw)]
    pub fn compare(call: NativeCallContext, options: Array, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let answers = call_each(&call, &closure, options.iter().map(|option| Ok(option.clone())))?;
        let mut rows = Vec::with_capacity(options.len());
        for (index, (option, answer)) in options.iter().zip(answers).enumerate() {
            let mut row = vec![("option".to_string(), value_cell(&option_name(option, index).into(), "compare", "option")?)];
            row.extend(map_row(&answer, "compare")?.into_iter().filter(|(name, _)| name != "option"));
            rows.push(row);
        }
        if rows.is_empty() {
            return Err(ScriptError::new("compare: there is nothing to compare")
                .with_hint("give a list of at least one option")
                .into());
        }
        Table::from_rows(rows).map_err(raise)
    }
}

fn only_parts(name: &str, parts: Array) -> Answer<Array> {
    match parts.iter().find(|value| !value.is::<Part>()) {
        Some(other) => Err(ScriptError::new(format!("vary_part: '{name}' takes parts, found {}", describe(other))).into()),
        None => Ok(parts),
    }
}
