//! Numbers with units as scripts see them: units as properties, conversions, and the checks that all other words use.
//!
//! The units and the laws of dimensions are in `crate::quantity`.

use super::error::{Answer, ScriptError, raise, raise_about};
use super::{Context, operators};
use crate::quantity::{Dimension, Quantity, UNITS, UnitSystem, dim, find_unit, read_quantity, show_number, show_number_with};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult, INT};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A unit stands behind a number as a property. A fraction needs brackets, since the unit binds first.

```hw
100.ft                  // => 100 ft
(5/8).inch              // => 0.625 in
30.psi + 1.bar          // => 44.5 psi
20.gal / 5.min          // => 4 gpm
10.ft / 2.ft            // => 5
1.ft == 12.inch         // => true
```

Dimensions are checked: adding a pressure to a length is an error that names both. A quotient of equal dimensions is a
plain number. Pressures are gauge; the gallon is the US gallon, unless `imperial_gal` is said. `degC` and `degF` are
readings on a scale: subtract two of them and you get a difference in `kelvin`.
"#;

/// Significant digits of a plain number that is shown; quantities show four.
const NUMBER_DIGITS: usize = 6;

/// Characters of a text that a message repeats.
const LONGEST_TEXT: usize = 60;

/// Registers units, operators and the words of this area.
pub fn register(engine: &mut Engine, context: &Arc<Context>) {
    engine.register_type_with_name::<Quantity>("Quantity");
    for unit in UNITS {
        for name in unit.names {
            engine.register_get(*name, move |value: &mut INT| Quantity::checked(*value as f64, unit).map_err(raise));
            engine.register_get(*name, move |value: &mut f64| Quantity::checked(*value, unit).map_err(raise));
        }
    }
    operators::register(engine);
    for word in ["to_string", "to_debug"] {
        let shared = context.clone();
        engine.register_fn(word, move |value: Quantity| value.show(shared.units()));
        engine.register_fn(word, |value: f64| show_number_with(value, NUMBER_DIGITS));
    }
    let shared = context.clone();
    FuncRegistration::new("units")
        .with_params_info(["system: &str"])
        .with_comments(UNITS_DOC.lines())
        .register_into_engine(engine, move |system: &str| choose_units(&shared, system));
    engine.register_global_module(exported_module!(words).into());
}

/// A number or quantity as a quantity; nothing for other values.
pub fn as_quantity(value: &Dynamic) -> Option<Quantity> {
    if let Ok(whole) = value.as_int() {
        return Some(Quantity::number(whole as f64));
    }
    if let Ok(number) = value.as_float() {
        return Some(Quantity::number(number));
    }
    value.read_lock::<Quantity>().map(|quantity| *quantity)
}

/// A quantity as a script value: a plain number when it has no dimension.
///
/// Errors: a result that is not finite.
pub fn value_of(quantity: Quantity) -> Answer<Dynamic> {
    if !quantity.si.is_finite() {
        return Err(too_large().into());
    }
    if quantity.dimension.is_number() {
        return Ok(Dynamic::from_float(quantity.si));
    }
    Ok(Dynamic::from(quantity))
}

/// The error of a result that is not finite.
pub(super) fn too_large() -> ScriptError {
    ScriptError::new("the result is too large or not a number").with_hint("check the numbers and their units")
}

/// The SI value of an argument that must have a dimension; `what` names word and argument, as in `hose: length`.
///
/// Errors name what was found: a value of another dimension, a plain number without its unit, or something else.
pub fn expect_quantity(value: &Dynamic, dimension: Dimension, what: &str) -> Answer<f64> {
    let Some(quantity) = as_quantity(value) else {
        let error = ScriptError::new(format!("{what} must be {dimension}, found {}", describe(value))).about(argument(what));
        return Err(error.with_hint(example_of(dimension)).into());
    };
    if quantity.dimension == dimension && quantity.si.is_finite() {
        return Ok(quantity.si);
    }
    let error = ScriptError::new(format!("{what} must be {dimension}, found {}", quantity.described())).about(argument(what));
    let inverse = dimension.power(-1) == quantity.dimension && !dimension.is_number();
    let hint = if inverse {
        let unit = if dimension == dim::LENGTH { "inch" } else { usual_name(dimension) };
        format!("write (5/8).{unit}: in 5/8.{unit} the unit binds to the 8 alone")
    } else if quantity.dimension.is_number() {
        let shown = show_number(quantity.si);
        let number = if quantity.si.fract() == 0.0 { shown } else { format!("({shown})") };
        format!("give it a unit, as in {number}.{}", name_for(dimension, what))
    } else {
        String::new()
    };
    Err(error.with_hint(hint).into())
}

