//! Boosters that run though the heads have what they need without them.

use super::catalog::switch as say;
use super::finding::{Book, Finding, like};
use super::limits::{NEAR_RANGE, UNSEEN_M3_PER_S};
use super::{devices, heads, inlets, spacing, spread};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::parts::{Id, Start};
use crate::quantity::Quantity;

/// Where boosters run: solves the same zones with them off, also at the lowest pressure of the main where that is given.
pub(super) fn look(book: &mut Book, solution: &Solution) {
    let garden = &solution.garden;
    let runs = |place: &usize| solution.runs[*place] && solution.parts[*place].flow_m3_per_s > UNSEEN_M3_PER_S;
    let Some(booster) = garden.boosters().find(runs) else { return };
    let ranged = |place: usize| garden.parts()[place].si(Id::RangeLow).is_some();
    if !outlets(solution).all(ranged) {
        return;
    }
    let Some((outlet, has_pa, needs)) = enough_without(solution, garden) else { return };
    let lowest = garden.lowest_static();
    let at_lowest = match lowest {
        None => Some((outlet, has_pa, needs)),
        Some(lowest) => {
            garden.with_main(|usual_pa| usual_pa.min(lowest.si)).ok().and_then(|garden| enough_without(solution, &garden))
        }
    };
    let Some((outlet, has_pa, needs)) = at_lowest else { return };
    // As the solution has it: what starts a booster may lie outside of an excerpt.
    let entry = match solution.switches.iter().find(|state| state.booster == booster).map(|state| state.start) {
        None => &say::NEEDS_NO_PUMP_UNSWITCHED,
        Some(Start::Zones) => &say::NEEDS_NO_PUMP_ON_RELAY,
        Some(Start::Pressure | Start::Flow | Start::Speed) => &say::RUNS_UNNEEDED,
    };
    let finding =
        book.about(entry, outlet).with("pump", book.title(booster)).with("has", like(has_pa, needs)).with("needs", needs);
    let is_unsure = lowest.is_none() && garden.supplies().next().is_some();
    book.add(finding.with_some("main", lowest).with_some("first", is_unsure.then_some(say::READ_THE_MAIN)));
}

/// The weakest outlet of a state with all boosters off, in which all have what they need with the usual margin and nothing is to be said
/// that is not to be said with the boosters on.
fn enough_without(on: &Solution, garden: &Garden) -> Option<(usize, f64, Quantity)> {
    let off = on.without_boosters(garden).ok()?;
    let weakest = weakest_in_range(&off, NEAR_RANGE.of(garden))?;
    let above = |place: usize| {
        let high_pa = garden.parts()[place].si(Id::RangeHigh);
        off.parts[place].pressure_out_pa.zip(high_pa).is_some_and(|(has_pa, high_pa)| has_pa > high_pa)
    };
    if outlets(&off).any(above) {
        return None;
    }
    let told = |solution: &Solution| {
        let mut book = Book::new(&solution.garden);
        for look in [heads::look, spacing::look, spread::look, inlets::look, devices::look] {
            look(&mut book, solution);
        }
        book.finish()
    };
    let with = told(on);
    let is_new = |finding: &Finding| !with.iter().any(|known| (known.entry(), known.place) == (finding.entry(), finding.place));
    (!told(&off).iter().any(is_new)).then_some(weakest)
}

/// Heads and drip parts that water can reach.
fn outlets(solution: &Solution) -> impl Iterator<Item = usize> {
    let garden = &solution.garden;
    garden.of_spec(|spec| spec.traits.waters).filter(|&place| solution.parts[place].pressure_out_pa.is_some())
}

/// The outlet that has least above its need, with what it has and needs, where all have what they need and this share of it more; none
/// where one has less, or does not say what it needs.
pub(super) fn weakest_in_range(solution: &Solution, share: f64) -> Option<(usize, f64, Quantity)> {
    let mut weakest: Option<(usize, f64, Quantity)> = None;
    for place in outlets(solution) {
        let (state, low) = (&solution.parts[place], solution.garden.parts()[place].quantity(Id::RangeLow)?);
        let has_pa = state.pressure_out_pa.filter(|_| state.flow_m3_per_s > UNSEEN_M3_PER_S)?;
        let margin_pa = has_pa - low.si * (1.0 + share);
        if margin_pa < 0.0 {
            return None;
        }
        if weakest.is_none_or(|(_, has, needs)| margin_pa < has - needs.si * (1.0 + share)) {
            weakest = Some((place, has_pa, low));
        }
    }
    weakest
}
