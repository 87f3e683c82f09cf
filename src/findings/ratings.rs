//! Ratings: parts under more pressure than they are made for, running and at rest, and boosters without a relief valve.

use super::catalog::relief as say;
use super::cycling::Overshoot;
use super::finding::{Book, like, pressure};
use super::limits::{AT_LIMIT, HOSE_RATING, PIPE_RATING, Threshold};
use super::phrase::Value;
use super::rest::AtRest;
use crate::garden::Garden;
use crate::garden::walk::{Way, reached};
use crate::hydraulics::{RestState, Solution};
use crate::operation::Log;
use crate::parts::Id;
use crate::quantity::Quantity;
use std::collections::BTreeMap;

/// When a pressure stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum When {
    Running,
    AtRest,
}

/// The highest pressure at either end of a part, and when it stands.
pub(super) struct Strain {
    pub place: usize,
    pub pressure_pa: f64,
    pub when: When,
}

/// The pressures of a steady state, no higher than short-cycling switches let them rise.
pub(super) fn running(book: &Book, solution: &Solution) -> Vec<Strain> {
    if book.rated().is_empty() {
        return Vec::new();
    }
    let overshoot = Overshoot::of(solution);
    let strain = |&place: &usize| {
        let state = &solution.parts[place];
        let ends = [state.pressure_in_pa, state.pressure_out_pa];
        let pressure_pa = ends.into_iter().flatten().reduce(f64::max)? - overshoot.at_place(place);
        Some(Strain { place, pressure_pa, when: When::Running })
    };
    book.rated().iter().filter_map(strain).collect()
}

/// The pressures at rest in normal use: switches stop their boosters.
pub(super) fn at_rest(book: &Book, rest: &AtRest) -> Vec<Strain> {
    let strain =
        |&place: &usize| Some(Strain { place, pressure_pa: rest.stopped.highest(book.garden, place)?, when: When::AtRest });
    book.rated().iter().filter_map(strain).collect()
}

/// The highest pressures of a run over time.
pub(super) fn over_time(log: &Log) -> Vec<Strain> {
    let places = 0..log.garden.parts().len();
    let strain = |place| Some(Strain { place, pressure_pa: log.highest_at_ends(place)?.pressure_pa, when: When::Running });
    places.filter_map(strain).collect()
}

/// The share of its rating that a part may be at every day; none for parts that are rated for that.
fn share_of(garden: &Garden, place: usize) -> Option<Threshold> {
    let traits = garden.spec(place).traits;
    match (traits.flexible, traits.trenched) {
        (true, _) => Some(HOSE_RATING),
        (false, true) => Some(PIPE_RATING),
        (false, false) => None,
    }
}

/// The same as it holds for a garden.
pub(crate) fn rating_share(garden: &Garden, place: usize) -> Option<f64> {
    share_of(garden, place).map(|share| share.of(garden))
}

/// A hose or pipe that is nearer to its rating than those last at.
fn report_near(book: &mut Book, worst: &Strain, rating: Quantity) {
    let garden = book.garden;
    let Some(limit) = share_of(garden, worst.place) else { return };
    let (share, most) = (worst.pressure_pa / rating.si, limit.of(garden));
    if share > most * (1.0 + AT_LIMIT) {
        let entry = if limit == HOSE_RATING { &say::HOSE_NEAR_RATING } else { &say::PIPE_NEAR_RATING };
        let finding = book.about(entry, worst.place).with("pressure", like(worst.pressure_pa, rating)).with("rating", rating);
        book.add(finding.with("percent", Value::percent(share)).with("most", Value::percent(most)));
    }
}

/// Reports each part that is above its rating or near it, once, at the highest of its pressures.
pub(super) fn report(book: &mut Book, strains: &[Strain]) {
    let garden = book.garden;
    let mut worst: BTreeMap<usize, &Strain> = BTreeMap::new();
    for strain in strains {
        let most = worst.entry(strain.place).or_insert(strain);
        // Of equals the last counts.
        if strain.pressure_pa.total_cmp(&most.pressure_pa).is_ge() {
            *most = strain;
        }
    }
    for (place, worst) in worst {
        let Some(rating) = garden.parts()[place].quantity(Id::PressureRating) else { continue };
        if worst.pressure_pa <= rating.si {
            report_near(book, worst, rating);
            continue;
        }
        let entry = match worst.when {
            When::Running => &say::OVER_RATING,
            When::AtRest => &say::OVER_RATING_AT_REST,
        };
        book.add(book.about(entry, place).with("pressure", like(worst.pressure_pa, rating)).with("rating", rating));
    }
}

/// What a booster does to the parts downstream of it when its switch fails.
pub(super) fn look_at_boosters(book: &mut Book, rest: &mut AtRest) {
    for booster in book.garden.boosters() {
        if let Some(without) = rest.without(booster) {
            look_at_booster(book, rest, &without, booster);
        }
    }
}

fn look_at_booster(book: &mut Book, rest: &AtRest, without: &RestState, booster: usize) {
    let garden = book.garden;
    let downstream = reached(garden, garden.layout().places[booster].to, |place, way| way == Way::Down && place != booster);
    let relief = garden.reliefs().find(|&relief| downstream[garden.layout().places[relief].to]);
    let strained = book.rated().iter().filter_map(|&place| {
        let rating = garden.parts()[place].quantity(Id::PressureRating)?;
        let pressure_pa = rest.relieved.highest(garden, place)?;
        let pushed = pressure_pa > without.highest(garden, place)? + 1.0;
        (pushed && pressure_pa > rating.si).then_some((place, pressure_pa, rating))
    });
    let worst = strained.max_by(|a, b| (a.1 / a.2.si).total_cmp(&(b.1 / b.2.si)));
    if let Some((place, pressure_pa, rating)) = worst {
        let weakest = if place == booster { "itself".to_string() } else { book.title(place) };
        let finding = match relief {
            None => book.about(&say::NO_RELIEF, booster),
            Some(relief) => book.about(&say::RELIEF_DOES_NOT_PROTECT, booster).with("relief", book.title(relief)),
        };
        let finding = finding.with("weakest", weakest).with("rated", rating);
        return book.add(finding.with("reaches", like(pressure_pa, rating)));
    }
    let unrated = (0..garden.parts().len()).find(|&place| {
        let is_downstream = || downstream[garden.layout().places[place].from];
        garden.spec(place).traits.bursts && is_downstream() && garden.parts()[place].si(Id::PressureRating).is_none()
    });
    if let (None, Some(unrated)) = (relief, unrated) {
        let dead_head_pa = rest.dead_head.at(garden, booster);
        let reaches: Value = dead_head_pa.map_or("its dead-head pressure".into(), |reached_pa| pressure(reached_pa).into());
        let finding = book.about(&say::NO_RELIEF_NO_RATINGS, booster).with("reaches", reaches);
        book.add(finding.with("unrated", book.title(unrated)));
    }
}
