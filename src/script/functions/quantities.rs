//! Numbers with units as scripts see them: units as properties, conversions, and the checks that all other functions use.
//!
//! The units and the laws of dimensions are in `crate::quantity`.

use super::operators;
use crate::quantity::{Quantity, Rate, UnitSystem, all_units, find_unit, read_quantity, show_number_with};
use crate::script::language::calling::context_of;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{as_quantity, describe, value_of};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult, INT};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
Write a unit after its number, with a dot. A fraction needs parentheses, since the unit binds first.

```hw
100.ft                  // => 100 ft
(5/8).inch              // => 5/8 in
30.psi + 1.bar          // => 44.5 psi
20.gal / 5.min          // => 4 gpm
10.ft / 2.ft            // => 5
1.ft == 12.inch         // => true
```

Dimensions are checked: adding a pressure to a length is an error that names both. A quotient of equal dimensions is a
plain number. Pressures are gauge pressures; the gallon is the US gallon (`imperial_gal` for the other). `degC` and `degF` are
readings on a scale: the difference of two of them is in `kelvin`.

Money is in the currencies of ISO 4217 by their codes: `40.USD`, `12.5.EUR`, `9.GBP`. Prices name what they are for: `USD_per_ft`,
`EUR_per_m3`, `GBP_per_h`, with any of ft, m, ft2, m2, gal, kgal (1000 gallons), ft3, ccf (100 cubic feet), L, m3, kWh, kW, h, day, lb and kg.
US dollars show as $34.00, all others with their code, 12.50 EUR. Two currencies never add, compare or divide: state a rate.

```hw
3 * 12.5.EUR                                  // => 37.50 EUR
40.USD + 100.ft * 0.7.USD_per_ft              // => $110.00
12.m3 * 4.2.EUR_per_m3                        // => 50.40 EUR
40.USD + 12.5.EUR                             // => error: cannot add $40.00 and 12.50 EUR: they are of two currencies
40.USD + 50.EUR.to("USD", rate(1.EUR, 1.08.USD))   // => $94.00
```
"#;

/// Significant digits of a plain number that is shown; quantities show those of their unit.
pub const NUMBER_DIGITS: usize = 6;

/// Registers units, operators and the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Quantity>("Quantity");
    for unit in all_units() {
        for name in unit.names {
            engine.register_get(*name, move |value: &mut INT| Quantity::checked(*value as f64, unit).map_err(raise));
            engine.register_get(*name, move |value: &mut f64| Quantity::checked(*value, unit).map_err(raise));
        }
    }
    engine.register_type_with_name::<Rate>("a rate of exchange");
    for word in ["to_string", "to_debug"] {
        engine.register_fn(word, |rate: Rate| rate.to_string());
    }
    operators::register(engine);
    for word in ["to_string", "to_debug"] {
        engine.register_fn(word, |call: NativeCallContext, value: Quantity| -> Answer<String> {
            Ok(value.show(context_of(&call)?.units()))
        });
        engine.register_fn(word, |value: f64| show_number_with(value, NUMBER_DIGITS));
    }
    FuncRegistration::new("units")
        .with_params_info(["system: &str"])
        .with_comments(UNITS_DOC.lines())
        .register_into_engine(engine, |call: NativeCallContext, system: &str| -> Answer<()> {
            choose_units(&*context_of(&call)?, system)
        });
    engine.register_global_module(exported_module!(functions).into());
}

const UNITS_DOC: &str = r#"/// Chooses the units of results: "us", "metric" or "as written" (the default).
/// Values converted with `to` keep their unit.
///
/// ```hw
/// units("metric");
/// 100.ft   // => 30.5 m
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
mod functions {
    /// Converts a quantity to another unit; money to another currency by a rate that you state.
    ///
    /// ```hw
    /// 44.psi.to("bar")             // => 3.03 bar
    /// (100.gal / 1.h).to("L/min")  // => 6.3 L/min
    /// 50.EUR.to("USD", rate(1.EUR, 1.08.USD))   // => $54.00
    /// 50.EUR.to("USD")             // => error: cannot convert 50.00 EUR to $ without a rate
    /// ```
    #[rhai_fn(return_raw)]
    pub fn to(value: Dynamic, unit: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        Ok(Dynamic::from(quantity_or_hint(&value, "to", unit)?.to(unit).map_err(|error| raise_about(error, "unit"))?))
    }

    #[rhai_fn(name = "to", return_raw)]
    pub fn to_by_rate(value: Dynamic, unit: &str, rate: Rate) -> Result<Dynamic, Box<EvalAltResult>> {
        Ok(Dynamic::from(rate.convert(quantity_or_hint(&value, "to", unit)?, unit).map_err(raise)?))
    }

    /// A rate of exchange between two currencies: the first amount is worth the second one. It converts both ways.
    ///
    /// ```hw
    /// rate(1.EUR, 1.08.USD)                              // => a rate of $1.08 for 1.00 EUR
    /// 2.EUR_per_m3.to("USD_per_m3", rate(1.EUR, 1.08.USD))   // => 2.16 $/m3
    /// rate(1.EUR, 2.EUR)                                 // => error: a rate needs two currencies, found 1.00 EUR and 2.00 EUR
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rate(from: Quantity, to: Quantity) -> Result<Rate, Box<EvalAltResult>> {
        Rate::new(from, to).map_err(raise)
    }

    /// The plain number of a quantity in the named unit.
    ///
    /// ```hw
    /// 3.ft.in_unit("in")   // => 36
    /// ```
    #[rhai_fn(return_raw)]
    pub fn in_unit(value: Dynamic, unit: &str) -> Result<f64, Box<EvalAltResult>> {
        quantity_or_hint(&value, "in_unit", unit)?.in_unit(unit).map_err(|error| raise_about(error, "unit"))
    }

    /// Reads a quantity from a string such as "5/8 in": a decimal number, a fraction, or both, and a unit.
    ///
    /// ```hw
    /// q("5/8 in")     // => 5/8 in
    /// q("1 1/2 in")   // => 1 1/2 in
    /// q("7 L/min")    // => 7 L/min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn q(text: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        value_of(read_quantity(text).map_err(raise)?)
    }

    /// The dimension of a value, such as pressure or flow.
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
