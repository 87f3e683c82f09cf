//! A configuration: one setting of valves, pumps and faults with its network, gauges and tables, and how a leg of it runs.
//!
//! One storage that moves runs on a curve, several by the implicit method, none at rest.

use super::curve::{Curve, Stretch, Watch};
use super::fault::Fault;
use super::gauge::{Gauge, NO_FLOW_M3_PER_S, What, gauges};
use super::machine::{Frame, Leg, Question, Setting};
use super::plant::{Plant, around};
use super::radau;
use crate::garden::GardenError;
use crate::hydraulics::{Network, PumpState, SolveError};
use crate::parts::{Kind, Law, Placing};
use std::collections::HashMap;
use std::sync::Arc;

/// A setting with all that was made for it.
pub struct Config {
    pub setting: Setting,
    pub gauges: Vec<Gauge>,
    pub network: Network,
    /// Which storages can exchange water: those of one number.
    component: Vec<usize>,
    curves: Vec<Curve>,
    pub legs: HashMap<u64, Arc<Leg>>,
    /// The network with the water of some storages afloat: their pressure follows.
    afloat: Option<(Vec<bool>, Network)>,
    /// The next step of the method for several storages, s.
    pub step_s: f64,
    fixed_pa: Vec<f64>,
}

impl Config {
    pub fn new(plant: &Plant, faults: &[(usize, Fault)], setting: &Setting) -> Result<Config, GardenError> {
        let network = network(plant, faults, setting, &setting.open)?;
        let gauges = gauges(plant, &network, &setting.runs);
        Ok(Config {
            component: components(plant, &setting.open),
            setting: setting.clone(),
            gauges,
            network,
            curves: Vec::new(),
            legs: HashMap::new(),
            afloat: None,
            step_s: radau::FIRST_STEP_S,
            fixed_pa: vec![f64::NAN; plant.storages.len()],
        })
    }

    pub fn evaluate(&mut self, plant: &Plant, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        for ((storage, &pressure_pa), fixed_pa) in plant.storages.iter().zip(stored_pa).zip(&mut self.fixed_pa) {
            if *fixed_pa != pressure_pa {
                *fixed_pa = pressure_pa;
                self.network.put_law(storage.source, Law::Source { pressure_pa, resistance: plant.way_in });
            }
        }
        solve(&mut self.network)?;
        read(plant, &self.setting, &self.gauges, &mut self.network, stored_pa, frame);
        Ok(())
    }

    pub fn leg(&mut self, question: &Question) -> Result<Leg, SolveError> {
        let mut frame = Frame::default();
        self.evaluate(question.plant, question.stored_pa, &mut frame)?;
        let active = self.active(question.plant, question.stored_pa, &frame);
        let start_node_pa = frame.node_pa.clone();
        let mut leg = match active[..] {
            [] => self.rest(question, &frame)?,
            [storage] => {
                let stretch = self.stretch(question, storage, &frame)?;
                self.leg_of(question, storage, stretch)?
            }
            _ => radau::step(self, question, &active, &frame)?,
        };
        leg.start_node_pa = start_node_pa;
        Ok(leg)
    }

    /// The storages that exchange water now.
    fn active(&self, plant: &Plant, stored_pa: &[f64], frame: &Frame) -> Vec<usize> {
        let moves = |storage: usize| {
            let net = frame.integrands[storage];
            // Where a second's flow would change the pressure by less than a rounding, nothing moves.
            let slowly = net.abs() <= 1e-13 * plant.storages[storage].m3_per_pa(stored_pa[storage]);
            net.abs() > NO_FLOW_M3_PER_S && !slowly
        };
        let moving: Vec<usize> =
            (0..stored_pa.len()).filter(|&storage| moves(storage)).map(|storage| self.component[storage]).collect();
        (0..stored_pa.len())
            .filter(|&storage| {
                moving.contains(&self.component[storage]) && self.network.carries(plant.storages[storage].source)
                    || moves(storage)
            })
            .collect()
    }

