//! Parts that sit at a point of the line: the pressure switch, the pressure tank, and a named point.
//!
//! In a steady state they take no water. What they do over time is the work of `operation`.

use super::error::PartError;
use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::parameter::{NOT_NEGATIVE, PLACE_X, PLACE_Y, POSITIVE, Parameter, Parameters};
use super::part::{Part, Spec, no_check, stores_none};
use super::traits::{Placing, Start, SymbolShape, Traits};
use crate::laws::vessel::Vessel;

pub(super) const PRESSURE_SWITCH: Spec = Spec {
    kind: Kind::PressureSwitch,
    word: "pressure_switch",
    about: "starts the nearest booster upstream at or below cut-in and stops it at or above cut-out",
    placing: Placing::AtPoint,
    traits: Traits { starts: Some(Start::Pressure), ..Traits::PLAIN },
    symbol: SymbolShape::Switch,
    headline: &[Id::CutIn, Id::CutOut],
    faults: &[FaultKind::WillNotStop, FaultKind::WillNotStart, FaultKind::Blocked],
    parameters: Parameters::of(&[
        Parameter::new(Id::CutIn, "psi", NOT_NEGATIVE, "line pressure at or below which the booster starts"),
        Parameter::new(Id::CutOut, "psi", POSITIVE, "line pressure at or above which it stops"),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
    ]),
    check: check_switch,
    stores: stores_none,
    law: law_of!(|_, _| Law::Free),
};

pub(super) const PRESSURE_TANK: Spec = Spec {
    kind: Kind::PressureTank,
    word: "pressure_tank",
    about: "a pressure tank with an air cushion: isothermal (Boyle) from its precharge; no flow in a steady state",
    placing: Placing::AtPoint,
    traits: Traits { bursts: true, pushes_back: true, ..Traits::PLAIN },
    symbol: SymbolShape::PressureTank,
    headline: &[Id::Volume],
    faults: &[],
    parameters: Parameters::of(&[
        Parameter::new(Id::Volume, "gal", POSITIVE, "total volume"),
        Parameter::new(Id::Precharge, "psi", NOT_NEGATIVE, "air pressure with the tank drained"),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)"),
    ]),
    check: no_check,
    stores: cushion,
    law: law_of!(|_, _| Law::Free),
};

pub(super) const POINT: Spec = Spec {
    kind: Kind::Point,
    word: "point",
    about: "a named place in the line, such as a manifold or a gauge",
    placing: Placing::AtPoint,
    traits: Traits::PLAIN,
    symbol: SymbolShape::Point,
    headline: &[],
    faults: &[],
    parameters: Parameters::of(&[PLACE_X, PLACE_Y]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|_, _| Law::Free),
};

fn cushion(tank: &Part) -> Option<Vessel> {
    Some(Vessel::Cushion { volume_m3: tank.si(Id::Volume)?, precharge_pa: tank.si(Id::Precharge)? })
}

fn check_switch(part: &Part) -> Result<(), PartError> {
    // What is not given is above nothing.
    if part.value(Id::CutIn) >= part.value(Id::CutOut) {
        return Err(part.contradiction_of(
            "cut-in ({}) must be below cut-out ({})",
            &[Id::CutIn, Id::CutOut],
            "the pump starts at the low pressure and stops at the high one, as in pressure_switch({30.psi, 50.psi|2.bar, 3.5.bar})",
        ));
    }
    Ok(())
}
