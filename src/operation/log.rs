//! The log: what happened in a run, and the sums over it.

use super::accumulate::{Extreme, PumpRun, Sums};
use super::day::{Cycle, Day, cycle};
use super::event::{Event, EventKind};
use super::fault::Fault;
use super::machine::Machine;
use super::plant::Plant;
use super::schedule::{Schedule, time_in_words};
use crate::garden::Garden;
use crate::parts::Placing;
use crate::quantity::DAY_S;
use std::collections::VecDeque;
use std::fmt;
use std::sync::{Arc, Mutex};

/// The record of a run.
#[derive(Debug)]
pub struct Record {
    pub duration_s: f64,
    /// Day by day from the first midnight on; those that are alike are one.
    pub days: Vec<Arc<Day>>,
    pub totals: Sums,
    /// Boosters that run from the beginning.
    pub running: Vec<usize>,
    pub first_m3: Vec<f64>,
    pub last_m3: Vec<f64>,
    pub cut_short: Option<CutShort>,
    /// Steady solves that it took.
    pub solves: usize,
}

impl Record {
    /// The record of a run that is to begin, with the pressures of the storages, Pa, and the places that run.
    pub fn new(plant: &Plant, stored_pa: &[f64], runs: &[bool]) -> Record {
        let first_m3 = plant.storages.iter().zip(stored_pa).map(|(storage, &pressure)| storage.volume_m3(pressure)).collect();
        Record {
            duration_s: 0.0,
            days: Vec::new(),
            totals: Sums::new(plant),
            running: plant.boosters.iter().copied().filter(|&booster| runs[booster]).collect(),
            first_m3,
            last_m3: Vec::new(),
            cut_short: None,
            solves: 0,
        }
    }
}

/// Why a run ended before its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CutShort {
    /// A booster starts and stops over and over, always alike, faster than any contact lives through.
    Chatters {
        /// The booster, by its place in the garden.
        booster: usize,
        /// From one start to the next, s.
        period_s: f64,
        /// When the first of these starts was, seconds after midnight of the first day.
        since_s: f64,
    },
    /// More events than a log holds.
    TooManyEvents {
        /// How many a log holds.
        most: usize,
    },
    /// More steps than a run may take.
    TooManySteps {
        /// How many a run may take.
        most: usize,
    },
    /// The steady state at the end of a step was not found too often.
    HardToSolve {
        /// How many steps had none.
        failures: usize,
    },
}

/// What happened in a run.
#[derive(Clone)]
pub struct Log {
    /// The garden that was operated.
    pub garden: Garden,
    /// The schedule by which it was operated.
    pub schedule: Schedule,
    /// What failed meanwhile; empty where all worked.
    pub faults: Vec<Fault>,
    /// Nothing but the compression of water was there to store any.
    pub is_stiff: bool,
    pub(super) record: Arc<Record>,
    pub(super) machine: Arc<Mutex<Machine>>,
    sources: Vec<(usize, f64)>,
    outlets: Vec<(usize, f64)>,
    zones: Vec<(usize, f64)>,
    energy_j: Vec<(usize, f64)>,
    /// Open tanks whose content is known.
    barrels: Vec<usize>,
}

/// Water of a run, m3.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    /// From supplies, and from open tanks whose content is not known, less what went into them.
    pub supplied_m3: f64,
    /// Into open tanks by itself, less what ran over.
    pub inflow_m3: f64,
    /// Out of heads, demands, leaks and reliefs.
    pub discharged_m3: f64,
    /// What tanks, hoses and open tanks hold at the end over that at the beginning.
    pub stored_m3: f64,
    /// All water that moved in or out.
    pub moved_m3: f64,
}

impl Totals {
    /// What does not add up, m3.
    pub fn error_m3(&self) -> f64 {
        self.supplied_m3 + self.inflow_m3 - self.discharged_m3 - self.stored_m3
    }
}

impl fmt::Debug for Log {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Log").field("record", &self.record).finish_non_exhaustive()
    }
}

impl Log {
    pub(super) fn new(machine: Machine, schedule: Schedule, record: Record) -> Log {
        let plant = &machine.plant;
        let integrals = &record.totals.integrals;
        let first = plant.first_tracked();
        let mut sources: Vec<(usize, f64)> = Vec::new();
        let (mut outlets, mut zones) = (Vec::new(), Vec::new());
        for (tracked, &volume) in plant.tracked.iter().zip(&integrals[first..]) {
            match plant.garden.spec(tracked.place).placing {
                Placing::Source => sources.push((tracked.place, tracked.sign * volume)),
                Placing::Outlet => outlets.push((tracked.place, volume)),
                _ => zones.push((tracked.place, volume)),
            }
        }
        let powers = integrals[first + plant.tracked.len()..].iter().copied();
        Log {
            garden: plant.garden.clone(),
            schedule,
            faults: machine.faults.iter().map(|(_, fault)| fault.clone()).collect(),
            is_stiff: plant.is_stiff,
            barrels: plant.storages.iter().filter_map(|storage| Some(storage.barrel?.place)).collect(),
            energy_j: plant.boosters.iter().copied().zip(powers).collect(),
            sources,
            outlets,
            zones,
            record: Arc::new(record),
            machine: Arc::new(Mutex::new(machine)),
        }
    }

