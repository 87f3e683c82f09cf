//! How a solve ends: the method that led to the answer, or the error that names where it failed.

use crate::garden::Garden;
use crate::quantity::{Quantity, dim};
use thiserror::Error;

/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Convergence {
    /// Steps of the last attempt, over all methods that it tried.
    pub iterations: usize,
    /// The method that found the answer.
    pub method: Method,
    /// The largest error of pressure along a link, Pa.
    pub residual_pa: f64,
}

/// The method that found the answer; each after the first two is a fallback of the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Every link lies between known pressures: one equation each.
    Direct,
    /// Newton's method.
    Newton,
    /// Newton's method with the states of valves held, one of them changed at a time.
    OneByOne,
    /// Newton's method after relaxation.
    Relaxed,
}

/// A solve that found no steady state.
#[derive(Debug, Error, Clone, PartialEq)]
#[error("no steady state found after {iterations} iterations: the pressure balance at '{place}' is off by {misfit}")]
pub struct SolveError {
    /// Steps of the last attempt, over all methods that it tried.
    pub iterations: usize,
    /// The place of the part where the balance is worst.
    pub worst_place: usize,
    /// Name of that part in its garden; empty until [`SolveError::named`] gives it.
    pub place: String,
    /// By how much pressures there do not close.
    pub misfit: Quantity,
}

impl SolveError {
    /// The error for a place whose name is not known yet.
    pub fn at(worst_place: usize, misfit_pa: f64, iterations: usize) -> SolveError {
        SolveError { iterations, worst_place, place: String::new(), misfit: Quantity::new(misfit_pa, dim::PRESSURE) }
    }

    /// The error with the name that the worst place has in its garden, and in the units of that.
    pub fn named(self, garden: &Garden) -> SolveError {
        let misfit = garden.quantity(self.misfit.si, dim::PRESSURE);
        SolveError { place: garden.name(self.worst_place).to_string(), misfit, ..self }
    }
}
