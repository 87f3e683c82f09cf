//! The knock of a valve that shuts, as scripts see it.
//!
//! What it is is in `crate::water_hammer`.

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
A valve that shuts stops the water in the hose before it, and the pressure jumps. `knock` follows the waves through all
hoses, with tap, pump, check valve and tank as they are. `k.peak_pressure` is the highest pressure and `k.at` the part that sees it,
`k.pressure_rise` how much the pressure before the valve rises, `k.formula` the rise by formula (Joukowsky's at once, Michaud's where
the valve shuts slower than a wave takes to the source and back, `k.reflection_time`).

```hw
let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch).compliance(4.mL_per_bar_m).named("feed")
    >> valve("beds") >> head("bed", (3/16).inch);
let k = plot.water_hammer("beds", 0.s);
k.formula   // => 21.24 psi
k.at        // => beds
```
"#;

/// Registers the words of this area.
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
    engine.register_global_module(exported_module!(words).into());
}

fn of_zones(garden: &Garden, zones: &Dynamic, closing_time_s: Option<f64>) -> Answer<WaterHammer> {
    let zones = as_names(zones, "water_hammer")?;
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    water_hammer(garden, &zones, closing_time_s).map_err(raise)
}

/// The hose or pipe of a word.
fn conduit(part: &Part, word: &str) -> Answer<Wall> {
    match part.kind() {
        Kind::Hose => Ok(DEFAULT_HOSE_WALL),
        Kind::Pipe => Ok(DEFAULT_PIPE_WALL),
        _ => {
            let error = ScriptError::new(format!("{word}: a {} has no wall that stretches", part.spec().word));
            Err(error.with_hint("ask a hose or a pipe").into())
        }
    }
}

#[export_module]
mod words {
    /// The knock when a zone's valve shuts: which zone (of a list, the first shuts and the others run on), and in what time it
    /// stops the flow; the valve's own `closing_time` unless said. Hoses need a `stretch` or a `wall`; without one a usual wall
    /// is taken, and told.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch).compliance(4.mL_per_bar_m).named("feed")
    ///     >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds", 0.05.s).peak_pressure > plot.water_hammer("beds", 3.s).peak_pressure   // => true
    /// plot.water_hammer("bed")   // => error: 'bed' is a head, not a valve
    /// ```
    #[rhai_fn(name = "water_hammer", return_raw)]
    pub fn knock_in_time(garden: Garden, zones: Dynamic, closing_time: Dynamic) -> Result<WaterHammer, Box<EvalAltResult>> {
        of_zones(&garden, &zones, Some(expect_quantity(&closing_time, dim::TIME, "knock: closing time")?))
    }

    #[rhai_fn(name = "water_hammer", return_raw)]
    pub fn knock_in_own_time(garden: Garden, zones: Dynamic) -> Result<WaterHammer, Box<EvalAltResult>> {
        of_zones(&garden, &zones, None)
    }

    /// A knock part by part, those on the way to the valve first: wave speed, speed before, pressure before, highest, rise,
    /// lowest, rating, and what is left to it.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(100.ft, (5/8).inch).named("feed") >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds").table()["part"]   // => ["supply", "feed", "beds"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_water_hammer(water_hammer: WaterHammer) -> Result<Table, Box<EvalAltResult>> {
        report::table(&water_hammer).map_err(raise)
    }

    /// The course of a knock: pressure before the valve, and behind the nearest check valve with the flow through it.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch) >> valve("beds") >> head("bed", (3/16).inch);
    /// plot.water_hammer("beds").trace().names   // => ["time", "valve", "check", "check_flow"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn trace(water_hammer: WaterHammer) -> Result<Table, Box<EvalAltResult>> {
        report::trace(&water_hammer).map_err(raise)
    }

    /// What is to be said of a knock: parts struck above or near their rating, and suction in the swing back.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(100.ft, (5/8).inch).pressure_rating(80.psi).compliance(2.mL_per_bar_m).named("feed")
    ///     >> valve("beds") >> head("bed", (1/4).inch);
    /// plot.water_hammer("beds", 0.1.s).findings().table()["code"][0]   // => water-hammer-over-rating
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn findings_of_water_hammer(water_hammer: WaterHammer) -> FindingList {
        let list = water_hammer.findings();
        FindingList::of(water_hammer.solution.garden, list)
    }

    /// The stretch of a hose or pipe from its wall: thickness and modulus of elasticity; returns the part. Soft and reinforced
    /// hoses have some 20 to 300 MPa, polyethylene 800, rigid PVC 2760, copper 120,000 (from memory).
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).wall(3.mm, 100.MPa).compliance   // => 1.047 mL/bar/m
    /// hose(100.ft, (5/8).inch).wall(3.mm, 100.MPa).wave_speed()   // => 449.2 ft/s
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
