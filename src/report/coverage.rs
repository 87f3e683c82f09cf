//! Coverage of a bed and catch cans as tables and text, and their values as people read them.

use super::in_short;
use crate::coverage::{Coverage, Uniformity};
use crate::findings::{grouped, of_coverage};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim, show_number};
use crate::table::{Column, Table, TableError};
use crate::told::Told;
use thiserror::Error;

/// Catches of cans, as they were written.
#[derive(Clone, Copy, Debug)]
pub struct Catches {
    count: usize,
    unit: Quantity,
    /// How even the catches are; mean, lowest and highest in the unit of the catches.
    pub uniformity: Uniformity,
}

/// Why catches say nothing; cans count from 1.
#[derive(Clone, Debug, Error)]
pub enum CatchError {
    /// A can is of another dimension than the first.
    #[error("catch_cans: can {can} holds {}, the first {}", found.described(), first.described())]
    Unlike {
        /// Which can, counted from 1.
        can: usize,
        /// What it holds.
        found: Quantity,
        /// What the first can holds.
        first: Quantity,
    },
    /// All cans are dry, or one holds less than nothing.
    #[error("catch_cans: the cans hold no water, or one is below zero")]
    NoWater,
}

impl Told for CatchError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            CatchError::Unlike { .. } => "measure all cans in the same way".into(),
            CatchError::NoWater => "give the catch of each can, as in catch_cans([18.mL, 22.mL])".into(),
        })
    }
}

impl Catches {
    /// What equal cans caught. Errors: catches of two dimensions; no water.
    pub fn of(catches: &[Quantity]) -> Result<Catches, CatchError> {
        let first = *catches.first().ok_or(CatchError::NoWater)?;
        if let Some(index) = catches.iter().position(|found| found.dimension != first.dimension) {
            return Err(CatchError::Unlike { can: index + 1, found: catches[index], first });
        }
        let values: Vec<f64> = catches.iter().map(|found| found.si).collect();
        let uniformity = Uniformity::of(&values).ok_or(CatchError::NoWater)?;
        Ok(Catches { count: values.len(), unit: first, uniformity })
    }

    /// A catch in the unit in which they were written.
    pub fn quantity(&self, si: f64) -> Quantity {
        Quantity { si, ..self.unit }
    }

    /// The catches for people.
    pub fn in_words(&self, system: UnitSystem) -> String {
        let mean = self.quantity(self.uniformity.mean).show(system);
        format!("{} cans, mean {mean}\n{}", self.count, uniformity_in_words(&self.uniformity))
    }
}

/// A rate of rain as people read it, in the units of the garden.
pub fn rate(rain: &Coverage, si: f64) -> Quantity {
    Quantity { preference: rain.units.preference_of("in/h"), ..Quantity::new(si, dim::SPEED) }
}

/// A time of watering as people read it.
pub fn minutes(seconds: f64) -> Quantity {
    let preference = Preference::written_in("min");
    Quantity { preference, ..Quantity::new(seconds, dim::TIME) }
}

/// The place of the driest spot.
pub fn driest(rain: &Coverage) -> [Quantity; 2] {
    let (x_m, y_m) = rain.place_m(rain.driest());
    [x_m, y_m].map(|length_m| rain.units.quantity(length_m, dim::LENGTH))
}

/// A share in percent as people read it, to a tenth.
fn in_percent(share: f64) -> String {
    format!("{}%", show_number((share * 1000.0).round() / 10.0))
}

fn uniformity_in_words(uniformity: &Uniformity) -> String {
    format!("CU {} (Christiansen), DU {} (low quarter)", in_percent(uniformity.christiansen), in_percent(uniformity.du))
}

/// The rain for people, with what is to be minded.
pub fn in_words(rain: &Coverage, system: UnitSystem) -> String {
    let shown = |quantity: Quantity| quantity.show(system);
    let length = |length_m: f64| shown(rain.units.quantity(length_m, dim::LENGTH));
    let rate = |si: f64| shown(rate(rain, si));
    let [x, y] = driest(rain);
    let heads = rain.sprays.len();
    let mut lines = vec![
        format!(
            "coverage of {heads} {} on a bed of {} by {}",
            if heads == 1 { "head" } else { "heads" },
            length(rain.bed.width_m()),
            length(rain.bed.height_m())
        ),
        format!(
            "application rate {} (mean), {} at the wettest spot, {} at the driest: x {}, y {}",
            rate(rain.uniformity.mean),
            rate(rain.uniformity.highest),
            rate(rain.uniformity.lowest),
            shown(x),
            shown(y)
        ),
        uniformity_in_words(&rain.uniformity),
        format!("{} of the water falls on the bed", in_percent(rain.caught_share())),
    ];
    if rain.bare_share() > 0.0 {
        lines.push(format!("{} of the ground gets no water", in_percent(rain.bare_share())));
    }
    lines.extend(in_short(&grouped(&of_coverage(rain), &rain.accepted), system));
    lines.join("\n")
}

/// The rain spot by spot: x, y and rate.
pub fn table(rain: &Coverage) -> Result<Table, TableError> {
    let length = rain.units.preference(dim::LENGTH);
    let places: Vec<(f64, f64)> = (0..rain.rates_m_per_s.len()).map(|index| rain.place_m(index)).collect();
    let column = |name: &str, values: Vec<f64>, dimension: Dimension, preference| {
        Column::quantities(name, values.into_iter().map(Some), dimension, preference)
    };
    Table::new(vec![
        column("x", places.iter().map(|place| place.0).collect(), dim::LENGTH, length),
        column("y", places.iter().map(|place| place.1).collect(), dim::LENGTH, length),
        column("application_rate", rain.rates_m_per_s.clone(), dim::SPEED, rate(rain, 0.0).preference),
    ])
}
