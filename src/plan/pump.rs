//! Pump and system: the curve of a booster, what zones ask of it at each flow, where the two meet, and what is left before the pump and in
//! the house.
//!
//! What a zone asks is found by running the garden with boosters of constant rise in the place of the real one, from none
//! to beyond its dead head; switches are left out, so that it always runs. A drive holds its pressure also here: for each zone the curve at
//! the speed that it takes is drawn too.

use super::view::View;
use crate::figure::{Axis, CurveStyle, Figure, MarkedAxis, Plot, Series};
use crate::findings::CautionSet;
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{RunError, run};
use crate::parts::{Curve, Id, Kind, Part, PartError};
use crate::quantity::{Quantity, UnitSystem, dim};
use crate::told::Told;
use thiserror::Error;

/// Rises tried for each zone.
const STEPS: usize = 24;
/// Share of its speed above which a booster counts as one at full speed.
const FULL_SPEED: f64 = 0.9999;
/// A start margin of hardly anything, Pa.
const LEAST_MARGIN_PA: f64 = 1.0;

/// Why there is no chart.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum PumpError {
    /// The garden has no booster, or several.
    #[error("the garden has {found} boosters; a pump chart shows one")]
    Boosters {
        /// How many it has.
        found: usize,
    },
    /// A zone is no valve of the garden, or the garden makes no sense.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The steady state in which the pump works was not found.
    #[error(transparent)]
    Run(#[from] RunError),
    /// A number of the booster makes no sense.
    #[error(transparent)]
    Part(#[from] PartError),
}

impl Told for PumpError {
    fn hint(&self) -> Option<String> {
        match self {
            PumpError::Boosters { found: 0 } => Some("add a booster([[flow, boost], ...]) to the line".into()),
            PumpError::Boosters { .. } => Some("draw a garden with one booster at a time".into()),
            PumpError::Garden(error) => error.hint(),
            PumpError::Run(error) => error.hint(),
            PumpError::Part(error) => error.hint(),
        }
    }
}

/// Where the booster of a garden works: flow through it, what it adds, and the pressures before it and in the house.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpPoint {
    /// Flow through the booster, m3/s.
    pub flow_m3_per_s: f64,
    /// What it adds, Pa.
    pub rise_pa: f64,
    /// Pressure at its inlet, Pa; none where no source is connected.
    pub suction_pa: Option<f64>,
    /// Working pressure at the first supply, where the house draws, Pa.
    pub house_pa: Option<f64>,
}

fn point(garden: &Garden, zones: &[&str], place: usize) -> Result<PumpPoint, PumpError> {
    let solution = run(garden, zones)?;
    let state = &solution.parts[place];
    Ok(PumpPoint {
        flow_m3_per_s: state.flow_m3_per_s,
        rise_pa: -state.loss_pa().unwrap_or(0.0),
        suction_pa: state.pressure_in_pa,
        house_pa: garden.supplies().next().and_then(|supply| solution.parts[supply].pressure_out_pa),
    })
}

/// Where the booster of a garden works with these zones open together.
pub fn operating_point(garden: &Garden, zones: &[&str]) -> Result<PumpPoint, PumpError> {
    point(&without_switches(garden)?, zones, booster(garden)?)
}

/// The curve of a booster that a drive slows down, at the speed that it takes at an operating point, with that speed as a share of its own;
/// none without a drive, and at full speed.
fn slowed(at: &PumpPoint, part: &Part) -> Option<(f64, Curve)> {
    let share = part.share_of_speed(at.flow_m3_per_s, at.rise_pa);
    let curve = part.curve().filter(|_| share > 0.0 && share < FULL_SPEED)?;
    Some((share, curve.at_speed(part.value(Id::Speed) * share)))
}

/// The system curve of zones that are open together: where the water goes through the booster at a number of constant rises, by rising
/// rise.
pub fn system_curve(garden: &Garden, zones: &[&str], most_pa: f64) -> Result<Vec<PumpPoint>, PumpError> {
    let place = booster(garden)?;
    let garden = &without_starters(garden)?;
    let name = garden.name(place).to_string();
    let mut points = Vec::with_capacity(STEPS);
    for step in 0..STEPS {
        let rise_pa = most_pa * (step as f64 + 0.01) / (STEPS - 1) as f64;
        // A constant rise falls by a millionth, since curves of boosters must fall.
        let flat = Part::new(Kind::Booster).with_curve(&[(0.0, rise_pa), (1.0, rise_pa * (1.0 - 1e-6))])?;
        points.push(PumpPoint { rise_pa, ..point(&garden.replace(&name, &flat)?, zones, place)? });
    }
    Ok(points)
}

