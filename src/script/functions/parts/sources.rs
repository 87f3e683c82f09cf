//! Words for what gives, lifts and stores water: supplies, open tanks, boosters with their switch and pressure tank.
//!
//! The refinements of one number are in `refinements.rs`.

use super::make::{build, pairs, quantity_for};
use crate::parts::{Id, Kind, Part};
use crate::quantity::dim;
use crate::script::language::error::{Answer, raise, raise_as};
use crate::script::language::values::expect_quantity;
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult};

/// Registers these words.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(words).into());
}

#[export_module]
mod words {
    /// A house tap: its static pressure, and with `measured` what the gauge shows while a known flow runs.
    /// P = static - (static - measured) (Q / flow)^2; without a measurement the pressure stays the same.
    ///
    /// ```hw
    /// let tap = supply(58.psi).measured(44.psi, 6.gpm);
    /// tap.pressure_at(3.gpm)   // => 54.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn supply(static_pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Supply, None, &[(Id::StaticPressure, &static_pressure)])
    }

    /// The gauge result of a supply while a known flow runs, as from a bucket test; returns the part.
    ///
    /// ```hw
    /// supply(58.psi).measured(44.psi, 6.gpm).pressure_at(6.gpm)   // => 44 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn measured(part: Part, pressure: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::MeasuredPressure, quantity_for(&part, Id::MeasuredPressure, &pressure)?),
            (Id::MeasuredFlow, quantity_for(&part, Id::MeasuredFlow, &flow)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// A tank open to the air, such as a rain barrel, by the water level above its outlet.
    ///
    /// ```hw
    /// open_tank(5.ft).pressure_at(2.gpm)   // => 2.166 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn open_tank(level: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::OpenTank, None, &[(Id::Level, &level)])
    }

    /// A booster pump by points of flow and pressure rise; straight lines between them, the last one goes on.
    /// Refinements: `watts`, `efficiency`, `npsh`, `speed`, `price`, `rated`, `named`.
    ///
    /// ```hw
    /// let b = booster([[0.gpm, 45.psi], [5.gpm, 38.psi], [10.gpm, 20.psi]]).input_power(600.W);
    /// b.boost_at(7.5.gpm)   // => 29 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster(points: Array) -> Result<Part, Box<EvalAltResult>> {
        Part::new(Kind::Booster).with_curve(&curve_points(&points)?).map_err(raise)
    }

    /// A booster by three points of its maker's curve: shut-off rise, one running point, and the flow at which it adds nothing.
    /// The parabola through them is the curve; beyond run-out, where a finding says so, it goes on along its tangent.
    ///
    /// ```hw
    /// booster_from(48.psi, [6.gpm, 36.psi], 12.gpm).boost_at(3.gpm)   // => 45 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster_from(shut_off: Dynamic, duty_point: Array, max_flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let shut_off = expect_quantity(&shut_off, dim::PRESSURE, "booster_from: shut-off rise")?;
        let max_flow = expect_quantity(&max_flow, dim::FLOW, "booster_from: maximum flow (run-out)")?;
        let duty_point = curve_points(&vec![Dynamic::from_array(duty_point)])?[0];
        let curve = crate::parts::Curve::by_three(shut_off, duty_point, max_flow).map_err(raise_as("booster_from"))?;
        Ok(Part::new(Kind::Booster).running_on(curve))
    }

    /// A pressure switch: starts the nearest booster upstream at or below cut-in, stops it at or above cut-out.
    ///
    /// ```hw
    /// pressure_switch(30.psi, 50.psi).cut_out   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_switch(cut_in: Dynamic, cut_out: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureSwitch, None, &[(Id::CutIn, &cut_in), (Id::CutOut, &cut_out)])
    }

    /// A closed tank with an air cushion of a given precharge.
    ///
    /// ```hw
    /// pressure_tank(20.gal, 28.psi).volume   // => 20 gal
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_tank(volume: Dynamic, precharge: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureTank, None, &[(Id::Volume, &volume), (Id::Precharge, &precharge)])
    }
}

/// Points of a curve from a list of pairs.
fn curve_points(points: &Array) -> Answer<Vec<(f64, f64)>> {
    pairs(points, "booster", ("flow", dim::FLOW), ("rise", dim::PRESSURE))
}
