//! Taps and tanks: pressure left for the house, backsiphonage, backflow, high static pressure.

use super::catalog::source as say;
use super::finding::{Book, flow as flow_of, like, pressure, rule_pa};
use super::limits::{AT_LIMIT, BEYOND_TEST, HIGH_STATIC, HOUSE_PRESSURE, LOW_STATIC, TESTS_APART, UNSEEN_M3_PER_S};
use super::phrase::Limit;
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::parts::{Id, Law};

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
        look_at_tests(book, place);
        let Some(at_rest) = garden.parts()[place].quantity(Id::StaticPressure) else { continue };
        let about = |entry, limit: Limit| book.about(entry, place).with("pressure", at_rest).with("limit", limit.like(at_rest));
        if at_rest.si > HIGH_STATIC.of(garden) * (1.0 + AT_LIMIT) && !is_regulated(garden, place) {
            book.add(about(&say::HIGH_STATIC, HIGH_STATIC.limit(garden)));
        } else if at_rest.si < LOW_STATIC.of(garden) * (1.0 - AT_LIMIT) {
            book.add(about(&say::LOW_STATIC, LOW_STATIC.limit(garden)));
        }
    }
}

/// The reading of a supply measured at several flows that is farthest from the curve through all of them.
fn look_at_tests(book: &mut Book, place: usize) {
    let part = &book.garden.parts()[place];
    let Law::Source { resistance, .. } = book.garden.law_of(place) else { return };
    let static_pa = part.si(Id::StaticAtTest).unwrap_or(part.value(Id::StaticPressure));
    let off = |&(flow, pressure_pa): &(f64, f64)| static_pa - resistance * flow * flow - pressure_pa;
    let worst = part.readings().iter().max_by(|a, b| off(a).abs().total_cmp(&off(b).abs()));
    let Some(reading) = worst.filter(|reading| off(reading).abs() > TESTS_APART.of(book.garden) * (1.0 + AT_LIMIT)) else {
        return;
    };
    let (Ok(gauge), Ok(bucket)) = (part.get(Id::MeasuredPressure), part.get(Id::MeasuredFlow)) else { return };
    let finding =
        book.about(&say::TESTS_DISAGREE, place).with("flow", like(reading.0, bucket)).with("has", like(reading.1, gauge));
    book.add(finding.with("fitted", like(reading.1 + off(reading), gauge)));
}

/// True when all that is connected to a supply are regulators set to no more than the highest static pressure.
fn is_regulated(garden: &Garden, supply: usize) -> bool {
    let layout = garden.layout();
    let regulates = |place: usize| {
        let part = &garden.parts()[place];
        part.spec().regulates() && part.si(Id::Set).is_some_and(|set_pa| set_pa <= HIGH_STATIC.of(garden) * (1.0 + AT_LIMIT))
    };
    let mut others = layout.joined()[layout.places[supply].to].iter().filter(|&&place| place != supply).peekable();
    others.peek().is_some() && others.all(|&place| regulates(place))
}

fn look_at_tap(book: &mut Book, solution: &Solution, place: usize) {
    let state = &solution.parts[place];
    let flow = state.flow_m3_per_s;
    if flow < -UNSEEN_M3_PER_S {
        book.add(book.about(&say::BACKFLOW, place).with("flow", flow_of(-flow)));
    }
    if flow <= UNSEEN_M3_PER_S {
        return;
    }
    let Some(pressure_pa) = state.pressure_out_pa else { return };
    let falls = |entry| book.about(entry, place).with("pressure", pressure(pressure_pa)).with("flow", flow_of(flow));
    if pressure_pa < 0.0 {
        book.add(falls(&say::BACKSIPHONAGE));
    } else if pressure_pa < HOUSE_PRESSURE.of(book.garden) {
        book.add(falls(&say::LOW_TAP_PRESSURE).with("least", rule_pa(HOUSE_PRESSURE.of(book.garden)).as_least()));
    }
    match solution.garden.parts()[place].get(Id::MeasuredFlow) {
        Ok(tested) if flow > BEYOND_TEST.of(book.garden) * tested.si => {
            book.add(book.about(&say::BEYOND_TEST, place).with("flow", like(flow, tested)).with("tested", tested));
        }
        Ok(_) => {}
        Err(_) => book.add(book.about(&say::NO_BUCKET_TEST, place).with("pressure", pressure(pressure_pa))),
    }
}
