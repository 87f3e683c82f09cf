//! Zones as a whole: how far working pressures lie apart, what drains when a valve closes, filters upstream of small passages.

use super::catalog::zone as say;
use super::finding::{Book, pressure, volume};
use super::limits::{AT_LIMIT, DRAINAGE_HEIGHT, DRIP_MESH, FILL_TIMES, UNSEEN_M3_PER_S, ZONE_VARIATION};
use super::phrase::Value;
use crate::garden::walk::{Way, first_of, reached, reached_from, rises};
use crate::garden::{Garden, Sections};
use crate::hydraulics::Solution;
use crate::laws::section::area_m2;
use crate::operation::{Log, time_in_words};
use crate::parts::{Id, Placing};
use crate::quantity::dim;
use std::collections::BTreeMap;

/// An exponent below which an outlet compensates for pressure.
const COMPENSATES_BELOW: f64 = 0.3;

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let garden = &solution.garden;
    let zones = garden.zones_of_places();
    let mut groups = BTreeMap::<(&[usize], bool), Vec<(usize, f64)>>::new();
    for place in garden.of_spec(|spec| spec.traits.waters && !spec.is_long()) {
        let (state, part) = (&solution.parts[place], &garden.parts()[place]);
        let keeps =
            part.si(Id::Regulated).is_some() || part.si(Id::Exponent).is_some_and(|exponent| exponent < COMPENSATES_BELOW);
        if let Some(pressure_pa) = state.pressure_out_pa.filter(|_| state.flow_m3_per_s > UNSEEN_M3_PER_S && !keeps) {
            groups.entry((&zones[place], part.spec().throws())).or_default().push((place, pressure_pa));
        }
    }
    for ((valves, _), heads) in groups {
        let least = heads.iter().copied().reduce(|one, other| if other.1 < one.1 { other } else { one });
        let most = heads.iter().copied().reduce(|one, other| if other.1 > one.1 { other } else { one });
        let (Some((low, least_pa)), Some((high, most_pa))) = (least, most) else { continue };
        let mean_pa = heads.iter().map(|(_, pressure_pa)| pressure_pa).sum::<f64>() / heads.len() as f64;
        let limit = ZONE_VARIATION.of(garden);
        let apart = (most_pa - least_pa) / mean_pa;
        if apart > limit {
            let valve = open_zone(solution, valves, low).map(|valve| garden.name(valve));
            let finding = book.about(&say::ZONE_VARIATION_HIGH, low).with("least", pressure(least_pa)).with_some("zone", valve);
            let finding = finding.with("highest", book.title(high)).with("most_pressure", pressure(most_pa));
            book.add(finding.with("percent", Value::percent(apart)).with("most", Value::percent(limit)));
        }
    }
}

/// The open valve through which water comes to a place: of the zones it belongs to, or one that lets water in against its own direction.
fn open_zone(solution: &Solution, valves: &[usize], place: usize) -> Option<usize> {
    let (garden, is_open) = (&solution.garden, |valve: &usize| solution.open[*valve]);
    if valves.is_empty() {
        return None;
    }
    valves.iter().copied().find(is_open).or_else(|| {
        let (sections, places) = (Sections::of(garden), &garden.layout().places);
        let section = |node: usize| sections.of_node(node);
        let mut open = garden.valves().filter(is_open);
        open.find(|&valve| section(places[valve].from) == section(places[place].to))
    })
}

/// What drains through the lowest head downstream of each valve.
pub(super) fn look_at_drainage(book: &mut Book) {
    let sections = Sections::of(book.garden);
    for valve in book.garden.valves() {
        if let Some(Drainage { head: Some((head, height_m)), volume_m3 }) = Drainage::of(book.garden, &sections, valve) {
            let finding = book.about(&say::LOW_HEAD_DRAINAGE, head).with("valve", book.title(valve));
            let height = book.garden.quantity(height_m, dim::LENGTH);
            book.add(finding.with("volume", volume(volume_m3)).with("height", height));
        }
    }
}

/// Water of a lateral that drains when its valve closes.
struct Drainage {
    /// The lowest head that drains, with the height of the water above it, m; none where a drain valve empties the lateral, as it is meant to.
    head: Option<(usize, f64)>,
    volume_m3: f64,
}

impl Drainage {
    /// Of the lines downstream of a valve; none where no head is far enough below the highest point, or where their own check valves hold
    /// the water.
    fn of(whole: &Garden, sections: &Sections, valve: usize) -> Option<Drainage> {
        let start = whole.layout().places[valve].to;
        let lateral = sections.around(start);
        let found = Drainage::of_lateral(&lateral.garden(whole), lateral.node(start)?)?;
        Some(Drainage { head: found.head.map(|(head, height_m)| (lateral.whole(head), height_m)), ..found })
    }

