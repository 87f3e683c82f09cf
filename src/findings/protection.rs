//! What keeps garden water out of the drinking water, and the pump from pushing into the house: layout alone, no numbers.

use super::catalog::source as say;
use super::finding::Book;
use crate::garden::Garden;
use crate::garden::walk::{Way, first_of, keeps_back, reached, reached_from};
use crate::parts::{Backward, Id, Soil, Spec};

pub(super) fn look(book: &mut Book) {
    let garden = book.garden;
    garden.supplies().for_each(|supply| look_at_tap(book, supply));
    garden.boosters().for_each(|booster| look_at_booster(book, booster));
}

fn look_at_tap(book: &mut Book, supply: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let protects = |place: usize| garden.spec(place).traits.backward == Backward::Protects;
    let open_to = reached(garden, places[supply].to, |place, _| !protects(place));
    look_at_joined_sources(book, supply, &open_to);
    look_at_injectors(book, supply);
    let in_soil = first_of(garden, |spec| spec.traits.soil == Soil::In, &open_to);
    let dirty = in_soil.or(first_of(garden, |spec| spec.traits.soil != Soil::Away || spec.traits.pumps, &open_to));
    if dirty.or_else(|| hose_end(garden, &open_to)).is_none() {
        return;
    }
    let finding = match in_soil {
        Some(outlet) => book.about(&say::SOIL_ON_TAP, supply).with("outlet", book.title(outlet)),
        None => book.about(&say::NO_BACKFLOW_PREVENTER, supply),
    };
    let check = first_of(garden, |spec| spec.traits.backward == Backward::Keeps, &open_to);
    book.add(finding.with_some("check", check.map(|check| book.title(check))));
}

/// Injectors that a tap reaches without passing a device for high hazard that stands backpressure too.
fn look_at_injectors(book: &mut Book, supply: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let reduces = |place: usize| garden.spec(place).traits.guard.is_some_and(|guard| guard.high_hazard && guard.backpressure);
    let open_to = reached(garden, places[supply].to, |place, _| !reduces(place));
    for injector in garden.of_spec(|spec| spec.traits.injects).filter(|&injector| open_to[places[injector].from]) {
        let finding = book.about(&say::INJECTOR_NEEDS_RPZ, injector);
        book.add(finding.with("tap", book.title(supply)));
    }
}

/// A demand at the end of a hose, which lies in a puddle or a bucket sooner or later.
fn hose_end(garden: &Garden, nodes: &[bool]) -> Option<usize> {
    let places = &garden.layout().places;
    let hoses = garden.of_spec(|spec| spec.is_line() && spec.traits.flexible).filter(|&hose| nodes[places[hose].from]);
    let ends: Vec<usize> = hoses.map(|hose| places[hose].to).collect();
    let protects = |place: usize| garden.spec(place).traits.backward == Backward::Protects;
    let downstream = reached_from(garden, ends.iter().copied(), |place, way| way == Way::Down && !protects(place));
    if ends.is_empty() { None } else { first_of(garden, |spec| spec.traits.demands, &downstream) }
}

/// Looks at the sources that are joined with a tap: one that has no preventer toward it, or, where all have, the first of them.
fn look_at_joined_sources(book: &mut Book, supply: usize, open_to: &[bool]) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let joined = reached(garden, places[supply].to, |_, _| true);
    let open_tank = garden.of_spec(Spec::is_tank).find(|&tank| open_to[places[tank].to]);
    let tank = open_tank.or_else(|| garden.of_spec(Spec::is_tank).find(|&tank| joined[places[tank].to]));
    if let Some(tank) = tank {
        let entry = if open_tank.is_some() { &say::CROSS_CONNECTION } else { &say::CROSS_CONNECTION_BEHIND_PREVENTER };
        book.add(book.about(entry, tank).with("tap", book.title(supply)));
    }
    // Taps of one main have one static pressure; where it differs, one of them is another system, such as a well.
    let static_pa = |tap: usize| garden.parts()[tap].si(Id::StaticPressure);
    let other_system = |&tap: &usize| tap > supply && joined[places[tap].to] && static_pa(tap) != static_pa(supply);
    if let Some(other) = garden.supplies().find(other_system) {
        book.add(book.about(&say::SUPPLIES_JOINED, other).with("tap", book.title(supply)));
    }
}

/// True when a booster that an outlet takes its water from draws on a tap and no backflow preventer lies between, or no relief lies downstream of it that stays open
/// to it when all zone valves are closed.
pub(super) fn has_bare_booster(garden: &Garden) -> bool {
    let places = &garden.layout().places;
    garden.boosters().any(|booster| {
        let upstream = |keep: bool| {
            let passes = |place: usize| place != booster && (keep || garden.spec(place).traits.backward != Backward::Protects);
            let reached = reached(garden, places[booster].from, |place, _| passes(place));
            garden.supplies().any(|supply| reached[places[supply].to])
        };
        let downstream = reached(garden, places[booster].to, |place, way| {
            way == Way::Down && place != booster && !garden.spec(place).traits.opens
        });
        let feeds =
            first_of(garden, |spec| spec.traits.gives_water, &reached(garden, places[booster].to, |_, way| way == Way::Down));
        let relieved = first_of(garden, |spec| spec.traits.relieves, &downstream).is_some();
        feeds.is_some() && (upstream(false) || (upstream(true) && !relieved))
    })
}

fn look_at_booster(book: &mut Book, booster: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let unchecked = reached(garden, places[booster].from, |place, _| place != booster && !keeps_back(garden, place));
    let Some(supply) = garden.supplies().find(|&supply| unchecked[places[supply].to]) else { return };
    let downstream =
        reached(garden, places[booster].to, |place, way| way == Way::Down && place != booster && !keeps_back(garden, place));
    let ends = |spec: &Spec| spec.traits.opens || spec.traits.gives_water || spec.traits.soil != Soil::Away;
    let ends_unchecked = first_of(garden, ends, &downstream).is_some();
    let check = first_of(garden, Spec::keeps_back, &downstream);
    let finding = match check {
        Some(check) if !ends_unchecked => book.about(&say::CHECK_DOWNSTREAM, booster).with("check", book.title(check)),
        _ => book.about(&say::NO_CHECK, booster),
    };
    book.add(finding.with("tap", book.title(supply)));
}
