//! Arithmetic and comparison of quantities and numbers, and the true quotient of whole numbers.
//!
//! The laws of dimensions are in `crate::quantity`; here they meet the operators of the script language. The engine's own
//! operators on decimals go on with infinity and with what is no number; those here end with an error that names both sides.

use crate::moment::{WEEKDAYS, weekday_meant};
use crate::quantity::{Quantity, QuantityError, close, dim, finite, operand};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, value_of};
use rhai::{Dynamic, Engine, EvalAltResult, INT, Variant};
use std::cmp::Ordering;

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
        .register_fn("**", |a: INT, n: INT| whole_power(a, n))
        .register_fn("<<", shifted)
        .register_fn("^", |a: INT, n: INT| no_caret(a, n))
        .register_fn("^=", |a: &mut INT, n: INT| no_caret(*a, n).map(|_| ()));
    decimals(engine, "+", |a, b| a + b);
    decimals(engine, "-", |a, b| a - b);
    decimals(engine, "*", |a, b| a * b);
    decimals(engine, "/", |a, b| a / b);
    decimals(engine, "%", |a, b| a % b);
    decimals(engine, "**", power);
    engine.register_fn("/", |a: INT, b: INT| between("/", |a, b| a / b, a as f64, b as f64));
    quotient_in_place(engine);
    comparison(engine, "<", |order| order == Ordering::Less);
    comparison(engine, "<=", |order| order != Ordering::Greater);
    comparison(engine, ">", |order| order == Ordering::Greater);
    comparison(engine, ">=", |order| order != Ordering::Less);
    for name in ["<", "<=", ">", ">=", "==", "!="] {
        strings_refused(engine, name);
    }
    comparison(engine, "==", |order| order == Ordering::Equal);
    comparison(engine, "!=", |order| order != Ordering::Equal);
    engine
        .register_fn("==", |a: &str, b: &str| same_text(a, b))
        .register_fn("!=", |a: &str, b: &str| same_text(a, b).map(|same| !same));
}

/// Whether two strings are the same. Errors: one is a weekday as dates have it and the other the same day written otherwise, of which nobody
/// wants to know that they differ.
fn same_text(a: &str, b: &str) -> Answer<bool> {
    if a == b {
        return Ok(true);
    }
    let day = |short: &str, other: &str| {
        let is_meant = WEEKDAYS.contains(&short) && weekday_meant(other) == Some(short);
        is_meant.then(|| (short.to_string(), other.to_string()))
    };
    let Some((day, other)) = day(a, b).or_else(|| day(b, a)) else { return Ok(false) };
    let error = ScriptError::new(format!("the day \"{day}\" is never equal to \"{other}\""));
    Err(error.with_hint(format!("write \"{day}\": weekdays are {}", WEEKDAYS.join(", "))).into())
}

/// Order of two quantities where a difference of rounding counts as equal.
///
/// Errors: quantities of different dimension; a value that is not a number.
pub fn order(a: Quantity, b: Quantity) -> Result<Ordering, ScriptError> {
    let order = a.order(b)?.ok_or_else(|| ScriptError::new("cannot compare: a value is not a number"))?;
    Ok(if close(a.si, b.si) { Ordering::Equal } else { order })
}

type Operation = fn(Quantity, Quantity) -> Result<Quantity, QuantityError>;

fn arithmetic(engine: &mut Engine, name: &'static str, operation: Operation) {
    on_quantities(engine, name, move |a, b| -> Answer<Dynamic> {
        if name == "/" && b.si == 0.0 {
            return Err(division_by_zero(a).into());
        }
        value_of(operation(a, b).map_err(raise)?)
    });
}

fn comparison(engine: &mut Engine, name: &'static str, holds: fn(Ordering) -> bool) {
    on_quantities(engine, name, move |a, b| -> Answer<bool> { Ok(holds(order(a, b).map_err(raise)?)) });
}