    fn stretch(&mut self, question: &Question, storage: usize, frame: &Frame) -> Result<Stretch, SolveError> {
        let &Question { plant, stored_pa, raised, most_s, watches, tolerance } = question;
        let net = frame.integrands[storage];
        let mut curves = std::mem::take(&mut self.curves);
        let mut others = stored_pa.to_vec();
        let store = &plant.storages[storage];
        let mut evaluate = |at: f64, frame: &mut Frame| {
            others[storage] = at;
            self.evaluate(plant, &others, frame)
        };
        let mut found = None;
        for (index, curve) in curves.iter_mut().enumerate() {
            if curve.may_hold(storage, stored_pa, net) && curve.reach(stored_pa[storage], store, &mut evaluate)? {
                found = Some(index);
                break;
            }
        }
        let index = found.unwrap_or_else(|| {
            curves.push(Curve::new(storage, stored_pa, frame, tolerance));
            curves.len() - 1
        });
        let result = curves[index].run(stored_pa[storage], most_s, watches, raised, store, &mut evaluate);
        self.curves = curves;
        result
    }

    /// The leg of a run on a curve; one that has come to rest goes on at rest for the time that is left.
    fn leg_of(&mut self, question: &Question, storage: usize, stretch: Stretch) -> Result<Leg, SolveError> {
        let &Question { plant, stored_pa, most_s, .. } = question;
        let mut end_pa = stored_pa.to_vec();
        end_pa[storage] = stretch.end;
        let mut frame = Frame::default();
        self.evaluate(plant, &end_pa, &mut frame)?;
        let mut leg = Leg {
            start_pa: stored_pa.to_vec(),
            end_pa,
            time_s: stretch.time_s,
            integrals: stretch.integrals,
            raised_s: stretch.raised_s,
            raised: if stretch.raised.is_empty() { frame.raised.clone() } else { stretch.raised },
            start_node_pa: Vec::new(),
            end_node_pa: frame.node_pa.clone(),
            event: stretch.event,
        };
        if leg.integrals.is_empty() {
            leg.integrals = vec![0.0; plant.integrands()];
        }
        if stretch.settled {
            let left_s = (most_s - leg.time_s).max(0.0);
            let rest =
                self.rest(&Question { stored_pa: &leg.end_pa, raised: &leg.raised, most_s: left_s, ..*question }, &frame)?;
            leg.time_s += rest.time_s;
            leg.end_pa = rest.end_pa;
            leg.end_node_pa = rest.end_node_pa;
            leg.integrals.iter_mut().zip(&rest.integrals).for_each(|(sum, part)| *sum += part);
            leg.raised_s.iter_mut().zip(&rest.raised_s).for_each(|(sum, part)| *sum += part);
        }
        Ok(leg)
    }

    /// A leg on which nothing changes: water may flow through, but what is stored stays.
    ///
    /// The pressure of stored water is let follow, so that not a trickle is left over.
    fn rest(&mut self, question: &Question, frame: &Frame) -> Result<Leg, SolveError> {
        let &Question { plant, stored_pa, raised, most_s: time_s, .. } = question;
        let mut end_pa = stored_pa.to_vec();
        let mut at_rest = frame.clone();
        let floats: Vec<bool> = plant
            .storages
            .iter()
            .enumerate()
            .map(|(index, storage)| storage.barrel.is_none() && frame.integrands[index] != 0.0)
            .collect();
        if time_s > 0.0 && floats.contains(&true) && self.float(plant, &floats, &mut end_pa, &mut at_rest).is_none() {
            still(&floats, &mut at_rest);
        }
        Ok(Leg {
            start_pa: stored_pa.to_vec(),
            integrals: at_rest.integrands.iter().map(|value| value * time_s).collect(),
            raised_s: raised.iter().map(|&raised| if raised { time_s } else { 0.0 }).collect(),
            raised: raised.to_vec(),
            start_node_pa: frame.node_pa.clone(),
            end_node_pa: at_rest.node_pa,
            end_pa,
            time_s,
            event: false,
        })
    }

