//! What starts a booster beside a pressure switch: the relay of the timer, a control that senses pressure and flow, and a drive that holds a
//! pressure by the speed.
//!
//! In a steady state they lose no pressure. Which booster each drives, and when, is the work of `hydraulics` and `operation`.

use super::error::PartError;
use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::parameter::{NOT_NEGATIVE, POSITIVE, Parameter, Parameters, Rule};
use super::part::{Part, Spec, no_check, stores_none};
use super::traits::{Placing, Start, SymbolShape, Traits};
use crate::quantity::{GPM_M3_PER_S, PSI_PA};

/// Flow below which a pump control takes it that nothing flows, m3/s: 0.25 gpm. Common practice, no source.
const LEAST_FLOW_M3_PER_S: f64 = 0.25 * GPM_M3_PER_S;

/// Time for which a pump control runs the pump on after the flow has stopped, s. Common practice, no source: 5 to 15 s.
const RUNS_ON_S: f64 = 10.0;

/// Flow below which a drive stops its pump, m3/s: 0.5 gpm. Common practice, no source.
const LEAST_DRIVEN_FLOW_M3_PER_S: f64 = 0.5 * GPM_M3_PER_S;

/// Fall below its set pressure at which a drive starts its pump again, Pa: 5 psi. Common practice, no source: 0.3 to 0.5 bar.
const START_MARGIN_PA: f64 = 5.0 * PSI_PA;

/// Power that a drive passes on to the motor over the power that it takes. Common practice, no source: 0.93 to 0.97.
const DRIVE_EFFICIENCY: f64 = 0.95;

pub(super) const PUMP_START: Spec = Spec {
    kind: Kind::PumpStart,
    word: "pump_start",
    about: "a pump start relay: the timer runs the nearest booster upstream as long as it opens a zone downstream of that booster",
    placing: Placing::AtPoint,
    traits: Traits { starts: Some(Start::Zones), ..Traits::PLAIN },
    symbol: SymbolShape::Relay,
    headline: &[],
    faults: &[FaultKind::WillNotStop, FaultKind::WillNotStart],
    parameters: Parameters::of(&[
        Parameter::new(Id::Delay, "s", NOT_NEGATIVE, "time from the opening of a zone to the start of the booster").or(0.0),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|_, _| Law::Free),
};

pub(super) const PUMP_CONTROL: Spec = Spec {
    kind: Kind::PumpControl,
    word: "pump_control",
    about: "a flow-and-pressure control: starts the nearest booster upstream at or below cut-in, stops it some time after the flow has \
            stopped, and locks it out where it runs dry",
    placing: Placing::AtPoint,
    traits: Traits { starts: Some(Start::Flow), ..Traits::PLAIN },
    symbol: SymbolShape::FlowSwitch,
    headline: &[Id::CutIn],
    faults: &[FaultKind::WillNotStop, FaultKind::WillNotStart],
    parameters: Parameters::of(&[
        Parameter::new(Id::CutIn, "psi", NOT_NEGATIVE, "line pressure at or below which the booster starts"),
        Parameter::new(Id::MinimumFlow, "gpm", POSITIVE, "flow below which it takes it that nothing flows")
            .or(LEAST_FLOW_M3_PER_S),
        Parameter::new(Id::Delay, "s", NOT_NEGATIVE, "time for which the booster runs on after the flow has stopped")
            .or(RUNS_ON_S),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
    ]),
    check: no_check,
    stores: stores_none,
    law: law_of!(|_, _| Law::Free),
};

pub(super) const DRIVE: Spec = Spec {
    kind: Kind::Drive,
    word: "drive",
    about: "a variable-speed drive: lowers the speed of the nearest booster upstream so that the pressure at its outlet is the set pressure; \
            starts it at or below a margin under that, stops it some time after the flow has stopped, and locks it out where it runs dry",
    placing: Placing::AtPoint,
    traits: Traits { starts: Some(Start::Speed), ..Traits::PLAIN },
    symbol: SymbolShape::Drive,
    headline: &[Id::Set],
    faults: &[FaultKind::WillNotStop, FaultKind::WillNotStart],
    parameters: Parameters::of(&[
        Parameter::new(Id::Set, "psi", POSITIVE, "pressure that it holds at the outlet of the booster"),
        Parameter::new(
            Id::StartMargin,
            "psi",
            POSITIVE,
            "fall of the line pressure below the set pressure at which the booster starts",
        )
        .or(START_MARGIN_PA),
        Parameter::new(Id::MinimumFlow, "gpm", POSITIVE, "flow below which it takes it that nothing flows")
            .or(LEAST_DRIVEN_FLOW_M3_PER_S),
        Parameter::new(Id::Delay, "s", NOT_NEGATIVE, "time for which the booster runs on after the flow has stopped")
            .or(RUNS_ON_S),
        Parameter::new(Id::Efficiency, "", Rule::Share, "power passed on to the motor over the power taken").or(DRIVE_EFFICIENCY),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
    ]),
    check: check_drive,
    stores: stores_none,
    law: law_of!(|_, _| Law::Free),
};

fn check_drive(part: &Part) -> Result<(), PartError> {
    // What is not given is above nothing.
    if part.value(Id::StartMargin) >= part.value(Id::Set) {
        return Err(part.contradiction_of(
            "the start margin ({}) must be smaller than the set pressure ({})",
            &[Id::StartMargin, Id::Set],
            "the pump starts when the pressure has fallen by the margin, as in drive({60.psi|4.bar}).start_margin({5.psi|0.3.bar})",
        ));
    }
    Ok(())
}

impl Part {
    /// Line pressure at or below which what is no relay starts its booster, Pa: cut-in, or of a drive its set pressure less the start margin.
    pub fn starts_at_pa(&self) -> Option<f64> {
        self.si(Id::CutIn).or_else(|| Some(self.si(Id::Set)? - self.si(Id::StartMargin)?))
    }
}
