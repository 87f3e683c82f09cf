//! The scale of a pressure switch: in which steps it is set, and how far apart cut-in and cut-out go.

use crate::quantity::PSI_PA;
use crate::quantity::{Preference, Quantity, Unit};

const BAR_PA: f64 = 1e5;

/// How the scale of a pressure switch is made, Pa. Common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Its steps: 5 psi, or a quarter of a bar where pressures are given in metric units.
    pub step_pa: f64,
    /// Least difference between cut-in and cut-out: 15 psi or 1 bar (20 psi is how switches are sold).
    pub least_difference_pa: f64,
    /// Widest difference: 30 psi or 2 bar.
    pub widest_difference_pa: f64,
}

const US: Scale = Scale { step_pa: 5.0 * PSI_PA, least_difference_pa: 15.0 * PSI_PA, widest_difference_pa: 30.0 * PSI_PA };
const METRIC: Scale = Scale { step_pa: 0.25 * BAR_PA, least_difference_pa: BAR_PA, widest_difference_pa: 2.0 * BAR_PA };

/// The scale of switches where pressures are written in this unit.
pub fn scale(preference: Preference) -> Scale {
    if preference.unit().is_some_and(Unit::is_metric) { METRIC } else { US }
}

/// Settings on the scale.
#[derive(Clone, Copy, Debug)]
pub struct Suggestion {
    /// Pressure at which the switch starts the pump.
    pub cut_in: Quantity,
    /// Pressure at which the switch stops the pump.
    pub cut_out: Quantity,
    /// Whether they keep the usual margins.
    pub keeps_margins: bool,
}
