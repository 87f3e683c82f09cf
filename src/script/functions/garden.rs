//! Gardens as scripts see them: joining parts with `>>`, what-if with `with`, running zones and reading the result.
//!
//! The garden and its solve are in `crate::garden` and `crate::hydraulics`.

use super::edit::{as_line, made};
use super::findings::judged;
use crate::garden::{Garden, GardenError, drawing_within};
use crate::hydraulics::{Solution, run as run_garden};
use crate::parts::{Part, PartError};
use crate::quantity::{Quantity, dim};
use crate::report::solution as report;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe, expect_quantity, value_of};
use crate::table::Table;
use crate::water::Water;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, Map};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`a >> b` connects two parts or lines in series, `a >> [b, c]` connects parallel branches. Heads and other outlets are at a
point of the line, which may continue downstream of them. After a branch list, `>>` continues from the branches that do not end
in an outlet, joined again. A line that begins with a supply or an open tank is a garden and can be run.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm)
    >> hose(100.ft, (5/8).inch).named("feed")
    >> [ valve("beds") >> hose(40.ft, (1/2).inch) >> head("bed", (1/8).inch),
         valve("berries") >> hose(60.ft, (5/8).inch) >> uphill(2.ft) >> head("berry", (5/32).inch) ];
plot.run("berries").pressure("berry")   // => 38.4 psi
plot.with("feed.length", 50.ft).run("berries").pressure("berry")   // => 40.9 psi
```

`with`, `>>`, `branch`, `add_source` and `connect` give a new garden; the old one does not change. Parts without a name are named after
their function and a count: hose, hose2. `plot["feed.length"]` reads a parameter by its path.
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Garden>("a garden").register_type_with_name::<Solution>("a result");
    engine
        .register_fn(">>", |call: NativeCallContext, a: Part, b: Part| then(&call, Garden::of(a), Garden::of(b)))
        .register_fn(">>", |call: NativeCallContext, a: Part, b: Garden| then(&call, Garden::of(a), b))
        .register_fn(">>", |call: NativeCallContext, a: Garden, b: Part| then(&call, a, Garden::of(b)))
        .register_fn(">>", |call: NativeCallContext, a: Garden, b: Garden| then(&call, a, b))
        .register_fn(">>", |call: NativeCallContext, a: Part, b: Array| branches(&call, &Garden::of(a), &b))
        .register_fn(">>", |call: NativeCallContext, a: Garden, b: Array| branches(&call, &a, &b))
        .register_indexer_get(|garden: &mut Garden, path: &str| -> Answer<Dynamic> {
            value_of(garden.parameter(path).map_err(raise)?)
        });
    engine
        .register_fn("to_debug", |call: NativeCallContext, garden: Garden| drawn(&call, &garden))
        .register_fn("to_string", |garden: Garden| format!("a garden of {} parts", garden.parts().len()))
        .register_fn("to_debug", |call: NativeCallContext, solution: Solution| -> Answer<String> {
            Ok(report::in_words(&solution, look_of(&call)?))
        })
        .register_fn("to_string", |solution: Solution| format!("a result with {}", report::zones_in_words(&solution)));
    engine.register_global_module(exported_module!(functions).into());
    super::edit::register(engine);
    super::zones::register(engine);
}

fn drawn(call: &NativeCallContext, garden: &Garden) -> Answer<String> {
    let look = look_of(call)?;
    Ok(drawing_within(garden, look.system, look.width))
}

fn then(call: &NativeCallContext, a: Garden, b: Garden) -> Answer<Garden> {
    made(call, a.then(&b).map_err(raise)?)
}

fn branches(call: &NativeCallContext, start: &Garden, list: &Array) -> Answer<Garden> {
    let lines: Vec<Garden> = list.iter().map(|line| as_line(line, ">>")).collect::<Result<_, _>>()?;
    made(call, start.then_branches(&lines).map_err(raise)?)
}

fn run_zones(garden: &Garden, zones: &[String]) -> Answer<Solution> {
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    run_garden(garden, &names).map_err(raise)
}

/// The garden with another value at a path. Errors: an unknown path, a part, or a value that does not fit.
fn changed(garden: &Garden, path: &str, value: &Dynamic) -> Answer<Garden> {
    let quantity = as_quantity(value).ok_or_else(|| {
        let error = ScriptError::new(format!("with: '{path}' needs a plain number or a quantity, found {}", describe(value)));
        let hint = if value.is::<Part>() { "replace(name, part) puts another part in its place" } else { "" };
        error.with_hint(hint).about("value")
    })?;
    garden.with(path, quantity).map_err(|error| match error {
        // The path leads to a parameter, but the value does not fit it.
        GardenError::Part(error @ (PartError::OutOfRange { .. } | PartError::WrongDimension { .. })) => {
            ScriptError::from(error).about_only("value").into()
        }
        error => raise(error),
    })
}

#[export_module]
mod functions {
    use crate::script::language::values::as_names;

    /// Pressure, flow and velocity of all parts with the named zones on, in steady state. Without a name all valves stay closed.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.run("bed").flow("spray")   // => 3.1 gpm
    /// line.run("bde")                 // => error: there is no valve called 'bde' in this garden
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn run(call: NativeCallContext, garden: &mut Garden, zones: Dynamic) -> Result<Solution, Box<EvalAltResult>> {
        run_zones(&judged(&call, garden)?, &as_names(&zones, "run")?)
    }

    #[rhai_fn(name = "run", pure, return_raw)]
    pub fn run_shut(call: NativeCallContext, garden: &mut Garden) -> Result<Solution, Box<EvalAltResult>> {
        run_zones(&judged(&call, garden)?, &[])
    }

    /// What if: a new garden with another value of one parameter, of all parameters that a pattern with `*` matches, or of several in
    /// a map.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.with("feed.length", 200.ft).run().pressure("spray")                                          // => 43 psi
    /// line.with(#{ "feed.length": 200.ft, "spray.nozzle": (3/32).inch }).run().pressure("spray")         // => 47.2 psi
    /// line.with("*.roughness", 0.1.mm).run().pressure("spray")                                          // => 47.5 psi
    /// line.with("fed.length", 1.ft)   // => error: there is no part called 'fed' in this garden
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn with(call: NativeCallContext, garden: &mut Garden, path: &str, value: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        changed(garden, path, &value).and_then(|garden| made(&call, garden))
    }

    #[rhai_fn(name = "with", pure, return_raw)]
    pub fn with_all(garden: &mut Garden, values: Map) -> Result<Garden, Box<EvalAltResult>> {
        // A new measurement is made at the static pressure that is given beside it.
        let at_rest = |path: &str| !path.ends_with(".static_pressure");
        let mut values: Vec<_> = values.iter().collect();
        values.sort_by_key(|(path, _)| at_rest(path));
        values.into_iter().try_fold(garden.clone(), |garden, (path, value)| changed(&garden, path, value))
    }

    /// The same garden with another part in the place of the named one; the new part takes over the name.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.replace("spray", head("new", (3/32).inch)).run().flow("spray")   // => 1.77 gpm
    /// line.replace("feed", head("new", (3/32).inch))   // => error: 'feed': a head cannot replace a hose
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn replace(call: NativeCallContext, garden: &mut Garden, name: &str, part: Part) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.replace(name, &part).map_err(raise)?)
    }

    /// A new garden with another water temperature; default 15 degC.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(200.ft, (1/2).inch) >> head("spray", (1/8).inch);
    /// line.with_water(30.degC).run().pressure("spray")   // => 34.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn with_water(call: NativeCallContext, garden: Garden, temperature: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        let kelvin = expect_quantity(&temperature, dim::TEMPERATURE, "with_water: temperature")?;
        let water = Water::at(kelvin).map_err(raise)?;
        made(&call, garden.with_water(water))
    }

    /// A new garden at another altitude; default sea level. Air pressure falls with altitude, and so does the suction lift of pumps.
    ///
    /// ```hw
    /// let barrel = open_tank(1.ft) >> hose(20.ft, 1.inch) >> uphill(28.ft) >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]) >> head("spray", (1/8).inch);
    /// barrel.run().flow("spray")                           // => 2.19 gpm
    /// barrel.with_altitude(6000.ft).run().flow("spray")    // => 0 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn with_altitude(garden: Garden, altitude: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        let altitude_m = expect_quantity(&altitude, dim::LENGTH, "with_altitude: altitude")?;
        let changed = garden.with_altitude(altitude_m);
        changed.map_err(raise)
    }

    /// A copy of the named part of a garden.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.part("feed").diameter   // => 5/8 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn part(garden: Garden, name: &str) -> Result<Part, Box<EvalAltResult>> {
        (*garden.shared_part(name).map_err(raise)?).clone().named(name).map_err(raise)
    }

    /// The names of all parts of a garden.
    ///
    /// ```hw
    /// (supply(50.psi) >> hose(50.ft, (5/8).inch) >> hose(20.ft, (1/2).inch)).names()   // => ["supply", "hose", "hose2"]
    /// ```
    pub fn names(garden: Garden) -> Array {
        (0..garden.parts().len()).map(|place| garden.name(place).to_string().into()).collect()
    }

    /// Bill of materials: the cost of all parts of a garden that have a price, one row each.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed").price(28.USD) >> head("spray", (1/8).inch).price(6.USD);
    /// sum(plot.bill_of_materials()["price"])   // => $34.00
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bill_of_materials(garden: Garden) -> Result<Table, Box<EvalAltResult>> {
        report::bill_of_materials(&garden).map_err(raise)
    }

    /// Shows a garden as text, one line per part from the supply downstream; a table with all rows; any other value as usual.
    ///
    /// ```hw
    /// show(supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch))   // => supply  supply, static pressure 50 psi
    /// // => feed    hose, length 50 ft, diameter 5/8 in
    /// // => spray   head, nozzle 1/8 in
    /// ```
    #[rhai_fn(return_raw)]
    pub fn show(call: NativeCallContext, garden: Garden) -> Result<String, Box<EvalAltResult>> {
        drawn(&call, &garden)
    }

    /// A new garden with a line between two parts, which closes a loop: from downstream of the first to downstream of the second.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (1/2).inch).named("left") >> head("far", (1/8).inch);
    /// plot.connect("supply", "left", hose(50.ft, (1/2).inch).named("right")).run().flow("left")   // => 1.56 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn connect(
        call: NativeCallContext,
        garden: Garden,
        from: &str,
        to: &str,
        line: Dynamic,
    ) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.connect(from, to, &as_line(&line, "connect")?).map_err(raise)?)
    }

    /// A new garden with one more branch (lateral), connected downstream of the named part.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("far", (1/8).inch);
    /// plot.branch("feed", head("near", (1/8).inch)).run().flow("feed")   // => 5.93 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn branch(call: NativeCallContext, garden: Garden, at: &str, line: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.branch(at, &as_line(&line, "branch")?).map_err(raise)?)
    }

    /// A new garden with a second source of water, such as a well or tank: a line that begins with a supply or tank and is connected downstream of the
    /// named part.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(150.ft, (1/2).inch).named("feed") >> head("far", (1/8).inch);
    /// plot.add_source("feed", supply(50.psi).named("well") >> hose(50.ft, (1/2).inch)).run().flow("well")   // => 2.01 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn add_source(call: NativeCallContext, garden: Garden, at: &str, line: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.add_source(at, &as_line(&line, "add_source")?).map_err(raise)?)
    }

    /// Working pressure at a part in a result: upstream of a head or other outlet, downstream of any other part.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.run().pressure("spray")   // => 48.1 psi
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn pressure(solution: &mut Solution, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::pressure(solution, name).map_err(raise)
    }

    /// Flow rate through a part in a result, positive downstream; zero without flow.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.run().flow("feed")   // => 3.1 gpm
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn flow(solution: &mut Solution, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::flow(solution, name).map_err(raise)
    }

    /// Mean velocity of the water in a hose, pipe, fitting or valve in a result.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.run().velocity("feed")   // => 3.24 ft/s
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn velocity(solution: &mut Solution, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::speed(solution, name).map_err(raise)
    }

    /// Electrical power of a booster in a result: its `input_power`, or water power divided by `efficiency`.
    ///
    /// ```hw
    /// let pump = booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).named("pump").input_power(500.W);
    /// (supply(30.psi) >> backflow_preventer() >> hose(20.ft, 1.inch) >> pump >> relief(80.psi) >> head("gun", (1/4).inch)).run().power("pump")   // => 500 W
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn power(solution: &mut Solution, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::power(solution, name).map_err(raise)
    }

    /// Speed of a booster in a result, as a share of its own speed: less than 1 only with a `drive`, 0 while it is off.
    ///
    /// ```hw
    /// let plot = supply(40.psi).measured(32.psi, 6.gpm) >> backflow_preventer() >> hose(20.ft, 1.inch)
    ///     >> booster([[0.gpm, 45.psi], [10.gpm, 25.psi]]).named("pump") >> drive(60.psi) >> relief(100.psi) >> head("bed", (5/32).inch);
    /// plot.run().pump_speed("pump") < 1   // => true
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn pump_speed(solution: &mut Solution, name: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        value_of(report::pump_speed(solution, name).map_err(raise)?)
    }

    /// A table of all parts with water: flow, pressure, and for hoses friction loss, velocity and Reynolds number.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.run().table().rows   // => 3
    /// ```
    #[rhai_fn(return_raw)]
    pub fn table(solution: Solution) -> Result<Table, Box<EvalAltResult>> {
        report::table(&solution).map_err(raise)
    }

    /// Pressure profile from the supply to the named part: length, elevation, pressure and hydraulic grade line downstream of each part.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> uphill(6.ft) >> head("spray", (1/8).inch);
    /// line.run().pressure_profile("spray").names   // => ["part", "distance", "height", "pressure", "grade"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_profile(solution: Solution, name: &str) -> Result<Table, Box<EvalAltResult>> {
        report::pressure_profile(&solution, name).map_err(raise)
    }
}
