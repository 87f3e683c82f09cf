//! The plan: a garden, or a solution of it, as a map with symbols, labels and circles of throw.
//!
//! Beside it stand two charts that need the garden and not only its numbers: along the hose, and at the pump.
//!
//! With places given to heads the map is to scale; without any it is a tidy scheme of the network, layered by distance
//! from the supply. Here are only places and words; drawing is the work of `figure`. It knows nothing of scripts or files.

mod grade;
mod pump;
mod real;
mod schematic;
mod words;

pub use grade::grade_figure;
pub use pump::{PumpError, operating_point, pump_figure, system_curve};

use crate::figure::{Activity, Axis, Map, Water};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::parts::{Id, Placing};
use crate::quantity::{Quantity, UnitSystem, dim};
use crate::told::Told;
use thiserror::Error;

/// More parts than this cannot be told apart on a sheet.
pub const MOST_PARTS: usize = 400;

/// Why a plan cannot be drawn.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum PlanError {
    /// The garden has more than [`MOST_PARTS`] parts.
    #[error("a plan of {found} parts cannot be read; expected {most} at most")]
    TooManyParts {
        /// How many it has.
        found: usize,
        /// How many a plan shows.
        most: usize,
    },
}

impl Told for PlanError {
    fn hint(&self) -> Option<String> {
        Some(
            match self {
                PlanError::TooManyParts { .. } => "draw one zone by itself, or print show(garden)",
            }
            .into(),
        )
    }
}

/// What the colours of the lines tell when the garden runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Colour {
    /// Gauge pressure at the ends of each line.
    #[default]
    Pressure,
    /// Flow through each line.
    Flow,
}

/// The plan of a garden; with its solution, lines are coloured by pressure or flow, drawn wider where more flows, and dashed
/// where nothing does.
///
/// Errors: more than [`MOST_PARTS`] parts.
pub fn plan(garden: &Garden, solution: Option<&Solution>, colour: Colour, system: UnitSystem) -> Result<Map, PlanError> {
    let found = garden.parts().len();
    if found > MOST_PARTS {
        return Err(PlanError::TooManyParts { found, most: MOST_PARTS });
    }
    let view = View { garden, solution, colour, system: system.or_own(garden.units()) };
    let mut map = if real::has_places(garden) { real::lay_out(&view) } else { schematic::lay_out(&view) };
    map.key = solution.is_some().then(|| view.key());
    Ok(map)
}

/// What is drawn, and how its numbers are shown.
struct View<'a> {
    garden: &'a Garden,
    solution: Option<&'a Solution>,
    colour: Colour,
    system: UnitSystem,
}

impl View<'_> {
    fn placing(&self, place: usize) -> Placing {
        self.garden.spec(place).placing
    }

    /// Places of all parts of a placing.
    fn all(&self, placing: Placing) -> impl Iterator<Item = usize> + '_ {
        (0..self.garden.parts().len()).filter(move |place| self.placing(*place) == placing)
    }

    fn is_run(&self, place: usize) -> bool {
        self.garden.spec(place).is_line()
    }

    /// What moves in the line at a part.
    fn water(&self, place: usize) -> Water {
        let Some(solution) = self.solution else { return Water::Unknown };
        let state = &solution.parts[place];
        let (Some(inlet), Some(outlet)) = (state.pressure_in_pa, state.pressure_out_pa) else { return Water::Still };
        if state.flow_m3_per_s.abs() < 1e-12 && self.placing(place) != Placing::AtPoint {
            return Water::Still;
        }
        match self.colour {
            Colour::Pressure => Water::Flows(self.shown(0.5 * (inlet + outlet), dim::PRESSURE)),
            Colour::Flow => Water::Flows(self.shown(state.flow_m3_per_s.abs(), dim::FLOW)),
        }
    }

    /// Thickness of a line: hoses by their diameter, or in a solution by how much of the largest flow runs in them.
    fn thickness(&self, place: usize) -> f64 {
        let Some(solution) = self.solution else {
            let diameter_m = self.garden.parts()[place].si(Id::Diameter).filter(|_| self.is_run(place));
            return diameter_m.map_or(2.0, |diameter| (diameter / 0.0254 * 7.0).clamp(3.0, 10.0));
        };
        let most = solution.parts.iter().map(|state| state.flow_m3_per_s.abs()).fold(0.0, f64::max);
        let share = if most > 0.0 { solution.parts[place].flow_m3_per_s.abs() / most } else { 0.0 };
        2.4 + 4.6 * share.sqrt()
    }

    fn activity(&self, place: usize) -> Activity {
        let part = &self.garden.parts()[place];
        let Some(solution) = self.solution else { return Activity::Active };
        let flows = solution.parts[place].flow_m3_per_s != 0.0;
        let active = match part.traits() {
            traits if traits.opens => solution.open[place],
            traits if traits.pumps => solution.runs[place],
            _ if part.spec().placing == Placing::AtPoint || part.spec().placing == Placing::Source => true,
            _ => flows,
        };
        if active { Activity::Active } else { Activity::Idle }
    }

    /// A value in the unit in which its dimension shows.
    fn shown(&self, si: f64, dimension: crate::quantity::Dimension) -> f64 {
        let kind = crate::table::Kind::Quantity { dimension, preference: crate::quantity::Preference::Usual };
        kind.shown_value(si, self.system)
    }

    fn key(&self) -> Axis {
        match self.colour {
            Colour::Pressure => Axis::new("pressure").unit(self.unit_text(dim::PRESSURE)),
            Colour::Flow => Axis::new("flow").unit(self.unit_text(dim::FLOW)),
        }
    }

    /// The unit in which values of a dimension show; empty for plain numbers.
    fn unit_text(&self, dimension: crate::quantity::Dimension) -> String {
        let kind = crate::table::Kind::Quantity { dimension, preference: crate::quantity::Preference::Usual };
        kind.unit_text(self.system).unwrap_or_default()
    }

    fn shown_length(&self, length_m: f64) -> f64 {
        self.shown(length_m, dim::LENGTH)
    }

    fn length_unit_text(&self) -> String {
        self.unit_text(dim::LENGTH)
    }

    fn text(&self, si: f64, dimension: crate::quantity::Dimension) -> String {
        Quantity::new(si, dimension).show(self.system)
    }
}

#[cfg(test)]
mod tests;
