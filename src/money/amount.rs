//! Amounts of money in one currency.

use super::error::MoneyError;
use crate::quantity::{Currency, Dimension, Quantity, dim};

/// An amount of money.
pub fn amount(value: f64, currency: Currency) -> Quantity {
    Quantity::new(value, Dimension { currency, ..dim::MONEY })
}

/// Errors: below zero, or not a number.
pub(super) fn not_negative(what: &'static str, found: Quantity) -> Result<(), MoneyError> {
    if found.si >= 0.0 { Ok(()) } else { Err(MoneyError::Negative { what, found }) }
}

/// Errors: two currencies.
pub(super) fn one_currency(first: Quantity, other: Quantity) -> Result<(), MoneyError> {
    let alike = first.dimension.currency == other.dimension.currency;
    if alike { Ok(()) } else { Err(MoneyError::TwoCurrencies { first, other }) }
}

/// A rise of prices from year to year. Errors: beyond -50 to 100 percent.
pub(super) fn rise_within(share: f64) -> Result<f64, MoneyError> {
    if (-0.5..=1.0).contains(&share) {
        return Ok(share);
    }
    Err(MoneyError::OutOfRange { what: "the rise of prices a year", found: 100.0 * share, expected: "-50 to 100 percent" })
}
