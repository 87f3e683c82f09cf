//! From a solution to hoses with waves in them, the places where they meet, and the parts without length between those.
//!
//! Everything connected with the valve through open parts is taken in, also side branches and other zones that
//! run. Pressures and flows of the solution are the state at the start, and losses are fitted to them, so that nothing moves
//! until the valve does. A hose too short for a wave to be followed in it is a lump: its mass and its loss stand between its
//! ends, half of what it stretches and compresses at either end.

use super::hose::{Hose, hose_of, is_lump, number_of_stretches};
use super::node::{Element, End, Group, Node};
use crate::garden::Garden;
use crate::garden::walk::Passage;
use crate::hydraulics::{NO_FLOW_M3_PER_S, Solution};
use crate::laws::section::area_m2;
use crate::laws::vessel::Held;
use crate::parts::{Id, Law, Placing, Terms};
use std::collections::VecDeque;
use std::sync::Arc;

/// The line ready for the march.
pub struct Model {
    pub conduits: Vec<Conduit>,
    pub nodes: Vec<Node>,
    pub elements: Vec<Element>,
    pub groups: Vec<Group>,
    /// For each node of the layout its place in `nodes` and by how much its pressure lies above that; nothing outside.
    pub at: Vec<Option<(usize, f64)>>,
    pub step_s: f64,
    /// The place that the valve takes its water from, and the one it gives it to if that is part of the model.
    pub valve_from: usize,
    /// Pressure just upstream of the valve above that of the place, Pa.
    pub valve_higher_pa: f64,
    pub valve_to: Option<usize>,
    pub valve_flow: f64,
}

impl Model {
    /// The rise when the valve closes at once, Pa: its flow over the sum of A/(rho a) of the hoses that meet before it. With a
    /// single hose that is Joukowsky's. None where a tank stands there.
    pub fn rise_at_once_pa(&self, garden: &Garden) -> Option<f64> {
        let places = &garden.layout().places;
        let meets = |node: usize| self.at[node].is_some_and(|(node, _)| node == self.valve_from);
        let give = |place: usize| {
            let hose = hose_of(garden, place)?;
            let ends = [places[place].from, places[place].to].into_iter().filter(|&node| meets(node)).count();
            let area = area_m2(garden.parts()[place].value(Id::Diameter));
            Some(ends as f64 * area / (garden.water().density_kg_per_m3 * hose.wave_speed_m_per_s))
        };
        let all: f64 = (0..places.len()).filter_map(give).sum();
        (self.nodes[self.valve_from].tanks.is_empty() && all > 0.0).then(|| self.valve_flow / all)
    }

    /// Points along all hoses.
    pub fn number_of_points(&self) -> usize {
        self.conduits.iter().map(|conduit| conduit.n + 1).sum()
    }

    /// What a step costs, in points of a hose worked out.
    pub fn work_of_step(&self) -> f64 {
        self.number_of_points() as f64 + self.groups.iter().map(Group::work).sum::<f64>()
    }
}

/// The node upstream of a valve and that downstream of it, in the direction of the water; none where the valve has no flow.
fn ends_of_valve(solution: &Solution, valve: usize) -> Option<(usize, usize)> {
    let joint = &solution.garden.layout().places[valve];
    match solution.parts[valve].flow_m3_per_s {
        flow if flow.abs() <= NO_FLOW_M3_PER_S => None,
        flow if flow > 0.0 => Some((joint.from, joint.to)),
        _ => Some((joint.to, joint.from)),
    }
}

/// What the water upstream of a valve reaches.
pub struct Surroundings {
    /// Hoses and pipes.
    pub hoses: Vec<Hose>,
    /// How long a wave takes to the place that is farthest from the valve, s.
    pub farthest_s: f64,
}