/// The figure for these combinations of zones, each open together: above the curve of the booster, the system curves and where they meet,
/// below the pressures at the inlet and in the house at each flow. Errors: no booster or several, unknown zones, or no steady state.
pub fn pump_figure(garden: &Garden, combinations: &[Vec<String>], system: UnitSystem) -> Result<Figure, PumpError> {
    let place = booster(garden)?;
    let system = system.or_own(garden.units());
    let view = View { garden, solution: None, color: super::Color::Pressure, system };
    let (flow, pressure) = (|si: f64| view.shown(si, dim::FLOW), |si: f64| view.shown(si, dim::PRESSURE));
    let part = &garden.parts()[place];
    let curve = part.curve().map(|curve| curve.at_speed(part.value(Id::Speed)));
    let pump: Vec<(f64, f64)> = curve.iter().flat_map(|curve| curve.points().iter().copied()).collect();
    let dead_head_pa = pump.iter().map(|point| point.1).fold(0.0, f64::max);
    let most_flow = pump.iter().map(|point| point.0).fold(0.0, f64::max);
    let drawn = pump.iter().map(|(at, rise)| (flow(*at), pressure(*rise)));
    // The curves of the pump come first, at full speed and as its drive slows it, so that they stand together in the legend.
    let mut pumps = vec![(CurveStyle::Lines, Series::new(garden.name(place), drawn))];
    let (mut layers, mut meetings, mut seen) = (Vec::new(), Vec::new(), Vec::new());
    for zones in combinations {
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let name = if names.is_empty() { "system curve".to_string() } else { names.join(" + ") };
        let curve = system_curve(garden, &names, 1.1 * dead_head_pa)?;
        layers.push((
            CurveStyle::Lines,
            Series::new(name.clone(), curve.iter().map(|at| (flow(at.flow_m3_per_s), pressure(at.rise_pa)))),
        ));
        let meeting = operating_point(garden, &names)?;
        if let Some((share, curve)) = garden.drive_of(place).and_then(|_| slowed(&meeting, part)) {
            let label = format!("{} at {:.0}%", garden.name(place), 100.0 * share);
            let drawn = curve.points().iter().map(|(at, rise)| (flow(*at), pressure(*rise)));
            pumps.push((CurveStyle::Lines, Series::new(label, drawn)));
        }
        seen.extend(curve.into_iter().chain([meeting]));
        meetings.push((name, meeting));
    }
    let met = |value: &dyn Fn(&PumpPoint) -> Option<f64>| -> Vec<(f64, f64)> {
        meetings.iter().filter_map(|(_, at)| Some((flow(at.flow_m3_per_s), pressure(value(at)?)))).collect()
    };
    layers.push((CurveStyle::Points, Series::new("operating point", met(&|at| Some(at.rise_pa)))));
    let layers = pumps.into_iter().chain(layers).collect();
    let unit = |dimension| view.unit_text(dimension);
    let x = Axis { reach: Some((0.0, flow(most_flow))), ..Axis::new("flow").unit(unit(dim::FLOW)).from_zero() };
    let mut above = Figure::new(x.clone(), Axis::new("boost").unit(unit(dim::PRESSURE)).from_zero(), Plot::Layers(layers));
    for (name, at) in &meetings {
        let (at_flow, at_rise) = (flow(at.flow_m3_per_s), pressure(at.rise_pa));
        let label = format!("{name}: {}, {}", view.text(at.flow_m3_per_s, dim::FLOW), view.text(at.rise_pa, dim::PRESSURE));
        above = above.callout((at_flow, at_rise), label);
    }
    // A system may take more than the booster gives at its end.
    seen.retain(|at| at.flow_m3_per_s <= 1.05 * most_flow || meetings.iter().any(|(_, meeting)| meeting == at));
    seen.sort_by(|a, b| a.flow_m3_per_s.total_cmp(&b.flow_m3_per_s));
    let course = |value: &dyn Fn(&PumpPoint) -> Option<f64>| -> Vec<(f64, f64)> {
        seen.iter().filter_map(|at| Some((flow(at.flow_m3_per_s), pressure(value(at)?)))).collect()
    };
    let (suction, house) = (|at: &PumpPoint| at.suction_pa, |at: &PumpPoint| at.house_pa);
    let mut below = vec![(CurveStyle::Lines, Series::new("pump inlet (suction)", course(&suction)))];
    if seen.iter().any(|at| at.house_pa.is_some()) {
        below.push((CurveStyle::Lines, Series::new("house", course(&house))));
    }
    below.push((CurveStyle::Points, Series::new("operating point", met(&suction).into_iter().chain(met(&house)))));
    let y = Axis::new("pressure").unit(unit(dim::PRESSURE)).from_zero();
    let mut below = Figure::new(x, y, Plot::Layers(below));
    if garden.supplies().next().is_some() {
        below = below.marked(MarkedAxis::Y, pressure(garden.least_tap_pa()), "least in the house");
    }
    let mut figure =
        Figure::new(above.x.clone(), above.y.clone(), Plot::Panels { columns: 1, figures: vec![above, below] }).sized(760, 760);
    figure.remarks = CautionSet::of(garden).in_sentences();
    Ok(figure)
}

fn booster(garden: &Garden) -> Result<usize, PumpError> {
    let places: Vec<usize> = garden.boosters().collect();
    match places[..] {
        [place] => Ok(place),
        _ => Err(PumpError::Boosters { found: places.len() }),
    }
}

/// The garden without what starts its booster, which always runs.
fn without_starters(garden: &Garden) -> Result<Garden, PumpError> {
    let mut plain = garden.clone();
    for place in garden.starters() {
        plain = plain.replace(garden.name(place), &Part::new(Kind::Point))?;
    }
    Ok(plain)
}

/// The same with its drive, which starts it as soon as the pressure is below the one that it holds.
fn without_switches(garden: &Garden) -> Result<Garden, PumpError> {
    let Some(drive) = garden.layout().drives.first() else { return without_starters(garden) };
    let path = format!("{}.{}", garden.name(drive.place), Id::StartMargin);
    Ok(garden.with(&path, Quantity::new(LEAST_MARGIN_PA, dim::PRESSURE))?)
}
