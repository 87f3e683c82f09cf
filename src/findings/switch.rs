//! Pressure switches: does the booster start, stay on and stop; and is the tank's air right for the switch.

use super::catalog::switch as say;
use super::finding::{Book, like, rule_pa};
use super::heating;
use super::limits::{
    AT_LIMIT, GAUGE_MARGIN, PRECHARGE_BELOW_CUT_IN_PA, PRECHARGE_LOW, PRECHARGE_LOW_SHARE, SHUT_OFF_MARGIN, UNSEEN_M3_PER_S,
};
use super::rest::{AtRest, Stop};
use super::{drive, start, unneeded};
use crate::garden::Garden;
use crate::garden::walk::reached;
use crate::hydraulics::{Solution, SwitchState, Verdict};
use crate::parts::{Id, Placing, Start};
use crate::quantity::Quantity;

/// What the switches make of a steady state in which water is used.
pub(super) fn look(book: &mut Book, solution: &Solution) {
    let used = |place: usize| solution.garden.spec(place).traits.gives_water;
    if !solution.parts.iter().any(|state| used(state.place) && state.flow_m3_per_s > UNSEEN_M3_PER_S) {
        return;
    }
    for state in solution.switches.iter().filter(|state| !state.off_pa.is_nan()) {
        look_at_verdict(book, solution, state);
    }
}

fn look_at_verdict(book: &mut Book, solution: &Solution, state: &SwitchState) {
    let part = &solution.garden.parts()[state.place];
    let about = |book: &Book, entry| book.about(entry, state.place).with("pump", book.title(state.booster));
    match state.verdict {
        Verdict::NeverStarts if unneeded::weakest_in_range(solution, 0.0).is_some() => {
            let Some((outlet, has, low)) = unneeded::weakest_in_range(solution, 0.0) else { return };
            let finding = about(book, &say::NEEDS_NO_PUMP).with("outlet", book.title(outlet));
            book.add(finding.with("has", like(has, low)).with("needs", low));
        }
        _ if state.start == Start::Speed => drive::look(book, solution, state),
        Verdict::NeverStarts => {
            let Ok(cut_in) = part.get(Id::CutIn) else { return };
            book.add(about(book, &say::NEVER_STARTS).with("off", like(state.off_pa, cut_in)).with("cut_in", cut_in));
        }
        Verdict::Rests => {}
        Verdict::ShortCycles if state.start == Start::Flow => {
            start::look_at_low_flow(book, state, solution.parts[state.booster].flow_m3_per_s);
        }
        Verdict::ShortCycles => {
            let Ok(cut_out) = part.get(Id::CutOut) else { return };
            let at = like(state.at_pa, cut_out);
            book.add(about(book, &say::SHORT_CYCLES).with("at", at).with("cut_out", cut_out));
        }
        Verdict::Runs => {
            let Ok(cut_in) = part.get(Id::CutIn) else { return };
            if state.off_pa > cut_in.si - GAUGE_MARGIN.of(book.garden) {
                let margin = like(cut_in.si - state.off_pa, cut_in);
                let finding = about(book, &say::NEAR_CUT_IN).with("margin", margin);
                book.add(finding.with("off", like(state.off_pa, cut_in)).with("cut_in", cut_in));
            }
            let cut_out = part.get(Id::CutOut).ok();
            if let Some(cut_out) = cut_out.filter(|cut_out| state.at_pa > cut_out.si - GAUGE_MARGIN.of(book.garden)) {
                let at = like(state.at_pa, cut_out);
                let margin = like(cut_out.si - state.at_pa, cut_out);
                let finding = about(book, &say::NEAR_CUT_OUT).with("margin", margin);
                book.add(finding.with("at", at).with("cut_out", cut_out));
            }
        }
    }
}

/// How a cut-out lies to the pressure at the switch with the pump at shut-off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stops {
    /// The pump does not bring the switch to cut-out.
    Never,
    /// It does, by less than the usual margin.
    Barely,
    Surely,
}

/// Whether a switch stops its pump: the one rule for a garden at rest and for a window of settings, which knows the lowest
/// pressure of the main where it is given and takes the pressure at shut-off from there.
pub(crate) fn stops(garden: &Garden, shut_off_pa: f64, cut_out_pa: f64) -> Stops {
    match shut_off_pa - cut_out_pa {
        room_pa if room_pa < 0.0 => Stops::Never,
        room_pa if room_pa < SHUT_OFF_MARGIN.of(garden) * (1.0 - AT_LIMIT) => Stops::Barely,
        _ => Stops::Surely,
    }
}

/// What the switches and tanks make of closed valves.
pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest) {
    for stop in &rest.stops {
        match book.garden.parts()[stop.switch].spec().is_switch() {
            true => look_at_stop(book, rest, stop),
            false => {
                drive::look_at_rest(book, rest, stop);
                look_at_backward(book, rest, stop);
            }
        }
    }
    look_at_precharge(book, rest);
}