/// What the water upstream of a valve reaches. Nothing where the valve has no flow.
pub fn surroundings(solution: &Solution, valve: usize) -> Option<Surroundings> {
    let (before, _) = ends_of_valve(solution, valve)?;
    let inside = region(solution, valve, before);
    let garden = &solution.garden;
    let places = &garden.layout().places;
    let reached = |place: &usize| solution.open[*place] && inside[places[*place].from] && inside[places[*place].to];
    let travel_s: Vec<Option<f64>> = (0..places.len())
        .map(|place| Some(place).filter(reached).and_then(|place| hose_of(garden, place)).map(|h| h.travel_s))
        .collect();
    // A node is looked at again when a shorter way to it is found.
    let joined = garden.layout().joined();
    let mut arrival_s = vec![f64::INFINITY; inside.len()];
    arrival_s[before] = 0.0;
    let mut queue = VecDeque::from([before]);
    while let Some(node) = queue.pop_front() {
        for &place in joined[node].iter().filter(|&&place| place != valve && reached(&place)) {
            let joint = &places[place];
            let far = if joint.from == node { joint.to } else { joint.from };
            let there_s = arrival_s[node] + travel_s[place].unwrap_or(0.0);
            if there_s < arrival_s[far] {
                arrival_s[far] = there_s;
                queue.push_back(far);
            }
        }
    }
    let farthest_s = arrival_s.into_iter().filter(|time_s| time_s.is_finite()).fold(0.0, f64::max);
    let hoses = (0..places.len()).filter(reached).filter_map(|place| hose_of(garden, place)).collect();
    Some(Surroundings { hoses, farthest_s })
}

/// The model of what stands upstream of a valve; `step_s` is the time step. Nothing where the valve has no flow.
pub fn model(solution: &Solution, valve: usize, step_s: f64) -> Option<Model> {
    let garden = &solution.garden;
    let valve_flow = solution.parts[valve].flow_m3_per_s;
    let (before, downstream) = ends_of_valve(solution, valve)?;
    let inside = region(solution, valve, before);
    let merged = merge(solution, valve, &inside, step_s);
    let mut model = Model {
        conduits: Vec::new(),
        nodes: merged
            .pressures_pa
            .iter()
            .map(|&pressure_pa| Node { pressure_pa, before_pa: pressure_pa, ..Node::default() })
            .collect(),
        elements: Vec::new(),
        groups: Vec::new(),
        step_s,
        valve_from: merged.at[before]?.0,
        valve_higher_pa: merged.at[before]?.1,
        valve_to: merged.at[downstream].map(|(node, _)| node),
        valve_flow: valve_flow.abs(),
        at: merged.at,
    };
    for place in (0..garden.parts().len()).filter(|&place| place != valve) {
        add(&mut model, solution, place);
    }
    model.groups = groups(&mut model.nodes, &model.elements);
    Some(model)
}

/// Nodes of the layout that are connected with `start` through open parts.
fn region(solution: &Solution, valve: usize, start: usize) -> Vec<bool> {
    let mut walk = solution.garden.walk();
    let passes = |passage: &Passage| {
        let there = !solution.node_pa[passage.to].is_nan();
        (solution.open[passage.place] && passage.place != valve && there).then_some(())
    };
    walk.from([start], passes).for_each(drop);
    walk.seen()
}

struct Merged {
    at: Vec<Option<(usize, f64)>>,
    pressures_pa: Vec<f64>,
}

/// Joins nodes of the layout between which no pressure is lost: elevation changes and parts without loss.
fn merge(solution: &Solution, valve: usize, inside: &[bool], step_s: f64) -> Merged {
    let mut at: Vec<Option<(usize, f64)>> = vec![None; inside.len()];
    let mut pressures_pa = Vec::new();
    let mut walk = solution.garden.walk();
    let free = |passage: &Passage| {
        let place = passage.place;
        (place != valve && solution.open[place] && inside[passage.to] && is_free(solution, place, step_s)).then_some(())
    };
    for start in (0..inside.len()).filter(|&node| inside[node]) {
        if walk.has_seen(start) {
            continue;
        }
        let index = pressures_pa.len();
        pressures_pa.push(solution.node_pa[start]);
        at[start] = Some((index, 0.0));
        for (passage, ()) in walk.from([start], free) {
            at[passage.to] = Some((index, solution.node_pa[passage.to] - solution.node_pa[start]));
        }
    }
    Merged { at, pressures_pa }
}

/// True for parts in line that lose nothing whatever the flow, or only height.
fn is_free(solution: &Solution, place: usize, step_s: f64) -> bool {
    let part = &solution.garden.parts()[place];
    if part.spec().placing != Placing::Inline || is_conduit(&solution.garden, place, step_s) {
        return false;
    }
    match solution.garden.law_of(place) {
        Law::Free | Law::Climb { .. } => true,
        Law::Quadratic { resistance } => resistance <= 0.0,
        Law::Booster { .. } => !solution.runs[place],
        _ => false,
    }
}

/// True for hoses long enough for waves; shorter ones are lumps.
fn is_conduit(garden: &Garden, place: usize, step_s: f64) -> bool {
    hose_of(garden, place).is_some_and(|hose| !is_lump(&hose, step_s))
}

