//! A limit: a value and what it must be.

use crate::quantity::{Quantity, UnitSystem};
use crate::told::Told;
use thiserror::Error;

/// A value and what it must be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The value; `None` where there is none, which breaks every limit.
    pub value: Option<Quantity>,
    /// The least that it must be, if anything.
    pub low: Option<Quantity>,
    /// The most that it must be, if anything.
    pub high: Option<Quantity>,
}

/// A value and a bound of two dimensions.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[error("{} and {} differ in dimension", value.described(), bound.described())]
pub struct LimitError {
    /// The value that is limited.
    pub value: Quantity,
    /// The bound, of another dimension.
    pub bound: Quantity,
}

impl Told for LimitError {}

impl Limit {
    /// Errors: a value that is of another dimension than its bound.
    pub fn new(value: Option<Quantity>, low: Option<Quantity>, high: Option<Quantity>) -> Result<Limit, LimitError> {
        match (value, low.or(high)) {
            (Some(value), Some(bound)) if value.dimension != bound.dimension => Err(LimitError { value, bound }),
            _ => Ok(Limit { value, low, high }),
        }
    }

    /// Such as `44 psi, at least 30 psi`.
    pub fn in_words(&self, system: UnitSystem) -> String {
        let value = self.value.map(|value| value.show(system));
        [value, Some(self.rule(system))].into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    /// Such as `at least 30 psi`.
    pub fn rule(&self, system: UnitSystem) -> String {
        let low = self.low.map(|low| format!("at least {}", low.show(system)));
        let high = self.high.map(|high| format!("at most {}", high.show(system)));
        [low, high].into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }

    /// By how much the value breaks the limit, in parts of the limit; below zero where there is room.
    pub fn broken(&self) -> f64 {
        let Some(value) = self.value else { return f64::INFINITY };
        let scale = |bound: f64| if bound == 0.0 { value.si.abs().max(f64::MIN_POSITIVE) } else { bound.abs() };
        let low = self.low.map_or(f64::NEG_INFINITY, |low| (low.si - value.si) / scale(low.si));
        let high = self.high.map_or(f64::NEG_INFINITY, |high| (value.si - high.si) / scale(high.si));
        low.max(high)
    }
}
