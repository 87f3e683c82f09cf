//! How many digits the numbers of a column are shown with, so that they line up and promise no more than they know.
//!
//! Works on numbers in their shown unit; knows nothing of tables. The digits of a unit are those of [`Precision`].

use crate::quantity::{GIVEN_DIGITS, Precision, Unit, ends_within, show_fraction, show_number_with};

/// Numbers below this part of the largest one of their column are rounding noise and are shown as 0.
const NOISE: f64 = 1e-12;

/// Numbers below this part of the last decimal of their column say nothing and are shown as 0.
const NOTHING: f64 = 1e-3;

/// Significant digits of a number that is too small for the decimals of its column.
const DIGITS_OF_SMALL: usize = 2;

/// How the numbers of one column are written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Digits {
    /// All with this number of decimals.
    Decimals(usize),
    /// All with this number of decimals but those that would be shown as 0.
    Trade { decimals: usize, noise: f64 },
    /// Each with this number of significant digits of its own, where the column spans too wide a range for common decimals.
    Own { digits: usize, noise: f64 },
    /// As the fractions of an inch in which sizes are sold.
    Fractions,
}

impl Digits {
    /// Chosen from all numbers of a column in their unit: none for whole numbers, all of inputs with few digits, two for money, else
    /// those of the trade. `given` is false for numbers that were converted to the unit.
    pub(super) fn of(values: &[f64], unit: Option<&Unit>, given: bool) -> Digits {
        let sizes = || values.iter().map(|value| value.abs()).filter(|size| size.is_finite());
        let largest = sizes().fold(0.0, f64::max);
        let noise = largest * NOISE;
        let smallest = sizes().filter(|size| *size > noise).fold(f64::INFINITY, f64::min);
        if largest == 0.0 {
            return Digits::Decimals(0);
        }
        let precision = Precision::of(unit);
        let own = Digits::Own { digits: precision.significant(), noise };
        let common = if precision.has_decimals() { largest } else { smallest };
        if largest >= 1e9 || common < 1e-4 {
            return own;
        }
        let ends = |decimals: &usize| values.iter().all(|value| value.abs() <= noise || ends_within(*value, *decimals));
        let exact = (0..=decimals_of_given(largest)).find(ends);
        if exact == Some(0) {
            return Digits::Decimals(0);
        }
        if unit.is_some_and(|unit| unit.dimension.is_amount()) && smallest >= 0.01 {
            return Digits::Decimals(2);
        }
        if let Some(decimals) = exact.filter(|_| given) {
            return Digits::Decimals(decimals);
        }
        let decimals = precision.decimals_for(largest);
        if precision.has_decimals() {
            return Digits::Trade { decimals, noise: noise.max(NOTHING * 10f64.powi(-(decimals as i32))) };
        }
        // The smallest number must keep two digits.
        if smallest < 10f64.powi(1 - decimals as i32) { own } else { Digits::Decimals(decimals) }
    }

    /// [`Digits::Fractions`] where all inches of a column are sold so and one of them is a fraction.
    pub(super) fn of_sizes(inches: &[f64]) -> Option<Digits> {
        let whole = |inches: &f64| inches.fract() == 0.0;
        let sold = inches.iter().all(|inches| whole(inches) || show_fraction(*inches).is_some());
        (sold && !inches.iter().all(whole)).then_some(Digits::Fractions)
    }

    /// The number as text.
    pub(super) fn show(self, value: f64) -> String {
        if !value.is_finite() {
            return "too large".into(); // No decimal holds it in the unit of the column.
        }
        match self {
            Digits::Decimals(decimals) => with_decimals(value, decimals),
            Digits::Trade { decimals, noise } => {
                let text = with_decimals(value, decimals);
                if is_zero(&text) && value.abs() > noise { show_number_with(value, DIGITS_OF_SMALL) } else { text }
            }
            Digits::Own { noise, .. } if value.abs() <= noise => "0".into(),
            Digits::Own { digits, .. } => show_number_with(value, digits),
            Digits::Fractions => show_fraction(value).unwrap_or_else(|| with_decimals(value, 0)),
        }
    }
}

fn with_decimals(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if is_zero(&text) { text.trim_start_matches('-').to_string() } else { text }
}

fn is_zero(text: &str) -> bool {
    text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'))
}

/// The decimals of a number of that size that somebody gave with all its digits.
fn decimals_of_given(value: f64) -> usize {
    let text = format!("{value:.*e}", GIVEN_DIGITS - 1);
    let leading: i32 = text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0);
    (GIVEN_DIGITS as i32 - 1 - leading).max(0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::find_unit;

    fn shown(values: &[f64]) -> Vec<String> {
        let digits = Digits::of(values, None, true);
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
        let of = |values: &[f64]| Digits::of(values, find_unit("USD"), true);
        assert_eq!(of(&[12.5, 3.0]), Digits::Decimals(2));
        assert_eq!(of(&[12.0, 3.0]), Digits::Decimals(0));
        assert_eq!(of(&[0.004_5]), Digits::Decimals(4));
    }

    #[test]
    fn computed_values_have_the_decimals_of_their_unit_and_small_ones_do_not_vanish() {
        let shown = |values: &[f64], unit: &str| {
            let digits = Digits::of(values, find_unit(unit), true);
            values.iter().map(|value| digits.show(*value)).collect::<Vec<_>>()
        };
        assert_eq!(shown(&[51.784_213, 9.961_1, 0.0342, -1e-6], "psi"), ["51.8", "10.0", "0.034", "0.0"]);
        assert_eq!(shown(&[6.214_123_4, 0.004_166_6], "gpm"), ["6.21", "0.0042"]);
        assert_eq!(shown(&[12.371_234, 6.214_1], "gpm"), ["12.4", "6.2"]);
        assert_eq!(shown(&[51.75, 40.0], "psi"), ["51.75", "40.00"]);
    }

    #[test]
    fn sizes_are_fractions_where_all_of_them_are_sold_so() {
        let shown =
            |sizes: &[f64]| Digits::of_sizes(sizes).map(|digits| sizes.iter().map(|size| digits.show(*size)).collect::<Vec<_>>());
        assert_eq!(shown(&[0.5, 0.625, 1.0, 1.25]), Some(vec!["1/2".into(), "5/8".into(), "1".into(), "1 1/4".into()]));
        assert_eq!(shown(&[0.5, 0.61]), None);
        assert_eq!(shown(&[1.0, 2.0]), None);
    }
}
