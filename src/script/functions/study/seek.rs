//! The function that seeks the value at which something is zero, and its search for other functions.
//!
//! The method is in `crate::numeric`.

use crate::limits;
use crate::numeric::{SeekError, Tolerance, zero};
use crate::quantity::Quantity;
use crate::script::language::calling::context_of;
use crate::script::language::calls::call_once;
use crate::script::language::error::{Answer, ScriptError};
use crate::script::language::values::{as_quantity, describe, value_of};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult, FnPtr};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Solves for a value: the one between two ends at which a closure gives zero, such as working pressure minus required pressure.
    /// It is exact to a billionth of itself. Where it jumps over zero, as where a pump stops, is an error that names both sides.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// seek(50.ft, 400.ft, |length| line.with("feed.length", length).run().pressure("spray") - 40.psi)   // => 301.9 ft
    /// seek(0, 1e10, |x| x - 3)                     // => 3
    /// seek(1.0, 2.0, |x| if x < 1.5 { -1 } else { 1 })   // => error: seek: the value is zero nowhere between 1 and 2: it jumps from -1 to 1 at 1.5
    /// ```
    #[rhai_fn(return_raw)]
    pub fn seek(call: NativeCallContext, low: Dynamic, high: Dynamic, closure: FnPtr) -> Result<Dynamic, Box<EvalAltResult>> {
        seek_between(&call, "seek", "the value", &low, &high, |x| {
            let answer = call_once(&call, &closure, x)?;
            as_quantity(&answer).ok_or_else(|| {
                let what = format!("seek: the closure must give a number or quantity, found {}", describe(&answer));
                let error = ScriptError::new(what);
                let hint = "let it end with a difference instead of a comparison, as in ... - {30.psi|2.bar}";
                if answer.is_bool() { error.with_hint(hint).into() } else { error.into() }
            })
        })
    }
}

/// How near an answer is found, as a share of itself, and as a share of the distance of the ends where it is near zero.
const SHARE: f64 = 1e-9;
const LEAST: f64 = 1e-20;

/// The value between two ends at which `value` is zero, for a function that seeks.
pub fn seek_between(
    call: &NativeCallContext,
    word: &str,
    what: &str,
    low: &Dynamic,
    high: &Dynamic,
    value: impl Fn(Dynamic) -> Answer<Quantity>,
) -> Answer<Dynamic> {
    let context = context_of(call)?;
    let end = |value: &Dynamic, which: &str| {
        as_quantity(value).ok_or_else(|| {
            ScriptError::new(format!("{word}: the {which} end must be a number or quantity, found {}", describe(value)))
        })
    };
    let (low, high) = (end(low, "low")?, end(high, "high")?);
    if low.dimension != high.dimension {
        let found = format!("{word}: the ends must have the same dimension, found {} and {}", low.described(), high.described());
        return Err(ScriptError::new(found).into());
    }
    let mut shown: Option<Quantity> = None;
    let near = Tolerance { share: SHARE, least: LEAST * (high.si - low.si).abs() };
    let found = zero(low.si, high.si, near, |si| -> Answer<f64> {
        limits::go_on()?;
        let quantity = value(value_of(Quantity { si, ..low })?)?;
        shown = Some(quantity);
        Ok(quantity.si)
    });
    let in_words = |si: f64| shown.map_or_else(String::new, |kind| Quantity { si, ..kind }.show(context.units()));
    match found {
        Ok(sought) => value_of(Quantity { si: sought.x, ..low }),
        Err(SeekError::Failed(error)) => Err(error),
        Err(SeekError::SameSign { at_low, at_high }) => {
            let what = format!(
                "{word}: {what} does not pass zero between {} and {}: it is {} and {} there",
                low.show(context.units()),
                high.show(context.units()),
                in_words(at_low),
                in_words(at_high)
            );
            Err(ScriptError::new(what).with_hint("subtract the wanted value inside the closure, as in ... - {30.psi|2.bar}; else widen the ends, or look at the values with a sweep").into())
        }
        Err(SeekError::Jump { from, to }) => {
            let what = format!(
                "{word}: {what} is zero nowhere between {} and {}: it jumps from {} to {} at {}",
                low.show(context.units()),
                high.show(context.units()),
                in_words(from.value),
                in_words(to.value),
                Quantity { si: from.x, ..low }.show(context.units())
            );
            let hint = "a part opens, closes, starts or stops there; look at both sides, or seek on one of them";
            Err(ScriptError::new(what).with_hint(hint).into())
        }
        Err(error) => Err(ScriptError::new(format!("{word}: {error}")).into()),
    }
}
