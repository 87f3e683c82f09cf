//! Coverage of heads on the ground, as scripts see it: application rate, uniformity, run time for a depth.
//!
//! The computation is in `crate::coverage`.

use crate::coverage::{Bed, CountOn, Coverage, Pattern};
use crate::hydraulics::Solution;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, dim};
use crate::report::coverage as report;
use crate::report::coverage::Catches;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe, expect_quantity, value_of};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`result.coverage(..)` adds up the water of all running heads on a bed. `r.application_rate` is the mean application (precipitation) rate,
`r.lowest` and `r.highest` the extremes of its cells (60 along the longer side), `r.driest` the place `[x, y]` of the lowest, `r.cu`
Christiansen's uniformity coefficient (CU) and `r.du` the low-quarter distribution uniformity (DU), both in percent, `r.overspray` the percentage of
water that falls off the bed, `r.dry_area` the percentage of the ground without water. Wind is left out; it lowers uniformity. A head throws its rated
radius at its rated pressure and above, and less below.

```hw
let spray = |name, x, y| head(name, (3/32).inch).throws(20.ft, 30.psi).arc(90).at(x, y);
let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch) >> valve("lawn")
    >> [ spray.call("a", 0.ft, 0.ft), spray.call("b", 20.ft, 0.ft), spray.call("c", 20.ft, 20.ft), spray.call("d", 0.ft, 20.ft) ];
let r = lawn.run("lawn").coverage([0.ft, 20.ft], [0.ft, 20.ft]);
r.application_rate          // => 1.649 in/h
round_to(r.cu, 0.1)      // => 96.4
round_to(r.du, 0.1)   // => 95
round_to(r.overspray, 0.1)        // => 0
```

Without a garden: application rate is flow over area, and run time is depth over rate:

