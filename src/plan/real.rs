//! The plan to scale: what has a place given by `.at` stands there, the rest is put between.
//!
//! Where the places of the ends of hoses are not known they are put so that every line pulls them evenly, short ones
//! harder (the mean of the neighbors, weighted by one over length). Such runs are a sketch, and the plan says so.

use super::numbers::Numbers;
use super::view::View;
use crate::coverage::{middle_of_arc_deg, middle_of_zone_m};
use crate::figure::{Activity, Ground, Map, Route, Seat, Symbol, Throw};
use crate::garden::Garden;
use crate::parts::{Id, Part, Placing};
use crate::quantity::FOOT_M;
use crate::quantity::{dim, find_unit};

/// Rounds of averaging; the networks are small.
const ROUNDS: usize = 4000;
/// Share of the width of the ground that a thing without a length of its own takes along its line.
const LEAST_SHARE: f64 = 0.09;

/// What circles show on a plan in calm air.
pub(super) const CIRCLES: &str = "circles show the rated throw";

/// True when at least two parts have a place.
pub(super) fn has_places(garden: &Garden) -> bool {
    garden.parts().iter().filter(|part| place_of(part).is_some()).count() >= 2
}

fn place_of(part: &Part) -> Option<(f64, f64)> {
    part.si(Id::X).zip(part.si(Id::Y))
}

/// Points of the sketch: the nodes of the garden, then one for each part that sits at a node but stands elsewhere.
struct Sketch {
    at: Vec<Option<(f64, f64)>>,
    /// Pairs of points and the length between them.
    lines: Vec<(usize, usize, f64)>,
    /// The point of each part that sits at a node.
    own: Vec<Option<usize>>,
    /// Length of things that have none, m.
    least_m: f64,
    /// Middle of what has a place.
    middle: (f64, f64),
}

pub(super) fn lay_out(view: &View, numbers: &Numbers) -> Map {
    let sketch = Sketch::of(view);
    let at = sketch.settled();
    let layout = view.garden.layout();
    let per_unit = view.shown(1.0, dim::LENGTH);
    let (unit, per_unit) = length_unit(view, per_unit);
    let shown = |(x, y): (f64, f64)| (x * per_unit, y * per_unit);
    let ground = Ground::Real { unit };
    let mut map = Map::empty(ground);
    let mut meeting = vec![0; at.len()];
    for place in 0..layout.places.len() {
        let joint = &layout.places[place];
        let (from, to) = match sketch.own[place] {
            Some(own) => (joint.to, own),
            None => (joint.from, joint.to),
        };
        let (start, end) = (shown(at[from]), shown(at[to]));
        if from != to {
            meeting[from] += 1;
            meeting[to] += 1;
            map.routes.push(Route { points: vec![start, end], width: view.thickness(place), water: view.water(place) });
        }
        let shape = view.garden.spec(place).symbol;
        let inline = view.placing(place) == Placing::Inline;
        let middle = (0.5 * (start.0 + end.0), 0.5 * (start.1 + end.1));
        let (lines, label) = numbers.told(view, place, &map.ground);
        let toward = (end.0 - start.0, end.1 - start.1);
        let (place_on_map, seat) = if inline { (middle, Seat::OnLine) } else { (end, Seat::AtEnd) };
        map.symbols.push(Symbol { shape, at: place_on_map, toward, seat, active: view.activity(place), lines, label });
        map.throws.extend(throw(view, place, end, sketch.middle, per_unit));
    }
    map.tees = (0..layout.number_of_nodes).filter(|node| meeting[*node] > 2).map(|node| shown(at[node])).collect();
    map.notes = notes(view, &map);
    map
}

/// Feet or meters, and how many of them a meter has.
fn length_unit(view: &View, per_metre: f64) -> (String, f64) {
    let first = view.garden.parts().iter().find_map(|part| part.get(Id::X).ok());
    let written = first.and_then(|x| x.preference.unit()).map(|unit| unit.symbol);
    let metric = match view.system {
        crate::quantity::UnitSystem::Metric => true,
        crate::quantity::UnitSystem::Us => false,
        crate::quantity::UnitSystem::AsWritten | crate::quantity::UnitSystem::AsWrittenMetric => {
            written.map_or((per_metre - 1.0).abs() < 1e-9, |unit| !["ft", "in", "yd"].contains(&unit))
        }
    };
    let symbol = if metric { "m" } else { "ft" };
    (symbol.into(), find_unit(symbol).map_or(1.0, |_| if metric { 1.0 } else { 1.0 / FOOT_M }))
}

