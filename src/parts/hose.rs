//! Hoses and pipes: friction along their length.

use super::error::{PartError, contradiction};
use super::inline::resistance_of_k;
use super::kind::{Around, Law, Placing, Spec, Traits};
use super::number::{NOT_NEGATIVE, Number, OF_BORE, POSITIVE};
use super::part::Part;
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::roughness::DEFAULT_ROUGHNESS_M;
use crate::quantity::dim;

const NUMBERS: &[Number] = &[
    Number::new("length", dim::LENGTH, "ft", POSITIVE, "length"),
    Number::new("bore", dim::LENGTH, "in", OF_BORE, "inside diameter"),
    Number::new("roughness", dim::LENGTH, "mm", NOT_NEGATIVE, "roughness of the wall").or(DEFAULT_ROUGHNESS_M),
    Number::new("minor_k", dim::NUMBER, "", NOT_NEGATIVE, "loss coefficient of its couplings and bends together").or(0.0),
    Number::new("rating", dim::PRESSURE, "psi", POSITIVE, "working pressure it is rated for"),
    Number::new("stretch", dim::STRETCH, "mL/bar/m", NOT_NEGATIVE, "volume it takes up for each pressure and length"),
    Number::new(
        "hazen_williams_c",
        dim::NUMBER,
        "",
        POSITIVE,
        "Hazen-Williams coefficient; takes the place of Darcy-Weisbach and the roughness",
    ),
    Number::new("price", dim::MONEY, "$", NOT_NEGATIVE, "what it costs"),
];

pub(super) const HOSE: Spec = Spec {
    word: "hose",
    about: "a flexible hose: Darcy-Weisbach friction, smooth unless said otherwise",
    placing: Placing::Inline,
    traits: Traits { bursts: true, ..Traits::PLAIN },
    numbers: NUMBERS,
    check: check_wall,
    law,
};

pub(super) const PIPE: Spec = Spec {
    word: "pipe",
    about: "a rigid pipe: the same friction as a hose, without stretch unless said otherwise",
    placing: Placing::Inline,
    traits: Traits { bursts: true, ..Traits::PLAIN },
    numbers: NUMBERS,
    check: check_wall,
    law,
};

/// Errors: a wall whose roughness fills the bore.
pub(super) fn check_wall(part: &Part) -> Result<(), PartError> {
    let (Some(bore_m), Some(roughness_m)) = (part.si("bore"), part.si("roughness")) else { return Ok(()) };
    if roughness_m < 0.5 * bore_m {
        return Ok(());
    }
    let shown = |name| part.get(name).map_or_else(|_| String::new(), |found| found.to_string());
    let what = format!("roughness {} fills the bore of {}", shown("roughness"), shown("bore"));
    Err(contradiction(part, what, "the roughness is the height of the grains on the wall, as in .rough(0.0015.mm)"))
}

fn law(part: &Part, around: &Around) -> Law {
    let (length_m, bore_m, roughness_m) = (part.value(0), part.value(1), part.value(2));
    let water = &around.water;
    let resistance = resistance_of_k(part.value(3), bore_m, water.density_kg_per_m3);
    if let Some(c) = part.si("hazen_williams_c")
        && let Ok(pipe) = HazenWilliams::new(length_m, bore_m, c)
    {
        return Law::HazenWilliams { pipe, resistance };
    }
    Law::Friction {
        pipe: PipeFriction::new(length_m, bore_m, roughness_m, water.density_kg_per_m3, water.viscosity_pa_s),
        resistance,
    }
}
