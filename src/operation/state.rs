//! The state of one setting: its network with stored water in it, solved either with the pressures of all stores given or as
//! a stage of an implicit method, and what is read from it.

use super::fault::Fault;
use super::frame::{Frame, Setting};
use super::gauge::{Gauge, gauges};
use super::plant::Plant;
use super::tableau::MOST_STAGES;
use super::tolerances::{FULL, NO_FLOW_M3_PER_S, TRICKLE_M3_PER_S};
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{Foresight, Network, PumpState, SolveError};
use crate::laws::vessel::OVER_RIM_M3_PER_S_PA;
use crate::parts::{Law, Running};
/// The spans after which a state that was just changed is looked at, s: so short that hardly a store has moved, and long enough
/// that stores which nothing keeps apart have come together. The first one that has an answer counts.
const AT_ONCE_S: [f64; 4] = [1e-5, 1e-4, 1e-3, 1e-2];

/// A setting with its network and gauges.
pub struct State {
    pub setting: Setting,
    pub gauges: Vec<Gauge>,
    pub network: Network,
    /// Steady solves up to now, and how many of them found nothing.
    pub solves: usize,
    pub failures: usize,
    /// The pressure that each store was last given; none after a stage.
    given_pa: Vec<f64>,
    /// Room for the stages of a step.
    pub stages: [Frame; MOST_STAGES],
}

/// What happens at the rim of an open tank.
#[derive(Clone, Copy, PartialEq)]
enum Rim {
    /// What comes into a full tank runs over.
    Clips,
    /// Runs over by how high the water stands.
    Spills,
}

/// Places of the supplies that have a pressure by the clock.
pub fn by_clock(garden: &Garden) -> impl Iterator<Item = usize> {
    garden.supplies().filter(|&place| !garden.parts()[place].clock().is_empty())
}

impl State {
    /// Errors: the garden cannot be solved at all.
    pub fn new(plant: &Plant, faults: &[(usize, Fault)], setting: &Setting) -> Result<State, GardenError> {
        let mut network = Network::new(&plant.hydraulic, &setting.open)?;
        for &booster in &plant.boosters {
            network.run_pump(booster, if setting.runs[booster] { PumpState::Running } else { PumpState::Off });
        }
        for demand in plant.garden.of_spec(|spec| spec.traits.demands) {
            if let Law::Demand { flow_m3_per_s } = *network.law(demand) {
                network.put_law(demand, Law::UpTo { flow_m3_per_s });
            }
        }
        for (place, &level) in by_clock(&plant.garden).zip(&setting.mains) {
            if let Law::Source { resistance, .. } = *network.law(place) {
                network.put_law(place, Law::Source { pressure_pa: plant.garden.parts()[place].clock()[level].1, resistance });
            }
        }
        for ((place, fault), &here) in faults.iter().zip(&setting.faults) {
            if here && let Some(law) = fault.law(&plant.garden.parts()[*place], &plant.garden.around(*place)) {
                network.put_law(*place, law);
            }
        }
        let gauges = gauges(plant, &network, setting);
        Ok(State {
            setting: setting.clone(),
            gauges,
            network,
            solves: 0,
            failures: 0,
            given_pa: vec![f64::NAN; plant.storages.len()],
            stages: Default::default(),
        })
    }

    /// Makes the next solve begin as the first one did.
    pub fn forget(&mut self) {
        self.network.forget();
        self.given_pa.fill(f64::NAN);
    }

    /// The state with these gauge pressures of the stores, Pa. Where hardly any resistance separates them use [`State::at_once`].
    ///
    /// Errors: there is no steady one.
    pub fn with_pressures(&mut self, plant: &Plant, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        for ((storage, &pressure_pa), given_pa) in plant.storages.iter().zip(stored_pa).zip(&mut self.given_pa) {
            if *given_pa != pressure_pa {
                *given_pa = pressure_pa;
                self.network.put_law(storage.source, Law::Source { pressure_pa, resistance: 0.0 });
            }
        }
        self.network.follow_curve();
        self.solve()?;
        self.read_flows(plant, stored_pa, Rim::Clips, frame);
        self.read_pressures(frame);
        self.read_gauges(plant, Rim::Clips, frame);
        Ok(())
    }

