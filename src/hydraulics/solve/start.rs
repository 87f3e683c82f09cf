//! Where a solve begins when nothing is known: flows as they would be if losses went with their squares, or if loops were cut open.
//!
//! Newton's method halves a flow that is far too large with each step, so a guess of the right size saves steps, most where the sources
//! cannot feed all outlets and hardly any pressure is left far out. The guess is only a guess: it touches no answer. Knows the structure
//! and the laws of links.

use super::parting;
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::LinkLaw;
use crate::hydraulics::model::square::Own;
use crate::hydraulics::state::{LinkState, State, Work};
use crate::hydraulics::tolerances::{
    BRIDGE, FIRST_FLOW, LEAST_FIRST_FLOW, LEAST_HIGHEST_PA, MANY_NODES, MIDDLING, MOST_LOST, ROUNDING_PA,
};

/// As [`start_afresh`], after a failure: what laws remember of earlier solves is forgotten too.
pub fn start_over(circuit: &mut Circuit) {
    circuit.link_laws.iter_mut().for_each(LinkLaw::forget);
    start_afresh(circuit);
}

/// Forgets the last state and guesses flows.
pub fn start_afresh(circuit: &mut Circuit) {
    circuit.renew_demands();
    parting::look(circuit, false);
    if !goes_by_squares(circuit) || !by_squares(circuit) {
        by_tree(circuit);
    }
}

/// Guesses flows along the tree of feeders, as if loops were cut open.
fn by_tree(circuit: &mut Circuit) {
    let highest = circuit.highest_source_pa(LEAST_HIGHEST_PA);
    circuit.state.pressures_pa.fill(MIDDLING * highest);
    circuit.state.links.fill(LinkState::open(FIRST_FLOW));
    outlets(circuit);
    gather(circuit);
    march(circuit, highest);
    // Once more, with the pressures that these flows leave.
    outlets(circuit);
    gather(circuit);
    march(circuit, highest);
    guess_bridges(circuit);
    circuit.state.pressures_pa.fill(MIDDLING * highest);
    for (state, law) in circuit.state.links.iter_mut().zip(&circuit.link_laws) {
        if state.flow.abs() < LEAST_FIRST_FLOW || (law.one_way && state.flow < 0.0) {
            state.flow = FIRST_FLOW;
        }
    }
}

/// True in large networks where every link follows its whole loss, and none has a direction but those from sources and to outlets.
fn goes_by_squares(circuit: &Circuit) -> bool {
    let Circuit { structure, link_laws, state, .. } = circuit;
    let mut links = structure.ends.iter().zip(link_laws);
    structure.unknowns.len() >= MANY_NODES
        && state.taps.is_empty()
        && links.all(|(ends, law)| law.goes_by_square() && (!law.one_way || ends.slot().is_none()))
}

/// Guesses flows and pressures as if each loss went with the square of the flow, as it does at the first flow; false where that gives none.
///
/// Outlets above the pressures that are left, and sources below them, begin closed.
fn by_squares(circuit: &mut Circuit) -> bool {
    let Circuit { structure, link_laws, demands, state, work, .. } = circuit;
    let Work { matrix, own, slopes, right, .. } = work;
    matrix.clear();
    for (own, demand) in own.iter_mut().zip(&*demands) {
        *own = Own { demand: *demand, ..Own::default() };
    }
    for ((ends, law), slope) in structure.ends.iter().zip(&mut *link_laws).zip(&mut *slopes) {
        let rest_pa = law.at_rest_pa();
        let conductance = FIRST_FLOW / (law.open(FIRST_FLOW).loss_pa - rest_pa).max(ROUNDING_PA).sqrt();
        *slope = (rest_pa, conductance);
        match (ends.from(), ends.to(), ends.slot()) {
            (Some(from), Some(to), Some(slot)) => {
                matrix.add_square(slot, conductance, if from < to { rest_pa } else { -rest_pa })
            }
            (Some(from), None, _) if law.one_way => own[from].outlets.add(conductance, rest_pa),
            (Some(from), None, _) => own[from].sources.add(conductance, rest_pa),
            (None, Some(to), _) => own[to].sources.add(conductance, -rest_pa),
            _ => {}
        }
    }
    matrix.solve_squares(&structure.pattern, own, right, &mut state.pressures_pa);
    let mut sum = 0.0;
    let links = structure.ends.iter().zip(&*link_laws).zip(&mut state.links);
    for (((ends, law), link), (rest_pa, conductance)) in links.zip(&*slopes) {
        if ends.from().is_none() && ends.to().is_none() {
            *link = LinkState::open(FIRST_FLOW);
            continue;
        }
        let at = |end: Option<usize>| end.map_or(0.0, |node| state.pressures_pa[node]);
        let over_pa = at(ends.from()) - at(ends.to()) - rest_pa;
        let flow = (conductance * over_pa.abs().sqrt()).max(LEAST_FIRST_FLOW).copysign(over_pa);
        let closed = law.one_way && over_pa <= 0.0;
        *link = LinkState { closed, ..LinkState::open(if closed { 0.0 } else { flow }) };
        sum += flow;
    }
    sum.is_finite()
}