/// An argument that must be a plain finite number.
pub fn expect_number(value: &Dynamic, what: &str) -> Answer<f64> {
    match as_quantity(value) {
        Some(quantity) if quantity.dimension.is_number() && quantity.si.is_finite() => Ok(quantity.si),
        _ => {
            let error = ScriptError::new(format!("{what} must be a plain number, found {}", describe(value)));
            Err(error.about(argument(what)).into())
        }
    }
}

/// The name of the argument in `hose: length`.
pub fn argument(what: &str) -> &str {
    what.split_once(": ").map_or(what, |(_, argument)| argument)
}

/// A value in words, for messages.
pub fn describe(value: &Dynamic) -> String {
    if let Some(quantity) = as_quantity(value) {
        return quantity.described();
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        let short: String = text.chars().take(LONGEST_TEXT).collect();
        let more = if short.len() < text.len() { "..." } else { "" };
        return format!("the text \"{short}{more}\"");
    }
    super::names::rust_type_in_words(value.type_name())
}

/// The unit that is likely meant: times of watering are minutes, those between waterings days.
fn name_for(dimension: Dimension, what: &str) -> &'static str {
    let word = what.split(':').next().unwrap_or_default();
    match word {
        "zone" | "pause" | "draw_at" | "lasts" if dimension == dim::TIME => "min",
        "every" | "operate" | "sweep_operation" | "try_faults" if dimension == dim::TIME => "days",
        _ => usual_name(dimension),
    }
}

fn example_of(dimension: Dimension) -> String {
    if dimension.is_number() { String::new() } else { format!("give a number with a unit, as in 30.{}", usual_name(dimension)) }
}

/// The script name of the unit in which people usually write this dimension.
fn usual_name(dimension: Dimension) -> &'static str {
    UNITS.iter().find(|unit| unit.dimension == dimension).map_or("unit", |unit| unit.names[0])
}

const UNITS_DOC: &str = r#"/// Chooses the units in which results show: "us", "metric" or "as written", which is the usual.
/// Values converted with `to` keep the unit that was asked for.
///
/// ```hw
/// units("metric");
/// 100.ft   // => 30.48 m
/// units("as written");
/// 100.ft   // => 100 ft
/// ```"#;

fn choose_units(context: &Context, system: &str) -> Answer<()> {
    let chosen = match system.trim().to_lowercase().as_str() {
        "us" => UnitSystem::Us,
        "metric" | "si" => UnitSystem::Metric,
        "as written" | "" => UnitSystem::AsWritten,
        _ => {
            let error = ScriptError::new(format!("units: there is no system \"{system}\""));
            return Err(error.with_hint("choose \"us\", \"metric\" or \"as written\"").into());
        }
    };
    context.set_units(chosen);
    Ok(())
}

