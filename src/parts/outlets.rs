//! Where water leaves the garden: heads, emitters, leaks, demands and relief valves.

use super::error::{Contradiction, PartError};
use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::parameter::{ANY, NOT_NEGATIVE, OF_DIAMETER, PLACE_X, PLACE_Y, POSITIVE, Parameter, Parameters, Rule};
use super::part::{Around, Part, Spec, no_check, stores_none};
use super::traits::{Placing, Soil, SymbolShape, Traits};
use crate::laws::LawError;
use crate::laws::nozzle::{DEFAULT_DISCHARGE_COEFFICIENT, Nozzle};
use crate::numeric::power;
use crate::quantity::{GPM_M3_PER_S, Quantity};
use std::sync::Arc;

/// Flow that a relief valve is taken to pass at its overpressure where its capacity is not given, m3/s: 10 gpm. No source; a finding
/// says so where it matters.
pub const RELIEF_FLOW_M3_PER_S: f64 = 10.0 * GPM_M3_PER_S;
/// Overpressure of a relief valve as a share of its set pressure, where it is not given.
const RELIEF_OVERPRESSURE_SHARE: f64 = 0.1;

pub(super) const HEAD: Spec = Spec {
    kind: Kind::Head,
    word: "head",
    about: "a sprinkler head: q = Cd A sqrt(2 P / rho), or by a rated flow and pressure; no flow at or below zero pressure",
    placing: Placing::Outlet,
    traits: Traits { gives_water: true, waters: true, soil: Soil::Near, ..Traits::PLAIN },
    symbol: SymbolShape::Head,
    headline: &[Id::Nozzle],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Nozzle, "in", OF_DIAMETER, "diameter of its nozzle"),
        Parameter::new(Id::Cd, "", Rule::Share, "discharge coefficient").or(DEFAULT_DISCHARGE_COEFFICIENT),
        Parameter::new(Id::RatedFlow, "gpm", POSITIVE, "flow at the rated pressure; replaces nozzle and cd"),
        Parameter::new(Id::RatedFlowPressure, "psi", POSITIVE, "pressure of the rated flow"),
        Parameter::new(
            Id::RangeLow,
            "psi",
            NOT_NEGATIVE,
            "lowest working pressure: below it the head stops turning or throws a ring",
        ),
        Parameter::new(Id::RangeHigh, "psi", POSITIVE, "highest working pressure: above it the head mists or breaks"),
        Parameter::new(Id::Radius, "ft", POSITIVE, "radius of throw at the radius pressure"),
        Parameter::new(Id::RadiusPressure, "psi", POSITIVE, "working pressure of that radius"),
        Parameter::new(Id::Arc, "", POSITIVE, "arc it waters, in degrees").or(360.0),
        Parameter::new(Id::X, "ft", ANY, "position in the plan, to the right"),
        Parameter::new(Id::Y, "ft", ANY, "position in the plan, upward"),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        Parameter::new(Id::Wear, "", Rule::Ratio, "flow of the worn nozzle over flow of the new one").or(1.0),
        Parameter::new(Id::Regulated, "psi", POSITIVE, "pressure held by its built-in regulator"),
        Parameter::new(Id::Trajectory, "", NOT_NEGATIVE, "angle of its stream above level ground, in degrees"),
        Parameter::new(Id::Riser, "in", NOT_NEGATIVE, "height of its nozzle above the ground"),
        Parameter::new(Id::CheckHeight, "ft", POSITIVE, "height of the water above it that its built-in check valve holds back"),
        Parameter::new(Id::Facing, "", ANY, "direction of the middle of its arc, in degrees clockwise from the y axis"),
    ]),
    check: check_head,
    stores: stores_none,
    law: law_of!(head_law),
};

