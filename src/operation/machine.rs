//! The machine: for every setting of valves, pumps and faults a network, its gauges, and the tables made for it so far.
//!
//! A leg is a way of the state in one setting until something happens or the time is over. Legs that were run to their
//! event are kept: a pump that cycles asks for the same ones again and again.

use super::curve::{Curve, Stretch, Tolerance, Watch};
use super::fault::Fault;
use super::gauge::{Gauge, NO_FLOW_M3_PER_S, What, gauges};
use super::plant::{PUMP_AT_REST, Plant, around};
use super::radau;
use crate::garden::GardenError;
use crate::hydraulics::{Network, PumpState, SolveError};
use crate::parts::{Kind, Law, Placing};
use std::collections::HashMap;
use std::sync::Arc;

/// A state worked out: what is added up over time, gauges, pressures.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// Net inflow of each storage, what runs over from each, tracked flows, power of each booster.
    pub integrands: Vec<f64>,
    pub gauges: Vec<f64>,
    pub raised: Vec<bool>,
    pub node_pa: Vec<f64>,
    /// How many of the integrands are powers.
    pub powers: usize,
}

/// What stands how.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Setting {
    /// Which places of the garden that is solved are open.
    pub open: Vec<bool>,
    /// Which boosters run, by place in the garden.
    pub runs: Vec<bool>,
    /// Which faults are there.
    pub faults: Vec<bool>,
}

/// A way of the state in one setting.
#[derive(Clone, Debug)]
pub struct Leg {
    pub start_pa: Vec<f64>,
    pub end_pa: Vec<f64>,
    pub time_s: f64,
    pub integrals: Vec<f64>,
    /// How long each gauge was raised, s.
    pub raised_s: Vec<f64>,
    /// The gauges at its end.
    pub raised: Vec<bool>,
    /// Pressures at all nodes at its start and end.
    pub start_node_pa: Vec<f64>,
    pub end_node_pa: Vec<f64>,
    pub event: bool,
}

/// A setting with all that was made for it.
pub struct Config {
    pub setting: Setting,
    pub gauges: Vec<Gauge>,
    network: Network,
    /// Which storages can exchange water: those of one number.
    component: Vec<usize>,
    curves: Vec<Curve>,
    legs: HashMap<u64, Arc<Leg>>,
    /// The network with the water of some storages afloat: their pressure follows.
    afloat: Option<(Vec<bool>, Network)>,
    /// The next step of the method for several storages, s.
    pub step_s: f64,
    fixed_pa: Vec<f64>,
}

/// A plant with its settings.
pub struct Machine {
    pub plant: Plant,
    pub faults: Vec<(usize, Fault)>,
    pub configs: Vec<Config>,
    pub tolerance: Tolerance,
    known: HashMap<Setting, usize>,
}

impl Machine {
    pub fn new(plant: Plant, faults: Vec<(usize, Fault)>, tolerance: Tolerance) -> Machine {
        Machine { plant, faults, configs: Vec::new(), tolerance, known: HashMap::new() }
    }

    /// The number of the configuration of a setting. Errors: the garden cannot be solved at all.
    pub fn config(&mut self, setting: &Setting) -> Result<usize, GardenError> {
        if let Some(&known) = self.known.get(setting) {
            return Ok(known);
        }
        let config = Config::new(&self.plant, &self.faults, setting)?;
        self.configs.push(config);
        self.known.insert(setting.clone(), self.configs.len() - 1);
        Ok(self.configs.len() - 1)
    }

    /// The state of a configuration at these pressures of the storages.
    pub fn evaluate(&mut self, config: usize, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        self.configs[config].evaluate(&self.plant, stored_pa, frame)
    }

    /// Flows through all places in the state evaluated last.
    pub fn flows(&self, config: usize) -> Vec<f64> {
        let network = &self.configs[config].network;
        (0..self.plant.garden.parts().len()).map(|place| network.flow(place)).collect()
    }

    /// Runs from a state until a watched gauge changes, or for the time given. `raised` are the gauges at the start.
    pub fn leg(
        &mut self,
        config: usize,
        stored_pa: &[f64],
        raised: &[bool],
        most_s: f64,
        watches: &[Watch],
    ) -> Result<Arc<Leg>, SolveError> {
        let key = key_of(stored_pa);
        let config = &mut self.configs[config];
        if let Some(known) = config.legs.get(&key)
            && known.start_pa == stored_pa
            && known.time_s <= most_s
            && !stops_for_nothing(watches, raised, known)
        {
            return Ok(Arc::clone(known));
        }
        let leg = config.leg(&self.plant, stored_pa, raised, most_s, watches, self.tolerance)?;
        let leg = Arc::new(leg);
        if leg.event && leg.time_s > 0.0 {
            config.legs.insert(key, Arc::clone(&leg));
        }
        Ok(leg)
    }
}

