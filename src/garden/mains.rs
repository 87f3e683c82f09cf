//! The garden at another pressure of the main.

use super::{Garden, GardenError};
use crate::parts::{Id, Part, PartError};
use crate::quantity::Quantity;

impl Garden {
    /// The garden with another static pressure at each supply, computed from the usual one, both gauge, Pa; the pressure lost at a
    /// flow stays as it is.
    ///
    /// Errors: a supply refuses the pressure.
    pub fn with_main(&self, static_pa: impl Fn(f64) -> f64) -> Result<Garden, GardenError> {
        let mut changed = self.clone();
        for place in self.supplies() {
            let part = &self.parts()[place];
            let Some(usual_pa) = part.si(Id::StaticPressure) else { continue };
            let main_pa = static_pa(usual_pa);
            if main_pa != usual_pa {
                changed = changed.replace(self.name(place), &at_main(part, usual_pa, main_pa)?)?;
            }
        }
        Ok(changed)
    }

    /// The lowest static pressure that is given for a supply, as on a hot evening; `None` where it is given for none.
    pub fn lowest_static(&self) -> Option<Quantity> {
        let given = self.supplies().filter_map(|place| self.parts()[place].quantity(Id::LowestStatic));
        given.min_by(|a, b| a.si.total_cmp(&b.si))
    }
}

fn at_main(part: &Part, usual_pa: f64, main_pa: f64) -> Result<Part, PartError> {
    let other = |id, si: f64| Ok::<_, PartError>((id, Quantity { si, ..part.get(id)? }));
    let mut numbers = vec![other(Id::StaticPressure, main_pa)?];
    if part.si(Id::LowestStatic).is_some_and(|lowest_pa| lowest_pa > main_pa) {
        numbers.push(other(Id::LowestStatic, main_pa)?);
    }
    if let (Some(measured_pa), Some(flow)) = (part.si(Id::MeasuredPressure), part.si(Id::MeasuredFlow)) {
        let loss_pa = usual_pa - measured_pa;
        let left_pa = main_pa - loss_pa;
        if left_pa > 0.0 {
            numbers.push(other(Id::MeasuredPressure, left_pa)?);
        } else {
            // The loss goes with the square of the flow: half of the pressure is lost at a smaller one.
            numbers.push(other(Id::MeasuredPressure, 0.5 * main_pa)?);
            numbers.push(other(Id::MeasuredFlow, flow * (0.5 * main_pa / loss_pa).sqrt())?);
        }
    }
    part.clone().with(&numbers)
}
