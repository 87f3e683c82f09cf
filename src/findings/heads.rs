//! Heads and emitters in a steady state: dry, stalled, over-pressured, or near to it; demands that are not met; regulators
//! that cannot hold.

use super::catalog::water as say;
use super::finding::{Book, like, pressure};
use super::limits::{AT_LIMIT, DRIP_PRESSURE, NEAR_RANGE, UNSEEN_M3_PER_S};
use super::phrase::{Phrase, Value};
use crate::garden::walk::{Way, reached_from};
use crate::hydraulics::Solution;
use crate::parts::{Id, Placing};

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let supplied = Supplied::of(solution);
    for place in 0..solution.parts.len() {
        let part = &solution.garden.parts()[place];
        match part.spec() {
            spec if spec.regulates() => look_at_regulator(book, solution, place),
            spec if spec.traits.waters => look_at_outlet(book, solution, &supplied, place),
            spec if spec.traits.gives_water => look_at_draw(book, solution, &supplied, place),
            _ => {}
        }
    }
}

fn look_at_outlet(book: &mut Book, solution: &Solution, supplied: &Supplied, place: usize) {
    let node = solution.garden.layout().places[place].to;
    let is_supplied = supplied.is_supplied[node];
    let Some(pressure_pa) = solution.parts[place].pressure_out_pa.filter(|_| is_supplied) else {
        if is_supplied {
            let because = too_high(book, solution);
            return book.add(book.about(&say::NO_FLOW_PAST_A_CREST, place).with("because", because));
        }
        if supplied.stands_open[node] {
            book.add(book.about(&say::NO_SUPPLY, place));
        }
        return;
    };
    if solution.parts[place].flow_m3_per_s <= UNSEEN_M3_PER_S {
        let lacking_pa = -solution.node_pa[node];
        return book.add(if lacking_pa > 0.0 {
            book.about(&say::NO_FLOW, place).with("lacking", pressure(lacking_pa))
        } else {
            book.about(&say::NO_FLOW_AT_ITS_ELEVATION, place)
        });
    }
    let part = &solution.garden.parts()[place];
    let number = |id| part.quantity(id);
    let near_share = NEAR_RANGE.of(book.garden);
    if let Some(low) = number(Id::RangeLow) {
        let needs = |entry| book.about(entry, place).with("has", like(pressure_pa, low)).with("needs", low);
        if pressure_pa < low.si {
            let entry = if part.spec().traits.drips { &say::EMITTER_BELOW_RANGE } else { &say::BELOW_RANGE };
            return book.add(needs(entry).with("missing", like(low.si - pressure_pa, low)));
        }
        if pressure_pa < low.si * (1.0 + near_share) {
            let finding = needs(&say::NEAR_RANGE_LOW).with("margin", like(pressure_pa - low.si, low));
            book.add(finding.with("share", Value::percent(near_share)));
        }
    }
    if part.spec().traits.drips && number(Id::RangeHigh).is_none() && pressure_pa > DRIP_PRESSURE.of(book.garden) {
        let finding = book.about(&say::DRIP_OVER_PRESSURE, place);
        book.add(finding.with("has", pressure(pressure_pa)).with("most", DRIP_PRESSURE.limit(book.garden)));
    }
    if let Some(high) = number(Id::RangeHigh) {
        let takes = |entry| book.about(entry, place).with("has", like(pressure_pa, high)).with("most", high);
        if pressure_pa > high.si {
            book.add(takes(&say::ABOVE_RANGE).with("excess", like(pressure_pa - high.si, high)));
        } else if pressure_pa > high.si * (1.0 - near_share) {
            book.add(takes(&say::NEAR_RANGE_HIGH).with("margin", like(high.si - pressure_pa, high)));
        }
    }
}

/// Why water does not get to a place to which the way is open.
fn too_high(book: &Book, solution: &Solution) -> Phrase {
    match solution.parted.first() {
        Some(&parted) => {
            let vapor = pressure(solution.garden.vapor_gauge_pa());
            Phrase::new(say::AT_VACUUM_UPSTREAM).with("parted", book.title(parted)).with("vapor", vapor)
        }
        None => Phrase::new(say::TOO_HIGH),
    }
}

fn look_at_draw(book: &mut Book, solution: &Solution, supplied: &Supplied, place: usize) {
    let Some(wanted) = solution.garden.parts()[place].quantity(Id::Flow).filter(|flow| flow.si > 0.0) else { return };
    let node = solution.garden.layout().places[place].to;
    let is_supplied = supplied.is_supplied[node];
    match solution.parts[place].pressure_out_pa.filter(|_| is_supplied) {
        None if is_supplied => {
            let because = too_high(book, solution);
            book.add(book.about(&say::DEMAND_WITHOUT_WATER, place).with("wants", wanted).with("because", because));
        }
        None if supplied.stands_open[node] => book.add(book.about(&say::NO_SUPPLY_TO_DEMAND, place).with("wants", wanted)),
        Some(pressure_pa) if pressure_pa <= 0.0 => {
            let takes_m3_per_s = solution.parts[place].flow_m3_per_s;
            let short = takes_m3_per_s < wanted.si * (1.0 - AT_LIMIT);
            let finding = if short {
                book.about(&say::DEMAND_SHORT, place).with("takes", like(takes_m3_per_s, wanted))
            } else {
                book.about(&say::DEMAND_NOT_MET, place)
            };
            book.add(finding.with("wants", wanted).with("has", pressure(pressure_pa)));
        }
        _ => {}
    }
}

fn look_at_regulator(book: &mut Book, solution: &Solution, place: usize) {
    let state = &solution.parts[place];
    let (Some(before_pa), Some(downstream_pa)) = (state.pressure_in_pa, state.pressure_out_pa) else { return };
    let Some(set) = solution.garden.parts()[place].quantity(Id::Set) else { return };
    if state.flow_m3_per_s <= UNSEEN_M3_PER_S || downstream_pa >= set.si * (1.0 - 1e-6) {
        return;
    }
    let finding = book.about(&say::REGULATOR_BELOW_SET, place).with("set", set);
    book.add(finding.with("gets", like(before_pa, set)).with("passes_on", like(downstream_pa, set)));
}

/// How the nodes of a garden are joined to sources.
struct Supplied {
    /// Open parts join the node to a source, whichever way water may go through them.
    stands_open: Vec<bool>,
    /// Water can come from a source to the node: one-way parts are passed their own way only.
    is_supplied: Vec<bool>,
}

impl Supplied {
    fn of(solution: &Solution) -> Supplied {
        let garden = &solution.garden;
        let places = &garden.layout().places;
        let one_way = |part: usize| garden.spec(part).is_one_way();
        let sources = || {
            let is_source = |place: &usize| garden.spec(*place).placing == Placing::Source;
            (0..places.len()).filter(is_source).map(|place| places[place].to)
        };
        Supplied {
            stands_open: reached_from(garden, sources(), |part, _| solution.open[part]),
            is_supplied: reached_from(garden, sources(), |part, way| solution.open[part] && (way == Way::Down || !one_way(part))),
        }
    }
}