/// The engine would call a comparison of a string with a quantity or a number false. Errors: always for the order; for equality where the
/// string stands for a value, since lists of both are asked what they contain. Advises what the string stands for.
fn strings_refused(engine: &mut Engine, name: &'static str) {
    let refused = move |text: &str, other: Quantity| -> Answer<bool> {
        if matches!(name, "==" | "!=") && !stands_for_a_value(text) {
            return Ok(name == "!=");
        }
        let error = ScriptError::new(format!("cannot compare the string \"{text}\" and {}", other.described()));
        let hint = if let (true, Some(month)) = (other.dimension.is_number(), month_of(text)) {
            return Err(error.with_hint(format!("a month is a number: {text} is {month}")).into());
        } else if other.dimension.is_number() {
            "compare numbers with numbers; parse_float(\"52\") reads one from a string"
        } else if other.dimension == dim::TIME {
            "read a string with q(\"30 min\"), a time of the day with clock(\"05:30\")"
        } else {
            "read a string with q(\"30 psi\")"
        };
        Err(error.with_hint(hint).into())
    };
    let number = Quantity::number;
    engine
        .register_fn(name, move |a: &str, b: Quantity| refused(a, b))
        .register_fn(name, move |a: Quantity, b: &str| refused(b, a))
        .register_fn(name, move |a: &str, b: INT| refused(a, number(b as f64)))
        .register_fn(name, move |a: INT, b: &str| refused(b, number(a as f64)))
        .register_fn(name, move |a: &str, b: f64| refused(a, number(b)))
        .register_fn(name, move |a: f64, b: &str| refused(b, number(a)));
}

/// True for a string such as "30 psi", "7" or "July", of which nobody wants to know that it is no quantity.
fn stands_for_a_value(text: &str) -> bool {
    let text = text.trim();
    text.trim_start_matches(['-', '+', '.', '$']).starts_with(|sign: char| sign.is_ascii_digit()) || month_of(text).is_some()
}

/// The number of the month with which a text begins, from 1.
fn month_of(text: &str) -> Option<usize> {
    const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    MONTHS.iter().position(|month| text.trim().starts_with(month)).map(|index| index + 1)
}

