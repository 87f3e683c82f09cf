//! Sensitivity of a result to the parameters, and calibration to readings, as scripts see them.
//!
//! The derivatives are in `crate::hydraulics`, the work is in `crate::study`.

use crate::garden::{Garden, split_path};
use crate::hydraulics::{Probe, ProbeKind};
use crate::quantity::Quantity;
use crate::report::restriction as report;
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, as_quantity, describe, only_keys, value_of};
use crate::study::fit::{Fit, Fitted, Measurement};
use crate::study::restriction::{Cause, Restriction};
use crate::study::sensitivity_table;
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, Map};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`sensitivity` lists which parameters of a garden affect a pressure or flow most. `calibrate` goes the other way: from gauge and
bucket readings to parameters that are hard to measure, such as the roughness of an old hose. A calibration shows the parameters with their standard
errors, the readings against the calibrated garden, and parameters that the readings do not determine. `fit.garden` is the calibrated
garden, `fit["feed.roughness"]` one parameter, `fit.chi_square` the chi-square per degree of freedom, `fit.notes` the remarks.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> [ valve("beds") >> head("bed", (1/8).inch), valve("both") >> head("berry", (5/32).inch) ];
let readings = [ #{ zones: "beds", at: "bed", pressure: 46.psi, error: 0.5.psi },
                 #{ zones: "both", at: "berry", pressure: 36.psi, error: 0.5.psi },
                 #{ zones: ["beds", "both"], at: "berry", pressure: 23.psi, error: 0.5.psi } ];
let found = plot.calibrate(readings, "feed.roughness");
found["feed.roughness"]   // => 0.46 mm
found.standard_error("feed.roughness")   // => 0.041 mm
found.garden.run("both").pressure("berry")   // => 36.3 psi
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Fit>("a calibration");
    engine.register_get("garden", |fit: &mut Fit| -> Answer<Garden> {
        fit.garden()
            .cloned()
            .ok_or_else(|| ScriptError::new("this calibration is one of a season").with_hint("ask for fit.season").into())
    });
    engine.register_get("chi_square", |fit: &mut Fit| fit.chi_square().map_or(Dynamic::UNIT, Dynamic::from_float));
    engine.register_get("freedom", |fit: &mut Fit| fit.freedom as INT);
    engine.register_get("notes", |fit: &mut Fit| -> Array { fit.notes.iter().map(|note| note.clone().into()).collect() });
    engine.register_indexer_get(|fit: &mut Fit, path: &str| -> Answer<Dynamic> { value_of(fitted(fit, path)?.value) });
    engine.register_fn("to_debug", |call: NativeCallContext, fit: Fit| -> Answer<String> {
        let look = look_of(&call)?;
        fit.text(look.system, look.width).map_err(raise)
    });
    engine.register_fn("to_string", |fit: Fit| format!("a calibration of {} parameters", fit.parameters.len()));
    engine.register_type_with_name::<Restriction>("a search for a restriction");
    engine.register_get("garden", |found: &mut Restriction| -> Answer<Garden> { Ok(likeliest(found)?.garden.clone()) });
    engine.register_get("cause", |found: &mut Restriction| -> Answer<String> { Ok(report::in_short(likeliest(found)?)) });
    engine.register_get("fits", |found: &mut Restriction| -> Answer<Dynamic> { value_of(likeliest(found)?.fits) });
    engine.register_fn("to_debug", |call: NativeCallContext, found: Restriction| -> Answer<String> {
        report::text(&found, look_of(&call)?).map_err(raise)
    });
    engine.register_fn("to_string", |call: NativeCallContext, found: Restriction| -> Answer<String> {
        Ok(report::in_words(&found, context_of(&call)?.units()))
    });
    engine.register_global_module(exported_module!(functions).into());
}

