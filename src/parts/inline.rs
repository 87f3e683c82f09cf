//! Parts that water flows through beside hoses: fittings, elevation changes, valves, check valves, regulators.

use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::outlets::check_needs;
use super::parameter::{ANY, NOT_NEGATIVE, OF_DIAMETER, PLACE_X, PLACE_Y, POSITIVE, Parameter, Parameters, Rule};
use super::part::{Around, Part, Spec, no_check, stores_none};
use super::rows::{Beside, LawRows, Rows};
use super::traits::{Backward, Placing, SymbolShape, Traits};
use crate::laws::minor::{MinorLoss, k_from_cv, sudden_contraction_k, sudden_expansion_k};
use crate::laws::section::{area_m2, pressure_of_head_pa};

pub(super) const DIAMETER: Parameter =
    Parameter::new(Id::Diameter, "in", OF_DIAMETER, "inside diameter its k refers to; default: that of the nearest hose");
pub(super) const CV: Parameter =
    Parameter::new(Id::Cv, "", POSITIVE, "flow coefficient in gpm at 1 psi loss; replaces k where given");
pub(super) const PRICE: Parameter = Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price");
pub(super) const RATING: Parameter =
    Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)");
pub(super) const INLET_LOW: Parameter =
    Parameter::new(Id::RangeLow, "psi", NOT_NEGATIVE, "lowest inlet pressure at which it works");
pub(super) const INLET_HIGH: Parameter =
    Parameter::new(Id::RangeHigh, "psi", POSITIVE, "highest inlet pressure at which it works");

pub(super) const fn k(default: f64, about: &'static str) -> Parameter {
    Parameter::new(Id::K, "", NOT_NEGATIVE, about).or(default)
}

pub(super) const FITTING: Spec = Spec {
    kind: Kind::Fitting,
    word: "fitting",
    about: "a bend, tee, coupling or other fitting with a loss coefficient: dp = k rho v^2 / 2",
    placing: Placing::Inline,
    traits: Traits::PLAIN,
    symbol: SymbolShape::Fitting,
    headline: &[],
    faults: &[],
    parameters: Parameters::of(&[k(0.0, "loss coefficient"), DIAMETER, CV, PRICE, RATING]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|part, around| Law::Quadratic { resistance: resistance(part, around) }, by numbers resistances),
};

const RATED_LOSS_OF_PRESSURE: Parameter = Parameter::new(Id::Loss, "psi", NOT_NEGATIVE, "pressure loss at the rated flow");
const OF_RATED_FLOW: Parameter = Parameter::new(Id::Flow, "gpm", POSITIVE, "rated flow");

/// Parameters of things known by one loss at one flow.
const RATED_LOSS: &[Parameter] = &[RATED_LOSS_OF_PRESSURE, OF_RATED_FLOW, PRICE, RATING];