    /// How long the run was, s.
    pub fn duration_s(&self) -> f64 {
        self.record.duration_s
    }

    /// Why the run was cut short; none when it came to its end.
    pub fn cut_short(&self) -> Option<CutShort> {
        self.record.cut_short
    }

    /// When and why the run was cut short, in words: "cut short at day 1, 00:00:04: pump starts every 0.12 s from ... on".
    pub fn cut_short_in_words(&self) -> Option<String> {
        let why = match self.record.cut_short? {
            CutShort::Chatters { booster, period_s, since_s } => {
                let (name, period) = (self.garden.name(booster), time_in_words(period_s));
                format!("'{name}' short-cycles every {period} from {} on", self.schedule.moment(since_s))
            }
            CutShort::TooManyEvents { most } => format!("the run has more than {most} events"),
            CutShort::TooManySteps { most } => format!("the run needs more than {most} steps"),
            CutShort::HardToSolve { failures } => format!("{failures} steps had no steady state"),
        };
        Some(format!("cut short at {}: {why}", self.schedule.moment(self.duration_s())))
    }

    /// What happened, in the order of time.
    pub fn events(&self) -> impl Iterator<Item = Event> + '_ {
        self.record.days.iter().enumerate().flat_map(|(number, day)| {
            let midnight_s = DAY_S * number as f64;
            day.events.iter().map(move |event| event.later_by(midnight_s))
        })
    }

    /// How many events there are.
    pub fn number_of_events(&self) -> usize {
        self.record.days.iter().map(|day| day.events.len()).sum()
    }

    /// The cycle of days in which the run ends; none where no two days repeat earlier ones.
    pub fn cycle(&self) -> Option<Cycle> {
        cycle(&self.record.days)
    }

    /// Starts and stops of a booster.
    pub fn runs(&self, booster: usize) -> impl Iterator<Item = PumpRun> + '_ {
        let mut begun_s = self.record.running.contains(&booster).then_some(0.0);
        let mut events = self.events().filter(move |event| event.place == booster);
        std::iter::from_fn(move || {
            for event in events.by_ref() {
                match event.kind {
                    EventKind::PumpStarts => begun_s = begun_s.or(Some(event.time_s)),
                    EventKind::PumpStops | EventKind::PumpStopsDry => {
                        if let Some(from_s) = begun_s.take() {
                            return Some(PumpRun { from_s, to_s: Some(event.time_s) });
                        }
                    }
                    _ => {}
                }
            }
            begun_s.take().map(|from_s| PumpRun { from_s, to_s: None })
        })
    }

    /// The boosters, by their places in the garden.
    pub fn boosters(&self) -> impl Iterator<Item = usize> + '_ {
        self.garden.boosters()
    }

    /// Starts of all boosters.
    pub fn starts(&self) -> usize {
        let starts = |day: &Arc<Day>| day.events.iter().filter(|event| event.kind == EventKind::PumpStarts).count();
        self.record.days.iter().map(starts).sum()
    }

    /// Starts for each hour, on average over the run.
    pub fn starts_per_hour(&self) -> f64 {
        self.starts() as f64 / (self.duration_s() / 3600.0)
    }

    /// Starts per day, the average over the run.
    pub fn starts_per_day(&self) -> f64 {
        24.0 * self.starts_per_hour()
    }

    /// The most starts of one booster in any sixty minutes.
    pub fn peak_starts_per_hour(&self) -> usize {
        self.boosters().map(|booster| self.most_starts(booster, 3600.0)).max().unwrap_or(0)
    }

    /// The most starts of a booster in any span of this length, s.
    pub fn most_starts(&self, booster: usize, span_s: f64) -> usize {
        let mut within = VecDeque::new();
        let counts = self.runs(booster).map(|run| {
            while within.front().is_some_and(|first_s| *first_s <= run.from_s - span_s) {
                within.pop_front();
            }
            within.push_back(run.from_s);
            within.len()
        });
        counts.max().unwrap_or(0)
    }

    /// The shortest run of a booster from its start to its stop, s; none when none was finished.
    pub fn shortest_run_s(&self) -> Option<f64> {
        let runs = self.boosters().flat_map(|booster| self.runs(booster).filter_map(|run| Some(run.to_s? - run.from_s)));
        runs.reduce(f64::min)
    }

    /// The shortest rest of a booster between two runs, s; none when there was none.
    pub fn shortest_rest_s(&self) -> Option<f64> {
        let rests = self.boosters().flat_map(|booster| {
            let mut stopped_s = None;
            self.runs(booster).filter_map(move |run| {
                let before_s = std::mem::replace(&mut stopped_s, run.to_s);
                Some(run.from_s - before_s?)
            })
        });
        rests.reduce(f64::min)
    }

    /// How long a booster ran, s.
    pub fn on_s(&self, booster: usize) -> f64 {
        self.runs(booster).map(|run| run.to_s.unwrap_or(self.duration_s()) - run.from_s).sum()
    }

    /// The share of the time that boosters ran, on average over boosters.
    pub fn duty_cycle(&self) -> f64 {
        let boosters: Vec<usize> = self.boosters().collect();
        if boosters.is_empty() {
            return 0.0;
        }
        boosters.iter().map(|&booster| self.on_s(booster)).sum::<f64>() / (self.duration_s() * boosters.len() as f64)
    }

    /// Electrical energy of each booster, J; none for one that neither says its watts nor its efficiency.
    pub fn energy_j(&self) -> Vec<(usize, Option<f64>)> {
        let known = |place: usize| self.garden.parts()[place].states_power();
        self.energy_j.iter().map(|&(place, energy_j)| (place, known(place).then_some(energy_j))).collect()
    }

    /// Water out of each outlet, m3.
    pub fn discharged_m3(&self) -> &[(usize, f64)] {
        &self.outlets
    }

    /// Water through a source, valve or outlet, m3; none for other parts.
    pub fn water_m3(&self, place: usize) -> Option<f64> {
        let all = [&self.sources, &self.outlets, &self.zones].into_iter().flatten().filter(|(at, _)| *at == place);
        all.map(|(_, volume)| *volume).reduce(|sum, volume| sum + volume)
    }

    /// Water out of each source, and as negative numbers water that filled it or ran back into it, m3.
    pub fn drawn_m3(&self) -> &[(usize, f64)] {
        &self.sources
    }

    /// Water that ran back into sources that must not take any, m3.
    pub fn ran_back_m3(&self) -> f64 {
        let must_not = self.sources.iter().filter(|(place, _)| !self.garden.spec(*place).traits.fills);
        must_not.map(|(_, volume)| (-volume).max(0.0)).sum()
    }

    /// Highest pressure at a part and when, over both of its ends.
    pub fn highest(&self, place: usize) -> Option<Extreme> {
        let joint = &self.garden.layout().places[place];
        let ends = [joint.from, joint.to].into_iter().filter_map(|node| self.record.totals.highest[node]);
        ends.max_by(|a, b| a.pressure_pa.total_cmp(&b.pressure_pa))
    }

    /// Highest pressure at either end of a part and when.
    pub fn highest_at_ends(&self, place: usize) -> Option<Extreme> {
        let joint = &self.garden.layout().places[place];
        let ends = [joint.from, joint.to].into_iter().filter_map(|node| self.record.totals.highest[node]);
        ends.max_by(|a, b| a.pressure_pa.total_cmp(&b.pressure_pa))
    }

    /// Lowest pressure downstream of a part and when.
    pub fn lowest(&self, place: usize) -> Option<Extreme> {
        self.record.totals.lowest[self.garden.layout().places[place].to]
    }

    /// Lowest pressure before a part and when.
    pub fn lowest_at_inlet(&self, place: usize) -> Option<Extreme> {
        self.record.totals.lowest[self.garden.layout().places[place].from]
    }

    /// How long the line of an outlet was open, and how long of that it was below its need, s.
    pub fn need_s(&self, place: usize) -> (f64, f64) {
        (self.record.totals.open_s[place], self.record.totals.below_s[place])
    }

    /// How long the house tap at a supply had less than what is to be left there, s.
    pub fn tap_low_s(&self, supply: usize) -> f64 {
        self.record.totals.tap_low_s[supply]
    }

    /// The longest time that a booster ran against a closed line, s.
    pub fn dead_head_s(&self, booster: usize) -> f64 {
        self.record.totals.dead_head[booster].longest_s
    }

    /// How many steady solves the run took: a measure of its work that does not depend on the machine.
    pub fn solves(&self) -> usize {
        self.record.solves
    }

    /// How long a booster ran while no water could come to its inlet, s.
    pub fn dry_s(&self, booster: usize) -> f64 {
        self.record.totals.dry_s[booster]
    }

    /// The water balance of the whole run.
    pub fn totals(&self) -> Totals {
        let record = &self.record;
        let outside = self.sources.iter().filter(|(place, _)| !self.barrels.contains(place));
        let moved_m3: f64 = outside.clone().map(|(_, volume)| volume.abs()).sum();
        let discharged_m3: f64 = self.outlets.iter().map(|(_, volume)| volume).sum();
        let (n, sums) = (record.first_m3.len(), &record.totals);
        let spilled_m3: f64 = sums.integrals[n..2 * n].iter().sum();
        Totals {
            supplied_m3: outside.map(|(_, volume)| volume).sum(),
            inflow_m3: sums.inflow_m3 - spilled_m3,
            discharged_m3,
            stored_m3: record.last_m3.iter().zip(&record.first_m3).map(|(last, first)| last - first).sum(),
            moved_m3: moved_m3 + discharged_m3 + sums.inflow_m3,
        }
    }
}
