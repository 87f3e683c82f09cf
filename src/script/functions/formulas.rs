//! Functions of plain numbers whose results may be infinite or no number: here they are errors that name the number.
//!
//! The engine's own functions of these names go on with such results. Those that are finite for every number are left to it.

use crate::quantity::{finite, show_number};
use crate::script::language::error::{Answer, ScriptError, raise};
use rhai::{Engine, FuncRegistration, INT};

/// A function: its law, which gives NaN where there is no value, and its help, a sentence and the lines of an example.
struct Function<L> {
    name: &'static str,
    law: L,
    about: &'static str,
    example: &'static [&'static str],
}

type OfOne = fn(f64) -> f64;
type OfTwo = fn(f64, f64) -> f64;

const OF_ONE: &[Function<OfOne>] = &[
    Function { name: "exp", law: f64::exp, about: "The number e raised to a number.", example: &["exp(1)   // => 2.71828"] },
    Function {
        name: "ln",
        law: |x| over_zero(x, f64::ln),
        about: "The natural logarithm of a number above zero.",
        example: &["ln(10)   // => 2.30259", "ln(0)    // => error: ln(0) has no value"],
    },
    Function { name: "log", law: |x| over_zero(x, f64::log10), about: ABOUT_LOG, example: EXAMPLE_OF_LOG },
    Function { name: "sinh", law: f64::sinh, about: "The hyperbolic sine of a number.", example: &["sinh(1)   // => 1.1752"] },
    Function { name: "cosh", law: f64::cosh, about: "The hyperbolic cosine of a number.", example: &["cosh(0)   // => 1"] },
    Function {
        name: "asin",
        law: f64::asin,
        about: "The angle, in radians, whose sine is a number from -1 to 1.",
        example: &["asin(1)   // => 1.5708"],
    },
    Function {
        name: "acos",
        law: f64::acos,
        about: "The angle, in radians, whose cosine is a number from -1 to 1.",
        example: &["acos(0)   // => 1.5708", "acos(2)   // => error: acos(2) has no value"],
    },
    Function {
        name: "acosh",
        law: f64::acosh,
        about: "The number whose hyperbolic cosine is a number of 1 or above.",
        example: &["acosh(1)   // => 0"],
    },
    Function {
        name: "atanh",
        law: |x| if x.abs() < 1.0 { x.atanh() } else { f64::NAN },
        about: "The number whose hyperbolic tangent is a number between -1 and 1.",
        example: &["atanh(0)   // => 0"],
    },
    Function {
        name: "to_degrees",
        law: f64::to_degrees,
        about: "An angle in radians, in degrees.",
        example: &["to_degrees(PI())   // => 180"],
    },
];

const OF_TWO: &[Function<OfTwo>] = &[
    Function { name: "log", law: logarithm, about: ABOUT_LOG, example: EXAMPLE_OF_LOG },
    Function {
        name: "hypot",
        law: f64::hypot,
        about: "The longest side of a triangle with a right angle between two others.",
        example: &["hypot(3, 4)   // => 5"],
    },
];

const ABOUT_LOG: &str = "The logarithm of a number above zero to the base 10, or to another base.";
const EXAMPLE_OF_LOG: &[&str] = &["log(1000)   // => 3", "log(8, 2)   // => 3"];

const TO_INT: Function<fn(f64) -> Answer<INT>> = Function {
    name: "to_int",
    law: whole,
    about: "The whole part of a number, without its decimals.",
    example: &["to_int(2.7)     // => 2", "to_int(1e300)   // => error: to_int: 1e300 does not fit into a whole number"],
};

const PARSE_FLOAT: Function<fn(&str) -> Answer<f64>> = Function {
    name: "parse_float",
    law: read,
    about: "Reads a plain number from a string; `q` reads one with a unit.",
    example: &["parse_float(\" 2.5 \")   // => 2.5", "parse_float(\"two\")     // => error: parse_float: 'two' is not a number"],
};

impl<L> Function<L> {
    fn registration(&self, parameters: &[&str]) -> FuncRegistration {
        let example: String = self.example.iter().map(|line| format!("/// {line}\n")).collect();
        let doc = format!("/// {}\n///\n/// ```hw\n{example}/// ```", self.about);
        FuncRegistration::new(self.name).with_params_info(parameters).with_comments(doc.lines())
    }
}

/// Registers the functions.
pub fn register(engine: &mut Engine) {
    for function in OF_ONE {
        let (name, law) = (function.name, function.law);
        let apply = move |x: f64| of_finite(law(x), || format!("{name}({})", show_number(x)));
        function.registration(&["x"]).register_into_engine(engine, apply);
        function.registration(&["x"]).register_into_engine(engine, move |x: INT| apply(x as f64));
    }
    for function in OF_TWO {
        let (name, law) = (function.name, function.law);
        let apply = move |a: f64, b: f64| of_finite(law(a, b), || format!("{name}({}, {})", show_number(a), show_number(b)));
        let new = || function.registration(if name == "log" { &["x", "base"] } else { &["a", "b"] });
        new().register_into_engine(engine, apply);
        new().register_into_engine(engine, move |a: INT, b: f64| apply(a as f64, b));
        new().register_into_engine(engine, move |a: f64, b: INT| apply(a, b as f64));
        new().register_into_engine(engine, move |a: INT, b: INT| apply(a as f64, b as f64));
    }
    TO_INT.registration(&["x"]).register_into_engine(engine, whole);
    PARSE_FLOAT.registration(&["text"]).register_into_engine(engine, read);
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
