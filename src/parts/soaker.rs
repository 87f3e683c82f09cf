//! The soaker hose: a line with many equal outlets along its length, closed at its end.

use super::error::{PartError, contradiction};
use super::flow_table::FlowTable;
use super::kind::{Around, Law, Placing, Soil, Spec, Traits};
use super::number::{NOT_NEGATIVE, Number, OF_BORE, POSITIVE, Rule};
use super::outlets::{NEEDS_HIGH, NEEDS_LOW, check_needs};
use super::part::Part;
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::roughness::DEFAULT_ROUGHNESS_M;
use crate::quantity::dim;
use std::sync::Arc;

/// Most outlets that are followed one by one.
const MOST_OUTLETS: f64 = 10_000.0;
/// End pressures for which the line is followed; between them the discharge is a power law.
const POINTS: usize = 49;
const LEAST_END_PA: f64 = 10.0;
const MOST_END_PA: f64 = 2e6;
/// Pressure at the start of the line up to which it is followed.
const MOST_INLET_PA: f64 = 4e6;

pub(super) const SOAKER: Spec = Spec {
    word: "soaker",
    about: "a hose with equal outlets along its length, closed at the end; friction is followed from outlet to outlet",
    placing: Placing::Outlet,
    traits: Traits { gives_water: true, waters: true, soil: Soil::In, drips: true, bursts: true, ..Traits::PLAIN },
    numbers: &[
        Number::new("length", dim::LENGTH, "ft", POSITIVE, "length; the first outlet sits one spacing behind its start"),
        Number::new("bore", dim::LENGTH, "in", OF_BORE, "inside diameter"),
        Number::new("flow", dim::FLOW, "gpm", POSITIVE, "flow of all outlets together if each had the rated pressure"),
        Number::new("pressure", dim::PRESSURE, "psi", POSITIVE, "rated pressure"),
        Number::new("exponent", dim::NUMBER, "", Rule::Share, "exponent of each outlet").or(0.5),
        Number::new("outlets", dim::NUMBER, "", POSITIVE, "number of outlets").or(100.0),
        Number::new("roughness", dim::LENGTH, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
        Number::new(
            "hazen_williams_c",
            dim::NUMBER,
            "",
            POSITIVE,
            "Hazen-Williams coefficient; takes the place of the roughness",
        ),
        Number::new("price", dim::MONEY, "$", NOT_NEGATIVE, "what it costs"),
        Number::new("rating", dim::PRESSURE, "psi", POSITIVE, "working pressure it is rated for"),
        NEEDS_LOW,
        NEEDS_HIGH,
    ],
    check,
    law,
};

fn check(part: &Part) -> Result<(), PartError> {
    check_needs(part, 10)?;
    let outlets = part.value(5);
    if !(1.0..=MOST_OUTLETS).contains(&outlets) || outlets.fract() != 0.0 {
        let what = format!("it must have a whole number of outlets from 1 to {MOST_OUTLETS}, found {outlets}");
        return Err(contradiction(part, what, "count them, or leave the 100 that are taken when nothing is said"));
    }
    Ok(())
}

fn law(part: &Part, around: &Around) -> Law {
    let most_end_pa = most_end_pa(part, around);
    let points: Vec<(f64, f64)> = (0..POINTS)
        .map(|index| {
            let share = index as f64 / (POINTS - 1) as f64;
            let line = along(part, around, LEAST_END_PA * (most_end_pa / LEAST_END_PA).powf(share));
            (line.inlet_pa, line.flow_m3_per_s)
        })
        .collect();
    FlowTable::new(&points).map_or(Law::Shut, |table| Law::Tabulated { table: Arc::new(table) })
}

/// The end pressure up to which the line is followed: friction along a long line would else need more than any tap gives.
fn most_end_pa(part: &Part, around: &Around) -> f64 {
    let too_much = |end_pa: f64| {
        let inlet_pa = along(part, around, end_pa).inlet_pa;
        inlet_pa.is_nan() || inlet_pa > MOST_INLET_PA
    };
    if !too_much(MOST_END_PA) {
        return MOST_END_PA;
    }
    let (mut low, mut high) = (LEAST_END_PA, MOST_END_PA);
    for _ in 0..40 {
        let middle = (low * high).sqrt();
        *if too_much(middle) { &mut high } else { &mut low } = middle;
    }
    low.max(1.01 * LEAST_END_PA)
}

/// What a soaker takes in for a pressure at its last outlet.
pub(super) struct Line {
    pub inlet_pa: f64,
    pub flow_m3_per_s: f64,
}

/// Follows the line from its closed end to its start.
pub(super) fn along(part: &Part, around: &Around, end_pa: f64) -> Line {
    let (length_m, bore_m, flow, pressure) = (part.value(0), part.value(1), part.value(2), part.value(3));
    let (exponent, outlets, roughness_m, c) = (part.value(4), part.value(5), part.value(6), part.value(7));
    let spacing_m = length_m / outlets;
    let water = &around.water;
    let pipe = PipeFriction::new(spacing_m, bore_m, roughness_m, water.density_kg_per_m3, water.viscosity_pa_s);
    let by_c = HazenWilliams::new(spacing_m, bore_m, c).ok().filter(|_| !c.is_nan());
    let loss = |flow: f64| match &by_c {
        Some(law) => law.loss(flow).loss_pa,
        None => pipe.loss(flow, &mut 0.0).loss_pa,
    };
    let each = flow / outlets / pressure.powf(exponent);
    let mut line = Line { inlet_pa: end_pa, flow_m3_per_s: 0.0 };
    for _ in 0..outlets as usize {
        line.flow_m3_per_s += each * line.inlet_pa.powf(exponent);
        line.inlet_pa += loss(line.flow_m3_per_s);
    }
    line
}
