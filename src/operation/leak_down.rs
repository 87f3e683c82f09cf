//! How the pressure falls by itself: pumps off, valves closed, water still at the start, outlets without a valve taking what they take.
//!
//! It goes leg by leg as a run over time does, in the same machine, and ends when the place that is watched reads the lower pressure.

use super::error::OperationError;
use super::frame::{Frame, Setting, Tolerance};
use super::gauge::What;
use super::machine::Machine;
use super::plant::{Plant, Rule, Switch};
use super::rest::at_rest_pa;
use super::schedule::day_and_clock;
use super::tolerances::STARTS_WITHIN_PA;
use crate::garden::Garden;
use crate::hydraulics::SolveError;
use crate::limits;
use crate::parts::{Part, Placing};

/// A fall that takes longer counts as none, s: thirty years.
const MOST_S: f64 = 1e9;
const MOST_LEGS_OF_FALL: usize = 100_000;

/// How the pressure of a garden falls at one of its places.
#[derive(Clone, Debug, PartialEq)]
pub struct LeakDown {
    /// From still water to the lower pressure, s; none where the pressure comes to rest above it.
    pub time_s: Option<f64>,
    /// The pressure at the place at the end, Pa: the lower one, or that at which it rests.
    pub end_pa: f64,
    /// What all outlets take at the start, m3/s.
    pub taken_first_m3_per_s: f64,
    /// What all outlets take at the end, m3/s.
    pub taken_last_m3_per_s: f64,
    /// Water that stores have given by the end, m3.
    pub given_m3: f64,
}

/// What is asked of a fall.
#[derive(Clone, Copy, Debug)]
pub struct Descent<'a> {
    /// The place at which the pressure is read.
    pub at: usize,
    /// The pressure there in still water at the start, Pa.
    pub from_pa: f64,
    /// The lower pressure there that ends the fall, Pa.
    pub to_pa: f64,
    /// For each node of the garden by how much its pressure lies above that at the place in still water, Pa. What is stored
    /// at nodes without such a number starts as the supplies fill it.
    pub higher_pa: &'a [Option<f64>],
    /// Whether supplies and open tanks may feed what leaks.
    pub is_fed: bool,
}

/// Lets the pressure at a place fall in still water until it reads the lower pressure.
///
/// The answer is that of a run over time in the same state, to rounding. Errors: a state that cannot be solved, or a run that
/// does not end.
pub fn leak_down(garden: &Garden, descent: &Descent) -> Result<LeakDown, OperationError> {
    let &Descent { at, from_pa, to_pa, higher_pa, is_fed } = descent;
    let mut plant = Plant::of(garden)?;
    // The place is watched as a switch would watch it; it drives nothing, for no pump runs.
    let cut_in_pa = to_pa - STARTS_WITHIN_PA;
    plant.switches = vec![Switch { place: at, booster: at, rule: Rule::Pressure { cut_in_pa, cut_out_pa: f64::INFINITY } }];
    let mut stored_pa = at_rest_pa(&plant, None)?;
    let places = &plant.hydraulic.layout().places;
    for (storage, stored_pa) in plant.storages.iter().zip(&mut stored_pa).filter(|(storage, _)| storage.barrel.is_none()) {
        if let Some(Some(higher_pa)) = higher_pa.get(places[storage.source].to) {
            *stored_pa = from_pa + higher_pa;
        }
    }
    Fall::new(plant, stored_pa, is_fed).go()
}

struct Fall {
    machine: Machine,
    setting: Setting,
    stored_pa: Vec<f64>,
    time_s: f64,
    first_m3: f64,
}

impl Fall {
    fn new(plant: Plant, stored_pa: Vec<f64>, is_fed: bool) -> Fall {
        let closed = |part: &Part| part.traits().opens || part.spec().placing == Placing::Source && !is_fed;
        let mut open: Vec<bool> = plant.garden.parts().iter().map(|part| !closed(part)).collect();
        open.resize(plant.hydraulic.parts().len(), true);
        let runs = vec![false; plant.garden.parts().len()];
        let setting = Setting { open, runs, faults: Vec::new(), mains: Vec::new() };
        let mut fall =
            Fall { machine: Machine::new(plant, Vec::new(), Tolerance::USUAL), setting, stored_pa, time_s: 0.0, first_m3: 0.0 };
        fall.first_m3 = fall.stored_m3();
        fall
    }

