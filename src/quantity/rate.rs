//! Stated rates of exchange: two currencies meet only by one that the user states.

use super::dimension::{Dimension, dim};
use super::find::find_unit;
use super::value::{Quantity, QuantityError};
use crate::told::Told;
use std::fmt;
use thiserror::Error;

/// A stated rate of exchange: an amount of one currency and its worth in another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    from: Quantity,
    to: Quantity,
}

/// Why a rate cannot be stated, or does not fit.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum RateError {
    /// One of the two is no amount of money, or not above zero.
    #[error("a rate needs two amounts of money above zero, found {}", found.described())]
    NoAmount {
        /// What was given.
        found: Quantity,
    },
    /// Both are of one currency.
    #[error("a rate needs two currencies, found {from} and {to}")]
    OneCurrency {
        /// The first amount.
        from: Quantity,
        /// The second amount.
        to: Quantity,
    },
    /// The value is of neither of the currencies of the rate, or the unit is not.
    #[error("the rate of {from} to {to} does not convert {value} to {unit}")]
    OtherCurrency {
        /// The first amount of the rate.
        from: Quantity,
        /// The second amount of the rate.
        to: Quantity,
        /// The value to be converted.
        value: Quantity,
        /// The unit asked for.
        unit: String,
    },
    /// The result cannot be shown in the unit.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}

impl Told for RateError {
    fn hint(&self) -> Option<String> {
        match self {
            RateError::Quantity(error) => error.hint(),
            _ => Some("state it as in rate(1.EUR, 1.08.USD)".into()),
        }
    }
}

impl Rate {
    /// The first amount is worth the second.
    ///
    /// Errors: what is no amount of money above zero; two amounts of one currency.
    pub fn new(from: Quantity, to: Quantity) -> Result<Rate, RateError> {
        for found in [from, to] {
            if found.dimension.without_currency() != dim::MONEY || found.si.is_nan() || found.si <= 0.0 {
                return Err(RateError::NoAmount { found });
            }
        }
        if from.dimension == to.dimension {
            return Err(RateError::OneCurrency { from, to });
        }
        Ok(Rate { from, to })
    }

    /// A value of one of its currencies in a unit of the other, such as `USD` or `USD_per_m3`.
    ///
    /// Errors: another currency than its two; a unit that does not fit.
    pub fn convert(&self, value: Quantity, unit: &str) -> Result<Quantity, RateError> {
        let (own, from, to) = (value.dimension.currency, self.from.dimension.currency, self.to.dimension.currency);
        let (factor, currency) = if own == from { (self.to.si / self.from.si, to) } else { (self.from.si / self.to.si, from) };
        let asked = find_unit(unit.trim()).map(|unit| unit.dimension.currency);
        if own != from && own != to || asked.is_some_and(|asked| asked != currency) {
            return Err(RateError::OtherCurrency { from: self.from, to: self.to, value, unit: unit.trim().into() });
        }
        let si = value.si * factor.powi(i32::from(value.dimension.money));
        Ok(Quantity::new(si, Dimension { currency, ..value.dimension }).to(unit)?)
    }
}

impl fmt::Display for Rate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a rate of {} for {}", self.to, self.from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::currency::{CODES, THOUSANDTHS, WHOLE};
    use crate::quantity::money::{PER, money_units};
    use crate::quantity::{UnitSystem, read_quantity};
    use std::collections::HashSet;

    fn q(text: &str) -> Quantity {
        read_quantity(text).unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn every_code_is_a_unit_and_is_found_again_by_name_and_symbol() {
        assert!(CODES.is_sorted() && CODES.iter().collect::<HashSet<_>>().len() == CODES.len());
        assert!(CODES.iter().all(|code| code.len() == 3 && code.chars().all(|letter| letter.is_ascii_uppercase())));
        assert!(WHOLE.iter().chain(&THOUSANDTHS).all(|code| CODES.contains(code)));
        for unit in money_units() {
            for text in [unit.symbol, unit.names[0]] {
                assert!(find_unit(text).is_some_and(|found| std::ptr::eq(found, unit)), "{text}");
            }
            for other in [unit.us, unit.metric] {
                assert_eq!(find_unit(other).map(|other| other.dimension), Some(unit.dimension), "{other}");
            }
        }
        assert_eq!(money_units().len(), CODES.len() * (PER.len() + 1));
    }

    #[test]
    fn amounts_show_as_they_are_written_in_their_currency() {
        for (text, shown) in [
            ("$34", "$34.00"),
            ("-$3.5", "-$3.50"),
            ("34 USD", "$34.00"),
            ("12.5 EUR", "12.50 EUR"),
            ("1200 JPY", "1200 JPY"),
            ("2.5 KWD", "2.500 KWD"),
            ("0.7 USD/ft", "0.7 $/ft"),
            ("4.2 EUR/m3", "4.2 EUR/m3"),
            ("8.1 USD/kgal", "8.1 $/kgal"),
        ] {
            assert_eq!(q(text).to_string(), shown, "{text}");
        }
        let cost = q("4.2 EUR/m3").times(q("2 m3")).expect("a cost");
        assert_eq!(cost.show(UnitSystem::Metric), "8.40 EUR");
        assert_eq!(q("1 ft").times(q("0.7 EUR/m")).expect("a cost").to_string(), "0.21 EUR");
    }

    #[test]
    fn two_currencies_meet_in_no_calculation() {
        let (dollars, euros) = (q("$2"), q("3 EUR"));
        let told = |result: Result<Quantity, QuantityError>| result.expect_err("two currencies").to_string();
        assert_eq!(told(euros.plus(dollars)), "cannot add 3.00 EUR and $2.00: they are of two currencies");
        for result in [euros.minus(dollars), euros.times(dollars), euros.over(dollars)] {
            assert!(told(result).ends_with("they are of two currencies"));
        }
        assert_eq!(told(euros.to("USD")), "cannot convert 3.00 EUR to $ without a rate");
        assert!(matches!(euros.order(dollars), Err(QuantityError::TwoCurrencies { .. })));
        assert_eq!(euros.over(q("1.5 EUR")).expect("a number").to_string(), "2");
        assert!(matches!(euros.plus(q("1 ft")), Err(QuantityError::Mixed { .. })));
    }

    #[test]
    fn a_stated_rate_converts_both_ways() {
        let rate = Rate::new(q("1 EUR"), q("$1.08")).expect("a rate");
        assert_eq!(rate.convert(q("50 EUR"), "USD").expect("dollars").to_string(), "$54.00");
        assert_eq!(rate.convert(q("$54"), "EUR").expect("euros").to_string(), "50.00 EUR");
        assert_eq!(rate.convert(q("2 EUR/m3"), "USD_per_m3").expect("a price").to_string(), "2.16 $/m3");
        let error = rate.convert(q("5 GBP"), "USD").expect_err("pounds");
        assert_eq!(error.to_string(), "the rate of 1.00 EUR to $1.08 does not convert 5.00 GBP to USD");
        assert!(rate.convert(q("5 EUR"), "GBP").is_err() && rate.convert(q("5 EUR"), "EUR").is_err());
        assert!(Rate::new(q("1 EUR"), q("1 ft")).is_err() && Rate::new(q("1 EUR"), q("2 EUR")).is_err());
        assert!(Rate::new(q("0 EUR"), q("$1")).is_err());
    }
}
