//! Taps and tanks: pressure left for the house, suction on the main, water that runs back, a tap that is too strong.

use super::catalogue::source as say;
use super::finding::{Book, flow as flow_of, like, pressure, rule_pa};
use super::limits::{AT_LIMIT, BEYOND_TEST_SHARE, LEAST_TAP_PA, MOST_STATIC_PA, UNSEEN_M3_PER_S};
use super::phrase::Limit;
use crate::hydraulics::Solution;
use crate::parts::Id;

pub(super) fn look(book: &mut Book, solution: &Solution) {
    for place in solution.garden.supplies() {
        look_at_tap(book, solution, place);
    }
    let parts = solution.garden.parts();
    for place in (0..parts.len()).filter(|&place| parts[place].spec().traits.fills) {
        let flow = solution.parts[place].flow_m3_per_s;
        if flow < -UNSEEN_M3_PER_S {
            book.add(book.about(&say::TANK_FILLS, place).with("flow", flow_of(-flow)));
        }
    }
}

pub(super) fn look_at_layout(book: &mut Book) {
    let garden = book.garden;
    for place in garden.supplies() {
        let Some(at_rest) = garden.parts()[place].quantity(Id::StaticPressure) else { continue };
        if at_rest.si > MOST_STATIC_PA * (1.0 + AT_LIMIT) {
            let limit = Limit::published(pressure(MOST_STATIC_PA), "psi").like(at_rest);
            book.add(book.about(&say::TAP_HIGH, place).with("pressure", at_rest).with("limit", limit));
        }
    }
}

fn look_at_tap(book: &mut Book, solution: &Solution, place: usize) {
    let state = &solution.parts[place];
    let flow = state.flow_m3_per_s;
    if flow < -UNSEEN_M3_PER_S {
        book.add(book.about(&say::TAP_BACKWARD, place).with("flow", flow_of(-flow)));
    }
    if flow <= UNSEEN_M3_PER_S {
        return;
    }
    let Some(pressure_pa) = state.pressure_out_pa else { return };
    let falls = |entry| book.about(entry, place).with("pressure", pressure(pressure_pa)).with("flow", flow_of(flow));
    if pressure_pa < 0.0 {
        book.add(falls(&say::TAP_SUCTION));
    } else if pressure_pa < LEAST_TAP_PA {
        book.add(falls(&say::TAP_LOW).with("least", rule_pa(LEAST_TAP_PA).as_least()));
    }
    match solution.garden.parts()[place].get(Id::MeasuredFlow) {
        Ok(tested) if flow > BEYOND_TEST_SHARE * tested.si => {
            book.add(book.about(&say::BEYOND_TEST, place).with("flow", like(flow, tested)).with("tested", tested));
        }
        Ok(_) => {}
        Err(_) => book.add(book.about(&say::UNMEASURED, place).with("pressure", pressure(pressure_pa))),
    }
}