```hw
(4.gpm / (30.ft * 30.ft)).to("in/h")   // => 0.4278 in/h
(0.5.inch / 0.4.in_per_h).to("min")    // => 75 min
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Coverage>("coverage").register_type_with_name::<Catches>("catches");
    engine
        .register_get("application_rate", |rain: &mut Coverage| report::rate(rain, rain.uniformity.mean))
        .register_get("lowest", |rain: &mut Coverage| report::rate(rain, rain.uniformity.lowest))
        .register_get("highest", |rain: &mut Coverage| report::rate(rain, rain.uniformity.highest))
        .register_get("driest", |rain: &mut Coverage| -> Array { report::driest(rain).map(Dynamic::from).into() })
        .register_get("cu", |rain: &mut Coverage| percent(rain.uniformity.christiansen))
        .register_get("du", |rain: &mut Coverage| percent(rain.uniformity.du))
        .register_get("overspray", |coverage: &mut Coverage| percent(1.0 - coverage.caught_share()))
        .register_get("dry_area", |rain: &mut Coverage| percent(rain.bare_share()));
    engine
        .register_get("cu", |catches: &mut Catches| percent(catches.uniformity.christiansen))
        .register_get("du", |catches: &mut Catches| percent(catches.uniformity.du))
        .register_get("mean", |catches: &mut Catches| value_of(catches.quantity(catches.uniformity.mean)))
        .register_get("lowest", |catches: &mut Catches| value_of(catches.quantity(catches.uniformity.lowest)))
        .register_get("highest", |catches: &mut Catches| value_of(catches.quantity(catches.uniformity.highest)));
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |call: NativeCallContext, rain: Coverage| -> Answer<String> {
                Ok(report::in_words(&rain, look_of(&call)?.system))
            })
            .register_fn(word, |call: NativeCallContext, catches: Catches| -> Answer<String> {
                Ok(catches.in_words(look_of(&call)?.system))
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn percent(share: f64) -> f64 {
    100.0 * share
}

/// Two lengths, the smaller first.
fn span(list: &Array, what: &str) -> Answer<(f64, f64)> {
    let [from, to] = list.as_slice() else {
        let error = ScriptError::new(format!("coverage: {what} has {} values; expected two", list.len()));
        return Err(error.with_hint("give the bed as in coverage({[0.ft, 30.ft], [0.ft, 20.ft]|[0.m, 9.m], [0.m, 6.m]})").into());
    };
    let ends = [from, to].map(|end| expect_quantity(end, dim::LENGTH, &format!("coverage: {what}")));
    let [from, to] = ends;
    let (from, to) = (from?, to?);
    Ok((from.min(to), from.max(to)))
}

fn time_for_part_of(rain: &Coverage, depth: &Dynamic, word: &str) -> Answer<Quantity> {
    let depth_m = expect_quantity(depth, dim::LENGTH, "run_time_for: depth")?;
    let Some((_, on)) = CountOn::ALL.into_iter().find(|(name, _)| *name == word) else {
        let error = ScriptError::new(format!("run_time_for: there is no basis '{word}'"));
        return Err(error.with_hint("use \"mean\", \"low quarter\" or \"driest\"").into());
    };
    rain.time_for_s(depth_m, on).map(report::minutes).map_err(raise)
}

#[export_module]
mod functions {
    /// Application rate and uniformity (CU, DU) of the running heads on a bed, given by its range of x and its range of y; without a bed, on
    /// the rectangle between the heads. Each head needs `.throws(radius, pressure)` and `.at(x, y)`; sectors also `.arc(degrees)` and
    /// `.facing(bearing)` (default: toward the center of all heads).
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).driest   // => [22.75 ft, 0.25 ft]
    /// lawn.run().coverage()   // => error: coverage: the bed is 30 ft by 0 ft; expected a rectangle of ground
    /// ```
    #[rhai_fn(name = "coverage", return_raw)]
    pub fn coverage_on(solution: Solution, x: Array, y: Array) -> Result<Coverage, Box<EvalAltResult>> {
        let ((left_m, right_m), (bottom_m, top_m)) = (span(&x, "x")?, span(&y, "y")?);
        Coverage::of(&solution, Some(Bed { left_m, right_m, bottom_m, top_m }), Pattern::default()).map_err(raise)
    }

    #[rhai_fn(name = "coverage", return_raw)]
    pub fn coverage_between_heads(solution: Solution) -> Result<Coverage, Box<EvalAltResult>> {
        Coverage::of(&solution, None, Pattern::default()).map_err(raise)
    }

    /// The radial profile of the heads, their distribution of water along the radius: "cone" (the default, a straight line down to zero),
    /// "ellipse", "paraboloid" or "disc" (the same rate everywhere).
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let r = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]);
    /// ["cone", "ellipse", "disc"].map(|word| round_to(r.radial_profile(word).cu, 0.1))   // => [89.6, 81.6, 71.4]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn radial_profile(rain: Coverage, word: &str) -> Result<Coverage, Box<EvalAltResult>> {
        let found = Pattern::ALL.iter().find(|(name, _)| *name == word);
        let Some((_, pattern)) = found else {
            let names = Pattern::ALL.map(|(name, _)| name);
            let hint = did_you_mean(word, names).unwrap_or_else(|| format!("use one of {}", names.join(", ")));
            return Err(ScriptError::new(format!("radial_profile: there is no profile '{word}'")).with_hint(hint).into());
        };
        rain.with_pattern(*pattern).map_err(raise)
    }

    /// The run time for a depth of water on the ground: for the mean depth, the "low quarter" (mean of the driest quarter), or the "driest"
    /// spot.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let r = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]);
    /// r.run_time_for(0.5.inch)                  // => 91.39 min
    /// r.run_time_for(0.5.inch, "low quarter")   // => 110 min
    /// ```
    #[rhai_fn(name = "run_time_for", return_raw)]
    pub fn run_time_for(rain: Coverage, depth: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        time_for_part_of(&rain, &depth, "mean")
    }

    #[rhai_fn(name = "run_time_for", return_raw)]
    pub fn time_for_part(rain: Coverage, depth: Dynamic, word: &str) -> Result<Quantity, Box<EvalAltResult>> {
        time_for_part_of(&rain, &depth, word)
    }

    /// The application rate cell by cell: x, y and rate, for a heat map.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let r = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]);
    /// chart(r.table()).x("x").y("y").heat("application_rate").save("coverage.svg")   // => saved coverage.svg
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn coverage_table(rain: Coverage) -> Result<Table, Box<EvalAltResult>> {
        report::table(&rain).map_err(raise)
    }

    /// A catch-can test: uniformity of the water in equal cans on the bed, given as volumes or depths. `c.mean`, `c.lowest`, `c.highest`; `c.cu`
    /// (CU, Christiansen) and `c.du` (DU, low quarter) in percent. The mean, divided by the opening of a can and the time, is the application rate.
    ///
    /// ```hw
    /// let c = catch_cans([18.mL, 22.mL, 20.mL, 17.mL, 21.mL, 19.mL, 9.mL, 14.mL]);
    /// round_to(c.cu, 0.1)                            // => 82.1
    /// round_to(c.du, 0.1)                         // => 65.7
    /// (c.mean / 16.6.in2 / 15.min).to("in/h")           // => 0.2573 in/h
    /// catch_cans([18.mL, 2.inch])   // => error: catch_cans: can 2 holds 2 in (a length), the first 18 mL (a volume)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn catch_cans(catches: Array) -> Result<Catches, Box<EvalAltResult>> {
        let one = |(index, value): (usize, &Dynamic)| -> Answer<Quantity> {
            as_quantity(value).ok_or_else(|| {
                let what = format!("catch_cans: can {} holds {}; expected a volume or a depth", index + 1, describe(value));
                ScriptError::new(what).with_hint("write catch_cans([18.mL, 22.mL])").into()
            })
        };
        Catches::of(&catches.iter().enumerate().map(one).collect::<Answer<Vec<_>>>()?).map_err(raise)
    }
}