/// Adds a part to the model, if both its ends are in it.
fn add(model: &mut Model, solution: &Solution, place: usize) {
    let garden = &solution.garden;
    let (part, joint, state) = (&garden.parts()[place], &garden.layout().places[place], &solution.parts[place]);
    let (Some(from), Some(to)) = (model.at[joint.from], model.at[joint.to]) else { return };
    let flow = state.flow_m3_per_s;
    if is_conduit(garden, place, model.step_s) {
        return model.conduits.extend(conduit(model, solution, place));
    }
    if let (true, Some(vessel)) = (part.spec().has_cushion(), part.vessel()) {
        return model.nodes[to.0].tanks.push(Held { vessel, offset_pa: to.1 });
    }
    let end = |(index, higher_pa): (usize, f64)| End::Node { index, higher_pa };
    let element = match part.spec().placing {
        Placing::Inline if solution.open[place] && !is_free(solution, place, model.step_s) => {
            let drop_pa = solution.node_pa[joint.from] - solution.node_pa[joint.to];
            inline(&law_of(solution, place), drop_pa, flow).map(|(loss, one_way)| (end(from), end(to), loss, one_way))
        }
        Placing::Source => source(garden, place).map(|(pressure_pa, loss)| (End::Outside { pressure_pa }, end(to), loss, false)),
        Placing::Outlet if part.traits().demands => {
            model.nodes[to.0].taken += flow;
            None
        }
        Placing::Outlet if solution.open[place] => {
            let outside = End::Outside { pressure_pa: 0.0 };
            outlet(&garden.law_of(place), solution.node_pa[joint.to], flow).map(|loss| (end(to), outside, loss, true))
        }
        _ => None,
    };
    let Some((from, to, loss, one_way)) = element else { return };
    let open = !one_way || flow > 0.0;
    // A regulator that is closed stays closed: what it would do in a wave is not known.
    let can_open = !part.spec().regulates() || open;
    let inertia = lump(model, garden, place).unwrap_or(0.0);
    model.elements.push(Element { place, from, to, loss, one_way, open, can_open, flow, inertia, before: flow });
}

/// Puts half of the water that a short hose takes in at either of its ends, and gives its inertia rho L / A, Pa s2/m3.
fn lump(model: &mut Model, garden: &Garden, place: usize) -> Option<f64> {
    let hose = hose_of(garden, place)?;
    let (part, joint) = (&garden.parts()[place], &garden.layout().places[place]);
    let inertia = garden.water().density_kg_per_m3 * part.value(Id::Length) / area_m2(part.value(Id::Diameter));
    // Travel time squared is inertia times what is taken in for each pressure.
    let m3_per_pa = hose.travel_s * hose.travel_s / inertia;
    for (node, _) in [model.at[joint.from]?, model.at[joint.to]?] {
        model.nodes[node].m3_per_pa += 0.5 * m3_per_pa;
    }
    Some(inertia)
}

fn conduit(model: &Model, solution: &Solution, place: usize) -> Option<Conduit> {
    let garden = &solution.garden;
    let (part, joint) = (&garden.parts()[place], &garden.layout().places[place]);
    let (from, to) = (model.at[joint.from]?, model.at[joint.to]?);
    let (length_m, diameter_m) = (part.value(Id::Length), part.value(Id::Diameter));
    let hose = hose_of(garden, place)?;
    let n = number_of_stretches(&hose, model.step_s);
    let flow = solution.parts[place].flow_m3_per_s;
    let (in_pa, out_pa) = (solution.node_pa[joint.from], solution.node_pa[joint.to]);
    // The wave speed is bent a little so that a wave takes a whole number of steps; the moving mass stays what it is.
    let impedance = garden.water().density_kg_per_m3 * length_m / (area_m2(diameter_m) * n as f64 * model.step_s);
    Some(Conduit {
        place,
        from,
        to,
        n,
        impedance,
        friction: friction(&garden.law_of(place), in_pa - out_pa, flow) / n as f64,
        first: 0,
        start_pa: in_pa,
        end_pa: out_pa,
        flow,
    })
}

/// The resistance R of loss = R q|q| that gives the loss of the solution, or where nothing flows that of a middling flow.
fn friction(law: &Law, loss_pa: f64, flow: f64) -> f64 {
    const USUAL_M3_PER_S: f64 = 2e-4;
    if flow.abs() > NO_FLOW_M3_PER_S {
        return (loss_pa / (flow * flow.abs())).max(0.0);
    }
    let loss_pa = law.loss(true, USUAL_M3_PER_S).loss_pa;
    loss_pa / (USUAL_M3_PER_S * USUAL_M3_PER_S)
}

