//! The machine: for every setting of valves, pumps and faults a configuration, and the legs run in it up to now.
//!
//! A leg is a way of the state in one setting until something happens or the time is over. Legs that were run to their
//! event are kept: a pump that cycles asks for the same ones again and again.

use super::config::Config;
use super::fault::Fault;
use super::frame::{Frame, Leg, Question, Setting, Tolerance, Watch};
use super::plant::Plant;
use crate::garden::GardenError;
use crate::hydraulics::SolveError;
use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

/// Legs that are kept for a setting at most; more are a sign of a state that does not come back.
const MOST_LEGS_KEPT: usize = 4096;

/// A plant with its settings.
pub struct Machine {
    pub plant: Plant,
    pub faults: Vec<(usize, Fault)>,
    pub configs: Vec<Config>,
    pub tolerance: Tolerance,
    known: HashMap<Setting, usize>,
    /// The configuration that was asked for last.
    last: usize,
    /// The number of the day that runs, for which a configuration begins when it is first entered on it.
    day: usize,
}

impl Machine {
    pub fn new(plant: Plant, faults: Vec<(usize, Fault)>, tolerance: Tolerance) -> Machine {
        Machine { plant, faults, configs: Vec::new(), tolerance, known: HashMap::new(), last: 0, day: 0 }
    }

    /// Begins a day: what happens on it depends on no solve before it.
    pub fn begin_day(&mut self) {
        self.day += 1;
    }

    /// A number that grows with everything that stays known from one day to the next: configurations, curves, legs.
    pub fn learned(&self) -> usize {
        self.configs.iter().map(Config::learned).sum()
    }

    /// The number of the configuration of a setting. Errors: the garden cannot be solved at all.
    pub fn config(&mut self, setting: &Setting) -> Result<usize, GardenError> {
        // Most legs go on in the setting of the last one.
        let known = match self.configs.get(self.last) {
            Some(config) if config.state.setting == *setting => Some(self.last),
            _ => self.known.get(setting).copied(),
        };
        if let Some(known) = known {
            self.last = known;
            self.configs[known].wake(self.day);
            return Ok(known);
        }
        let mut config = Config::new(&self.plant, &self.faults, setting)?;
        config.wake(self.day);
        self.configs.push(config);
        self.last = self.configs.len() - 1;
        self.known.insert(setting.clone(), self.last);
        Ok(self.last)
    }

    /// The state of a configuration at these gauge pressures of the storages, Pa. Errors: there is no steady one.
    pub fn evaluate(&mut self, config: usize, stored_pa: &[f64], frame: &mut Frame) -> Result<(), SolveError> {
        self.configs[config].evaluate(&self.plant, stored_pa, frame)
    }

    /// Flows through all places in the state evaluated last.
    pub fn flows(&self, config: usize) -> Vec<f64> {
        let network = &self.configs[config].state.network;
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
        let config = &mut self.configs[config];
        let key = if config.repeats() || !config.legs.is_empty() { key_of(stored_pa) } else { 0 };
        if let Some(known) = config.legs.get(&key)
            && known.start_pa == stored_pa
            && known.time_s <= most_s
            && !stops_for_nothing(watches, raised, known)
        {
            return Ok(Arc::clone(known));
        }
        let question = Question { plant: &self.plant, stored_pa, raised, most_s, watches, tolerance: self.tolerance };
        let leg = config.leg(&question)?;
        if leg.event && leg.time_s > 0.0 && config.repeats() && config.legs.len() < MOST_LEGS_KEPT {
            config.legs.insert(key, Arc::clone(&leg));
        }
        Ok(leg)
    }

    /// The pressures of the storages a while after they stood at these. Errors: a state that has no solution.
    pub fn after(&mut self, config: usize, stored_pa: &[f64], time_s: f64) -> Result<Vec<f64>, SolveError> {
        let mut frame = Frame::default();
        self.evaluate(config, stored_pa, &mut frame)?;
        let watches = vec![Watch::Never; frame.raised.len()];
        let (mut stored_pa, mut left_s) = (stored_pa.to_vec(), time_s);
        while left_s > 1e-9 * time_s {
            let leg = self.leg(config, &stored_pa, &frame.raised, left_s, &watches)?;
            if leg.time_s <= 0.0 {
                break;
            }
            left_s -= leg.time_s;
            stored_pa.clone_from(&leg.end_pa);
            frame.raised.clone_from(&leg.raised);
        }
        Ok(stored_pa)
    }
}

/// A switch in its lag may have a gauge raised already: a known leg would stop where nothing is new.
fn stops_for_nothing(watches: &[Watch], raised: &[bool], leg: &Leg) -> bool {
    let ends = raised.iter().zip(&leg.raised);
    watches.iter().zip(ends).any(|(watch, (&before, &after))| *watch == Watch::Rise && before && after)
}

fn key_of(stored_pa: &[f64]) -> u64 {
    let mut hasher = DefaultHasher::new();
    stored_pa.iter().for_each(|pressure| pressure.to_bits().hash(&mut hasher));
    hasher.finish()
}
