//! The run: from event to event until the time is over.
//!
//! At each moment the programme, the faults and the switches say how everything stands; the machine then runs a leg until
//! the next thing happens.

use super::accumulate::Sums;
use super::error::OperationError;
use super::event::{Event, EventKind};
use super::fault::{Fault, FaultKind};
use super::gauge::{Gauge, What};
use super::growth::Tolerance;
use super::log::{Log, Mark};
use super::machine::{Frame, Machine, Setting};
use super::plant::Plant;
use super::programme::{Interval, Programme, day_and_clock};
use super::rest::at_rest_pa;
use crate::garden::{Garden, GardenError};
use crate::parts::Kind;
use std::sync::atomic::{AtomicBool, Ordering};

/// A switch and its pump do not change again sooner than this, s. Common practice, no source: contacts need some time.
pub const SWITCH_LAG_S: f64 = 0.05;
/// Share of its volume to which an open tank must fill before water is taken from it again.
const SERVES_AGAIN_AT: f64 = 0.02;
/// A check valve that opens again this soon has not shut, s.
const FLUTTER_S: f64 = 1.0;
/// Moments that count as the same, s.
const SAME_MOMENT_S: f64 = 1e-9;
/// Events after which a run is cut short: something chatters without end.
const MOST_EVENTS: usize = 400_000;
/// So many events within [`CHATTER_S`] are chatter that no contact would live through: the run is cut short sooner.
const CHATTER_EVENTS: usize = 20_000;
const CHATTER_S: f64 = 1200.0;
const MOST_LEGS: usize = 3_000_000;
/// Legs that may take no time one after another.
const MOST_AT_ONCE: usize = 2_000;

/// How a run is made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options<'a> {
    pub faults: &'a [Fault],
    /// Tolerance as a share of the usual one; 1 unless said.
    pub tolerance: Option<f64>,
    /// Set by others to end the run early.
    pub stop: Option<&'a AtomicBool>,
}

/// Operates a garden by a programme for a time that begins at midnight. Errors: [`OperationError`].
pub fn operate(garden: &Garden, programme: &Programme, duration_s: f64) -> Result<Log, OperationError> {
    operate_with(garden, programme, duration_s, &Options::default())
}

/// Operates a garden as [`operate`] does, with faults, another tolerance or a flag to stop. Errors: [`OperationError`].
pub fn operate_with(garden: &Garden, programme: &Programme, duration_s: f64, options: &Options) -> Result<Log, OperationError> {
    if !(duration_s.is_finite() && duration_s > 0.0) {
        let found = format!("{duration_s} s");
        return Err(OperationError::NotPositive { what: "the time of a run".into(), found });
    }
    let plant = Plant::of(garden)?;
    let faults = options.faults.iter().map(|fault| Ok((fault.place(garden)?, fault.clone())));
    let faults = faults.collect::<Result<Vec<_>, OperationError>>()?;
    let intervals = programme.intervals(duration_s)?;
    let turns = turns(garden, &intervals, &faults, duration_s)?;
    let stored_pa = at_rest_pa(&plant, programme.held_pa)?;
    let tolerance = Tolerance::USUAL.times(options.tolerance.unwrap_or(1.0));
    let mut run = Run::new(Machine::new(plant, faults, tolerance), &intervals, turns, stored_pa, duration_s);
    run.go(options)?;
    Ok(run.into_log(programme))
}

/// Something that the programme or a fault turns.
#[derive(Clone, Copy, Debug)]
struct Turn {
    time_s: f64,
    what: Turned,
    on: Way,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Turned {
    /// A valve or draw, by place.
    Place(usize),
    /// A fault, by number.
    Fault(usize),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    On,
    Off,
}

/// All turns in time; at the same moment shutting comes before opening.
fn turns(garden: &Garden, intervals: &[Interval], faults: &[(usize, Fault)], until_s: f64) -> Result<Vec<Turn>, OperationError> {
    let mut turns = Vec::with_capacity(2 * intervals.len());
    for interval in intervals {
        let place = place_to_open(garden, &interval.name)?;
        turns.push(Turn { time_s: interval.from_s, what: Turned::Place(place), on: Way::On });
        turns.push(Turn { time_s: interval.to_s, what: Turned::Place(place), on: Way::Off });
    }
    for (index, (_, fault)) in faults.iter().enumerate() {
        turns.push(Turn { time_s: fault.from_s, what: Turned::Fault(index), on: Way::On });
        turns.push(Turn { time_s: fault.from_s + fault.lasting_s, what: Turned::Fault(index), on: Way::Off });
    }
    turns.retain(|turn| turn.time_s < until_s);
    turns.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then((a.on == Way::On).cmp(&(b.on == Way::On))));
    Ok(turns)
}

