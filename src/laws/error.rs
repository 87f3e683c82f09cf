//! What can be wrong with the numbers given to a law.

use crate::quantity::show_number;
use crate::told::Told;
use thiserror::Error;

/// An argument for which a law does not hold. Values are SI, their unit stands beside them.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum LawError {
    /// The argument is zero, below it, or not finite.
    #[error("the {what} must be above zero, but it is {}", shown(*.value, .unit))]
    NotPositive {
        /// What the argument is, in words.
        what: &'static str,
        /// What was given, in `unit`.
        value: f64,
        /// The SI unit; empty for a plain number.
        unit: &'static str,
    },
    /// The argument is below zero or not finite.
    #[error("the {what} must not be below zero, but it is {}", shown(*.value, .unit))]
    Negative {
        /// What the argument is, in words.
        what: &'static str,
        /// What was given, in `unit`.
        value: f64,
        /// The SI unit; empty for a plain number.
        unit: &'static str,
    },
    /// A share is not above zero and at most one.
    #[error("the {what} must be above 0 and at most 1 (100%), but it is {}", show_number(*.value))]
    NotAFraction {
        /// What the share is of, in words.
        what: &'static str,
        /// What was given, as a share of one.
        value: f64,
    },
    /// A sudden expansion leads to a narrower diameter, or a sudden contraction to a wider one.
    #[error("a sudden {change} cannot go from {} m to {} m: the diameters are swapped", show_number(*.from_m), show_number(*.to_m))]
    WrongWay {
        /// `expansion` or `contraction`.
        change: &'static str,
        /// Diameter before the step, m.
        from_m: f64,
        /// Diameter downstream of the step, m.
        to_m: f64,
    },
}

impl Told for LawError {
    fn hint(&self) -> Option<String> {
        match self {
            LawError::NotPositive { what, .. } => Some(format!("give a {what} above zero and check its unit")),
            LawError::Negative { what, .. } => Some(format!("give zero or more for the {what} and check its sign")),
            LawError::NotAFraction { .. } => Some("write 45% as 0.45".into()),
            LawError::WrongWay { .. } => Some("swap the two diameters".into()),
        }
    }
}

/// The value itself when it is finite and above zero.
pub(super) fn positive(what: &'static str, value: f64, unit: &'static str) -> Result<f64, LawError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(LawError::NotPositive { what, value, unit }) }
}

/// The value itself when it is finite and not below zero.
pub(super) fn not_negative(what: &'static str, value: f64, unit: &'static str) -> Result<f64, LawError> {
    if value >= 0.0 && value.is_finite() { Ok(value) } else { Err(LawError::Negative { what, value, unit }) }
}

/// The value itself when it is above zero and at most one.
pub(super) fn fraction(what: &'static str, value: f64) -> Result<f64, LawError> {
    if value > 0.0 && value <= 1.0 { Ok(value) } else { Err(LawError::NotAFraction { what, value }) }
}

fn shown(value: f64, unit: &str) -> String {
    if !value.is_finite() {
        return show_number(value);
    }
    format!("{} {unit}", show_number(value)).trim_end().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_say_what_was_expected_and_found() {
        let errors = [
            positive("diameter", 0.0, "m").unwrap_err(),
            positive("diameter", f64::NAN, "m").unwrap_err(),
            not_negative("pressure loss", -2e5, "Pa").unwrap_err(),
            fraction("pump efficiency", 45.0).unwrap_err(),
            LawError::WrongWay { change: "expansion", from_m: 0.0254, to_m: 0.0127 },
        ];
        let text: Vec<String> = errors.iter().map(|e| format!("{e}\n  {}", e.hint().unwrap_or_default())).collect();
        insta::assert_snapshot!(text.join("\n"), @r"
        the diameter must be above zero, but it is 0 m
          give a diameter above zero and check its unit
        the diameter must be above zero, but it is not a number
          give a diameter above zero and check its unit
        the pressure loss must not be below zero, but it is -200000 Pa
          give zero or more for the pressure loss and check its sign
        the pump efficiency must be above 0 and at most 1 (100%), but it is 45
          write 45% as 0.45
        a sudden expansion cannot go from 0.0254 m to 0.0127 m: the diameters are swapped
          swap the two diameters
        ");
    }
}
