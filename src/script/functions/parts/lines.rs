//! Functions for in-line parts: hoses and pipes, fittings, valves, regulators, named points.
//!
//! Outlets are in `outlets.rs`; a relief valve counts as a valve.

use super::make::{build, quantity_for, refine};
use crate::laws::fittings::{FITTINGS, find_fitting};
use crate::laws::minor::{cv_from_k, k_from_kv};
use crate::laws::roughness::{MATERIALS, find_material};
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Quantity, dim};
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::values::{as_quantity, describe, expect_number};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// A change of elevation by a height above zero. Errors: a height below zero, which is the other direction.
fn slope(kind: Kind, height: &Dynamic) -> Answer<Part> {
    let word = kind.spec().word;
    let other = if kind == Kind::Uphill { Kind::Downhill } else { Kind::Uphill };
    if as_quantity(height).is_some_and(|height| height.si < 0.0) {
        let error = ScriptError::new(format!("{word}: the height is {}", describe(height))).about("height");
        return Err(error.with_hint(format!("write {} with a height above zero", other.spec().word)).into());
    }
    build(kind, None, &[(Id::Height, height)])
}

#[export_module]
mod functions {
    /// A garden hose by length and inside diameter. Friction loss by Darcy-Weisbach with the exact Colebrook-White factor; default roughness 0.0015 mm
    /// (smooth). Settings: `roughness`, `pressure_rating`, `compliance`, `minor_k`, `price`, `named`.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).loss_at(6.gpm)   // => 12.4 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn hose(length: Dynamic, diameter: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Hose, None, &[(Id::Length, &length), (Id::Diameter, &diameter)])
    }

    /// The roughness of a hose or pipe wall, as a height or by the name of a material; returns the part.
    /// Scale or slime makes an old hose rougher.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).roughness(0.05.mm).roughness             // => 0.05 mm
    /// pipe(100.ft, (3/4).inch).roughness("galvanized").roughness        // => 0.15 mm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn roughness(part: Part, roughness: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let Ok(name) = roughness.as_immutable_string_ref().map(|name| name.to_string()) else {
            return refine(part, Id::Roughness, &roughness);
        };
        let Some(roughness_m) = find_material(&name).and_then(|material| material.roughness_m) else {
            let known: Vec<&str> =
                MATERIALS.iter().filter(|material| material.roughness_m.is_some()).map(|material| material.name).collect();
            let error = ScriptError::new(format!("roughness: there is no material '{name}'"));
            return Err(error.with_hint(format!("the materials are {}", known.join(", "))).into());
        };
        refine(part, Id::Roughness, &Dynamic::from(Quantity::new(roughness_m, dim::LENGTH)))
    }

    /// A fitting by its name and loss coefficient k: dp = k rho v^2 / 2 at the diameter of the nearest hose.
    /// With a name alone, k comes from the table of `fittings()`.
    ///
    /// ```hw
    /// fitting("quick coupler", 1.5).k   // => 1.5
    /// fitting("elbow_90").k             // => 0.75
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fitting(name: &str, k: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Fitting, Some(name), &[(Id::K, &k)])
    }

    #[rhai_fn(name = "fitting", return_raw)]
    pub fn usual_fitting(name: &str) -> Result<Part, Box<EvalAltResult>> {
        let found = find_fitting(name).map_err(raise)?;
        build(Kind::Fitting, None, &[(Id::K, &Dynamic::from_float(found.k()))])
    }

    /// A table of common fittings with their loss coefficients and sources.
    ///
    /// ```hw
    /// fittings().rows > 10   // => true
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fittings() -> Result<crate::table::Table, Box<EvalAltResult>> {
        use crate::table::{Column, Table};
        let columns = vec![
            Column::texts("fitting", FITTINGS.iter().map(|fitting| fitting.name)),
            Column::texts("what", FITTINGS.iter().map(|fitting| fitting.detail)),
            Column::numbers("k", FITTINGS.iter().map(|fitting| fitting.k())),
            Column::texts("source", FITTINGS.iter().map(|fitting| fitting.source().short())),
        ];
        Table::new(columns).map_err(raise)
    }

    /// A filter (strainer) by its clean pressure loss at one flow.
    ///
    /// ```hw
    /// filter(2.psi, 6.gpm).loss_at(3.gpm)   // => 0.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn filter(loss: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        if loss.is::<crate::table::Table>() {
            let what = format!("filter: rows are chosen by a column of true and false or a closure, found {}", describe(&flow));
            let hint = "compare a column, as in t.filter(t[\"p\"] > {30.psi|2.bar} & t[\"zone\"] == \"beds\")";
            return Err(ScriptError::new(what).with_hint(hint).about("flow").into());
        }
        build(Kind::Filter, None, &[(Id::Loss, &loss), (Id::Flow, &flow)])
    }

    /// A water meter by its pressure loss at one flow.
    ///
    /// ```hw
    /// meter(3.psi, 10.gpm).loss_at(5.gpm)   // => 0.75 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn meter(loss: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Meter, None, &[(Id::Loss, &loss), (Id::Flow, &flow)])
    }

    /// An orifice (flow restrictor), such as the bore of a quick coupler: sudden contraction and expansion against the diameter of the
    /// nearest hose.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> restrictor((3/8).inch).named("coupler") >> head("spray", (5/32).inch);
    /// line.run().pressure("hose") - line.run().pressure("coupler")   // => 0.91 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn restrictor(bore: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Restrictor, None, &[(Id::Bore, &bore)])
    }

    /// An elevation gain along the line, uphill in the direction of flow; the height is positive.
    ///
    /// ```hw
    /// uphill(6.ft).height   // => 6 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn uphill(height: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        slope(Kind::Uphill, &height)
    }

    /// An elevation drop along the line, downhill in the direction of flow; the height is positive.
    ///
    /// ```hw
    /// downhill(6.ft).height   // => 6 ft
    /// downhill(-6.ft)         // => error: downhill: the height is -6 ft (a length)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn downhill(height: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        slope(Kind::Downhill, &height)
    }

    /// A zone valve; closed unless it is named in `run` or opened by a schedule.
    /// Settings: `operating_range`, `cv`, `closing_time`, `diameter`, `price`.
    ///
    /// ```hw
    /// valve("berries").name   // => berries
    /// ```
    #[rhai_fn(return_raw)]
    pub fn valve(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Valve, Some(name), &[])
    }

    /// The flow coefficient Kv of a valve, m3/h at 1 bar; replaces its k. Returns the part.
    ///
    /// ```hw
    /// valve("beds").kv(3.9).cv   // => 4.50879
    /// ```
    #[rhai_fn(return_raw)]
    pub fn kv(part: Part, value: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        const ANY_BORE_M: f64 = 0.02;
        let kv = expect_number(&value, "kv: Kv")?;
        let k = k_from_kv(kv, ANY_BORE_M).map_err(raise_as("kv"))?;
        refine(part, Id::Cv, &Dynamic::from_float(cv_from_k(k, ANY_BORE_M).map_err(raise_as("kv"))?))
    }

    /// A check valve: flow in one direction only. It is not an approved backflow preventer.
    ///
    /// ```hw
    /// check_valve().k   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn check_valve() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::CheckValve, None, &[])
    }

    /// A pressure regulator (pressure reducing valve, PRV): holds its set pressure downstream; wide open where inlet pressure is below it.
    ///
    /// ```hw
    /// regulator(30.psi).set   // => 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn regulator(set: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Regulator, None, &[(Id::Set, &set)])
    }

    /// A pressure relief valve: closed below its set pressure, opens in proportion above it. `capacity` gives its flow; without it
    /// 10 gpm at 10 % above the set pressure is assumed, and a finding reports it where that matters.
    ///
    /// ```hw
    /// relief(75.psi).flow_at(74.psi)     // => 0 gpm
    /// relief(75.psi).flow_at(82.5.psi)   // => 10 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn relief(set: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Relief, None, &[(Id::Set, &set)])
    }

    /// The capacity of a relief valve: its flow at an overpressure above its set pressure; returns the part.
    ///
    /// ```hw
    /// relief(75.psi).capacity(12.gpm, 10.psi).flow_at(80.psi)   // => 6 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn capacity(part: Part, flow: Dynamic, over: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::Flow, quantity_for(&part, Id::Flow, &flow)?),
            (Id::Overpressure, quantity_for(&part, Id::Overpressure, &over)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// A named point in a line without loss: a gauge point, junction or manifold.
    ///
    /// ```hw
    /// point("manifold").kind   // => point
    /// ```
    #[rhai_fn(return_raw)]
    pub fn point(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Point, Some(name), &[])
    }

    /// Names a part; names are unique in a garden and have no dot. Returns the part.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).named("feed").name   // => feed
    /// ```
    #[rhai_fn(return_raw)]
    pub fn named(part: Part, name: &str) -> Result<Part, Box<EvalAltResult>> {
        part.named(name).map_err(raise)
    }
}
