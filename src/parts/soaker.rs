//! The soaker hose: a line with many equal outlets along its length, closed at its end.

use super::error::{Contradiction, PartError};
use super::hose::check_wall;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::outlets::{NEEDS_HIGH, NEEDS_LOW, check_needs};
use super::parameter::{NOT_NEGATIVE, OF_DIAMETER, POSITIVE, Parameter, Parameters, Rule};
use super::part::{Around, Part, Spec, stores_none};
use super::traits::{Placing, Soil, SymbolShape, Traits};
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::outlet_line::{OutletLine, Wall};
use crate::laws::roughness::DEFAULT_ROUGHNESS_M;
use crate::quantity::Quantity;
use crate::water::Water;
use std::sync::Arc;

/// Most outlets that are followed one by one.
const MOST_OUTLETS: f64 = 10_000.0;

pub(super) const SOAKER: Spec = Spec {
    kind: Kind::Soaker,
    word: "soaker",
    about: "a hose with equal outlets along its length, closed at the end; friction loss is computed from outlet to outlet",
    placing: Placing::Outlet,
    traits: Traits {
        gives_water: true,
        waters: true,
        soil: Soil::In,
        drips: true,
        bursts: true,
        flexible: true,
        ..Traits::PLAIN
    },
    symbol: SymbolShape::Drip,
    headline: &[Id::Length],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Length, "ft", POSITIVE, "length; the first outlet is one spacing downstream of its inlet"),
        Parameter::new(Id::Diameter, "in", OF_DIAMETER, "inside diameter"),
        Parameter::new(Id::Flow, "gpm", POSITIVE, "total flow of all outlets at the rated pressure"),
        Parameter::new(Id::Pressure, "psi", POSITIVE, "rated pressure"),
        Parameter::new(Id::Exponent, "", Rule::Share, "exponent of each outlet").or(0.5),
        Parameter::new(Id::Outlets, "", POSITIVE, "number of outlets").or(100.0),
        Parameter::new(Id::Roughness, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
        Parameter::new(Id::HazenWilliamsC, "", POSITIVE, "Hazen-Williams coefficient; replaces roughness"),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)"),
        NEEDS_LOW,
        NEEDS_HIGH,
    ]),
    check,
    stores: stores_none,
    law: law_of!(law),
};

/// Inside diameter of usual drip line, m: 16 mm outside, 13.8 mm inside. From memory of makers' data.
const DRIPLINE_BORE_M: f64 = 0.0138;
/// Pressure at which emitters of drip line are rated, Pa: 1 bar. From memory of makers' data.
const DRIPLINE_RATED_PA: f64 = 1e5;
/// Exponent of compensating emitters: a tenth more from 1 to 4 bar would be 0.07. Common practice, no source.
const COMPENSATING: f64 = 0.05;

pub(super) const DRIPLINE: Spec = Spec {
    kind: Kind::Dripline,
    word: "dripline",
    about: "a drip line with pressure-compensating emitters at a spacing, closed at the end; friction loss is computed from emitter to emitter",
    placing: Placing::Outlet,
    traits: SOAKER.traits,
    symbol: SymbolShape::Drip,
    headline: &[Id::Length],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Length, "ft", POSITIVE, "length; the first emitter is one spacing downstream of its inlet"),
        Parameter::new(Id::Spacing, "in", POSITIVE, "distance from emitter to emitter"),
        Parameter::new(Id::Flow, "gph", POSITIVE, "flow of one emitter at the rated pressure"),
        Parameter::new(Id::Pressure, "psi", POSITIVE, "rated pressure").or(DRIPLINE_RATED_PA),
        Parameter::new(Id::Exponent, "", Rule::Share, "exponent of each emitter; 0.5 for emitters that do not compensate")
            .or(COMPENSATING),
        Parameter::new(Id::Diameter, "in", OF_DIAMETER, "inside diameter").or(DRIPLINE_BORE_M),
        Parameter::new(Id::Roughness, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
        Parameter::new(Id::HazenWilliamsC, "", POSITIVE, "Hazen-Williams coefficient; replaces roughness"),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)"),
        NEEDS_LOW,
        NEEDS_HIGH,
    ]),
    check: check_dripline,
    stores: stores_none,
    law: law_of!(|part, around| Law::Soaker { line: Arc::new(emitters(part, around)) }),
};

