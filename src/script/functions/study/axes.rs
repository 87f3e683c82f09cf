//! Words for what varies: lists of values, parts and zones, lists that run together, and the cases that are left out.
//!
//! Random samples are in `distributions.rs`.

use super::cases::{case_in_words, case_map};
use crate::moment::Moment;
use crate::parts::Part;
use crate::quantity::Quantity;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::parallel_calls::Job;
use crate::script::language::values::{as_names, as_quantity, describe, value_of};
use crate::study::{Axes, Axis, AxisValues, Distribution};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A list of values from a start to an end by a step, both ends included. Where the step does not meet the end, a line says so.
    ///
    /// ```hw
    /// steps(25.ft, 100.ft, 25.ft)   // => [25 ft, 50 ft, 75 ft, 100 ft]
    /// steps(46, 60, 5)              // => steps from 46 to 60 by 5 end at 56: the step does not meet 60
    ///                               // => [46, 51, 56]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn steps(call: NativeCallContext, from: Dynamic, to: Dynamic, by: Dynamic) -> Result<Array, Box<EvalAltResult>> {
        let one = |value: &Dynamic, which: &str| {
            as_quantity(value).ok_or_else(|| {
                ScriptError::new(format!("steps: the {which} must be a number or quantity, found {}", describe(value)))
            })
        };
        let (from, to, by) = (one(&from, "start")?, one(&to, "end")?, one(&by, "step")?);
        let values = crate::study::steps(from, to, by).map_err(raise)?;
        let context = context_of(&call)?;
        let in_words = |quantity: Quantity| quantity.show(context.units());
        if let Some(last) = values.last().filter(|last| (last.si - to.si).abs() > 1e-6 * by.si) {
            let [from, to, by, last] = [from, to, by, *last].map(in_words);
            context.note(format!("steps from {from} to {to} by {by} end at {last}: the step does not meet {to}"));
        }
        values.into_iter().map(value_of).collect()
    }

    /// Varies a parameter: the path of a parameter of a garden, or any name for a closure, and its values.
    /// Chained, it makes all combinations.
    ///
    /// ```hw
    /// vary("feed.length", steps(25.ft, 100.ft, 25.ft)).vary("feed.diameter", [(1/2).inch, (5/8).inch]).cases   // => 8
    /// ```
    #[rhai_fn(return_raw)]
    pub fn vary(path: &str, values: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(Axes::default(), path, &values)
    }

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_more(axes: Axes, path: &str, values: Array) -> Result<Axes, Box<EvalAltResult>> {
        add(axes, path, &values)
    }

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_drawn(path: &str, values: Distribution) -> Result<Axes, Box<EvalAltResult>> {
        Axes::default().and_drawn(path, values).map_err(raise)
    }

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_drawn_more(axes: Axes, path: &str, values: Distribution) -> Result<Axes, Box<EvalAltResult>> {
        axes.and_drawn(path, values).map_err(raise)
    }

    /// Varies a part: each part of a list in the place of the named one.
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

    /// Varies the zones that are on: each a name, or a list of names for zones that run together. A sweep over a garden then needs no
    /// further argument; a closure gets the names in `case.zones`.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch) >> [ valve("beds") >> head("bed", (1/8).inch), valve("lawn") >> head("spray", (1/8).inch) ];
    /// sweep(plot, vary_zones(["beds", ["beds", "lawn"]]))["zones"]   // => ["beds", "beds + lawn"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn vary_zones(zones: Array) -> Result<Axes, Box<EvalAltResult>> {
        Axes::default().and(zones_axis(&zones)?).map_err(raise)
    }

    #[rhai_fn(name = "vary_zones", return_raw)]
    pub fn vary_zones_more(axes: Axes, zones: Array) -> Result<Axes, Box<EvalAltResult>> {
        axes.and(zones_axis(&zones)?).map_err(raise)
    }

    /// Varies several parameters together, value by value, instead of all combinations.
    ///
    /// ```hw
    /// zipped(#{ "feed.length": [50.ft, 100.ft], "feed.diameter": [(1/2).inch, (3/4).inch] }).cases   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn zipped(lists: Map) -> Result<Axes, Box<EvalAltResult>> {
        together(Axes::default(), &lists)
    }

    #[rhai_fn(name = "zipped", return_raw)]
    pub fn zipped_more(axes: Axes, lists: Map) -> Result<Axes, Box<EvalAltResult>> {
        together(axes, &lists)
    }

    /// Keeps only the cases for which a closure gives true; call it last.
    ///
    /// ```hw
    /// let axes = vary("cut_in", steps(20.psi, 50.psi, 10.psi)).vary("cut_out", steps(30.psi, 60.psi, 10.psi));
    /// axes.filter(|case| case.cut_out >= case.cut_in + 20.psi).cases   // => 6
    /// ```
    #[rhai_fn(return_raw)]
    pub fn filter(call: NativeCallContext, axes: Axes, keep: FnPtr) -> Result<Axes, Box<EvalAltResult>> {
        let make = || {
            let axes = axes.detached();
            let mut indices = vec![0; axes.axes().len()];
            move |case: usize| {
                axes.indices(case, &mut indices);
                Ok(Dynamic::from_map(case_map(&axes, &indices)?))
            }
        };
        let yes = |answer: &Dynamic| {
            answer.as_bool().map_err(|_| {
                let error = ScriptError::new(format!("filter: the closure must give true or false, found {}", describe(answer)));
                error.into()
            })
        };
        let job = Job { call: &call, closure: &keep, word: "filter", range: 0..axes.cases() };
        let answers = job.answers(make, yes, |case| case_in_words(&axes, case))?;
        axes.filter(&answers).map_err(raise)
    }
}

