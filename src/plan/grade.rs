//! The pressure along the hose from the tap to a head, as a figure: with the grade line where the ground rises, what each
//! part is rated for, and what the head needs.

use super::view::View;
use crate::figure::{Axis, CurveStyle, Figure, MarkedAxis, Plot, Series};
use crate::findings::CautionSet;
use crate::garden::GardenError;
use crate::hydraulics::{ProfilePoint, Solution};
use crate::laws::section::pressure_of_head_pa;
use crate::parts::Id;
use crate::quantity::{UnitSystem, dim};

/// A rating more than this number of times as high as all pressures is a mark at the upper edge: drawn to scale it would flatten them.
const FAR: f64 = 1.5;

/// The figure; nothing when no supply reaches the part. Errors: an unknown name.
pub fn grade_figure(solution: &Solution, name: &str, system: UnitSystem) -> Result<Option<Figure>, GardenError> {
    let points = solution.pressure_profile(name)?;
    if points.is_empty() {
        return Ok(None);
    }
    let system = system.or_own(solution.garden.units());
    let view = View { garden: &solution.garden, solution: Some(solution), color: super::Color::Pressure, system };
    let weight = pressure_of_head_pa(1.0, solution.garden.water().density_kg_per_m3);
    let length = |m: f64| view.shown_length(m);
    let pressure = |pa: f64| view.shown(pa, dim::PRESSURE);
    let along = |value: &dyn Fn(&ProfilePoint) -> f64| -> Vec<(f64, f64)> {
        points.iter().map(|point| (length(point.distance_m), pressure(value(point)))).collect()
    };
    let mut layers = vec![(CurveStyle::LinesAndPoints, Series::new("pressure", along(&|point| point.pressure_pa)))];
    if points.iter().any(|point| point.height_m.abs() > 0.01) {
        let grade = along(&|point| point.pressure_pa + weight * point.height_m);
        layers.push((CurveStyle::Lines, Series::new("pressure plus elevation (hydraulic grade)", grade)));
    }
    let part = solution.garden.part(name)?;
    let needs = [(Id::RangeLow, "stalls below"), (Id::RangeHigh, "mists above")];
    let needs = needs.map(|(id, words)| (part.si(id).filter(|_| part.traits().waters).map(pressure), words));
    let curves = layers.iter().flat_map(|(_, series)| series.points.iter().filter_map(|point| point.1));
    let seen: Vec<f64> = curves.chain(needs.iter().filter_map(|need| need.0)).collect();
    let highest = seen.iter().copied().fold(0.0, f64::max);
    let ratings = ratings(&solution.garden, &points);
    let lowest = ratings.iter().filter_map(|(_, rating)| rating.map(pressure)).fold(f64::INFINITY, f64::min);
    let mut y = Axis::new("pressure").unit(view.key().unit.unwrap_or_default());
    let far = lowest.is_finite() && lowest > FAR * highest;
    if far {
        y = y.around(&seen);
    } else if !ratings.is_empty() {
        let points = ratings.into_iter().map(|(distance, rating)| (length(distance), rating.map(pressure))).collect();
        layers.push((CurveStyle::Lines, Series { name: "pressure rating".into(), points }));
    }
    let x = Axis::new("distance from the supply").unit(view.length_unit_text()).from_zero();
    let mut figure = Figure::new(x, y, Plot::Layers(layers));
    if far {
        figure = figure.marked(MarkedAxis::Y, lowest, "lowest pressure rating");
    }
    figure.remarks = CautionSet::of(&solution.garden).in_sentences();
    // A name where something happens: parts at one distance share one.
    let mut last: Option<(f64, Vec<String>, f64)> = None;
    let mut named: Vec<(f64, Vec<String>, f64)> = Vec::new();
    for point in &points {
        if view.is_run(point.place) {
            continue;
        }
        let name = view.title(point.place);
        match &mut last {
            Some((distance, names, at)) if (*distance - point.distance_m).abs() < 1e-9 => {
                names.push(name);
                *at = point.pressure_pa;
            }
            _ => {
                named.extend(last.take());
                last = Some((point.distance_m, vec![name], point.pressure_pa));
            }
        }
    }
    named.extend(last);
    for (distance, names, pressure_pa) in named {
        figure = figure.callout((length(distance), pressure(pressure_pa)), names.join(", "));
    }
    for (value, words) in needs {
        if let Some(value) = value {
            figure = figure.marked(MarkedAxis::Y, value, words);
        }
    }
    Ok(Some(figure))
}

/// Ends of each hose with what it is rated for; a gap where a hose says nothing of it.
fn ratings(garden: &crate::garden::Garden, points: &[ProfilePoint]) -> Vec<(f64, Option<f64>)> {
    let mut line: Vec<(f64, Option<f64>)> = Vec::new();
    for pair in points.windows(2).filter(|pair| pair[1].distance_m > pair[0].distance_m) {
        match garden.parts()[pair[1].place].si(Id::PressureRating) {
            Some(rating) => line.extend([(pair[0].distance_m, Some(rating)), (pair[1].distance_m, Some(rating))]),
            None if line.last().is_some_and(|(_, rating)| rating.is_some()) => line.push((pair[0].distance_m, None)),
            None => {}
        }
    }
    while line.last().is_some_and(|(_, rating)| rating.is_none()) {
        line.pop();
    }
    line
}
