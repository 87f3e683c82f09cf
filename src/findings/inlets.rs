//! Valves and regulators whose operating range is given: too little pressure at the inlet to close or to regulate, or too much.

use super::catalog::water as say;
use super::finding::{Book, like};
use super::limits::UNSEEN_M3_PER_S;
use super::rest::AtRest;
use crate::hydraulics::Solution;
use crate::operation::Log;
use crate::parts::{Id, Placing};

pub(super) fn look(book: &mut Book, solution: &Solution) {
    for place in ranged(book) {
        let state = &solution.parts[place];
        let Some(inlet_pa) = state.pressure_in_pa else { continue };
        look_at_high(book, place, inlet_pa);
        let Some(low) = book.garden.parts()[place].quantity(Id::RangeLow) else { continue };
        if state.flow_m3_per_s > UNSEEN_M3_PER_S && inlet_pa < low.si {
            let is_valve = book.garden.spec(place).traits.opens;
            let entry = if is_valve { &say::VALVE_MAY_NOT_CLOSE } else { &say::REGULATOR_BELOW_RANGE };
            book.add(book.about(entry, place).with("has", like(inlet_pa, low)).with("needs", low));
        }
    }
}

pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest) {
    for place in ranged(book) {
        if let Some(pressure_pa) = rest.stopped.highest(book.garden, place) {
            look_at_high(book, place, pressure_pa);
        }
    }
}

pub(super) fn look_at_log(book: &mut Book, log: &Log) {
    for place in ranged(book) {
        if let Some(highest) = log.highest_at_ends(place) {
            look_at_high(book, place, highest.pressure_pa);
        }
        let ran = log.water_m3(place).is_some_and(|water_m3| water_m3 > 0.0);
        let (Some(low), Some(lowest)) = (book.garden.parts()[place].quantity(Id::RangeLow), log.lowest_at_inlet(place)) else {
            continue;
        };
        if ran && lowest.pressure_pa < low.si {
            let finding = book.about(&say::VALVE_MIGHT_NOT_CLOSE, place);
            book.add(finding.with("has", like(lowest.pressure_pa, low)).with("needs", low));
        }
    }
}

/// Parts in line with an operating range.
fn ranged(book: &Book) -> Vec<usize> {
    let parts = book.garden.parts();
    let may_be = book.garden.of_spec(|spec| spec.placing == Placing::Inline && spec.has(Id::RangeLow));
    may_be.filter(|&place| [Id::RangeLow, Id::RangeHigh].iter().any(|&id| parts[place].si(id).is_some())).collect()
}

fn look_at_high(book: &mut Book, place: usize, pressure_pa: f64) {
    let Some(most) = book.garden.parts()[place].quantity(Id::RangeHigh).filter(|most| pressure_pa > most.si) else { return };
    book.add(book.about(&say::INLET_ABOVE_RANGE, place).with("has", like(pressure_pa, most)).with("most", most));
}
