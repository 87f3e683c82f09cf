//! Devices of irrigation lines beside plain fittings: zone valves by their construction, foot valve, expansion tank, injector, drain valve.

use super::id::Id;
use super::inline::{CHECK_VALVE, CV, DIAMETER, INLET_HIGH, INLET_LOW, METER, PRICE, RATING, VALVE, k, one_way_numbers};
use super::kind::Kind;
use super::parameter::{NOT_NEGATIVE, PLACE_X, PLACE_Y, POSITIVE, Parameter, Parameters};
use super::part::Spec;
use super::storage::{POINT, PRESSURE_TANK};
use super::traits::{SymbolShape, Traits};
use crate::quantity::PSI_PA;

/// Inlet pressure below which a diaphragm valve may not close, Pa: 10 psi. Common practice, no source.
const DIAPHRAGM_LOW_PA: f64 = 10.0 * PSI_PA;

/// Inlet pressures between which hose timers work, Pa: 10 to 120 psi. Common practice, no source.
const HOSE_TIMER_PA: (f64, f64) = (10.0 * PSI_PA, 120.0 * PSI_PA);

/// Flow coefficient of a hose timer, gpm at 1 psi: some 4 psi are lost at 5 gpm. Common practice, no source.
const HOSE_TIMER_CV: f64 = 2.5;

/// Time in which the motor of a hose timer closes its ball, s. Common practice, no source: 3 to 5 s.
const HOSE_TIMER_CLOSES_S: f64 = 4.0;

/// Time in which a diaphragm valve closes, s. Common practice, no source: 1 to 3 s.
const DIAPHRAGM_CLOSES_S: f64 = 2.0;

const LEAST_FLOW: Parameter = Parameter::new(Id::MinimumFlow, "gpm", POSITIVE, "flow below which it may not close or regulate");
const CLOSING: &str = "time in which it stops the flow when it closes";

pub(super) const DIAPHRAGM_VALVE: Spec = Spec {
    kind: Kind::DiaphragmValve,
    word: "diaphragm_valve",
    about: "a solenoid zone valve that the line pressure closes; it is closed unless named in run, its loss when open is k rho v^2 / 2",
    parameters: Parameters::of(&[
        k(2.3, "loss coefficient when open; an open diaphragm valve (Perry and Green 1997, Table 6-4)"),
        DIAMETER,
        CV,
        PRICE,
        RATING,
        PLACE_X,
        PLACE_Y,
        Parameter::new(Id::ClosingTime, "s", NOT_NEGATIVE, CLOSING).or(DIAPHRAGM_CLOSES_S),
        INLET_LOW.or(DIAPHRAGM_LOW_PA),
        INLET_HIGH,
        LEAST_FLOW,
    ]),
    ..VALVE
};

pub(super) const HOSE_TIMER: Spec = Spec {
    kind: Kind::HoseTimer,
    word: "hose_timer",
    about: "a timer with a motor ball valve on a hose thread; it is closed unless named in run",
    parameters: Parameters::of(&[
        k(0.0, "loss coefficient when open; cv replaces it"),
        DIAMETER,
        CV.or(HOSE_TIMER_CV),
        PRICE,
        RATING,
        PLACE_X,
        PLACE_Y,
        Parameter::new(Id::ClosingTime, "s", NOT_NEGATIVE, CLOSING).or(HOSE_TIMER_CLOSES_S),
        INLET_LOW.or(HOSE_TIMER_PA.0),
        INLET_HIGH.or(HOSE_TIMER_PA.1),
    ]),
    traits: Traits { own_timer: true, ..VALVE.traits },
    ..VALVE
};

pub(super) const FOOT_VALVE: Spec = Spec {
    kind: Kind::FootValve,
    word: "foot_valve",
    about: "a check valve with a strainer at the lower end of a suction line; it keeps the pump primed",
    parameters: Parameters::of(&one_way_numbers(
        k(
            10.0,
            "loss coefficient when open; a poppet foot valve with strainer (Crane Technical Paper 410: 420 times the friction factor of full turbulence, 0.024 for 3/4 to 1 in; from memory)",
        ),
        0.0,
    )),
    ..CHECK_VALVE
};

pub(super) const EXPANSION_TANK: Spec = Spec {
    kind: Kind::ExpansionTank,
    word: "expansion_tank",
    about: "a small tank with an air cushion on the house side, which takes up what heated water gains; no flow in a steady state",
    traits: Traits { takes_expansion: true, ..PRESSURE_TANK.traits },
    ..PRESSURE_TANK
};

pub(super) const INJECTOR: Spec = Spec {
    kind: Kind::Injector,
    word: "injector",
    about: "a fertilizer injector, by its pressure loss at one flow; what it injects must never reach drinking water",
    traits: Traits { injects: true, ..Traits::PLAIN },
    symbol: SymbolShape::Filter,
    ..METER
};

pub(super) const DRAIN_VALVE: Spec = Spec {
    kind: Kind::DrainValve,
    word: "drain_valve",
    about: "an automatic drain at a low point: it opens when the pressure is gone, and the line runs empty; closed under pressure",
    traits: Traits { drains: true, ..Traits::PLAIN },
    parameters: Parameters::of(&[PLACE_X, PLACE_Y, PRICE]),
    ..POINT
};
