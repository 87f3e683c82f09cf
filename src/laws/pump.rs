//! Power of a pump and how it changes with speed.
//!
//! Water power is what the water gets, shaft power what the pump takes, wire power what the meter counts.

use super::error::{LawError, fraction, not_negative, positive};

/// Power that goes into the water, W: flow x pressure rise.
///
/// With a head in meters the rise is rho g H. Source: definition of work, P = Q dp = rho g Q H.
pub fn water_power_w(flow_m3_per_s: f64, rise_pa: f64) -> f64 {
    flow_m3_per_s * rise_pa
}

/// Power at the shaft, W. Errors: the efficiency must be above 0 and at most 1.
///
/// Source: definition of the pump efficiency, water power over shaft power.
pub fn shaft_power_w(water_power_w: f64, pump_efficiency: f64) -> Result<f64, LawError> {
    Ok(water_power_w / fraction("pump efficiency", pump_efficiency)?)
}

/// Power from the mains, W. Errors: both efficiencies must be above 0 and at most 1.
///
/// Source: definition of the motor efficiency, shaft power over electric power.
pub fn wire_power_w(water_power_w: f64, pump_efficiency: f64, motor_efficiency: f64) -> Result<f64, LawError> {
    Ok(shaft_power_w(water_power_w, pump_efficiency)? / fraction("motor efficiency", motor_efficiency)?)
}

/// Efficiency of the motor of a small pump where it is not given: shaft power over electric power. Common practice, no source;
/// capacitor-start motors of 1/2 to 1 hp reach 0.5 to 0.65, capacitor-run motors 0.65 to 0.75.
pub const USUAL_MOTOR_EFFICIENCY: f64 = 0.6;

/// Power factor of a small single-phase motor where it is not given. Common practice, no source: near 0.7 with a starting capacitor
/// only, near 0.95 with a run capacitor.
pub const USUAL_POWER_FACTOR: f64 = 0.85;

/// Power that a motor takes from the mains, W, by the power at its shaft. Errors: the efficiency must be above 0 and at most 1.
///
/// Source: definition of the motor efficiency, shaft power over electric power.
pub fn wire_power_of_shaft_w(shaft_power_w: f64, motor_efficiency: f64) -> Result<f64, LawError> {
    Ok(positive("shaft power", shaft_power_w, "W")? / fraction("motor efficiency", motor_efficiency)?)
}

/// Power that a single-phase motor takes from the mains, W, by current and voltage of its nameplate. Errors: both must be above zero,
/// the power factor at most 1.
///
/// Source: definition of the power factor, real power over volts times amperes.
pub fn single_phase_power_w(current_a: f64, voltage_v: f64, power_factor: f64) -> Result<f64, LawError> {
    Ok(positive("current", current_a, "A")? * positive("voltage", voltage_v, "V")? * fraction("power factor", power_factor)?)
}

/// Affinity laws: how a pump changes when it turns faster or slower.
///
/// They hold point by point along the curve; efficiency is taken as unchanged, which is fair for speeds within some 20 %
/// (common practice). Source: DOE-HDBK-1012/3-92 (1992), HT-03 p. 50, pump laws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Affinity {
    ratio: f64,
}

impl Affinity {
    /// From one speed to another, in any unit of speed. Errors: the old speed must be above zero, the new one not below.
    pub fn new(from_speed: f64, to_speed: f64) -> Result<Affinity, LawError> {
        let from = positive("pump speed", from_speed, "")?;
        Ok(Affinity { ratio: not_negative("new pump speed", to_speed, "")? / from })
    }

    /// Flow goes with the speed; the unit is kept.
    pub fn flow(&self, flow: f64) -> f64 {
        flow * self.ratio
    }

    /// Head, rise and required NPSH go with the square of the speed; the unit is kept.
    pub fn rise(&self, rise: f64) -> f64 {
        rise * self.ratio * self.ratio
    }

    /// Power goes with the cube of the speed; the unit is kept.
    pub fn power(&self, power: f64) -> f64 {
        power * self.ratio * self.ratio * self.ratio
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::told::Told;
    use proptest::prelude::*;

    #[test]
    fn an_efficiency_in_per_cent_is_refused_with_a_hint() {
        let error = shaft_power_w(100.0, 45.0).expect_err("45 is not a fraction");
        assert_eq!(error.hint().as_deref(), Some("write 45% as 0.45"));
        assert!(wire_power_w(100.0, 0.45, 0.0).is_err());
        assert!(Affinity::new(0.0, 10.0).is_err());
    }

    #[test]
    fn power_of_a_nameplate() {
        // 115 V, 8 A, power factor 0.85; half a horsepower of 745.7 W at 60 %.
        assert_eq!(single_phase_power_w(8.0, 115.0, USUAL_POWER_FACTOR), Ok(782.0));
        let power_w = wire_power_of_shaft_w(0.5 * 745.7, USUAL_MOTOR_EFFICIENCY).expect("good");
        assert!((power_w - 621.42).abs() < 0.01, "{power_w}");
        assert!(single_phase_power_w(8.0, 0.0, 0.9).is_err() && single_phase_power_w(8.0, 115.0, 90.0).is_err());
    }

    proptest! {
        #[test]
        fn affinity_keeps_power_equal_to_flow_times_rise(flow in 0.0f64..1e-2, rise in 0.0f64..1e6, speed in 0.1f64..2.0) {
            let scaled = Affinity::new(1.0, speed).expect("good");
            let power = scaled.power(water_power_w(flow, rise));
            let product = water_power_w(scaled.flow(flow), scaled.rise(rise));
            prop_assert!((power - product).abs() <= 1e-12 * power);
        }

        #[test]
        fn wire_exceeds_shaft_exceeds_water(water in 1.0f64..1e4, pump in 0.05f64..0.99, motor in 0.05f64..0.99) {
            let shaft = shaft_power_w(water, pump).expect("good");
            let wire = wire_power_w(water, pump, motor).expect("good");
            prop_assert!(wire > shaft && shaft > water);
        }
    }
}