    /// The state right after stores were at these gauge pressures, Pa. Errors: there is no steady one, however long the span.
    pub fn at_once(&mut self, plant: &Plant, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        let volumes_m3: Vec<f64> = volumes_m3(plant, stored_pa);
        let (last_s, sooner_s) = (AT_ONCE_S[AT_ONCE_S.len() - 1], &AT_ONCE_S[..AT_ONCE_S.len() - 1]);
        if sooner_s.iter().any(|&span_s| self.stage(plant, &volumes_m3, span_s, frame).is_ok()) {
            return Ok(());
        }
        self.stage(plant, &volumes_m3, last_s, frame)
    }

    /// A stage of an implicit method: the state in which each store holds what it began with and what comes in for a span.
    pub fn stage(&mut self, plant: &Plant, from_m3: &[f64], span_s: f64, frame: &mut Frame) -> Result<(), SolveError> {
        self.network.foresee(Foresight::Nothing);
        self.solve_stage(plant, from_m3, span_s, frame)?;
        self.read_pressures(frame);
        self.read_gauges(plant, Rim::Spills, frame);
        Ok(())
    }

    /// The same without gauges and pressures of nodes, which a stage inside a step does not need.
    pub fn flows_of_stage(&mut self, plant: &Plant, from_m3: &[f64], span_s: f64, frame: &mut Frame) -> Result<(), SolveError> {
        self.network.foresee(Foresight::Ending);
        self.solve_stage(plant, from_m3, span_s, frame)
    }

    fn solve_stage(&mut self, plant: &Plant, from_m3: &[f64], span_s: f64, frame: &mut Frame) -> Result<(), SolveError> {
        self.given_pa.fill(f64::NAN);
        let (mut most_m3_per_pa, mut least_m3_per_pa) = (0.0f64, f64::INFINITY);
        for (storage, from_m3) in plant.storages.iter().zip(from_m3) {
            let from_m3 = from_m3 + span_s * storage.inflow_m3_per_s();
            most_m3_per_pa = most_m3_per_pa.max(storage.store.most_m3_per_pa());
            least_m3_per_pa = least_m3_per_pa.min(storage.store.least_m3_per_pa());
            self.network.put_store(storage.source, &storage.store, from_m3, span_s);
        }
        self.network.follow_stores(span_s, [most_m3_per_pa, least_m3_per_pa]);
        self.solve()?;
        let stand = |(storage, from_m3): (&super::storage::Storage, &f64)| {
            let net = storage.inflow_m3_per_s() - self.flow_out(storage.source);
            storage.store.stand(from_m3 + span_s * net, span_s).pressure_pa
        };
        let stored_pa: Vec<f64> = plant.storages.iter().zip(from_m3).map(stand).collect();
        self.read_flows(plant, &stored_pa, Rim::Spills, frame);
        self.close(plant, frame);
        Ok(())
    }

    /// Gives what the nodes of the network do not close by to the largest store there: a rounding, which would else be lost.
    fn close(&self, plant: &Plant, frame: &mut Frame) {
        let carries = |index: &usize| {
            self.setting.open[plant.storages[*index].source] && self.network.carries(plant.storages[*index].source)
        };
        let gives = |index: usize| plant.storages[index].store.most_m3_per_pa();
        let n = plant.storages.len();
        let Some(largest) = (0..n).filter(carries).max_by(|&a, &b| gives(a).total_cmp(&gives(b))) else { return };
        let flows = frame.integrands[plant.first_tracked()..].iter();
        let outside: f64 = plant.tracked.iter().zip(flows).map(|(tracked, flow)| tracked.counts * flow).sum();
        let stored: f64 = plant.storages.iter().map(|storage| self.flow_out(storage.source)).sum();
        frame.integrands[largest] += outside + stored;
    }

    /// By how much the pressure of each store would rise at the end of the stage just solved if it had begun with more, Pa; by the
    /// tangents there, so that what is stiff hardly moves.
    pub fn rises_pa(&mut self, plant: &Plant, frame: &Frame, more_m3: &[f64], span_s: f64) -> Vec<f64> {
        let more: Vec<(usize, f64)> = plant.storages.iter().zip(more_m3).map(|(storage, &more)| (storage.source, more)).collect();
        let changes = self.network.flow_changes(&more);
        let rise = |(index, storage): (usize, &super::storage::Storage)| {
            let (at_pa, stays_m3) = (frame.stored_pa[index], more_m3[index] - span_s * changes[index]);
            let over = storage.store.rim_pa.is_some_and(|rim_pa| at_pa > rim_pa);
            let spills = if over { span_s * OVER_RIM_M3_PER_S_PA } else { 0.0 };
            stays_m3 / (storage.m3_per_pa(at_pa) + spills)
        };
        plant.storages.iter().enumerate().map(rise).collect()
    }

