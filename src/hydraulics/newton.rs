//! Newton's method on node pressures, with the flows of the links carried along.
//!
//! Each link is replaced by the tangent of its loss at its last flow; the balances of the nodes then give the pressures,
//! and these the next flows. One-way links and regulators change their state between steps as the new flows demand.
//! Where this does not settle, `relax` takes over, which always does.

use super::link::{LEAST_SLOPE, LinkLaw, Point};
use super::loose::settle_loose;
use super::network::{FIRST_FLOW, LinkState, Network};
use super::relax;
use super::sparse::Symmetry;
use crate::garden::Garden;
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

/// One psi in Pa, for messages.
const PSI_PA: f64 = 6_894.757_293_168;

/// Pressures must close along every link to this share of the highest pressure.
const CLOSES_TO: f64 = 1e-9;
/// Pressure that the closing is measured against at least, Pa.
const LEAST_SCALE_PA: f64 = 1e4;
/// A step must change no flow by more than this share of the largest; closed pressures alone leave a flow near nothing
/// open, because a quadratic loss hardly tells it from none.
const FLOWS_TO: f64 = 1e-8;
/// What a step may change a flow by where hardly anything flows, m3/s.
const LEAST_FLOW_CHANGE: f64 = 1e-11;
/// Flow that counts as nothing when a link is about to close, m3/s.
const NO_FLOW: f64 = 2e-13;
const MOST_ITERATIONS: usize = 60;
/// With states held, pressures must close to this share before a state is changed.
const SETTLES_TO: f64 = 1e-7;
const MOST_HELD_ITERATIONS: usize = 1000;

/// What happens to the states of one-way links and regulators in a step.
#[derive(Clone, Copy, PartialEq, Eq)]
enum States {
    /// They follow flows and pressures.
    Follow,
    /// They stay as they are.
    Hold,
}

/// Solves and gives water trapped between shut valves the pressure it fills to.
pub(super) fn solve(network: &mut Network) -> Result<Convergence, SolveError> {
    let convergence = settle(network)?;
    settle_loose(network);
    Ok(convergence)
}

fn settle(network: &mut Network) -> Result<Convergence, SolveError> {
    if network.pressures_pa.is_empty() {
        return Ok(solve_alone(network));
    }
    let (mut done, mut iterations) = iterate(network, MOST_ITERATIONS);
    if let Some(residual_pa) = done {
        return Ok(Convergence { iterations, road: Road::Newton, residual_pa });
    }
    for road in [Road::OneByOne, Road::Relaxed, Road::Relaxed] {
        if road == Road::Relaxed {
            iterations += relax::relax(network);
        }
        iterations += change_one_by_one(network);
        let (polished, more) = iterate(network, MOST_ITERATIONS);
        iterations += more;
        done = polished;
        if let Some(residual_pa) = done {
            return Ok(Convergence { iterations, road, residual_pa });
        }
    }
    Err(failure(network, iterations))
}

/// Links between known pressures need no nodes: each is a root of its own.
fn solve_alone(network: &mut Network) -> Convergence {
    for (law, state) in network.link_laws.iter_mut().zip(&mut network.states) {
        let start = if state.flow == 0.0 { FIRST_FLOW } else { state.flow };
        let found = law.flow_between(0.0, 0.0, start);
        state.flow = found.flow_m3_per_s;
        state.holding = found.holding;
        state.closed = law.blocked || (law.one_way && state.flow == 0.0);
    }
    Convergence { iterations: 1, road: Road::Direct, residual_pa: 0.0 }
}

/// Steps until all links close; gives the residual, or nothing when the steps ran out.
fn iterate(network: &mut Network, most: usize) -> (Option<f64>, usize) {
    for iteration in 0..most {
        let residual_pa = linearise(network, States::Follow);
        let scale_pa = scale_pa(network);
        // The step is taken in any case: it makes the balances of the nodes exact.
        step(network, States::Follow);
        if iteration > 0 && residual_pa <= CLOSES_TO * scale_pa && balanced(network) {
            return (Some(residual_pa), iteration + 1);
        }
    }
    (None, most)
}