/// A switch in its lag may have a gauge raised already: a known leg would stop where nothing is new.
fn stops_for_nothing(watches: &[Watch], raised: &[bool], leg: &Leg) -> bool {
    let ends = raised.iter().zip(&leg.raised);
    watches.iter().zip(ends).any(|(watch, (&before, &after))| *watch == Watch::Rise && before && after)
}

fn key_of(stored_pa: &[f64]) -> u64 {
    stored_pa
        .iter()
        .fold(0xcbf2_9ce4_8422_2325, |hash, pressure| (hash ^ pressure.to_bits()).wrapping_mul(0x0100_0000_01b3).rotate_left(23))
}

impl Config {
    fn new(plant: &Plant, faults: &[(usize, Fault)], setting: &Setting) -> Result<Config, GardenError> {
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
                self.network.put_law(storage.source, Law::Source { pressure_pa, resistance: 0.0 });
            }
        }
        solve(&mut self.network)?;
        read(plant, &self.setting, &self.gauges, &mut self.network, stored_pa, frame);
        Ok(())
    }

    fn leg(
        &mut self,
        plant: &Plant,
        stored_pa: &[f64],
        raised: &[bool],
        most_s: f64,
        watches: &[Watch],
        tolerance: Tolerance,
    ) -> Result<Leg, SolveError> {
        let mut frame = Frame::default();
        self.evaluate(plant, stored_pa, &mut frame)?;
        let active = self.active(plant, stored_pa, &frame);
        let start_node_pa = frame.node_pa.clone();
        let mut leg = match active[..] {
            [] => self.rest(plant, stored_pa, most_s, &frame, raised)?,
            [storage] => {
                let stretch = self.stretch(plant, storage, stored_pa, raised, most_s, watches, tolerance, &frame)?;
                self.leg_of(plant, storage, stored_pa, stretch, most_s)?
            }
            _ => radau::step(self, plant, &active, stored_pa, raised, most_s, watches, tolerance, &frame)?,
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

    #[expect(clippy::too_many_arguments, reason = "the parts of one question")]
    fn stretch(
        &mut self,
        plant: &Plant,
        storage: usize,
        stored_pa: &[f64],
        raised: &[bool],
        most_s: f64,
        watches: &[Watch],
        tolerance: Tolerance,
        frame: &Frame,
    ) -> Result<Stretch, SolveError> {
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
    fn leg_of(
        &mut self,
        plant: &Plant,
        storage: usize,
        stored_pa: &[f64],
        stretch: Stretch,
        most_s: f64,
    ) -> Result<Leg, SolveError> {
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
            let start = leg.end_pa.clone();
            let rest = self.rest(plant, &start, (most_s - leg.time_s).max(0.0), &frame, &leg.raised)?;
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
    fn rest(&mut self, plant: &Plant, stored_pa: &[f64], time_s: f64, frame: &Frame, raised: &[bool]) -> Result<Leg, SolveError> {
        let mut end_pa = stored_pa.to_vec();
        let mut at_rest = frame.clone();
        let floats: Vec<bool> = plant
            .storages
            .iter()
            .enumerate()
            .map(|(index, storage)| storage.barrel.is_none() && frame.integrands[index] != 0.0)
            .collect();
        if time_s > 0.0 && floats.contains(&true) {
            self.float(plant, &floats, &mut end_pa, &mut at_rest);
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

    /// Solves with the pressure of some storages following; leaves everything as it was where that has no answer nearby.
    fn float(&mut self, plant: &Plant, floats: &[bool], stored_pa: &mut [f64], frame: &mut Frame) {
        /// A storage that is let follow may move by this share and this much, Pa; more is another state.
        const NEAR: f64 = 1e-6;
        const NEAR_PA: f64 = 1.0;
        if self.afloat.as_ref().is_none_or(|(known, _)| known != floats) {
            let mut open = self.setting.open.clone();
            for (storage, &floats) in plant.storages.iter().zip(floats) {
                open[storage.source] &= !floats;
            }
            let Ok(mut made) = Network::new(&plant.hydraulic, &open) else { return };
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
        let Some((_, network)) = &mut self.afloat else { return };
        for (storage, &pressure_pa) in plant.storages.iter().zip(stored_pa.iter()) {
            network.put_law(storage.source, Law::Source { pressure_pa, resistance: 0.0 });
        }
        if solve(network).is_err() {
            return;
        }
        let node_pa = network.node_pressures_pa().to_vec();
        let places = &plant.hydraulic.layout().places;
        let mut followed = stored_pa.to_vec();
        for ((storage, &floats), followed) in plant.storages.iter().zip(floats).zip(&mut followed) {
            let there_pa = node_pa[places[storage.source].to];
            if floats {
                // Written so that a pressure that is not known is not near.
                let near = (there_pa - *followed).abs() <= NEAR * followed.abs() + NEAR_PA;
                if !near {
                    return;
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
        if plant.pumps_resist && !setting.runs[booster] {
            network.put_law(booster, Law::Quadratic { resistance: PUMP_AT_REST });
        }
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
