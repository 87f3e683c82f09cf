//! Pump and system: the curve of a booster, what each zone asks of it at each flow, and where the two meet.
//!
//! What a zone asks is found by running the garden with boosters of constant rise in the place of the real one, from none
//! to beyond its dead head; switches are left out, so that it always runs.

use super::view::View;
use crate::figure::{Axis, CurveStyle, Figure, Plot, Series};
use crate::findings::CautionSet;
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{RunError, run};
use crate::parts::{Id, Kind, Part, PartError};
use crate::quantity::{UnitSystem, dim};
use crate::told::Told;
use thiserror::Error;

/// Rises tried for each zone.
const STEPS: usize = 24;

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

/// Flow and rise at which the booster of a garden runs with these zones open, m3/s and Pa.
pub fn operating_point(garden: &Garden, zone: &str) -> Result<(f64, f64), PumpError> {
    let place = booster(garden)?;
    let solution = run(&without_switches(garden)?, &[zone])?;
    let state = &solution.parts[place];
    Ok((state.flow_m3_per_s, -state.loss_pa().unwrap_or(0.0)))
}

/// Flow through the booster of a garden for a number of constant rises, m3/s and Pa, by rising rise.
pub fn system_curve(garden: &Garden, zone: &str, most_pa: f64) -> Result<Vec<(f64, f64)>, PumpError> {
    let place = booster(garden)?;
    let garden = without_switches(garden)?;
    let name = garden.name(place).to_string();
    let mut points = Vec::with_capacity(STEPS);
    for step in 0..STEPS {
        let rise_pa = most_pa * (step as f64 + 0.01) / (STEPS - 1) as f64;
        // A constant rise falls by a millionth, since curves of boosters must fall.
        let flat = Part::new(Kind::Booster).with_curve(&[(0.0, rise_pa), (1.0, rise_pa * (1.0 - 1e-6))])?;
        let solution = run(&garden.replace(&name, &flat)?, &[zone])?;
        points.push((solution.parts[place].flow_m3_per_s, rise_pa));
    }
    Ok(points)
}

/// The figure for these zones. Errors: no booster or several, unknown zones, or no steady state.
pub fn pump_figure(garden: &Garden, zones: &[&str], system: UnitSystem) -> Result<Figure, PumpError> {
    let place = booster(garden)?;
    let system = system.or_own(garden.units());
    let view = View { garden, solution: None, color: super::Color::Pressure, system };
    let shown = |(flow, rise): &(f64, f64)| (view.shown(*flow, dim::FLOW), view.shown(*rise, dim::PRESSURE));
    let part = &garden.parts()[place];
    let curve = part.curve().map(|curve| curve.at_speed(part.value(Id::Speed)));
    let pump: Vec<(f64, f64)> = curve.iter().flat_map(|curve| curve.points().iter().copied()).collect();
    let dead_head_pa = pump.iter().map(|point| point.1).fold(0.0, f64::max);
    let mut layers = vec![(CurveStyle::Lines, Series::new(garden.name(place), pump.iter().map(shown)))];
    let mut meetings = Vec::new();
    for zone in zones {
        let curve = system_curve(garden, zone, 1.1 * dead_head_pa)?;
        layers.push((CurveStyle::Lines, Series::new(*zone, curve.iter().map(shown))));
        meetings.push((zone, shown(&operating_point(garden, zone)?)));
    }
    layers.push((CurveStyle::Points, Series::new("operating point", meetings.iter().map(|(_, at)| *at))));
    let unit = |dimension| view.unit_text(dimension);
    let x = Axis::new("flow").unit(unit(dim::FLOW)).from_zero();
    let y = Axis::new("boost").unit(unit(dim::PRESSURE)).from_zero();
    let mut figure = Figure::new(x, y, Plot::Layers(layers));
    figure.remarks = CautionSet::of(garden).in_sentences();
    for (zone, at) in meetings {
        let text = |value: f64| crate::quantity::Quantity::new(value, dim::NUMBER).show(system);
        let label = format!("{zone}: {} {}, {} {}", text(at.0), unit(dim::FLOW), text(at.1), unit(dim::PRESSURE));
        figure = figure.callout(at, label);
    }
    Ok(figure)
}

fn booster(garden: &Garden) -> Result<usize, PumpError> {
    let places: Vec<usize> = garden.boosters().collect();
    match places[..] {
        [place] => Ok(place),
        _ => Err(PumpError::Boosters { found: places.len() }),
    }
}

fn without_switches(garden: &Garden) -> Result<Garden, PumpError> {
    let switches: Vec<String> = garden.starters().map(|place| garden.name(place).to_string()).collect();
    let mut plain = garden.clone();
    for name in switches {
        plain = plain.replace(&name, &Part::new(Kind::Point))?;
    }
    Ok(plain)
}
