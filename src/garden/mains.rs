//! The garden at another pressure of the main.

use super::{Garden, GardenError, ParameterPath};
use crate::parts::{Id, LEAST_TAP_PA, Part, PartError};
use crate::quantity::Quantity;

/// Name of the threshold for the pressure at a tap while water runs.
pub const HOUSE_PRESSURE: &str = "house_pressure";

impl Garden {
    /// Pressure that is to be left at a tap while water runs, Pa: as its owner set it, or the usual one.
    pub fn least_tap_pa(&self) -> f64 {
        self.accepted().threshold(HOUSE_PRESSURE).unwrap_or(LEAST_TAP_PA)
    }

    /// The garden with another static pressure at each supply, computed from the usual one, both gauge, Pa; the resistance of the
    /// service line stays as it is.
    ///
    /// Errors: a supply refuses the pressure.
    pub fn with_main(&self, static_pa: impl Fn(f64) -> f64) -> Result<Garden, GardenError> {
        let mut changed = self.clone();
        for place in self.supplies() {
            let part = &self.parts()[place];
            let Some(usual_pa) = part.si(Id::StaticPressure) else { continue };
            let main_pa = static_pa(usual_pa);
            if main_pa != usual_pa {
                changed = changed.replace(self.name(place), &at_main(part, main_pa)?)?;
            }
        }
        Ok(changed)
    }

    /// The garden in which these parameters may be set in place: a supply of which the static pressure is varied, but not its
    /// measurement, keeps the resistance of its service line.
    pub fn with_tests_kept(&self, varied: &[ParameterPath]) -> Garden {
        let mut kept = self.clone();
        for place in self.supplies() {
            let is_varied = |id| varied.contains(&ParameterPath { place, parameter: id });
            if is_varied(Id::StaticPressure) && !is_varied(Id::MeasuredPressure) && !is_varied(Id::MeasuredFlow) {
                kept.part_mut(place).keep_test();
            }
        }
        kept
    }

    /// The lowest static pressure that is given for a supply, as on a hot evening, also by the clock; `None` where it is given for none.
    pub fn lowest_static(&self) -> Option<Quantity> {
        let by_clock = |part: &Part| {
            let least_pa = part.clock().iter().map(|(_, pressure_pa)| *pressure_pa).reduce(f64::min)?;
            Some(Quantity { si: least_pa, ..part.quantity(Id::StaticPressure)? })
        };
        let given = self.supplies().filter_map(|place| {
            let part = &self.parts()[place];
            [part.quantity(Id::LowestStatic), by_clock(part)].into_iter().flatten().min_by(|a, b| a.si.total_cmp(&b.si))
        });
        given.min_by(|a, b| a.si.total_cmp(&b.si))
    }
}

fn at_main(part: &Part, main_pa: f64) -> Result<Part, PartError> {
    let other = |id, si: f64| Ok::<_, PartError>((id, Quantity { si, ..part.get(id)? }));
    let mut numbers = vec![other(Id::StaticPressure, main_pa)?];
    if part.si(Id::LowestStatic).is_some_and(|lowest_pa| lowest_pa > main_pa) {
        numbers.push(other(Id::LowestStatic, main_pa)?);
    }
    part.clone().with(&numbers)
}