/// The law of a part in line during a wave: a drive is too slow to change the speed of its booster meanwhile.
fn law_of(solution: &Solution, place: usize) -> Law {
    match solution.garden.law_of(place) {
        Law::Booster { curve, .. } if solution.garden.drive_of(place).is_some() => match solution.share_of_speed(place) {
            share if share > 0.0 => Law::Booster { curve: Arc::new(curve.at_speed(share)), holds_pa: None },
            _ => Law::Free,
        },
        law => law,
    }
}

/// The loss of a part in line of this law, and whether it lets water through one way only.
fn inline(law: &Law, drop_pa: f64, flow: f64) -> Option<(Terms, bool)> {
    let terms = law.terms(true)?;
    let fitted = |resistance: f64| {
        let rest_pa = drop_pa - terms.offset_pa;
        let quadratic = if flow.abs() > NO_FLOW_M3_PER_S { (rest_pa / (flow * flow.abs())).max(0.0) } else { resistance };
        Terms { offset_pa: terms.offset_pa, quadratic, ..Terms::default() }
    };
    let terms = match law {
        Law::Friction { .. } | Law::HazenWilliams { .. } => fitted(friction(law, 0.0, 0.0)),
        Law::Quadratic { .. } | Law::OneWay { .. } => fitted(terms.quadratic),
        // It keeps the drop that it had, and never lets water back.
        Law::Regulator { .. } => Terms { offset_pa: drop_pa - terms.loss(flow).loss_pa, ..terms },
        Law::Booster { .. } => terms,
        _ => return None,
    };
    Some((terms, law.is_one_way()))
}

fn source(garden: &Garden, place: usize) -> Option<(f64, Terms)> {
    let Law::Source { pressure_pa, resistance } = garden.law_of(place) else { return None };
    Some((pressure_pa, Terms { quadratic: resistance, ..Terms::default() }))
}

fn outlet(law: &Law, pressure_pa: f64, flow: f64) -> Option<Terms> {
    match law {
        Law::Orifice { .. } | Law::Power { .. } | Law::Relief { .. } => law.terms(true),
        // Others are taken as a hole that gives the flow of the solution.
        _ if law.discharges() && flow > NO_FLOW_M3_PER_S => {
            Some(Terms { quadratic: pressure_pa / (flow * flow), ..Terms::default() })
        }
        _ => None,
    }
}

/// Places that are joined by elements.
fn groups(nodes: &mut [Node], elements: &[Element]) -> Vec<Group> {
    let ends = |element: &Element| {
        [element.from, element.to].map(|end| if let End::Node { index, .. } = end { Some(index) } else { None })
    };
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    for (index, element) in elements.iter().enumerate() {
        ends(element).into_iter().flatten().for_each(|node| at_node[node].push(index));
    }
    let mut is_taken = vec![false; nodes.len()];
    let mut groups = Vec::new();
    for start in 0..nodes.len() {
        if std::mem::replace(&mut is_taken[start], true) {
            continue;
        }
        let (mut members, mut inside) = (vec![start], Vec::new());
        let mut next = 0;
        while let Some(&node) = members.get(next) {
            next += 1;
            inside.extend(&at_node[node]);
            for other in at_node[node].iter().flat_map(|&element| ends(&elements[element])).flatten() {
                if !std::mem::replace(&mut is_taken[other], true) {
                    members.push(other);
                }
            }
        }
        inside.sort_unstable();
        inside.dedup();
        // The last reached first: a tree is then eliminated from its leaves, and nothing fills in.
        members.reverse();
        for (slot, &node) in members.iter().enumerate() {
            nodes[node].slot = slot;
        }
        groups.push(Group::new(members, inside));
    }
    groups
}

/// A hose between two places.
#[derive(Clone, Debug)]
pub struct Conduit {
    pub place: usize,
    /// Node upstream and downstream of it, with the pressure of its end above that of the node, Pa.
    pub from: (usize, f64),
    pub to: (usize, f64),
    /// Number of stretches between points.
    pub n: usize,
    /// rho a / A, Pa s/m3.
    pub impedance: f64,
    /// Friction of one stretch: loss = friction q|q|.
    pub friction: f64,
    /// Number of its first point among all points.
    pub first: usize,
    pub start_pa: f64,
    pub end_pa: f64,
    pub flow: f64,
}