/// One operator for a quantity with a quantity or a number on either side.
fn on_quantities<T, F>(engine: &mut Engine, name: &'static str, apply: F)
where
    T: Variant + Clone,
    F: Fn(Quantity, Quantity) -> Answer<T> + Copy + Send + Sync + 'static,
{
    let number = Quantity::number;
    engine
        .register_fn(name, move |a: Quantity, b: Quantity| apply(a, b))
        .register_fn(name, move |a: Quantity, b: f64| apply(a, number(b)))
        .register_fn(name, move |a: Quantity, b: INT| apply(a, number(b as f64)))
        .register_fn(name, move |a: f64, b: Quantity| apply(number(a), b))
        .register_fn(name, move |a: INT, b: Quantity| apply(number(a as f64), b));
}

type DecimalOperation = fn(f64, f64) -> f64;

/// One operator for decimals, also with a whole number on one side, and in place.
fn decimals(engine: &mut Engine, name: &'static str, operation: DecimalOperation) {
    let in_place = move |a: &mut f64, b: f64| -> Answer<()> {
        *a = between(name, operation, *a, b)?;
        Ok(())
    };
    engine
        .register_fn(name, move |a: f64, b: f64| between(name, operation, a, b))
        .register_fn(name, move |a: INT, b: f64| between(name, operation, a as f64, b))
        .register_fn(name, move |a: f64, b: INT| between(name, operation, a, b as f64))
        .register_fn(format!("{name}="), move |a: &mut f64, b: f64| in_place(a, b))
        .register_fn(format!("{name}="), move |a: &mut f64, b: INT| in_place(a, b as f64));
}

/// Errors: a division by zero; a result that is not finite.
#[inline]
fn between(name: &str, operation: DecimalOperation, a: f64, b: f64) -> Answer<f64> {
    let result = operation(a, b);
    if result.is_finite() { Ok(result) } else { Err(no_result(name, a, b, result)) }
}

#[cold]
fn no_result(name: &str, a: f64, b: f64, result: f64) -> Box<EvalAltResult> {
    let (a, b) = (Quantity::number(a), Quantity::number(b));
    if matches!(name, "/" | "%") && b.si == 0.0 {
        return division_by_zero(a).into();
    }
    let error = finite(result, || format!("{} {name} {}", operand(a), operand(b)));
    error.err().map_or_else(|| ScriptError::new("the result is too large").into(), raise)
}

/// A power; of zero below zero there is none.
fn power(a: f64, b: f64) -> f64 {
    if a == 0.0 && b < 0.0 { f64::NAN } else { a.powf(b) }
}

/// The true quotient in place, of whole numbers and quantities.
fn quotient_in_place(engine: &mut Engine) {
    engine.register_fn("/=", |target: &mut Dynamic, divisor: Dynamic| -> Answer<()> {
        let (Some(a), Some(b)) = (as_quantity(target), as_quantity(&divisor)) else {
            return Err(ScriptError::new("/= needs a number or a quantity on both sides").into());
        };
        if b.si == 0.0 {
            return Err(division_by_zero(a).into());
        }
        *target = value_of(a.over(b).map_err(raise)?)?;
        Ok(())
    });
}

fn division_by_zero(value: Quantity) -> ScriptError {
    ScriptError::new(format!("cannot divide {value} by zero")).with_hint("check the value on the right of the / or %")
}

fn remainder(a: Quantity, b: Quantity) -> Answer<Quantity> {
    order(a, b).map_err(raise)?;
    if b.si == 0.0 {
        return Err(division_by_zero(a).into());
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
///
/// Errors: a power that no decimal holds, or of zero that would divide by zero.
fn whole_power(a: INT, n: INT) -> Answer<Dynamic> {
    match u32::try_from(n).ok().and_then(|n| a.checked_pow(n)) {
        Some(whole) => Ok(Dynamic::from_int(whole)),
        None => Ok(Dynamic::from_float(between("**", power, a as f64, n as f64)?)),
    }
}

/// The engine would combine bits, which is a wrong power. Errors: always.
fn no_caret(a: INT, n: INT) -> Answer<INT> {
    Err(ScriptError::new("'^' is no power").with_hint(format!("write a power with **, as in {a} ** {n}")).into())
}

/// A whole number shifted to the left. Errors: bits that fall off, a shift that is below zero or too far.
fn shifted(a: INT, n: INT) -> Answer<INT> {
    let moved = u32::try_from(n).ok().and_then(|n| a.checked_shl(n)).filter(|moved| moved >> n == a);
    moved.ok_or_else(|| ScriptError::new(format!("{a} << {n} does not fit into a whole number")).into())
}

#[cfg(test)]
mod tests {
    use crate::files::Folder;
    use crate::script::language::session::Session;
    use proptest::prelude::*;

    fn shown(script: &str) -> String {
        let mut session = Session::new(Folder::new("."));
        let outcome = session.evaluate(script);
        match outcome.error() {
            Some(error) => format!("error: {}", error.message),
            None => outcome.shown().last().map_or_else(String::new, ToString::to_string),
        }
    }

    /// What must never be read: results that are no finite number, and errors that do not say of what.
    fn is_sound(text: &str) -> bool {
        let bare = |word: &&str| matches!(word.trim_matches(|c: char| !c.is_alphanumeric()), "infinite" | "inf" | "nan" | "NaN");
        !text.split_whitespace().any(|word| bare(&word)) && !text.contains("not a number")
    }

    #[test]
    fn a_result_that_is_not_finite_names_both_sides() {
        let cases = [
            ("2**10000", "error: 2 ** 10000 is too large to calculate with"),
            ("(-2)**0.5", "error: (-2) ** 0.5 has no value"),
            ("1e308 + 1e308", "error: 1e308 + 1e308 is too large to calculate with"),
            ("let a = 1e308; a *= 10; a", "error: 1e308 * 10 is too large to calculate with"),
            ("let a = 1e308; a -= -1e308; a", "error: 1e308 - (-1e308) is too large to calculate with"),
            ("let a = 1.5; a /= 0.0; a", "error: cannot divide 1.5 by zero"),
            ("let a = 3; a /= 0; a", "error: cannot divide 3 by zero"),
            ("5.0 % 0", "error: cannot divide 5 by zero"),
            ("5 % 0", "error: cannot divide 5 by zero"),
            ("0 ** -1", "error: 0 ** (-1) has no value"),
            ("1e300.ft * 1e300.ft", "error: 1e300 ft * 1e300 ft is too large to calculate with"),
            ("1e305.ft + 1e308.m + 1e308.m", "error: 1e308 m + 1e308 m is too large to calculate with"),
            ("(-4.ft2) ** 0.5", "error: root 2 of -4 ft2 has no value"),
            ("9223372036854775807 + 1", "error: 9223372036854775807 + 1 is too large for a whole number"),
            ("9223372036854775807 * 2", "error: 9223372036854775807 * 2 is too large for a whole number"),
            ("let a = 9223372036854775807; a += 1; a", "error: 9223372036854775807 + 1 is too large for a whole number"),
            ("1 << 64", "error: 1 << 64 does not fit into a whole number"),
            ("1 << 63", "error: 1 << 63 does not fit into a whole number"),
            ("1 << 4", "16"),
            ("1e999", "error: 1e999 is too large to calculate with"),
            ("2 - 1e999", "error: 1e999 is too large to calculate with"),
            ("exp(1000)", "error: exp(1000) is too large to calculate with"),
            ("ln(-1)", "error: ln(-1) has no value"),
            ("ln(0)", "error: ln(0) has no value"),
            ("log(8, 2)", "3"),
            ("log(8, 1)", "error: log(8, 1) has no value"),
            ("parse_float(\"inf\")", "error: parse_float: 'inf' is not a number"),
            ("1e300.to_int()", "error: to_int: 1e300 does not fit into a whole number"),
            ("sqrt(-1)", "error: sqrt: -1 is below zero"),
            ("pow(-8, 0.5)", "error: pow(-8, 0.5) has no value"),
            ("sum([1e308, 1e308])", "error: 1e308 + 1e308 is too large to calculate with"),
            ("[1e300].map(|x| x * 1e300)", "error: 1e300 * 1e300 is too large to calculate with"),
            ("1.ft ** 12 ** 12", "error: cannot raise 1 ft (a length) and the power 8916100448256"),
            ("(1.ft ** 12) ** 12", "error: 6.43e-7 m^12 ** 12 has a dimension that no quantity has"),
        ];
        for (script, expected) in cases {
            assert!(shown(script).starts_with(expected), "{script}: {}", shown(script));
        }
    }

    fn number() -> impl Strategy<Value = String> {
        let unit = prop_oneof![Just(""), Just(".ft"), Just(".psi"), Just(".gpm"), Just(".degC"), Just(".kelvin"), Just(".min")];
        let whole = prop_oneof![-9i64..9, any::<i64>()]
            .prop_map(|number| format!("({number})").replace("(-9223372036854775808)", "(-7)"));
        let decimal = prop_oneof![
            (-9.0..9.0_f64).prop_map(|number| format!("({number:?})")),
            (-9.0..9.0_f64, -308..308i32).prop_map(|(number, power)| format!("({number:?}e{power})")),
        ];
        (prop_oneof![whole, decimal], unit).prop_map(|(number, unit)| format!("{number}{unit}"))
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 60, max_shrink_iters: 200, ..ProptestConfig::default() })]

        #[test]
        fn no_calculation_shows_what_is_not_finite(numbers in proptest::collection::vec(number(), 3)) {
            let [a, b, c] = numbers.as_slice() else { unreachable!("three are drawn") };
            let mut session = Session::new(Folder::new("."));
            session.evaluate(&format!("let a = {a}; let b = {b}; let c = {c};"));
            let operators = ["+", "-", "*", "/", "%", "**"];
            let in_place = operators.iter().map(|o| format!("let d = a; d {o}= b; d"));
            let two = operators.iter().map(|o| format!("a {o} b"));
            let three = operators.iter().flat_map(|o| operators.iter().map(move |p| format!("(a {o} b) {p} c")));
            let words = ["sqrt", "cbrt", "abs", "exp", "ln", "log", "sinh", "cosh", "asin", "acos", "acosh", "atanh", "to_degrees",
                "to_int", "tan", "sin", "-"].iter().map(|word| format!("{word}(a)"));
            let pairs = ["pow", "log", "hypot", "round", "round_to", "min", "max"].iter().map(|word| format!("{word}(a, b)"));
            let lists = ["sum", "mean", "sorted", "max"].iter().map(|word| format!("{word}([a, b, c])"));
            for script in two.chain(three).chain(in_place).chain(words).chain(pairs).chain(lists) {
                let outcome = session.evaluate(&script);
                let text = match outcome.error() {
                    Some(error) => error.message.clone(),
                    None => outcome.shown().last().map_or_else(String::new, ToString::to_string),
                };
                prop_assert!(is_sound(&text), "{a} {b} {c}: {script} shows {text}");
            }
        }
    }
}
