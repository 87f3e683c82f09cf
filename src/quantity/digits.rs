//! How many digits people of the trade give to a number in a unit: pressure to a tenth of a psi, flow to a hundredth of a gallon a minute.
//!
//! The one home of these digits. Source: common practice, what a gauge, a bucket test or a tape can distinguish.

use super::unit::Unit;

/// Significant digits of a number without a rule of its own: plain numbers, prices, unusual dimensions.
const USUAL_DIGITS: usize = 4;
/// No number is rounded to fewer significant digits, so that a small one still says something.
const LEAST_DIGITS: i32 = 2;
/// Significant digits up to which a number that ends within them was given by somebody, and is shown in full.
pub const GIVEN_DIGITS: usize = 6;
/// How near a number is to one that ends, relative to its size: a conversion of units may round this much.
const ENDS_WITHIN: f64 = 1e-10;

/// Units, the decimals that count in them, and the significant digits beyond which decimals are dropped.
const TRADE: &[(&[&str], usize, usize)] = &[
    (&["psi", "ft", "yd", "ft water", "gal", "qt", "min", "degF", "degC", "mph", "lb"], 1, 4),
    (&["degF difference", "degC difference", "K", "km/h", "L", "ft3", "ft2", "m2", "kg", "per h", "day", "week"], 1, 3),
    (
        &[
            "gpm",
            "imperial gpm",
            "imperial gal",
            "gph",
            "gal/day",
            "L/s",
            "m3/h",
            "bar",
            "atm",
            "m",
            "m water",
            "ft/s",
            "m/s",
            "mm",
            "cm",
        ],
        2,
        3,
    ),
    (&["in/h", "in/day", "h", "kW", "hp", "kWh", "m3", "ccf", "kgal", "acre", "hectare", "mile", "km"], 2, 3),
    (&["L/min", "L/h", "L/day", "mm/h", "mm/day", "s"], 1, 3),
    (&["in", "MPa"], 3, 3),
    (&["kPa", "mbar", "Pa", "W", "Wh", "mL"], 0, 3),
];

/// The digits with which numbers in a unit are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Precision {
    /// Decimals that count; none for a rule by significant digits alone.
    decimals: Option<usize>,
    /// Significant digits beyond which decimals are dropped.
    digits: usize,
}

impl Precision {
    /// The digits of a unit; those of plain numbers without one.
    pub fn of(unit: Option<&Unit>) -> Precision {
        let rule = unit.and_then(|unit| TRADE.iter().find(|(symbols, ..)| symbols.contains(&unit.symbol)));
        match rule {
            Some((_, decimals, digits)) => Precision { decimals: Some(*decimals), digits: *digits },
            None => Precision { decimals: None, digits: USUAL_DIGITS },
        }
    }

    /// Whether decimals count in the unit; if none do, a number has this number of significant digits of its own.
    pub fn has_decimals(self) -> bool {
        self.decimals.is_some()
    }

    /// The decimals of a number of that size in the unit, or of a column of which it is the largest.
    pub fn decimals_for(self, value: f64) -> usize {
        let digits = self.digits as i32 - 1 - leading(value, self.digits);
        let least = LEAST_DIGITS - 1 - leading(value, LEAST_DIGITS as usize);
        let trade = self.decimals.map_or(digits, |decimals| digits.min(decimals as i32));
        trade.max(least).max(0) as usize
    }

    /// Significant digits of numbers that are too large or too small to be shown with decimals.
    pub fn significant(self) -> usize {
        self.digits
    }
}

/// The power of ten of the first digit, after rounding to a number of digits: 2 for 123.4, 1 for 9.99999.
fn leading(value: f64, digits: usize) -> i32 {
    let text = format!("{value:.*e}", digits.saturating_sub(1));
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// True when this many decimals give the number but for the rounding of a unit conversion.
pub fn ends_within(value: f64, decimals: usize) -> bool {
    let scaled = value * 10f64.powi(decimals as i32);
    (scaled - scaled.round()).abs() <= ENDS_WITHIN * scaled.abs()
}

/// The decimals of a number that ends within [`GIVEN_DIGITS`] digits, as one does that somebody gave; none for a number that goes on.
pub fn given_decimals(value: f64) -> Option<usize> {
    let most = GIVEN_DIGITS as i32 - 1 - leading(value, GIVEN_DIGITS);
    (0..=most.clamp(0, 12) as usize).find(|decimals| ends_within(value, *decimals))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{all_units, find_unit};

    #[test]
    fn every_unit_of_the_rules_exists_and_has_one_rule() {
        let mut seen = std::collections::HashSet::new();
        for symbol in TRADE.iter().flat_map(|(symbols, ..)| *symbols) {
            assert!(all_units().any(|unit| unit.symbol == *symbol), "{symbol}");
            assert!(seen.insert(symbol), "{symbol} twice");
        }
    }

    #[test]
    fn decimals_are_those_of_the_trade_and_small_numbers_keep_two_digits() {
        let decimals = |symbol: &str, value: f64| Precision::of(find_unit(symbol)).decimals_for(value);
        assert_eq!([51.78, 123.4, 1234.5, 0.342, 0.0342].map(|psi| decimals("psi", psi)), [1, 1, 0, 2, 3]);
        assert_eq!([2.831, 12.37, 9.999, 123.4, 0.0083].map(|gpm| decimals("gpm", gpm)), [2, 1, 1, 0, 4]);
        assert_eq!([437.2, 3.2].map(|watts| decimals("W", watts)), [0, 1]);
        let plain = Precision::of(None);
        assert_eq!([82.7123, 0.012_345, 12_345.6].map(|number| plain.decimals_for(number)), [2, 5, 0]);
    }

    #[test]
    fn a_given_number_ends_and_a_computed_one_goes_on() {
        assert_eq!([51.75, 0.15625, 100.0, 0.0].map(given_decimals), [Some(2), Some(5), Some(0), Some(0)]);
        assert_eq!([51.784_213_9, 1.0 / 3.0, 12.345_678_9].map(given_decimals), [None; 3]);
    }
}