/// How many emitters a drip line has: one at the end of each whole spacing.
fn emitters_of(part: &Part) -> f64 {
    (part.value(Id::Length) / part.value(Id::Spacing) * (1.0 + 1e-9)).floor()
}

fn check_dripline(part: &Part) -> Result<(), PartError> {
    check_needs(part)?;
    let emitters = emitters_of(part);
    if !(1.0..=MOST_OUTLETS).contains(&emitters) {
        let numbers = [MOST_OUTLETS, emitters].map(Quantity::number);
        let what = Contradiction::of("it must have from 1 to {} emitters, found {}", &numbers);
        return Err(part.contradiction(what, "check length and spacing, or divide it into several lines"));
    }
    check_wall(part)
}

/// The line of a drip line, to be followed from emitter to emitter.
fn emitters(part: &Part, around: &Around) -> OutletLine {
    let count = emitters_of(part);
    let coefficient = part.value(Id::Flow) / part.value(Id::Pressure).powf(part.value(Id::Exponent));
    OutletLine::new(wall(part, part.value(Id::Spacing), around), count as usize, coefficient, part.value(Id::Exponent))
}

/// The wall of one spacing.
fn wall(part: &Part, spacing_m: f64, around: &Around) -> Wall {
    let (diameter_m, roughness_m, c) = (part.value(Id::Diameter), part.value(Id::Roughness), part.value(Id::HazenWilliamsC));
    let water = &around.water;
    match HazenWilliams::new(spacing_m, diameter_m, c) {
        Ok(pipe) if !c.is_nan() => Wall::HazenWilliams(pipe),
        _ => Wall::Rough(PipeFriction::new(spacing_m, diameter_m, roughness_m, water.density_kg_per_m3, water.viscosity_pa_s)),
    }
}

fn check(part: &Part) -> Result<(), PartError> {
    check_needs(part)?;
    let outlets = part.value(Id::Outlets);
    if !(1.0..=MOST_OUTLETS).contains(&outlets) || outlets.fract() != 0.0 {
        let numbers = [MOST_OUTLETS, outlets].map(Quantity::number);
        let what = Contradiction::of("it must have a whole number of outlets from 1 to {}, found {}", &numbers);
        return Err(part.contradiction(what, "count them, or leave the default of 100"));
    }
    check_wall(part)
}

fn law(part: &Part, around: &Around) -> Law {
    Law::Soaker { line: Arc::new(line(part, around)) }
}

/// The line of a soaker, to be followed from outlet to outlet.
pub(super) fn line(part: &Part, around: &Around) -> OutletLine {
    let (length_m, flow, pressure) = (part.value(Id::Length), part.value(Id::Flow), part.value(Id::Pressure));
    let (exponent, outlets) = (part.value(Id::Exponent), part.value(Id::Outlets));
    OutletLine::new(wall(part, length_m / outlets, around), outlets as usize, flow / outlets / pressure.powf(exponent), exponent)
}

impl Part {
    /// What a soaker loses from its start to its last outlet, Pa, for a pressure there, in water of 15 degC.
    pub fn soaker_loss_pa(&self, end_pa: f64) -> Option<f64> {
        let along = match self.kind() {
            Kind::Soaker => line,
            Kind::Dripline => emitters,
            _ => return None,
        };
        let around = Around { water: Water::default(), diameter_m: f64::NAN };
        Some(along(self, &around).from_end(end_pa).0 - end_pa)
    }
}
