//! The run: from event to event until the time is over, day by day.
//!
//! At each moment the schedule, the faults and the switches say how everything stands; the machine then runs a leg until
//! the next thing happens. `standing` is the state of a run, `turns` what comes by the clock, `acts` what the garden does of itself, `notes` what is recorded of it,
//! `chatter` sees a switch that never comes to rest, `repeats` knows days that come again.

mod acts;
mod chatter;
mod notes;
mod repeats;
mod standing;
mod turns;

use super::day::{Day, LegStart};
use super::error::OperationError;
use super::fault::Fault;
use super::frame::{Frame, Tolerance};
use super::log::{CutShort, Log};
use super::machine::Machine;
use super::plant::Plant;
use super::rest::at_rest_pa;
use super::schedule::{Schedule, day_and_clock};
use super::tolerances::SAME_MOMENT_S;
use crate::garden::Garden;
use crate::limits;
use crate::quantity::DAY_S;
use repeats::{Begins, Repeats};
use standing::Run;
use std::sync::Arc;
use turns::{of_day, turns};

/// Events that a log keeps, and steps of a run: some 70 MB each. Days that repeat others count once.
const MOST_EVENTS: usize = 2_000_000;
const MOST_LEGS: usize = 2_000_000;
/// Steady states that may not be found; each costs some 40 ms, and a shorter step.
const MOST_FAILURES: usize = 200;
/// Legs that may take no time one after another.
const MOST_AT_ONCE: usize = 2_000;

/// How a run is made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options<'a> {
    /// Parts that fail, and when; empty where all work.
    pub faults: &'a [Fault],
    /// Tolerance as a share of the usual one; 1 by default.
    pub tolerance: Option<f64>,
    /// Runs also the days that repeat earlier ones. The log is the same, but for the work it took.
    pub every_day: bool,
}

/// Operates a garden by a schedule for a time that begins at midnight. Errors: [`OperationError`].
pub fn operate(garden: &Garden, schedule: &Schedule, duration_s: f64) -> Result<Log, OperationError> {
    operate_with(garden, schedule, duration_s, &Options::default())
}

/// Operates a garden as [`operate`] does, with faults or another tolerance. Errors: [`OperationError`].
pub fn operate_with(garden: &Garden, schedule: &Schedule, duration_s: f64, options: &Options) -> Result<Log, OperationError> {
    if !(duration_s.is_finite() && duration_s > 0.0) {
        let found = format!("{duration_s} s");
        return Err(OperationError::NotPositive { what: "the duration of a run".into(), found });
    }
    let garden = &schedule.lend_ranges(garden)?;
    let plant = Plant::of(garden)?;
    let faults = options.faults.iter().map(|fault| Ok((fault.place(garden)?, fault.clone())));
    let faults = faults.collect::<Result<Vec<_>, OperationError>>()?;
    let intervals = schedule.intervals(duration_s)?;
    let turns = turns(garden, &intervals, &faults, duration_s)?;
    let stored_pa = at_rest_pa(&plant, schedule.held_pa)?;
    let tolerance = Tolerance::USUAL.times(options.tolerance.unwrap_or(1.0));
    let mut run = Run::new(Machine::new(plant, faults, tolerance), &intervals, turns, stored_pa, duration_s);
    run.go(options.every_day)?;
    Ok(run.into_log(schedule))
}

/// Whether a run has become longer than one may be.
fn too_much(events: usize, legs: usize, failures: usize) -> Option<CutShort> {
    if failures > MOST_FAILURES {
        return Some(CutShort::HardToSolve { failures });
    }
    if events > MOST_EVENTS {
        return Some(CutShort::TooManyEvents { most: MOST_EVENTS });
    }
    (legs > MOST_LEGS).then_some(CutShort::TooManySteps { most: MOST_LEGS })
}

impl Run {
    /// Runs all days; those that repeat earlier ones are taken over from them unless `every_day` is to be run.
    fn go(&mut self, every_day: bool) -> Result<(), OperationError> {
        let mut repeats = Repeats::default();
        while self.midnight_s() < self.duration_s && self.record.cut_short.is_none() {
            if limits::ended() {
                return Err(OperationError::Stopped);
            }
            self.begin_day();
            // At the very end what a last look sees is noted, so the last day is always run.
            let may_repeat = self.midnight_s() + DAY_S < self.duration_s && !every_day;
            let begins = may_repeat.then(|| Begins::of(self));
            let learned = self.machine.learned();
            if let Some(known) = begins.as_ref().and_then(|begins| repeats.find(begins, learned)) {
                self.record.totals.add_day(&known.sums, DAY_S * self.number as f64);
                self.record.days.push(Arc::clone(&known.day));
                self.standing = known.after.clone();
                (self.next_turn, self.number) = (self.turns_end, self.number + 1);
                continue;
            }
            self.run_day()?;
            let midnight_s = self.midnight_s();
            self.day.end_pa.clone_from(&self.standing.stored_pa);
            let day = Arc::new(std::mem::take(&mut self.day));
            self.record.totals.add_day(&self.sums, midnight_s);
            self.record.duration_s = midnight_s + self.time_s;
            self.events += day.events.len();
            self.record.days.push(Arc::clone(&day));
            self.standing.next_day(&self.machine.plant.switches);
            self.number += 1;
            if let Some(begins) = begins.filter(|_| self.machine.learned() == learned && self.record.cut_short.is_none()) {
                repeats.keep(begins, learned, day, self.sums.clone(), self.standing.clone());
            }
        }
        if self.record.cut_short.is_none() {
            self.record.duration_s = self.duration_s;
        }
        Ok(())
    }

