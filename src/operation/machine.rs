//! The machine: for every setting of valves, pumps and faults a network, its gauges, and the tables made for it so far.
//!
//! A leg is a way of the state in one setting until something happens or the time is over. Legs that were run to their
//! event are kept: a pump that cycles asks for the same ones again and again.

use super::config::Config;
use super::curve::Watch;
use super::fault::Fault;
use super::growth::Tolerance;
use super::plant::Plant;
use crate::garden::GardenError;
use crate::hydraulics::SolveError;
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

/// What is asked of a leg: how far the state goes from here until a watched gauge changes or the time is over.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    pub plant: &'a Plant,
    /// Pressures of all storages at the start.
    pub stored_pa: &'a [f64],
    /// The gauges as they were known at the start.
    pub raised: &'a [bool],
    pub most_s: f64,
    pub watches: &'a [Watch],
    pub tolerance: Tolerance,
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
        let question = Question { plant: &self.plant, stored_pa, raised, most_s, watches, tolerance: self.tolerance };
        let leg = config.leg(&question)?;
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
