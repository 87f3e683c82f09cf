//! The state of a run: what the schedule and the faults have turned, which pumps run, what is open, and what the log has.

use super::turns::{Turn, Turned, Way};
use crate::operation::accumulate::Sums;
use crate::operation::day::Day;
use crate::operation::event::{Event, EventKind};
use crate::operation::frame::Setting;
use crate::operation::log::Record;
use crate::operation::machine::Machine;
use crate::operation::plant::Switch;
use crate::operation::schedule::Interval;
use crate::operation::state::by_clock;
use crate::operation::storage::Storage;
use crate::operation::tolerances::SAME_MOMENT_S;
use crate::parts::{FaultKind, Placing};
use crate::quantity::DAY_S;
use std::collections::HashSet;

/// A switch and its pump do not change again sooner than this, s. Common practice, no source: contacts need some time.
pub(super) const SWITCH_LAG_S: f64 = 0.05;

/// Which state of a part has an event of its own when it changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Noted {
    Unknown,
    Yes,
    No,
}

/// All that decides how a run goes on, besides the turns to come. Its times are seconds after the midnight of the day.
#[derive(Clone, Debug)]
pub(super) struct Standing {
    pub stored_pa: Vec<f64>,
    /// How many openings of the schedule hold each place open now.
    pub openings: Vec<u32>,
    pub setting: Setting,
    /// Open tanks that are empty, by storage.
    pub empty: Vec<bool>,
    /// Boosters that a guard has stopped for good.
    pub locked: Vec<bool>,
    /// When each switch has last changed its booster, s.
    pub changed_s: Vec<f64>,
    /// Since when each relay or control has a reason to act, s; none where it has none.
    pub since_s: Vec<Option<f64>>,
    pub noted: Vec<Noted>,
    /// The configuration and its gauges as they were known at the end of the last leg.
    pub known: Option<(usize, Vec<bool>)>,
}

/// The state of a run.
pub(super) struct Run {
    pub machine: Machine,
    pub turns: Vec<Turn>,
    /// The first turn that is to come, and the first one after this day.
    pub next_turn: usize,
    pub turns_end: usize,
    /// When the schedule or a fault last turned something on this day, s after midnight.
    pub turned_s: f64,
    pub duration_s: f64,
    /// Number of the day, from 0, and the time s after its midnight.
    pub number: usize,
    pub time_s: f64,
    pub standing: Standing,
    /// This day up to now.
    pub day: Day,
    pub sums: Sums,
    /// Starts of each booster on this day, s after midnight.
    pub starts_s: Vec<Vec<f64>>,
    pub record: Record,
    /// Events and legs that are kept.
    pub events: usize,
    pub legs: usize,
}

impl Standing {
    fn new(machine: &Machine, intervals: &[Interval], stored_pa: Vec<f64>) -> Standing {
        let plant = &machine.plant;
        let parts = plant.garden.parts();
        let names: HashSet<&str> = intervals.iter().map(|interval| interval.name.as_str()).collect();
        let programmed = |place: usize| names.contains(plant.garden.name(place));
        // Demands that the schedule does not name are open throughout, as in a steady state.
        let mut open: Vec<bool> = plant
            .hydraulic
            .parts()
            .iter()
            .enumerate()
            .map(|(place, part)| !(part.traits().opens || part.traits().demands && programmed(place)))
            .collect();
        open.resize(plant.hydraulic.parts().len(), true);
        let switched = |place: usize| plant.switches.iter().any(|switch| switch.booster == place);
        let runs = (0..parts.len()).map(|place| parts[place].traits().pumps && !switched(place)).collect();
        // At midnight a supply by the clock has the last pressure of the day before.
        let mains = by_clock(&plant.garden).map(|place| parts[place].clock().len() - 1).collect();
        Standing {
            openings: vec![0; parts.len()],
            setting: Setting { open, runs, faults: vec![false; machine.faults.len()], mains },
            empty: vec![false; stored_pa.len()],
            locked: vec![false; parts.len()],
            changed_s: vec![f64::NEG_INFINITY; plant.switches.len()],
            since_s: vec![None; plant.switches.len()],
            noted: vec![Noted::Unknown; parts.len()],
            known: None,
            stored_pa,
        }
    }

    /// Goes over to the next day. What lies too far back to decide anything is put in one place.
    pub fn next_day(&mut self, switches: &[Switch]) {
        for ((changed_s, since_s), switch) in self.changed_s.iter_mut().zip(&mut self.since_s).zip(switches) {
            *changed_s -= DAY_S;
            if *changed_s < -SWITCH_LAG_S {
                *changed_s = f64::NEG_INFINITY;
            }
            *since_s = since_s.map(|since_s| (since_s - DAY_S).max(-switch.rule.delay_s()));
        }
    }
}

impl Run {
    pub fn new(machine: Machine, intervals: &[Interval], turns: Vec<Turn>, stored_pa: Vec<f64>, duration_s: f64) -> Run {
        let places = machine.plant.garden.parts().len();
        let sums = Sums::new(&machine.plant);
        let standing = Standing::new(&machine, intervals, stored_pa);
        let record = Record::new(&machine.plant, &standing.stored_pa, &standing.setting.runs);
        Run {
            next_turn: 0,
            turns_end: 0,
            turned_s: 0.0,
            duration_s,
            number: 0,
            time_s: 0.0,
            standing,
            day: Day::default(),
            sums,
            starts_s: vec![Vec::new(); places],
            record,
            events: 0,
            legs: 0,
            turns,
            machine,
        }
    }

