//! How many digits the numbers of a column are shown with, so that they line up and promise no more than they know.
//!
//! Works on numbers in their shown unit; knows nothing of tables.

use crate::quantity::show_number_with;

/// Significant digits of the largest number of a column of computed values.
const DIGITS: i32 = 4;

/// Digits up to which values that end within them, as inputs do, are shown in full.
const INPUT_DIGITS: i32 = 6;

/// Numbers below this part of the largest one of their column are rounding noise and are shown as 0.
const NOISE: f64 = 1e-12;

/// How the numbers of one column are written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Digits {
    /// All with this number of decimals.
    Decimals(usize),
    /// Each with four significant digits of its own, where the column spans too wide a range for common decimals.
    Own { noise: f64 },
}

impl Digits {
    /// Chosen from all numbers of a column: none for whole numbers, all of inputs with few digits, two for money, else
    /// enough for the largest number to have four significant digits.
    pub(super) fn of(values: &[f64], money: bool) -> Digits {
        let sizes = || values.iter().map(|value| value.abs()).filter(|size| size.is_finite());
        let largest = sizes().fold(0.0, f64::max);
        let noise = largest * NOISE;
        let smallest = sizes().filter(|size| *size > noise).fold(f64::INFINITY, f64::min);
        if largest == 0.0 {
            return Digits::Decimals(0);
        }
        if largest >= 1e9 || smallest < 1e-4 {
            return Digits::Own { noise };
        }
        let leading = exponent(largest);
        let for_inputs = (INPUT_DIGITS - 1 - leading).max(0) as usize;
        let exact = (0..=for_inputs).find(|decimals| values.iter().all(|value| ends_within(*value, *decimals, noise)));
        if exact == Some(0) {
            return Digits::Decimals(0);
        }
        if money && smallest >= 0.01 {
            return Digits::Decimals(2);
        }
        if let Some(decimals) = exact {
            return Digits::Decimals(decimals);
        }
        let decimals = (DIGITS - 1 - leading).max(0);
        // The smallest number must keep two digits.
        if smallest < 10f64.powi(1 - decimals) { Digits::Own { noise } } else { Digits::Decimals(decimals as usize) }
    }

    /// The number as text.
    pub(super) fn show(self, value: f64) -> String {
        if !value.is_finite() {
            return "too large".into(); // No decimal holds it in the unit of the column.
        }
        match self {
            Digits::Decimals(decimals) => {
                let text = format!("{value:.decimals$}");
                let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
                if is_zero { text.trim_start_matches('-').to_string() } else { text }
            }
            Digits::Own { noise } if value.abs() <= noise => "0".into(),
            Digits::Own { .. } => show_number_with(value, DIGITS as usize),
        }
    }
}

/// The power of ten of the first digit, after rounding to the shown digits: 2 for 123.4, 1 for 9.99999.
fn exponent(value: f64) -> i32 {
    let text = format!("{value:.*e}", DIGITS as usize - 1);
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// True when this many decimals give the number but for the rounding of a unit conversion.
fn ends_within(value: f64, decimals: usize, noise: f64) -> bool {
    let scaled = value * 10f64.powi(decimals as i32);
    value.abs() <= noise || (scaled - scaled.round()).abs() <= 1e-10 * scaled.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(values: &[f64]) -> Vec<String> {
        let digits = Digits::of(values, false);
        values.iter().map(|value| digits.show(*value)).collect()
    }

    #[test]
    fn whole_numbers_have_no_decimals_even_after_a_conversion() {
        assert_eq!(shown(&[50.0, 100.0 * 0.3048 / 0.3048, 300.0]), ["50", "100", "300"]);
        assert_eq!(shown(&[0.0, -0.0]), ["0", "0"]);
        assert_eq!(shown(&[123_456_789.0]), ["123456789"]);
    }

    #[test]
    fn inputs_are_shown_in_full_and_computed_values_with_four_digits() {
        assert_eq!(shown(&[0.5, 0.625, 5.0 / 32.0]), ["0.50000", "0.62500", "0.15625"]);
        assert_eq!(shown(&[1000.5, 1001.0]), ["1000.5", "1001.0"]);
        assert_eq!(shown(&[44.961_734, 9.876_543]), ["44.96", "9.88"]);
        assert_eq!(shown(&[9.999_96, 1.234_567]), ["10.00", "1.23"]);
        assert_eq!(shown(&[12_345.678_9]), ["12346"]);
    }

    #[test]
    fn a_wide_range_gives_each_number_its_own_digits() {
        assert_eq!(shown(&[300.123_4, 0.012_345_67]), ["300.1", "0.01235"]);
        assert_eq!(shown(&[2.5e12, 3.0]), ["2.5e12", "3"]);
        assert_eq!(shown(&[1.138e-6, 1.0]), ["1.138e-6", "1"]);
    }

    #[test]
    fn rounding_noise_is_zero() {
        assert_eq!(shown(&[44.961_734, 1e-15]), ["44.96", "0.00"]);
        assert_eq!(shown(&[1.138e-6, -1e-25]), ["1.138e-6", "0"]);
        assert_eq!(shown(&[-0.001, 44.961_734])[1], "44.96");
    }

    #[test]
    fn money_has_cents_or_none() {
        assert_eq!(Digits::of(&[12.5, 3.0], true), Digits::Decimals(2));
        assert_eq!(Digits::of(&[12.0, 3.0], true), Digits::Decimals(0));
        assert_eq!(Digits::of(&[0.004_5], true), Digits::Decimals(4));
    }
}