fn look_at_stop(book: &mut Book, rest: &AtRest, stop: &Stop) {
    let garden = book.garden;
    let part = &garden.parts()[stop.switch];
    let Ok(cut_out) = part.get(Id::CutOut) else { return };
    let shut_off = rest.dead_head_lowest.as_ref().unwrap_or(&rest.dead_head);
    let Some(dead_head_pa) = shut_off.at(garden, stop.switch) else { return };
    let about = |book: &Book, entry| book.about(entry, stop.switch).with("pump", book.title(stop.booster));
    let reaches = |book: &Book, entry| {
        let finding = about(book, entry).with("reaches", like(dead_head_pa, cut_out)).with("cut_out", cut_out);
        let finding = finding.with_some("main", garden.lowest_static());
        finding.with("margin", rule_pa(SHUT_OFF_MARGIN.of(garden)).like(cut_out))
    };
    match stops(garden, dead_head_pa, cut_out.si) {
        Stops::Never => {
            book.add(reaches(book, &say::NEVER_STOPS));
            return heating::report(book, stop.booster);
        }
        Stops::Barely => {
            book.add(reaches(book, &say::NEAR_DEAD_HEAD).with("room", like(dead_head_pa - cut_out.si, cut_out)));
        }
        Stops::Surely => {}
    }
    look_at_backward(book, rest, stop);
}

/// A booster that starts again since nothing holds the pressure when it has stopped.
fn look_at_backward(book: &mut Book, rest: &AtRest, stop: &Stop) {
    let garden = book.garden;
    let part = &garden.parts()[stop.switch];
    let (Some(off_pa), Some(starts_at_pa)) = (rest.off.at(garden, stop.switch), part.starts_at_pa()) else { return };
    if off_pa > starts_at_pa || !runs_back(book, stop.switch) {
        return;
    }
    let entry = if part.spec().is_switch() { &say::CYCLES_WITHOUT_DEMAND } else { &say::DRIVE_RUNS_BACK };
    let Some(given) = part.quantity(Id::CutIn).or_else(|| part.quantity(Id::Set)) else { return };
    let finding = book.about(entry, stop.switch).with("pump", book.title(stop.booster)).with("off", like(off_pa, given));
    let starts = Quantity { si: starts_at_pa, ..given };
    book.add(finding.with("cut_in", starts));
}

/// True when nothing keeps water at the switch from running back to a source.
fn runs_back(book: &Book, switch: usize) -> bool {
    let garden = book.garden;
    let places = &garden.layout().places;
    let blocks = |place: usize| garden.spec(place).is_one_way();
    let nodes = reached(garden, places[switch].to, |place, _| !blocks(place));
    (0..places.len()).any(|place| garden.spec(place).placing == Placing::Source && nodes[places[place].to])
}

/// Compares the precharge of each tank with cut-in, brought to the height of the tank.
fn look_at_precharge(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    for tank in garden.of_spec(|spec| spec.has_cushion() && !spec.traits.takes_expansion) {
        let Some(precharge) = garden.parts()[tank].quantity(Id::Precharge) else { continue };
        let cut_ins = rest.stops.iter().filter_map(|stop| {
            let part = &garden.parts()[stop.switch];
            let given = part.quantity(Id::CutIn).or_else(|| part.quantity(Id::Set))?;
            let cut_in = Quantity { si: part.starts_at_pa()?, ..given };
            let lower_pa = rest.dead_head.at(garden, tank)? - rest.dead_head.at(garden, stop.switch)?;
            Some((stop.switch, Quantity { si: cut_in.si + lower_pa, ..cut_in }))
        });
        let Some((switch, cut_in)) = cut_ins.min_by(|a, b| a.1.si.total_cmp(&b.1.si)) else { continue };
        let right_pa = cut_in.si - PRECHARGE_BELOW_CUT_IN_PA;
        let low_pa = PRECHARGE_LOW.of(garden).min(PRECHARGE_LOW_SHARE * right_pa);
        let entry = match precharge.si {
            high_pa if high_pa >= cut_in.si * (1.0 - AT_LIMIT) => match garden.spec(switch).is_switch() {
                true => &say::PRECHARGE_HIGH,
                false => &say::DRIVE_PRECHARGE_HIGH,
            },
            // The tank of a drive has to bridge drips alone, with any air.
            _ if !garden.spec(switch).is_switch() => continue,
            low if low < (right_pa - low_pa) * (1.0 - AT_LIMIT) => &say::PRECHARGE_LOW,
            _ => continue,
        };
        let finding = book.about(entry, tank).with("precharge", precharge);
        let finding = finding.with("switch", book.title(switch)).with("cut_in", cut_in);
        book.add(finding.with("margin", rule_pa(PRECHARGE_BELOW_CUT_IN_PA).like(precharge)));
    }
}
