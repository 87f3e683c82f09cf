//! The second road of a solve: the states of valves are held while the network settles, and then one of them is changed.

use super::network::{FIRST_FLOW, LinkState, Network};
use super::newton::{MOST_ITERATIONS, NO_FLOW, States, has_turned, linearise, pushes_open, scale_pa, step};
use super::parting;
use super::taps;
use crate::limits;

/// With states held, pressures must close to this share before a state is changed.
const SETTLES_TO: f64 = 1e-7;
const MOST_HELD_ITERATIONS: usize = 1000;

/// Settles the network with all states held, then changes the first one that does not fit, and so on.
///
/// For a linear network this is principal pivoting by least index, which cannot come back to the same states because the
/// matrix has positive principal minors (K. G. Murty, Linear Algebra and its Applications 7 (1974), from memory).
pub(super) fn change_one_by_one(network: &mut Network) -> usize {
    let mut iterations = 0;
    while iterations < MOST_HELD_ITERATIONS && !limits::ended() {
        let mut settled = false;
        for _ in 0..MOST_ITERATIONS {
            iterations += 1;
            let residual_pa = linearise(network, States::Hold);
            step(network, States::Hold);
            if residual_pa <= SETTLES_TO * scale_pa(network) {
                settled = true;
                break;
            }
        }
        if !change_first(network) || !settled {
            break;
        }
    }
    iterations
}

/// Changes the first state that does not fit flows and pressures; false when all do.
fn change_first(network: &mut Network) -> bool {
    let allowed_pa = SETTLES_TO * scale_pa(network);
    for (index, link) in network.structure.links.iter().enumerate() {
        let (law, state) = (&mut network.link_laws[index], &mut network.states[index]);
        if law.blocked {
            continue;
        }
        let from_pa = link.from.map_or(0.0, |node| network.pressures_pa[node]);
        let to_pa = link.to.map_or(0.0, |node| network.pressures_pa[node]);
        if state.closed && pushes_open(law, from_pa, to_pa, allowed_pa) {
            let found = law.flow_between(from_pa, to_pa, FIRST_FLOW);
            *state = LinkState { flow: found.flow_m3_per_s, holding: found.holding, closed: false };
            return true;
        }
        if !state.closed && state.flow.abs() > NO_FLOW && has_turned(law, state) {
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
    taps::change_first(network) || parting::change_draws(network)
}
