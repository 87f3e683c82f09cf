//! The function that seeks the value at which something is zero, and its search for other functions.
//!
//! The method is in `crate::numeric`.

use crate::limits;
use crate::numeric::SeekError;
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
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// seek(50.ft, 400.ft, |length| line.with("feed.length", length).run().pressure("spray") - 40.psi)   // => 301.9 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn seek(call: NativeCallContext, low: Dynamic, high: Dynamic, closure: FnPtr) -> Result<Dynamic, Box<EvalAltResult>> {
        seek_between(&call, "seek", "the value", &low, &high, |x| {
            let answer = call_once(&call, &closure, x)?;
            as_quantity(&answer).ok_or_else(|| {
                let what = format!("seek: the closure must give a number or quantity, found {}", describe(&answer));
                ScriptError::new(what).into()
            })
        })
    }
}

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
    let tolerance = 1e-9 * (high.si - low.si).abs();
    let found = crate::numeric::seek(low.si, high.si, tolerance, |si| -> Answer<f64> {
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
            Err(ScriptError::new(what).with_hint("widen the ends, or look at the values with a sweep").into())
        }
        Err(error) => Err(ScriptError::new(format!("{word}: {error}")).into()),
    }
}
