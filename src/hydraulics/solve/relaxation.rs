//! Relaxation: the method used where Newton's method does not settle, with states held or not.
//!
//! Every node is given some storage, as if it were a small tank, and the circuit fills toward its steady state in steps of
//! implicit Euler that grow as the imbalance shrinks (pseudo-transient continuation: C. T. Kelley and D. E. Keyes, SIAM J.
//! Numer. Anal. 35 (1998), from memory). Flows follow from the pressures alone, each link by a bracketed root, so no state
//! of a valve can be passed back and forth.
//!
//! What leaves a node never falls when its own pressure rises, never rises when a neighbor's does, and what a rise demands
//! from the neighbors never exceeds what it adds here: balances of such a kind (M-functions: W. C. Rheinboldt, J. Math.
//! Anal. Appl. 32 (1970), from memory) have a sum of imbalances that small enough steps cannot raise. Steps that raise it are taken back
//! and tried again with more storage. That it falls to nothing in few steps is tested, not proven.

use super::assemble::{Sense, add_flow, add_tangent};
use super::{parting, taps};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::Flow;
use crate::hydraulics::model::sparse::Symmetry;
use crate::hydraulics::tolerances::{
    BALANCED, FIRST_FLOW, FIRST_STORAGE, LEAST_STORAGE, MOST_RELAXED_STEPS, MOST_STORAGE, STORAGE_GROWS, STORAGE_SHRINKS,
};
use crate::limits;

/// Relaxes all nodes and sets the states of the links to match; returns the number of steps.
pub fn relax(circuit: &mut Circuit) -> usize {
    let mut storage = FIRST_STORAGE;
    let mut best = circuit.state.pressures_pa.clone();
    let mut best_sum = imbalance(circuit, 0.0);
    let mut steps = 0;
    while steps < MOST_RELAXED_STEPS && best_sum > BALANCED && !limits::ended() {
        steps += 1;
        // `imbalance` has left the matrix and the right side of the present pressures.
        circuit.work.matrix.solve(&circuit.structure.pattern, Symmetry::General, &mut circuit.work.right);
        for ((pressure, best), change) in circuit.state.pressures_pa.iter_mut().zip(&best).zip(&circuit.work.right) {
            *pressure = best + change;
        }
        let sum = imbalance(circuit, storage);
        if sum <= best_sum {
            best_sum = sum;
            best.copy_from_slice(&circuit.state.pressures_pa);
            storage = if storage > LEAST_STORAGE { storage * STORAGE_SHRINKS } else { 0.0 };
        } else {
            storage = storage.max(LEAST_STORAGE) * STORAGE_GROWS;
            circuit.state.pressures_pa.copy_from_slice(&best);
            if storage > MOST_STORAGE {
                break;
            }
        }
        imbalance(circuit, storage);
    }
    circuit.state.pressures_pa.copy_from_slice(&best);
    for index in 0..circuit.state.links.len() {
        let found = flow_of(circuit, index);
        let state = &mut circuit.state.links[index];
        state.flow = found.flow_m3_per_s;
        state.holding = found.holding;
        let law = &circuit.link_laws[index];
        let parted = law.parted_step(found.holding).is_some();
        state.closed = found.flow_m3_per_s == 0.0 && (law.one_way || law.blocked || parted);
    }
    parting::supply_relaxed(circuit);
    steps
}

/// The flow of a link by the pressures at its ends alone.
fn flow_of(circuit: &mut Circuit, index: usize) -> Flow {
    let (from_pa, to_pa) = circuit.ends_pa(index);
    let last = circuit.state.links[index].flow;
    circuit.link_laws[index].flow_between(from_pa, to_pa, if last == 0.0 { FIRST_FLOW } else { last })
}

/// The sum of all nodes' imbalances; leaves the matrix of the next step and its right side.
fn imbalance(circuit: &mut Circuit, storage: f64) -> f64 {
    circuit.work.matrix.clear();
    for (node, demand) in circuit.demands.iter().enumerate() {
        circuit.work.right[node] = -demand;
        circuit.work.matrix.add_diagonal(node, storage);
    }
    parting::relax_draws(circuit);
    for index in 0..circuit.state.links.len() {
        let found = flow_of(circuit, index);
        let flow = found.flow_m3_per_s;
        circuit.state.links[index].flow = flow;
        let (law, ends) = (&mut circuit.link_laws[index], circuit.structure.ends[index]);
        add_flow(&mut circuit.work.right, ends, flow);
        let stopped = law.one_way || law.parted_step(found.holding).is_some();
        if law.blocked || (flow == 0.0 && stopped) || ends.is_ring() {
            continue;
        }
        let (conductance, follows) = (law.conductance(found.holding, flow), law.follows(found.holding));
        add_tangent(&mut circuit.work.matrix, ends, follows, conductance, Sense::Balances);
    }
    taps::relax(circuit);
    circuit.work.right.iter().map(|value| value.abs()).sum()
}
