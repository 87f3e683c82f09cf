//! Solution a quantity from text such as `5/8 in`, `1 1/2 in`, `2.5 bar` or `$12`.
//!
//! Knows the forms in which people write numbers; never panics on any text.

use super::find::{find_unit, nearest_units};
use super::value::Quantity;
use crate::told::Told;
use thiserror::Error;

/// Why a text is not a quantity.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum ReadError {
    /// The text does not begin with a number, or is empty.
    #[error("expected a number and a unit, found {found}")]
    NoNumber {
        /// The text in quotes, or words for an empty one.
        found: String,
    },
    /// A fraction such as `1/0 in` has a zero below its line.
    #[error("the fraction in '{text}' divides by zero")]
    ZeroDenominator {
        /// The text as it was given.
        text: String,
    },
    /// The number in SI units is infinite, or so small that it loses its digits.
    #[error("the number in '{text}' is too {size} to calculate with")]
    OutOfRange {
        /// The text as it was given.
        text: String,
        /// `large` or `small`.
        size: &'static str,
    },
    /// The number is followed by an unknown unit.
    #[error("unknown unit '{unit}' in '{text}'")]
    UnknownUnit {
        /// The word.
        unit: String,
        /// The whole text around it.
        text: String,
        /// Units that are spelt almost like it; empty where none is near.
        nearest: Vec<&'static str>,
    },
}

impl Told for ReadError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            ReadError::UnknownUnit { unit, .. } if unit.starts_with(',') => "write a decimal point, as in \"3.5 bar\"".into(),
            ReadError::UnknownUnit { unit, .. } if unit.starts_with(['"', '\'', '\u{2032}', '\u{2033}']) => {
                "write ft for feet and in for inches, as in \"5/8 in\"".into()
            }
            ReadError::UnknownUnit { nearest, .. } if !nearest.is_empty() => format!("did you mean {}?", nearest.join(" or ")),
            ReadError::OutOfRange { .. } => "check the number and its unit".into(),
            ReadError::UnknownUnit { .. } => "help(\"units\") lists all units".into(),
            _ => "write it like \"5/8 in\", \"1 1/2 in\" or \"2.5 bar\"".into(),
        })
    }
}

/// Reads a number with its unit; a number alone gives a plain number.
///
/// The number may be decimal, a fraction, or a whole number and a fraction: `0.625 in`, `5/8 in`, `1 1/2 in`.
/// Errors: [`ReadError`] says what was found instead.
pub fn read_quantity(text: &str) -> Result<Quantity, ReadError> {
    let trimmed = text.trim();
    let no_number =
        || ReadError::NoNumber { found: if trimmed.is_empty() { "an empty text".into() } else { format!("'{trimmed}'") } };
    let (negative, body) = match trimmed.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, trimmed),
    };
    let (money, body) = match body.strip_prefix('$') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, body),
    };
    let (first, rest) = leading_number(body).ok_or_else(no_number)?;
    let (mut value, mut rest) = (first, rest.trim_start());
    if let Some(after_slash) = rest.strip_prefix('/')
        && let Some((denominator, after)) = leading_number(after_slash.trim_start())
    {
        value = divide(first, denominator, trimmed)?;
        rest = after.trim_start();
    } else if let Some((numerator, after)) = leading_number(rest)
        && let Some(after_slash) = after.trim_start().strip_prefix('/')
        && let Some((denominator, after)) = leading_number(after_slash.trim_start())
    {
        value = first + divide(numerator, denominator, trimmed)?;
        rest = after.trim_start();
    }
    if negative {
        value = -value;
    }
    let unit_text = match (money, rest) {
        (true, "") => "$".to_string(),
        (true, rest) => format!("${rest}"),
        (false, rest) => rest.to_string(),
    };
    let quantity = match find_unit(&unit_text) {
        _ if unit_text.is_empty() => Quantity::number(value),
        Some(unit) => Quantity::written(value, unit),
        None => {
            let nearest = nearest_units(&unit_text);
            return Err(ReadError::UnknownUnit { unit: unit_text, text: trimmed.to_string(), nearest });
        }
    };
    match quantity.misfit(value) {
        None => Ok(quantity),
        Some(size) => Err(ReadError::OutOfRange { text: trimmed.to_string(), size }),
    }
}

fn divide(numerator: f64, denominator: f64, text: &str) -> Result<f64, ReadError> {
    if denominator == 0.0 {
        return Err(ReadError::ZeroDenominator { text: text.to_string() });
    }
    Ok(numerator / denominator)
}

/// The number at the start of a text and what follows it; no sign, an exponent only with digits after it.
fn leading_number(text: &str) -> Option<(f64, &str)> {
    let bytes = text.as_bytes();
    let digits_from = |start: usize| bytes[start..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = digits_from(0);
    let mut digits = end;
    if bytes.get(end) == Some(&b'.') {
        let decimals = digits_from(end + 1);
        digits += decimals;
        end += 1 + decimals;
    }
    if digits == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        if end + 1 + sign < bytes.len() {
            let exponent = digits_from(end + 1 + sign);
            if exponent > 0 {
                end += 1 + sign + exponent;
            }
        }
    }
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, &text[end..]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn reads_the_forms_people_write() {
        for (text, shown) in [
            ("5/8 in", "5/8 in"),
            ("1 1/2 in", "1 1/2 in"),
            ("2.5 bar", "2.5 bar"),
            ("100ft", "100 ft"),
            ("-3 psi", "-3 psi"),
            ("$12.5", "$12.50"),
            ("$0.3/kWh", "0.3 $/kWh"),
            ("7 L/min", "7 L/min"),
            ("42", "42"),
            ("1e-3 m3", "0.001 m3"),
        ] {
            assert_eq!(read_quantity(text).map(|q| q.to_string()), Ok(shown.to_string()), "{text}");
        }
    }

    #[test]
    fn says_what_is_wrong_with_a_text() {
        assert_eq!(read_quantity("").unwrap_err().to_string(), "expected a number and a unit, found an empty text");
        assert_eq!(read_quantity("5/0 in").unwrap_err().to_string(), "the fraction in '5/0 in' divides by zero");
        for text in ["1e308 bar", "-1e308 bar", "1e300/1e-300", "1/1e-308 km"] {
            let error = read_quantity(text).unwrap_err();
            assert_eq!(error.to_string(), format!("the number in '{text}' is too large to calculate with"));
            assert!(error.hint().is_some_and(|hint| hint.contains("unit")));
        }
        for text in ["1e-320", "1e-307 mm"] {
            assert!(read_quantity(text).unwrap_err().to_string().ends_with("is too small to calculate with"), "{text}");
        }
        let error = read_quantity("6 gmp").unwrap_err();
        assert_eq!(error.to_string(), "unknown unit 'gmp' in '6 gmp'");
        assert!(error.hint().is_some_and(|hint| hint.contains("gpm")));
    }

    proptest! {
        #[test]
        fn never_panics_on_any_text(text in ".*") {
            let _ = read_quantity(&text);
        }

        #[test]
        fn what_is_shown_in_full_reads_back(value in 0.001f64..1e6, index in 0usize..crate::quantity::UNITS.len()) {
            let unit = &crate::quantity::UNITS[index];
            let back = read_quantity(&format!("{value} {}", unit.symbol)).expect("a shown quantity reads back");
            let expected = unit.to_si(value);
            prop_assert!((back.si - expected).abs() <= 1e-12 * expected.abs());
            prop_assert_eq!(back.dimension, unit.dimension);
        }
    }
}
