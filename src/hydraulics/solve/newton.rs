//! Newton's method on node pressures, with the flows of the links carried along.
//!
//! Each link is replaced by the tangent of its loss at its last flow; the balances of the nodes then give the pressures,
//! and these the next flows (the way of E. Todini and S. Pilati, 1988, from memory). A regulated link follows the law that
//! lets least through: wide open, or one of its regulators holding. A one-way link closes when a step would run it
//! backward and opens again when the pressures push it open.

use super::assemble::linearize;
use super::{parting, taps};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::LinkLaw;
use crate::hydraulics::model::sparse::Symmetry;
use crate::hydraulics::state::{LinkState, States};
use crate::hydraulics::tolerances::{
    CLOSES_BELOW, CLOSES_TO, FLOWS_TO, Foresight, MANY_LINKS, MOST_FINISHING, QUICK_ITERATIONS, ROUNDS_TO,
};
use crate::limits;

/// Steps until all links close; gives the residual, or nothing when the steps ran out.
pub fn iterate(circuit: &mut Circuit, most: usize) -> (Option<f64>, usize) {
    let mut ceiling_pa = f64::INFINITY;
    let (mut finishing, mut last_change, mut last_pa) = (0, f64::INFINITY, f64::INFINITY);
    for iteration in 0..most {
        // Asking costs more than a step of a small garden.
        if (iteration >= QUICK_ITERATIONS || circuit.state.links.len() >= MANY_LINKS) && limits::ended() {
            break;
        }
        if iteration == QUICK_ITERATIONS {
            ceiling_pa = circuit.ceiling_pa();
        }
        if iteration >= QUICK_ITERATIONS {
            // What nothing ties is kept near too: far out the rounding of its pressure would drive flows that never come to rest.
            circuit.state.pressures_pa.iter_mut().for_each(|pressure| *pressure = pressure.min(ceiling_pa).max(-ceiling_pa));
        }
        circuit.work.turned = false;
        let residual_pa = linearize(circuit, States::Follow);
        let allowed_pa = circuit.allowed_pa();
        // The step is taken in any case: it makes the balances of the nodes exact.
        step(circuit, States::Follow);
        let change = circuit.work.flow_change;
        let foresees = circuit.tolerances.foresight == Foresight::Ending && !circuit.work.turned;
        let left = |now: f64, before: f64| if foresees { now * (now / before).min(1.0) } else { now };
        let settled = iteration > 0 && left(residual_pa, last_pa) <= allowed_pa && balanced(circuit, left(change, last_change));
        last_pa = residual_pa;
        if !parting::draws_change(circuit, settled, iteration) && settled {
            if !circuit.tolerances.to_rounding
                || finishing == MOST_FINISHING
                || (finishing > 0 && is_rounded(circuit, last_change))
            {
                return (Some(residual_pa), iteration + 1);
            }
            finishing += 1;
            circuit.link_laws.iter_mut().for_each(LinkLaw::work_out_anew);
        }
        last_change = circuit.work.flow_change;
    }
    (None, most)
}

/// True when the step just taken, after one that has changed flows by `last_change`, leaves no more than rounding, or changes no less than that.
fn is_rounded(circuit: &Circuit, last_change: f64) -> bool {
    let change = circuit.work.flow_change;
    let largest = circuit.state.links.iter().fold(0.0f64, |most, link| most.max(link.flow.abs()));
    // What each step leaves is to its change at most as that is to the change before.
    change * (change / last_change) <= ROUNDS_TO * largest || change >= last_change
}

/// True when what flows into every node flows out of it, to a share of the largest flow, and flows have come to rest: their largest change is left.
fn balanced(circuit: &mut Circuit, flow_change: f64) -> bool {
    let structure = &*circuit.structure;
    let sums = &mut circuit.work.scratch;
    for ((sum, demand), unmet) in sums.iter_mut().zip(&circuit.demands).zip(&circuit.state.unmet) {
        *sum = demand - unmet;
    }
    let mut largest: f64 = 0.0;
    for (link, state) in structure.ends.iter().zip(&circuit.state.links) {
        largest = largest.max(state.flow.abs());
        if let Some(from) = link.from() {
            sums[from] += state.flow;
        }
        if let Some(to) = link.to() {
            sums[to] -= state.flow;
        }
    }
    if flow_change > FLOWS_TO * largest + circuit.tolerances.rests_within {
        return false;
    }
    taps::add_flows(&circuit.state.taps, &circuit.state.pressures_pa, sums);
    let allowed = CLOSES_TO * largest + 2.0 * CLOSES_BELOW;
    sums.iter().all(|sum| sum.abs() <= allowed)
}

