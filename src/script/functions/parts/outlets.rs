//! Functions for outlets: heads, emitters, soakers, demands, leaks, and the settings of a head.
//!
//! Application rate and uniformity are in the topic `coverage`.

use super::make::{build, pairs, quantity_for, refine, unit_of_pairs};
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Quantity, dim};
use crate::script::language::error::raise;
use crate::script::language::values::expect_quantity;
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A sprinkler head (rotor, spray, impact) by its nozzle diameter: q = 0.96 A sqrt(2 P / rho); or by `rated_flow` or `performance_table`.
    /// Settings: `operating_range`, `rated_flow`, `throws`, `arc`, `facing`, `at`, `price`.
    ///
    /// ```hw
    /// head("berry", (5/32).inch).operating_range(30.psi, 60.psi).flow_at(40.psi)   // => 4.42 gpm
    /// head("rotor").rated_flow(2.8.gpm, 40.psi).flow_at(30.psi)                    // => 2.42 gpm
    /// head("rotor").flow_at(30.psi)   // => error: head 'rotor' has neither a nozzle nor a rated flow
    /// ```
    #[rhai_fn(return_raw)]
    pub fn head(name: &str, nozzle: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Head, Some(name), &[(Id::Nozzle, &nozzle)])
    }

    #[rhai_fn(name = "head", return_raw)]
    pub fn head_by_its_chart(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Head, Some(name), &[])
    }

    /// The operating range of a head, lowest and highest working pressure: below it the head stalls, above it mists or breaks. Of a
    /// valve or regulator it is that of its inlet: with too little a diaphragm valve may not close. Returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).operating_range(25.psi, 50.psi).range_low   // => 25 psi
    /// valve("beds").operating_range(10.psi, 150.psi).range_high           // => 150 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn operating_range(part: Part, low: Dynamic, high: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::RangeLow, quantity_for(&part, Id::RangeLow, &low)?),
            (Id::RangeHigh, quantity_for(&part, Id::RangeHigh, &high)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// The rated flow of a head at a pressure, from the manufacturer's chart; it replaces nozzle and discharge coefficient. Returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).rated_flow(2.8.gpm, 40.psi).flow_at(10.psi)   // => 1.4 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rated_flow(part: Part, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::RatedFlow, quantity_for(&part, Id::RatedFlow, &flow)?),
            (Id::RatedFlowPressure, quantity_for(&part, Id::RatedFlowPressure, &pressure)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// The pressure rating of a hose, pipe or other part, as printed on it; returns the part.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).pressure_rating(120.psi).pressure_rating   // => 120 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_rating(part: Part, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        refine(part, Id::PressureRating, &pressure)
    }

    /// The performance table of a head (manufacturer's chart): pairs of pressure and flow, rising; between them a power law. Returns the part.
    ///
    /// ```hw
    /// head("rotor", (1/8).inch).performance_table([[25.psi, 2.gpm], [40.psi, 2.6.gpm], [60.psi, 3.1.gpm]]).flow_at(32.psi)   // => 2.3 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn performance_table(part: Part, points: Array) -> Result<Part, Box<EvalAltResult>> {
        part.with_table(&pairs(&points, "performance_table", ("pressure", dim::PRESSURE), ("flow", dim::FLOW))?).map_err(raise)
    }

    /// The radius of throw of a head at a pressure, or at several as pairs of pressure and radius, measured or from the manufacturer's chart: straight
    /// between them, the same above the last, the square root of the pressure below the first. Returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).throws(35.ft, 40.psi).radius   // => 35 ft
    /// let spray = head("spray", (1/8).inch).throws([[20.psi, 13.ft], [30.psi, 15.ft]]);
    /// [spray.throw_at(25.psi), spray.throw_at(50.psi), spray.throw_at(5.psi)]   // => [14 ft, 15 ft, 6.5 ft]
    /// spray.throws([[30.psi, 15.ft], [20.psi, 13.ft]])   // => error: head 'spray': throws: the pressure does not rise from pair 1 to the next
    /// ```
    #[rhai_fn(return_raw)]
    pub fn throws(part: Part, radius: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            (Id::Radius, quantity_for(&part, Id::Radius, &radius)?),
            (Id::RadiusPressure, quantity_for(&part, Id::RadiusPressure, &pressure)?),
        ];
        part.without_throws().with(&numbers).map_err(raise)
    }

    #[rhai_fn(name = "throws", return_raw)]
    pub fn throws_at_pressures(part: Part, points: Array) -> Result<Part, Box<EvalAltResult>> {
        let found = pairs(&points, "throws", ("pressure", dim::PRESSURE), ("radius", dim::LENGTH))?;
        let units = (unit_of_pairs(&points, 0), unit_of_pairs(&points, 1));
        part.with_throws(&found, units).map_err(raise)
    }

    /// How far a head throws at a pressure, by its measured throw.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).throws(20.ft, 40.psi).throw_at(10.psi)   // => 10 ft
    /// head("bed", (1/8).inch).throw_at(10.psi)   // => error: head 'bed': radius is not given
    /// ```
    #[rhai_fn(return_raw)]
    pub fn throw_at(part: Part, pressure: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        let pressure_pa = expect_quantity(&pressure, dim::PRESSURE, "throw_at: pressure")?;
        let radius = part.get(Id::Radius).map_err(raise)?;
        Ok(Quantity { si: part.throw_m(pressure_pa).unwrap_or(radius.si), ..radius })
    }

    /// What a row of cans from a head outward caught (a single-leg test): pairs of distance and rate. It takes the place of the radial profile of a
    /// coverage; the flow is that of the head. Without `throws` its reach is the radius. Returns the part.
    ///
    /// ```hw
    /// let rotor = head("rotor", (1/8).inch).radial_profile([[0.ft, 0.4.in_per_h], [10.ft, 0.35.in_per_h], [20.ft, 0.2.in_per_h], [28.ft, 0.in_per_h]]);
    /// rotor.radius   // => 28 ft
    /// rotor.radial_profile([[0.ft, 0.4.in_per_h]])   // => error: head 'rotor': radial_profile: a row of cans needs two cans at least, found 1
    /// ```
    #[rhai_fn(name = "radial_profile", return_raw)]
    pub fn radial_profile_of_head(part: Part, cans: Array) -> Result<Part, Box<EvalAltResult>> {
        let found = pairs(&cans, "radial_profile", ("distance", dim::LENGTH), ("rate", dim::SPEED))?;
        part.with_profile(&found, unit_of_pairs(&cans, 0)).map_err(raise)
    }

    /// The position of a part on the plan, x and y; returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).at(10.ft, 20.ft).y   // => 20 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn at(part: Part, x: Dynamic, y: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [(Id::X, quantity_for(&part, Id::X, &x)?), (Id::Y, quantity_for(&part, Id::Y, &y)?)];
        part.with(&numbers).map_err(raise)
    }

    /// A drip emitter by its flow at a rated pressure; default `exponent` 0.5.
    ///
    /// ```hw
    /// emitter("drip", 1.gph, 15.psi).flow_at(60.psi)   // => 2 gph
    /// ```
    #[rhai_fn(return_raw)]
    pub fn emitter(name: &str, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Emitter, Some(name), &[(Id::Flow, &flow), (Id::Pressure, &pressure)])
    }

    /// A soaker hose or drip line: equal outlets along its length, closed at the end, by their total flow at a rated pressure.
    /// `outlets` sets their number (default 100), `exponent` how their flow depends on pressure.
    ///
    /// ```hw
    /// let row = soaker("row", 100.ft, (1/2).inch, 6.gpm, 20.psi).outlets(50);
    /// row.flow_at(20.psi)   // => 4.9 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn soaker(
        name: &str,
        length: Dynamic,
        diameter: Dynamic,
        flow: Dynamic,
        pressure: Dynamic,
    ) -> Result<Part, Box<EvalAltResult>> {
        build(
            Kind::Soaker,
            Some(name),
            &[(Id::Length, &length), (Id::Diameter, &diameter), (Id::Flow, &flow), (Id::Pressure, &pressure)],
        )
    }

    /// A water demand with a fixed flow at any pressure, such as a fixture in the house. Set its flow to 0.gpm to close it.
    ///
    /// ```hw
    /// demand("kitchen", 2.gpm).flow   // => 2 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn demand(name: &str, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Demand, Some(name), &[(Id::Flow, &flow)])
    }

    /// A leak by its flow at a pressure: q = flow (P / pressure)^0.5.
    ///
    /// ```hw
    /// leak("drip", 1.gph, 50.psi).flow_at(12.5.psi)   // => 0.5 gph
    /// ```
    #[rhai_fn(return_raw)]
    pub fn leak(name: &str, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Leak, Some(name), &[(Id::Flow, &flow), (Id::Pressure, &pressure)])
    }
}