pub(super) const FILTER: Spec = Spec {
    kind: Kind::Filter,
    word: "filter",
    about: "a filter by its pressure loss at one flow when clean; the loss grows with the square of flow and with what clogs it",
    placing: Placing::Inline,
    traits: Traits { filters: true, ..Traits::PLAIN },
    symbol: SymbolShape::Filter,
    headline: &[],
    faults: &[],
    parameters: Parameters::of(&[
        RATED_LOSS_OF_PRESSURE,
        OF_RATED_FLOW,
        PRICE,
        RATING,
        Parameter::new(Id::Mesh, "", POSITIVE, "openings an inch of its screen; larger is finer"),
        Parameter::new(Id::OpenArea, "", Rule::Share, "share of its openings that are not clogged").or(1.0),
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(filter_law),
};

pub(super) const METER: Spec = Spec {
    kind: Kind::Meter,
    word: "meter",
    about: "a water meter by its pressure loss at one flow; the loss grows with the square of flow",
    placing: Placing::Inline,
    traits: Traits { meters: true, ..Traits::PLAIN },
    symbol: SymbolShape::Meter,
    headline: &[],
    faults: &[],
    parameters: Parameters::of(RATED_LOSS),
    check: no_check,
    stores: stores_none,
    law: law_of!(rated_loss),
};

pub(super) const RESTRICTOR: Spec = Spec {
    kind: Kind::Restrictor,
    word: "restrictor",
    about: "a restriction such as a restrictor or the diameter of a coupler: sudden contraction and sudden expansion",
    placing: Placing::Inline,
    traits: Traits::PLAIN,
    symbol: SymbolShape::Restrictor,
    headline: &[],
    faults: &[],
    parameters: Parameters::of(&[Parameter::new(Id::Bore, "in", OF_DIAMETER, "bore of the restriction"), PRICE]),
    check: no_check,
    stores: stores_none,
    law: law_of!(restrictor_law),
};

/// Contraction by the TP-410 form and Borda-Carnot expansion, both on the restriction; none where it is the wider one.
fn restrictor_law(part: &Part, around: &Around) -> Law {
    let bore_m = part.value(Id::Bore);
    if around.diameter_m.is_nan() {
        return Law::Quadratic { resistance: f64::NAN };
    }
    let k = match (sudden_contraction_k(around.diameter_m, bore_m), sudden_expansion_k(bore_m, around.diameter_m)) {
        (Ok(contraction), Ok(expansion)) => contraction + expansion,
        _ => 0.0,
    };
    Law::Quadratic { resistance: resistance_of_k(k, bore_m, around.water.density_kg_per_m3) }
}

fn rated_loss(part: &Part, _: &Around) -> Law {
    let (loss_pa, flow) = (part.value(Id::Loss), part.value(Id::Flow));
    Law::Quadratic { resistance: loss_pa / (flow * flow) }
}

/// The water runs through the openings that are left, faster by as much: the loss goes with the square of its speed.
fn filter_law(part: &Part, around: &Around) -> Law {
    let open = part.value(Id::OpenArea);
    match rated_loss(part, around) {
        Law::Quadratic { resistance } => Law::Quadratic { resistance: resistance / (open * open) },
        law => law,
    }
}

pub(super) const UPHILL: Spec = Spec {
    kind: Kind::Uphill,
    word: "uphill",
    about: "a rise in elevation in the direction of flow",
    placing: Placing::Inline,
    traits: Traits::PLAIN,
    symbol: SymbolShape::Climb,
    headline: &[Id::Height],
    faults: &[],
    parameters: Parameters::of(&[Parameter::new(Id::Height, "ft", ANY, "elevation gained in the direction of flow")]),
    check: no_check,
    stores: stores_none,
    law: law_of!(rise_law),
};

pub(super) const DOWNHILL: Spec = Spec {
    kind: Kind::Downhill,
    word: "downhill",
    about: "a drop in elevation in the direction of flow",
    parameters: Parameters::of(&[Parameter::new(Id::Height, "ft", ANY, "elevation lost in the direction of flow")]),
    ..UPHILL
};

fn rise_law(part: &Part, around: &Around) -> Law {
    Law::Climb { rise_pa: pressure_of_head_pa(part.rise_m(), around.water.density_kg_per_m3) }
}

pub(super) const VALVE: Spec = Spec {
    kind: Kind::Valve,
    word: "valve",
    about: "a zone valve, closed unless named in run; its loss when open is k rho v^2 / 2",
    placing: Placing::Inline,
    traits: Traits { opens: true, ..Traits::PLAIN },
    symbol: SymbolShape::Valve,
    headline: &[],
    faults: &[FaultKind::SticksOpen, FaultKind::SticksClosed],
    parameters: Parameters::of(&[
        k(2.3, "loss coefficient when open; an open diaphragm valve (Perry and Green 1997, Table 6-4)"),
        DIAMETER,
        CV,
        PRICE,
        RATING,
        PLACE_X,
        PLACE_Y,
        Parameter::new(Id::ClosingTime, "s", NOT_NEGATIVE, "time in which it stops the flow when it closes; default 0.3 s"),
        INLET_LOW,
        INLET_HIGH,
    ]),
    check: check_needs,
    stores: stores_none,
    law: law_of!(|part, around| Law::Quadratic { resistance: resistance(part, around) }, by numbers resistances),
};

pub(super) const CHECK_VALVE: Spec = Spec {
    kind: Kind::CheckValve,
    word: "check_valve",
    about: "lets water flow one way only; it is not an approved backflow preventer",
    placing: Placing::Inline,
    traits: Traits { backward: Backward::Keeps, ..Traits::PLAIN },
    symbol: SymbolShape::OneWay,
    headline: &[],
    faults: &[FaultKind::SticksOpen],
    parameters: Parameters::of(&one_way_numbers(
        k(2.0, "loss coefficient when open; a swing check (Munson, Young and Okiishi 2002, Table 8.2)"),
        0.0,
    )),
    check: no_check,
    stores: stores_none,
    law: law_of!(one_way),
};

pub(super) const REGULATOR: Spec = Spec {
    kind: Kind::Regulator,
    word: "regulator",
    about: "holds its outlet pressure at the setting, or is wide open where the inlet pressure is too low; no backflow",
    placing: Placing::Inline,
    traits: Traits { backward: Backward::Stops, ..Traits::PLAIN },
    symbol: SymbolShape::Regulator,
    headline: &[Id::Set],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Set, "psi", POSITIVE, "outlet pressure it holds"),
        k(10.0, "loss coefficient when wide open; a globe valve (Munson, Young and Okiishi 2002, Table 8.2)"),
        DIAMETER,
        CV,
        PRICE,
        RATING,
        INLET_LOW,
        INLET_HIGH,
        Parameter::new(Id::MinimumFlow, "gpm", POSITIVE, "flow below which it may not hold its setting"),
    ]),
    check: check_needs,
    stores: stores_none,
    law: law_of!(|part, around| Law::Regulator { resistance: resistance(part, around), set_pa: part.value(Id::Set) }),
};