#[export_module]
mod words {
    /// The same quantity, shown in the named unit from now on.
    ///
    /// ```hw
    /// 44.psi.to("bar")             // => 3.034 bar
    /// (100.gal / 1.h).to("L/min")  // => 6.309 L/min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn to(value: Dynamic, unit: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        Ok(Dynamic::from(quantity_or_hint(&value, "to", unit)?.to(unit).map_err(|error| raise_about(error, "unit"))?))
    }

    /// The plain number in the named unit.
    ///
    /// ```hw
    /// 3.ft.in_unit("in")   // => 36
    /// ```
    #[rhai_fn(return_raw)]
    pub fn in_unit(value: Dynamic, unit: &str) -> Result<f64, Box<EvalAltResult>> {
        quantity_or_hint(&value, "in_unit", unit)?.in_unit(unit).map_err(|error| raise_about(error, "unit"))
    }

    /// Reads a quantity from a text, as people write it: a decimal number, a fraction, or both, and a unit.
    ///
    /// ```hw
    /// q("5/8 in")     // => 0.625 in
    /// q("1 1/2 in")   // => 1.5 in
    /// q("7 L/min")    // => 7 L/min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn q(text: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        value_of(read_quantity(text).map_err(raise)?)
    }

    /// What kind of quantity a value is, in words.
    ///
    /// ```hw
    /// dimension(30.psi)   // => a pressure
    /// ```
    #[rhai_fn(return_raw)]
    pub fn dimension(value: Dynamic) -> Result<String, Box<EvalAltResult>> {
        let quantity = as_quantity(&value).ok_or_else(|| not_a_quantity("dimension", &value))?;
        Ok(quantity.dimension.to_string())
    }
}

fn quantity_or_hint(value: &Dynamic, word: &str, unit: &str) -> Answer<Quantity> {
    let quantity = as_quantity(value).ok_or_else(|| not_a_quantity(word, value))?;
    if !quantity.dimension.is_number() {
        return Ok(quantity);
    }
    let error = ScriptError::new(format!("{word}: {quantity} is a plain number and has no unit to convert from"));
    let name = find_unit(unit).map_or("psi", |unit| unit.names[0]);
    Err(error.with_hint(format!("give it a unit first, as in {quantity}.{name}")).into())
}

fn not_a_quantity(word: &str, value: &Dynamic) -> Box<EvalAltResult> {
    ScriptError::new(format!("{word} needs a number with a unit, found {}", describe(value))).about("value").into()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(value: impl Into<Dynamic>, dimension: Dimension) -> ScriptError {
        let error = expect_quantity(&value.into(), dimension, "hose: length").expect_err("it is refused");
        ScriptError::inside(&error).expect("an error of ours")
    }

    fn quantity(text: &str) -> Dynamic {
        Dynamic::from(read_quantity(text).expect("a quantity of the test"))
    }

    #[test]
    fn a_time_of_watering_is_taken_for_minutes() {
        assert_eq!(name_for(dim::TIME, "zone: time"), "min");
        assert_eq!((name_for(dim::TIME, "every: time"), name_for(dim::TIME, "knock: closing time")), ("days", "s"));
    }

    #[test]
    fn an_argument_of_another_dimension_is_named() {
        let error = refused(quantity("30 psi"), dim::LENGTH);
        assert_eq!(error.what, "hose: length must be a length, found 30 psi (a pressure)");
        assert_eq!(error.hint, None);
    }

    #[test]
    fn a_plain_number_is_told_to_take_a_unit() {
        assert_eq!(refused(100_i64, dim::LENGTH).hint.as_deref(), Some("give it a unit, as in 100.ft"));
        assert_eq!(refused(0.625, dim::LENGTH).hint.as_deref(), Some("give it a unit, as in (0.625).ft"));
    }

    #[test]
    fn a_fraction_without_brackets_is_explained() {
        let inverse = Dynamic::from(Quantity::new(5.0 / (8.0 * 0.0254), dim::LENGTH.power(-1)));
        let error = refused(inverse, dim::LENGTH);
        assert_eq!(error.hint.as_deref(), Some("write (5/8).inch: in 5/8.inch the unit binds to the 8 alone"));
    }

    #[test]
    fn a_text_is_told_what_is_wanted() {
        let error = refused("100 ft", dim::LENGTH);
        assert_eq!(error.what, "hose: length must be a length, found the text \"100 ft\"");
        assert_eq!(error.hint.as_deref(), Some("give a number with a unit, as in 30.ft"));
    }

    #[test]
    fn a_right_argument_comes_out_in_si() {
        let length = expect_quantity(&quantity("100 ft"), dim::LENGTH, "hose: length").expect("a length");
        assert!((length - 30.48).abs() < 1e-12);
        assert_eq!(expect_number(&Dynamic::from(3_i64), "k").ok(), Some(3.0));
    }
}
