//! The course of a run in one picture: zones, pumps and reliefs as rows, pressures at the switch and in the house, levels of open tanks,
//! and what happened besides.
//!
//! A pump that starts and stops faster than the picture can show is one block with the number of its starts, and the pressures of that
//! time are a band from their lowest to their highest.

use super::Color;
use super::view::View;
use crate::figure::{Axis, Figure, Mark, MarkedAxis, Plot, Ribbon, Series, Span, StripEvent, StripPanel, StripRow, Strips};
use crate::findings::CautionSet;
use crate::hydraulics::SolveError;
use crate::laws::section::pressure_of_head_pa;
use crate::numeric::lowest_and_highest;
use crate::operation::{Event, EventKind, Log, Moment};
use crate::parts::{Id, Kind};
use crate::quantity::{UnitSystem, dim};

const HOUR_S: f64 = 3600.0;
/// Moments between two events, and in all.
const BETWEEN: usize = 6;
const MOST_MOMENTS: usize = 6000;
/// Moments of a block at least.
const LEAST_MOMENTS: usize = 120;
/// Starts nearer to each other than this share of the picture are not drawn one by one, from this number on.
const NEAR: f64 = 0.015;
const MANY: usize = 4;
/// Places along a band of pressures for each block of starts.
const BINS: usize = 24;
/// Colors of the rows, as numbers of series.
const ZONES: usize = 4;
const DEMANDS: usize = 6;
const PUMPS: usize = 7;
const RELIEFS: usize = 5;

/// The figure from one time to another, both in seconds after midnight of the first day. Errors: a state that has no solution.
pub fn timeline_figure(log: &Log, from_s: f64, to_s: f64, system: UnitSystem) -> Result<Figure, SolveError> {
    let garden = &log.garden;
    let view = View { garden, solution: None, color: Color::Pressure, system: system.or_own(garden.units()) };
    let near_s = NEAR * (to_s - from_s);
    let blocks: Vec<(f64, f64)> = log
        .boosters()
        .flat_map(|booster| runs(log, booster, near_s))
        .filter(|span| span.times > 1)
        .map(|span| (span.from, span.to))
        .collect();
    let moments = moments(log, from_s, to_s, &blocks)?;
    let rows = rows(log, near_s).into_iter().map(|row| within(row, from_s, to_s)).filter(|row| !row.spans.is_empty()).collect();
    let mut panels = vec![pressures(&view, &moments, &blocks)];
    panels.extend(levels(&view, &moments));
    panels.retain(|panel| !panel.series.is_empty());
    let events = log.events().filter(|event| (from_s..=to_s).contains(&event.time_s)).filter_map(|event| told(log, &event));
    let strips = Strips { rows, events: events.collect(), panels };
    let x = Axis::new("time").clocks().within(from_s / HOUR_S, to_s / HOUR_S);
    let height = 150 + 21 * strips.rows.len() as u32 + 150 * strips.panels.len() as u32;
    let mut figure = Figure::new(x, Axis::new(""), Plot::Strips(strips)).sized(760, height.max(240));
    figure.remarks = CautionSet::of(garden).in_sentences();
    Ok(figure)
}

/// The states to draw: all that happens outside of the blocks, and of each block as much as makes its band. Errors: a state that has no
/// solution.
fn moments(log: &Log, from_s: f64, to_s: f64, blocks: &[(f64, f64)]) -> Result<Vec<Moment>, SolveError> {
    let mut blocks: Vec<(f64, f64)> =
        blocks.iter().map(|(start, end)| (start.max(from_s), end.min(to_s))).filter(|(start, end)| start < end).collect();
    blocks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let most = (MOST_MOMENTS / (2 * blocks.len() + 1)).max(LEAST_MOMENTS);
    let (mut found, mut at_s) = (Vec::new(), from_s);
    for (start, end) in blocks {
        if start > at_s {
            found.extend(log.trace(at_s, start, BETWEEN, most)?);
        }
        if end > at_s {
            found.extend(log.trace(start.max(at_s), end, BETWEEN, most)?);
            at_s = end;
        }
    }
    if to_s > at_s {
        found.extend(log.trace(at_s, to_s, BETWEEN, most)?);
    }
    Ok(found)
}

/// The row cut to the picture, its times in hours.
fn within(row: StripRow, from_s: f64, to_s: f64) -> StripRow {
    let cut = |span: Span| Span { from: span.from.max(from_s) / HOUR_S, to: span.to.min(to_s) / HOUR_S, ..span };
    let seen = row.spans.into_iter().filter(|span| span.to >= from_s && span.from <= to_s);
    StripRow { spans: seen.map(cut).collect(), ..row }
}

