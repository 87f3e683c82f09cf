//! Relief valves: opening while water is used, weeping at cut-out, set too near to it, too small for the pump.

use super::catalog::relief as say;
use super::cycling::Overshoot;
use super::finding::{Book, flow as flow_of, like, rule_flow, rule_pa};
use super::limits::{AT_LIMIT, RELIEF_MARGIN, UNSEEN_M3_PER_S};
use super::rest::AtRest;
use crate::garden::walk::{Way, reached};
use crate::hydraulics::{RestState, Solution};
use crate::parts::{Id, RELIEF_FLOW_M3_PER_S};

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let overshoot = Overshoot::of(solution);
    for place in solution.garden.reliefs() {
        let state = &solution.parts[place];
        let (Some(pressure_pa), Ok(set)) = (state.pressure_out_pa, solution.garden.parts()[place].get(Id::Set)) else { continue };
        if state.flow_m3_per_s > UNSEEN_M3_PER_S && pressure_pa - overshoot.at_place(place) > set.si {
            let finding = book.about(&say::RELIEF_OPENS, place).with("flow", flow_of(state.flow_m3_per_s));
            book.add(finding.with("line_pressure", like(pressure_pa, set)).with("setting", set));
        }
    }
}

/// Reliefs that a valve can isolate from a booster that has no other.
pub(super) fn look_at_layout(book: &mut Book) {
    let garden = book.garden;
    let places = &garden.layout().places;
    for booster in garden.boosters() {
        let through = |valves: bool| {
            reached(garden, places[booster].to, |place, way| {
                way == Way::Down && place != booster && (valves || !garden.spec(place).traits.opens)
            })
        };
        let (all, open) = (through(true), through(false));
        if garden.reliefs().any(|relief| open[places[relief].from]) {
            continue;
        }
        let Some(relief) = garden.reliefs().find(|&relief| all[places[relief].from]) else { continue };
        let leads = |valve: &usize| {
            let beyond = reached(garden, places[*valve].to, |place, way| way == Way::Down && place != booster);
            all[places[*valve].from] && beyond[places[relief].from]
        };
        if let Some(valve) = garden.valves().find(leads) {
            let finding = book.about(&say::RELIEF_BLOCKED, relief).with("valve", book.title(valve));
            book.add(finding.with("pump", book.title(booster)));
        }
    }
}

pub(super) fn look_at_rest(book: &mut Book, rest: &mut AtRest) {
    let garden = book.garden;
    let mut stopping: Option<Vec<(usize, RestState)>> = None;
    for relief in garden.reliefs() {
        let Some(set) = garden.parts()[relief].quantity(Id::Set) else { continue };
        look_at_capacity(book, rest, relief);
        if let Some(off_pa) = rest.off.at(garden, relief).filter(|&off_pa| off_pa > set.si) {
            let finding = book.about(&say::RELIEF_NEVER_CLOSES, relief);
            book.add(finding.with("line_pressure", like(off_pa, set)).with("setting", set));
            continue;
        }
        let stopping = stopping.get_or_insert_with(|| rest.at_cut_out());
        look_at_cut_out(book, rest, stopping, relief);
    }
}

/// Compares the setting with the pressure at the relief when a switch stops its booster.
fn look_at_cut_out(book: &mut Book, rest: &AtRest, stopping: &[(usize, RestState)], relief: usize) {
    let garden = book.garden;
    let Some(set) = garden.parts()[relief].quantity(Id::Set) else { return };
    let felt =
        stopping.iter().filter_map(|(switch, state)| Some((*switch, state.at(garden, relief)?, rest.off.at(garden, relief)?)));
    // A relief that no booster pushes at has nothing to do with cut-out.
    let Some((switch, felt_pa, _)) = felt.filter(|(_, felt_pa, off_pa)| felt_pa > off_pa).max_by(|a, b| a.1.total_cmp(&b.1))
    else {
        return;
    };
    let margin_pa = set.si - felt_pa;
    let finding = if margin_pa <= 1e-6 * set.si {
        book.about(&say::RELIEF_WEEPS, relief)
    } else if margin_pa < RELIEF_MARGIN.of(garden) * (1.0 - AT_LIMIT) {
        book.about(&say::RELIEF_NEAR_CUT_OUT, relief).with("room", like(margin_pa, set))
    } else {
        return;
    };
    let finding = finding.with("setting", set).with("line_pressure", like(felt_pa, set)).with("switch", book.title(switch));
    book.add(finding.with("margin", rule_pa(RELIEF_MARGIN.of(garden)).like(set)));
}

/// With the pump running on against closed valves the relief must pass its flow at no more than its overpressure.
fn look_at_capacity(book: &mut Book, rest: &AtRest, relief: usize) {
    let garden = book.garden;
    let part = &garden.parts()[relief];
    let Some(set) = part.quantity(Id::Set) else { return };
    let (Some(felt_pa), flow) = (rest.relieved.at(garden, relief), rest.relieved.flow(relief)) else { return };
    if flow <= UNSEEN_M3_PER_S {
        return;
    }
    let full_pa = set.si + part.overpressure_pa();
    let Some(capacity) = part.quantity(Id::Flow) else {
        let finding = book.about(&say::NO_CAPACITY, relief).with("assumed", rule_flow(RELIEF_FLOW_M3_PER_S));
        return book.add(finding.with("at", like(full_pa, set)).with("flow", flow_of(flow)));
    };
    if felt_pa > full_pa * (1.0 + 1e-6) {
        let finding = book.about(&say::RELIEF_TOO_SMALL, relief).with("flow", like(flow, capacity)).with("capacity", capacity);
        book.add(finding.with("pressure", like(felt_pa, set)).with("at", like(full_pa, set)));
    }
}
