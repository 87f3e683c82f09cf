//! Sensitivities: how a pressure or flow of a solved garden changes with any number of any part.
//!
//! The adjoint way: the tangents of a Newton step at the solution, transposed, are solved once for a reading. That gives what
//! a change of every law is worth to it; how a law changes with a number is a difference of the law alone, without any
//! further solve. Source: standard theory, such as M. B. Giles and N. A. Pierce, Flow, Turbulence and Combustion 65 (2000).
//!
//! The derivative holds for small changes in which every valve keeps its state. Where one is just turning there is none.

use super::link::{Follows, Rule};
use super::network::{Network, Probe};
use super::parting::Supplied;
use super::sparse::Symmetry;
use super::structure::Step;
use super::trace::{TURNS_WITHIN, form, loss_pa, loss_slope, scale_pa};
use crate::garden::Garden;
use crate::parts::{Id, Law, Part};
use crate::quantity::find_unit;
use std::ops::Range;
use thiserror::Error;

/// Why a derivative does not exist.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum NoSlope {
    #[error("no supply reaches it")]
    NotFed,
    #[error("water is trapped there between shut valves")]
    Trapped,
    /// A valve, regulator or outlet changes its state right here.
    #[error("'{name}' is just about to open, shut or change its hold")]
    Turning { place: usize, name: String },
    /// A pipe between two regimes, or a booster at a point of its curve.
    #[error("'{name}' works just at a corner of its law")]
    Corner { place: usize, name: String },
    #[error("'{name}' gets only what comes: water parts on the way to it")]
    Short { place: usize, name: String },
    #[error("nothing decides how the flow is split there: several ways lose no pressure")]
    Undetermined,
    #[error("the number is not given")]
    NotGiven,
    #[error("'{name}' is closed as long as its flow is nothing")]
    Closed { place: usize, name: String },
    #[error("'{name}' allows no other value nearby")]
    Refused { place: usize, name: String },
}

impl NoSlope {
    pub(super) fn turning(place: usize) -> NoSlope {
        NoSlope::Turning { place, name: String::new() }
    }

    /// The reason with the name that the part has in its garden.
    pub fn named(mut self, garden: &Garden) -> NoSlope {
        if let NoSlope::Turning { place, name }
        | NoSlope::Corner { place, name }
        | NoSlope::Closed { place, name }
        | NoSlope::Short { place, name }
        | NoSlope::Refused { place, name } = &mut self
        {
            *name = garden.name(*place).to_string();
        }
        self
    }
}

/// What changes of all laws are worth to one reading.
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

/// Slope that stands in for a smaller one, Pa s/m3: 1e-5 of those of hoses, so that rounding takes little.
const LEAST_SLOPE: f64 = 1e4;
/// What ties a node whose draws go short to its pressure, m3/s/Pa. A link conducts at most 1 / [`LEAST_SLOPE`]: that over this, 1e-13, is
/// the share of a change that gets past the tie.
const SHORT_TIE: f64 = 1e9;
/// Rounds in which a slope that stands in is taken back.
const MOST_ROUNDS: usize = 30;
/// A round that leaves more than this share of the square of what is lacking brings nothing.
const STALLS_AT: f64 = 0.999;
/// Flow that counts as nothing in a one-way link, m3/s.
const NO_FLOW: f64 = 1e-12;
/// Reynolds numbers and flows closer to a corner of a law than this share count as being at it.
const CORNER_WITHIN: f64 = 2e-5;
/// A change of slope by more than this share across a corner is one: smooth pieces change by some 1e-4.
const TABLE_CORNER: f64 = 5e-4;
/// Step of a difference of a law, as a share of the number; in its usual unit where it is zero. The error of a central
/// difference is then near 1e-10 of the derivative, by the third derivative and by rounding alike.
const STEP: f64 = 6e-6;
/// A link that is just turning does not matter where its flow is worth less than this share of the largest worth: rounding.
const WORTHLESS: f64 = 1e-15;

/// The tangent of a link at the solution.
struct Tangent {
    /// Derivative of the flow to the excess of pressure; zero for a link that nothing flows through.
    conductance: f64,
    /// The ends whose pressures it follows.
    follows: Follows,
    /// The step of the regulator that holds.
    holds: Option<usize>,
    /// The steps whose losses rule the flow.
    ruling: Range<usize>,
    /// What its slope has too much, where one stands in for it, Pa s/m3.
    stand_in: f64,
    /// Why it has no tangent, if so.
    kink: Option<NoSlope>,
}

