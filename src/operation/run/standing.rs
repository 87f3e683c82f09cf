//! The state of a run: what the schedule and the faults have turned, which pumps run, what is open, and what the log has.

use super::turns::{Turn, Turned, Way};
use crate::operation::accumulate::Sums;
use crate::operation::event::{Event, EventKind};
use crate::operation::frame::Setting;
use crate::operation::log::{CutShort, LegStart};
use crate::operation::machine::Machine;
use crate::operation::schedule::Interval;
use crate::operation::state::by_clock;
use crate::operation::storage::Storage;
use crate::operation::tolerances::SAME_MOMENT_S;
use crate::parts::{FaultKind, Placing};

/// Which state of a part has an event of its own when it changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Noted {
    Unknown,
    Yes,
    No,
}

/// The state of a run.
pub(super) struct Run {
    pub machine: Machine,
    pub turns: Vec<Turn>,
    pub next_turn: usize,
    /// When the schedule or a fault last turned something, s.
    pub turned_s: f64,
    pub duration_s: f64,
    pub time_s: f64,
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
    pub events: Vec<Event>,
    pub marks: Vec<LegStart>,
    pub marked_pa: Vec<f64>,
    pub sums: Sums,
    pub first_m3: Vec<f64>,
    pub cut_short: Option<CutShort>,
}

impl Run {
    pub fn new(machine: Machine, intervals: &[Interval], turns: Vec<Turn>, stored_pa: Vec<f64>, duration_s: f64) -> Run {
        let plant = &machine.plant;
        let parts = plant.garden.parts();
        let programmed = |place: usize| intervals.iter().any(|interval| plant.garden.name(place) == interval.name);
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
        let first_m3 = plant.storages.iter().zip(&stored_pa).map(|(storage, &pressure)| storage.volume_m3(pressure)).collect();
        Run {
            next_turn: 0,
            turned_s: 0.0,
            duration_s,
            time_s: 0.0,
            openings: vec![0; parts.len()],
            setting: Setting { open, runs, faults: vec![false; machine.faults.len()], mains },
            empty: vec![false; stored_pa.len()],
            locked: vec![false; parts.len()],
            changed_s: vec![f64::NEG_INFINITY; plant.switches.len()],
            since_s: vec![None; plant.switches.len()],
            noted: vec![Noted::Unknown; parts.len()],
            events: Vec::new(),
            marks: Vec::new(),
            marked_pa: Vec::new(),
            sums: Sums::new(plant),
            first_m3,
            cut_short: None,
            stored_pa,
            turns,
            machine,
        }
    }

    pub fn event(&mut self, place: usize, kind: EventKind) {
        self.events.push(Event { time_s: self.time_s, place, kind });
    }

    /// Does what the schedule and the faults do now.
    pub fn turn(&mut self) {
        while let Some(turn) = self.turns.get(self.next_turn).copied().filter(|turn| turn.time_s <= self.time_s + SAME_MOMENT_S) {
            self.next_turn += 1;
            self.turned_s = self.time_s;
            match turn.what {
                Turned::Place(place) => {
                    match turn.on {
                        Way::On => self.openings[place] += 1,
                        Way::Off => self.openings[place] = self.openings[place].saturating_sub(1),
                    }
                    self.set_open(place);
                }
                Turned::Main(which, level) => self.set_main(which, level),
                Turned::Fault(index) => {
                    self.setting.faults[index] = turn.on == Way::On;
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
        let before = std::mem::replace(&mut self.setting.mains[which], level);
        let garden = &self.machine.plant.garden;
        let Some(place) = by_clock(garden).nth(which) else { return };
        let clock = garden.parts()[place].clock();
        let (from_pa, to_pa) = (clock[before].1, clock[level].1);
        if to_pa != from_pa {
            self.event(place, if to_pa > from_pa { EventKind::MainRises(level) } else { EventKind::MainFalls(level) });
        }
    }

    pub fn fails(&self, place: usize, kind: FaultKind) -> bool {
        let faults = self.machine.faults.iter().zip(&self.setting.faults);
        faults.clone().any(|((at, fault), &here)| here && *at == place && fault.kind == kind)
    }

    /// Opens or closes a source: one that has failed or run empty gives nothing.
    pub fn set_source(&mut self, place: usize) {
        let is_empty = |(storage, &empty): (&Storage, &bool)| storage.source == place && empty;
        let empty = self.machine.plant.storages.iter().zip(&self.empty).any(is_empty);
        self.setting.open[place] = !empty && !self.fails(place, FaultKind::Fails);
    }

    /// Opens or closes a valve, demand or relief as the schedule and its faults have it.
    fn set_open(&mut self, place: usize) {
        let traits = self.machine.plant.garden.spec(place).traits;
        let wanted = self.openings[place] > 0 || traits.relieves;
        let open = !self.fails(place, FaultKind::SticksClosed) && (wanted || self.fails(place, FaultKind::SticksOpen));
        if self.setting.open[place] == open {
            return;
        }
        self.setting.open[place] = open;
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
        let runs = !self.fails(place, FaultKind::WillNotStart) && !self.locked[place];
        self.set_runs(place, runs);
    }

    pub fn set_runs(&mut self, booster: usize, runs: bool) {
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
}