pub(super) const EMITTER: Spec = Spec {
    kind: Kind::Emitter,
    word: "emitter",
    about: "an emitter: q = flow (P / pressure)^exponent, no flow at or below zero pressure",
    placing: Placing::Outlet,
    traits: Traits { gives_water: true, waters: true, soil: Soil::Near, drips: true, ..Traits::PLAIN },
    symbol: SymbolShape::Drip,
    headline: &[Id::Flow],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Flow, "gph", POSITIVE, "flow at the rated pressure"),
        Parameter::new(Id::Pressure, "psi", POSITIVE, "rated pressure"),
        Parameter::new(Id::Exponent, "", Rule::Share, "0.5 for an orifice, near 0 for pressure-compensating emitters").or(0.5),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        PLACE_X,
        PLACE_Y,
        NEEDS_LOW,
        NEEDS_HIGH,
        Parameter::new(Id::Regulated, "psi", POSITIVE, "pressure from which it compensates: above it the flow stays as rated"),
    ]),
    check: check_needs,
    stores: stores_none,
    law: law_of!(emitter_law),
};

/// A compensating emitter gives its rated flow from a pressure on, and below it less with the square root, as an orifice does.
fn emitter_law(part: &Part, around: &Around) -> Law {
    match (part.si(Id::Regulated), part.value(Id::Flow)) {
        (Some(set_pa), flow) if flow > 0.0 => Law::RegulatedOrifice { resistance: set_pa / (flow * flow), set_pa },
        _ => power_law(part, around),
    }
}

pub(super) const LEAK: Spec = Spec {
    kind: Kind::Leak,
    word: "leak",
    about: "a leak: q = flow (P / pressure)^0.5",
    placing: Placing::Outlet,
    traits: Traits { soil: Soil::Near, ..Traits::PLAIN },
    symbol: SymbolShape::Leak,
    headline: &[Id::Flow],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Flow, "gph", NOT_NEGATIVE, "flow at the given pressure"),
        Parameter::new(Id::Pressure, "psi", POSITIVE, "pressure of that flow"),
        Parameter::new(Id::Exponent, "", Rule::Share, "0.5 for a hole of constant size").or(0.5),
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(power_law),
};

pub(super) const DEMAND: Spec = Spec {
    kind: Kind::Demand,
    word: "demand",
    about: "a fixture in use: it takes its flow at any pressure",
    placing: Placing::Outlet,
    traits: Traits { gives_water: true, demands: true, ..Traits::PLAIN },
    symbol: SymbolShape::Draw,
    headline: &[Id::Flow],
    faults: &[],
    parameters: Parameters::of(&[Parameter::new(Id::Flow, "gpm", NOT_NEGATIVE, "flow of the demand")]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|part, _| Law::Demand { flow_m3_per_s: part.value(Id::Flow) }),
};

