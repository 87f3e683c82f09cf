//! Studies as scripts see them: axes, native and closure sweeps, seeking and comparing.
//!
//! The native work is in `crate::study`; here closures of the script are called.

use super::Context;
use super::cases::{case_in_words, case_map, sweep_cases};
use super::engine::{check_stop, context_of};
use super::error::{Answer, ScriptError, raise};
use super::garden::as_names;
use super::gather::{closure_part, native_part};
use super::hands::Job;
use super::progress::{Progress, with_commas};
use super::quantities::{as_quantity, describe, value_of};
use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::Quantity;
use crate::study::{
    Axes, Axis, AxisError, AxisValues, Distribution, DistributionError, Plan, Samples, SeekError, Spreading, SweepError,
    SweepOptions,
};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, INT, Map};
use std::sync::Arc;
use std::sync::atomic::Ordering;

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

A sweep with a closure runs on all cores when it takes a while. A case that fails stays in the table, with what was wrong in
the column `reason`; only when every case fails is it an error. Ctrl-C ends a sweep and keeps what is done as its table; a
second one ends the script. A sweep that takes over a second shows on a terminal how far it is.

A number that is not known exactly is varied by a distribution: `normal`, `between`, `triangular` or `draw_from`. All of them
are sampled together, a thousand times from the seed 1 unless `samples` says otherwise. A sample depends on the seed, its
number and the axis alone (the generator is Philox4x32-10), so it is the same on any machine and any number of threads.

```hw
let readings = vary("supply.static_pressure", normal(58.psi, 1.psi)).vary("feed.length", between(95.ft, 105.ft)).samples(200, 7);
readings   // => supply.static_pressure: normal around 58 psi, deviation 1 psi
// => feed.length: between 95 ft and 105 ft
// => 200 samples from the seed 7
// => 200 cases
```
"#;

impl From<DistributionError> for ScriptError {
    fn from(error: DistributionError) -> Self {
        ScriptError::new(error.to_string())
    }
}

impl From<SweepError> for ScriptError {
    fn from(error: SweepError) -> Self {
        ScriptError::new(format!("sweep: {error}")).with_hint(error.hint().unwrap_or_default())
    }
}

impl From<AxisError> for ScriptError {
    fn from(error: AxisError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, context: &Arc<Context>) {
    engine.register_type_with_name::<Axes>("the axes of a study");
    engine.register_get("cases", |axes: &mut Axes| axes.cases() as rhai::INT);
    engine.register_type_with_name::<Distribution>("a distribution");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |axes: Axes| axes.to_string());
        engine.register_fn(word, |distribution: Distribution| distribution.to_string());
    }
    engine.register_global_module(exported_module!(words).into());
    super::compare::register(engine, context);
    super::gather::register(engine, context);
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

pub fn sweep_garden(call: &NativeCallContext, garden: &Garden, axes: &Axes, zones: &[String]) -> Answer<Table> {
    let context = context_of(call)?;
    context.draws(axes.samples());
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let plan = Plan::new(garden, axes, &names).map_err(raise)?;
    let swept = match context.next_part(axes.cases()) {
        Some(part) => native_part(&context, &part, &plan, |write| with_options(&context, axes.cases(), write))?,
        None => with_options(&context, axes.cases(), |options| plan.run(0..axes.cases(), options))?,
    };
    keep_what_is_done(&context, swept.table.rows(), swept.cases);
    Ok(swept.table)
}

/// Runs a native sweep with progress and the stop flag of the context.
fn with_options<T>(context: &Context, cases: usize, run: impl FnOnce(&SweepOptions) -> Result<T, SweepError>) -> Answer<T> {
    let progress = Progress::new(context, cases);
    let tell = |done: usize| progress.tell(done);
    let options = SweepOptions { threads: context.threads(), stop: Some(&context.stop), progress: Some(&tell) };
    run(&options).map_err(|error| match error {
        SweepError::Stopped => check_stop(context).err().unwrap_or_else(|| ScriptError::new("stopped").into()),
        other => raise(other),
    })
}

