//! The garden under other pressures of the main: at its highest, as at night, and at its lowest, as on a hot evening.

use super::error::SettingsError;
use crate::garden::Garden;
use crate::quantity::dim;

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
            main_pa.map_or_else(|| Ok(garden.clone()), |main_pa| Ok(garden.with_main(|usual_pa| wanted(usual_pa, main_pa))?))
        };
        Ok(Mains { lowest: at(lowest_pa, f64::min)?, usual: garden.clone(), highest: at(highest_pa, f64::max)? })
    }
}