/// An axis from a list of quantities, parts, texts or dates.
fn axis(name: &str, values: &Array) -> Answer<Axis> {
    if values.iter().all(|value| value.is::<Part>()) && !values.is_empty() {
        let parts = values.iter().filter_map(|value| value.read_lock::<Part>().map(|part| part.clone())).collect();
        return Axis::of_parts(name, parts).map_err(raise);
    }
    if values.iter().all(Dynamic::is_string) && !values.is_empty() {
        let texts = values.iter().map(ToString::to_string).collect();
        return Ok(Axis { name: name.to_string(), values: AxisValues::Texts(texts) });
    }
    if values.iter().all(|value| value.is::<Moment>()) && !values.is_empty() {
        let dates = values.iter().filter_map(|value| value.read_lock::<Moment>().map(|date| *date)).collect();
        return Ok(Axis { name: name.to_string(), values: AxisValues::Dates(dates) });
    }
    let quantities: Vec<Quantity> = values
        .iter()
        .map(|value| {
            as_quantity(value).ok_or_else(|| {
                ScriptError::new(format!("vary: '{name}' cannot take the value {}", describe(value))).about("values")
            })
        })
        .collect::<Result<_, _>>()?;
    Axis::of_quantities(name, &quantities).map_err(raise)
}

fn add(axes: Axes, name: &str, values: &Array) -> Answer<Axes> {
    axes.and(axis(name, values)?).map_err(raise)
}

fn only_parts(name: &str, parts: Array) -> Answer<Array> {
    match parts.iter().find(|value| !value.is::<Part>()) {
        Some(other) => {
            Err(ScriptError::new(format!("vary_part: '{name}' takes parts, found {}", describe(other))).about("parts").into())
        }
        None => Ok(parts),
    }
}

fn zones_axis(zones: &Array) -> Answer<Axis> {
    let sets = zones.iter().map(|set| as_names(set, "vary_zones")).collect::<Result<_, _>>()?;
    Axis::of_zones(sets).map_err(raise)
}

/// Axes that run together, from a map of names and lists.
fn together(axes: Axes, lists: &Map) -> Answer<Axes> {
    let mut zipped = Vec::with_capacity(lists.len());
    for (name, values) in lists {
        let values = values
            .read_lock::<Array>()
            .ok_or_else(|| ScriptError::new(format!("zipped: '{name}' must be a list of values, found {}", describe(values))))?;
        zipped.push(axis(name, &values)?);
    }
    axes.and_paired(zipped).map_err(raise)
}
