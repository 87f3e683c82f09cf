//! Currencies by the codes of ISO 4217, the units of money and of prices in them, and stated rates of exchange.
//!
//! Nothing here knows a rate: two currencies meet only by one that the user states.

use super::dimension::{Dimension, dim};
use super::unit::{Unit, find_unit};
use super::value::{Quantity, QuantityError};
use crate::told::Told;
use std::fmt;
use std::sync::LazyLock;
use thiserror::Error;

/// The alphabetic codes of the currencies in use, in their order. ISO 4217, list one; from memory.
const CODES: [&str; 155] = [
    "AED", "AFN", "ALL", "AMD", "AOA", "ARS", "AUD", "AWG", "AZN", "BAM", "BBD", "BDT", "BGN", "BHD", "BIF", "BMD", "BND", "BOB",
    "BRL", "BSD", "BTN", "BWP", "BYN", "BZD", "CAD", "CDF", "CHF", "CLP", "CNY", "COP", "CRC", "CUP", "CVE", "CZK", "DJF", "DKK",
    "DOP", "DZD", "EGP", "ERN", "ETB", "EUR", "FJD", "FKP", "GBP", "GEL", "GHS", "GIP", "GMD", "GNF", "GTQ", "GYD", "HKD", "HNL",
    "HTG", "HUF", "IDR", "ILS", "INR", "IQD", "IRR", "ISK", "JMD", "JOD", "JPY", "KES", "KGS", "KHR", "KMF", "KPW", "KRW", "KWD",
    "KYD", "KZT", "LAK", "LBP", "LKR", "LRD", "LSL", "LYD", "MAD", "MDL", "MGA", "MKD", "MMK", "MNT", "MOP", "MRU", "MUR", "MVR",
    "MWK", "MXN", "MYR", "MZN", "NAD", "NGN", "NIO", "NOK", "NPR", "NZD", "OMR", "PAB", "PEN", "PGK", "PHP", "PKR", "PLN", "PYG",
    "QAR", "RON", "RSD", "RUB", "RWF", "SAR", "SBD", "SCR", "SDG", "SEK", "SGD", "SHP", "SLE", "SOS", "SRD", "SSP", "STN", "SVC",
    "SYP", "SZL", "THB", "TJS", "TMT", "TND", "TOP", "TRY", "TTD", "TWD", "TZS", "UAH", "UGX", "USD", "UYU", "UZS", "VES", "VND",
    "VUV", "WST", "XAF", "XCD", "XCG", "XOF", "XPF", "YER", "ZAR", "ZMW", "ZWG",
];

/// Codes of currencies without a smaller unit, and those with thousandths; all others have hundredths. ISO 4217, list one; from memory.
const WHOLE: [&str; 16] =
    ["BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF"];
const THOUSANDTHS: [&str; 7] = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"];

/// What is shown before a number for US dollars.
pub const DOLLAR: &str = "$";

/// The currency of an amount of money or a price; none for what has no money in it, and where any currency will do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Currency(u8);

impl Currency {
    /// No currency.
    pub const NONE: Currency = Currency(0);

    /// The currency of a code of ISO 4217, in capitals; the sign of the dollar is USD.
    pub fn of_code(code: &str) -> Option<Currency> {
        let code = if code == DOLLAR { "USD" } else { code };
        let place = CODES.binary_search(&code).ok()?;
        u8::try_from(place + 1).ok().map(Currency)
    }

    /// All currencies in the order of their codes.
    pub fn all() -> impl Iterator<Item = Currency> {
        CODES.iter().filter_map(|code| Currency::of_code(code))
    }

    /// True for none.
    pub fn is_none(self) -> bool {
        self == Currency::NONE
    }

    /// Its code; empty for none.
    pub fn code(self) -> &'static str {
        usize::from(self.0).checked_sub(1).map_or("", |place| CODES[place])
    }

    /// What stands with a number: `$` for US dollars, the code for all others.
    pub fn symbol(self) -> &'static str {
        match self.code() {
            "USD" | "" => DOLLAR,
            code => code,
        }
    }

    /// Decimals of an amount.
    pub fn decimals(self) -> usize {
        match self.code() {
            code if WHOLE.contains(&code) => 0,
            code if THOUSANDTHS.contains(&code) => 3,
            _ => 2,
        }
    }
}

