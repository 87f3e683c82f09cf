//! What starts a booster beside a pressure switch: the relay of the timer, and a control that senses pressure and flow.
//!
//! In a steady state they lose no pressure. Which booster each drives, and when, is the work of `hydraulics` and `operation`.

use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::parameter::{NOT_NEGATIVE, POSITIVE, Parameter, Parameters};
use super::part::{Spec, no_check, stores_none};
use super::traits::{Placing, Start, SymbolShape, Traits};
use crate::quantity::GPM_M3_PER_S;

/// Flow below which a pump control takes it that nothing flows, m3/s: 0.25 gpm. Common practice, no source.
const LEAST_FLOW_M3_PER_S: f64 = 0.25 * GPM_M3_PER_S;

/// Time for which a pump control runs the pump on after the flow has stopped, s. Common practice, no source: 5 to 15 s.
const RUNS_ON_S: f64 = 10.0;

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
    law: |_, _| Law::Free,
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
    law: |_, _| Law::Free,
};
