//! The method of characteristics: pressures and flows at points along each hose, one step of time after another.
//!
//! Along a wave that runs with the flow p + Z q keeps its value but for friction, along one that runs against it p - Z q,
//! with Z = rho a / A. A step is as long as a wave takes from one point to the next, so waves are carried without any
//! smearing. Friction is that of steady flow, taken with the flow before and after the step: R |q before| q after.
//! Source: E. B. Wylie and V. L. Streeter, Fluid Transients (1978), chapter 3 (from memory).

use super::model::{Conduit, Model};
use super::step::Steps;
use crate::limits;

/// The highest and lowest pressure seen somewhere, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    pub highest_pa: f64,
    pub lowest_pa: f64,
}

impl Span {
    fn at(pressure_pa: f64) -> Span {
        Span { highest_pa: pressure_pa, lowest_pa: pressure_pa }
    }

    fn take_in(&mut self, pressure_pa: f64) {
        self.highest_pa = self.highest_pa.max(pressure_pa);
        self.lowest_pa = self.lowest_pa.min(pressure_pa);
    }

    pub fn with(self, other: Span) -> Span {
        Span { highest_pa: self.highest_pa.max(other.highest_pa), lowest_pa: self.lowest_pa.min(other.lowest_pa) }
    }
}

/// The record of a march.
pub struct Marched {
    /// For each conduit and each node of the model what it saw.
    pub conduits: Vec<Span>,
    pub nodes: Vec<Span>,
}

/// What is reported of each step.
pub struct Moment<'a> {
    pub time_s: f64,
    pub model: &'a Model,
}

/// Steps through a closing: `share` gives the share of the valve's flow that is left at a time. `report` is called at the start
/// and after each step.
pub fn march(model: &mut Model, steps: &Steps, share: impl Fn(f64) -> f64, mut report: impl FnMut(&Moment)) -> Marched {
    let mut first = 0;
    for conduit in &mut model.conduits {
        conduit.first = first;
        first += conduit.n + 1;
    }
    let mut pressures = vec![0.0; first];
    let mut flows = vec![0.0; first];
    for conduit in &model.conduits {
        for point in 0..=conduit.n {
            let part = point as f64 / conduit.n as f64;
            pressures[conduit.first + point] = conduit.start_pa + part * (conduit.end_pa - conduit.start_pa);
            flows[conduit.first + point] = conduit.flow;
        }
    }
    let (mut next_pressures, mut next_flows) = (pressures.clone(), flows.clone());
    let mut seen = Marched {
        conduits: model.conduits.iter().map(|conduit| Span::at(conduit.start_pa).with(Span::at(conduit.end_pa))).collect(),
        nodes: model.nodes.iter().map(|node| Span::at(node.pressure_pa)).collect(),
    };
    let lumps = model.elements.iter().filter(|element| element.inertia > 0.0).map(|lump| lump.inertia / model.step_s);
    let least = model.conduits.iter().map(|conduit| conduit.impedance).chain(lumps).fold(f64::INFINITY, f64::min);
    let (floor, small) = (1e-3 * least, 1e-10 * model.valve_flow);
    let drawn: Vec<f64> = model.nodes.iter().map(|node| node.taken).collect();
    report(&Moment { time_s: 0.0, model });
    for step in 1..=steps.number {
        if limits::ended() {
            break;
        }
        let time_s = step as f64 * model.step_s;
        let left = share(time_s) * model.valve_flow;
        for (node, drawn) in model.nodes.iter_mut().zip(&drawn) {
            (node.taken, node.before_pa, node.conductance, node.inflow) = (*drawn, node.pressure_pa, 0.0, 0.0);
        }
        model.elements.iter_mut().for_each(|element| element.before = element.flow);
        model.nodes[model.valve_from].taken += left;
        if let Some(to) = model.valve_to {
            model.nodes[to].taken -= left;
        }
        arrive(model, &pressures, &flows);
        for group in &mut model.groups {
            group.solve(&mut model.nodes, &mut model.elements, model.step_s, floor, small);
        }
        for (conduit, span) in model.conduits.iter().zip(&mut seen.conduits) {
            inside(conduit, &pressures, &flows, &mut next_pressures, &mut next_flows);
            ends(conduit, model, (&pressures, &flows), (&mut next_pressures, &mut next_flows));
            next_pressures[conduit.first..=conduit.first + conduit.n].iter().for_each(|&pressure| span.take_in(pressure));
        }
        model.nodes.iter().zip(&mut seen.nodes).for_each(|(node, span)| span.take_in(node.pressure_pa));
        std::mem::swap(&mut pressures, &mut next_pressures);
        std::mem::swap(&mut flows, &mut next_flows);
        report(&Moment { time_s, model });
    }
    seen
}

/// The characteristics that arrive at the ends of hoses, added up at the nodes.
fn arrive(model: &mut Model, pressures: &[f64], flows: &[f64]) {
    for conduit in &model.conduits {
        let (before_start, before_end) = (conduit.first + 1, conduit.first + conduit.n - 1);
        let against = pressures[before_start] - conduit.impedance * flows[before_start];
        let along = pressures[before_end] + conduit.impedance * flows[before_end];
        let give_start = 1.0 / (conduit.impedance + conduit.friction * flows[before_start].abs());
        let give_end = 1.0 / (conduit.impedance + conduit.friction * flows[before_end].abs());
        for ((node, higher_pa), value, give) in [(conduit.from, against, give_start), (conduit.to, along, give_end)] {
            model.nodes[node].conductance += give;
            model.nodes[node].inflow += give * (value - higher_pa);
        }
    }
}

/// Points inside a hose.
fn inside(conduit: &Conduit, pressures: &[f64], flows: &[f64], next_pressures: &mut [f64], next_flows: &mut [f64]) {
    let (impedance, friction) = (conduit.impedance, conduit.friction);
    for point in conduit.first + 1..conduit.first + conduit.n {
        let along = pressures[point - 1] + impedance * flows[point - 1];
        let against = pressures[point + 1] - impedance * flows[point + 1];
        let resist_along = impedance + friction * flows[point - 1].abs();
        let resist_against = impedance + friction * flows[point + 1].abs();
        let flow = (along - against) / (resist_along + resist_against);
        next_flows[point] = flow;
        next_pressures[point] = along - resist_along * flow;
    }
}

/// The two ends of a hose, from the pressures of its nodes.
fn ends(conduit: &Conduit, model: &Model, now: (&[f64], &[f64]), next: (&mut [f64], &mut [f64])) {
    let (first, last) = (conduit.first, conduit.first + conduit.n);
    let end_pa = |(node, higher_pa): (usize, f64)| model.nodes[node].pressure_pa + higher_pa;
    let (start_pa, stop_pa) = (end_pa(conduit.from), end_pa(conduit.to));
    let against = now.0[first + 1] - conduit.impedance * now.1[first + 1];
    let along = now.0[last - 1] + conduit.impedance * now.1[last - 1];
    next.0[first] = start_pa;
    next.1[first] = (start_pa - against) / (conduit.impedance + conduit.friction * now.1[first + 1].abs());
    next.0[last] = stop_pa;
    next.1[last] = (along - stop_pa) / (conduit.impedance + conduit.friction * now.1[last - 1].abs());
}