    fn solve(&mut self) -> Result<(), SolveError> {
        self.solves += 1;
        let solved = self.network.solve().map(|_| ());
        self.failures += usize::from(solved.is_err());
        solved
    }

    fn flow_out(&self, source: usize) -> f64 {
        if self.setting.open[source] { self.network.flow(source) } else { 0.0 }
    }

    /// Reads the pressures of the nodes of a network that has been solved.
    fn read_pressures(&mut self, frame: &mut Frame) {
        frame.node_pa.clear();
        frame.node_pa.extend_from_slice(self.network.node_pressures_pa());
    }

    /// Reads the flows of a network that has been solved, and what they mean for stores and powers.
    fn read_flows(&mut self, plant: &Plant, stored_pa: &[f64], rim: Rim, frame: &mut Frame) {
        frame.stored_pa.clear();
        frame.stored_pa.extend_from_slice(stored_pa);
        frame.integrands.clear();
        frame.powers = plant.boosters.len();
        frame.integrands.resize(plant.first_tracked(), 0.0);
        for (index, (storage, &pressure_pa)) in plant.storages.iter().zip(stored_pa).enumerate() {
            let mut net = -self.flow_out(storage.source);
            if let Some(barrel) = storage.barrel {
                net += barrel.inflow_m3_per_s;
                let over = match rim {
                    Rim::Clips if pressure_pa >= barrel.full_pa * FULL => net.max(0.0),
                    Rim::Spills => OVER_RIM_M3_PER_S_PA * (pressure_pa - barrel.full_pa).max(0.0),
                    Rim::Clips => 0.0,
                };
                frame.integrands[plant.storages.len() + index] = over;
                net -= over;
            }
            frame.integrands[index] = net;
        }
        let network = &mut self.network;
        frame.integrands.extend(plant.tracked.iter().map(|tracked| (tracked.sign * network.flow(tracked.place)).max(0.0)));
        frame.integrands.extend(plant.boosters.iter().map(|&place| power_w(plant, &self.setting, network, place)));
    }

    /// Reads the gauges of a network whose flows have been read.
    fn read_gauges(&mut self, plant: &Plant, rim: Rim, frame: &mut Frame) {
        let network = &self.network;
        let least_flow = if rim == Rim::Spills { TRICKLE_M3_PER_S } else { NO_FLOW_M3_PER_S };
        let value = |gauge: &Gauge| gauge.value(plant, network, &frame.node_pa, &frame.stored_pa, least_flow);
        frame.gauges.clear();
        frame.gauges.extend(self.gauges.iter().map(value));
        frame.raised.clear();
        frame.raised.extend(frame.gauges.iter().map(|&value| value >= 0.0));
    }
}

/// What all stores hold at these pressures, m3.
pub fn volumes_m3(plant: &Plant, stored_pa: &[f64]) -> Vec<f64> {
    plant.storages.iter().zip(stored_pa).map(|(storage, &pressure_pa)| storage.volume_m3(pressure_pa)).collect()
}

/// Electrical power of a booster, W; nothing known counts as nothing. What it adds with a drive shows in the pressures at its ends.
fn power_w(plant: &Plant, setting: &Setting, network: &mut Network, place: usize) -> f64 {
    let (garden, joint) = (&plant.garden, &plant.garden.layout().places[place]);
    if !setting.runs[place] {
        return 0.0;
    }
    let flow_m3_per_s = network.flow(place);
    let drive = garden.drive_of(place).map(|drive| &*garden.parts()[drive]);
    let rise_pa = match network.law(place) {
        Law::Booster { holds_pa: Some(_), .. } => {
            let node_pa = network.node_pressures_pa();
            node_pa[joint.to] - node_pa[joint.from]
        }
        Law::Booster { curve, .. } => curve.rise(flow_m3_per_s).0,
        _ => 0.0,
    };
    garden.parts()[place].electric_power_w(Running { flow_m3_per_s, rise_pa, drive }).unwrap_or(0.0)
}
