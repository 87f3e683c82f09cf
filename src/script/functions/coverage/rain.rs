//! Coverage of a result: on beds of any outline, in calm air and in wind.

use super::read::{beds, from_bearing, outlines, percent, span};
use crate::coverage::{Bed, CatchCans, Comparison, CountOn, Coverage, Ground, Pattern, Wind};
use crate::hydraulics::Solution;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, dim};
use crate::report::coverage as report;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::expect_quantity;
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Coverage>("coverage").register_type_with_name::<Comparison>("a comparison with cans");
    engine
        .register_get("application_rate", |rain: &mut Coverage| report::rate(rain.units, rain.uniformity.mean))
        .register_get("lowest", |rain: &mut Coverage| report::rate(rain.units, rain.uniformity.lowest))
        .register_get("highest", |rain: &mut Coverage| report::rate(rain.units, rain.uniformity.highest))
        .register_get("driest", |rain: &mut Coverage| -> Array {
            report::place(rain.units, rain.place_m(rain.driest())).map(Dynamic::from).into()
        })
        .register_get("cu", |rain: &mut Coverage| percent(rain.uniformity.christiansen))
        .register_get("du", |rain: &mut Coverage| percent(rain.uniformity.du))
        .register_get("overspray", |coverage: &mut Coverage| percent(1.0 - coverage.caught_share()))
        .register_get("dry_area", |rain: &mut Coverage| percent(rain.bare_share()))
        .register_get("area", |rain: &mut Coverage| Quantity {
            preference: rain.units.preference_of("ft2"),
            ..Quantity::new(rain.area_m2(), dim::AREA)
        })
        .register_get("shift", |rain: &mut Coverage| rain.units.quantity(rain.shift_m.0.hypot(rain.shift_m.1), dim::LENGTH));
    engine
        .register_get("ratio", |both: &mut Comparison| -> Answer<f64> { both.ratio().ok_or_else(nothing_computed) })
        .register_get("scatter", |both: &mut Comparison| -> Answer<f64> {
            both.scatter().map(percent).ok_or_else(nothing_computed)
        });
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |call: NativeCallContext, rain: Coverage| -> Answer<String> {
                Ok(report::in_words(&rain, look_of(&call)?.system))
            })
            .register_fn(word, |call: NativeCallContext, both: Comparison| -> Answer<String> {
                Ok(report::comparison_in_words(&both, look_of(&call)?.system))
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn nothing_computed() -> Box<EvalAltResult> {
    let error = ScriptError::new("against: no water was computed where the cans stand");
    error.with_hint("give the places of the cans in the same coordinates as .at(x, y) of the heads").into()
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
    /// Application rate and uniformity (CU, DU) of the running heads on a bed, given by its range of x and its range of y, by its corners, or
    /// as a list of several beds; without a bed, on the rectangle between the heads. Each head needs `.throws(radius, pressure)` and `.at(x, y)`; sectors also `.arc(degrees)` and
    /// `.facing(bearing)` (default: toward the center of all heads).
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).driest   // => [7.2 ft, 3 in]
    /// lawn.run().coverage()   // => error: coverage: the bed is 30 ft by 0 ft; expected a rectangle of ground
    /// ```
    #[rhai_fn(name = "coverage", return_raw)]
    pub fn coverage_on(solution: Solution, x: Array, y: Array) -> Result<Coverage, Box<EvalAltResult>> {
        let ((left_m, right_m), (bottom_m, top_m)) = (span(&x, "coverage: x")?, span(&y, "coverage: y")?);
        Coverage::of(&solution, Some(Bed { left_m, right_m, bottom_m, top_m }), Pattern::default()).map_err(raise)
    }

    #[rhai_fn(name = "coverage", return_raw)]
    pub fn coverage_of_beds(solution: Solution, outlines: Array) -> Result<Coverage, Box<EvalAltResult>> {
        Coverage::on(&solution, Some(beds(&outlines, "coverage")?), Pattern::default()).map_err(raise)
    }

    #[rhai_fn(name = "coverage", return_raw)]
    pub fn coverage_between_heads(solution: Solution) -> Result<Coverage, Box<EvalAltResult>> {
        Coverage::on(&solution, None::<Ground>, Pattern::default()).map_err(raise)
    }

    /// The corners of a rectangle of ground, from its range of x and its range of y, for `coverage` of several beds and for obstacles.
    ///
    /// ```hw
    /// rectangle([0.ft, 12.ft], [0.ft, 4.ft])[2]   // => [12 ft, 4 ft]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rectangle(x: Array, y: Array) -> Result<Array, Box<EvalAltResult>> {
        span(&x, "rectangle: x")?;
        span(&y, "rectangle: y")?;
        let corner = |at_x: usize, at_y: usize| Dynamic::from_array(vec![x[at_x].clone(), y[at_y].clone()]);
        Ok(vec![corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)])
    }

    /// The coverage without what takes no water: a shed, a path, a pond, by its corners, or a list of several. Mean, CU and DU are then those of the
    /// rest, and water on an obstacle counts as overspray. An obstacle casts no shadow here.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let r = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]);
    /// r.obstacle(rectangle([12.ft, 18.ft], [0.ft, 20.ft])).area   // => 480 ft2
    /// r.obstacle([[0.ft, 0.ft], [10.ft, 10.ft], [10.ft, 0.ft], [0.ft, 8.ft]])   // => error: obstacle: the outline crosses itself: side 1 meets side 3 at x 4.4 ft, y 4.4 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn obstacle(rain: Coverage, shape: Array) -> Result<Coverage, Box<EvalAltResult>> {
        rain.without(outlines(&shape, "obstacle")?).map_err(raise)
    }

    /// The coverage in wind, by its speed and the bearing it blows from: degrees clockwise from the y axis of the plan, or a name such as "west".
    /// Each ring of a head's pattern is the drop that falls there in calm air, flown again in the wind. `.trajectory` and `.riser` of the heads count.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let r = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]);
    /// let windy = r.wind(8.mph, "west");
    /// [round_to(r.overspray, 1), round_to(windy.overspray, 1)]   // => [67, 68]
    /// windy.shift                                                // => 9.1 ft
    /// r.wind(8.mph)   // => error: wind: give the bearing it blows from
    /// ```
    #[rhai_fn(name = "wind", return_raw)]
    pub fn wind_on_coverage(rain: Coverage, speed: Dynamic, from: Dynamic) -> Result<Coverage, Box<EvalAltResult>> {
        let speed_m_per_s = expect_quantity(&speed, dim::SPEED, "wind: speed")?;
        rain.in_wind(Some(Wind { speed_m_per_s, from_deg: from_bearing(&from)? })).map_err(raise)
    }

    #[rhai_fn(name = "wind", return_raw)]
    pub fn wind_without_bearing(_rain: Coverage, _speed: Dynamic) -> Result<Coverage, Box<EvalAltResult>> {
        let error = ScriptError::new("wind: give the bearing it blows from");
        Err(error.with_hint("write .wind({6.mph|3.m_per_s}, 270) or .wind({6.mph|3.m_per_s}, \"west\")").into())
    }

    /// The cans of a test beside the computed rate at their places: `ratio` is caught over computed, `scatter` how far single cans are off once both
    /// means agree, in percent of the mean; `table()` has a row a can. Rows of cans without a `.corner(x, y)` are centered on the bed.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let cans = catch_cans([[6.mL, 7.mL, 6.mL], [9.mL, 7.mL, 8.mL]]).spaced(10.ft).mouth(16.6.in2).lasted(15.min);
    /// let both = lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).against(cans);
    /// round_to(both.ratio, 0.01)     // => 0.32
    /// round_to(both.scatter, 1)      // => 15
    /// ```
    #[rhai_fn(return_raw)]
    pub fn against(rain: Coverage, cans: CatchCans) -> Result<Comparison, Box<EvalAltResult>> {
        cans.beside(&rain).map_err(raise)
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
    /// r.run_time_for(0.5.inch)                  // => 91.4 min
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

    #[rhai_fn(name = "table", return_raw)]
    pub fn comparison_table(both: Comparison) -> Result<Table, Box<EvalAltResult>> {
        report::comparison_table(&both).map_err(raise)
    }
}
