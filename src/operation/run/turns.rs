//! What the schedule and the faults turn, and when.

use super::{Run, SAME_MOMENT_S};
use crate::garden::{Garden, GardenError};
use crate::operation::error::OperationError;
use crate::operation::event::EventKind;
use crate::operation::fault::Fault;
use crate::operation::schedule::Interval;
use crate::operation::storage::Storage;
use crate::parts::{FaultKind, Placing};

/// Something that the schedule or a fault turns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub time_s: f64,
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
pub(super) fn turns(
    garden: &Garden,
    intervals: &[Interval],
    faults: &[(usize, Fault)],
    until_s: f64,
) -> Result<Vec<Turn>, OperationError> {
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
    let can = |place: usize| garden.spec(place).traits.opens || garden.spec(place).traits.draws;
    let Some(place) = garden.layout().find(name) else {
        let known = (0..garden.parts().len()).filter(|&place| can(place)).map(|place| garden.name(place).to_string());
        return Err(GardenError::UnknownZone { name: name.to_string(), valves: known.collect() }.into());
    };
    if can(place) {
        return Ok(place);
    }
    Err(OperationError::CannotOpen { name: name.to_string(), word: garden.spec(place).word })
}

impl Run {
    /// Does what the schedule and the faults do now.
    pub(super) fn turn(&mut self) {
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

    pub(super) fn fails(&self, place: usize, kind: FaultKind) -> bool {
        let faults = self.machine.faults.iter().zip(&self.setting.faults);
        faults.clone().any(|((at, fault), &here)| here && *at == place && fault.kind == kind)
    }

    /// Opens or shuts a source: one that has failed or run empty gives nothing.
    pub(super) fn set_source(&mut self, place: usize) {
        let is_empty = |(storage, &empty): (&Storage, &bool)| storage.source == place && empty;
        let empty = self.machine.plant.storages.iter().zip(&self.empty).any(is_empty);
        self.setting.open[place] = !empty && !self.fails(place, FaultKind::Fails);
    }

    /// Opens or shuts a valve, draw or relief as the schedule and its faults have it.
    fn set_open(&mut self, place: usize) {
        let traits = self.machine.plant.garden.spec(place).traits;
        let wanted = self.openings[place] > 0 || traits.relieves;
        let open = !self.fails(place, FaultKind::SticksShut) && (wanted || self.fails(place, FaultKind::SticksOpen));
        if self.setting.open[place] == open {
            return;
        }
        self.setting.open[place] = open;
        match open {
            true if traits.opens => self.event(place, EventKind::ValveOpens),
            false if traits.opens => self.event(place, EventKind::ValveShuts),
            true if traits.draws => self.event(place, EventKind::DrawBegins),
            false if traits.draws => self.event(place, EventKind::DrawEnds),
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

    pub(super) fn set_runs(&mut self, booster: usize, runs: bool) {
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
