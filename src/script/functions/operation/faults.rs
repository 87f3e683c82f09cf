//! Words for parts that fail, and for when they do.
//!
//! What a fault does is found by running the garden with it, in `runs.rs`.

use super::read::moment;
use crate::operation::{Fault, FaultKind};
use crate::quantity::dim;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{describe, expect_quantity};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult};

/// Registers these words.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(words).into());
}

#[export_module]
mod words {
    /// A part that fails: a switch or booster `"will not stop"` or `"will not start"`, a switch is `"blocked"`, a relief or
    /// valve `"stuck open"` or `"stuck closed"`, a check valve `"leaks back"`, a supply or open tank `"fails"` and gives no water, a
    /// supply `"loses pressure"` while its pipe stands open, so that water can run back.
    ///
    /// ```hw
    /// failure("switch", "will not stop")   // => switch will not stop
    /// failure("switch", "explodes")   // => error: there is no fault called 'explodes'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn failure(part: &str, how: &str) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault::new(part, FaultKind::of_words(how).map_err(raise)?))
    }

    /// When a fault begins: a time of the first day, or a time after the first midnight; at once unless said.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 2.h, [failure("supply", "fails").starts_at(30.min).lasts_for(1.h)]).events()["event"]   // => ["fails", "works again"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starts_at(fault: Fault, at: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { from_s: moment(&at, "begins: time")?.0, ..fault })
    }

    /// How long a fault lasts; for ever unless said.
    ///
    /// ```hw
    /// failure("supply", "fails").starts_at("01:00").lasts_for(3.h)   // => supply fails
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lasts_for(fault: Fault, lasting: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { lasting_s: expect_quantity(&lasting, dim::TIME, "lasts: time")?, ..fault })
    }
}

pub fn as_faults(values: &Array) -> Answer<Vec<Fault>> {
    let one = |value: &Dynamic| match value.read_lock::<Fault>() {
        Some(fault) => Ok(fault.clone()),
        None => {
            let error = ScriptError::new(format!("operate takes a list of faults, found {}", describe(value)));
            Err(error.with_hint("write [failure(\"switch\", \"will not stop\")]").into())
        }
    };
    values.iter().map(one).collect()
}
