//! How a solve ends: the road that led to the answer, or the error that names where it failed.

use crate::garden::Garden;
use crate::quantity::PSI_PA;
use thiserror::Error;

/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Convergence {
    pub iterations: usize,
    pub road: Road,
    /// The largest misfit of pressure along a link, Pa.
    pub residual_pa: f64,
}

/// The way by which the answer was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Road {
    /// Every link stands alone between known pressures.
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
#[error("no steady state found after {iterations} iterations: around '{place}' the balance is off by {:.3} psi", misfit_pa / PSI_PA)]
pub struct SolveError {
    pub iterations: usize,
    /// The place of the part where the balance is worst.
    pub worst_place: usize,
    pub place: String,
    /// By how much pressures there do not close, Pa.
    pub misfit_pa: f64,
}

impl SolveError {
    /// The error for a place whose name is not known yet.
    pub fn at(worst_place: usize, misfit_pa: f64, iterations: usize) -> SolveError {
        SolveError { iterations, worst_place, place: String::new(), misfit_pa }
    }

    /// The error with the name that the worst place has in its garden.
    pub fn named(self, garden: &Garden) -> SolveError {
        SolveError { place: garden.name(self.worst_place).to_string(), ..self }
    }
}
