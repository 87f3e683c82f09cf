//! How a pressure or flow of a solved circuit changes with any law of it.
//!
//! The adjoint way: the tangents of a Newton step at the solution, transposed, are solved once for a solution. That gives what
//! a change of every law is worth to it. Source: standard theory, such as M. B. Giles and N. A. Pierce, Flow, Turbulence and
//! Combustion 65 (2000).
//!
//! The derivative holds for small changes in which every valve keeps its state. Where one is just turning there is none.

use super::no_slope::NoSlope;
use super::probe::Probe;
use super::tangent::{Tangent, tangent, tied};
use super::trace::{form, loss_pa, scale_pa};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::Follows;
use crate::hydraulics::model::sparse::Symmetry;
use crate::hydraulics::solve::assemble::{Sense, add_tangent};
use crate::hydraulics::state::Supplied;
use crate::hydraulics::tolerances::{MOST_ROUNDS, SHORT_TIE, STALLS_AT, WEIGHTS_TO, WORTHLESS};
use crate::parts::Law;

/// What changes of all laws are worth to one solution.
#[derive(Clone, Debug)]
pub struct Slopes {
    worth: Vec<Worth>,
}

/// What the loss, the setting and the demand of a place are worth, and the flow at which its loss counts.
#[derive(Clone, Copy, Debug)]
struct Worth {
    loss: f64,
    set: f64,
    demand: f64,
    sign: f64,
    flow: f64,
}

/// What changes of laws are worth to a solution at the last solve, which must have succeeded; `node` lies downstream of its place.
///
/// Errors: [`NoSlope`] says why there are none.
pub fn slopes(circuit: &mut Circuit, probe: &Probe, node: usize) -> Result<Slopes, NoSlope> {
    let tied = tied(circuit);
    let scale = scale_pa(circuit);
    let tangents: Vec<Tangent> = (0..circuit.structure.links.len()).map(|link| tangent(circuit, link, &tied, scale)).collect();
    let form = form(circuit, probe, node, &tied)?;
    if let Some((link, _)) = form.flow.filter(|&(_, weight)| weight != 0.0)
        && super::split::undetermined(circuit).iter().flatten().any(|&split| split == link)
    {
        return Err(NoSlope::Undetermined);
    }
    let structure = &*circuit.structure;
    let untied_flow = |link: usize| {
        let link = &structure.links[link];
        [link.from, link.to].into_iter().flatten().any(|unknown| !tied[unknown])
    };
    // Trapped water does not move.
    let flow = form.flow.filter(|&(link, _)| !untied_flow(link));
    let (worth, pushes) = refined(circuit, &tangents, form.unknown, flow);
    let mut slopes = Slopes { worth: places(circuit) };
    let most = pushes.iter().fold(0.0f64, |most, push| most.max(push.abs()));
    for (index, link) in structure.links.iter().enumerate() {
        let (tangent, push) = (&tangents[index], pushes[index]);
        if let Some(kink) = tangent.kink.as_ref().filter(|_| push.abs() > WORTHLESS * most) {
            return Err(kink.clone());
        }
        let weight = push * tangent.conductance;
        link.steps[tangent.ruling.clone()].iter().for_each(|step| slopes.worth[step.place].loss += weight);
        if let Some(position) = tangent.holds {
            slopes.worth[link.steps[position].place].set -= weight;
        }
    }
    // A demand that is not met asks for more than it gets already.
    for &(unknown, place) in structure.demands.iter().filter(|(unknown, _)| circuit.state.supplied[*unknown] == Supplied::Full) {
        slopes.worth[place].demand -= worth[unknown];
    }
    for &(place, weight) in &form.losses {
        slopes.worth[place].loss += weight;
    }
    if let Some(place) = form.set {
        slopes.worth[place].set += 1.0;
    }
    if let Some(place) = form.demand {
        slopes.worth[place].demand += 1.0;
    }
    Ok(slopes)
}

impl Slopes {
    /// What these laws of places would be worth to the solution; of boosters `runs` says which work.
    pub fn weigh(&self, laws: &[(usize, Law)], runs: &[bool]) -> f64 {
        let one = |(place, law): &(usize, Law)| {
            let worth = &self.worth[*place];
            let mut sum = 0.0;
            if worth.loss != 0.0 {
                sum += worth.loss * loss_pa(law, runs[*place], worth.sign, worth.flow);
            }
            if let Some(set_pa) = law.holds_pa() {
                sum += worth.set * set_pa;
            }
            if let Law::Demand { flow_m3_per_s } = law {
                sum += worth.demand * flow_m3_per_s;
            }
            sum
        };
        laws.iter().map(one).sum()
    }
}

/// Places with direction and flow, worth nothing yet.
fn places(circuit: &Circuit) -> Vec<Worth> {
    let structure = &*circuit.structure;
    let of = |place: usize| {
        let flow = structure.link_of[place].map_or(0.0, |link| circuit.state.links[link].flow);
        Worth { loss: 0.0, set: 0.0, demand: 0.0, sign: if structure.forward[place] { 1.0 } else { -1.0 }, flow }
    };
    let mut worth: Vec<Worth> = (0..circuit.laws.len()).map(of).collect();
    for leg in &structure.still {
        worth[leg.place].sign = if leg.forward { 1.0 } else { -1.0 };
    }
    worth
}

