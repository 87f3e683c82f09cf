//! Functions for supplies, open tanks, boosters, pressure switches and pressure tanks.
//!
//! Settings of a single parameter are in `refinements.rs`.

use super::make::{build, pairs, quantity_for};
use crate::laws::pump::{USUAL_MOTOR_EFFICIENCY, USUAL_POWER_FACTOR, single_phase_power_w, wire_power_of_shaft_w};
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Preference, Quantity, dim};
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::values::{as_quantity, describe, expect_number, expect_quantity};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A water supply (tap, main, well) by its static pressure, and with `measured` its working pressure at a known flow.
    /// P = static - (static at the test - measured) (Q / flow)^2; without `measured` the pressure is the same at any flow. A later change of
    /// `static_pressure` keeps the resistance of the service line, so that the pressure falls by the same amount at every flow.
    /// `lowest_static` gives the lowest static pressure of the main.
    ///
    /// ```hw
    /// let tap = supply(58.psi).measured(44.psi, 6.gpm);
    /// tap.pressure_at(3.gpm)   // => 54.5 psi
    /// let evening = supply(58.psi).measured(44.psi, 6.gpm);
    /// evening.static_pressure = 50.psi;
    /// evening.pressure_at(6.gpm)   // => 36 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn supply(static_pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Supply, None, &[(Id::StaticPressure, &static_pressure)])
    }

    /// The working (dynamic, residual) pressure of a supply at a known flow, for example from a bucket test; returns the part. Several
    /// tests go in a list of pairs: the resistance of the service line is fitted to them by least squares, and a finding reports
    /// readings that do not agree.
    ///
    /// ```hw
    /// supply(58.psi).measured(44.psi, 6.gpm).pressure_at(6.gpm)   // => 44 psi
    /// let tap = supply(58.psi).measured([[44.psi, 6.gpm], [52.psi, 4.gpm], [55.psi, 3.gpm]]);
    /// tap.pressure_at(6.gpm)   // => 44.2 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn measured(mut part: Part, pressure: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::MeasuredPressure, quantity_for(&part, Id::MeasuredPressure, &pressure)?),
            (Id::MeasuredFlow, quantity_for(&part, Id::MeasuredFlow, &flow)?),
        ];
        part.forget_test();
        part.with(&numbers).map_err(raise)
    }

    #[rhai_fn(name = "measured", return_raw)]
    pub fn measured_several(part: Part, tests: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let Some(tests) = tests.read_lock::<Array>().map(|tests| tests.clone()) else {
            const EXAMPLE: &str = "give the flow at which the pressure was read, as in .measured({44.psi, 6.gpm|3.bar, 23.lpm})";
            let problem = match as_quantity(&tests) {
                Some(flow) if flow.dimension == dim::FLOW => "measured: the pressure at this flow is missing".into(),
                Some(_) => "measured: 'flow' is missing".into(),
                None => format!("measured: 'pressure' and 'flow' or a list of such pairs is needed, found {}", describe(&tests)),
            };
            return Err(ScriptError::new(problem).with_hint(EXAMPLE).about("tests").into());
        };
        let readings = pairs(&tests, "measured", ("pressure", dim::PRESSURE), ("flow", dim::FLOW))?;
        if readings.iter().any(|(_, flow)| *flow <= 0.0) || readings.is_empty() {
            return Err(ScriptError::new("measured: each test needs a flow above zero")
                .with_hint("write the pairs as [[{44.psi, 6.gpm|3.bar, 23.lpm}], [{51.psi, 4.gpm|3.5.bar, 15.lpm}]]")
                .into());
        }
        if !part.spec().is_main() {
            quantity_for(&part, Id::MeasuredPressure, &Dynamic::UNIT)?;
        }
        let first = tests.first().and_then(|pair| Some(pair.read_lock::<Array>()?.clone())).unwrap_or_default();
        let [pressure, flow] = [0, 1].map(|at| first.get(at).map_or(Preference::Usual, preference_of));
        let turned: Vec<(f64, f64)> = readings.iter().map(|&(pressure_pa, flow)| (flow, pressure_pa)).collect();
        part.with_readings(&turned, (flow, pressure)).map_err(raise)
    }

    /// The static pressure of a supply by the time of day, each from its clock time on, for runs over time (`operate`). A steady
    /// `run` has the `static_pressure` at any hour, the events of a log show each change; the lowest one by the clock counts as `lowest_static` where that is not given.
    ///
    /// ```hw
    /// let tap = supply(58.psi).measured(44.psi, 6.gpm).by_clock(#{ "22:00": 58.psi, "06:00": 50.psi, "18:00": 42.psi });
    /// let plot = tap >> hose(100.ft, (5/8).inch).named("feed") >> valve("beds") >> head("bed", (1/8).inch);
    /// let log = plot.operate(schedule([timer("t").start("05:30").zone("beds", 20.min), timer("e").start("18:30").zone("beds", 20.min)]), 1.days);
    /// [plot.run("beds").pressure("bed"), log.lowest("bed")]   // => [49.9 psi, 36 psi]
    /// log.events("supply").select(["time", "event", "static_pressure"])   // =>  time   event            static_pressure
    /// // =>                                    (psi)
    /// // => ----------------------------------------
    /// // => 06:00   pressure falls                50
    /// // => 18:00   pressure falls                42
    /// // => 22:00   pressure rises                58
    /// ```
    #[rhai_fn(return_raw)]
    pub fn by_clock(part: Part, pressures: Map) -> Result<Part, Box<EvalAltResult>> {
        let mut clock = Vec::with_capacity(pressures.len());
        for (time, pressure) in &pressures {
            let time_s = crate::operation::clock_time_s(time).map_err(raise)?;
            clock.push((time_s, quantity_for(&part, Id::StaticPressure, pressure)?.si));
        }
        part.with_clock(&clock).map_err(raise)
    }

    /// A tank open to the air, such as a rain barrel or cistern, by the water level above its outlet.
    ///
    /// ```hw
    /// open_tank(5.ft).pressure_at(2.gpm)   // => 2.2 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn open_tank(level: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::OpenTank, None, &[(Id::Level, &level)])
    }

    /// A booster pump by points of its pump curve, flow and boost; straight lines between them, the last one extended.
    /// Settings: `input_power` (or `amps`, `shaft_power` of the nameplate), `efficiency`, `npsh`, `speed`, `dry_run_cutoff`, `price`, `pressure_rating`, `named`.
    ///
    /// ```hw
    /// let b = booster([[0.gpm, 45.psi], [5.gpm, 38.psi], [10.gpm, 20.psi]]).input_power(600.W);
    /// b.boost_at(7.5.gpm)   // => 29 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster(points: Array) -> Result<Part, Box<EvalAltResult>> {
        let booster = Part::new(Kind::Booster).with_curve(&curve_points(&points)?).map_err(raise)?;
        let first = points.first().and_then(|point| Some(point.read_lock::<Array>()?.clone())).unwrap_or_default();
        let [flow, boost] = [0, 1].map(|at| first.get(at).map_or(Preference::Usual, preference_of));
        Ok(booster.with_curve_in(flow, boost))
    }

    /// A booster pump by three points of its pump curve: boost at shut-off (dead head), the duty point, and the flow at run-out (zero boost).
    /// The curve is the parabola through them; beyond run-out it follows its tangent, and a finding reports it.
    ///
    /// ```hw
    /// booster_from(48.psi, [6.gpm, 36.psi], 12.gpm).boost_at(3.gpm)   // => 45 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster_from(shut_off: Dynamic, duty_point: Array, max_flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let (flow, boost) = (preference_of(&max_flow), preference_of(&shut_off));
        let shut_off = expect_quantity(&shut_off, dim::PRESSURE, "booster_from: shut-off rise")?;
        let max_flow = expect_quantity(&max_flow, dim::FLOW, "booster_from: maximum flow (run-out)")?;
        let duty_point = curve_points(&vec![Dynamic::from_array(duty_point)])?[0];
        let curve = crate::parts::Curve::by_three(shut_off, duty_point, max_flow).map_err(raise_as("booster_from"))?;
        Ok(Part::new(Kind::Booster).running_on(curve).with_curve_in(flow, boost))
    }

    /// The input power of a booster from the amps and volts on its nameplate (single-phase motor): volts times amps times the power
    /// factor, by default 0.85 (common practice: 0.7 with a starting capacitor only, 0.95 with a run capacitor). Returns the part.
    ///
    /// ```hw
    /// let pump = booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]);
    /// pump.amps(8, 115).input_power         // => 782 W
    /// pump.amps(3.6, 230, 0.95).input_power // => 786.6 W
    /// ```
    #[rhai_fn(return_raw)]
    pub fn amps(part: Part, amps: Dynamic, volts: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        amps_at(part, &amps, &volts, &USUAL_POWER_FACTOR.into())
    }

    #[rhai_fn(name = "amps", return_raw)]
    pub fn amps_by_factor(part: Part, amps: Dynamic, volts: Dynamic, power_factor: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        amps_at(part, &amps, &volts, &power_factor)
    }

    /// The input power of a booster from the power on its nameplate, in horsepower or kilowatts: that is shaft power, what the motor
    /// delivers. The input power is shaft power over the efficiency of the motor, by default 0.6 (common practice for small motors).
    /// Returns the part.
    ///
    /// ```hw
    /// let pump = booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]);
    /// pump.shaft_power((1/2).hp).input_power        // => 621 W
    /// pump.shaft_power(0.55.kW, 0.7).input_power    // => 786 W
    /// pump.input_power((1/2).hp)                    // => error: booster: 0.5 hp on a nameplate is shaft power, not electrical input power
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shaft_power(part: Part, power: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        shaft_power_at(part, &power, &USUAL_MOTOR_EFFICIENCY.into())
    }

    #[rhai_fn(name = "shaft_power", return_raw)]
    pub fn shaft_power_by_efficiency(part: Part, power: Dynamic, efficiency: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        shaft_power_at(part, &power, &efficiency)
    }

    /// A pressure switch by cut-in and cut-out: starts the nearest booster upstream at cut-in, stops it at cut-out.
    ///
    /// ```hw
    /// pressure_switch(30.psi, 50.psi).cut_out   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_switch(cut_in: Dynamic, cut_out: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureSwitch, None, &[(Id::CutIn, &cut_in), (Id::CutOut, &cut_out)])
    }

    /// A pressure tank (bladder or diaphragm tank) by volume and precharge of its air.
    ///
    /// ```hw
    /// pressure_tank(20.gal, 28.psi).volume   // => 20 gal
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_tank(volume: Dynamic, precharge: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureTank, None, &[(Id::Volume, &volume), (Id::Precharge, &precharge)])
    }
}

