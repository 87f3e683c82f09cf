//! What stands upstream of a booster: a tank that runs empty or lies too low, a main without a cut-off, a line into which air leaks.

use super::catalog::pump as say;
use super::finding::{Book, pressure};
use super::limits::{AT_LIMIT, LOW_SUCTION, UNSEEN_M3_PER_S};
use crate::garden::Garden;
use crate::garden::walk::{Way, reached, rises};
use crate::hydraulics::Solution;
use crate::parts::{Id, Spec};
use crate::quantity::{Quantity, dim};

/// Layout alone.
pub(super) fn look_at_layout(book: &mut Book) {
    book.garden.boosters().for_each(|booster| look_at_sources(book, booster));
}

fn look_at_sources(book: &mut Book, booster: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let upstream = reached(garden, places[booster].from, |place, way| way == Way::Up && place != booster);
    let feeds = |source: &usize| upstream[places[*source].to];
    let cut_off = garden.parts()[booster].quantity(Id::DryRunCutoff);
    let Some(tank) = garden.of_spec(Spec::is_tank).find(feeds) else {
        let least_pa = LOW_SUCTION.of(garden);
        let is_enough = cut_off.is_some_and(|cut_off| cut_off.si >= least_pa * (1.0 - AT_LIMIT));
        if garden.supplies().any(|supply| feeds(&supply)) && !is_enough {
            let finding = book.about(&say::NO_LOW_SUCTION_CUTOFF, booster).with_some("set", cut_off);
            book.add(finding.with("limit", LOW_SUCTION.limit(garden)));
        }
        return;
    };
    let runs_empty = [Id::Volume, Id::Inflow].iter().any(|&id| garden.parts()[tank].si(id).is_some());
    if runs_empty && cut_off.is_none() {
        book.add(book.about(&say::WOULD_RUN_DRY, booster).with("tank", book.title(tank)));
    }
    look_at_prime(book, booster, tank);
}

/// A booster above the water from which nothing keeps the water of the suction line.
fn look_at_prime(book: &mut Book, booster: usize, tank: usize) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let open = reached(garden, places[booster].from, |place, way| {
        way == Way::Up && place != booster && !garden.spec(place).is_one_way()
    });
    if !open[places[tank].to] {
        return;
    }
    let rise = |place: usize, way: Way| (way == Way::Up && place != booster).then(|| garden.parts()[place].rise_m());
    let Some(outlet_m) = rises(garden, places[booster].from, rise)[places[tank].to] else { return };
    let height_m = -outlet_m - garden.parts()[tank].si(Id::Level).unwrap_or(0.0);
    if height_m > AT_LIMIT {
        let finding = book.about(&say::LOSES_PRIME, booster).with("tank", book.title(tank));
        book.add(finding.with("height", Quantity::new(height_m, dim::LENGTH)));
    }
}

/// True when a public tap feeds the booster through open parts.
pub(super) fn fed_by_tap(solution: &Solution, booster: usize) -> bool {
    let garden = &solution.garden;
    let places = &garden.layout().places;
    let nodes = reached(garden, places[booster].from, |place, _| place != booster && solution.open[place]);
    garden.supplies().any(|supply| nodes[places[supply].to])
}

/// The lines through which boosters that run pull water out of tanks, and which are below atmospheric pressure for that.
pub(super) fn suction_lines(solution: &Solution) -> Vec<usize> {
    let garden = &solution.garden;
    let places = &garden.layout().places;
    let mut found = Vec::new();
    for booster in garden.boosters() {
        let state = &solution.parts[booster];
        let pulls = solution.runs[booster] && state.flow_m3_per_s > UNSEEN_M3_PER_S;
        if !pulls || state.pressure_in_pa.is_none_or(|inlet_pa| inlet_pa >= 0.0) || fed_by_tap(solution, booster) {
            continue;
        }
        let upstream = reached(garden, places[booster].from, |place, way| {
            way == Way::Up && place != booster && solution.open[place] && !garden.spec(place).traits.pumps
        });
        let pulls_through = |place: &usize| {
            let is_upstream = garden.spec(*place).is_line() && upstream[places[*place].to];
            is_upstream && lowest_pa(solution, *place) < 0.0 && !found.contains(place)
        };
        let lines: Vec<usize> = (0..garden.parts().len()).filter(pulls_through).collect();
        found.extend(lines);
    }
    found
}

fn lowest_pa(solution: &Solution, place: usize) -> f64 {
    let state = &solution.parts[place];
    [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten().fold(0.0, f64::min)
}

/// Reports these lines.
pub(super) fn report_lines(book: &mut Book, solution: &Solution, lines: &[usize]) {
    for &place in lines {
        book.add(book.about(&say::SUCTION_LEAK, place).with("lowest", pressure(lowest_pa(solution, place))));
    }
}

/// True where one of these lines leads to a booster.
pub(super) fn lead_to(garden: &Garden, booster: usize, lines: &[usize]) -> bool {
    let places = &garden.layout().places;
    let upstream = reached(garden, places[booster].from, |place, way| way == Way::Up && place != booster);
    lines.iter().any(|&line| upstream[places[line].to])
}
