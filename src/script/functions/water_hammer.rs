//! Water hammer, the pressure surge when a valve closes, as scripts see it.
//!
//! The computation is in `crate::water_hammer`.

use crate::garden::Garden;
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Quantity, dim};
use crate::report::{FindingList, water_hammer as report};
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, expect_quantity};
use crate::table::Table;
use crate::water::Water;
use crate::water_hammer::{
    DEFAULT_HOSE_WALL, DEFAULT_PIPE_WALL, Wall, WaterHammer, compliance_of_wall, water_hammer, wave_speed,
};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A closing valve stops the water in the hose upstream of it, and the pressure surges. `water_hammer` follows the pressure waves through all
hoses, with tap, pump, check valve and tank. `k.peak_pressure` is the highest pressure (surge pressure) and `k.at` its part, `k.pressure_rise` the
rise upstream of the valve, `k.formula` the rise by formula (Joukowsky's for a fast closing, Michaud's for a closing time longer than
`k.reflection_time`, the travel time of a wave to the source and back).

```hw
let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch).compliance(4.mL_per_bar_m).named("feed")
    >> valve("beds") >> head("bed", (3/16).inch);
let k = plot.water_hammer("beds", 0.s);
k.formula   // => 21.2 psi
k.at        // => beds
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<WaterHammer>("a water hammer");
    engine
        .register_get("peak_pressure", |water_hammer: &mut WaterHammer| report::peak(water_hammer))
        .register_get("at", |water_hammer: &mut WaterHammer| report::at(water_hammer))
        .register_get("pressure_rise", |water_hammer: &mut WaterHammer| report::rise(water_hammer))
        .register_get("formula", |water_hammer: &mut WaterHammer| {
            water_hammer.garden().quantity(water_hammer.formula_pa(), dim::PRESSURE)
        })
        .register_get("reflection_time", |water_hammer: &mut WaterHammer| {
            Quantity::new(water_hammer.reflection_time_s, dim::TIME)
        });
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, water_hammer: WaterHammer| -> Answer<String> {
            Ok(water_hammer.card(look_of(&call)?.system))
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn of_zones(garden: &Garden, zones: &Dynamic, closing_time_s: Option<f64>) -> Answer<WaterHammer> {
    let zones = as_names(zones, "water_hammer")?;
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    water_hammer(garden, &zones, closing_time_s).map_err(raise)
}

/// The hose or pipe of a function.
fn conduit(part: &Part, word: &str) -> Answer<Wall> {
    match part.kind() {
        Kind::Hose => Ok(DEFAULT_HOSE_WALL),
        Kind::Pipe => Ok(DEFAULT_PIPE_WALL),
        _ => {
            let error = ScriptError::new(format!("{word}: a {} has no elastic wall", part.spec().word));
            Err(error.with_hint("use a hose or a pipe").into())
        }
    }
}

#[export_module]
mod functions {
    /// Water hammer (surge pressure) when the valve of a zone closes. Of a list of zones, the first closes and the others stay open. The last
    /// argument is the closing time; default: the valve's `closing_time`. Hoses need a `compliance` or a `wall`; without one a usual wall
    /// is assumed, and a finding reports it.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch).compliance(4.mL_per_bar_m).named("feed")
    ///     >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds", 0.05.s).peak_pressure > plot.water_hammer("beds", 3.s).peak_pressure   // => true
    /// plot.water_hammer("bed")   // => error: 'bed' is a head, not a valve
    /// ```
    #[rhai_fn(name = "water_hammer", return_raw)]
    pub fn knock_in_time(garden: Garden, zones: Dynamic, closing_time: Dynamic) -> Result<WaterHammer, Box<EvalAltResult>> {
        of_zones(&garden, &zones, Some(expect_quantity(&closing_time, dim::TIME, "water_hammer: closing time")?))
    }

    #[rhai_fn(name = "water_hammer", return_raw)]
    pub fn knock_in_own_time(garden: Garden, zones: Dynamic) -> Result<WaterHammer, Box<EvalAltResult>> {
        of_zones(&garden, &zones, None)
    }

    /// Water hammer part by part, the line to the valve first: wave speed, velocity and pressure before closing, highest pressure, rise,
    /// lowest pressure, pressure rating, and the margin to it.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(100.ft, (5/8).inch).named("feed") >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds").table()["part"]   // => ["supply", "feed", "beds"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_water_hammer(water_hammer: WaterHammer) -> Result<Table, Box<EvalAltResult>> {
        report::table(&water_hammer).map_err(raise)
    }

    /// Pressure over time in a water hammer: upstream of the valve, and downstream of the nearest check valve with its flow.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch) >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds").trace().names   // => ["time", "valve", "check", "check_flow"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn trace(water_hammer: WaterHammer) -> Result<Table, Box<EvalAltResult>> {
        report::trace(&water_hammer).map_err(raise)
    }

    /// Problems found in a water hammer: parts above or near their pressure rating, and vacuum in the downsurge.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(100.ft, (5/8).inch).pressure_rating(80.psi).compliance(2.mL_per_bar_m).named("feed")
    ///     >> valve("beds") >> head("bed", (1/4).inch);
    /// plot.water_hammer("beds", 0.1.s).findings().table()["code"][0]   // => water-hammer-over-rating
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn findings_of_water_hammer(water_hammer: WaterHammer) -> FindingList {
        let list = water_hammer.findings();
        FindingList::of(water_hammer.solution.garden, &list)
    }

    /// The compliance of a hose or pipe from its wall thickness and modulus of elasticity; returns the part. Soft and reinforced
    /// hoses have about 20 to 300 MPa, polyethylene 800, rigid PVC 2760, copper 120,000 (from memory).
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).wall(3.mm, 100.MPa).compliance   // => 1.047 mL/bar/m
    /// hose(100.ft, (5/8).inch).wall(3.mm, 100.MPa).wave_speed()   // => 449 ft/s
    /// ```
    #[rhai_fn(return_raw)]
    pub fn wall(part: Part, thickness: Dynamic, modulus: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        conduit(&part, "wall")?;
        let thickness_m = expect_quantity(&thickness, dim::LENGTH, "wall: thickness")?;
        let modulus_pa = expect_quantity(&modulus, dim::PRESSURE, "wall: modulus")?;
        if !(thickness_m > 0.0 && modulus_pa > 0.0) {
            return Err(ScriptError::new("wall: thickness and modulus must be above zero").into());
        }
        let stretch = compliance_of_wall(part.value(Id::Diameter), Wall { thickness_m, modulus_pa });
        part.with(&[(Id::Compliance, Quantity::new(stretch, dim::COMPLIANCE))]).map_err(raise)
    }

    /// How fast a pressure wave runs in a hose or pipe, in water of 15 degC.
    ///
    /// ```hw
    /// pipe(100.ft, (3/4).inch).wall(3.mm, 2760.MPa).wave_speed()   // => 1973 ft/s
    /// ```
    #[rhai_fn(name = "wave_speed", return_raw)]
    pub fn wave_speed_of(part: Part) -> Result<Dynamic, Box<EvalAltResult>> {
        let usual = conduit(&part, "wave_speed")?;
        let (water, diameter_m) = (Water::default(), part.value(Id::Diameter));
        let stretch = part.si(Id::Compliance).unwrap_or_else(|| compliance_of_wall(diameter_m, usual));
        let speed = wave_speed(water.density_kg_per_m3, water.bulk_modulus_pa(), diameter_m, stretch);
        Ok(Dynamic::from(part.units().quantity(speed, dim::SPEED)))
    }
}