fn sweep_into(call: &NativeCallContext, file: &str, garden: &Garden, axes: &Axes, zones: &[String]) -> Answer<String> {
    let context = context_of(call)?;
    context.draws(axes.samples());
    let path = context.folder.file(file).map_err(raise)?;
    if path.extension().is_none_or(|ending| ending != "parquet") {
        let error = ScriptError::new(format!("sweep_to: '{file}' is not the name of a parquet file"));
        return Err(error.with_hint("give a name such as \"cases.parquet\"").into());
    }
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let plan = Plan::new(garden, axes, &names).map_err(raise)?;
    if let Some(part) = context.next_part(axes.cases()) {
        native_part(&context, &part, &plan, |write| with_options(&context, axes.cases(), write))?;
        return Ok(format!("left out {file}: this run is part {} of {}", part.part, part.parts));
    }
    let cases = with_options(&context, axes.cases(), |options| plan.write(0..axes.cases(), &path, context.units(), options))?;
    Ok(format!("saved {file}: {} cases", with_commas(cases)))
}

/// After a stop in the middle of a sweep the script goes on with what is done; the next stop ends it.
fn keep_what_is_done(context: &Context, done: usize, cases: usize) {
    if done < cases {
        context.stop.store(false, Ordering::Relaxed);
        context.note(format!(
            "sweep: stopped after {} of {} cases; the table holds those",
            with_commas(done),
            with_commas(cases)
        ));
    }
}

fn quantity(value: &Dynamic, word: &str) -> Answer<Quantity> {
    as_quantity(value)
        .ok_or_else(|| ScriptError::new(format!("{word} needs numbers or quantities, found {}", describe(value))).into())
}

/// Axes that run together, from a map of names and lists.
fn together(axes: Axes, lists: &Map) -> Answer<Axes> {
    let mut paired = Vec::with_capacity(lists.len());
    for (name, values) in lists {
        let values = values
            .read_lock::<Array>()
            .ok_or_else(|| ScriptError::new(format!("paired: '{name}' must be a list of values, found {}", describe(values))))?;
        paired.push(axis(name, &values)?);
    }
    axes.and_paired(paired).map_err(raise)
}

fn zones_axis(zones: &Array) -> Answer<Axis> {
    let sets = zones.iter().map(|set| as_names(set, "vary_zones")).collect::<Result<_, _>>()?;
    Axis::of_zones(sets).map_err(raise)
}

