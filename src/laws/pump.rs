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