/// Solves for the change of pressures and takes the step; links that would run backward close.
pub fn step(circuit: &mut Circuit, states: States) {
    let structure = &*circuit.structure;
    let symmetry = if circuit.regulated() || circuit.state.parts_water { Symmetry::General } else { Symmetry::Symmetric };
    circuit.work.matrix.solve(&structure.pattern, symmetry, &mut circuit.work.right);
    for (pressure, change) in circuit.state.pressures_pa.iter_mut().zip(&circuit.work.right) {
        *pressure += change;
    }
    let (mut shuts, closes_below) = (false, circuit.tolerances.closes_below);
    for (index, link) in structure.ends.iter().enumerate() {
        let state = &mut circuit.state.links[index];
        if state.closed {
            continue;
        }
        let (from_slope, to_slope) = circuit.work.slopes[index];
        let from_change = link.from().map_or(0.0, |node| circuit.work.right[node]);
        let to_change = link.to().map_or(0.0, |node| circuit.work.right[node]);
        let change = from_slope * from_change - to_slope * to_change;
        // Beside a store, where hardly any loss determines the flow, only both halves of a step together mean something.
        let moved = if circuit.tolerances.by_chords { change + circuit.work.moved[index] } else { change };
        circuit.work.flow_change = circuit.work.flow_change.max(moved.abs());
        state.flow += change;
        if states == States::Follow && !state.is_held() && state.has_turned(&circuit.link_laws[index], closes_below) {
            // A zero flow leaves it open: what is downstream may be about to open too.
            state.closed = state.flow.abs() > closes_below;
            shuts |= state.closed;
            circuit.work.turned = true;
            state.flow = 0.0;
        }
    }
    if circuit.state.parts_water {
        parting::step_demands(circuit);
    }
    taps::follow(circuit, states);
    if !circuit.regulated() || states == States::Hold {
        return;
    }
    let regulated = |state: &&mut LinkState| state.is_held();
    for state in circuit.state.links.iter_mut().filter(regulated).filter(|state| !state.closed && state.flow < closes_below) {
        // A regulator closes last: what drove the water back through it may just have closed itself.
        state.closed = state.flow < -closes_below && !shuts;
        circuit.work.turned = true;
        state.flow = 0.0;
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::parts::{Kind, Law};
    use proptest::prelude::*;

    /// Two heads behind a feed hose, the far one at the end of two hoses side by side.
    fn with_a_loop() -> Network {
        let hose = |name: &str, length_ft: f64, diameter_in: f64| {
            part(Kind::Hose, name, &[("length", length_ft, "ft"), ("diameter", diameter_in, "in")])
        };
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            hose("feed", 60.0, 0.75),
            hose("one", 40.0, 0.5),
            hose("other", 90.0, 0.625),
            part(Kind::Head, "near", &[("nozzle", 0.1, "in")]),
            part(Kind::Head, "far", &[("nozzle", 0.15, "in")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (1, 2), (1, 1), (2, 2)]).expect("joins");
        Network::new(&garden, &[true; 6]).expect("a sound garden")
    }

    proptest! {
        #[test]
        fn a_point_of_a_curve_is_the_same_to_rounding_wherever_its_solve_began(
            pressure_pa in 1e3f64..6e5, before_pa in prop::collection::vec(1e3f64..6e5, 1..4),
        ) {
            let flows = |before_pa: &[f64]| {
                let mut network = with_a_loop();
                network.follow_curve();
                for &pressure_pa in before_pa.iter().chain([&pressure_pa]) {
                    network.put_law(0, Law::Source { pressure_pa, resistance: 0.0 });
                    network.solve().expect("a steady state");
                }
                (0..6).map(|place| network.flow(place)).collect::<Vec<f64>>()
            };
            let afresh = flows(&[]);
            for (one, other) in afresh.iter().zip(flows(&before_pa)) {
                prop_assert!((one - other).abs() <= 1e-14 * afresh[0], "{} and {}", one, other);
            }
        }
    }

    /// Met once in some 200,000 random gardens, where the steps down from there ran out.
    #[test]
    fn a_node_that_a_step_threw_far_up_behind_a_shut_check_valve_comes_back() {
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            part(Kind::Hose, "feed", &[("length", 50.0, "ft"), ("diameter", 0.5, "in")]),
            part(Kind::Head, "near", &[("nozzle", 0.125, "in")]),
            part(Kind::CheckValve, "guard", &[("diameter", 0.5, "in")]),
            part(Kind::Demand, "tub", &[("flow", 0.3, "gpm")]),
            part(Kind::Regulator, "regulator", &[("set", 15.0, "psi"), ("diameter", 0.5, "in")]),
            part(Kind::Relief, "relief", &[("set", 60.0, "psi")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1), (1, 2), (2, 2), (2, 3), (3, 3)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 7]).expect("a sound garden");
        network.solve().expect("a steady state");
        let before = network.circuit.state.pressures_pa.clone();
        let thrown = network.circuit.structure.unknowns.iter().position(|&node| node == 2).expect("the node of the tub");
        network.circuit.state.pressures_pa[thrown] = 3e8;
        for (link, state) in network.circuit.structure.links.iter().zip(&mut network.circuit.state.links) {
            if link.from == Some(thrown) || link.to == Some(thrown) {
                (state.flow, state.closed) = (0.0, true);
            }
        }
        let found = network.solve().expect("a steady state");
        assert!(found.iterations < 40, "{found:?}");
        for (found, before) in network.circuit.state.pressures_pa.iter().zip(before) {
            assert!((found - before).abs() < 1e-6 * before, "{found} and {before}");
        }
    }
}
