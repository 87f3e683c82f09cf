//! Net positive suction head: how far the water at the inlet of a pump is from boiling there.
//!
//! A pump whose available head is below what it requires cavitates: it rattles, wears and loses its rise.

use super::section::{head_of_pressure_m, velocity_head_m};
use crate::water::Water;

/// What stands before the inlet of a pump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suction {
    /// Pressure of the atmosphere, Pa absolute.
    pub atmosphere_pa: f64,
    /// Gauge pressure on the water where it comes from, Pa: zero for an open tank or pond.
    pub supply_pressure_pa: f64,
    /// Height of that water above the pump, m; below zero for a lift.
    pub static_head_m: f64,
    /// Losses between there and the pump, m of water.
    pub loss_head_m: f64,
}

impl Suction {
    /// Available net positive suction head, m of water; below zero when the water boils before it reaches the pump.
    ///
    /// Source: definition, ISO 17769-1 (from memory): NPSHA = (pa + p - pv)/(rho g) + z - hl.
    pub fn available_m(&self, water: &Water) -> f64 {
        let pressure_pa = self.atmosphere_pa + self.supply_pressure_pa - water.vapor_pressure_pa;
        head_of_pressure_m(pressure_pa, water.density_kg_per_m3) + self.static_head_m - self.loss_head_m
    }

    /// Least height of the water above the pump at which the required head is just there, m; below zero is a greatest lift.
    ///
    /// `static_head_m` of this suction plays no part. Source: the definition above, solved for z.
    pub fn least_static_head_m(&self, required_m: f64, water: &Water) -> f64 {
        required_m - (self.available_m(water) - self.static_head_m)
    }
}

/// Available net positive suction head from a gauge solution at the inlet, m of water.
///
/// `gauge_above_pump_m` is the height of the gauge above the middle of the pump; `speed_m_per_s` the mean speed in the
/// suction pipe at the gauge. Source: Hydraulic Institute definition, NPSHA = (pa + pg - pv)/(rho g) + v^2/(2 g) + zg.
pub fn available_from_gauge_m(
    atmosphere_pa: f64,
    gauge_pressure_pa: f64,
    gauge_above_pump_m: f64,
    speed_m_per_s: f64,
    water: &Water,
) -> f64 {
    let pressure_pa = atmosphere_pa + gauge_pressure_pa - water.vapor_pressure_pa;
    head_of_pressure_m(pressure_pa, water.density_kg_per_m3) + velocity_head_m(speed_m_per_s) + gauge_above_pump_m
}

/// Gauge pressure at which water boils or parts, Pa; it holds no less in a steady state.
pub fn vapor_gauge_pa(atmosphere_pa: f64, water: &Water) -> f64 {
    water.vapor_pressure_pa - atmosphere_pa
}

/// Pressure of the atmosphere as a column of water, m.
pub fn atmospheric_head_m(atmosphere_pa: f64, water: &Water) -> f64 {
    head_of_pressure_m(atmosphere_pa, water.density_kg_per_m3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::atmosphere;
    use crate::quantity::ZERO_CELSIUS_K;
    use proptest::prelude::*;

    fn suction(elevation_m: f64, static_head_m: f64) -> Suction {
        Suction {
            atmosphere_pa: atmosphere::pressure_pa(elevation_m).expect("in range"),
            supply_pressure_pa: 0.0,
            static_head_m,
            loss_head_m: 0.5,
        }
    }

    proptest! {
        #[test]
        fn available_head_of_an_open_tank_falls_with_temperature(t in 5.0f64..59.0, more in 0.01f64..1.0, z in -5.0f64..5.0) {
            let at = |t: f64| suction(0.0, z).available_m(&Water::at(ZERO_CELSIUS_K + t).expect("in range"));
            prop_assert!(at(t + more) < at(t));
        }

        #[test]
        fn available_head_falls_with_elevation(low in 0.0f64..3000.0, more in 1.0f64..1000.0) {
            let at = |elevation| suction(elevation, 1.0).available_m(&Water::default());
            prop_assert!(at(low + more) < at(low));
        }

        #[test]
        fn at_the_least_static_head_the_required_head_is_there(required in 0.5f64..10.0, elevation in 0.0f64..3000.0) {
            let water = Water::default();
            let least = suction(elevation, 3.0).least_static_head_m(required, &water);
            prop_assert!((suction(elevation, least).available_m(&water) - required).abs() < 1e-9);
        }

        #[test]
        fn a_gauge_at_the_inlet_says_the_same_as_the_way_to_it(flow_head in 0.0f64..1.0, z in -4.0f64..4.0) {
            let water = Water::default();
            let from_tank = suction(0.0, z);
            let speed = (2.0 * crate::quantity::STANDARD_GRAVITY_M_PER_S2 * flow_head).sqrt();
            // Bernoulli from the surface of the tank to the gauge.
            let gauge_head = z - from_tank.loss_head_m - flow_head;
            let gauge_pa = super::super::section::pressure_of_head_pa(gauge_head, water.density_kg_per_m3);
            let by_gauge = available_from_gauge_m(from_tank.atmosphere_pa, gauge_pa, 0.0, speed, &water);
            prop_assert!((by_gauge - from_tank.available_m(&water)).abs() < 1e-9);
        }
    }
}
