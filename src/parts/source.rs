//! Where water comes from: the house tap and the open tank.

use super::error::PartError;
use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::{are_allowed, given, law_of};
use super::parameter::{ANY, NOT_NEGATIVE, PLACE_X, PLACE_Y, POSITIVE, Parameter, Parameters};
use super::part::{Around, Part, Spec, no_check, stores_none};
use super::rows::{LawRows, Rows};
use super::traits::{Placing, SymbolShape, Traits};
use crate::laws::section::pressure_of_head_pa;
use crate::quantity::PSI_PA;

/// Least pressure at a public tap while water runs, Pa: 20 psi, the minimum in a main under all flows.
/// Source: Great Lakes-Upper Mississippi River Board, Recommended Standards for Water Works (2018), section 8.2.1, from memory.
pub const LEAST_TAP_PA: f64 = 20.0 * PSI_PA;

pub(super) const SUPPLY: Spec = Spec {
    kind: Kind::Supply,
    word: "supply",
    about: "a tap on a public main or a well system: P = static - (static at test - measured pressure) (Q / measured flow)^2",
    placing: Placing::Source,
    traits: Traits::PLAIN,
    symbol: SymbolShape::Tap,
    headline: &[Id::StaticPressure],
    faults: &[FaultKind::Fails, FaultKind::LosesPressure],
    parameters: Parameters::of(&[
        Parameter::new(Id::StaticPressure, "psi", POSITIVE, "static pressure (no flow)"),
        Parameter::new(Id::MeasuredPressure, "psi", NOT_NEGATIVE, "working (dynamic) pressure at the measured flow"),
        Parameter::new(Id::MeasuredFlow, "gpm", POSITIVE, "flow of the bucket test at that pressure"),
        Parameter::new(
            Id::StaticAtTest,
            "psi",
            POSITIVE,
            "static pressure during the bucket test; kept when static_pressure changes later",
        ),
        Parameter::new(Id::LowestStatic, "psi", POSITIVE, "lowest static pressure of the main, as on a hot evening"),
        Parameter::new(Id::Elevation, "ft", ANY, "elevation of the tap above the datum").or(0.0),
        PLACE_X,
        PLACE_Y,
    ]),
    check: check_supply,
    stores: stores_none,
    law: law_of!(
        |part, _| Law::Source { pressure_pa: part.value(Id::StaticPressure), resistance: resistance(part) },
        by numbers law_by_numbers
    ),
};

/// Resistance of the service line, Pa s2/m6: the pressure lost in the bucket test over the square of its flow; zero without a test.
#[inline(always)]
fn resistance(part: &Part) -> f64 {
    let at_rest_pa = at_rest_pa(part.value(Id::StaticPressure), part.value(Id::StaticAtTest));
    resistance_of_test(at_rest_pa, part.value(Id::MeasuredPressure), part.value(Id::MeasuredFlow))
}

/// The same of what was read; what was not is not a number.
#[inline(always)]
fn resistance_of_test(at_rest_pa: f64, measured_pa: f64, flow: f64) -> f64 {
    let lost_pa = at_rest_pa - measured_pa;
    if flow.is_nan() | lost_pa.is_nan() { 0.0 } else { lost_pa / (flow * flow) }
}

/// The law in many cases, of what has no more changed than the static pressure and what was read.
fn law_by_numbers(part: &Part, rows: &Rows, out: &mut LawRows) -> Option<bool> {
    out.resize(rows.count);
    let LawRows { offset_pa, linear, quadratic, pipe, given: room } = out;
    let lowest_pa = part.value(Id::LowestStatic);
    let [static_pa, measured_pa, flow, at_test_pa] =
        given(part, rows, [Id::StaticPressure, Id::MeasuredPressure, Id::MeasuredFlow, Id::StaticAtTest], room)?;
    if measured_pa.first().is_some_and(|measured_pa| measured_pa.is_nan()) != flow.first().is_some_and(|flow| flow.is_nan()) {
        return None;
    }
    linear.fill(0.0);
    pipe.iter_mut().for_each(|column| column.fill(0.0));
    let mut contradicts = false;
    for row in 0..rows.count {
        let at_rest_pa = at_rest_pa(static_pa[row], at_test_pa[row]);
        // What is not given is above nothing.
        contradicts |= (lowest_pa > static_pa[row]) | (measured_pa[row] > at_rest_pa);
        offset_pa[row] = -static_pa[row];
        quadratic[row] = resistance_of_test(at_rest_pa, measured_pa[row], flow[row]);
    }
    Some(!contradicts && are_allowed(part, rows))
}

/// The static pressure from which the pressure of the bucket test fell.
#[inline(always)]
fn at_rest_pa(static_pa: f64, at_test_pa: f64) -> f64 {
    if at_test_pa.is_nan() { static_pa } else { at_test_pa }
}

pub(super) const OPEN_TANK: Spec = Spec {
    kind: Kind::OpenTank,
    word: "open_tank",
    about: "a tank open to the air, such as a rain barrel: its pressure is the water level above its outlet",
    placing: Placing::Source,
    traits: Traits { fills: true, ..Traits::PLAIN },
    symbol: SymbolShape::OpenTank,
    headline: &[Id::Level],
    faults: &[FaultKind::Fails],
    parameters: Parameters::of(&[
        Parameter::new(Id::Level, "ft", NOT_NEGATIVE, "water level above the outlet"),
        Parameter::new(Id::Volume, "gal", POSITIVE, "volume when full"),
        Parameter::new(Id::Elevation, "ft", ANY, "elevation of the outlet above the datum").or(0.0),
        Parameter::new(Id::Inflow, "gpm", NOT_NEGATIVE, "inflow from rain, a float valve or a well"),
        PLACE_X,
        PLACE_Y,
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(tank_law),
};

fn check_supply(part: &Part) -> Result<(), PartError> {
    let given = |id: Id| !part.value(id).is_nan();
    if given(Id::MeasuredPressure) != given(Id::MeasuredFlow) {
        return Err(part
            .contradiction("a measurement needs both a pressure and a flow", "write .measured({44.psi, 6.gpm|3.bar, 23.lpm})"));
    }
    let at_rest = if given(Id::StaticAtTest) { Id::StaticAtTest } else { Id::StaticPressure };
    // What is not given is above nothing.
    let is_above = |upper: Id, lower: Id| part.value(upper) > part.value(lower);
    if is_above(Id::LowestStatic, Id::StaticPressure) {
        return Err(part.contradiction_of(
            "the lowest static pressure ({}) is above the static pressure ({})",
            &[Id::LowestStatic, Id::StaticPressure],
            "give the usual gauge reading as static_pressure, and the lowest one as lowest_static",
        ));
    }
    if is_above(Id::MeasuredPressure, at_rest) {
        return Err(part.contradiction_of(
            "the working pressure ({}) is above the static pressure ({})",
            &[Id::MeasuredPressure, at_rest],
            "the gauge must drop when water flows: are the two readings swapped?",
        ));
    }
    Ok(())
}

fn tank_law(part: &Part, around: &Around) -> Law {
    let pressure_pa = pressure_of_head_pa(part.value(Id::Level), around.water.density_kg_per_m3);
    Law::Source { pressure_pa, resistance: 0.0 }
}
