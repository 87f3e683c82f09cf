//! Functions for devices of irrigation lines: zone valves by their construction, foot valve, injector, drain and expansion tank, drip line.

use super::make::{build, quantity_for};
use crate::parts::{Id, Kind, Part};
use crate::quantity::Quantity;
use crate::script::language::error::{ScriptError, raise};
use crate::script::language::values::expect_number;
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A solenoid diaphragm valve of a zone: the line pressure closes it, so it needs about 10 psi at its inlet (`operating_range`) and some flow
    /// (`minimum_flow`). It closes in 2 s. Otherwise as `valve`.
    ///
    /// ```hw
    /// diaphragm_valve("beds").range_low                            // => 10 psi
    /// diaphragm_valve("drip").minimum_flow(0.25.gpm).closing_time   // => 2 s
    /// ```
    #[rhai_fn(return_raw)]
    pub fn diaphragm_valve(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::DiaphragmValve, Some(name), &[])
    }

    /// A hose timer: a motor valve on a hose thread that opens one zone; 10 to 120 psi at its inlet, a loss of 4 psi at 5 gpm (default `cv` 2.5), 4 s to
    /// close. Its start times are those of a `timer`.
    ///
    /// ```hw
    /// hose_timer("berries").range_high   // => 120 psi
    /// hose_timer("berries").cv           // => 2.5
    /// ```
    #[rhai_fn(return_raw)]
    pub fn hose_timer(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::HoseTimer, Some(name), &[])
    }

    /// A foot valve: a check valve with a strainer at the lower end of a suction line. It keeps the line and the pump filled.
    ///
    /// ```hw
    /// foot_valve().k   // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn foot_valve() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::FootValve, None, &[])
    }

    /// An expansion tank on the house side, by its volume and precharge: it takes up what the water heater adds where a check valve, backflow preventer or
    /// regulator closes the house plumbing.
    ///
    /// ```hw
    /// expansion_tank(2.gal, 50.psi).precharge   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn expansion_tank(volume: Dynamic, precharge: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::ExpansionTank, None, &[(Id::Volume, &volume), (Id::Precharge, &precharge)])
    }

    /// A fertilizer injector, by its pressure loss at one flow. It is a high hazard for drinking water: upstream of it belongs a reduced-pressure assembly
    /// or an air gap, as local code requires.
    ///
    /// ```hw
    /// injector(12.psi, 4.gpm).loss_at(2.gpm)   // => 3 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn injector(loss: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Injector, None, &[(Id::Loss, &loss), (Id::Flow, &flow)])
    }

    /// An automatic drain valve at a low point: under pressure it is closed, and when the pressure is gone the line runs empty, against frost.
    ///
    /// ```hw
    /// drain_valve().kind   // => drain_valve
    /// ```
    #[rhai_fn(return_raw)]
    pub fn drain_valve() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::DrainValve, None, &[])
    }

    /// A drip line by its length, the spacing of its emitters, and the flow of one. The emitters compensate: their flow changes by 7 % from 15 to
    /// 60 psi; `exponent(0.5)` is for those that do not. Settings: `diameter` (default 13.8 mm), `pressure` of the rated flow (default 1 bar), `operating_range`.
    ///
    /// ```hw
    /// let row = dripline("row", 100.ft, 12.inch, 0.6.gph);
    /// row.flow_at(20.psi)   // => 60.9 gph
    /// row.flow_at(40.psi)   // => 63.1 gph
    /// dripline("row", 1.ft, 2.ft, 0.6.gph)   // => error: dripline 'row': it must have from 1 to 10000 emitters, found 0
    /// ```
    #[rhai_fn(return_raw)]
    pub fn dripline(name: &str, length: Dynamic, spacing: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Dripline, Some(name), &[(Id::Length, &length), (Id::Spacing, &spacing), (Id::Flow, &flow)])
    }

    /// Makes an emitter pressure-compensating: between these pressures it gives its rated flow, below them less. Returns the part.
    ///
    /// ```hw
    /// let drip = emitter("drip", 1.gph, 15.psi).compensating(10.psi, 50.psi);
    /// drip.flow_at(40.psi)    // => 1 gph
    /// drip.flow_at(2.5.psi)   // => 0.5 gph
    /// ```
    #[rhai_fn(return_raw)]
    pub fn compensating(part: Part, low: Dynamic, high: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let from = quantity_for(&part, Id::RangeLow, &low)?;
        let numbers = [(Id::Regulated, from), (Id::RangeLow, from), (Id::RangeHigh, quantity_for(&part, Id::RangeHigh, &high)?)];
        part.with(&numbers).map_err(raise)
    }

    /// Clogs a filter: the share of its openings that is closed, in percent. Its loss grows with the square of what is left. Returns the part.
    ///
    /// ```hw
    /// filter(2.psi, 6.gpm).clogged(50).loss_at(6.gpm)   // => 8 psi
    /// filter(2.psi, 6.gpm).clogged(100)   // => error: clogged: percent must be at least 0 and below 100, found 100
    /// ```
    #[rhai_fn(return_raw)]
    pub fn clogged(part: Part, percent: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let closed = expect_number(&percent, "clogged: percent")?;
        if !(0.0..100.0).contains(&closed) {
            let what = format!("clogged: percent must be at least 0 and below 100, found {}", Quantity::number(closed));
            return Err(ScriptError::new(what).with_hint("half clogged is clogged(50)").about("percent").into());
        }
        part.with(&[(Id::OpenArea, Quantity::number(1.0 - closed / 100.0))]).map_err(raise)
    }
}
