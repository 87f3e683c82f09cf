//! The second method of a solve: the states of valves are held while the circuit settles, and then one of them is changed.

use super::assemble::linearize;
use super::newton::step;
use super::{parting, taps};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::state::{LinkState, States};
use crate::hydraulics::tolerances::{FIRST_FLOW, MOST_HELD_ITERATIONS, MOST_ITERATIONS, SETTLES_TO};
use crate::limits;

/// Settles the circuit with all states held, then changes the first one that does not fit, and so on.
///
/// For a linear circuit this is principal pivoting by least index, which cannot come back to the same states because the
/// matrix has positive principal minors (K. G. Murty, Linear Algebra and its Applications 7 (1974), from memory).
pub fn change_one_by_one(circuit: &mut Circuit) -> usize {
    let mut iterations = 0;
    while iterations < MOST_HELD_ITERATIONS && !limits::ended() {
        let mut settled = false;
        for _ in 0..MOST_ITERATIONS {
            iterations += 1;
            let residual_pa = linearize(circuit, States::Hold);
            step(circuit, States::Hold);
            if residual_pa <= SETTLES_TO * circuit.scale_pa() {
                settled = true;
                break;
            }
        }
        if !change_first(circuit) || !settled {
            break;
        }
    }
    iterations
}

/// Changes the first state that does not fit flows and pressures; false when all do.
fn change_first(circuit: &mut Circuit) -> bool {
    let (allowed_pa, closes_below) = (SETTLES_TO * circuit.scale_pa(), circuit.tolerances.closes_below);
    for (index, link) in circuit.structure.links.iter().enumerate() {
        let (law, state) = (&mut circuit.link_laws[index], &mut circuit.state.links[index]);
        if law.blocked {
            continue;
        }
        let from_pa = link.from.map_or(0.0, |node| circuit.state.pressures_pa[node]);
        let to_pa = link.to.map_or(0.0, |node| circuit.state.pressures_pa[node]);
        if state.closed && law.pushes_open(from_pa, to_pa, allowed_pa) {
            let found = law.flow_between(from_pa, to_pa, FIRST_FLOW);
            *state = LinkState { holding: found.holding, ..LinkState::open(found.flow_m3_per_s) };
            return true;
        }
        if !state.closed && state.flow.abs() > closes_below && state.has_turned(law, closes_below) {
            *state = LinkState { flow: 0.0, holding: None, closed: true };
            return true;
        }
        let (holding, excess) = law.ruler(from_pa, to_pa, state.flow);
        let against_pa = if state.flow < 0.0 { -excess.loss_pa } else { excess.loss_pa };
        if !state.closed && holding != state.holding && against_pa > allowed_pa {
            state.holding = holding;
            return true;
        }
    }
    taps::change_first(circuit) || parting::change_demand_states(circuit)
}