/// The unit in which a value of a script was given.
fn preference_of(value: &Dynamic) -> Preference {
    as_quantity(value).map_or(Preference::Usual, |quantity| quantity.preference)
}

/// Points of a curve from a list of pairs.
fn curve_points(points: &Array) -> Answer<Vec<(f64, f64)>> {
    pairs(points, "booster", ("flow", dim::FLOW), ("rise", dim::PRESSURE))
}

fn amps_at(part: Part, amps: &Dynamic, volts: &Dynamic, power_factor: &Dynamic) -> Answer<Part> {
    let number = |value, what: &str| expect_number(value, &format!("amps: {what}"));
    let power_w = single_phase_power_w(number(amps, "amps")?, number(volts, "volts")?, number(power_factor, "power factor")?)
        .map_err(raise_as("amps"))?;
    part.with(&[(Id::InputPower, in_watts(power_w))]).map_err(raise)
}

fn shaft_power_at(part: Part, power: &Dynamic, efficiency: &Dynamic) -> Answer<Part> {
    let shaft_w = expect_quantity(power, dim::POWER, "shaft_power: power")?;
    let efficiency = expect_number(efficiency, "shaft_power: efficiency")?;
    let power_w = wire_power_of_shaft_w(shaft_w, efficiency).map_err(raise_as("shaft_power"))?;
    part.with(&[(Id::InputPower, in_watts(power_w))]).map_err(raise)
}

fn in_watts(power_w: f64) -> Quantity {
    let preference = Preference::written_in("W");
    Quantity { si: power_w, dimension: dim::POWER, preference }
}
