//! Functions of plain numbers whose results may be infinite or no number: here they are errors that name the number.
//!
//! The engine's own functions of these names go on with such results. Those that are finite for every number are left to it.

use super::error::{Answer, ScriptError, raise};
use crate::quantity::{finite, show_number};
use rhai::{Engine, FuncRegistration, INT};

/// Functions of one number: name, law, help. A law gives NaN where there is no value.
const OF_ONE: &[(&str, fn(f64) -> f64, &str)] = &[
    ("exp", f64::exp, "/// The number e raised to a number.\n///\n/// ```hw\n/// exp(1)   // => 2.71828\n/// ```"),
    (
        "ln",
        |x| over_zero(x, f64::ln),
        "/// The natural logarithm of a number above zero.\n///\n/// ```hw\n/// ln(10)   // => 2.30259\n/// ln(0)    // => error: ln(0) has no value\n/// ```",
    ),
    ("log", |x| over_zero(x, f64::log10), LOG_DOC),
    ("sinh", f64::sinh, "/// The hyperbolic sine of a number.\n///\n/// ```hw\n/// sinh(1)   // => 1.1752\n/// ```"),
    ("cosh", f64::cosh, "/// The hyperbolic cosine of a number.\n///\n/// ```hw\n/// cosh(0)   // => 1\n/// ```"),
    (
        "asin",
        f64::asin,
        "/// The angle, in radians, whose sine is a number from -1 to 1.\n///\n/// ```hw\n/// asin(1)   // => 1.5708\n/// ```",
    ),
    (
        "acos",
        f64::acos,
        "/// The angle, in radians, whose cosine is a number from -1 to 1.\n///\n/// ```hw\n/// acos(0)   // => 1.5708\n/// acos(2)   // => error: acos(2) has no value\n/// ```",
    ),
    (
        "acosh",
        f64::acosh,
        "/// The number whose hyperbolic cosine is a number of 1 or above.\n///\n/// ```hw\n/// acosh(1)   // => 0\n/// ```",
    ),
    (
        "atanh",
        |x| if x.abs() < 1.0 { x.atanh() } else { f64::NAN },
        "/// The number whose hyperbolic tangent is a number between -1 and 1.\n///\n/// ```hw\n/// atanh(0)   // => 0\n/// ```",
    ),
    (
        "to_degrees",
        f64::to_degrees,
        "/// An angle in radians, in degrees.\n///\n/// ```hw\n/// to_degrees(PI())   // => 180\n/// ```",
    ),
];

const LOG_DOC: &str = "/// The logarithm of a number above zero to the base 10, or to another base.\n///\n/// ```hw\n/// log(1000)   // => 3\n/// log(8, 2)   // => 3\n/// ```";

const HYPOT_DOC: &str = "/// The longest side of a triangle with a right angle between two others.\n///\n/// ```hw\n/// hypot(3, 4)   // => 5\n/// ```";

/// Functions of two numbers: name, law, names of the two, help.
const OF_TWO: &[(&str, fn(f64, f64) -> f64, [&str; 2], &str)] =
    &[("log", logarithm, ["x", "base"], LOG_DOC), ("hypot", f64::hypot, ["a", "b"], HYPOT_DOC)];

const TO_INT_DOC: &str = "/// The whole number of a decimal, without what stands behind the point.\n///\n/// ```hw\n/// to_int(2.7)     // => 2\n/// to_int(1e300)   // => error: to_int: 1e300 does not fit into a whole number\n/// ```";

const PARSE_DOC: &str = "/// Reads a plain number from a text; `q` reads one with a unit.\n///\n/// ```hw\n/// parse_float(\" 2.5 \")   // => 2.5\n/// parse_float(\"two\")     // => error: parse_float: 'two' is not a number\n/// ```";

/// Registers the functions.
pub(super) fn register(engine: &mut Engine) {
    for &(name, law, doc) in OF_ONE {
        let apply = move |x: f64| of_finite(law(x), || format!("{name}({})", show_number(x)));
        documented(name, &["x"], doc).register_into_engine(engine, apply);
        documented(name, &["x"], doc).register_into_engine(engine, move |x: INT| apply(x as f64));
    }
    for &(name, law, parameters, doc) in OF_TWO {
        let apply = move |a: f64, b: f64| of_finite(law(a, b), || format!("{name}({}, {})", show_number(a), show_number(b)));
        let with_help = || documented(name, &parameters, doc);
        with_help().register_into_engine(engine, apply);
        with_help().register_into_engine(engine, move |a: INT, b: f64| apply(a as f64, b));
        with_help().register_into_engine(engine, move |a: f64, b: INT| apply(a, b as f64));
        with_help().register_into_engine(engine, move |a: INT, b: INT| apply(a as f64, b as f64));
    }
    documented("to_int", &["x"], TO_INT_DOC).register_into_engine(engine, whole);
    documented("parse_float", &["text"], PARSE_DOC).register_into_engine(engine, read);
}

fn documented(name: &str, parameters: &[&str], doc: &str) -> FuncRegistration {
    FuncRegistration::new(name).with_params_info(parameters).with_comments(doc.lines())
}

fn of_finite(result: f64, calculation: impl FnOnce() -> String) -> Answer<f64> {
    finite(result, calculation).map_err(raise)
}

fn over_zero(x: f64, law: fn(f64) -> f64) -> f64 {
    if x > 0.0 { law(x) } else { f64::NAN }
}

fn logarithm(x: f64, base: f64) -> f64 {
    if x > 0.0 && base > 0.0 && base != 1.0 { x.log(base) } else { f64::NAN }
}

/// Errors: a decimal beyond the range of whole numbers.
fn whole(x: f64) -> Answer<INT> {
    // The least whole number is a power of two, and exact as a decimal; the largest one is not.
    let least = INT::MIN as f64;
    if x >= least && x < -least {
        return Ok(x.trunc() as INT);
    }
    Err(ScriptError::new(format!("to_int: {} does not fit into a whole number", show_number(x))).into())
}

/// Errors: a text that is no finite number.
fn read(text: &str) -> Answer<f64> {
    let found = text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    found.ok_or_else(|| ScriptError::new(format!("parse_float: '{}' is not a number", text.trim())).into())
}
