//! Backflow preventers by type: what each loses, what it stands, and where it may be installed.
//!
//! Losses of a type are bands, not values of one device: what its maker prints takes their place (`cracking_pressure`, `k`, `cv`). What a
//! type stands is from memory of ASSE 1001 (atmospheric), 1011 (hose bibb), 1013 (reduced pressure), 1015 (double check) and 1020
//! (pressure vacuum breaker), not looked up; local code decides.

use super::faults::FaultKind;
use super::inline::{k, one_way, one_way_numbers};
use super::kind::Kind;
use super::law_of::law_of;
use super::parameter::Parameters;
use super::part::{Spec, no_check, stores_none};
use super::traits::{Backward, Guard, Placing, SymbolShape, Traits};
use crate::quantity::{INCH_M, PSI_PA};

/// The usual loss coefficient of one disk, and of two in series.
const OF_DISK: &str = "loss coefficient when open; a disk check (Perry and Green 1997, Table 6-4)";
const DISK_K: f64 = 10.0;

pub(super) const BACKFLOW_PREVENTER: Spec = Spec {
    kind: Kind::Backflow,
    word: "backflow_preventer",
    about: "the approved device that keeps garden water out of the drinking water; local code names the type",
    placing: Placing::Inline,
    traits: Traits { backward: Backward::Protects, ..Traits::PLAIN },
    symbol: SymbolShape::TwoWay,
    headline: &[],
    faults: &[FaultKind::SticksOpen],
    parameters: Parameters::of(&one_way_numbers(k(DISK_K, OF_DISK), 0.0)),
    check: no_check,
    stores: stores_none,
    law: law_of!(one_way),
};

pub(super) const DOUBLE_CHECK: Spec = Spec {
    kind: Kind::DoubleCheck,
    word: "double_check",
    about: "two check valves in one assembly: for low hazard, with or without backpressure; about 2 psi to open",
    traits: guarding(Guard { backpressure: true, high_hazard: false, continuous_pressure: true, above_outlets_m: None }),
    parameters: Parameters::of(&one_way_numbers(k(DISK_K, OF_DISK), 2.0 * PSI_PA)),
    ..BACKFLOW_PREVENTER
};

pub(super) const REDUCED_PRESSURE: Spec = Spec {
    kind: Kind::ReducedPressure,
    word: "reduced_pressure",
    about: "a reduced-pressure assembly (RPZ): for high hazard, with or without backpressure; about 7 psi to open",
    traits: guarding(Guard { backpressure: true, high_hazard: true, continuous_pressure: true, above_outlets_m: None }),
    parameters: Parameters::of(&one_way_numbers(k(DISK_K, OF_DISK), 7.0 * PSI_PA)),
    ..BACKFLOW_PREVENTER
};

pub(super) const PRESSURE_VACUUM_BREAKER: Spec = Spec {
    kind: Kind::PressureVacuumBreaker,
    word: "pressure_vacuum_breaker",
    about: "a pressure vacuum breaker (PVB): 12 in above the highest outlet, no backpressure; about 1 psi to open",
    traits: guarding(Guard {
        backpressure: false,
        high_hazard: true,
        continuous_pressure: true,
        above_outlets_m: Some(12.0 * INCH_M),
    }),
    parameters: Parameters::of(&one_way_numbers(k(DISK_K, OF_DISK), PSI_PA)),
    ..BACKFLOW_PREVENTER
};

pub(super) const ATMOSPHERIC_VACUUM_BREAKER: Spec = Spec {
    kind: Kind::AtmosphericVacuumBreaker,
    word: "atmospheric_vacuum_breaker",
    about: "an atmospheric vacuum breaker (AVB): 6 in above the highest outlet, no valve downstream, no backpressure",
    traits: guarding(Guard {
        backpressure: false,
        high_hazard: true,
        continuous_pressure: false,
        above_outlets_m: Some(6.0 * INCH_M),
    }),
    ..BACKFLOW_PREVENTER
};

pub(super) const HOSE_VACUUM_BREAKER: Spec = Spec {
    kind: Kind::HoseVacuumBreaker,
    word: "hose_vacuum_breaker",
    about: "a vacuum breaker on a hose bibb (HBVB): no valve downstream, no backpressure; about 1 psi to open",
    traits: guarding(Guard { backpressure: false, high_hazard: false, continuous_pressure: false, above_outlets_m: None }),
    parameters: Parameters::of(&one_way_numbers(k(DISK_K, OF_DISK), PSI_PA)),
    ..BACKFLOW_PREVENTER
};

const fn guarding(guard: Guard) -> Traits {
    Traits { guard: Some(guard), ..BACKFLOW_PREVENTER.traits }
}
