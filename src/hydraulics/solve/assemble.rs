//! The balances of a step: the tangents of all links put together into one sparse matrix.
//!
//! Newton's method, relaxation and the adjoint of sensitivities all put their tangents together by [`add_tangent`].

use super::{parting, taps};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::ends::Ends;
use crate::hydraulics::model::link::{Follows, LinkLaw, Point, Rule};
use crate::hydraulics::model::sparse::Matrix;
use crate::hydraulics::state::{LinkState, States};
use crate::hydraulics::tolerances::{CLOSES_TO, FIRST_FLOW, LEAST_SCALE_PA, Tolerances};

/// Which way a matrix is read.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// Rows are balances of nodes, columns their pressures.
    Balances,
    /// The other way round.
    Adjoint,
}

/// Adds a link whose flow follows the pressures at its ends by a conductance, m3/s/Pa.
///
/// What flows round a ring leaves its one node as it came, so it adds nothing.
#[inline]
pub fn add_tangent(matrix: &mut Matrix, ends: Ends, follows: Follows, conductance: f64, sense: Sense) {
    if ends.is_ring() {
        return;
    }
    if follows != Follows::Both {
        return add_ruled(matrix, ends, follows, conductance, sense);
    }
    if let Some(from) = ends.from() {
        matrix.add_diagonal(from, conductance);
    }
    if let Some(to) = ends.to() {
        matrix.add_diagonal(to, conductance);
    }
    if let Some(slot) = ends.slot() {
        matrix.add_pair(slot, -conductance);
    }
}

/// Adds a link that follows the pressure at one of its ends alone, or at neither.
fn add_ruled(matrix: &mut Matrix, ends: Ends, follows: Follows, conductance: f64, sense: Sense) {
    if follows == Follows::Neither {
        return;
    }
    let (own, other) = if follows.from() { (ends.from(), ends.to()) } else { (ends.to(), ends.from()) };
    let Some(own) = own else { return };
    matrix.add_diagonal(own, conductance);
    let (Some(other), Some(slot)) = (other, ends.slot()) else { return };
    match sense {
        Sense::Balances => matrix.add_entry(slot, other, own, -conductance),
        Sense::Adjoint => matrix.add_entry(slot, own, other, -conductance),
    }
}

/// Adds what a link carries to the imbalances of its ends.
#[inline]
pub fn add_flow(right: &mut [f64], ends: Ends, flow: f64) {
    if let Some(from) = ends.from() {
        right[from] -= flow;
    }
    if let Some(to) = ends.to() {
        right[to] += flow;
    }
}

/// Assembles tangents and imbalances; returns the largest misfit of pressure along a link.
pub fn linearize(circuit: &mut Circuit, states: States) -> f64 {
    let least_slope = circuit.stand_in_slope();
    let Circuit { structure, link_laws, state, work, tolerances, demands, .. } = circuit;
    work.matrix.clear();
    for (right, demand) in work.right.iter_mut().zip(&*demands) {
        *right = -demand;
    }
    work.flow_change = 0.0;
    let mut worst: f64 = 0.0;
    let pressures = &state.pressures_pa;
    for (index, &ends) in structure.ends.iter().enumerate() {
        let (law, link) = (&mut link_laws[index], &mut state.links[index]);
        let from_pa = ends.from().map_or(0.0, |node| pressures[node]);
        let to_pa = ends.to().map_or(0.0, |node| pressures[node]);
        work.slopes[index] = (0.0, 0.0);
        let (before, was_closed) = (link.flow, link.closed);
        let Some((holding, excess)) = ruled(law, link, (from_pa, to_pa), states, tolerances) else {
            work.turned |= link.closed != was_closed;
            continue;
        };
        let chord = if tolerances.by_chords { law.chord_slope(holding, excess.loss_pa) } else { 0.0 };
        let conductance = 1.0 / excess.slope.max(least_slope).max(chord);
        worst = worst.max(excess.loss_pa.abs());
        work.turned |= was_closed || link.holding != holding;
        link.holding = holding;
        link.flow -= conductance * excess.loss_pa;
        if tolerances.by_chords {
            work.moved[index] = link.flow - before;
        } else {
            work.flow_change = work.flow_change.max((conductance * excess.loss_pa).abs());
        }
        let follows = if holding.is_none() { Follows::Both } else { law.follows(holding) };
        work.slopes[index] = (if follows.from() { conductance } else { 0.0 }, if follows.to() { conductance } else { 0.0 });
        add_tangent(&mut work.matrix, ends, follows, conductance, Sense::Balances);
        add_flow(&mut work.right, ends, link.flow);
    }
    taps::linearize(circuit, states);
    if circuit.state.parts_water {
        worst = worst.max(parting::linearize_demands(circuit));
    }
    worst
}

/// The law that rules a link, with what its flow is too large for it; none where nothing flows.
#[inline]
fn ruled(
    law: &mut LinkLaw,
    link: &mut LinkState,
    (from_pa, to_pa): (f64, f64),
    states: States,
    tolerances: &Tolerances,
) -> Option<(Option<Rule>, Point)> {
    let closes_below = tolerances.closes_below;
    if law.blocked {
        (link.flow, link.closed) = (0.0, true);
        return None;
    }
    if link.closed {
        return if states == States::Hold { None } else { reopen(law, link, (from_pa, to_pa), closes_below) };
    }
    if law.steep && tolerances.by_chords && link.flow.abs() > closes_below {
        let (holding, excess) = match states {
            States::Hold => (link.holding, law.excess(link.holding, from_pa, to_pa, link.flow)),
            States::Follow => law.ruler(from_pa, to_pa, link.flow),
        };
        if law.is_near(excess, link.flow) && !(law.one_way && link.flow <= closes_below) {
            return Some((holding, excess));
        }
    }
    if law.steep {
        link.flow = law.nearest(from_pa, to_pa, link.flow);
    }
    if states == States::Hold {
        return Some((link.holding, law.excess(link.holding, from_pa, to_pa, link.flow)));
    }
    if law.steep && law.one_way && link.flow <= closes_below {
        (link.flow, link.closed) = (0.0, true);
        return None;
    }
    Some(law.ruler(from_pa, to_pa, link.flow))
}

/// Opens a closed link that the pressures push open, with the law that rules it; none when it stays closed.
///
/// The law is taken by the chord from no flow to the flow that belongs to the pressures: the tangent there is so flat that
/// a step back would overshoot and close the link again, for ever. The misfit is what pushes.
fn reopen(
    law: &mut LinkLaw,
    state: &mut LinkState,
    (from_pa, to_pa): (f64, f64),
    closes_below: f64,
) -> Option<(Option<Rule>, Point)> {
    if !law.pushes_open(from_pa, to_pa, CLOSES_TO * LEAST_SCALE_PA.max(from_pa.abs()).max(to_pa.abs())) {
        return None;
    }
    let found = law.flow_between(from_pa, to_pa, FIRST_FLOW);
    if found.flow_m3_per_s.abs() <= closes_below {
        return None;
    }
    state.closed = false;
    state.flow = 0.0;
    let at_rest = law.excess(found.holding, from_pa, to_pa, 0.0);
    Some((found.holding, Point { slope: -at_rest.loss_pa / found.flow_m3_per_s, ..at_rest }))
}