    /// The midnight at which this day begins, s.
    pub fn midnight_s(&self) -> f64 {
        DAY_S * self.number as f64
    }

    /// When this day, or the run, is over, s after midnight.
    pub fn end_s(&self) -> f64 {
        (self.duration_s - self.midnight_s()).min(DAY_S)
    }

    /// The next turn of this day, s after midnight; its end where none comes.
    pub fn next_turn_s(&self) -> f64 {
        let next = self.turns[self.next_turn..self.turns_end].first();
        next.map_or(self.end_s(), |turn| (turn.time_s - self.midnight_s()).min(self.end_s()))
    }

    pub fn event(&mut self, place: usize, kind: EventKind) {
        self.day.events.push(Event { time_s: self.time_s, place, kind });
    }

    /// Does what the schedule and the faults do now.
    pub fn turn(&mut self) {
        while self.next_turn < self.turns_end && self.next_turn_s() <= self.time_s + SAME_MOMENT_S {
            let turn = self.turns[self.next_turn];
            self.next_turn += 1;
            self.turned_s = self.time_s;
            match turn.what {
                Turned::Place(place) => {
                    match turn.on {
                        Way::On => self.standing.openings[place] += 1,
                        Way::Off => self.standing.openings[place] = self.standing.openings[place].saturating_sub(1),
                    }
                    self.set_open(place);
                }
                Turned::Main(which, level) => self.set_main(which, level),
                Turned::Fault(index) => {
                    self.standing.setting.faults[index] = turn.on == Way::On;
                    let place = self.machine.faults[index].0;
                    self.event(place, if turn.on == Way::On { EventKind::FaultBegins } else { EventKind::FaultEnds });
                    let spec = self.machine.plant.garden.spec(place);
                    if spec.traits.opens || spec.traits.relieves {
                        self.set_open(place);
                    } else if spec.placing == Placing::Source {
                        self.set_source(place);
                    }
                    self.drive_without_switch(place);
                }
            }
        }
    }

    /// Gives a supply the pressure of this level of its clock.
    fn set_main(&mut self, which: usize, level: usize) {
        let before = std::mem::replace(&mut self.standing.setting.mains[which], level);
        let garden = &self.machine.plant.garden;
        let Some(place) = by_clock(garden).nth(which) else { return };
        let clock = garden.parts()[place].clock();
        let (from_pa, to_pa) = (clock[before].1, clock[level].1);
        if to_pa != from_pa {
            self.event(place, if to_pa > from_pa { EventKind::MainRises(level) } else { EventKind::MainFalls(level) });
        }
    }

    pub fn fails(&self, place: usize, kind: FaultKind) -> bool {
        let faults = self.machine.faults.iter().zip(&self.standing.setting.faults);
        faults.clone().any(|((at, fault), &here)| here && *at == place && fault.kind == kind)
    }

    /// Opens or closes a source: one that has failed or run empty gives nothing.
    pub fn set_source(&mut self, place: usize) {
        let is_empty = |(storage, &empty): (&Storage, &bool)| storage.source == place && empty;
        let empty = self.machine.plant.storages.iter().zip(&self.standing.empty).any(is_empty);
        self.standing.setting.open[place] = !empty && !self.fails(place, FaultKind::Fails);
    }

    /// Opens or closes a valve, demand or relief as the schedule and its faults have it.
    fn set_open(&mut self, place: usize) {
        let traits = self.machine.plant.garden.spec(place).traits;
        let wanted = self.standing.openings[place] > 0 || traits.relieves;
        let open = !self.fails(place, FaultKind::SticksClosed) && (wanted || self.fails(place, FaultKind::SticksOpen));
        if self.standing.setting.open[place] == open {
            return;
        }
        self.standing.setting.open[place] = open;
        match open {
            true if traits.opens => self.event(place, EventKind::ValveOpens),
            false if traits.opens => self.event(place, EventKind::ValveCloses),
            true if traits.demands => self.event(place, EventKind::DemandStarts),
            false if traits.demands => self.event(place, EventKind::DemandStops),
            _ => {}
        }
    }

    /// A booster without a switch runs unless it is broken.
    fn drive_without_switch(&mut self, place: usize) {
        let plant = &self.machine.plant;
        if !plant.boosters.contains(&place) || plant.switches.iter().any(|switch| switch.booster == place) {
            return;
        }
        let runs = !self.fails(place, FaultKind::WillNotStart) && !self.standing.locked[place];
        self.set_runs(place, runs);
    }

    pub fn set_runs(&mut self, booster: usize, runs: bool) {
        if self.standing.setting.runs[booster] == runs {
            return;
        }
        self.standing.setting.runs[booster] = runs;
        if runs {
            self.sums.pump_starts(booster);
            self.starts_s[booster].push(self.time_s);
            self.event(booster, EventKind::PumpStarts);
        } else {
            self.event(booster, EventKind::PumpStops);
        }
    }
}
