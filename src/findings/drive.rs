//! Variable-speed drives: the set pressure against what the pump reaches and what the main gives alone, the tank, and where it sits.

use super::catalog::{drive as say, switch as of_switch};
use super::finding::{Book, like, rule_pa};
use super::limits::{AT_LIMIT, SHUT_OFF_MARGIN, UNSEEN_M3_PER_S};
use super::rest::{AtRest, Stop};
use super::start;
use crate::garden::walk::Way;
use crate::hydraulics::{Solution, SwitchState, Verdict};
use crate::parts::{Id, Law};
use crate::quantity::Quantity;

/// The set pressure of a drive, and in its units the pressure at which it starts its booster.
fn settings(book: &Book, place: usize) -> Option<(Quantity, Quantity)> {
    let part = &book.garden.parts()[place];
    let set = part.get(Id::Set).ok()?;
    Some((set, Quantity { si: part.starts_at_pa()?, ..set }))
}

/// What a drive makes of a steady state in which water is used; that all heads have what they need without the pump is for the caller.
pub(super) fn look(book: &mut Book, solution: &Solution, state: &SwitchState) {
    let Some((set, starts)) = settings(book, state.place) else { return };
    let flow_m3_per_s = solution.parts[state.booster].flow_m3_per_s;
    match state.verdict {
        Verdict::NeverStarts => {
            let finding = book.about(&of_switch::DRIVE_NEVER_STARTS, state.place).with("pump", book.title(state.booster));
            let finding = finding.with("off", like(state.off_pa, set)).with("starts", starts).with("set", set);
            book.add(finding.with("margin", like(set.si - starts.si, set)));
        }
        Verdict::ShortCycles => start::look_at_low_flow(book, state, flow_m3_per_s),
        Verdict::Runs | Verdict::Rests => {}
    }
    let has_pa = solution.parts[state.booster].pressure_out_pa;
    let runs = solution.runs[state.booster] && flow_m3_per_s > UNSEEN_M3_PER_S;
    if let Some(has_pa) = has_pa.filter(|has_pa| runs && *has_pa < set.si * (1.0 - AT_LIMIT)) {
        let finding = book.about(&say::CANNOT_HOLD, state.place).with("pump", book.title(state.booster));
        book.add(finding.with("set", set).with("has", like(has_pa, set)));
    }
}

/// What is to be said of a drive with all zones off.
pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest, stop: &Stop) {
    let Some((set, starts)) = settings(book, stop.switch) else { return };
    look_at_place(book, stop, set);
    look_at_shut_off(book, rest, stop, (set, starts));
    let garden = book.garden;
    let stores = garden.of_spec(|spec| spec.has_cushion() && !spec.traits.takes_expansion).next().is_some();
    if !stores {
        book.add(book.about(&of_switch::DRIVE_WITHOUT_TANK, stop.switch).with("pump", book.title(stop.booster)));
    }
}

/// Compares the set pressure with the pressure at shut-off, at the lowest pressure of the main where that is given.
fn look_at_shut_off(book: &mut Book, rest: &AtRest, stop: &Stop, (set, starts): (Quantity, Quantity)) {
    let garden = book.garden;
    let shut_off = rest.dead_head_lowest.as_ref().unwrap_or(&rest.dead_head);
    let Some(reaches_pa) = shut_off.at(garden, stop.booster) else { return };
    let finding = match reaches_pa {
        low_pa if low_pa <= starts.si * (1.0 + AT_LIMIT) => book.about(&say::TAKEN_FOR_DRY, stop.switch).with("starts", starts),
        low_pa if low_pa < set.si * (1.0 - AT_LIMIT) => book.about(&say::ABOVE_SHUT_OFF, stop.switch).with("set", set),
        _ => return,
    };
    let finding = finding.with("pump", book.title(stop.booster)).with("reaches", like(reaches_pa, set));
    let finding = finding.with("margin", rule_pa(SHUT_OFF_MARGIN.of(garden)).like(set));
    book.add(finding.with_some("main", garden.lowest_static()));
}

/// A drive that is not right at the outlet of its booster.
fn look_at_place(book: &mut Book, stop: &Stop, set: Quantity) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let mut to_drive = vec![None; garden.layout().number_of_nodes];
    let mut walk = garden.walk();
    for (passage, ()) in walk.from([places[stop.booster].to], |passage| (passage.way == Way::Down).then_some(())) {
        let loses = match garden.law_of(passage.place) {
            Law::Free => garden.spec(passage.place).traits.opens,
            Law::Quadratic { resistance } => resistance > 0.0,
            _ => true,
        };
        to_drive[passage.to] = to_drive[passage.from].or_else(|| loses.then_some(passage.place));
    }
    let Some(between) = to_drive[places[stop.switch].to] else { return };
    let finding = book.about(&say::AWAY_FROM_PUMP, stop.switch).with("pump", book.title(stop.booster));
    book.add(finding.with("set", set).with("between", book.title(between)));
}
