//! Relaxation: the road taken where Newton's method does not settle, with states held or not.
//!
//! Every node is given some storage, as if it were a small tank, and the network fills towards its steady state in steps of
//! implicit Euler that grow as the imbalance shrinks (pseudo-transient continuation: C. T. Kelley and D. E. Keyes, SIAM J.
//! Numer. Anal. 35 (1998), from memory). Flows follow from the pressures alone, each link by a bracketed root, so no state
//! of a valve can be passed back and forth.
//!
//! What leaves a node never falls when its own pressure rises, never rises when a neighbour's does, and what a rise draws
//! from the neighbours never exceeds what it adds here: balances of such a kind (M-functions: W. C. Rheinboldt, J. Math.
//! Anal. Appl. 32 (1970), from memory) have a sum of imbalances that small enough steps cannot raise. Steps that raise it are taken back
//! and tried again with more storage. That it falls to nothing in few steps is tested, not proven.

use super::network::{FIRST_FLOW, Network};
use super::parting;
use super::sparse::Symmetry;
use super::taps;
use crate::limits;

const MOST_STEPS: usize = 400;
/// The imbalance of a node that counts as none, m3/s.
const BALANCED: f64 = 1e-12;
/// Conductance of the storage to begin with, m3/s/Pa: about that of the links.
const FIRST_STORAGE: f64 = 1e-9;
/// Conductance below which storage counts as none, m3/s/Pa.
const LEAST_STORAGE: f64 = 1e-16;

/// Relaxes all nodes and sets the states of the links to match; returns the number of steps.
pub(super) fn relax(network: &mut Network) -> usize {
    let mut storage = FIRST_STORAGE;
    let mut best = network.pressures_pa.clone();
    let mut best_sum = imbalance(network, 0.0);
    let mut steps = 0;
    while steps < MOST_STEPS && best_sum > BALANCED && !limits::ended() {
        steps += 1;
        // `imbalance` has left the matrix and the right side of the present pressures behind.
        network.matrix.solve(&network.structure.pattern, Symmetry::General, &mut network.right);
        for ((pressure, best), change) in network.pressures_pa.iter_mut().zip(&best).zip(&network.right) {
            *pressure = best + change;
        }
        let sum = imbalance(network, storage);
        if sum <= best_sum {
            best_sum = sum;
            best.copy_from_slice(&network.pressures_pa);
            storage = if storage > LEAST_STORAGE { storage * 0.3 } else { 0.0 };
        } else {
            storage = storage.max(LEAST_STORAGE) * 8.0;
            network.pressures_pa.copy_from_slice(&best);
            if storage > 1e3 {
                break;
            }
        }
        imbalance(network, storage);
    }
    network.pressures_pa.copy_from_slice(&best);
    for index in 0..network.states.len() {
        let found = flow_of(network, index);
        let state = &mut network.states[index];
        state.flow = found.flow_m3_per_s;
        state.holding = found.holding;
        let law = &network.link_laws[index];
        let parted = law.parted_step(found.holding).is_some();
        state.closed = found.flow_m3_per_s == 0.0 && (law.one_way || law.blocked || parted);
    }
    parting::supply_relaxed(network);
    steps
}

fn flow_of(network: &mut Network, index: usize) -> super::link::Flow {
    let link = &network.structure.links[index];
    let from_pa = link.from.map_or(0.0, |node| network.pressures_pa[node]);
    let to_pa = link.to.map_or(0.0, |node| network.pressures_pa[node]);
    let start = if network.states[index].flow == 0.0 { FIRST_FLOW } else { network.states[index].flow };
    network.link_laws[index].flow_between(from_pa, to_pa, start)
}

/// The sum of all nodes' imbalances; leaves the matrix of the next step and its right side in the network.
fn imbalance(network: &mut Network, storage: f64) -> f64 {
    network.matrix.clear();
    for node in 0..network.pressures_pa.len() {
        network.right[node] = -network.demands[node];
        network.matrix.add_diagonal(node, storage);
    }
    parting::relax_draws(network);
    for index in 0..network.states.len() {
        let found = flow_of(network, index);
        let flow = found.flow_m3_per_s;
        network.states[index].flow = flow;
        let law = &mut network.link_laws[index];
        let link = &network.structure.links[index];
        if let Some(from) = link.from {
            network.right[from] -= flow;
        }
        if let Some(to) = link.to {
            network.right[to] += flow;
        }
        let stopped = law.one_way || law.parted_step(found.holding).is_some();
        if law.blocked || (flow == 0.0 && stopped) || (link.from == link.to && link.from.is_some()) {
            continue;
        }
        let (conductance, follows) = (law.conductance(found.holding, flow), law.follows(found.holding));
        if let Some(to) = link.to.filter(|_| follows.to()) {
            network.matrix.add_diagonal(to, conductance);
            if let (Some(from), Some(slot)) = (link.from, link.slot) {
                network.matrix.add_entry(slot, from, to, -conductance);
            }
        }
        if let Some(from) = link.from.filter(|_| follows.from()) {
            network.matrix.add_diagonal(from, conductance);
            if let (Some(to), Some(slot)) = (link.to, link.slot) {
                network.matrix.add_entry(slot, to, from, -conductance);
            }
        }
    }
    taps::relax(network);
    network.right.iter().map(|value| value.abs()).sum()
}