fn likeliest(found: &Restriction) -> Answer<&Cause> {
    found.causes.first().ok_or_else(|| {
        ScriptError::new("there is no cause: nothing explains the readings better than the garden as drawn")
            .with_hint("look at .words, and take more readings")
            .into()
    })
}

/// What a text such as `berry`, `berry.pressure` or `berry.flow` reads; default the pressure.
fn reading_of(garden: &Garden, what: &str) -> Answer<Probe> {
    let (name, kind) = match split_path(what) {
        Some((name, "pressure")) => (name, ProbeKind::Pressure),
        Some((name, "flow")) => (name, ProbeKind::Flow),
        Some((_, other)) => {
            let error = ScriptError::new(format!("sensitivity: there is no result '{other}'"));
            return Err(error.with_hint("ask for the pressure or the flow, as in \"berry.flow\"").into());
        }
        None => (what, ProbeKind::Pressure),
    };
    Ok(Probe { place: garden.find(name).map_err(raise)?, kind })
}

fn sensitivity_of(call: &NativeCallContext, garden: &Garden, what: &str, zones: &[String]) -> Answer<Table> {
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let found = sensitivity_table(garden, &names, &reading_of(garden, what)?).map_err(raise)?;
    found.table(context_of(call)?.units()).map_err(raise)
}

/// The names a reading may have.
const KEYS: &[&str] = &["zones", "at", "pressure", "flow", "error"];

/// A reading from a map.
fn measurement(value: &Dynamic, word: &str) -> Answer<Measurement> {
    const EXAMPLE: &str = "write #{ zones: \"beds\", at: \"bed\", pressure: 31.psi, error: 1.psi }";
    let wrong = |what: String| ScriptError::new(format!("{word}: {what}")).with_hint(EXAMPLE);
    let Some(map) = value.read_lock::<Map>() else {
        return Err(wrong(format!("a reading is a map, found {}", describe(value))).into());
    };
    only_keys(&map, KEYS, |other| format!("{word}: a reading has no '{other}'"), EXAMPLE)?;
    let at = map.get("at").ok_or_else(|| wrong("a reading needs 'at', the part where it was taken".into()))?;
    let (kind, value) = match (map.get("pressure"), map.get("flow")) {
        (Some(pressure), None) => (ProbeKind::Pressure, pressure),
        (None, Some(flow)) => (ProbeKind::Flow, flow),
        (Some(_), Some(_)) => return Err(wrong("a reading is either a pressure or a flow; write two readings".into()).into()),
        (None, None) => return Err(wrong("a reading needs a pressure or a flow".into()).into()),
    };
    let quantity = |value: &Dynamic, what: &str| -> Answer<Quantity> {
        as_quantity(value)
            .ok_or_else(|| wrong(format!("the {what} of a reading must be a quantity, found {}", describe(value))).into())
    };
    Ok(Measurement {
        zones: map.get("zones").map_or(Ok(Vec::new()), |zones| as_names(zones, word))?,
        at: as_names(at, &format!("{word}: at"))?.into_iter().next().unwrap_or_default(),
        kind,
        value: quantity(value, "value")?,
        error: map.get("error").map(|error| quantity(error, "error")).transpose()?,
    })
}

fn fitted<'a>(fit: &'a Fit, path: &str) -> Answer<&'a Fitted> {
    fit.parameters.iter().find(|number| number.path == path).ok_or_else(|| {
        let known: Vec<&str> = fit.parameters.iter().map(|number| number.path.as_str()).collect();
        let error = ScriptError::new(format!("'{path}' was not calibrated"));
        error.with_hint(format!("the calibrated parameters are {}", known.join(", "))).into()
    })
}

