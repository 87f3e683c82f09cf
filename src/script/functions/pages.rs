//! The function for sliders on the live page.
//!
//! In the shell and in a plain run a slider is its start value; `sliders.rs` keeps the positions of sliders.

use crate::quantity::{Quantity, UnitSystem};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError};
use crate::script::language::sliders::Slider;
use crate::script::language::values::{as_quantity, describe, value_of};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`hosewright run FILE --report` writes a study as a page next to it, `hosewright live FILE` shows it in a browser and reruns it
whenever the file is saved. There a slider is a control; everywhere else it is its start value, or what
`hosewright run FILE --set "feed length=150 ft"` gives it.

```hw
let length = slider("feed length", 25.ft, 300.ft, 100.ft);
length   // => 100 ft
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// Checks the ends and the start of a slider.
fn described(name: &str, low: &Dynamic, high: &Dynamic, start: &Dynamic) -> Answer<Slider> {
    let one = |value: &Dynamic, which: &str| {
        as_quantity(value).ok_or_else(|| {
            ScriptError::new(format!("slider: the {which} must be a number or quantity, found {}", describe(value)))
        })
    };
    let (low, high, start) = (one(low, "low end")?, one(high, "high end")?, one(start, "start")?);
    for (other, which) in [(high, "high end"), (start, "start")] {
        if other.dimension != low.dimension {
            let what = format!("slider: the low end is {}, the {which} is {}", low.described(), other.described());
            return Err(ScriptError::new(what).with_hint("give all three in units of one kind").into());
        }
    }
    if low.si >= high.si {
        let what = format!("slider: the low end {low} is not below the high end {high}");
        return Err(ScriptError::new(what).with_hint("write slider(name, low, high, start)").into());
    }
    if !(low.si..=high.si).contains(&start.si) {
        let what = format!("slider: the start {start} is not between {low} and {high}");
        return Err(ScriptError::new(what).with_hint("write slider(name, low, high, start)").into());
    }
    Ok(Slider { name: name.to_string(), low, high, start, value: start })
}

#[export_module]
mod functions {
    /// A slider on the live page, for a value between two ends; elsewhere it is its start value, the last argument.
    ///
    /// ```hw
    /// slider("feed length", 25.ft, 300.ft, 100.ft)   // => 100 ft
    /// slider("heads", 1, 8, 4)                       // => 4
    /// slider("feed length", 25.ft, 300.ft, 10.psi)   // => error: slider: the low end is 25 ft (a length), the start is 10 psi (a pressure)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn slider(
        call: NativeCallContext,
        name: &str,
        low: Dynamic,
        high: Dynamic,
        start: Dynamic,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        let mut slider = described(name, &low, &high, &start)?;
        let sliders = &context_of(&call)?.sliders;
        if let Some(given) = sliders.given(name) {
            // A number alone has the unit of the start.
            let unit = slider.start.shown_unit(UnitSystem::AsWritten).filter(|_| given.dimension.is_number());
            let given = unit.map_or(given, |unit| Quantity::written(given.si, unit));
            slider = described(name, &low, &high, &Dynamic::from(given))?;
        }
        value_of(sliders.meet(slider))
    }
}