fn sampled(axes: Axes, n: INT, seed: INT, spreading: Spreading) -> Answer<Axes> {
    let Some(count) = usize::try_from(n).ok().filter(|n| *n > 0) else {
        return Err(raise(AxisError::NoSamples { found: n }));
    };
    axes.sampled(Samples { n: count, seed: seed as u64, spreading }).map_err(raise)
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

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_drawn(path: &str, values: Distribution) -> Result<Axes, Box<EvalAltResult>> {
        Axes::default().and_drawn(path, values).map_err(raise)
    }

    #[rhai_fn(name = "vary", return_raw)]
    pub fn vary_drawn_more(axes: Axes, path: &str, values: Distribution) -> Result<Axes, Box<EvalAltResult>> {
        axes.and_drawn(path, values).map_err(raise)
    }

    /// Zones that take turns: a name, or a list of names for zones that run together. A sweep over a garden then needs no
    /// further argument; a closure finds the names in `case.zones`.
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

    /// Lists that run together, value by value, instead of making all combinations.
    ///
    /// ```hw
    /// paired(#{ "feed.length": [50.ft, 100.ft], "feed.bore": [(1/2).inch, (3/4).inch] }).cases   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn paired(lists: Map) -> Result<Axes, Box<EvalAltResult>> {
        together(Axes::default(), &lists)
    }

    #[rhai_fn(name = "paired", return_raw)]
    pub fn paired_more(axes: Axes, lists: Map) -> Result<Axes, Box<EvalAltResult>> {
        together(axes, &lists)
    }

    /// A number known by its mean and standard deviation, normally distributed: a reading and its error.
    ///
    /// ```hw
    /// normal(44.psi, 1.psi)   // => normal around 44 psi, deviation 1 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn normal(mean: Dynamic, deviation: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        Distribution::normal(quantity(&mean, "normal")?, quantity(&deviation, "normal")?).map_err(raise)
    }

    /// A number of which only the ends are known, every value between them equally likely.
    ///
    /// ```hw
    /// between(95.ft, 105.ft)   // => between 95 ft and 105 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn between(low: Dynamic, high: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        Distribution::between(quantity(&low, "between")?, quantity(&high, "between")?).map_err(raise)
    }

    /// A number of which the ends and the likeliest value are known.
    ///
    /// ```hw
    /// triangular(5.gpm, 6.gpm, 8.gpm)   // => triangular from 5 gpm over 6 gpm to 8 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn triangular(low: Dynamic, mode: Dynamic, high: Dynamic) -> Result<Distribution, Box<EvalAltResult>> {
        let of = |value: &Dynamic| quantity(value, "triangular");
        Distribution::triangular(of(&low)?, of(&mode)?, of(&high)?).map_err(raise)
    }

    /// A number that is one of a list, such as the column of a table, each value equally likely.
    ///
    /// ```hw
    /// let log = table([#{ p: 41.psi }, #{ p: 44.psi }, #{ p: 46.psi }]);
    /// draw_from(log["p"])   // => one of 3 values
    /// ```
    #[rhai_fn(return_raw)]
    pub fn draw_from(values: Array) -> Result<Distribution, Box<EvalAltResult>> {
        let there = values.iter().filter(|value| !value.is_unit());
        let values: Vec<Quantity> = there.map(|value| quantity(value, "draw_from")).collect::<Result<_, _>>()?;
        Distribution::of_values(&values).map_err(raise)
    }

    /// How many samples are drawn of the distributions, and from which seed (1 unless said).
    ///
    /// ```hw
    /// vary("feed.length", between(95.ft, 105.ft)).samples(500).cases   // => 500
    /// vary("feed.length", between(95.ft, 105.ft)).samples(500, 42).cases   // => 500
    /// ```
    #[rhai_fn(return_raw)]
    pub fn samples(axes: Axes, n: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, 1, Spreading::Independent)
    }

    #[rhai_fn(name = "samples", return_raw)]
    pub fn samples_from(axes: Axes, n: INT, seed: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, seed, Spreading::Independent)
    }

    /// As `samples`, but spread evenly by a scrambled Sobol sequence: means and percentiles settle with far fewer samples.
    /// A power of two is best.
    ///
    /// ```hw
    /// let axes = vary("x", between(0, 1)).even_samples(256);
    /// mean(sweep(axes, |case| #{ y: case.x * case.x })["y"])   // => 0.333348
    /// ```
    #[rhai_fn(return_raw)]
    pub fn even_samples(axes: Axes, n: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, 1, Spreading::Even)
    }

    #[rhai_fn(name = "even_samples", return_raw)]
    pub fn even_samples_from(axes: Axes, n: INT, seed: INT) -> Result<Axes, Box<EvalAltResult>> {
        sampled(axes, n, seed, Spreading::Even)
    }

    /// Only the cases for which a closure says true; the last word on axes.
    ///
    /// ```hw
    /// let axes = vary("cut_in", steps(20.psi, 50.psi, 10.psi)).vary("cut_out", steps(30.psi, 60.psi, 10.psi));
    /// axes.only(|case| case.cut_out >= case.cut_in + 20.psi).cases   // => 6
    /// ```
    #[rhai_fn(return_raw)]
    pub fn only(call: NativeCallContext, axes: Axes, keep: FnPtr) -> Result<Axes, Box<EvalAltResult>> {
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
                let error = ScriptError::new(format!("only: the closure must say true or false, found {}", describe(answer)));
                error.into()
            })
        };
        let job = Job { call: &call, closure: &keep, word: "only", range: 0..axes.cases() };
        let answers = job.answers(make, yes, |case| case_in_words(&axes, case))?;
        axes.only(&answers).map_err(raise)
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
        let context = context_of(&call)?;
        if let Some(part) = context.next_part(axes.cases()) {
            return closure_part(&context, &part, |range| {
                let done = sweep_cases(&call, &axes, &closure, range)?;
                if done.table.rows() < done.cases {
                    check_stop(&context)?;
                }
                Ok(done.table)
            });
        }
        let done = sweep_cases(&call, &axes, &closure, 0..axes.cases())?;
        keep_what_is_done(&context, done.table.rows(), done.cases);
        Ok(done.table)
    }

    /// Solves all cases of the axes into a parquet file beside the script, in little memory however many they are, and says
    /// how many there were. Its last column, `reason`, says why a case failed. For millions of cases; others see `sweep`.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// sweep_to("cases.parquet", line, vary("feed.length", steps(50.ft, 100.ft, 0.5.ft)))   // => saved cases.parquet: 101 cases
    /// read_table("cases.parquet").rows   // => 101
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep_to(
        call: NativeCallContext,
        file: &str,
        garden: Garden,
        axes: Axes,
        zones: Dynamic,
    ) -> Result<String, Box<EvalAltResult>> {
        sweep_into(&call, file, &garden, &axes, &as_names(&zones, "sweep_to")?)
    }

    #[rhai_fn(name = "sweep_to", return_raw)]
    pub fn sweep_to_shut(call: NativeCallContext, file: &str, garden: Garden, axes: Axes) -> Result<String, Box<EvalAltResult>> {
        sweep_into(&call, file, &garden, &axes, &[])
    }

    /// The value between two ends at which a closure gives zero, such as a pressure above what is needed.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// seek(50.ft, 400.ft, |length| line.but("feed.length", length).run().pressure("spray") - 40.psi)   // => 301.9 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn seek(call: NativeCallContext, low: Dynamic, high: Dynamic, closure: FnPtr) -> Result<Dynamic, Box<EvalAltResult>> {
        seek_between(&call, "seek", "the value", &low, &high, |x| {
            let answer: Dynamic = closure.call_within_context(&call, (x,))?;
            as_quantity(&answer).ok_or_else(|| {
                let what = format!("seek: the closure must give a number or quantity, found {}", describe(&answer));
                ScriptError::new(what).into()
            })
        })
    }
}