fn throw(view: &View, place: usize, center: (f64, f64), middle_m: (f64, f64), per_unit: f64) -> Option<Throw> {
    let part = &view.garden.parts()[place];
    if !part.spec().throws() {
        return None;
    }
    let radius = part.si(Id::Radius)? * per_unit;
    let arc_deg = part.si(Id::Arc).unwrap_or(360.0);
    let middle_m = middle_of_zone_m(view.garden, place).unwrap_or(middle_m);
    let middle_deg = middle_of_arc_deg(part, (center.0 / per_unit, center.1 / per_unit), middle_m);
    let active = match view.solution {
        None => Activity::Active,
        Some(solution) => {
            let pressure = solution.parts[place].pressure_out_pa.unwrap_or(0.0);
            let well = pressure > part.si(Id::RangeLow).unwrap_or(0.0) && solution.parts[place].flow_m3_per_s > 0.0;
            if well { Activity::Active } else { Activity::Idle }
        }
    };
    Some(Throw { center, radius, middle_deg, arc_deg, active })
}

fn notes(view: &View, map: &Map) -> Vec<String> {
    let mut notes = vec!["hoses are drawn straight; only what was given a place by .at stands where it is drawn".to_string()];
    if !map.throws.is_empty() {
        let dashed = if map.throws.iter().any(|throw| throw.active == Activity::Idle) {
            ", dashed where the head is dry or stalls"
        } else {
            ""
        };
        notes.push(format!("{CIRCLES}{dashed}"));
    }
    let guessed = |part: &Part| part.si(Id::Arc).is_some_and(|arc_deg| arc_deg < 360.0) && part.si(Id::Facing).is_none();
    if map.throws.iter().any(|throw| throw.arc_deg < 360.0) && view.garden.parts().iter().any(|part| guessed(part)) {
        notes.push("sectors without a facing point to the middle of the heads, quarter and half circles along the axes".into());
    }
    if view.all(Placing::Source).any(|place| place_of(&view.garden.parts()[place]).is_none()) {
        notes.push("the place of the supply was not given".into());
    }
    notes
}

