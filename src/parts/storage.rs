//! Parts that sit at a point of the line: the pressure switch, the pressure tank, and a named point.
//!
//! In a steady state they take no water. What they do over time is the work of `operation`.

use super::error::{PartError, contradiction};
use super::id::Id;
use super::kind::{Kind, Placing, Spec, Traits};
use super::law::Law;
use super::number::{NOT_NEGATIVE, Number, PLACE_X, PLACE_Y, POSITIVE};
use super::part::{Part, no_check};
use crate::laws::vessel::Vessel;

pub(super) const PRESSURE_SWITCH: Spec = Spec {
    word: "pressure_switch",
    about: "starts the nearest booster upstream at or below cut-in and stops it at or above cut-out",
    placing: Placing::AtPoint,
    traits: Traits::PLAIN,
    numbers: &[
        Number::new(Id::CutIn, "psi", NOT_NEGATIVE, "pressure at or below which the booster starts"),
        Number::new(Id::CutOut, "psi", POSITIVE, "pressure at or above which it stops"),
        Number::new(Id::Price, "$", NOT_NEGATIVE, "what it costs"),
    ],
    check: check_switch,
    law: |_, _| Law::Free,
};

pub(super) const PRESSURE_TANK: Spec = Spec {
    word: "pressure_tank",
    about: "a closed tank with an air cushion: isothermal Boyle from its precharge; no flow in a steady state",
    placing: Placing::AtPoint,
    traits: Traits { bursts: true, pushes_back: true, ..Traits::PLAIN },
    numbers: &[
        Number::new(Id::Volume, "gal", POSITIVE, "total volume"),
        Number::new(Id::Precharge, "psi", NOT_NEGATIVE, "air pressure when it holds no water"),
        Number::new(Id::Price, "$", NOT_NEGATIVE, "what it costs"),
        Number::new(Id::Rating, "psi", POSITIVE, "working pressure it is rated for"),
    ],
    check: no_check,
    law: |_, _| Law::Free,
};

pub(super) const POINT: Spec = Spec {
    word: "point",
    about: "a named place in the line, such as a manifold or a gauge",
    placing: Placing::AtPoint,
    traits: Traits::PLAIN,
    numbers: &[PLACE_X, PLACE_Y],
    check: no_check,
    law: |_, _| Law::Free,
};

impl Part {
    /// How far water rises through it, m: its height for a climb, nothing for all others.
    pub fn climb_m(&self) -> f64 {
        if self.kind() == Kind::Climb { self.value(Id::Height) } else { 0.0 }
    }

    /// How it holds water that stands at the pressure of the line: by an air cushion, or by walls that stretch. Nothing of other
    /// parts, and of stiff hoses.
    pub fn vessel(&self) -> Option<Vessel> {
        match self.kind() {
            Kind::PressureTank => {
                Some(Vessel::Cushion { volume_m3: self.si(Id::Volume)?, precharge_pa: self.si(Id::Precharge)? })
            }
            Kind::Hose | Kind::Pipe => {
                let m3_per_pa = self.si(Id::Stretch)? * self.si(Id::Length)?;
                (m3_per_pa > 0.0).then_some(Vessel::Linear { m3_per_pa })
            }
            _ => None,
        }
    }
}

fn check_switch(part: &Part) -> Result<(), PartError> {
    let (Some(cut_in), Some(cut_out)) = (part.quantity(Id::CutIn), part.quantity(Id::CutOut)) else {
        return Ok(());
    };
    if cut_in.si >= cut_out.si {
        return Err(contradiction(
            part,
            format!("cut-in ({cut_in}) must lie below cut-out ({cut_out})"),
            "the pump starts at the low pressure and stops at the high one, as in pressure_switch(30.psi, 50.psi)",
        ));
    }
    Ok(())
}
