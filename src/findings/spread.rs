//! Zones as a whole: how far working pressures lie apart, what drains when a valve closes, filters upstream of small passages.

use super::catalog::zone as say;
use super::finding::{Book, pressure, volume};
use super::limits::{AT_LIMIT, DRAINAGE_HEIGHT, DRIP_MESH, FILL_TIMES, UNSEEN_M3_PER_S, ZONE_VARIATION};
use super::phrase::Value;
use crate::garden::Garden;
use crate::garden::walk::{Way, first_of, reached, reached_from, rises};
use crate::hydraulics::Solution;
use crate::laws::section::area_m2;
use crate::operation::{Log, time_in_words};
use crate::parts::{Id, Placing};
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
            let valve = valves.iter().find(|&&valve| solution.open[valve]).map(|&valve| garden.name(valve));
            let finding = book.about(&say::ZONE_VARIATION_HIGH, low).with("least", pressure(least_pa)).with_some("zone", valve);
            let finding = finding.with("highest", book.title(high)).with("most_pressure", pressure(most_pa));
            book.add(finding.with("percent", Value::percent(apart)).with("most", Value::percent(limit)));
        }
    }
}

/// What drains through the lowest head downstream of each valve.
pub(super) fn look_at_drainage(book: &mut Book) {
    for valve in book.garden.valves() {
        if let Some(Drainage { head: Some(head), volume_m3 }) = Drainage::of(book.garden, valve) {
            let finding = book.about(&say::LOW_HEAD_DRAINAGE, head).with("valve", book.title(valve));
            book.add(finding.with("volume", volume(volume_m3)));
        }
    }
}

/// Water of a lateral that drains when its valve closes.
struct Drainage {
    /// The lowest head; none where a drain valve empties the lateral, as it is meant to.
    head: Option<usize>,
    volume_m3: f64,
}

impl Drainage {
    /// Of the lines downstream of a valve; none where the lowest head is not far enough below the highest point.
    fn of(garden: &Garden, valve: usize) -> Option<Drainage> {
        let places = &garden.layout().places;
        let start = places[valve].to;
        let passes = |place: usize| !garden.spec(place).traits.opens;
        let heights = rises(garden, start, |place, _| passes(place).then(|| garden.parts()[place].rise_m()));
        let at = |node: usize| heights[node];
        let held = |line: usize| Some(area_m2(garden.parts()[line].si(Id::Diameter)?) * garden.parts()[line].si(Id::Length)?);
        let lines = || garden.of_spec(|spec| spec.is_line()).filter(|&line| at(places[line].from).is_some());
        if garden.of_spec(|spec| spec.traits.drains).any(|drain| at(places[drain].from).is_some()) {
            return Some(Drainage { head: None, volume_m3: lines().filter_map(held).sum() });
        }
        let heads = garden.of_spec(|spec| spec.throws()).filter_map(|head| Some((head, at(places[head].from)?)));
        let (head, low_m) = heads.min_by(|one, other| one.1.total_cmp(&other.1))?;
        // Against the flow to the head: what stands there can run down to it, unless a one-way part turned the other way holds it.
        let comes = |place: usize, way: Way| passes(place) && (way == Way::Up || !garden.spec(place).is_one_way());
        let draining = reached(garden, places[head].from, comes);
        let above = |node: usize| at(node).filter(|_| draining[node]).map(|height_m| height_m - low_m);
        let highest_m = (0..draining.len()).filter_map(above).fold(0.0, f64::max);
        if highest_m <= DRAINAGE_HEIGHT.of(garden) * (1.0 + AT_LIMIT) {
            return None;
        }
        let stands =
            |line: &usize| [places[*line].from, places[*line].to].into_iter().filter_map(above).any(|above_m| above_m > AT_LIMIT);
        let volume_m3: f64 = lines().filter(|line| draining[places[*line].from]).filter(stands).filter_map(held).sum();
        (volume_m3 > 0.0).then_some(Drainage { head: Some(head), volume_m3 })
    }
}

/// Runs that are short against the filling of a lateral that drains.
pub(super) fn look_at_log(book: &mut Book, log: &Log) {
    let Ok(intervals) = log.schedule.intervals(log.duration_s()) else { return };
    for valve in log.garden.valves() {
        let name = log.garden.name(valve);
        let runs = intervals.iter().filter(|interval| interval.name == name);
        let lasting: Vec<f64> =
            runs.map(|run| run.to_s.min(log.duration_s()) - run.from_s).filter(|&run_s| run_s > 0.0).collect();
        let (open_s, Some(shortest_s)) = (lasting.iter().sum::<f64>(), lasting.iter().copied().reduce(f64::min)) else {
            continue;
        };
        let (Some(water_m3), Some(drainage)) = (log.water_m3(valve), Drainage::of(&log.garden, valve)) else { continue };
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