    /// Begins a day with nothing of the one before but how things stand.
    fn begin_day(&mut self) {
        (self.time_s, self.turned_s) = (0.0, 0.0);
        self.day = Day::default();
        self.sums.clear();
        self.starts_s.iter_mut().for_each(Vec::clear);
        let turns = of_day(&self.turns, self.number);
        (self.next_turn, self.turns_end) = (turns.start, turns.end);
        self.machine.begin_day();
    }

    fn run_day(&mut self) -> Result<(), OperationError> {
        let mut frame = Frame::default();
        let (mut legs, mut at_once) = (0usize, 0usize);
        while self.time_s < self.end_s() {
            if legs % 64 == 0 && limits::ended() {
                return Err(OperationError::Stopped);
            }
            self.turn();
            let config = self.machine.config(&self.standing.setting)?;
            let gauges = match self.standing.known.take() {
                Some((known, gauges)) if known == config => gauges,
                _ => {
                    let found = self.machine.evaluate(config, &self.standing.stored_pa, &mut frame);
                    found.map_err(|error| self.cannot_solve(error))?;
                    frame.raised.clone()
                }
            };
            self.note(config, &gauges);
            if self.act(config, &gauges) {
                at_once += 1;
                if at_once > MOST_AT_ONCE {
                    return Err(self.too_many());
                }
                self.standing.known = Some((config, gauges));
                continue;
            }
            let most_s = self.free_s(config, &gauges);
            let deaf = self.deaf();
            let watches = self.machine.configs[config].watches(&self.machine.plant, &deaf);
            let leg = self.machine.leg(config, &self.standing.stored_pa, &gauges, most_s, &watches);
            let leg = leg.map_err(|error| self.cannot_solve(error))?;
            self.day.marks.push(LegStart { time_s: self.time_s, config: config as u32 });
            self.day.marked_pa.extend_from_slice(&self.standing.stored_pa);
            self.sums.add(&self.machine.plant, &self.machine.configs[config].state.gauges, &leg, self.time_s);
            let over = leg.time_s >= most_s - SAME_MOMENT_S && !leg.event;
            let next_s = if over { self.next_stop_s(most_s) } else { self.time_s + leg.time_s };
            at_once = if next_s > self.time_s { 0 } else { at_once + 1 };
            self.time_s = next_s;
            self.standing.stored_pa.copy_from_slice(&leg.end_pa);
            self.standing.known = Some((config, leg.raised.clone()));
            (legs, self.legs) = (legs + 1, self.legs + 1);
            if at_once > MOST_AT_ONCE {
                return Err(self.too_many());
            }
            let failures = self.machine.configs[config].state.failures;
            let events = self.events + self.day.events.len();
            self.record.cut_short = self.chatter().or_else(|| too_much(events, self.legs, failures));
            if self.record.cut_short.is_some() {
                break;
            }
        }
        self.time_s = self.time_s.min(self.end_s());
        let is_last = self.midnight_s() + self.end_s() >= self.duration_s || self.record.cut_short.is_some();
        if let Some((config, gauges)) = self.standing.known.clone().filter(|_| is_last) {
            self.note(config, &gauges);
        }
        Ok(())
    }

    /// The moment at which a leg of full length ends, without the rounding of a sum.
    fn next_stop_s(&self, most_s: f64) -> f64 {
        let sum_s = self.time_s + most_s;
        let turn_s = self.next_turn_s();
        if (turn_s - sum_s).abs() <= SAME_MOMENT_S { turn_s } else { sum_s }
    }

    fn cannot_solve(&self, error: crate::hydraulics::SolveError) -> OperationError {
        let garden = &self.machine.plant.garden;
        let is_open = |&place: &usize| self.standing.setting.open[place];
        let open: Vec<&str> = garden.valves().filter(is_open).map(|place| garden.name(place)).collect();
        let setting = if open.is_empty() { "all valves closed".to_string() } else { format!("{} open", open.join(" and ")) };
        let when = day_and_clock(self.midnight_s() + self.time_s);
        OperationError::Solve { when, setting, error: error.named(&self.machine.plant.hydraulic) }
    }

    fn too_many(&self) -> OperationError {
        let (when, events) = (day_and_clock(self.midnight_s() + self.time_s), self.events + self.day.events.len());
        OperationError::TooManySteps { steps: self.legs, when, events }
    }

    fn into_log(mut self, schedule: &Schedule) -> Log {
        let stored = self.machine.plant.storages.iter().zip(&self.standing.stored_pa);
        self.record.last_m3 = stored.map(|(store, &at)| store.volume_m3(at)).collect();
        self.record.solves = self.machine.configs.iter().map(|config| config.state.solves).sum();
        Log::new(self.machine, schedule.clone(), self.record)
    }
}
