//! Hoses and pipes: friction along their length.

use super::error::PartError;
use super::id::Id;
use super::inline::{resistance_of_k, resistance_of_sound_k};
use super::kind::Kind;
use super::law::Law;
use super::law_of::{are_allowed, given, law_of};
use super::parameter::{NOT_NEGATIVE, OF_DIAMETER, POSITIVE, Parameter, Parameters};
use super::part::{Around, Part, Spec};
use super::rows::{LawRows, Rows};
use super::traits::{Placing, SymbolShape, Traits};
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::roughness::DEFAULT_ROUGHNESS_M;
use crate::laws::vessel::Vessel;

const NUMBERS: &[Parameter] = &[
    Parameter::new(Id::Length, "ft", POSITIVE, "length"),
    Parameter::new(Id::Diameter, "in", OF_DIAMETER, "inside diameter"),
    Parameter::new(Id::Roughness, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
    Parameter::new(Id::MinorK, "", NOT_NEGATIVE, "total loss coefficient of its couplings and bends").or(0.0),
    Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)"),
    Parameter::new(Id::Compliance, "mL/bar/m", NOT_NEGATIVE, "volume it stores per pressure and length"),
    Parameter::new(Id::HazenWilliamsC, "", POSITIVE, "Hazen-Williams coefficient; replaces Darcy-Weisbach and roughness"),
    Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
];

pub(super) const HOSE: Spec = Spec {
    kind: Kind::Hose,
    word: "hose",
    about: "a flexible hose: Darcy-Weisbach friction loss, smooth by default",
    placing: Placing::Inline,
    traits: Traits { bursts: true, flexible: true, ..Traits::PLAIN },
    symbol: SymbolShape::Bare,
    headline: &[Id::Length, Id::Diameter],
    faults: &[],
    parameters: Parameters::of(NUMBERS),
    check: check_wall,
    stores: wall,
    law: law_of!(law, by numbers law_by_numbers),
};

pub(super) const PIPE: Spec = Spec {
    kind: Kind::Pipe,
    word: "pipe",
    about: "a rigid pipe: friction loss as for a hose, no compliance by default",
    placing: Placing::Inline,
    traits: Traits { bursts: true, trenched: true, ..Traits::PLAIN },
    symbol: SymbolShape::Bare,
    headline: &[Id::Length, Id::Diameter],
    faults: &[],
    parameters: Parameters::of(NUMBERS),
    check: check_wall,
    stores: wall,
    law: law_of!(law, by numbers law_by_numbers),
};

/// What a wall that stretches takes up.
fn wall(hose: &Part) -> Option<Vessel> {
    let m3_per_pa = hose.si(Id::Compliance)? * hose.si(Id::Length)?;
    (m3_per_pa > 0.0).then_some(Vessel::Linear { m3_per_pa })
}

/// Errors: a wall whose roughness fills the diameter.
pub(super) fn check_wall(part: &Part) -> Result<(), PartError> {
    let (Some(diameter_m), Some(roughness_m)) = (part.si(Id::Diameter), part.si(Id::Roughness)) else { return Ok(()) };
    if is_open(roughness_m, diameter_m) {
        return Ok(());
    }
    Err(part.contradiction_of(
        "roughness {} fills the inside diameter of {}",
        &[Id::Roughness, Id::Diameter],
        "roughness is the height of the grains on the wall, as in .roughness(0.0015.mm)",
    ))
}

/// True where a roughness leaves room for water.
#[inline]
fn is_open(roughness_m: f64, diameter_m: f64) -> bool {
    roughness_m < 0.5 * diameter_m
}

#[inline(always)]
fn law(part: &Part, around: &Around) -> Law {
    let (length_m, diameter_m, roughness_m) = (part.value(Id::Length), part.value(Id::Diameter), part.value(Id::Roughness));
    let water = &around.water;
    let resistance = resistance_of_k(part.value(Id::MinorK), diameter_m, water.density_kg_per_m3);
    if let Some(c) = part.si(Id::HazenWilliamsC)
        && let Ok(pipe) = HazenWilliams::new(length_m, diameter_m, c)
    {
        return Law::HazenWilliams { pipe, resistance };
    }
    Law::Friction {
        pipe: PipeFriction::new(length_m, diameter_m, roughness_m, water.density_kg_per_m3, water.viscosity_pa_s),
        resistance,
    }
}

/// The law in many cases by Darcy-Weisbach, of what has length, diameter, roughness and loss coefficient changed, and no more.
fn law_by_numbers(part: &Part, rows: &Rows, out: &mut LawRows) -> Option<bool> {
    if part.si(Id::HazenWilliamsC).is_some() {
        return None;
    }
    out.resize(rows.count);
    let LawRows { offset_pa, linear, quadratic, pipe: [walls, reynolds, factors], given: room } = out;
    let [length_m, diameter_m, roughness_m, minor_k] =
        given(part, rows, [Id::Length, Id::Diameter, Id::Roughness, Id::MinorK], room)?;
    let open = diameter_m.iter().zip(roughness_m).fold(true, |all, (&diameter, &roughness)| all & is_open(roughness, diameter));
    if !open || !are_allowed(part, rows) {
        return Some(false);
    }
    let (density, viscosity) = (rows.water.density_kg_per_m3, rows.water.viscosity_pa_s);
    offset_pa.fill(0.0);
    linear.fill(0.0);
    for (row, quadratic) in quadratic.iter_mut().enumerate() {
        let (length_m, diameter_m, roughness_m, k) = (length_m[row], diameter_m[row], roughness_m[row], minor_k[row]);
        [walls[row], reynolds[row], factors[row]] =
            PipeFriction::new(length_m, diameter_m, roughness_m, density, viscosity).numbers();
        *quadratic = resistance_of_sound_k(k, diameter_m, density);
    }
    Some(true)
}
