//! Water hammer in two panels: the pressures along the line to the valve with what it is rated for, and over time at the valve and at the
//! nearest check valve.

use super::Color;
use super::view::View;
use crate::figure::{Axis, CurveStyle, Figure, Plot, Series};
use crate::findings::CautionSet;
use crate::parts::Id;
use crate::quantity::{UnitSystem, dim};
use crate::water_hammer::WaterHammer;

/// The figure, titled for the valve.
pub fn hammer_figure(hammer: &WaterHammer, system: UnitSystem) -> Figure {
    let garden = hammer.garden();
    let view = View { garden, solution: Some(&hammer.solution), color: Color::Pressure, system: system.or_own(garden.units()) };
    let pressure = |pa: f64| view.shown(pa, dim::PRESSURE);
    let axis = || Axis::new("pressure").unit(view.unit_text(dim::PRESSURE));
    let mut distance_m = 0.0;
    let names = ["highest", "before", "lowest", "pressure rating"];
    let mut lines: [Vec<(f64, Option<f64>)>; 4] = Default::default();
    let mut callouts: Vec<((f64, f64), String)> = Vec::new();
    for part in hammer.parts.iter().filter(|part| part.on_the_way) {
        let place = &garden.parts()[part.place];
        let length_m = if view.is_run(part.place) { place.value(Id::Length) } else { 0.0 };
        let (from, to) = (view.shown_length(distance_m), view.shown_length(distance_m + length_m));
        distance_m += length_m;
        let values = [Some(part.highest_pa), Some(part.before_pa), Some(part.lowest_pa), place.si(Id::PressureRating)];
        if length_m > 0.0 {
            // A hose without a rating leaves a gap.
            lines
                .iter_mut()
                .zip(values)
                .for_each(|(line, value)| line.extend([(from, value.map(pressure)), (to, value.map(pressure))]));
            callouts.push((((from + to) / 2.0, pressure(part.highest_pa)), view.title(part.place)));
        }
    }
    let series = names.iter().zip(lines).map(|(name, points)| Series { name: (*name).into(), points });
    let series: Vec<Series> = series.filter(|series| series.points.iter().any(|point| point.1.is_some())).collect();
    let along = Axis::new("distance from the supply").unit(view.length_unit_text()).from_zero();
    let mut along = Figure::curves(along, axis(), CurveStyle::Lines, series).titled("Along the line");
    for (at, name) in callouts {
        along = along.callout(at, name);
    }
    let trace = &hammer.trace;
    let course = |values: &[f64]| -> Vec<(f64, f64)> {
        trace.time_s.iter().zip(values).map(|(time_s, pa)| (*time_s, pressure(*pa))).collect()
    };
    let mut over = vec![Series::new(format!("before {}", view.title(hammer.valve)), course(&trace.valve_pa))];
    if let (Some(check), false) = (hammer.check, trace.check_pa.is_empty()) {
        over.push(Series::new(format!("after {}", view.title(check)), course(&trace.check_pa)));
    }
    let over = Figure::curves(Axis::new("time since the valve begins to close").unit("s"), axis(), CurveStyle::Lines, over);
    let over = over.titled("Over time");
    let figures = vec![along, over];
    let plot = Plot::Panels { columns: 1, figures };
    let mut figure = Figure::new(Axis::new("time"), axis(), plot).sized(760, 640);
    figure.remarks = CautionSet::of(garden).in_sentences();
    figure
}
