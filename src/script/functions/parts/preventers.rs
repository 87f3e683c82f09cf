//! Functions for backflow preventers, by type.

use super::make::build;
use crate::parts::{Kind, Part};
use crate::script::language::error::{Answer, ScriptError};
use rhai::EvalAltResult;
use rhai::plugin::*;

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// The types that are known by name, the mildest hazard first.
const TYPES: [Kind; 5] = [
    Kind::HoseVacuumBreaker,
    Kind::AtmosphericVacuumBreaker,
    Kind::PressureVacuumBreaker,
    Kind::DoubleCheck,
    Kind::ReducedPressure,
];

/// The name of a type as the trade writes it.
fn name_of(kind: &Kind) -> String {
    kind.spec().word.replace('_', " ")
}

fn of_type(name: &str) -> Answer<Part> {
    let wanted = name.trim().to_lowercase().replace(['-', '_'], " ");
    let short = [("rpz", Kind::ReducedPressure), ("rp", Kind::ReducedPressure), ("dc", Kind::DoubleCheck)];
    let breakers =
        [("pvb", Kind::PressureVacuumBreaker), ("avb", Kind::AtmosphericVacuumBreaker), ("hbvb", Kind::HoseVacuumBreaker)];
    let by_letters = short.into_iter().chain(breakers).find(|(letters, _)| *letters == wanted).map(|(_, kind)| kind);
    let plain = wanted.trim_end_matches(" assembly").replace("hose bibb", "hose").replace("hose bib", "hose");
    let Some(kind) = by_letters.or_else(|| TYPES.into_iter().find(|kind| name_of(kind) == plain)) else {
        let types: Vec<String> = TYPES.iter().map(|kind| format!("\"{}\"", name_of(kind))).collect();
        let error = ScriptError::new(format!("there is no type of backflow preventer '{name}'")).about("type");
        return Err(error.with_hint(format!("the types are {}", types.join(", "))).into());
    };
    build(kind, None, &[])
}

#[export_module]
mod functions {
    /// An approved backflow preventer against a cross-connection with drinking water, by its type: "double check", "reduced pressure",
    /// "pressure vacuum breaker", "atmospheric vacuum breaker" or "hose vacuum breaker"; local code names it. The pressure to open and
    /// the loss are typical of the type; give those of the maker by `cracking_pressure`, `k` or `cv`.
    ///
    /// ```hw
    /// backflow_preventer("reduced pressure").cracking_pressure   // => 7 psi
    /// backflow_preventer().cracking_pressure(1.psi).k            // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn backflow_preventer() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Backflow, None, &[])
    }

    #[rhai_fn(name = "backflow_preventer", return_raw)]
    pub fn backflow_preventer_of_type(kind: &str) -> Result<Part, Box<EvalAltResult>> {
        of_type(kind)
    }

    /// A double check assembly (DC): a backflow preventer for low hazard that also protects where a pump raises the pressure.
    ///
    /// ```hw
    /// double_check().cracking_pressure   // => 2 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn double_check() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::DoubleCheck, None, &[])
    }

    /// A reduced-pressure assembly (RP, RPZ): a backflow preventer for high hazard, such as fertilizer or a booster. It spills water, so it
    /// stands above ground with a drain, and is tested every year.
    ///
    /// ```hw
    /// reduced_pressure().cracking_pressure   // => 7 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn reduced_pressure() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::ReducedPressure, None, &[])
    }

    /// A pressure vacuum breaker (PVB): a backflow preventer at least 12 in above the highest outlet, without a pump or tank downstream.
    ///
    /// ```hw
    /// pressure_vacuum_breaker().cracking_pressure   // => 1 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_vacuum_breaker() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureVacuumBreaker, None, &[])
    }

    /// An atmospheric vacuum breaker (AVB): a backflow preventer at least 6 in above the highest outlet, without a valve, pump or
    /// tank downstream.
    ///
    /// ```hw
    /// atmospheric_vacuum_breaker().k   // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn atmospheric_vacuum_breaker() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::AtmosphericVacuumBreaker, None, &[])
    }

    /// A vacuum breaker on a hose bibb (HBVB): a backflow preventer for a hose that is open at its end, without a valve, pump or tank
    /// downstream.
    ///
    /// ```hw
    /// hose_vacuum_breaker().cracking_pressure   // => 1 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn hose_vacuum_breaker() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::HoseVacuumBreaker, None, &[])
    }
}
