//! Devices in line that a steady state brings to an end of what they are made for: meters, regulators, check valves, preventers whose
//! type is not known.

use super::catalog::{source, water, zone};
use super::finding::{Book, flow as flow_of, like, pressure, rule_flow};
use super::limits::{AT_LIMIT, METER_FLOW, PREVENTER_LOSS, REGULATOR_FLOW, UNSEEN_M3_PER_S, WEAK_LINE};
use super::phrase::Value;
use crate::garden::walk::{Way, reached};
use crate::hydraulics::Solution;
use crate::parts::{Backward, Id, Placing};
use crate::quantity::Quantity;

pub(super) fn look(book: &mut Book, solution: &Solution) {
    for place in book.garden.of_spec(|spec| spec.placing == Placing::Inline) {
        if solution.parts[place].flow_m3_per_s <= UNSEEN_M3_PER_S {
            continue;
        }
        let spec = book.garden.spec(place);
        look_at_least_flow(book, solution, place);
        if spec.traits.meters {
            look_at_meter(book, solution, place);
        } else if spec.regulates() {
            look_at_regulator(book, solution, place);
        } else if spec.traits.backward == Backward::Keeps {
            look_at_check(book, solution, place);
        } else if spec.traits.backward == Backward::Protects && spec.traits.guard.is_none() {
            look_at_unknown_preventer(book, solution, place);
        }
    }
}

fn look_at_meter(book: &mut Book, solution: &Solution, place: usize) {
    let Some(rated) = book.garden.parts()[place].quantity(Id::Flow) else { return };
    let (flow, most) = (solution.parts[place].flow_m3_per_s, METER_FLOW.of(book.garden));
    if flow > most * rated.si * (1.0 + AT_LIMIT) {
        let finding = book.about(&source::METER_LIMIT, place).with("flow", like(flow, rated)).with("rated", rated);
        book.add(finding.with("percent", Value::percent(flow / rated.si)).with("most", Value::percent(most)));
    }
}

/// A valve or regulator that gives the flow that it needs.
fn look_at_least_flow(book: &mut Book, solution: &Solution, place: usize) {
    let Some(least) = book.garden.parts()[place].quantity(Id::MinimumFlow) else { return };
    let flow = solution.parts[place].flow_m3_per_s;
    if flow >= least.si * (1.0 - AT_LIMIT) {
        return;
    }
    let finding = if book.garden.spec(place).traits.opens {
        book.about(&water::VALVE_FLOW_LOW, place).with("needs", least)
    } else {
        book.about(&zone::REGULATOR_FLOW, place).with("least", least)
    };
    book.add(finding.with("flow", like(flow, least)));
}

fn look_at_regulator(book: &mut Book, solution: &Solution, place: usize) {
    if book.garden.parts()[place].si(Id::MinimumFlow).is_some() {
        return;
    }
    let (flow, least) = (solution.parts[place].flow_m3_per_s, REGULATOR_FLOW.of(book.garden));
    if solution.held.contains(&place) && flow < least * (1.0 - AT_LIMIT) {
        book.add(book.about(&zone::REGULATOR_FLOW, place).with("flow", flow_of(flow)).with("least", rule_flow(least)));
    }
}

/// A check valve that gravity has to open. On the way to a pump that runs, the pump opens it.
fn look_at_check(book: &mut Book, solution: &Solution, place: usize) {
    let garden = book.garden;
    let Some(inlet_pa) = solution.parts[place].pressure_in_pa else { return };
    let is_given = garden.parts()[place].si(Id::CrackingPressure).is_some_and(|cracking_pa| cracking_pa > 0.0);
    if is_given || inlet_pa >= WEAK_LINE.of(garden) * (1.0 - AT_LIMIT) {
        return;
    }
    let places = &garden.layout().places;
    let downstream = reached(garden, places[place].to, |other, way| way == Way::Down && solution.open[other]);
    let pumped = garden.boosters().any(|booster| solution.runs[booster] && downstream[places[booster].from]);
    if !pumped {
        book.add(book.about(&zone::WEAK_CHECK, place).with("has", pressure(inlet_pa)));
    }
}

/// A preventer that may lose more than an outlet downstream of it has to spare.
fn look_at_unknown_preventer(book: &mut Book, solution: &Solution, device: usize) {
    let garden = book.garden;
    let part = &garden.parts()[device];
    let is_given = [Id::CrackingPressure, Id::Cv].iter().any(|&id| part.si(id).is_some_and(|si| si > 0.0));
    if is_given {
        return;
    }
    let places = &garden.layout().places;
    let downstream = reached(garden, places[device].to, |place, way| way == Way::Down && solution.open[place]);
    let spare = |outlet: usize| -> Option<(usize, Quantity)> {
        let (low, has_pa) = (garden.parts()[outlet].quantity(Id::RangeLow)?, solution.parts[outlet].pressure_out_pa?);
        let is_fed = downstream[places[outlet].from] && solution.parts[outlet].flow_m3_per_s > UNSEEN_M3_PER_S;
        (is_fed && has_pa >= low.si).then(|| (outlet, like(has_pa - low.si, low)))
    };
    let outlets = garden.of_spec(|spec| spec.traits.waters).filter_map(spare);
    let Some((outlet, margin)) = outlets.min_by(|one, other| one.1.si.total_cmp(&other.1.si)) else { return };
    if margin.si < PREVENTER_LOSS.of(garden) * (1.0 - AT_LIMIT) {
        let finding = book.about(&source::PREVENTER_TYPE_UNKNOWN, device).with("outlet", book.title(outlet));
        book.add(finding.with("margin", margin));
    }
}