/// Guesses the flow of each link to the atmosphere from the pressure before it.
fn outlets(circuit: &mut Circuit) {
    let Circuit { structure, link_laws, state: State { links: states, pressures_pa, .. }, .. } = circuit;
    for ((ends, law), state) in structure.ends.iter().zip(link_laws).zip(states) {
        if let (Some(from), None) = (ends.from(), ends.to()) {
            let flow = if law.blocked { 0.0 } else { law.rough_flow(pressures_pa[from], FIRST_FLOW) };
            state.flow = flow;
        }
    }
}

/// Guesses the flow of the links that close loops from the pressures at their ends.
fn guess_bridges(circuit: &mut Circuit) {
    let Circuit { structure, link_laws, state: State { links: states, pressures_pa, .. }, .. } = circuit;
    for &link in &structure.bridges {
        let link = link as usize;
        let (Some(from), Some(to)) = (structure.ends[link].from(), structure.ends[link].to()) else { continue };
        let drop_pa = pressures_pa[from] - pressures_pa[to];
        states[link].flow = BRIDGE * link_laws[link].rough_flow(drop_pa.abs(), FIRST_FLOW).copysign(drop_pa);
    }
}

/// Adds up what outlets and demands take, from the far ends to the sources.
fn gather(circuit: &mut Circuit) {
    let Circuit { structure, demands, state: State { links: states, taps, .. }, work: Work { scratch, .. }, .. } = circuit;
    scratch.copy_from_slice(demands);
    taps.iter().for_each(|tap| scratch[tap.unknown] += tap.most_m3_per_s);
    for (ends, state) in structure.ends.iter().zip(&*states) {
        if let (Some(from), None) = (ends.from(), ends.to()) {
            scratch[from] += state.flow;
        }
    }
    for feeder in structure.feeders.iter().rev() {
        let flow = scratch[feeder.node as usize];
        states[feeder.link as usize].flow = if feeder.forward { flow } else { -flow };
        if let Some(from) = feeder.from {
            scratch[from as usize] += flow;
        }
    }
}

/// Pressures from the sources to the far ends; where a way would use up too much, all losses are taken smaller by one factor.
fn march(circuit: &mut Circuit, highest: f64) {
    let Circuit { structure, link_laws, state: State { links: states, pressures_pa, .. }, .. } = circuit;
    let mut lowest = f64::INFINITY;
    for feeder in &structure.feeders {
        let (law, flow) = (&mut link_laws[feeder.link as usize], states[feeder.link as usize].flow);
        let before = feeder.from.map_or(0.0, |from| pressures_pa[from as usize]);
        let loss = if law.blocked { 0.0 } else { law.open(flow).loss_pa };
        let pressure = if feeder.forward { before - loss } else { before + loss };
        pressures_pa[feeder.node as usize] = pressure;
        lowest = lowest.min(pressure);
    }
    let lost = (highest - lowest) / (MOST_LOST * highest);
    let share = if lost > 1.0 { 1.0 / lost } else { 1.0 };
    pressures_pa.iter_mut().for_each(|pressure| *pressure = highest - (highest - *pressure) * share);
}