/// What an inflow at each unknown is worth to the solution, and what pushes on each link.
///
/// The slope that stands in for one that is too small is taken back: what it is worth goes to the other side, as weights of the
/// flows of links that must come out as they went in. These are found by conjugate residuals (S. C. Eisenstat, H. C. Elman and
/// M. H. Schultz, SIAM J. Numer. Anal. 20 (1983), from memory), a solve a round. Where hoses alone lie beside such links a round
/// leaves some 1e-5 of the error, where links do that hardly lose more there are about as many rounds as such links.
fn refined(circuit: &Circuit, tangents: &[Tangent], unknown: Option<usize>, flow: Option<(usize, f64)>) -> (Vec<f64>, Vec<f64>) {
    let mut solution = vec![0.0; tangents.len()];
    if let Some((link, weight)) = flow {
        solution[link] = weight;
    }
    let mut found = Trial::of(circuit, tangents, unknown, &solution);
    // What the weights lack.
    let mut left: Vec<f64> = solution.iter().zip(&found.returned).map(|(solution, returned)| solution - returned).collect();
    let mut tried: Vec<Trial> = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let before = dot(&left, &left);
        if most(&left) <= WEIGHTS_TO * most(&found.pushes) {
            break;
        }
        let mut trial = Trial::of(circuit, tangents, None, &left);
        tried
            .iter()
            .for_each(|other| trial.add(-dot(&trial.returned, &other.returned) / dot(&other.returned, &other.returned), other));
        let size = dot(&trial.returned, &trial.returned);
        let share = dot(&left, &trial.returned) / size;
        if !(share.is_finite() && share != 0.0) {
            break;
        }
        found.add(share, &trial);
        left.iter_mut().zip(&trial.returned).for_each(|(left, returned)| *left -= share * returned);
        // Where nothing decides a split no weights are right.
        if dot(&left, &left) > STALLS_AT * before {
            break;
        }
        tried.push(trial);
    }
    (found.worth, found.pushes)
}

fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(one, other)| one * other).sum()
}

fn most(values: &[f64]) -> f64 {
    values.iter().fold(0.0f64, |most, value| most.max(value.abs()))
}

/// What weights of the flows of links make of inflows and links.
struct Trial {
    worth: Vec<f64>,
    pushes: Vec<f64>,
    /// The weights with what the slopes that stand in are worth.
    returned: Vec<f64>,
}

impl Trial {
    fn of(circuit: &Circuit, tangents: &[Tangent], unknown: Option<usize>, weights: &[f64]) -> Trial {
        let worth = adjoint(circuit, tangents, unknown, weights);
        let at = |end: Option<usize>| end.map_or(0.0, |unknown| worth[unknown]);
        let links = circuit.structure.links.iter().zip(weights);
        let pushes: Vec<f64> = links.map(|(link, weight)| at(link.from) - at(link.to) - weight).collect();
        let stands_in = |tangent: &Tangent| tangent.stand_in * tangent.conductance;
        let parts = weights.iter().zip(tangents).zip(&pushes);
        let returned = parts.map(|((weight, tangent), push)| weight + stands_in(tangent) * push).collect();
        Trial { worth, pushes, returned }
    }

    fn add(&mut self, share: f64, other: &Trial) {
        let lists = [(&mut self.worth, &other.worth), (&mut self.pushes, &other.pushes), (&mut self.returned, &other.returned)];
        for (own, others) in lists {
            own.iter_mut().zip(others).for_each(|(own, other)| *own += share * other);
        }
    }
}

/// Solves the transposed tangents for what an inflow at each unknown is worth, with these weights of the flows of links.
fn adjoint(circuit: &Circuit, tangents: &[Tangent], unknown: Option<usize>, weights: &[f64]) -> Vec<f64> {
    let structure = &*circuit.structure;
    let pattern = &structure.pattern;
    let mut matrix = pattern.matrix();
    let mut right = vec![0.0; structure.unknowns.len()];
    let mut symmetry = Symmetry::Symmetric;
    for (&ends, tangent) in structure.ends.iter().zip(tangents).filter(|(_, tangent)| tangent.conductance != 0.0) {
        add_tangent(&mut matrix, ends, tangent.follows, tangent.conductance, Sense::Adjoint);
        if tangent.follows != Follows::Both {
            symmetry = Symmetry::General;
        }
    }
    for unknown in (0..right.len()).filter(|&unknown| circuit.state.supplied[unknown] == Supplied::Short) {
        matrix.add_diagonal(unknown, SHORT_TIE);
    }
    if let Some(unknown) = unknown {
        right[unknown] += 1.0;
    }
    for ((link, tangent), weight) in structure.links.iter().zip(tangents).zip(weights) {
        // In a ring both ends are one pressure: what it adds at one it takes at the other, but a regulator minds only the far one,
        // and water that parts only the near one.
        if let Some(from) = link.from.filter(|_| tangent.follows.from()) {
            right[from] += weight * tangent.conductance;
        }
        if let Some(to) = link.to.filter(|_| tangent.follows.to()) {
            right[to] -= weight * tangent.conductance;
        }
    }
    matrix.solve(pattern, symmetry, &mut right);
    right
}