    /// Solves with the pressure of some storages following. Nothing, and all as it was, where that has no answer nearby.
    fn float(&mut self, plant: &Plant, floats: &[bool], stored_pa: &mut [f64], frame: &mut Frame) -> Option<()> {
        /// A storage that is let follow may move by this share and this much, Pa; more is another state.
        const NEAR: f64 = 1e-6;
        const NEAR_PA: f64 = 1.0;
        if self.afloat.as_ref().is_none_or(|(known, _)| known != floats) {
            let mut open = self.setting.open.clone();
            for (storage, &floats) in plant.storages.iter().zip(floats) {
                open[storage.source] &= !floats;
            }
            let mut made = Network::new(&plant.hydraulic, &open).ok()?;
            for place in 0..plant.garden.parts().len() {
                if made.carries(place) {
                    made.put_law(place, self.network.law(place).clone());
                }
                if plant.garden.parts()[place].kind() == Kind::Booster {
                    made.run_pump(place, state_of(self.setting.runs[place]));
                }
            }
            self.afloat = Some((floats.to_vec(), made));
        }
        let (_, network) = self.afloat.as_mut()?;
        for (storage, &pressure_pa) in plant.storages.iter().zip(stored_pa.iter()) {
            network.put_law(storage.source, Law::Source { pressure_pa, resistance: plant.way_in });
        }
        solve(network).ok()?;
        let node_pa = network.node_pressures_pa().to_vec();
        let places = &plant.hydraulic.layout().places;
        let mut followed = stored_pa.to_vec();
        for ((storage, &floats), followed) in plant.storages.iter().zip(floats).zip(&mut followed) {
            let there_pa = node_pa[places[storage.source].to];
            if floats {
                // Written so that a pressure that is not known is not near.
                let near = (there_pa - *followed).abs() <= NEAR * followed.abs() + NEAR_PA;
                if !near {
                    return None;
                }
                *followed = there_pa;
            }
        }
        let mut found = Frame::default();
        read(plant, &self.setting, &self.gauges, network, &followed, &mut found);
        for (value, &floats) in found.integrands.iter_mut().zip(floats) {
            if floats {
                *value = 0.0;
            }
        }
        found.raised.clone_from(&frame.raised);
        *frame = found;
        stored_pa.copy_from_slice(&followed);
        Some(())
    }
}

/// Takes the last trickle of stored water that nothing feeds as none: it would be over long before the time is.
fn still(floats: &[bool], frame: &mut Frame) {
    let trickle: f64 = frame.integrands.iter().zip(floats).filter(|(_, floats)| **floats).map(|(net, _)| net.abs()).sum();
    let flows = frame.integrands.len() - frame.powers;
    for flow in frame.integrands[..flows].iter_mut().filter(|flow| flow.abs() <= 1.000_001 * trickle) {
        *flow = 0.0;
    }
}

/// Solves; where going on from the last state fails, more sharply, and then from scratch.
fn solve(network: &mut Network) -> Result<(), SolveError> {
    if network.solve().is_ok() {
        return Ok(());
    }
    network.sharpen();
    let sharp = network.solve();
    network.blunt();
    if sharp.is_err() {
        network.start_afresh();
        network.solve()?;
    }
    Ok(())
}

fn state_of(runs: bool) -> PumpState {
    if runs { PumpState::Running } else { PumpState::Off }
}

fn network(plant: &Plant, faults: &[(usize, Fault)], setting: &Setting, open: &[bool]) -> Result<Network, GardenError> {
    let mut network = Network::new(&plant.hydraulic, open)?;
    for &booster in &plant.boosters {
        network.run_pump(booster, state_of(setting.runs[booster]));
    }
    for ((place, fault), &here) in faults.iter().zip(&setting.faults) {
        if here && let Some(law) = fault.law(&plant.garden.parts()[*place], &around(&plant.garden, *place)) {
            network.put_law(*place, law);
        }
    }
    Ok(network)
}

