//! How a solve ends: the road that led to the answer, or the error that names where it failed.

use super::network::Network;
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
#[error("no steady state found after {iterations} iterations: around '{place}' the balance is off by {misfit}")]
pub struct SolveError {
    pub iterations: usize,
    /// The place of the part where the balance is worst.
    pub worst_place: usize,
    pub place: String,
    pub misfit: String,
}

impl SolveError {
    /// The error with the name that the worst place has in its garden.
    pub fn named(self, garden: &Garden) -> SolveError {
        SolveError { place: garden.name(self.worst_place).to_string(), ..self }
    }

    /// The error for climbs that no longer close a loop.
    pub(super) fn crooked_loop(place: usize, off_pa: f64) -> SolveError {
        SolveError { iterations: 0, worst_place: place, place: String::new(), misfit: format!("{:.3} psi", off_pa / PSI_PA) }
    }
}

/// The error that names the node whose balance is worst.
pub(super) fn failure(network: &Network, iterations: usize) -> SolveError {
    let structure = &*network.structure;
    let mut worst = (0usize, 0.0f64);
    for (index, link) in structure.links.iter().enumerate() {
        let mut law = network.link_laws[index].clone();
        let from_pa = link.from.map_or(0.0, |node| network.pressures_pa[node]);
        let to_pa = link.to.map_or(0.0, |node| network.pressures_pa[node]);
        let misfit = (from_pa - to_pa - law.open(network.states[index].flow).loss_pa).abs();
        if !network.states[index].closed && misfit > worst.1 {
            worst = (link.steps.first().map_or(0, |step| step.place), misfit);
        }
    }
    SolveError { iterations, worst_place: worst.0, place: String::new(), misfit: format!("{:.3} psi", worst.1 / PSI_PA) }
}