#[export_module]
mod functions {
    /// Which parameters affect the pressure (or flow) of a part most: the sensitivity to each parameter, the largest effect first.
    /// `ten_percent` is the effect of 10 % more of the parameter, `per_unit` that of one of its units; `per_currency_unit`, for
    /// hoses with a price, that of length for one of the currency, such as one US dollar. All are derivatives at the present state: for large changes use `with` or a sweep.
    /// The second argument names the zones that are on.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed").price(40.USD)
    ///     >> valve("berries") >> head("berry", (5/32).inch);
    /// let t = plot.sensitivity("berry", "berries");
    /// t["parameter"][0]   // => berry.nozzle
    /// t.filter(|r| r.parameter == "feed.length")["per_unit"]   // => ["-0.056 psi per ft"]
    /// plot.sensitivity("berry.flow", "berries").rows   // => 11
    /// plot.sensitivity("berry")   // => error: sensitivity of 'berry' cannot be determined: no supply reaches it
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sensitivity(call: NativeCallContext, garden: Garden, what: &str, zones: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        sensitivity_of(&call, &garden, what, &as_names(&zones, "sensitivity")?)
    }

    #[rhai_fn(name = "sensitivity", return_raw)]
    pub fn sensitivity_shut(call: NativeCallContext, garden: Garden, what: &str) -> Result<Table, Box<EvalAltResult>> {
        sensitivity_of(&call, &garden, what, &[])
    }

