//! The garden under other pressures of the main: at its highest, as at night, and at its lowest, as on a hot evening.

use super::error::SettingsError;
use crate::garden::{Garden, GardenError};
use crate::parts::{Id, Part, PartError};
use crate::quantity::{Quantity, dim};

/// A garden under the lowest, the usual and the highest pressure of the main.
#[derive(Clone, Debug)]
pub struct Mains {
    pub lowest: Garden,
    pub usual: Garden,
    pub highest: Garden,
}

impl Mains {
    /// The garden under pressures that may be given, Pa; where one is not, the usual one stands for it.
    ///
    /// Errors: a lowest pressure above the highest.
    pub fn of(garden: &Garden, lowest_pa: Option<f64>, highest_pa: Option<f64>) -> Result<Mains, SettingsError> {
        if let (Some(lowest_pa), Some(highest_pa)) = (lowest_pa, highest_pa)
            && lowest_pa > highest_pa
        {
            let pressure = |si: f64| garden.quantity(si, dim::PRESSURE);
            return Err(SettingsError::MainsUpsideDown { lowest: pressure(lowest_pa), highest: pressure(highest_pa) });
        }
        let at = |main_pa: Option<f64>, wanted: fn(f64, f64) -> f64| -> Result<Garden, SettingsError> {
            main_pa.map_or_else(|| Ok(garden.clone()), |main_pa| with_main(garden, |usual_pa| wanted(usual_pa, main_pa)))
        };
        Ok(Mains { lowest: at(lowest_pa, f64::min)?, usual: garden.clone(), highest: at(highest_pa, f64::max)? })
    }
}

/// The garden with another static pressure at each supply, computed from the usual one, both gauge, Pa; the pressure lost at a flow
/// stays as it is.
///
/// Errors: a supply refuses the pressure.
pub fn with_main(garden: &Garden, static_pa: impl Fn(f64) -> f64) -> Result<Garden, SettingsError> {
    let mut changed = garden.clone();
    for place in garden.supplies() {
        let part = &garden.parts()[place];
        let Some(usual_pa) = part.si(Id::StaticPressure) else { continue };
        let main_pa = static_pa(usual_pa);
        if main_pa != usual_pa {
            let other = at_main(part, usual_pa, main_pa).map_err(GardenError::from)?;
            changed = changed.replace(garden.name(place), &other)?;
        }
    }
    Ok(changed)
}

fn at_main(part: &Part, usual_pa: f64, main_pa: f64) -> Result<Part, PartError> {
    let other = |id, si: f64| Ok::<_, PartError>((id, Quantity { si, ..part.get(id)? }));
    let mut numbers = vec![other(Id::StaticPressure, main_pa)?];
    if let (Some(measured_pa), Some(flow)) = (part.si(Id::MeasuredPressure), part.si(Id::MeasuredFlow)) {
        let loss_pa = usual_pa - measured_pa;
        let left_pa = main_pa - loss_pa;
        if left_pa > 0.0 {
            numbers.push(other(Id::MeasuredPressure, left_pa)?);
        } else {
            // The loss goes with the square of the flow: a smaller one tells the same and leaves some pressure.
            numbers.push(other(Id::MeasuredPressure, 0.5 * main_pa)?);
            numbers.push(other(Id::MeasuredFlow, flow * (0.5 * main_pa / loss_pa).sqrt())?);
        }
    }
    part.clone().with(&numbers)
}