/// The pressure that misfits are measured against.
fn scale_pa(network: &Network) -> f64 {
    network.pressures_pa.iter().fold(LEAST_SCALE_PA, |most, pressure| most.max(pressure.abs()))
}

/// Settles the network with all states held, then changes the first one that does not fit, and so on.
///
/// For a linear network this is principal pivoting by least index, which cannot come back to the same states because the
/// matrix has positive principal minors (K. G. Murty, Linear Algebra and its Applications 7 (1974), from memory).
fn change_one_by_one(network: &mut Network) -> usize {
    let mut iterations = 0;
    while iterations < MOST_HELD_ITERATIONS {
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
        let (holding, excess) = law.ruler(from_pa, to_pa, state.flow);
        if state.closed && excess.loss_pa < -allowed_pa {
            let found = law.flow_between(from_pa, to_pa, FIRST_FLOW);
            *state = LinkState { flow: found.flow_m3_per_s, holding: found.holding, closed: false };
            return true;
        }
        if !state.closed && law.one_way && state.flow < -NO_FLOW {
            *state = LinkState { flow: 0.0, holding: None, closed: true };
            return true;
        }
        if !state.closed && holding != state.holding && excess.loss_pa > allowed_pa {
            state.holding = holding;
            return true;
        }
    }
    false
}

/// True when what flows into every node flows out of it, to a share of the largest flow, and flows have come to rest.
fn balanced(network: &mut Network) -> bool {
    let structure = &*network.structure;
    let sums = &mut network.scratch;
    for (sum, demand) in sums.iter_mut().zip(&network.demands) {
        *sum = *demand;
    }
    let mut largest: f64 = 0.0;
    for (link, state) in structure.links.iter().zip(&network.states) {
        largest = largest.max(state.flow.abs());
        if let Some(from) = link.from {
            sums[from] += state.flow;
        }
        if let Some(to) = link.to {
            sums[to] -= state.flow;
        }
    }
    if network.flow_change > FLOWS_TO * largest + LEAST_FLOW_CHANGE {
        return false;
    }
    let allowed = CLOSES_TO * largest + 2.0 * NO_FLOW;
    sums.iter().all(|sum| sum.abs() <= allowed)
}

/// Assembles tangents and imbalances; returns the largest misfit of pressure along a link.
fn linearise(network: &mut Network, states: States) -> f64 {
    let structure = &*network.structure;
    let pattern = &structure.pattern;
    let pressures = &network.pressures_pa;
    network.matrix.clear();
    for (right, demand) in network.right.iter_mut().zip(&network.demands) {
        *right = -demand;
    }
    network.flow_change = 0.0;
    let mut worst: f64 = 0.0;
    for (index, link) in structure.links.iter().enumerate() {
        let law = &mut network.link_laws[index];
        let state = &mut network.states[index];
        let from_pa = link.from.map_or(0.0, |node| pressures[node]);
        let to_pa = link.to.map_or(0.0, |node| pressures[node]);
        network.slopes[index] = (0.0, 0.0);
        if law.blocked {
            (state.flow, state.closed) = (0.0, true);
            continue;
        }
        let (holding, excess) = if states == States::Hold {
            if state.closed {
                continue;
            }
            if law.steep {
                state.flow = law.nearest(from_pa, to_pa, state.flow);
            }
            (state.holding, law.excess(state.holding, from_pa, to_pa, state.flow))
        } else if state.closed {
            match reopen(law, state, from_pa, to_pa) {
                Some(chord) => chord,
                None => continue,
            }
        } else {
            if law.steep {
                state.flow = law.nearest(from_pa, to_pa, state.flow);
                if state.flow <= NO_FLOW {
                    (state.flow, state.closed) = (0.0, true);
                    continue;
                }
            }
            law.ruler(from_pa, to_pa, state.flow)
        };
        let conductance = 1.0 / excess.slope.max(LEAST_SLOPE);
        worst = worst.max(excess.loss_pa.abs());
        state.holding = holding;
        state.flow -= conductance * excess.loss_pa;
        network.flow_change = network.flow_change.max((conductance * excess.loss_pa).abs());
        if holding.is_some() {
            network.slopes[index] = (0.0, conductance);
            if let Some(to) = link.to {
                network.matrix.add_diagonal(pattern, to, conductance);
                if let (Some(from), Some(slot)) = (link.from, link.slot) {
                    network.matrix.add_entry(pattern, slot, from, to, -conductance);
                }
            }
        } else {
            network.slopes[index] = (conductance, conductance);
            if link.from != link.to || link.from.is_none() {
                if let Some(from) = link.from {
                    network.matrix.add_diagonal(pattern, from, conductance);
                }
                if let Some(to) = link.to {
                    network.matrix.add_diagonal(pattern, to, conductance);
                }
                if let Some(slot) = link.slot {
                    network.matrix.add_pair(slot, -conductance);
                }
            }
        }
        if let Some(from) = link.from {
            network.right[from] -= state.flow;
        }
        if let Some(to) = link.to {
            network.right[to] += state.flow;
        }
    }
    worst
}