impl Network {
    /// The derivatives of a reading at the last solve, which must have succeeded.
    ///
    /// Errors: [`NoSlope`] tells why there are none. Boosters keep running or resting as they do.
    pub fn slopes(&mut self, probe: &Probe) -> Result<Slopes, NoSlope> {
        let tied = tied(self);
        let scale = scale_pa(self);
        let tangents: Vec<Tangent> = (0..self.structure.links.len()).map(|link| tangent(self, link, &tied, scale)).collect();
        let form = form(self, probe, &tied)?;
        if let Some((link, _)) = form.flow.filter(|&(_, weight)| weight != 0.0)
            && super::split::undetermined(self).iter().flatten().any(|&split| split == link)
        {
            return Err(NoSlope::Undetermined);
        }
        let structure = &*self.structure;
        let untied_flow = |link: usize| {
            let link = &structure.links[link];
            [link.from, link.to].into_iter().flatten().any(|unknown| !tied[unknown])
        };
        // Trapped water does not move.
        let flow = form.flow.filter(|&(link, _)| !untied_flow(link));
        let (worth, pushes) = refined(self, &tangents, form.unknown, flow);
        let mut slopes = Slopes { worth: places(self) };
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
        // A draw that is not met asks for more than it gets already.
        for &(unknown, place) in structure.draws.iter().filter(|(unknown, _)| self.supplied[*unknown] == Supplied::Full) {
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
}

impl Slopes {
    /// The derivative to a number of a part, SI over SI; exactly zero where the number has no effect.
    ///
    /// `network` is the one the slopes were taken from. Accurate to about 1e-8. Errors: [`NoSlope`].
    pub fn to(&self, network: &Network, place: usize, number: Id) -> Result<f64, NoSlope> {
        let part = &network.parts[place];
        let value = part.value(number);
        if value.is_nan() {
            return Err(NoSlope::NotGiven);
        }
        if matches!(network.laws[place], Law::Shut) && network.structure.link_of[place].is_some() {
            return Err(NoSlope::Closed { place, name: String::new() });
        }
        let step = STEP * if value == 0.0 { unit_of(part, number) } else { value.abs() };
        let at = |steps: f64| self.worth_at(network, place, number, value + steps * step);
        let here = || at(0.0).unwrap_or(0.0);
        let per_step = match (at(-1.0), at(1.0)) {
            (Some(below), Some(above)) => 0.5 * (above - below),
            // Where one side is forbidden, the other one to the second order.
            (None, Some(above)) => at(2.0).map_or(f64::NAN, |beyond| 1.5 * (above - here()) - 0.5 * (beyond - above)),
            (Some(below), None) => at(-2.0).map_or(f64::NAN, |beyond| 1.5 * (here() - below) - 0.5 * (below - beyond)),
            (None, None) => f64::NAN,
        };
        if per_step.is_nan() { Err(NoSlope::Refused { place, name: String::new() }) } else { Ok(per_step / step) }
    }

    /// What the laws that a number touches are worth at a value of it; nothing where the part refuses the value.
    fn worth_at(&self, network: &Network, place: usize, number: Id, si: f64) -> Option<f64> {
        let laws = network.laws_at(place, number, si).ok()?;
        let one = |(place, law): &(usize, Law)| {
            let worth = &self.worth[*place];
            let mut sum = 0.0;
            if worth.loss != 0.0 {
                sum += worth.loss * loss_pa(law, network.runs[*place], worth.sign, worth.flow);
            }
            if let Law::Regulator { set_pa, .. } | Law::RegulatedOrifice { set_pa, .. } = law {
                sum += worth.set * set_pa;
            }
            if let Law::Demand { flow_m3_per_s } = law {
                sum += worth.demand * flow_m3_per_s;
            }
            sum
        };
        Some(laws.iter().map(one).sum())
    }
}

/// The SI size of one usual unit of a number.
fn unit_of(part: &Part, number: Id) -> f64 {
    part.spec().number(number).and_then(|number| find_unit(number.unit)).map_or(1.0, |unit| unit.to_si(1.0) - unit.to_si(0.0))
}

/// Places with direction and flow, worth nothing yet.
fn places(network: &Network) -> Vec<Worth> {
    let structure = &*network.structure;
    let of = |place: usize| {
        let flow = structure.link_of[place].map_or(0.0, |link| network.states[link].flow);
        Worth { loss: 0.0, set: 0.0, demand: 0.0, sign: if structure.forward[place] { 1.0 } else { -1.0 }, flow }
    };
    let mut worth: Vec<Worth> = (0..network.parts.len()).map(of).collect();
    for leg in &structure.still {
        worth[leg.place].sign = if leg.forward { 1.0 } else { -1.0 };
    }
    worth
}

/// What an inflow at each unknown is worth to the reading, and what pushes on each link.
///
/// The slope that stands in for one that is too small is taken back: what it is worth goes to the other side, as weights of the
/// flows of links that must come out as they went in. These are found by conjugate residuals (S. C. Eisenstat, H. C. Elman and
/// M. H. Schultz, SIAM J. Numer. Anal. 20 (1983), from memory), a solve a round. Where hoses alone lie beside such links a round
/// leaves some 1e-5 of the error, where links do that hardly lose more there are about as many rounds as such links.
fn refined(network: &Network, tangents: &[Tangent], unknown: Option<usize>, flow: Option<(usize, f64)>) -> (Vec<f64>, Vec<f64>) {
    let mut reading = vec![0.0; tangents.len()];
    if let Some((link, weight)) = flow {
        reading[link] = weight;
    }
    let mut found = Trial::of(network, tangents, unknown, &reading);
    // What the weights lack.
    let mut left: Vec<f64> = reading.iter().zip(&found.returned).map(|(reading, returned)| reading - returned).collect();
    let mut tried: Vec<Trial> = Vec::new();
    for _ in 0..MOST_ROUNDS {
        let before = dot(&left, &left);
        if most(&left) <= 1e-14 * most(&found.pushes) {
            break;
        }
        let mut trial = Trial::of(network, tangents, None, &left);
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
    fn of(network: &Network, tangents: &[Tangent], unknown: Option<usize>, weights: &[f64]) -> Trial {
        let worth = adjoint(network, tangents, unknown, weights);
        let at = |end: Option<usize>| end.map_or(0.0, |unknown| worth[unknown]);
        let links = network.structure.links.iter().zip(weights);
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
fn adjoint(network: &Network, tangents: &[Tangent], unknown: Option<usize>, weights: &[f64]) -> Vec<f64> {
    let structure = &*network.structure;
    let pattern = &structure.pattern;
    let mut matrix = pattern.matrix();
    let mut right = vec![0.0; structure.unknowns.len()];
    let mut symmetry = Symmetry::Symmetric;
    for (link, tangent) in structure.links.iter().zip(tangents) {
        let conductance = tangent.conductance;
        if conductance == 0.0 || (link.from == link.to && link.from.is_some()) {
            continue;
        }
        if let Some(to) = link.to.filter(|_| tangent.follows.to()) {
            matrix.add_diagonal(to, conductance);
        }
        if let Some(from) = link.from.filter(|_| tangent.follows.from()) {
            matrix.add_diagonal(from, conductance);
        }
        let (Some(from), Some(to), Some(slot)) = (link.from, link.to, link.slot) else { continue };
        match tangent.follows {
            Follows::Both => matrix.add_pair(slot, -conductance),
            Follows::To => matrix.add_entry(slot, to, from, -conductance),
            Follows::From => matrix.add_entry(slot, from, to, -conductance),
            Follows::Neither => {}
        }
        if tangent.follows != Follows::Both {
            symmetry = Symmetry::General;
        }
    }
    for unknown in (0..right.len()).filter(|&unknown| network.supplied[unknown] == Supplied::Short) {
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

/// The tangent of a link, and whether it has one.
fn tangent(network: &mut Network, index: usize, tied: &[bool], scale_pa: f64) -> Tangent {
    let structure = &*network.structure;
    let (link, law, state) = (&structure.links[index], &mut network.link_laws[index], network.states[index]);
    let shut = |kink: Option<NoSlope>| Tangent {
        conductance: 0.0,
        follows: Follows::Both,
        holds: None,
        ruling: 0..0,
        stand_in: 0.0,
        kink,
    };
    if law.blocked {
        return shut(None);
    }
    let near_pa = TURNS_WITHIN * scale_pa;
    let from_pa = link.from.map_or(0.0, |node| network.pressures_pa[node]);
    let to_pa = link.to.map_or(0.0, |node| network.pressures_pa[node]);
    let gate = |turns: fn(&Law) -> bool| link.steps.iter().find(|step| turns(&network.laws[step.place])).map(|step| step.place);
    if state.closed || (law.one_way && state.flow.abs() <= NO_FLOW) {
        let loose = [link.from, link.to].into_iter().flatten().any(|node| !tied[node]);
        let about_to_flow = law.ruler(from_pa, to_pa, 0.0).1.loss_pa <= near_pa
            || (!law.one_way && law.backward_ruler_at_rest(from_pa, to_pa).1.loss_pa >= -near_pa);
        let turning = !loose && about_to_flow;
        let place = gate(Law::is_one_way).unwrap_or(link.steps[0].place);
        return shut(turning.then(|| NoSlope::turning(place)));
    }
    let regulates = |&at: &usize| match &network.laws[link.steps[at].place] {
        Law::Regulator { .. } => link.steps[at].forward,
        Law::RegulatedOrifice { .. } => true,
        _ => false,
    };
    let regulators: Vec<usize> = (0..link.steps.len()).filter(regulates).collect();
    let follows = law.follows(state.holding);
    let holds = law.holds(state.holding).map(|regulator| regulators[regulator]);
    // A regulator rules by what lies behind it; one that is part of an outlet, by the nozzle behind it.
    let first = holds.map_or(0, |at| match &network.laws[link.steps[at].place] {
        Law::RegulatedOrifice { .. } => at,
        _ => at + 1,
    });
    // Where water parts, what lies upstream of that rules.
    let ruling = match law.parted_step(state.holding) {
        Some((gap, true)) => first..gap,
        Some((gap, false)) => gap + 1..link.steps.len(),
        None => first..link.steps.len(),
    };
    let signed = |step: &Step| (step.place, if step.forward { 1.0 } else { -1.0 });
    let mut kink = corner(network, link.steps.iter().map(signed), state.flow);
    // Summed afresh: the law of the link keeps slopes of flows nearby, which are good enough for its steps alone.
    let signed_ruling = link.steps[ruling.clone()].iter().map(signed);
    let slope_of = |(place, sign): (usize, f64)| loss_slope(&network.laws[place], network.runs[place], sign, state.flow);
    let slope: f64 = signed_ruling.map(slope_of).sum();
    let law = &mut network.link_laws[index];
    let forward = state.flow >= 0.0;
    let others = std::iter::once(None).chain(law.rules(forward).map(Some)).filter(|other| *other != state.holding);
    for candidate in others.collect::<Vec<_>>() {
        let excess_pa = law.excess(candidate, from_pa, to_pa, state.flow).loss_pa;
        if (if forward { excess_pa } else { -excess_pa }) > -near_pa {
            let step = |rule: Rule| match rule {
                Rule::Regulator(regulator) => regulators[regulator],
                Rule::Parted(_) => law.parted_step(Some(rule)).map_or(0, |(step, _)| step),
            };
            let turning = candidate.or(state.holding).map_or(0, |rule| link.steps[step(rule)].place);
            kink = Some(NoSlope::turning(turning));
        }
    }
    let steep = slope.max(LEAST_SLOPE);
    Tangent { conductance: 1.0 / steep, follows, holds, ruling, stand_in: steep - slope, kink }
}

/// The part whose law has a corner at this flow.
fn corner(network: &Network, steps: impl Iterator<Item = (usize, f64)>, flow: f64) -> Option<NoSlope> {
    use crate::laws::friction::{LAMINAR_UP_TO, TURBULENT_FROM};
    let near = |value: f64, corner: f64| (value - corner).abs() <= CORNER_WITHIN * corner.abs();
    for (place, sign) in steps {
        let at_corner = match &network.laws[place] {
            Law::Friction { pipe, .. } => {
                let reynolds = pipe.reynolds(flow);
                near(reynolds, LAMINAR_UP_TO) || near(reynolds, TURBULENT_FROM)
            }
            Law::Booster { curve } if network.runs[place] => curve.corners().any(|corner| near(sign * flow, corner)),
            law @ (Law::Tabulated { .. } | Law::Soaker { .. }) => {
                let slope = |share: f64| loss_slope(law, false, sign, flow * share);
                (slope(1.0 + CORNER_WITHIN) / slope(1.0 - CORNER_WITHIN) - 1.0).abs() > TABLE_CORNER
            }
            _ => false,
        };
        if at_corner {
            return Some(NoSlope::Corner { place, name: String::new() });
        }
    }
    None
}

/// Which unknowns the air or a source ties to a pressure through what is open.
fn tied(network: &Network) -> Vec<bool> {
    let structure = &*network.structure;
    // A node whose draws go short stands at vapor pressure.
    let mut tied: Vec<bool> = network.supplied.iter().map(|supplied| *supplied == Supplied::Short).collect();
    let shut = |index: usize| {
        let (law, state) = (&network.link_laws[index], &network.states[index]);
        law.blocked || state.closed || (law.one_way && state.flow.abs() <= NO_FLOW)
    };
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate().filter(|(index, _)| !shut(*index)) {
            let follows = network.link_laws[index].follows(network.states[index].holding);
            let known = |end: Option<usize>, tied: &[bool]| end.is_none_or(|node| tied[node]);
            if let Some(to) = link.to.filter(|&to| !tied[to] && follows.to())
                && (known(link.from, &tied) || !follows.from())
            {
                tied[to] = true;
                spreads = true;
            }
            if let Some(from) = link.from.filter(|&from| !tied[from] && follows.from())
                && (known(link.to, &tied) || !follows.to())
            {
                tied[from] = true;
                spreads = true;
            }
        }
    }
    tied
}