pub(super) const RELIEF: Spec = Spec {
    kind: Kind::Relief,
    word: "relief",
    about: "a relief valve: closed below its set pressure, opens in proportion above it",
    placing: Placing::Outlet,
    traits: Traits { relieves: true, ..Traits::PLAIN },
    symbol: SymbolShape::Relief,
    headline: &[Id::Set],
    faults: &[FaultKind::SticksOpen, FaultKind::SticksClosed],
    parameters: Parameters::of(&[
        Parameter::new(Id::Set, "psi", POSITIVE, "pressure at which it begins to open"),
        Parameter::new(Id::Flow, "gpm", POSITIVE, "capacity at the overpressure; 10 gpm is assumed where it is not given"),
        Parameter::new(
            Id::Overpressure,
            "psi",
            POSITIVE,
            "pressure above the set pressure at which it passes that flow; default a tenth of the set pressure",
        ),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|part, _| {
        let flow_m3_per_s = part.si(Id::Flow).unwrap_or(RELIEF_FLOW_M3_PER_S);
        Law::Relief { set_pa: part.value(Id::Set), resistance: part.overpressure_pa() / flow_m3_per_s }
    }),
};

impl Part {
    /// Pressure above its setting at which a relief valve passes its capacity, Pa: as given, or a tenth of the setting.
    pub fn overpressure_pa(&self) -> f64 {
        self.si(Id::Overpressure).unwrap_or(RELIEF_OVERPRESSURE_SHARE * self.value(Id::Set))
    }

    /// Lowest working pressure of an outlet that waters, Pa; `None` for other parts, and where it is not given.
    pub fn needs_pa(&self) -> Option<f64> {
        self.si(Id::RangeLow).filter(|_| self.traits().waters)
    }
}

/// Pressures between which an outlet works; of a part in line at its inlet.
pub(super) const NEEDS_LOW: Parameter = Parameter::new(Id::RangeLow, "psi", NOT_NEGATIVE, "lowest working pressure");
pub(super) const NEEDS_HIGH: Parameter = Parameter::new(Id::RangeHigh, "psi", POSITIVE, "highest working pressure");

/// Checks that something is left between the two needs.
pub(super) fn check_needs(part: &Part) -> Result<(), PartError> {
    if part.value(Id::RangeLow) >= part.value(Id::RangeHigh) {
        return Err(part.contradiction_of(
            "its operating range from {} to {} is empty",
            &[Id::RangeLow, Id::RangeHigh],
            "give the lower pressure first, as in .operating_range({30.psi, 60.psi|2.bar, 4.bar})",
        ));
    }
    Ok(())
}

fn check_head(part: &Part) -> Result<(), PartError> {
    let [rated_flow, rated_flow_pressure] = [Id::RatedFlow, Id::RatedFlowPressure].map(|id| part.quantity(id));
    if rated_flow.is_some() != rated_flow_pressure.is_some() {
        return Err(part.contradiction(
            "a rated flow needs both a flow and a pressure",
            "write .rated_flow({1.5.gpm, 30.psi|6.lpm, 2.bar})",
        ));
    }
    check_needs(part)?;
    let arc = part.value(Id::Arc);
    if arc > 360.0 {
        return Err(part.contradiction(
            Contradiction::of("its arc is {} degrees", &[Quantity::number(arc)]),
            "a full circle is 360 degrees",
        ));
    }
    if let Some(trajectory) = part.si(Id::Trajectory).filter(|angle| *angle >= 90.0) {
        return Err(part.contradiction(
            Contradiction::of("its trajectory is {} degrees", &[Quantity::number(trajectory)]),
            "give the angle above level ground, as in .trajectory(25)",
        ));
    }
    Ok(())
}

fn head_law(part: &Part, around: &Around) -> Law {
    let (diameter_m, cd, flow, pressure) =
        (part.value(Id::Nozzle), part.value(Id::Cd), part.value(Id::RatedFlow), part.value(Id::RatedFlowPressure));
    let wear = part.value(Id::Wear);
    if let Some(table) = part.table() {
        return Law::Tabulated { table: Arc::new(table.times(wear)) };
    }
    if flow.is_nan() && diameter_m.is_nan() {
        return Law::Orifice { resistance: f64::NAN };
    }
    let nozzle =
        if flow.is_nan() { Nozzle::new(cd, diameter_m, around.water.density_kg_per_m3) } else { Nozzle::rated(flow, pressure) };
    match (orifice(nozzle), part.si(Id::Regulated)) {
        (Law::Orifice { resistance }, Some(set_pa)) => Law::RegulatedOrifice { resistance: resistance / (wear * wear), set_pa },
        (Law::Orifice { resistance }, None) => Law::Orifice { resistance: resistance / (wear * wear) },
        (law, _) => law,
    }
}

/// The law of a nozzle; without sound parameters, which the checks of the part do not let through, it stays closed.
fn orifice(nozzle: Result<Nozzle, LawError>) -> Law {
    nozzle.map_or(Law::Closed, |nozzle| Law::Orifice { resistance: 1.0 / (nozzle.flow_per_sqrt_pa * nozzle.flow_per_sqrt_pa) })
}

fn power_law(part: &Part, _: &Around) -> Law {
    let (flow, pressure, exponent) = (part.value(Id::Flow), part.value(Id::Pressure), part.value(Id::Exponent));
    if flow == 0.0 {
        return Law::Closed;
    }
    if exponent == 0.5 {
        return orifice(Nozzle::rated(flow, pressure));
    }
    Law::Power { coefficient: flow / power(pressure, exponent), exponent }
}