/// Zones in the order of the garden, then demands, pumps and reliefs; times in seconds.
fn rows(log: &Log, near_s: f64) -> Vec<StripRow> {
    let garden = &log.garden;
    let row = |place: usize, spans: Vec<Span>, color: usize| StripRow { name: garden.name(place).into(), spans, color };
    let of_events = |place, on: EventKind, off: EventKind| joined(&on_off(log, place, on, off), near_s);
    let mut rows: Vec<StripRow> = Vec::new();
    rows.extend(garden.valves().map(|place| {
        let spans = on_off(log, place, EventKind::ValveOpens, EventKind::ValveCloses);
        row(place, joined(&spans, near_s), ZONES)
    }));
    rows.extend(
        garden
            .of_spec(|spec| spec.traits.demands)
            .map(|place| row(place, of_events(place, EventKind::DemandStarts, EventKind::DemandStops), DEMANDS)),
    );
    rows.extend(log.boosters().map(|place| row(place, runs(log, place, near_s), PUMPS)));
    rows.extend(
        garden.reliefs().map(|place| row(place, of_events(place, EventKind::ReliefOpens, EventKind::ReliefCloses), RELIEFS)),
    );
    rows
}

fn runs(log: &Log, booster: usize, near_s: f64) -> Vec<Span> {
    let spans: Vec<(f64, f64)> = log.runs(booster).map(|run| (run.from_s, run.to_s.unwrap_or(log.duration_s()))).collect();
    joined(&spans, near_s)
}

/// When a part is on by the events of a run; what is still on at its end is on until then.
fn on_off(log: &Log, place: usize, on: EventKind, off: EventKind) -> Vec<(f64, f64)> {
    let mut spans: Vec<(f64, f64)> = Vec::new();
    let mut since: Option<f64> = None;
    for event in log.events().filter(|event| event.place == place) {
        if event.kind == on {
            since = since.or(Some(event.time_s));
        } else if event.kind == off {
            spans.extend(since.take().map(|from_s| (from_s, event.time_s)));
        }
    }
    spans.extend(since.map(|from_s| (from_s, log.duration_s())));
    spans
}

/// Spans one by one, and those that begin nearer to each other than `near_s` as one with their number.
fn joined(spans: &[(f64, f64)], near_s: f64) -> Vec<Span> {
    let mut joined = Vec::new();
    let is_short = |span: &(f64, f64)| span.1 - span.0 < near_s;
    for group in spans.chunk_by(|one, next| next.0 - one.0 < near_s && is_short(one) && is_short(next)) {
        if group.len() >= MANY {
            joined.push(Span { from: group[0].0, to: group[group.len() - 1].1, times: group.len() });
        } else {
            joined.extend(group.iter().map(|(from, to)| Span { from: *from, to: *to, times: 1 }));
        }
    }
    joined
}

/// What is worth a number on the picture: all that the rows do not show.
fn told(log: &Log, event: &Event) -> Option<StripEvent> {
    let is_told = matches!(
        event.kind,
        EventKind::PumpStopsDry
            | EventKind::BarrelEmpties
            | EventKind::BarrelServes
            | EventKind::FaultBegins
            | EventKind::FaultEnds
            | EventKind::MainRises(_)
            | EventKind::MainFalls(_)
    );
    let label = format!("{} {}", log.garden.name(event.place), event.kind.words());
    is_told.then(|| StripEvent { at: event.time_s / HOUR_S, label })
}

/// Pressures at switches, or tanks where there is none, and in the house.
fn pressures(view: &View<'_>, moments: &[Moment], blocks: &[(f64, f64)]) -> StripPanel {
    let garden = view.garden;
    let mut places: Vec<usize> = garden.switches().collect();
    if places.is_empty() {
        places.extend(garden.of_kind(Kind::PressureTank));
    }
    let houses: Vec<usize> = garden.supplies().collect();
    let several = houses.len() > 1;
    let house_name = |place: usize| if several { format!("house at {}", garden.name(place)) } else { "house".to_string() };
    let named = places.iter().map(|&place| (place, garden.name(place).to_string()));
    let named: Vec<(usize, String)> = named.chain(houses.iter().map(|&place| (place, house_name(place)))).collect();
    let shown = |pa: f64| view.shown(pa, dim::PRESSURE);
    let (mut series, mut ribbons) = (Vec::new(), Vec::new());
    for (index, (place, name)) in named.iter().enumerate() {
        let at = |moment: &Moment| (moment.time_s, Some(moment.pressure_pa[*place]).filter(|pa| pa.is_finite()).map(shown));
        let course: Vec<(f64, Option<f64>)> = moments.iter().map(at).collect();
        let (points, bands) = split(&course, blocks);
        series.push(Series { name: name.clone(), points });
        ribbons.extend(bands.into_iter().map(|points| Ribbon { series: index, points, opacity: 0.45 }));
    }
    let mut marks = Vec::new();
    for place in garden.switches() {
        let part = &garden.parts()[place];
        for (id, label) in [(Id::CutIn, "cut-in"), (Id::CutOut, "cut-out")] {
            marks.extend(part.si(id).map(|pa| Mark { at: shown(pa), axis: MarkedAxis::Y, label: label.into() }));
        }
    }
    StripPanel { axis: Axis::new("pressure").unit(view.unit_text(dim::PRESSURE)), series, ribbons, marks }
}

