//! The run: from event to event until the time is over.
//!
//! At each moment the schedule, the faults and the switches say how everything stands; the machine then runs a leg until
//! the next thing happens. `standing` is the state of a run, `turns` what comes by the clock, `acts` what the garden does of itself, `notes` what is recorded of it,
//! `chatter` sees a switch that never comes to rest.

mod acts;
mod chatter;
mod notes;
mod standing;
mod turns;

use super::error::OperationError;
use super::fault::Fault;
use super::frame::{Frame, Tolerance};
use super::log::{CutShort, LegStart, Log, Record};
use super::machine::Machine;
use super::plant::Plant;
use super::rest::at_rest_pa;
use super::schedule::{Schedule, day_and_clock};
use super::tolerances::SAME_MOMENT_S;
use crate::garden::Garden;
use crate::limits;
use standing::Run;
use turns::turns;

/// Events that a log holds, and steps of a run: some 70 MB each. A pump with four starts an hour makes as many in ten years.
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
    run.go()?;
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
    fn go(&mut self) -> Result<(), OperationError> {
        for place in self.machine.plant.boosters.clone() {
            if self.setting.runs[place] {
                self.sums.pump_starts(place, 0.0);
            }
        }
        let mut frame = Frame::default();
        let (mut legs, mut at_once) = (0usize, 0usize);
        let mut raised: Option<(usize, Vec<bool>)> = None;
        while self.time_s < self.duration_s {
            if legs % 64 == 0 && limits::ended() {
                return Err(OperationError::Stopped);
            }
            self.turn();
            let config = self.machine.config(&self.setting)?;
            let gauges = match raised.take() {
                Some((known, gauges)) if known == config => gauges,
                _ => {
                    let found = self.machine.evaluate(config, &self.stored_pa, &mut frame);
                    found.map_err(|error| self.cannot_solve(error))?;
                    frame.raised.clone()
                }
            };
            self.note(config, &gauges);
            if self.act(config, &gauges) {
                at_once += 1;
                if at_once > MOST_AT_ONCE {
                    return Err(self.too_many(legs));
                }
                raised = Some((config, gauges));
                continue;
            }
            let most_s = self.free_s(config, &gauges);
            let deaf = self.deaf();
            let watches = self.machine.configs[config].watches(&self.machine.plant, &deaf);
            let leg = self.machine.leg(config, &self.stored_pa, &gauges, most_s, &watches);
            let leg = leg.map_err(|error| self.cannot_solve(error))?;
            self.marks.push(LegStart { time_s: self.time_s, config: config as u32 });
            self.marked_pa.extend_from_slice(&self.stored_pa);
            self.sums.add(&self.machine.plant, &self.machine.configs[config].state.gauges, &leg, self.time_s);
            let over = leg.time_s >= most_s - SAME_MOMENT_S && !leg.event;
            let next_s = if over { self.next_stop_s(most_s) } else { self.time_s + leg.time_s };
            at_once = if next_s > self.time_s { 0 } else { at_once + 1 };
            self.time_s = next_s;
            self.stored_pa.copy_from_slice(&leg.end_pa);
            raised = Some((config, leg.raised.clone()));
            legs += 1;
            if at_once > MOST_AT_ONCE {
                return Err(self.too_many(legs));
            }
            let failures = self.machine.configs[config].state.failures;
            self.cut_short = self.chatter().or_else(|| too_much(self.events.len(), legs, failures));
            if self.cut_short.is_some() {
                break;
            }
        }
        let end_s = self.time_s.min(self.duration_s);
        if let Some((config, gauges)) = raised {
            self.note(config, &gauges);
        }
        self.time_s = end_s;
        Ok(())
    }

    /// The moment at which a leg of full length ends, without the rounding of a sum.
    fn next_stop_s(&self, most_s: f64) -> f64 {
        let sum_s = self.time_s + most_s;
        let turn_s = self.turns.get(self.next_turn).map_or(self.duration_s, |turn| turn.time_s.min(self.duration_s));
        if (turn_s - sum_s).abs() <= SAME_MOMENT_S.max(1e-12 * sum_s) { turn_s } else { sum_s }
    }

    fn cannot_solve(&self, error: crate::hydraulics::SolveError) -> OperationError {
        let garden = &self.machine.plant.garden;
        let open: Vec<&str> = garden.valves().filter(|&place| self.setting.open[place]).map(|place| garden.name(place)).collect();
        let setting = if open.is_empty() { "all valves closed".to_string() } else { format!("{} open", open.join(" and ")) };
        OperationError::Solve { when: day_and_clock(self.time_s), setting, error: error.named(&self.machine.plant.hydraulic) }
    }

    fn too_many(&self, steps: usize) -> OperationError {
        OperationError::TooManySteps { steps, when: day_and_clock(self.time_s), events: self.events.len() }
    }

    fn into_log(self, schedule: &Schedule) -> Log {
        let last_m3 = self.machine.plant.storages.iter().zip(&self.stored_pa).map(|(store, &at)| store.volume_m3(at)).collect();
        let solves = self.machine.configs.iter().map(|config| config.state.solves).sum();
        Log::new(
            self.machine,
            schedule.clone(),
            Record {
                duration_s: self.time_s,
                events: self.events,
                marks: self.marks,
                marked_pa: self.marked_pa,
                end_pa: self.stored_pa,
                sums: self.sums,
                first_m3: self.first_m3,
                last_m3,
                cut_short: self.cut_short,
                solves,
            },
        )
    }
}