    /// Calibrates a garden: finds the parameters that match gauge and bucket readings best, from their present values. A reading is a map of the open
    /// `zones`, `at` which part, its `pressure` or `flow`, and its `error` (default 1 psi for a gauge and 3 % for a bucket
    /// test). The last argument names one parameter or a list of them.
    ///
    /// ```hw
    /// let tap = supply(60.psi).measured(50.psi, 6.gpm) >> hose(10.ft, 1.inch) >> valve("open") >> head("gun", (3/16).inch);
    /// let f = tap.calibrate([ #{ at: "supply", pressure: 58.psi }, #{ zones: "open", at: "gun", pressure: 45.psi } ], ["supply.static_pressure", "supply.measured_pressure"]);
    /// f["supply.static_pressure"]   // => 58 psi
    /// f.notes                       // => ["default errors: 1 psi for a gauge and 3 % for a bucket test"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn calibrate(garden: Garden, readings: Array, what: Dynamic) -> Result<Fit, Box<EvalAltResult>> {
        let readings: Vec<Measurement> =
            readings.iter().map(|reading| measurement(reading, "calibrate")).collect::<Result<_, _>>()?;
        let paths = as_names(&what, "calibrate")?;
        let paths: Vec<&str> = paths.iter().map(String::as_str).collect();
        crate::study::fit::fit(&garden, &readings, &paths).map_err(raise)
    }

    /// Where is the restriction? Compares gauge and bucket readings with the garden as drawn, and ranks single causes by how well they explain
    /// the readings: a valve that is not fully open, a clogged filter, a kinked or narrower hose, a nozzle of another size, a leak, a weak main or pump. Readings are
    /// written as for `calibrate`. `.cause` and `.fits` are the likeliest cause and its value, `.table()` lists all of them, `.garden` is the garden with
    /// that cause, and `.words` says which further reading would distinguish the best two.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> point("at tap") >> filter(1.psi, 6.gpm).named("screen") >> hose(100.ft, (3/4).inch).named("feed")
    ///     >> point("manifold") >> [ valve("beds") >> head("bed", (1/8).inch), valve("berries") >> head("berry", (5/32).inch) ];
    /// let found = plot.find_restriction([ #{ zones: "berries", at: "at tap", pressure: 50.psi }, #{ zones: "berries", at: "manifold", pressure: 33.psi },
    ///                                     #{ zones: "berries", at: "berry", pressure: 32.psi } ]);
    /// found.cause   // => hose 'feed' is kinked, scaled or narrower
    /// found.words   // => of 3 readings the one at berry is farthest from the garden as drawn: 32 psi read, 13.2 errors less than computed
    /// // => likeliest: hose 'feed' is kinked, scaled or narrower, 0.494 in in place of 3/4 in (52 %)
    /// // => next, read the pressure at screen with berries on:
    /// // =>   51.4 psi if hose 'feed' is kinked, scaled or narrower
    /// // =>   35.3 psi if filter 'screen' is clogged
    /// plot.find_restriction([])   // => error: there are no readings
    /// ```
    #[rhai_fn(return_raw)]
    pub fn find_restriction(call: NativeCallContext, garden: Garden, readings: Array) -> Result<Restriction, Box<EvalAltResult>> {
        let readings: Vec<Measurement> =
            readings.iter().map(|reading| measurement(reading, "find_restriction")).collect::<Result<_, _>>()?;
        let threads = context_of(&call)?.threads();
        crate::study::restriction::find_restriction(&garden, &readings, threads).map_err(raise)
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_causes(call: NativeCallContext, found: Restriction) -> Result<Table, Box<EvalAltResult>> {
        report::table(&found, context_of(&call)?.units()).map_err(raise)
    }

    #[rhai_fn(get = "words", return_raw)]
    pub fn words_of_causes(call: NativeCallContext, found: &mut Restriction) -> Result<String, Box<EvalAltResult>> {
        Ok(report::in_words(found, context_of(&call)?.units()))
    }

    /// The calibrated parameters: start value, result, and standard error.
    ///
    /// ```hw
    /// let tap = supply(60.psi) >> point("gauge");
    /// tap.calibrate([ #{ at: "gauge", pressure: 57.psi }, #{ at: "gauge", pressure: 58.psi } ], "supply.static_pressure").table()["plus_minus"]   // => [0.71 psi]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_fit(call: NativeCallContext, fit: Fit) -> Result<Table, Box<EvalAltResult>> {
        fit.table(context_of(&call)?.units()).map_err(raise)
    }

    /// The readings of a calibration against the calibrated garden; the last column is the difference in standard errors of the reading.
    ///
    /// ```hw
    /// let tap = supply(60.psi) >> point("gauge");
    /// tap.calibrate([ #{ at: "gauge", pressure: 57.psi }, #{ at: "gauge", pressure: 58.psi } ], "supply.static_pressure").residuals()["off_in_errors"]   // => [0.5, -0.5]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn residuals(call: NativeCallContext, fit: Fit) -> Result<Table, Box<EvalAltResult>> {
        fit.residuals(context_of(&call)?.units()).map_err(raise)
    }

    /// Standard error of a calibrated parameter; `()` if the readings do not determine it.
    ///
    /// ```hw
    /// let tap = supply(60.psi) >> point("gauge");
    /// tap.calibrate([ #{ at: "gauge", pressure: 57.psi, error: 2.psi } ], "supply.static_pressure").standard_error("supply.static_pressure")   // => 2 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn standard_error(fit: Fit, path: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        let number = fitted(&fit, path)?;
        number.error.map_or(Ok(Dynamic::UNIT), |si| value_of(Quantity { si, ..number.value }))
    }

    /// Correlation between two calibrated parameters, from -1 to 1; `()` if undetermined.
    ///
    /// ```hw
    /// let tap = supply(60.psi).measured(50.psi, 6.gpm) >> hose(10.ft, 1.inch) >> valve("open") >> demand("tub", 3.gpm);
    /// let f = tap.calibrate([ #{ at: "supply", pressure: 58.psi }, #{ zones: "open", at: "supply", pressure: 56.psi } ], ["supply.static_pressure", "supply.measured_pressure"]);
    /// f.correlation("supply.static_pressure", "supply.measured_pressure")   // => -0.6
    /// ```
    #[rhai_fn(return_raw)]
    pub fn correlation(fit: Fit, first: &str, second: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        fitted(&fit, first)?;
        fitted(&fit, second)?;
        let place = |path: &str| fit.parameters.iter().position(|number| number.path == path).unwrap_or(0);
        Ok(fit.correlation[place(first)][place(second)].map_or(Dynamic::UNIT, Dynamic::from_float))
    }
}