/// Points of a line, in hours, with a gap at each block, and the band of each block from the lowest to the highest value.
type Split = (Vec<(f64, Option<f64>)>, Vec<Vec<(f64, f64, f64)>>);

fn split(course: &[(f64, Option<f64>)], blocks: &[(f64, f64)]) -> Split {
    let mut points = Vec::with_capacity(course.len());
    let mut bands = Vec::new();
    // The line reaches up to the block and goes on from its end.
    let inside = |time_s: f64| blocks.iter().any(|(from, to)| *from < time_s && time_s < *to);
    for (time_s, value) in course {
        if !inside(*time_s) {
            points.push((time_s / HOUR_S, *value));
        } else if points.last().is_some_and(|(_, value): &(f64, Option<f64>)| value.is_some()) {
            points.push((time_s / HOUR_S, None));
        }
    }
    for (from, to) in blocks {
        let within: Vec<(f64, f64)> = course
            .iter()
            .filter(|(time_s, _)| (*from..=*to).contains(time_s))
            .filter_map(|(time_s, value)| Some((*time_s, (*value)?)))
            .collect();
        let bin_of = |time_s: f64| (((time_s - from) / (to - from).max(1e-9) * BINS as f64) as usize).min(BINS - 1);
        let mut band: Vec<(f64, f64, f64)> = Vec::new();
        for bin in within.chunk_by(|a, b| bin_of(a.0) == bin_of(b.0)) {
            let (low, high) = lowest_and_highest(bin.iter().map(|(_, value)| *value));
            band.push((bin[0].0 / HOUR_S, low, high));
            band.push((bin[bin.len() - 1].0 / HOUR_S, low, high));
        }
        bands.push(band);
    }
    (points, bands)
}

/// How full the open tanks are whose content is known.
fn levels(view: &View<'_>, moments: &[Moment]) -> Option<StripPanel> {
    let garden = view.garden;
    let mut series = Vec::new();
    for place in garden.of_spec(|spec| spec.is_tank()) {
        let part = &garden.parts()[place];
        let (Some(_), Some(level_m)) = (part.si(Id::Volume), part.si(Id::Level).filter(|level_m| *level_m > 0.0)) else {
            continue;
        };
        let full_pa = pressure_of_head_pa(level_m, garden.water().density_kg_per_m3);
        let share = |moment: &Moment| Some(100.0 * moment.pressure_pa[place] / full_pa).filter(|share| share.is_finite());
        let points = moments.iter().map(|moment| (moment.time_s / HOUR_S, share(moment))).collect();
        series.push(Series { name: garden.name(place).into(), points });
    }
    let axis = Axis::new("level of the tank").unit("%").from_zero();
    (!series.is_empty()).then(|| StripPanel { axis, series, ribbons: Vec::new(), marks: Vec::new() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_short_runs_are_one_block_and_few_stay_apart() {
        let fast: Vec<(f64, f64)> = (0..30).map(|run| (60.0 * f64::from(run), 60.0 * f64::from(run) + 10.0)).collect();
        let mut all = vec![(-9000.0, -8000.0)];
        all.extend(&fast);
        all.extend([(1800.0, 9000.0), (20_000.0, 20_100.0)]);
        let spans = joined(&all, 200.0);
        // A long run right after them is none of them.
        assert_eq!(spans.iter().map(|span| span.times).collect::<Vec<_>>(), [1, 30, 1, 1]);
        assert_eq!((spans[1].from, spans[1].to), (0.0, 1750.0));
        assert!(joined(&fast[..3], 200.0).iter().all(|span| span.times == 1));
    }

    #[test]
    fn pressures_within_a_block_are_a_band_and_the_line_has_a_gap() {
        let course: Vec<(f64, Option<f64>)> =
            (0..200).map(|step| (f64::from(step) * 36.0, Some(if step % 2 == 0 { 50.0 } else { 70.0 }))).collect();
        let (points, bands) = split(&course, &[(1800.0, 5400.0)]);
        assert!(points.iter().filter(|point| point.1.is_some()).all(|point| point.0 <= 0.5 || point.0 >= 1.5));
        assert_eq!(points.iter().filter(|point| point.1.is_none()).count(), 1);
        assert!(bands[0].iter().all(|(at, low, high)| (0.5..=1.5).contains(at) && *low == 50.0 && *high == 70.0));
    }
}
