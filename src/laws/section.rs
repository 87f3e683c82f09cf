//! The cross section of a round pipe: area, speed and velocity head.

use crate::quantity::STANDARD_GRAVITY_M_PER_S2;
use std::f64::consts::PI;

/// Area of a round diameter, m2.
#[inline]
pub fn area_m2(diameter_m: f64) -> f64 {
    PI * diameter_m * diameter_m / 4.0
}

/// Mean velocity of a flow in a round diameter above zero, m/s, with the sign of the flow: v = Q/A.
#[inline]
pub fn speed_m_per_s(flow_m3_per_s: f64, diameter_m: f64) -> f64 {
    flow_m3_per_s / area_m2(diameter_m)
}

/// Velocity head, m: v^2/(2 g).
#[inline]
pub fn velocity_head_m(speed_m_per_s: f64) -> f64 {
    speed_m_per_s * speed_m_per_s / (2.0 * STANDARD_GRAVITY_M_PER_S2)
}

/// Pressure of a column of water, Pa: rho g h.
#[inline]
pub fn pressure_of_head_pa(head_m: f64, density_kg_per_m3: f64) -> f64 {
    density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * head_m
}

/// Height of the column of water that has this pressure, m: p/(rho g).
#[inline]
pub fn head_of_pressure_m(pressure_pa: f64, density_kg_per_m3: f64) -> f64 {
    pressure_pa / (density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn known_sections_and_columns_come_out() {
        // A one inch diameter has pi/4 in2; from memory a foot of water at 4 degC is 0.4335 psi and 1 m/s has 0.051 m of head.
        assert_relative_eq!(area_m2(0.0254), std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254, max_relative = 1e-6);
        assert_relative_eq!(pressure_of_head_pa(0.3048, 999.97) / 6894.757, 0.4335, max_relative = 1e-4);
        assert_relative_eq!(velocity_head_m(1.0), 0.05099, max_relative = 1e-4);
        assert_relative_eq!(speed_m_per_s(-1e-3, 0.05), -0.509_296, max_relative = 1e-6);
    }

    proptest! {
        #[test]
        fn heads_and_pressures_undo_each_other_and_tell_the_same(pressure_pa in -1e5f64..1e6, density in 950.0f64..1000.0, speed in -5.0f64..5.0) {
            let back_pa = pressure_of_head_pa(head_of_pressure_m(pressure_pa, density), density);
            prop_assert!((back_pa - pressure_pa).abs() <= 1e-9 * pressure_pa.abs());
            let by_head_pa = pressure_of_head_pa(velocity_head_m(speed), density);
            prop_assert!((by_head_pa - 0.5 * density * speed * speed).abs() <= 1e-9 * by_head_pa.abs());
        }
    }
}
