//! Findings: what an experienced installer would warn of, each with where and how much, why, what to do, and its source.
//!
//! [`of_solution`] looks at one steady state, [`of_garden`] at the layout and at the garden at rest, [`of_run`] at both,
//! [`of_zones`] at each zone open alone too.
//! What is said stands in `catalog`, every kind of finding once; the judges here give values, and `phrase` puts both into words
//! in the units that are asked for. Thresholds live in `limits`, the standing cautions in `cautions`. This room solves nothing itself but the
//! state at rest (`rest`) and each zone (`zones`), for which it asks `hydraulics`; it knows nothing of scripts, tables, figures or colors.

mod accept;
mod booster;
pub mod catalog;
mod cautions;
mod coverage;
mod cycling;
mod deciding;
mod devices;
mod drive;
mod finding;
mod group;
mod heads;
mod heating;
mod hoses;
mod inlets;
pub mod limits;
mod money;
mod operation;
pub mod phrase;
mod preventers;
mod protection;
mod ratings;
mod relief;
mod rest;
mod sizes;
mod spacing;
mod split;
mod spread;
mod start;
mod suction;
mod supply;
mod switch;
#[cfg(test)]
mod tests;
mod text;
mod unneeded;
mod waiting;
mod watering;
mod weather;
mod zones;

pub use accept::{AcceptError, accept};
pub use catalog::{Entry, Level, Source};
pub use cautions::{ALL as CAUTIONS, BARE_BOOSTER, Caution, CautionSet, ESTIMATES, FOLLOW, Subject};
pub use coverage::{of_cans, of_coverage, of_depth};
pub use deciding::DECIDED;
pub use finding::Finding;
pub(crate) use finding::{in_order, title};
pub use group::{FindingGroup, grouped, not_found};
pub use money::{of_bills, of_payback};
pub use operation::of_log;
pub use phrase::counted;
pub(crate) use ratings::rating_share;
pub(crate) use switch::{Stops, stops};
pub use text::{NOTHING, report, show, unmet};
pub use watering::{of_barrel, of_season, of_start, of_week};
pub use weather::of_weather;
pub use zones::of_zones;

use crate::garden::Garden;
use crate::hydraulics::Solution;
use finding::Book;
use ratings::Strain;
use rest::AtRest;

/// What is to be said of one steady state: heads, hoses, taps, boosters, switches, regulators, reliefs, ratings.
///
/// Sorted by level, then by place; no finding stands twice.
pub fn of_solution(solution: &Solution) -> Vec<Finding> {
    let mut book = Book::new(&solution.garden);
    look_at_solution(&mut book, solution);
    let strains = ratings::running(&book, solution);
    ratings::report(&mut book, &strains);
    book.finish()
}

/// What is to be said of the layout alone, and of the garden at rest: valves closed, nothing flows.
///
/// Sorted by level, then by place; no finding stands twice. Empty for a line that nothing feeds.
pub fn of_garden(garden: &Garden) -> Vec<Finding> {
    let mut book = Book::new(garden);
    let strains = look_at_garden(&mut book);
    ratings::report(&mut book, &strains);
    book.finish()
}

/// All that is to be said of a steady state and its garden: [`of_solution`] and [`of_garden`] in one list.
///
/// A part above its rating both running and at rest is named once, at the higher pressure.
pub fn of_run(solution: &Solution) -> Vec<Finding> {
    let mut book = Book::new(&solution.garden);
    look_at_solution(&mut book, solution);
    let mut strains = ratings::running(&book, solution);
    strains.extend(look_at_garden(&mut book));
    ratings::report(&mut book, &strains);
    book.finish()
}

fn look_at_solution(book: &mut Book, solution: &Solution) {
    heads::look(book, solution);
    spacing::look(book, solution);
    hoses::look(book, solution);
    inlets::look(book, solution);
    supply::look(book, solution);
    booster::look(book, solution);
    switch::look(book, solution);
    unneeded::look(book, solution);
    relief::look(book, solution);
    split::look(book, solution);
    devices::look(book, solution);
    spread::look(book, solution);
}

/// Looks at the layout; returns what strains parts at rest.
fn look_at_garden(book: &mut Book) -> Vec<Strain> {
    let garden = book.garden;
    if !garden.is_fed() {
        return Vec::new();
    }
    supply::look_at_layout(book);
    protection::look(book);
    hoses::look_at_walls(book);
    preventers::look(book);
    hoses::look_at_pipe_sizes(book);
    sizes::look(book);
    suction::look_at_layout(book);
    relief::look_at_layout(book);
    waiting::look_at_house(book);
    spread::look_at_drainage(book);
    spread::look_at_filters(book);
    let Some(mut rest) = AtRest::of(garden) else {
        book.add(Finding::of_whole(&catalog::whole::NO_STATIC_STATE));
        return Vec::new();
    };
    switch::look_at_rest(book, &rest);
    start::look_at_rest(book, &rest);
    relief::look_at_rest(book, &mut rest);
    inlets::look_at_rest(book, &rest);
    waiting::look(book, &rest);
    ratings::look_at_boosters(book, &mut rest);
    ratings::at_rest(book, &rest)
}
