//! The cross section of a round pipe: area, speed and velocity head.

use crate::quantity::STANDARD_GRAVITY_M_PER_S2;
use std::f64::consts::PI;

/// Area of a round diameter, m2.
#[inline]
pub fn area_m2(diameter_m: f64) -> f64 {
    PI * diameter_m * diameter_m / 4.0
}

/// Mean speed of a flow in a round diameter above zero, m/s, with the sign of the flow: v = Q/A.
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