/// The value between two ends at which `value` is zero, for a word that seeks.
pub fn seek_between(
    call: &NativeCallContext,
    word: &str,
    what: &str,
    low: &Dynamic,
    high: &Dynamic,
    value: impl Fn(Dynamic) -> Answer<Quantity>,
) -> Answer<Dynamic> {
    let context = context_of(call)?;
    let end = |value: &Dynamic, which: &str| {
        as_quantity(value).ok_or_else(|| {
            ScriptError::new(format!("{word}: the {which} end must be a number or quantity, found {}", describe(value)))
        })
    };
    let (low, high) = (end(low, "low")?, end(high, "high")?);
    if low.dimension != high.dimension {
        let found = format!("{word}: the ends must be alike, found {} and {}", low.described(), high.described());
        return Err(ScriptError::new(found).into());
    }
    let mut shown: Option<Quantity> = None;
    let tolerance = 1e-9 * (high.si - low.si).abs();
    let found = crate::study::seek(low.si, high.si, tolerance, |si| -> Answer<f64> {
        check_stop(&context)?;
        let quantity = value(value_of(Quantity { si, ..low })?)?;
        shown = Some(quantity);
        Ok(quantity.si)
    });
    let in_words = |si: f64| shown.map_or_else(String::new, |kind| Quantity { si, ..kind }.show(context.units()));
    match found {
        Ok(sought) => value_of(Quantity { si: sought.x, ..low }),
        Err(SeekError::Failed(error)) => Err(error),
        Err(SeekError::SameSign { at_low, at_high }) => {
            let what = format!(
                "{word}: {what} does not pass zero between {} and {}: it is {} and {} there",
                low.show(context.units()),
                high.show(context.units()),
                in_words(at_low),
                in_words(at_high)
            );
            Err(ScriptError::new(what).with_hint("widen the ends, or look at the values with a sweep").into())
        }
        Err(error) => Err(ScriptError::new(format!("{word}: {error}")).into()),
    }
}

fn only_parts(name: &str, parts: Array) -> Answer<Array> {
    match parts.iter().find(|value| !value.is::<Part>()) {
        Some(other) => Err(ScriptError::new(format!("vary_part: '{name}' takes parts, found {}", describe(other))).into()),
        None => Ok(parts),
    }
}