/// The valve or draw of a name. Errors: an unknown name, or a part that cannot be opened.
fn place_to_open(garden: &Garden, name: &str) -> Result<usize, OperationError> {
    let can = |place: usize| matches!(garden.parts()[place].kind(), Kind::Valve | Kind::Draw);
    let Some(place) = garden.layout().find(name) else {
        let known = (0..garden.parts().len()).filter(|&place| can(place)).map(|place| garden.name(place).to_string());
        return Err(GardenError::UnknownZone { name: name.to_string(), valves: known.collect() }.into());
    };
    if can(place) {
        return Ok(place);
    }
    Err(OperationError::CannotOpen { name: name.to_string(), word: garden.parts()[place].spec().word })
}

/// Which state of a part has an event of its own when it changes.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Noted {
    Unknown,
    Yes,
    No,
}

struct Run {
    machine: Machine,
    turns: Vec<Turn>,
    next_turn: usize,
    duration_s: f64,
    time_s: f64,
    stored_pa: Vec<f64>,
    /// How many openings of the programme hold each place open now.
    openings: Vec<u32>,
    setting: Setting,
    /// Open tanks that are empty, by storage.
    empty: Vec<bool>,
    /// Boosters that a guard has stopped for good.
    locked: Vec<bool>,
    /// When each switch has last changed its booster, s.
    changed_s: Vec<f64>,
    noted: Vec<Noted>,
    events: Vec<Event>,
    marks: Vec<Mark>,
    marked_pa: Vec<f64>,
    sums: Sums,
    first_m3: Vec<f64>,
    cut_short_s: Option<f64>,
}

impl Run {
    fn new(machine: Machine, intervals: &[Interval], turns: Vec<Turn>, stored_pa: Vec<f64>, duration_s: f64) -> Run {
        let plant = &machine.plant;
        let parts = plant.garden.parts();
        let programmed = |place: usize| intervals.iter().any(|interval| plant.garden.name(place) == interval.name);
        // Draws that the programme does not speak of are open throughout, as in a steady state.
        let mut open: Vec<bool> = plant
            .hydraulic
            .parts()
            .iter()
            .enumerate()
            .map(|(place, part)| match part.kind() {
                Kind::Valve => false,
                Kind::Draw => !programmed(place),
                _ => true,
            })
            .collect();
        open.resize(plant.hydraulic.parts().len(), true);
        let switched = |place: usize| plant.switches.iter().any(|switch| switch.booster == place);
        let runs = (0..parts.len()).map(|place| parts[place].kind() == Kind::Booster && !switched(place)).collect();
        let first_m3 = plant.storages.iter().zip(&stored_pa).map(|(storage, &pressure)| storage.volume_m3(pressure)).collect();
        Run {
            next_turn: 0,
            duration_s,
            time_s: 0.0,
            openings: vec![0; parts.len()],
            setting: Setting { open, runs, faults: vec![false; machine.faults.len()] },
            empty: vec![false; stored_pa.len()],
            locked: vec![false; parts.len()],
            changed_s: vec![f64::NEG_INFINITY; plant.switches.len()],
            noted: vec![Noted::Unknown; parts.len()],
            events: Vec::new(),
            marks: Vec::new(),
            marked_pa: Vec::new(),
            sums: Sums::new(plant),
            first_m3,
            cut_short_s: None,
            stored_pa,
            turns,
            machine,
        }
    }

