//! Hoses and pipes: friction along their length.

use super::error::PartError;
use super::id::Id;
use super::inline::resistance_of_k;
use super::kind::Kind;
use super::law::Law;
use super::number::{NOT_NEGATIVE, Number, Numbers, OF_BORE, POSITIVE};
use super::part::{Around, Part, Spec};
use super::traits::{Placing, SymbolShape, Traits};
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::roughness::DEFAULT_ROUGHNESS_M;
use crate::laws::vessel::Vessel;

const NUMBERS: &[Number] = &[
    Number::new(Id::Length, "ft", POSITIVE, "length"),
    Number::new(Id::Bore, "in", OF_BORE, "inside diameter"),
    Number::new(Id::Roughness, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
    Number::new(Id::MinorK, "", NOT_NEGATIVE, "loss coefficient of its couplings and bends together").or(0.0),
    Number::new(Id::Rating, "psi", POSITIVE, "working pressure it is rated for"),
    Number::new(Id::Stretch, "mL/bar/m", NOT_NEGATIVE, "volume it takes up for each pressure and length"),
    Number::new(
        Id::HazenWilliamsC,
        "",
        POSITIVE,
        "Hazen-Williams coefficient; takes the place of Darcy-Weisbach and the roughness",
    ),
    Number::new(Id::Price, "$", NOT_NEGATIVE, "what it costs"),
];

pub(super) const HOSE: Spec = Spec {
    kind: Kind::Hose,
    word: "hose",
    about: "a flexible hose: Darcy-Weisbach friction, smooth unless said otherwise",
    placing: Placing::Inline,
    traits: Traits { bursts: true, ..Traits::PLAIN },
    symbol: SymbolShape::Bare,
    headline: &[Id::Length, Id::Bore],
    faults: &[],
    numbers: Numbers::of(NUMBERS),
    check: check_wall,
    stores: wall,
    law,
};

pub(super) const PIPE: Spec = Spec {
    kind: Kind::Pipe,
    word: "pipe",
    about: "a rigid pipe: the same friction as a hose, without stretch unless said otherwise",
    placing: Placing::Inline,
    traits: Traits { bursts: true, ..Traits::PLAIN },
    symbol: SymbolShape::Bare,
    headline: &[Id::Length, Id::Bore],
    faults: &[],
    numbers: Numbers::of(NUMBERS),
    check: check_wall,
    stores: wall,
    law,
};

/// What a wall that stretches takes up.
fn wall(hose: &Part) -> Option<Vessel> {
    let m3_per_pa = hose.si(Id::Stretch)? * hose.si(Id::Length)?;
    (m3_per_pa > 0.0).then_some(Vessel::Linear { m3_per_pa })
}

/// Errors: a wall whose roughness fills the bore.
pub(super) fn check_wall(part: &Part) -> Result<(), PartError> {
    let (Some(bore_m), Some(roughness_m)) = (part.si(Id::Bore), part.si(Id::Roughness)) else { return Ok(()) };
    if roughness_m < 0.5 * bore_m {
        return Ok(());
    }
    let shown = |id| part.get(id).map_or_else(|_| String::new(), |found| found.to_string());
    let what = format!("roughness {} fills the bore of {}", shown(Id::Roughness), shown(Id::Bore));
    Err(part.contradiction(what, "the roughness is the height of the grains on the wall, as in .rough(0.0015.mm)"))
}

fn law(part: &Part, around: &Around) -> Law {
    let (length_m, bore_m, roughness_m) = (part.value(Id::Length), part.value(Id::Bore), part.value(Id::Roughness));
    let water = &around.water;
    let resistance = resistance_of_k(part.value(Id::MinorK), bore_m, water.density_kg_per_m3);
    if let Some(c) = part.si(Id::HazenWilliamsC)
        && let Ok(pipe) = HazenWilliams::new(length_m, bore_m, c)
    {
        return Law::HazenWilliams { pipe, resistance };
    }
    Law::Friction {
        pipe: PipeFriction::new(length_m, bore_m, roughness_m, water.density_kg_per_m3, water.viscosity_pa_s),
        resistance,
    }
}
