//! Heads that share a valve: whether they reach each other, and whether they put down water at the same rate.

use super::catalog::coverage as say;
use super::finding::Book;
use super::limits::{REACH, UNMATCHED, UNSEEN_M3_PER_S};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::parts::{Id, Spec};
use crate::quantity::{Quantity, dim};
use std::collections::BTreeMap;
use std::f64::consts::PI;

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let runs = |place: usize| solution.parts[place].flow_m3_per_s > UNSEEN_M3_PER_S;
    let zones = zones(book.garden, runs);
    let placed = by_x(book.garden);
    for parts in zones.values() {
        let heads: Vec<Head> = parts.iter().filter_map(|&place| Head::of(solution, place)).collect();
        look_at_spacing(book, &heads, &placed);
        look_at_rates(book, &heads);
        let drip = parts.iter().find(|&&place| book.garden.spec(place).traits.drips);
        let head = parts.iter().find(|&&place| book.garden.spec(place).throws());
        if let (Some(&drip), Some(&head)) = (drip, head) {
            let drip = book.title(drip);
            book.add(book.about(&say::UNMATCHED_WITH_DRIP, head).with("drip", drip));
        }
    }
}

/// Running parts that water, by the zone that no valve divides.
fn zones(garden: &Garden, runs: impl Fn(usize) -> bool) -> BTreeMap<usize, Vec<usize>> {
    let layout = garden.layout();
    let mut zone_of = vec![usize::MAX; layout.number_of_nodes];
    let mut walk = garden.walk();
    let mut zones: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for place in garden.of_spec(|spec| spec.traits.waters).filter(|&place| runs(place)) {
        let node = layout.places[place].to;
        if zone_of[node] == usize::MAX {
            let zone = zones.len();
            zone_of[node] = zone;
            let passed = walk.from([node], |passage| (!garden.spec(passage.place).traits.opens).then_some(()));
            passed.for_each(|(passage, ())| zone_of[passage.to] = zone);
        }
        zones.entry(zone_of[node]).or_default().push(place);
    }
    zones
}

/// A running head.
struct Head {
    place: usize,
    at_m: Option<(f64, f64)>,
    throw_m: Option<f64>,
    rate_m_per_s: Option<f64>,
}

impl Head {
    fn of(solution: &Solution, place: usize) -> Option<Head> {
        let part = &solution.garden.parts()[place];
        if !part.spec().throws() {
            return None;
        }
        let throw_m = solution.parts[place].pressure_out_pa.and_then(|pressure_pa| part.throw_m(pressure_pa));
        let ground_m2 = throw_m.map(|throw_m| PI * throw_m * throw_m * part.si(Id::Arc).unwrap_or(360.0) / 360.0);
        let rate_m_per_s = ground_m2.filter(|ground| *ground > 0.0).map(|ground| solution.parts[place].flow_m3_per_s / ground);
        Some(Head { place, at_m: place_of(&solution.garden, place), throw_m, rate_m_per_s })
    }
}

fn place_of(garden: &Garden, place: usize) -> Option<(f64, f64)> {
    let part = &garden.parts()[place];
    part.si(Id::X).zip(part.si(Id::Y))
}

/// All heads with a place, also those that are off, from left to right.
fn by_x(garden: &Garden) -> Vec<((f64, f64), usize)> {
    let heads = garden.of_spec(Spec::throws);
    let mut placed: Vec<_> = heads.filter_map(|place| Some((place_of(garden, place)?, place))).collect();
    placed.sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
    placed
}

/// The distance to the nearest other head, m, and that head.
fn nearest(placed: &[((f64, f64), usize)], (x_m, y_m): (f64, f64), own: usize) -> Option<(f64, usize)> {
    let middle = placed.partition_point(|(at, _)| at.0 < x_m);
    let mut best: Option<(f64, usize)> = None;
    let mut take = |&((other_x, other_y), place): &((f64, f64), usize)| -> bool {
        let apart_m = (other_x - x_m).hypot(other_y - y_m);
        if place != own && best.is_none_or(|(least_m, _)| apart_m < least_m) {
            best = Some((apart_m, place));
        }
        // Those further on are no nearer.
        best.is_none_or(|(least_m, _)| (other_x - x_m).abs() <= least_m)
    };
    let _ = placed[middle..].iter().all(&mut take);
    let _ = placed[..middle].iter().rev().all(&mut take);
    best
}

/// Heads of a zone whose nearest neighbor is beyond their throw. Where two do not meet at all they are taken to water different beds.
fn look_at_spacing(book: &mut Book, heads: &[Head], placed: &[((f64, f64), usize)]) {
    if heads.len() < 2 {
        return;
    }
    let mut told: Vec<[usize; 2]> = Vec::new();
    for head in heads {
        let (Some(at_m), Some(throw_m)) = (head.at_m, head.throw_m) else { continue };
        let Some((apart_m, neighbor)) = nearest(placed, at_m, head.place) else { continue };
        let its_throw_m = heads.iter().find(|other| other.place == neighbor).and_then(|other| other.throw_m).unwrap_or(throw_m);
        // Two that are each other's nearest are one finding.
        let is_told = told.contains(&[neighbor, head.place]);
        if throw_m < REACH.of(book.garden) * apart_m && apart_m <= throw_m + its_throw_m && !is_told {
            told.push([head.place, neighbor]);
            let length = |length_m: f64| book.garden.units().quantity(length_m, dim::LENGTH);
            let finding = book.about(&say::SPACING, head.place).with("neighbor", book.garden.name(neighbor));
            book.add(finding.with("apart", length(apart_m)).with("throw", length(throw_m)));
        }
    }
}

/// Heads of a zone whose rates differ.
fn look_at_rates(book: &mut Book, heads: &[Head]) {
    let rates = || heads.iter().filter_map(|head| Some((head.rate_m_per_s?, head.place)));
    let mean = rates().map(|rate| rate.0).sum::<f64>() / rates().count().max(1) as f64;
    let by_rate = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0);
    let (Some((least, slow)), Some((most, fast))) = (rates().min_by(by_rate), rates().max_by(by_rate)) else { return };
    if most - least > UNMATCHED.of(book.garden) * mean {
        let preference = book.garden.units().preference_of("in/h");
        let rate = |si: f64| Quantity { preference, ..Quantity::new(si, dim::SPEED) };
        let finding = book.about(&say::UNMATCHED, slow).with("other", book.garden.name(fast));
        book.add(finding.with("least", rate(least)).with("most", rate(most)));
    }
}
