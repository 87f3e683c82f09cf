//! What is drawn of a garden, and how its numbers are shown.

use crate::figure::{Activity, Axis, Water};
use crate::garden::Garden;
use crate::hydraulics::{NO_FLOW_M3_PER_S, Solution};
use crate::parts::{Id, Placing};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim};
use crate::table::ColumnKind;

/// What the colors of the lines show when the garden runs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Color {
    /// Gauge pressure at the ends of each line.
    #[default]
    Pressure,
    /// Flow through each line.
    Flow,
}

/// What is drawn, and how its numbers are shown.
pub(super) struct View<'a> {
    pub garden: &'a Garden,
    pub solution: Option<&'a Solution>,
    pub color: Color,
    pub system: UnitSystem,
}

impl View<'_> {
    pub fn placing(&self, place: usize) -> Placing {
        self.garden.spec(place).placing
    }

    /// Places of all parts of a placing.
    pub fn all(&self, placing: Placing) -> impl Iterator<Item = usize> + '_ {
        (0..self.garden.parts().len()).filter(move |place| self.placing(*place) == placing)
    }

    pub fn is_run(&self, place: usize) -> bool {
        self.garden.spec(place).is_line()
    }

    /// What moves in the line at a part.
    pub fn water(&self, place: usize) -> Water {
        let Some(solution) = self.solution else { return Water::Unknown };
        let state = &solution.parts[place];
        let (Some(inlet), Some(outlet)) = (state.pressure_in_pa, state.pressure_out_pa) else { return Water::Still };
        if state.flow_m3_per_s.abs() < NO_FLOW_M3_PER_S && self.placing(place) != Placing::AtPoint {
            return Water::Still;
        }
        match self.color {
            Color::Pressure => Water::Flows(self.shown(0.5 * (inlet + outlet), dim::PRESSURE)),
            Color::Flow => Water::Flows(self.shown(state.flow_m3_per_s.abs(), dim::FLOW)),
        }
    }

    /// Thickness of a line: hoses by their diameter, or in a solution by how much of the largest flow runs in them.
    pub fn thickness(&self, place: usize) -> f64 {
        let Some(solution) = self.solution else {
            let diameter_m = self.garden.parts()[place].si(Id::Diameter).filter(|_| self.is_run(place));
            return diameter_m.map_or(2.0, |diameter| (diameter / 0.0254 * 7.0).clamp(3.0, 10.0));
        };
        let most = solution.parts.iter().map(|state| state.flow_m3_per_s.abs()).fold(0.0, f64::max);
        let share = if most > 0.0 { solution.parts[place].flow_m3_per_s.abs() / most } else { 0.0 };
        2.4 + 4.6 * share.sqrt()
    }

    pub fn activity(&self, place: usize) -> Activity {
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
    pub fn shown(&self, si: f64, dimension: Dimension) -> f64 {
        let kind = ColumnKind::Quantity { dimension, preference: Preference::Usual };
        kind.shown_value(si, self.system)
    }

    pub fn key(&self) -> Axis {
        match self.color {
            Color::Pressure => Axis::new("pressure").unit(self.unit_text(dim::PRESSURE)),
            Color::Flow => Axis::new("flow").unit(self.unit_text(dim::FLOW)),
        }
    }

    /// The unit in which values of a dimension show; empty for plain numbers.
    pub fn unit_text(&self, dimension: Dimension) -> String {
        let kind = ColumnKind::Quantity { dimension, preference: Preference::Usual };
        kind.unit_text(self.system).unwrap_or_default()
    }

    pub fn shown_length(&self, length_m: f64) -> f64 {
        self.shown(length_m, dim::LENGTH)
    }

    pub fn length_unit_text(&self) -> String {
        self.unit_text(dim::LENGTH)
    }

    /// A value with its unit.
    pub fn text(&self, si: f64, dimension: Dimension) -> String {
        Quantity::new(si, dimension).show(self.system)
    }
}

/// Decimals with which a value has three digits, all of its whole ones at least.
pub(super) fn decimals(value: f64) -> usize {
    if value == 0.0 { 0 } else { (2.0 - value.abs().log10().floor()).clamp(0.0, 6.0) as usize }
}