/// The parameters of a part that lets water through one way only.
pub(super) const fn one_way_numbers(k: Parameter, cracking_pa: f64) -> [Parameter; 6] {
    let opens = "pressure difference at which it begins to open";
    [k, DIAMETER, CV, PRICE, RATING, Parameter::new(Id::CrackingPressure, "psi", NOT_NEGATIVE, opens).or(cracking_pa)]
}

pub(super) fn one_way(part: &Part, around: &Around) -> Law {
    Law::OneWay { resistance: resistance(part, around), cracking_pa: part.value(Id::CrackingPressure) }
}

/// The resistance of a part with a k, a diameter and a cv; not a number where its k has no diameter to refer to.
#[inline(always)]
fn resistance(part: &Part, around: &Around) -> f64 {
    let (k, diameter_m, cv) = (part.value(Id::K), part.value(Id::Diameter), part.value(Id::Cv));
    if !cv.is_nan() {
        return resistance_of_cv(cv, around.water.density_kg_per_m3);
    }
    let diameter_m = if diameter_m.is_nan() { around.diameter_m } else { diameter_m };
    if diameter_m.is_nan() && k > 0.0 {
        return f64::NAN;
    }
    resistance_of_k(k, diameter_m, around.water.density_kg_per_m3)
}

/// The law of a part that only loses the square of the flow in many cases, where nothing changes but the diameter beside it.
fn resistances(part: &Part, rows: &Rows, out: &mut LawRows) -> Option<bool> {
    let Beside::Each(diameters_m) = rows.beside else { return None };
    let (k, cv, diameters_m) = (part.value(Id::K), part.si(Id::Cv), &diameters_m[..rows.count]);
    if !rows.changed.is_empty() || cv.is_some() || part.si(Id::Diameter).is_some() || diameters_m.iter().any(|m| m.is_nan()) {
        return None;
    }
    out.resize(rows.count);
    let LawRows { offset_pa, linear, quadratic, pipe, .. } = out;
    [offset_pa, linear].into_iter().chain(pipe).for_each(|column| column.fill(0.0));
    for (quadratic, diameter_m) in quadratic.iter_mut().zip(diameters_m) {
        *quadratic = resistance_of_sound_k(k, *diameter_m, rows.water.density_kg_per_m3);
    }
    Some(true)
}

/// The same as [`resistance_of_k`] for numbers that are in range.
#[inline(always)]
pub(super) fn resistance_of_sound_k(k: f64, diameter_m: f64, density_kg_per_m3: f64) -> f64 {
    if k > 0.0 { MinorLoss::per_flow2(k, area_m2(diameter_m), density_kg_per_m3) } else { 0.0 }
}

/// Resistance R in dp = R q|q| of a loss coefficient at a diameter; none for a part that loses nothing.
#[inline(always)]
pub(super) fn resistance_of_k(k: f64, diameter_m: f64, density_kg_per_m3: f64) -> f64 {
    // In a sweep this is done for each case: no error is made of what loses nothing.
    if k > 0.0 { MinorLoss::new(k, diameter_m, density_kg_per_m3).map_or(0.0, |loss| loss.loss_per_flow2) } else { 0.0 }
}

/// Resistance of a flow coefficient Cv; its k at any diameter, taken back to that diameter, gives the same.
fn resistance_of_cv(cv: f64, density_kg_per_m3: f64) -> f64 {
    const ANY_BORE_M: f64 = 0.02;
    k_from_cv(cv, ANY_BORE_M).map_or(0.0, |k| resistance_of_k(k, ANY_BORE_M, density_kg_per_m3))
}