    fn stored_m3(&self) -> f64 {
        let storages = self.machine.plant.storages.iter().zip(&self.stored_pa);
        storages.filter(|(storage, _)| storage.barrel.is_none()).map(|(storage, &at)| storage.volume_m3(at)).sum()
    }

    fn go(mut self) -> Result<LeakDown, OperationError> {
        let mut first = None;
        // The gauges as the last leg left them: on the far side of its event, where rounding might show the near one.
        let mut known: Option<Vec<bool>> = None;
        for _ in 0..MOST_LEGS_OF_FALL {
            if limits::ended() {
                return Err(OperationError::Stopped);
            }
            let config = self.machine.config(&self.setting)?;
            let mut frame = Frame::default();
            let evaluated = self.machine.evaluate(config, &self.stored_pa, &mut frame);
            evaluated.map_err(|error| self.cannot_solve(error))?;
            let taken = self.taken(config);
            let first = *first.get_or_insert(taken);
            let raised = known.take().unwrap_or_else(|| frame.raised.clone());
            if self.close_empty_tanks(config, &raised) {
                continue;
            }
            let is_down = self.is_down(config, &raised);
            let left_s = MOST_S - self.time_s;
            if is_down || left_s <= 0.0 {
                let end_pa = self.watched_pa(&frame);
                return Ok(LeakDown {
                    time_s: is_down.then_some(self.time_s),
                    end_pa,
                    taken_first_m3_per_s: first,
                    taken_last_m3_per_s: taken,
                    given_m3: self.first_m3 - self.stored_m3(),
                });
            }
            let watches = self.machine.configs[config].watches(&self.machine.plant, &[false]);
            let leg = self.machine.leg(config, &self.stored_pa, &raised, left_s, &watches);
            let leg = leg.map_err(|error| self.cannot_solve(error))?;
            self.time_s = if leg.event { self.time_s + leg.time_s } else { MOST_S.min(self.time_s + leg.time_s) };
            self.stored_pa.clone_from(&leg.end_pa);
            known = Some(leg.raised.clone());
        }
        Err(OperationError::TooManySteps { steps: MOST_LEGS_OF_FALL, when: day_and_clock(self.time_s), events: 0 })
    }

    fn is_down(&self, config: usize, raised: &[bool]) -> bool {
        let gauges = &self.machine.configs[config].state.gauges;
        gauges.iter().zip(raised).any(|(gauge, &raised)| raised && gauge.what == What::CutIn(0))
    }

    fn watched_pa(&self, frame: &Frame) -> f64 {
        let plant = &self.machine.plant;
        frame.node_pa[plant.garden.layout().places[plant.switches[0].place].to]
    }

    /// What outlets take in the state evaluated last, m3/s.
    fn taken(&self, config: usize) -> f64 {
        let parts = self.machine.plant.garden.parts().iter();
        let flows = self.machine.flows(config);
        parts.zip(flows).filter(|(part, _)| part.spec().placing == Placing::Outlet).map(|(_, flow)| flow).sum()
    }

    /// Closes open tanks that are empty; true when one was open.
    fn close_empty_tanks(&mut self, config: usize, raised: &[bool]) -> bool {
        let gauges = self.machine.configs[config].state.gauges.iter().zip(raised);
        let empty: Vec<usize> = gauges
            .filter(|(gauge, raised)| matches!(gauge.what, What::Barrel { .. }) && !**raised)
            .map(|(g, _)| g.place)
            .collect();
        let before = empty.len();
        let open = empty.into_iter().filter(|&place| std::mem::replace(&mut self.setting.open[place], false)).count();
        before > 0 && open > 0
    }

    fn cannot_solve(&self, error: SolveError) -> OperationError {
        let setting = "all valves closed".to_string();
        OperationError::Solve { when: day_and_clock(self.time_s), setting, error: error.named(&self.machine.plant.hydraulic) }
    }
}
