//! Functions of numbers and lists that also accept quantities.
//!
//! Knows nothing of gardens.

use super::formulas;
use super::operators::order;
use crate::quantity::{Quantity, finite, read_quantity, show_number};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{as_quantity, describe, value_of};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};
use std::cmp::Ordering;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A quotient of whole numbers is a decimal number. A list is written in square brackets, a map with names as `#{ name: value }`.

```hw
5 / 8                 // => 0.625
7 % 3                 // => 1
2 ** 10               // => 1024
[1.ft, 2.ft].len      // => 2
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    formulas::register(engine);
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// The smaller of two numbers or quantities, or the smallest of a list.
    ///
    /// ```hw
    /// min(30.psi, 1.bar)           // => 1 bar
    /// min([3.gpm, 2.gpm, 5.gpm])   // => 2 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn min(a: Dynamic, b: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        best(&[a, b], Ordering::Less, "min")
    }

    #[rhai_fn(name = "min", return_raw)]
    pub fn min_of_list(values: Array) -> Result<Dynamic, Box<EvalAltResult>> {
        best(&values, Ordering::Less, "min")
    }

    /// The larger of two numbers or quantities, or the largest of a list.
    ///
    /// ```hw
    /// max(30.psi, 1.bar)     // => 30 psi
    /// max([2, 7, 5])         // => 7
    /// ```
    #[rhai_fn(return_raw)]
    pub fn max(a: Dynamic, b: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        best(&[a, b], Ordering::Greater, "max")
    }

    #[rhai_fn(name = "max", return_raw)]
    pub fn max_of_list(values: Array) -> Result<Dynamic, Box<EvalAltResult>> {
        best(&values, Ordering::Greater, "max")
    }

    /// The sum of a list.
    ///
    /// ```hw
    /// sum([2.gpm, 3.gpm])   // => 5 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sum(values: Array) -> Result<Dynamic, Box<EvalAltResult>> {
        value_of(total(&values, "sum")?)
    }

    /// The mean of a list.
    ///
    /// ```hw
    /// mean([28.psi, 32.psi])   // => 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn mean(values: Array) -> Result<Dynamic, Box<EvalAltResult>> {
        let number = Quantity::number(values.len() as f64);
        value_of(total(&values, "mean")?.over(number).map_err(raise)?)
    }

    /// The absolute value of a number or quantity.
    ///
    /// ```hw
    /// abs(-3.psi)   // => 3 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn abs(value: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let quantity = one(&value, "abs")?;
        value_of(if quantity.si < 0.0 { quantity.negated().map_err(raise)? } else { quantity })
    }

    /// The square root of a number or quantity; the dimension must have one.
    ///
    /// ```hw
    /// sqrt(2)       // => 1.41421
    /// sqrt(9.ft2)   // => 3 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sqrt(value: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        root(&value, 2, "sqrt")
    }

    #[rhai_fn(name = "sqrt", return_raw)]
    pub fn sqrt_of_number(value: f64) -> Result<Dynamic, Box<EvalAltResult>> {
        root(&Dynamic::from_float(value), 2, "sqrt")
    }

    /// The cube root of a number or quantity; the dimension must have one.
    ///
    /// ```hw
    /// cbrt(27)      // => 3
    /// cbrt(8.ft3)   // => 2 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn cbrt(value: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        root(&value, 3, "cbrt")
    }

    /// A power; quantities take whole powers.
    ///
    /// ```hw
    /// pow(2, 0.5)   // => 1.41421
    /// pow(2.ft, 2)  // => 4 ft2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pow(value: Dynamic, exponent: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let (base, power) = (one(&value, "pow")?, super::expect_number_for_power(&exponent)?);
        if base.dimension.is_number() {
            let result = finite(base.si.powf(power), || format!("pow({base}, {})", show_number(power))).map_err(raise)?;
            return value_of(Quantity::number(result));
        }
        if power.fract() != 0.0 {
            return Err(ScriptError::new(format!("pow: cannot raise {} to the power {power}", base.described())).into());
        }
        value_of(base.power(power as i64).map_err(raise)?)
    }

    /// Rounds to a whole number, or to some decimals; a quantity in the unit in which it is shown. `round_to` rounds to a step.
    ///
    /// ```hw
    /// round(2.347)              // => 2
    /// round(2.347, 2)           // => 2.35
    /// round(31.37.psi)          // => 31 psi
    /// round(31.37.psi, 1)       // => 31.4 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn round(call: NativeCallContext, value: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        rounded(&call, &value, 0)
    }

    #[rhai_fn(name = "round", return_raw)]
    pub fn round_to_decimals(call: NativeCallContext, value: Dynamic, decimals: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let count = as_quantity(&decimals).filter(|count| count.dimension.is_number() && count.si.fract() == 0.0);
        match count.map(|count| count.si).filter(|count| count.abs() <= MOST_DECIMALS) {
            Some(count) => rounded(&call, &value, count as i32),
            None => {
                let what =
                    format!("round: the decimals must be a whole number up to {MOST_DECIMALS}, found {}", describe(&decimals));
                Err(ScriptError::new(what)
                    .with_hint("round_to(value, step) rounds to a multiple of a step")
                    .about("decimals")
                    .into())
            }
        }
    }

    /// Rounds to a multiple of a step, which may be a unit.
    ///
    /// ```hw
    /// round_to(31.37.psi, 5.psi)   // => 30 psi
    /// round_to(31.37.psi, "psi")   // => 31 psi
    /// round_to(2.347, 0.25)        // => 2.25
    /// ```
    #[rhai_fn(return_raw)]
    pub fn round_to(value: Dynamic, step: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let (value, step) = (one(&value, "round_to")?, step_of(&step)?);
        order(value, step).map_err(raise)?;
        if step.si <= 0.0 {
            return Err(ScriptError::new(format!("round_to: the step must be above zero, found {step}")).into());
        }
        let si = finite((value.si / step.si).round() * step.si, || format!("round_to({value}, {step})")).map_err(raise)?;
        value_of(Quantity { si, preference: step.preference, ..value })
    }
}

