//! Functions for failures of parts and their times.
//!
//! The effect of a failure is found by running the garden with it, in `runs.rs`.

use super::read::moment;
use crate::operation::{Fault, FaultKind};
use crate::quantity::dim;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{describe, expect_quantity};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A failure of a part: a switch or booster `"will not stop"` or `"will not start"`, a switch is `"blocked"`, a relief or
    /// valve `"stuck open"` or `"stuck closed"`, a check valve `"leaks back"`, a supply or open tank `"fails"` and gives no water, a
    /// supply `"loses pressure"` with its pipe open, so that water can flow back (backsiphonage).
    ///
    /// ```hw
    /// failure("switch", "will not stop")   // => switch will not stop
    /// failure("switch", "explodes")   // => error: there is no failure called 'explodes'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn failure(part: &str, how: &str) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault::new(part, FaultKind::of_words(how).map_err(raise)?))
    }

    /// When a failure starts: a time of day on day 1, or a time after the first midnight; default the start of the run.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 2.h, [failure("supply", "fails").starts_at(30.min).lasts_for(1.h)]).events()["event"]   // => ["fails", "works again"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starts_at(fault: Fault, at: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { from_s: moment(&at, "starts_at: time")?.0, ..fault })
    }

    /// How long a failure lasts; default to the end of the run.
    ///
    /// ```hw
    /// failure("supply", "fails").starts_at("01:00").lasts_for(3.h)   // => supply fails
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lasts_for(fault: Fault, lasting: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { lasting_s: expect_quantity(&lasting, dim::TIME, "lasts_for: time")?, ..fault })
    }
}

pub fn as_faults(values: &Array) -> Answer<Vec<Fault>> {
    let one = |value: &Dynamic| match value.read_lock::<Fault>() {
        Some(fault) => Ok(fault.clone()),
        None => {
            let error = ScriptError::new(format!("operate takes a list of failures, found {}", describe(value)));
            Err(error.with_hint("write [failure(\"switch\", \"will not stop\")]").into())
        }
    };
    values.iter().map(one).collect()
}
