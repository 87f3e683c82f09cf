//! Amounts and prices of any currency, and the water of a house, from values of a script.

use crate::money::House;
use crate::quantity::{Dimension, Quantity, dim};
use crate::script::language::error::{Answer, ScriptError};
use crate::script::language::values::{argument, as_quantity, describe, expect_quantity};
use rhai::{Array, Dynamic};

/// A value of a dimension with money in it, in any currency. Errors: another dimension, no currency.
pub fn money_of(value: &Dynamic, dimension: Dimension, what: &str, expected: &str, example: &str) -> Answer<Quantity> {
    let fits = |found: &Quantity| found.dimension.without_currency() == dimension && !found.dimension.currency.is_none();
    as_quantity(value).filter(fits).ok_or_else(|| {
        let error = ScriptError::new(format!("{what} must be {expected}, found {}", describe(value)));
        error.about(argument(what)).with_hint(format!("give it as in {example}")).into()
    })
}

/// An amount of money.
pub fn amount_of(value: &Dynamic, what: &str) -> Answer<Quantity> {
    money_of(value, dim::MONEY, what, "an amount of money", "90.USD")
}

/// A price of water.
pub fn water_price(value: &Dynamic, what: &str) -> Answer<Quantity> {
    money_of(value, dim::MONEY_PER_VOLUME, what, "a price of water", "{4.20.USD_per_kgal|1.10.EUR_per_m3}")
}

/// A price of electricity.
pub fn power_price(value: &Dynamic, what: &str) -> Answer<Quantity> {
    money_of(value, dim::MONEY_PER_ENERGY, what, "a price of energy", "0.19.USD_per_kWh")
}

/// A volume of zero or above.
pub fn volume(value: &Dynamic, what: &str) -> Answer<f64> {
    let volume_m3 = expect_quantity(value, dim::VOLUME, what)?;
    if volume_m3 >= 0.0 {
        return Ok(volume_m3);
    }
    Err(ScriptError::new(format!("{what} is {}; expected zero or above", describe(value))).about(argument(what)).into())
}

/// The water of a house: the same each month, or a list of twelve.
pub fn house_of(value: &Dynamic, word: &str) -> Answer<House> {
    let what = format!("{word}: house");
    let Some(list) = value.read_lock::<Array>().map(|list| list.clone()) else {
        return Ok(House::steady(volume(value, &what)?));
    };
    let months: Vec<f64> = list.iter().map(|month| volume(month, &what)).collect::<Answer<_>>()?;
    let months: [f64; 12] = months.try_into().map_err(|months: Vec<f64>| {
        let error = ScriptError::new(format!("{what} has {} months; expected 12, from January to December", months.len()));
        error.about("house")
    })?;
    Ok(House(months))
}