    /// The same of a lateral by itself, from where its valve lets water in.
    fn of_lateral(garden: &Garden, start: usize) -> Option<Drainage> {
        let places = &garden.layout().places;
        let passes = |place: usize| !garden.spec(place).traits.opens;
        let heights = rises(garden, start, |place, _| passes(place).then(|| garden.parts()[place].rise_m()));
        let at = |node: usize| heights[node];
        let held = |line: usize| Some(area_m2(garden.parts()[line].si(Id::Diameter)?) * garden.parts()[line].si(Id::Length)?);
        let lines = || garden.of_spec(|spec| spec.is_line()).filter(|&line| at(places[line].from).is_some());
        if garden.of_spec(|spec| spec.traits.drains).any(|drain| at(places[drain].from).is_some()) {
            return Some(Drainage { head: None, volume_m3: lines().filter_map(held).sum() });
        }
        let heads = garden.of_spec(|spec| spec.throws()).filter_map(|head| Some((head, at(places[head].from)?)));
        let mut heads: Vec<(usize, f64)> = heads.collect();
        heads.sort_by(|one, other| one.1.total_cmp(&other.1));
        heads.into_iter().find_map(|(head, low_m)| {
            // Against the flow to the head: what stands there can run down to it, unless a one-way part turned the other way holds it.
            let comes = |place: usize, way: Way| passes(place) && (way == Way::Up || !garden.spec(place).is_one_way());
            let draining = reached(garden, places[head].from, comes);
            let above = |node: usize| at(node).filter(|_| draining[node]).map(|height_m| height_m - low_m);
            let own_m = garden.parts()[head].si(Id::CheckHeight).unwrap_or(0.0);
            let held_back_m = DRAINAGE_HEIGHT.of(garden).max(own_m);
            let highest_m = (0..draining.len()).filter_map(above).fold(0.0, f64::max);
            if highest_m <= held_back_m * (1.0 + AT_LIMIT) {
                return None;
            }
            let stands = |line: &usize| {
                [places[*line].from, places[*line].to].into_iter().filter_map(above).any(|above_m| above_m > AT_LIMIT)
            };
            let volume_m3: f64 = lines().filter(|line| draining[places[*line].from]).filter(stands).filter_map(held).sum();
            (volume_m3 > 0.0).then_some(Drainage { head: Some((head, highest_m)), volume_m3 })
        })
    }
}

/// Runs that are short against the filling of a lateral that drains.
pub(super) fn look_at_log(book: &mut Book, log: &Log) {
    let Ok(intervals) = log.schedule.intervals(log.duration_s()) else { return };
    let sections = Sections::of(&log.garden);
    // How long each is open in all, and the shortest time at once.
    let mut open = BTreeMap::<&str, (f64, f64)>::new();
    for run in &intervals {
        let run_s = run.to_s.min(log.duration_s()) - run.from_s;
        if run_s > 0.0 {
            let (open_s, shortest_s) = open.entry(run.name.as_str()).or_insert((0.0, f64::INFINITY));
            (*open_s, *shortest_s) = (*open_s + run_s, shortest_s.min(run_s));
        }
    }
    for valve in log.garden.valves() {
        let Some(&(open_s, shortest_s)) = open.get(log.garden.name(valve)) else { continue };
        let (Some(water_m3), Some(drainage)) = (log.water_m3(valve), Drainage::of(&log.garden, &sections, valve)) else {
            continue;
        };
        let fill_s = drainage.volume_m3 / (water_m3 / open_s);
        if water_m3 > 0.0 && shortest_s < FILL_TIMES.of(&log.garden) * fill_s {
            let finding = book.about(&say::TOO_SHORT, valve).with("volume", volume(drainage.volume_m3));
            book.add(finding.with("fill", time_in_words(fill_s)).with("run", time_in_words(shortest_s)));
        }
    }
}

/// Drip parts that unfiltered water reaches.
pub(super) fn look_at_filters(book: &mut Book) {
    let garden = book.garden;
    let places = &garden.layout().places;
    let sources: Vec<usize> = garden.of_spec(|spec| spec.placing == Placing::Source).collect();
    let drips: Vec<usize> = garden.of_spec(|spec| spec.traits.drips).collect();
    if drips.is_empty() {
        return;
    }
    let is_fine = |filter: usize| garden.parts()[filter].si(Id::Mesh).is_none_or(|mesh| mesh >= DRIP_MESH.of(garden));
    for &source in &sources {
        let unfiltered = reached_from(garden, [places[source].to], |place, way| {
            way == Way::Down && !(garden.spec(place).traits.filters && is_fine(place))
        });
        let coarse = first_of(garden, |spec| spec.traits.filters, &unfiltered).filter(|&filter| !is_fine(filter));
        for &drip in drips.iter().filter(|&&drip| unfiltered[places[drip].from]) {
            let spec = garden.spec(drip);
            let entry = if spec.is_long() && !spec.has(Id::Spacing) { &say::SOAKER_NO_FILTER } else { &say::DRIP_NO_FILTER };
            let finding = book.about(entry, drip).with("source", book.title(source));
            book.add(finding.with_some("coarse", coarse.map(|filter| book.title(filter))));
        }
    }
}