/// What a price is for: the name behind `_per_`, the symbol, its size, and the counterparts in the US and the metric system.
struct Per {
    name: &'static str,
    dimension: Dimension,
    si: f64,
    us: &'static str,
    metric: &'static str,
}

/// What prices are for, beside a whole piece; the first of a dimension is that of computed prices. A `kgal` is 1000 gallons, a `ccf`
/// 100 cubic feet: the units of water bills in the US (common practice).
static PER: LazyLock<Vec<Per>> = LazyLock::new(|| {
    let rows = [
        ("ft", "ft", 1.0, "ft", "m"),
        ("m", "m", 1.0, "ft", "m"),
        ("ft2", "ft2", 1.0, "ft2", "m2"),
        ("m2", "m2", 1.0, "ft2", "m2"),
        ("gal", "gal", 1.0, "gal", "m3"),
        ("kgal", "gal", 1e3, "kgal", "m3"),
        ("ccf", "ft3", 100.0, "ccf", "m3"),
        ("ft3", "ft3", 1.0, "ft3", "m3"),
        ("L", "L", 1.0, "gal", "L"),
        ("m3", "m3", 1.0, "gal", "m3"),
        ("kWh", "kWh", 1.0, "kWh", "kWh"),
        ("h", "h", 1.0, "h", "h"),
        ("day", "day", 1.0, "day", "day"),
        ("kW", "kW", 1.0, "kW", "kW"),
        ("lb", "lb", 1.0, "lb", "kg"),
        ("kg", "kg", 1.0, "lb", "kg"),
    ];
    let per = |(name, unit, times, us, metric): (_, &str, f64, _, _)| {
        let unit = find_unit(unit)?;
        Some(Per { name, dimension: unit.dimension, si: times * unit.factor, us, metric })
    };
    rows.into_iter().filter_map(per).collect()
});

/// The units of money: for each currency that of an amount, and behind it those of its prices.
pub fn money_units() -> &'static [Unit] {
    static UNITS: LazyLock<Vec<Unit>> = LazyLock::new(|| Currency::all().flat_map(units_of).collect());
    &UNITS
}

fn units_of(currency: Currency) -> Vec<Unit> {
    let (code, symbol) = (currency.code(), currency.symbol());
    let money = Dimension { currency, ..dim::MONEY };
    // They live as long as the program, and are made once.
    let kept = |text: String| -> &'static str { Box::leak(text.into_boxed_str()) };
    let names = |name: &'static str| -> &'static [&'static str] { Box::leak(Box::new([name])) };
    let amount = Unit { symbol, names: names(code), dimension: money, factor: 1.0, offset: 0.0, us: symbol, metric: symbol };
    let price = |per: &Per| Unit {
        symbol: kept(format!("{symbol}/{}", per.name)),
        names: names(kept(format!("{code}_per_{}", per.name))),
        dimension: money.over(per.dimension),
        factor: 1.0 / per.si,
        offset: 0.0,
        us: kept(format!("{symbol}/{}", per.us)),
        metric: kept(format!("{symbol}/{}", per.metric)),
    };
    std::iter::once(amount).chain(PER.iter().map(price)).collect()
}

/// The unit of money that is written so: `EUR`, `$`, `EUR/m3`, `USD/m3`, `EUR_per_m3`.
pub fn find_money_unit(text: &str) -> Option<&'static Unit> {
    let (code, per) = match text.split_once('/').or_else(|| text.split_once("_per_")) {
        Some((code, per)) => (code, Some(per)),
        None => (text, None),
    };
    let currency = Currency::of_code(code)?;
    let place = per.map_or(Some(0), |per| PER.iter().position(|known| known.name == per).map(|at| at + 1))?;
    money_units().get(usize::from(currency.0 - 1) * (PER.len() + 1) + place)
}

/// The unit in which a computed amount or price is shown; none for unusual dimensions.
pub fn money_unit_for(dimension: Dimension, metric: bool) -> Option<&'static Unit> {
    let currency = dimension.currency;
    let start = usize::from(currency.0.checked_sub(1)?) * (PER.len() + 1);
    let first = money_units().get(start..start + PER.len() + 1)?.iter().find(|unit| unit.dimension == dimension)?;
    find_money_unit(if metric { first.metric } else { first.us })
}

/// A stated rate of exchange: so much of one currency is worth so much of another.
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
    /// So much of one currency is worth so much of another.
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