/// Opens a closed link that the pressures push open, with the law that rules it; nothing when it stays closed.
///
/// The law is taken by the chord from no flow to the flow that belongs to the pressures: the tangent there is so flat that
/// a step back would overshoot and close the link again, for ever. The misfit is what pushes.
fn reopen(law: &mut LinkLaw, state: &mut LinkState, from_pa: f64, to_pa: f64) -> Option<(Option<usize>, Point)> {
    let pushed = -law.ruler(from_pa, to_pa, 0.0).1.loss_pa;
    let scale = LEAST_SCALE_PA.max(from_pa.abs()).max(to_pa.abs());
    if pushed <= CLOSES_TO * scale {
        return None;
    }
    let found = law.flow_between(from_pa, to_pa, FIRST_FLOW);
    if found.flow_m3_per_s <= NO_FLOW {
        return None;
    }
    state.closed = false;
    state.flow = 0.0;
    let at_rest = law.excess(found.holding, from_pa, to_pa, 0.0);
    Some((found.holding, Point { slope: -at_rest.loss_pa / found.flow_m3_per_s, ..at_rest }))
}

/// Solves for the change of pressures and takes the step; links that would run backward close.
fn step(network: &mut Network, states: States) {
    let structure = &*network.structure;
    let symmetry = if network.regulated { Symmetry::General } else { Symmetry::Symmetric };
    network.matrix.solve(&structure.pattern, symmetry, &mut network.right, &mut network.scratch);
    for (pressure, change) in network.pressures_pa.iter_mut().zip(&network.right) {
        *pressure += change;
    }
    let mut shuts = false;
    for (index, link) in structure.links.iter().enumerate() {
        let state = &mut network.states[index];
        if state.closed {
            continue;
        }
        let (from_slope, to_slope) = network.slopes[index];
        let from_change = link.from.map_or(0.0, |node| network.right[node]);
        let to_change = link.to.map_or(0.0, |node| network.right[node]);
        let change = from_slope * from_change - to_slope * to_change;
        network.flow_change = network.flow_change.max(change.abs());
        state.flow += change;
        if states == States::Follow && network.link_laws[index].one_way && state.flow < NO_FLOW && state.holding.is_none() {
            // A flow of nothing leaves it open: what lies behind it may be about to open too.
            state.closed = state.flow < -NO_FLOW;
            shuts |= state.closed;
            state.flow = 0.0;
        }
    }
    if !network.regulated || states == States::Hold {
        return;
    }
    for state in network.states.iter_mut().filter(|state| state.holding.is_some() && !state.closed && state.flow < NO_FLOW) {
        // A regulator shuts last: what drove the water back through it may just have shut itself.
        state.closed = state.flow < -NO_FLOW && !shuts;
        state.flow = 0.0;
    }
}

/// The error that names the node whose balance is worst.
fn failure(network: &Network, iterations: usize) -> SolveError {
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