    fn go(&mut self, options: &Options) -> Result<(), OperationError> {
        for place in self.machine.plant.boosters.clone() {
            if self.setting.runs[place] {
                self.sums.pump_starts(place, 0.0);
            }
        }
        let mut frame = Frame::default();
        let (mut legs, mut at_once) = (0usize, 0usize);
        let mut raised: Option<(usize, Vec<bool>)> = None;
        while self.time_s < self.duration_s {
            if legs % 64 == 0 && options.stop.is_some_and(|stop| stop.load(Ordering::Relaxed)) {
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
            self.marks.push(Mark { time_s: self.time_s, config: config as u32 });
            self.marked_pa.extend_from_slice(&self.stored_pa);
            self.sums.add(&self.machine.plant, &self.machine.configs[config], &leg, self.time_s);
            let over = leg.time_s >= most_s - SAME_MOMENT_S && !leg.event;
            let next_s = if over { self.next_stop_s(most_s) } else { self.time_s + leg.time_s };
            at_once = if next_s > self.time_s { 0 } else { at_once + 1 };
            self.time_s = next_s;
            self.stored_pa.copy_from_slice(&leg.end_pa);
            raised = Some((config, leg.raised.clone()));
            legs += 1;
            if at_once > MOST_AT_ONCE || legs > MOST_LEGS {
                return Err(self.too_many(legs));
            }
            if self.events.len() > MOST_EVENTS || self.chatters() {
                self.cut_short_s = Some(self.time_s);
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

    /// True when the last events came so fast that nothing but chatter is to be learned from going on.
    fn chatters(&self) -> bool {
        let before = self.events.len().checked_sub(CHATTER_EVENTS);
        before.is_some_and(|before| self.time_s - self.events[before].time_s < CHATTER_S)
    }

    /// The moment at which a leg of full length ends, without the rounding of a sum.
    fn next_stop_s(&self, most_s: f64) -> f64 {
        let sum_s = self.time_s + most_s;
        let turn_s = self.turns.get(self.next_turn).map_or(self.duration_s, |turn| turn.time_s.min(self.duration_s));
        if (turn_s - sum_s).abs() <= SAME_MOMENT_S.max(1e-12 * sum_s) { turn_s } else { sum_s }
    }

    fn cannot_solve(&self, error: crate::hydraulics::SolveError) -> OperationError {
        let garden = &self.machine.plant.garden;
        let open: Vec<&str> =
            garden.of_kind(Kind::Valve).filter(|&place| self.setting.open[place]).map(|place| garden.name(place)).collect();
        let setting = if open.is_empty() { "all valves shut".to_string() } else { format!("{} open", open.join(" and ")) };
        OperationError::Solve { when: day_and_clock(self.time_s), setting, error: error.named(&self.machine.plant.hydraulic) }
    }

    fn too_many(&self, steps: usize) -> OperationError {
        OperationError::TooManySteps { steps, when: day_and_clock(self.time_s), events: self.events.len() }
    }

    fn event(&mut self, place: usize, kind: EventKind) {
        self.events.push(Event { time_s: self.time_s, place, kind });
    }

    /// Does what the programme and the faults do now.
    fn turn(&mut self) {
        while let Some(turn) = self.turns.get(self.next_turn).copied().filter(|turn| turn.time_s <= self.time_s + SAME_MOMENT_S) {
            self.next_turn += 1;
            match turn.what {
                Turned::Place(place) => {
                    match turn.on {
                        Way::On => self.openings[place] += 1,
                        Way::Off => self.openings[place] = self.openings[place].saturating_sub(1),
                    }
                    self.set_open(place);
                }
                Turned::Fault(index) => {
                    self.setting.faults[index] = turn.on == Way::On;
                    let place = self.machine.faults[index].0;
                    self.event(place, if turn.on == Way::On { EventKind::FaultBegins } else { EventKind::FaultEnds });
                    if matches!(self.machine.plant.garden.parts()[place].kind(), Kind::Valve | Kind::Relief) {
                        self.set_open(place);
                    }
                    self.drive_without_switch(place);
                }
            }
        }
    }

    fn fails(&self, place: usize, kind: FaultKind) -> bool {
        let faults = self.machine.faults.iter().zip(&self.setting.faults);
        faults.clone().any(|((at, fault), &here)| here && *at == place && fault.kind == kind)
    }

    /// Opens or shuts a valve, draw or relief as the programme and its faults have it.
    fn set_open(&mut self, place: usize) {
        let kind = self.machine.plant.garden.parts()[place].kind();
        let wanted = self.openings[place] > 0 || kind == Kind::Relief;
        let open = !self.fails(place, FaultKind::SticksShut) && (wanted || self.fails(place, FaultKind::SticksOpen));
        if self.setting.open[place] == open {
            return;
        }
        self.setting.open[place] = open;
        match (kind, open) {
            (Kind::Valve, true) => self.event(place, EventKind::ValveOpens),
            (Kind::Valve, false) => self.event(place, EventKind::ValveShuts),
            (Kind::Draw, true) => self.event(place, EventKind::DrawBegins),
            (Kind::Draw, false) => self.event(place, EventKind::DrawEnds),
            _ => {}
        }
    }

    /// A booster without a switch runs unless it is broken.
    fn drive_without_switch(&mut self, place: usize) {
        let plant = &self.machine.plant;
        if !plant.boosters.contains(&place) || plant.switches.iter().any(|switch| switch.booster == place) {
            return;
        }
        let runs = !self.fails(place, FaultKind::WillNotStart) && !self.locked[place];
        self.set_runs(place, runs);
    }

    fn set_runs(&mut self, booster: usize, runs: bool) {
        if self.setting.runs[booster] == runs {
            return;
        }
        self.setting.runs[booster] = runs;
        if runs {
            self.sums.pump_starts(booster, self.time_s);
            self.event(booster, EventKind::PumpStarts);
        } else {
            self.sums.pump_stops(booster, self.time_s);
            self.event(booster, EventKind::PumpStops);
        }
    }

    /// What each switch wants of its booster: on, off or nothing.
    fn wish(&self, index: usize, raised: impl Fn(What) -> bool) -> Option<bool> {
        let switch = self.machine.plant.switches[index];
        let either = |kind| self.fails(switch.place, kind) || self.fails(switch.booster, kind);
        if self.locked[switch.booster] || either(FaultKind::WillNotStart) {
            return Some(false);
        }
        if either(FaultKind::WillNotStop) {
            return Some(true);
        }
        if self.fails(switch.place, FaultKind::Blocked) {
            return None;
        }
        match self.setting.runs[switch.booster] {
            false if raised(What::CutIn(index)) => Some(true),
            true if raised(What::CutOut(index)) => Some(false),
            _ => None,
        }
    }

    /// Lets switches, guards and empty tanks act; true when something has changed.
    fn act(&mut self, config: usize, raised: &[bool]) -> bool {
        let gauges: Vec<(Gauge, bool)> =
            self.machine.configs[config].gauges.iter().copied().zip(raised.iter().copied()).collect();
        let is_raised = |what: What| gauges.iter().any(|(gauge, raised)| gauge.what == what && *raised);
        let mut changed = false;
        for index in 0..self.machine.plant.switches.len() {
            let booster = self.machine.plant.switches[index].booster;
            let Some(wish) = self.wish(index, is_raised) else { continue };
            let lags = self.time_s < self.changed_s[index] + SWITCH_LAG_S - SAME_MOMENT_S;
            if self.setting.runs[booster] != wish && !lags {
                self.set_runs(booster, wish);
                self.changed_s[index] = self.time_s;
                changed = true;
            }
        }
        for (gauge, raised) in &gauges {
            match gauge.what {
                What::Dry if *raised && !self.locked[gauge.place] => {
                    self.locked[gauge.place] = true;
                    self.setting.runs[gauge.place] = false;
                    self.sums.pump_stops(gauge.place, self.time_s);
                    self.event(gauge.place, EventKind::PumpStopsDry);
                    changed = true;
                }
                What::Barrel { storage } => {
                    let full = self.machine.plant.storages[storage].barrel.map_or(f64::NAN, |barrel| barrel.full_pa);
                    let serves = self.stored_pa[storage] >= SERVES_AGAIN_AT * full * (1.0 - 1e-9);
                    if !*raised && !self.empty[storage] {
                        (self.empty[storage], self.setting.open[gauge.place]) = (true, false);
                        self.event(gauge.place, EventKind::BarrelEmpties);
                        changed = true;
                    } else if self.empty[storage] && serves {
                        (self.empty[storage], self.setting.open[gauge.place]) = (false, true);
                        self.event(gauge.place, EventKind::BarrelServes);
                        changed = true;
                    }
                }
                _ => {}
            }
        }
        changed
    }

    /// Switches that do not act now by their pressure.
    fn deaf(&self) -> Vec<bool> {
        (0..self.machine.plant.switches.len())
            .map(|index| self.fails(self.machine.plant.switches[index].place, FaultKind::Blocked))
            .collect()
    }

    /// How long the state may go on before something happens that is known beforehand.
    fn free_s(&self, config: usize, raised: &[bool]) -> f64 {
        let mut until_s = self.turns.get(self.next_turn).map_or(self.duration_s, |turn| turn.time_s.min(self.duration_s));
        let gauges = &self.machine.configs[config].gauges;
        let is_raised = |what: What| gauges.iter().zip(raised).any(|(gauge, raised)| gauge.what == what && *raised);
        for (index, &changed_s) in self.changed_s.iter().enumerate() {
            let free_s = changed_s + SWITCH_LAG_S;
            let booster = self.machine.plant.switches[index].booster;
            let waits = self.wish(index, is_raised).is_some_and(|wish| wish != self.setting.runs[booster]);
            if waits && free_s > self.time_s + SAME_MOMENT_S {
                until_s = until_s.min(free_s);
            }
        }
        for (index, storage) in self.machine.plant.storages.iter().enumerate() {
            if let Some(barrel) = storage.barrel.filter(|barrel| self.empty[index] && barrel.inflow_m3_per_s > 0.0) {
                let missing = storage.volume_m3(SERVES_AGAIN_AT * barrel.full_pa) - storage.volume_m3(self.stored_pa[index]);
                let wait_s = missing / barrel.inflow_m3_per_s;
                if wait_s > 0.0 {
                    until_s = until_s.min(self.time_s + wait_s);
                }
            }
        }
        until_s - self.time_s
    }

    /// Notes which check valves and reliefs are open and which tanks hold water, and tells of changes.
    fn note(&mut self, config: usize, raised: &[bool]) {
        for (index, &is_raised) in raised.iter().enumerate() {
            let gauge = self.machine.configs[config].gauges[index];
            let (opens, shuts) = match gauge.what {
                What::Check => (EventKind::CheckOpens, EventKind::CheckShuts),
                What::Relief => (EventKind::ReliefOpens, EventKind::ReliefShuts),
                What::Tank { .. } => (EventKind::TankFills, EventKind::TankEmpties),
                _ => continue,
            };
            let now = if is_raised { Noted::Yes } else { Noted::No };
            let before = std::mem::replace(&mut self.noted[gauge.place], now);
            if before == Noted::Unknown || before == now || self.flutters(gauge.place) {
                continue;
            }
            self.event(gauge.place, if now == Noted::Yes { opens } else { shuts });
        }
    }

    /// A check valve that shuts and at once opens again, with nothing else in between, is taken as open: next to rest a hair of
    /// pressure holds it, which is less than a step of several storages is sharp.
    fn flutters(&mut self, place: usize) -> bool {
        let last = self.events.last();
        let flutters = last.is_some_and(|event| {
            event.place == place && event.kind == EventKind::CheckShuts && self.time_s - event.time_s < FLUTTER_S
        });
        if flutters {
            self.events.pop();
        }
        flutters
    }

    fn into_log(self, programme: &Programme) -> Log {
        let last_m3 = self.machine.plant.storages.iter().zip(&self.stored_pa).map(|(store, &at)| store.volume_m3(at)).collect();
        Log::new(
            self.machine,
            programme.clone(),
            super::log::Record {
                duration_s: self.time_s,
                events: self.events,
                marks: self.marks,
                marked_pa: self.marked_pa,
                end_pa: self.stored_pa,
                sums: self.sums,
                first_m3: self.first_m3,
                last_m3,
                cut_short_s: self.cut_short_s,
            },
        )
    }
}