/// Reads a network that has been solved.
fn read(plant: &Plant, setting: &Setting, gauges: &[Gauge], network: &mut Network, stored_pa: &[f64], frame: &mut Frame) {
    frame.integrands.clear();
    frame.powers = plant.boosters.len();
    frame.integrands.resize(plant.first_tracked(), 0.0);
    for (index, (storage, &pressure_pa)) in plant.storages.iter().zip(stored_pa).enumerate() {
        let mut net = if setting.open[storage.source] { -network.flow(storage.source) } else { 0.0 };
        if let Some(barrel) = storage.barrel {
            net += barrel.inflow_m3_per_s;
            if pressure_pa >= barrel.full_pa * (1.0 - 1e-12) {
                // What a full tank takes in runs over.
                frame.integrands[plant.storages.len() + index] = net.max(0.0);
                net = net.min(0.0);
            }
        }
        frame.integrands[index] = net;
    }
    frame.integrands.extend(plant.tracked.iter().map(|tracked| (tracked.sign * network.flow(tracked.place)).max(0.0)));
    frame.integrands.extend(plant.boosters.iter().map(|&place| power_w(plant, setting, network, place)));
    frame.node_pa.clear();
    frame.node_pa.extend_from_slice(network.node_pressures_pa());
    frame.gauges.clear();
    frame.gauges.extend(gauges.iter().map(|gauge| gauge.value(plant, network, &frame.node_pa, stored_pa)));
    frame.raised.clear();
    frame.raised.extend(frame.gauges.iter().map(|&value| value >= 0.0));
}

/// Electrical power of a booster, W: its watts, or water power over efficiency; nothing known counts as nothing.
fn power_w(plant: &Plant, setting: &Setting, network: &Network, place: usize) -> f64 {
    let part = &plant.garden.parts()[place];
    if !setting.runs[place] {
        return 0.0;
    }
    if let Some(watts) = part.si("watts") {
        return watts;
    }
    let (Law::Booster { curve }, Some(efficiency)) = (network.law(place), part.si("efficiency")) else { return 0.0 };
    let flow = network.flow(place);
    (curve.rise(flow).0 * flow / efficiency).max(0.0)
}

/// Numbers storages so that those which open parts join have the same.
fn components(plant: &Plant, open: &[bool]) -> Vec<usize> {
    let layout = plant.hydraulic.layout();
    let mut of_node: Vec<usize> = (0..layout.number_of_nodes).collect();
    fn root(of_node: &mut [usize], mut node: usize) -> usize {
        while of_node[node] != node {
            of_node[node] = of_node[of_node[node]];
            node = of_node[node];
        }
        node
    }
    for (place, joint) in layout.places.iter().enumerate() {
        if open[place] && plant.hydraulic.parts()[place].spec().placing == Placing::Inline {
            let (a, b) = (root(&mut of_node, joint.from), root(&mut of_node, joint.to));
            of_node[a] = b;
        }
    }
    plant.storages.iter().map(|storage| root(&mut of_node, layout.places[storage.source].to)).collect()
}

impl Config {
    /// Which changes of gauges end a leg: those that a switch or guard acts on, and those that are told.
    pub fn watches(&self, plant: &Plant, deaf: &[bool]) -> Vec<Watch> {
        let watch = |gauge: &Gauge| match gauge.what {
            What::CutIn(switch) if !deaf[switch] && !self.setting.runs[plant.switches[switch].booster] => Watch::Rise,
            What::CutOut(switch) if !deaf[switch] && self.setting.runs[plant.switches[switch].booster] => Watch::Rise,
            What::Dry => Watch::Rise,
            What::Relief | What::Check | What::Tank { .. } => Watch::Both,
            What::Barrel { .. } => Watch::Fall,
            _ => Watch::Never,
        };
        self.gauges.iter().map(watch).collect()
    }
}
