//! What the schedule and the faults turn, and when.

use crate::garden::{Garden, GardenError};
use crate::operation::error::OperationError;
use crate::operation::fault::Fault;
use crate::operation::schedule::{Interval, ticked};
use crate::operation::state::by_clock;
use crate::quantity::DAY_S;
use std::ops::Range;

/// Something that the schedule or a fault turns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    /// Seconds after midnight of the first day.
    pub time_s: f64,
    pub what: Turned,
    pub on: Way,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Turned {
    /// A valve or demand, by place.
    Place(usize),
    /// A fault, by number.
    Fault(usize),
    /// The pressure of a supply, by its number among those that have one by the clock, and the level it goes to.
    Main(usize, usize),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Way {
    On,
    Off,
}

/// All turns in time; at the same moment closing comes before opening.
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
        let from_s = ticked(fault.from_s);
        turns.push(Turn { time_s: from_s, what: Turned::Fault(index), on: Way::On });
        turns.push(Turn { time_s: from_s + ticked(fault.lasting_s), what: Turned::Fault(index), on: Way::Off });
    }
    for (which, place) in by_clock(garden).enumerate() {
        for (level, (time_s, _)) in garden.parts()[place].clock().iter().enumerate() {
            let days = (0..).map(|day| ticked(*time_s) + DAY_S * day as f64).take_while(|&time_s| time_s < until_s);
            turns.extend(days.map(|time_s| Turn { time_s, what: Turned::Main(which, level), on: Way::On }));
        }
    }
    turns.retain(|turn| turn.time_s < until_s);
    turns.sort_by(|a, b| a.time_s.total_cmp(&b.time_s).then((a.on == Way::On).cmp(&(b.on == Way::On))));
    Ok(turns)
}

/// The turns of a day.
pub(super) fn of_day(turns: &[Turn], day: usize) -> Range<usize> {
    let before = |day: usize| turns.partition_point(|turn| turn.time_s < DAY_S * day as f64);
    before(day)..before(day + 1)
}

/// The valve or demand of a name. Errors: an unknown name, or a part that cannot be opened.
fn place_to_open(garden: &Garden, name: &str) -> Result<usize, OperationError> {
    let can = |place: usize| garden.spec(place).traits.opens || garden.spec(place).traits.demands;
    let Some(place) = garden.layout().find(name) else {
        let known = (0..garden.parts().len()).filter(|&place| can(place)).map(|place| garden.name(place).to_string());
        return Err(GardenError::UnknownZone { name: name.to_string(), valves: known.collect() }.into());
    };
    if can(place) {
        return Ok(place);
    }
    Err(OperationError::CannotOpen { name: name.to_string(), what: garden.spec(place).word })
}
