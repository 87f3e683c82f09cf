//! Arithmetic and comparison of quantities and numbers, and the true quotient of whole numbers.
//!
//! The laws of dimensions are in `crate::quantity`; here they meet the operators of the script language.

use super::error::{Answer, ScriptError, raise};
use super::quantities::{as_quantity, too_large, value_of};
use crate::quantity::{Quantity, QuantityError};
use rhai::{Dynamic, Engine, INT};
use std::cmp::Ordering;

/// Relative difference below which two quantities count as equal, so that `1.ft == 12.inch`.
const EQUAL_WITHIN: f64 = 1e-12;

/// Registers the operators.
pub fn register(engine: &mut Engine) {
    arithmetic(engine, "+", Quantity::plus);
    arithmetic(engine, "-", Quantity::minus);
    arithmetic(engine, "*", Quantity::times);
    arithmetic(engine, "/", Quantity::over);
    engine
        .register_fn("-", |a: Quantity| a.negated().map_err(raise))
        .register_fn("+", |a: Quantity| a)
        .register_fn("%", |a: Quantity, b: Quantity| remainder(a, b))
        .register_fn("**", |a: Quantity, n: INT| value_of(a.power(n).map_err(raise)?))
        .register_fn("**", power_with_fraction)
        .register_fn("**", |a: INT, n: INT| whole_power(a, n));
    quotients(engine);
    comparison(engine, "<", |order| order == Ordering::Less);
    comparison(engine, "<=", |order| order != Ordering::Greater);
    comparison(engine, ">", |order| order == Ordering::Greater);
    comparison(engine, ">=", |order| order != Ordering::Less);
    comparison(engine, "==", |order| order == Ordering::Equal);
    comparison(engine, "!=", |order| order != Ordering::Equal);
}

/// Order of two quantities where a difference of rounding counts as equal.
///
/// Errors: quantities of different dimension; a value that is not a number.
pub fn order(a: Quantity, b: Quantity) -> Result<Ordering, ScriptError> {
    let order = a.order(b)?.ok_or_else(|| ScriptError::new("cannot compare: a value is not a number"))?;
    let close = (a.si - b.si).abs() <= EQUAL_WITHIN * a.si.abs().max(b.si.abs());
    Ok(if close { Ordering::Equal } else { order })
}

type Law = fn(Quantity, Quantity) -> Result<Quantity, QuantityError>;

/// One operator for a quantity with a quantity or a number on either side.
fn arithmetic(engine: &mut Engine, name: &'static str, law: Law) {
    let apply = move |a: Quantity, b: Quantity| -> Answer<Dynamic> {
        if name == "/" && b.si == 0.0 {
            return Err(division_by_zero(&a.to_string()).into());
        }
        value_of(law(a, b).map_err(raise)?)
    };
    let number = Quantity::number;
    engine
        .register_fn(name, move |a: Quantity, b: Quantity| apply(a, b))
        .register_fn(name, move |a: Quantity, b: f64| apply(a, number(b)))
        .register_fn(name, move |a: Quantity, b: INT| apply(a, number(b as f64)))
        .register_fn(name, move |a: f64, b: Quantity| apply(number(a), b))
        .register_fn(name, move |a: INT, b: Quantity| apply(number(a as f64), b));
}

fn comparison(engine: &mut Engine, name: &'static str, holds: fn(Ordering) -> bool) {
    let apply = move |a: Quantity, b: Quantity| -> Answer<bool> { Ok(holds(order(a, b).map_err(raise)?)) };
    let number = Quantity::number;
    engine
        .register_fn(name, move |a: Quantity, b: Quantity| apply(a, b))
        .register_fn(name, move |a: Quantity, b: f64| apply(a, number(b)))
        .register_fn(name, move |a: Quantity, b: INT| apply(a, number(b as f64)))
        .register_fn(name, move |a: f64, b: Quantity| apply(number(a), b))
        .register_fn(name, move |a: INT, b: Quantity| apply(number(a as f64), b));
}

/// The true quotient of numbers, also of whole ones: `5/8` is 0.625.
fn quotients(engine: &mut Engine) {
    engine
        .register_fn("/", |a: INT, b: INT| quotient(a as f64, b as f64))
        .register_fn("/", |a: f64, b: INT| quotient(a, b as f64))
        .register_fn("/", |a: INT, b: f64| quotient(a as f64, b))
        .register_fn("/", |a: f64, b: f64| quotient(a, b))
        .register_fn("/=", |target: &mut Dynamic, divisor: Dynamic| -> Answer<()> {
            let (Some(a), Some(b)) = (as_quantity(target), as_quantity(&divisor)) else {
                return Err(ScriptError::new("/= needs a number or a quantity on both sides").into());
            };
            if b.si == 0.0 {
                return Err(division_by_zero(&a.to_string()).into());
            }
            *target = value_of(a.over(b).map_err(raise)?)?;
            Ok(())
        });
}

fn quotient(a: f64, b: f64) -> Answer<f64> {
    if b == 0.0 {
        return Err(division_by_zero(&crate::quantity::show_number(a)).into());
    }
    let quotient = a / b;
    if !quotient.is_finite() && a.is_finite() {
        return Err(too_large().into());
    }
    Ok(quotient)
}

fn division_by_zero(value: &str) -> ScriptError {
    ScriptError::new(format!("cannot divide {value} by zero")).with_hint("check the value on the right of the /")
}

fn remainder(a: Quantity, b: Quantity) -> Answer<Quantity> {
    order(a, b).map_err(raise)?;
    if b.si == 0.0 {
        return Err(division_by_zero(&a.to_string()).into());
    }
    Ok(Quantity { si: a.si % b.si, ..a })
}

fn power_with_fraction(a: Quantity, exponent: f64) -> Answer<Dynamic> {
    if exponent.fract() == 0.0 && exponent.abs() <= 12.0 {
        return value_of(a.power(exponent as i64).map_err(raise)?);
    }
    let root = (1.0 / exponent).round();
    if exponent > 0.0 && (1.0 / exponent - root).abs() < 1e-9 {
        return value_of(a.root(root as i64).map_err(raise)?);
    }
    let error = ScriptError::new(format!("cannot raise {} to the power {exponent}", a.described()));
    Err(error.with_hint("take whole powers, or roots with sqrt and cbrt").into())
}

/// A whole power of a whole number stays whole where it fits, and is a fraction for a negative power.
fn whole_power(a: INT, n: INT) -> Dynamic {
    let whole = u32::try_from(n).ok().and_then(|n| a.checked_pow(n));
    whole.map_or_else(|| Dynamic::from_float((a as f64).powf(n as f64)), Dynamic::from_int)
}