const MOST_DECIMALS: f64 = 12.0;

/// A value rounded to decimals of the unit in which it is shown.
fn rounded(call: &NativeCallContext, value: &Dynamic, decimals: i32) -> Answer<Dynamic> {
    let quantity = one(value, "round")?;
    if value.is_int() && decimals >= 0 {
        return Ok(value.clone());
    }
    let unit = quantity.shown_unit(context_of(call)?.units());
    let (shown, scale) = (unit.map_or(quantity.si, |unit| unit.from_si(quantity.si)), 10f64.powi(decimals.abs()));
    let number = if decimals < 0 { (shown / scale).round() * scale } else { (shown * scale).round() / scale };
    // A number too large for the scale has no decimals left to round.
    let number = if number.is_finite() { number } else { shown };
    value_of(unit.map_or(Quantity { si: number, ..quantity }, |unit| Quantity { si: unit.to_si(number), ..quantity }))
}

fn expect_number_for_power(value: &Dynamic) -> Answer<f64> {
    crate::script::language::values::expect_number(value, "pow: exponent")
}

pub(super) fn one(value: &Dynamic, word: &str) -> Answer<Quantity> {
    as_quantity(value)
        .ok_or_else(|| ScriptError::new(format!("{word} needs a number or quantity, found {}", describe(value))).into())
}

/// A step as a quantity; a unit alone stands for one of it.
fn step_of(step: &Dynamic) -> Answer<Quantity> {
    match step.as_immutable_string_ref() {
        Ok(unit) => read_quantity(&format!("1 {}", unit.as_str())).map_err(raise),
        Err(_) => one(step, "round_to"),
    }
}

fn root(value: &Dynamic, n: i64, word: &str) -> Answer<Dynamic> {
    let quantity = one(value, word)?;
    if quantity.si < 0.0 && n % 2 == 0 {
        return Err(ScriptError::new(format!("{word}: {quantity} is below zero")).about("value").into());
    }
    if quantity.dimension.is_number() && n == 3 {
        return value_of(Quantity::number(quantity.si.cbrt()));
    }
    if quantity.dimension.is_number() && n == 2 {
        return value_of(Quantity::number(quantity.si.sqrt()));
    }
    value_of(quantity.root(n).map_err(|error| raise_about(error, "value"))?)
}

fn best(values: &[Dynamic], wanted: Ordering, word: &str) -> Answer<Dynamic> {
    let mut found: Option<(Quantity, &Dynamic)> = None;
    for value in values {
        let quantity = one(value, word)?;
        let better = match found {
            None => true,
            Some((so_far, _)) => order(quantity, so_far).map_err(raise)? == wanted,
        };
        if better {
            found = Some((quantity, value));
        }
    }
    found.map(|(_, value)| value.clone()).ok_or_else(|| empty(word))
}

fn total(values: &[Dynamic], word: &str) -> Answer<Quantity> {
    let mut items = values.iter();
    let mut sum = one(items.next().ok_or_else(|| empty(word))?, word)?;
    for value in items {
        sum = sum.plus(one(value, word)?).map_err(raise)?;
    }
    Ok(sum)
}

fn empty(word: &str) -> Box<EvalAltResult> {
    ScriptError::new(format!("{word}: the list is empty")).into()
}