impl Sketch {
    fn of(view: &View) -> Sketch {
        let layout = view.garden.layout();
        let parts = view.garden.parts();
        let given: Vec<(f64, f64)> = parts.iter().filter_map(|part| place_of(part)).collect();
        let count = given.len() as f64;
        let middle = (given.iter().map(|at| at.0).sum::<f64>() / count, given.iter().map(|at| at.1).sum::<f64>() / count);
        let ends = |value: &dyn Fn(&(f64, f64)) -> f64| {
            let values = || given.iter().map(value);
            (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
        };
        let ((left, right), (bottom, top)) = (ends(&|at| at.0), ends(&|at| at.1));
        let throw_m = parts.iter().filter_map(|part| part.si(Id::Radius)).fold(0.0, f64::max);
        let extent = (right - left).max(top - bottom).max(1e-3) + throw_m;
        let least_m = LEAST_SHARE * extent;
        let mut sketch = Sketch {
            at: vec![None; layout.number_of_nodes],
            lines: Vec::new(),
            own: vec![None; layout.places.len()],
            least_m,
            middle,
        };
        let mut sources = 0;
        for (place, part) in parts.iter().enumerate() {
            let joint = &layout.places[place];
            let given = place_of(part);
            match part.spec().placing {
                Placing::Inline => {
                    let length = part.si(Id::Length).unwrap_or(0.0).max(least_m);
                    sketch.lines.push((joint.from, joint.to, length));
                    if given.is_some() && sketch.at[joint.to].is_none() {
                        sketch.at[joint.to] = given;
                    }
                }
                Placing::Source => {
                    let side = if sources % 2 == 0 { left - 0.25 * extent } else { right + 0.25 * extent };
                    sources += 1;
                    sketch.at[joint.to] = given.or(sketch.at[joint.to]).or(Some((side, bottom + 0.1 * (top - bottom))));
                }
                Placing::Outlet | Placing::AtPoint => {
                    sketch.at.push(given);
                    let own = sketch.at.len() - 1;
                    sketch.own[place] = Some(own);
                    sketch.lines.push((joint.to, own, 0.5 * least_m));
                }
            }
        }
        sketch.seat_ends(view);
        sketch
    }

    /// A head alone at the end of its line stands on the end itself.
    fn seat_ends(&mut self, view: &View) {
        let layout = view.garden.layout();
        for node in 0..layout.number_of_nodes {
            let here: Vec<usize> =
                (0..layout.places.len()).filter(|place| self.own[*place].is_some() && layout.places[*place].to == node).collect();
            let n_inline = view
                .all(Placing::Inline)
                .filter(|place| layout.places[*place].from == node || layout.places[*place].to == node)
                .count();
            let [only] = here[..] else { continue };
            let goes_on = n_inline > 1 && place_of(&view.garden.parts()[only]).is_none();
            if goes_on || self.at[node].is_some() {
                continue;
            }
            if let Some(own) = self.own[only] {
                self.at[node] = self.at[own];
                self.lines.retain(|line| line.1 != own);
                self.own[only] = None;
            }
        }
    }

    /// Places of all points.
    fn settled(&self) -> Vec<(f64, f64)> {
        let mut neighbors: Vec<Vec<(usize, f64)>> = vec![Vec::new(); self.at.len()];
        for &(from, to, length) in self.lines.iter().filter(|line| line.0 != line.1) {
            neighbors[from].push((to, length));
            neighbors[to].push((from, length));
        }
        // Loose ends pull nothing: they are taken off first and laid outward at the end.
        let mut loose = vec![false; self.at.len()];
        let mut taken = Vec::new();
        while let Some(end) = (0..self.at.len()).find(|&point| {
            !loose[point] && self.at[point].is_none() && neighbors[point].iter().filter(|(other, _)| !loose[*other]).count() <= 1
        }) {
            loose[end] = true;
            taken.push(end);
        }
        let mut at: Vec<(f64, f64)> = self.at.iter().map(|at| at.unwrap_or(self.middle)).collect();
        for _ in 0..ROUNDS {
            let mut moved = 0.0_f64;
            for point in (0..at.len()).filter(|&point| self.at[point].is_none() && !loose[point]) {
                let (mut sum, mut weight) = ((0.0, 0.0), 0.0);
                for (other, length) in neighbors[point].iter().filter(|(other, _)| !loose[*other]) {
                    sum = (sum.0 + at[*other].0 / length, sum.1 + at[*other].1 / length);
                    weight += 1.0 / length;
                }
                let next = (sum.0 / weight, sum.1 / weight);
                moved = moved.max((next.0 - at[point].0).hypot(next.1 - at[point].1));
                at[point] = next;
            }
            if moved < 1e-5 * self.least_m {
                break;
            }
        }
        let mut fan = vec![0; at.len()];
        for end in taken.into_iter().rev() {
            let Some(&(base, length)) = neighbors[end].iter().find(|(other, _)| !loose[*other]) else { continue };
            at[end] = self.outward(&at, &neighbors[base], &loose, base, length.min(3.0 * self.least_m), fan[base]);
            fan[base] += 1;
            loose[end] = false;
        }
        at
    }

    /// A place beside `base`, across the lines that meet there, the next ones further round.
    fn outward(
        &self,
        at: &[(f64, f64)],
        around: &[(usize, f64)],
        loose: &[bool],
        base: usize,
        length: f64,
        nth: usize,
    ) -> (f64, f64) {
        let angles: Vec<f64> = around
            .iter()
            .filter(|(other, _)| !loose[*other])
            .map(|(other, _)| (at[*other].1 - at[base].1).atan2(at[*other].0 - at[base].0))
            .collect();
        // Of twelve directions the one furthest from all lines there; the count breaks ties.
        let apart = |angle: f64| {
            let gap = |other: &f64| (angle - other).sin().atan2((angle - other).cos()).abs();
            angles.iter().map(gap).fold(f64::INFINITY, f64::min)
        };
        let directions =
            (0..12).map(|step| -std::f64::consts::FRAC_PI_2 + f64::from(step + nth as i32) * std::f64::consts::TAU / 12.0);
        let best = directions.max_by(|a, b| apart(*a).min(1.6).total_cmp(&apart(*b).min(1.6))).unwrap_or(0.0);
        (at[base].0 + length * best.cos(), at[base].1 + length * best.sin())
    }
}
