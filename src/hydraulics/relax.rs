//! Relaxation: each node in turn gets the pressure at which its own balance closes, until none moves.
//!
//! Slow, and certain to arrive: what leaves a node never falls when its pressure rises, and never rises when a neighbour's
//! does, so the balances form an M-function, for which the nonlinear Gauss-Seidel method converges from any start
//! (J. M. Ortega and W. C. Rheinboldt, Iterative Solution of Nonlinear Equations in Several Variables, 1970, theorem 13.5.9;
//! from memory). Used only where Newton's method does not settle.

use super::network::{FIRST_FLOW, Network};

const MOST_ROUNDS: usize = 400;
/// Pressures that move less than this in a round have settled, Pa.
const SETTLED_PA: f64 = 1e-4;

/// Relaxes all nodes and sets the states of the links to match; returns the number of rounds.
pub(super) fn relax(network: &mut Network) -> usize {
    let n = network.pressures_pa.len();
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (index, link) in network.structure.links.iter().enumerate() {
        for node in [link.from, link.to].into_iter().flatten() {
            if !at_node[node].contains(&index) {
                at_node[node].push(index);
            }
        }
    }
    let mut rounds = 0;
    while rounds < MOST_ROUNDS {
        rounds += 1;
        let mut moved: f64 = 0.0;
        for node in 0..n {
            moved = moved.max(settle(network, node, &at_node[node]));
        }
        if moved < SETTLED_PA {
            break;
        }
    }
    for index in 0..network.states.len() {
        let found = flow_of(network, index);
        let state = &mut network.states[index];
        state.flow = found.flow_m3_per_s;
        state.held_flow = found.flow_m3_per_s;
        state.holding = found.holding;
        state.closed = found.flow_m3_per_s == 0.0 && (network.link_laws[index].one_way || network.link_laws[index].blocked);
    }
    rounds
}

fn flow_of(network: &mut Network, index: usize) -> super::link::Flow {
    let link = &network.structure.links[index];
    let from_pa = link.from.map_or(0.0, |node| network.pressures_pa[node]);
    let to_pa = link.to.map_or(0.0, |node| network.pressures_pa[node]);
    let start = if network.states[index].flow == 0.0 { FIRST_FLOW } else { network.states[index].flow };
    network.link_laws[index].flow_between(from_pa, to_pa, start)
}

/// What leaves a node, all links and draws together.
fn outflow(network: &mut Network, node: usize, links: &[usize]) -> f64 {
    let mut sum = network.demands[node];
    for &index in links {
        let flow = flow_of(network, index).flow_m3_per_s;
        let link = &network.structure.links[index];
        if link.from == Some(node) {
            sum += flow;
        }
        if link.to == Some(node) {
            sum -= flow;
        }
    }
    sum
}

/// Finds the pressure at which a node's balance closes; returns how far it moved.
fn settle(network: &mut Network, node: usize, links: &[usize]) -> f64 {
    let start = network.pressures_pa[node];
    let first = outflow(network, node, links);
    if first == 0.0 {
        return 0.0;
    }
    // The outflow rises with the pressure: walk away from the start until the sign turns, then halve with the secant.
    let direction = if first > 0.0 { -1.0 } else { 1.0 };
    let (mut near, mut near_value) = (start, first);
    let mut stride = 100.0;
    let (mut far, mut far_value) = (start, first);
    for _ in 0..40 {
        far = start + direction * stride;
        network.pressures_pa[node] = far;
        far_value = outflow(network, node, links);
        if far_value == 0.0 || (far_value > 0.0) != (first > 0.0) {
            break;
        }
        (near, near_value) = (far, far_value);
        stride *= 4.0;
    }
    if far_value != 0.0 && (far_value > 0.0) == (first > 0.0) {
        network.pressures_pa[node] = start;
        return 0.0;
    }
    for turn in 0..200 {
        if (far - near).abs() <= 1e-9 * near.abs().max(1.0) || far_value == 0.0 {
            break;
        }
        let secant = far - far_value * (far - near) / (far_value - near_value);
        let middle = 0.5 * (near + far);
        let next = if turn % 2 == 0 && (secant - near) * (secant - far) < 0.0 { secant } else { middle };
        network.pressures_pa[node] = next;
        let value = outflow(network, node, links);
        if (value > 0.0) == (near_value > 0.0) && value != 0.0 {
            (near, near_value) = (next, value);
        } else {
            (far, far_value) = (next, value);
        }
    }
    network.pressures_pa[node] = far;
    (far - start).abs()
}
