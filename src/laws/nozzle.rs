//! Flow out of a nozzle into the open: q = Cd A sqrt(2 P/rho).
//!
//! Pressure is gauge and taken right before the nozzle. No air enters: at or below zero pressure a nozzle is dry.

use super::error::{LawError, not_negative, positive};
use super::friction::Loss;
use super::section::area_m2;

/// Discharge coefficient of a nozzle unless rated. Common practice, no source:
/// smooth straight-diameter nozzles have 0.95 to 0.98.
pub const DEFAULT_DISCHARGE_COEFFICIENT: f64 = 0.96;

/// A nozzle made ready for many evaluations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nozzle {
    /// Flow = this x sqrt(pressure), m3/s/sqrt(Pa).
    pub flow_per_sqrt_pa: f64,
}

/// Flow of a nozzle and its slope at one pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Discharge {
    /// Flow at that pressure, m3/s; zero when dry.
    pub flow_m3_per_s: f64,
    /// Derivative of the flow to the pressure, m3/s/Pa; zero when dry, without bound as the pressure falls to zero.
    pub slope_m3_per_s_pa: f64,
}

impl Nozzle {
    /// All arguments are above zero. A coefficient above 1 is accepted: it means that the true diameter is larger than said.
    ///
    /// Errors: [`LawError`] names the number that is not above zero.
    /// Source: Torricelli with a discharge coefficient, q = Cd A sqrt(2 P/rho).
    pub fn new(discharge_coefficient: f64, diameter_m: f64, density_kg_per_m3: f64) -> Result<Nozzle, LawError> {
        let coefficient = positive("discharge coefficient", discharge_coefficient, "")?;
        let area_m2 = area_m2(positive("nozzle diameter", diameter_m, "m")?);
        let density = positive("density", density_kg_per_m3, "kg/m3")?;
        Ok(Nozzle { flow_per_sqrt_pa: coefficient * area_m2 * (2.0 / density).sqrt() })
    }

    /// A nozzle, emitter or leak known by one pair of flow and pressure. Errors: both must be above zero.
    pub fn rated(flow_m3_per_s: f64, pressure_pa: f64) -> Result<Nozzle, LawError> {
        let flow = positive("rated flow", flow_m3_per_s, "m3/s")?;
        Ok(Nozzle { flow_per_sqrt_pa: flow / positive("rated pressure", pressure_pa, "Pa")?.sqrt() })
    }

    /// Flow at a gauge pressure, m3/s; zero at or below zero pressure.
    #[inline]
    pub fn flow_m3_per_s(&self, pressure_pa: f64) -> f64 {
        if pressure_pa > 0.0 { self.flow_per_sqrt_pa * pressure_pa.sqrt() } else { 0.0 }
    }

    /// Flow and its slope at a gauge pressure; both zero at or below zero pressure.
    #[inline]
    pub fn discharge(&self, pressure_pa: f64) -> Discharge {
        if pressure_pa <= 0.0 {
            return Discharge { flow_m3_per_s: 0.0, slope_m3_per_s_pa: 0.0 };
        }
        let flow_m3_per_s = self.flow_per_sqrt_pa * pressure_pa.sqrt();
        Discharge { flow_m3_per_s, slope_m3_per_s_pa: 0.5 * flow_m3_per_s / pressure_pa }
    }

    /// Gauge pressure that a flow needs, Pa, and its slope; the loss seen by the network. Flow of either sign.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64) -> Loss {
        let steepness = flow_m3_per_s.abs() / (self.flow_per_sqrt_pa * self.flow_per_sqrt_pa);
        Loss { loss_pa: steepness * flow_m3_per_s, slope_pa_s_per_m3: 2.0 * steepness }
    }
}

/// Speed of the jet without losses, m/s; zero at or below zero pressure.
///
/// Source: Torricelli, v = sqrt(2 P/rho).
pub fn jet_speed_m_per_s(pressure_pa: f64, density_kg_per_m3: f64) -> f64 {
    (2.0 * pressure_pa.max(0.0) / density_kg_per_m3).sqrt()
}

/// Flow at another pressure, from one rated pair, m3/s.
///
/// Errors: the rated pair must be above zero, the pressure not below. Source: square-root law of nozzle flow.
pub fn flow_from_rated_m3_per_s(rated_flow_m3_per_s: f64, rated_pressure_pa: f64, pressure_pa: f64) -> Result<f64, LawError> {
    let nozzle = Nozzle::rated(rated_flow_m3_per_s, rated_pressure_pa)?;
    Ok(nozzle.flow_m3_per_s(not_negative("pressure", pressure_pa, "Pa")?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const DENSITY: f64 = 999.1;

    #[test]
    fn a_nozzle_is_dry_at_or_below_zero_pressure() {
        let nozzle = Nozzle::new(0.96, 0.004, DENSITY).expect("good");
        for pressure in [0.0, -1.0, -1e5] {
            assert_eq!(nozzle.flow_m3_per_s(pressure), 0.0);
            assert_eq!(nozzle.discharge(pressure), Discharge { flow_m3_per_s: 0.0, slope_m3_per_s_pa: 0.0 });
        }
        assert_eq!(jet_speed_m_per_s(-5.0, DENSITY), 0.0);
    }

    #[test]
    fn wrong_numbers_are_named() {
        assert!(matches!(Nozzle::new(0.96, 0.0, DENSITY), Err(LawError::NotPositive { what: "nozzle diameter", .. })));
        assert!(matches!(Nozzle::rated(1e-4, 0.0), Err(LawError::NotPositive { what: "rated pressure", .. })));
        assert!(matches!(flow_from_rated_m3_per_s(1e-4, 2e5, -1.0), Err(LawError::Negative { what: "pressure", .. })));
    }

    proptest! {
        #[test]
        fn a_rated_pair_reproduces_itself(flow in 1e-6f64..1e-2, pressure in 1e3f64..1e6) {
            let back = Nozzle::rated(flow, pressure).expect("good").flow_m3_per_s(pressure);
            prop_assert!((back / flow - 1.0).abs() < 1e-12);
        }

        #[test]
        fn the_pressure_that_a_flow_needs_gives_that_flow(pressure in 1.0f64..1e6) {
            let nozzle = Nozzle::new(0.96, 0.004, DENSITY).expect("good");
            let back = nozzle.loss(nozzle.flow_m3_per_s(pressure)).loss_pa;
            prop_assert!((back / pressure - 1.0).abs() < 1e-12);
        }

        #[test]
        fn slopes_equal_the_finite_differences(pressure in 1e2f64..1e6) {
            let nozzle = Nozzle::new(0.96, 0.004, DENSITY).expect("good");
            let step = pressure * 1e-5;
            let found = nozzle.discharge(pressure);
            let by_pressure = (nozzle.flow_m3_per_s(pressure + step) - nozzle.flow_m3_per_s(pressure - step)) / (2.0 * step);
            prop_assert!((by_pressure / found.slope_m3_per_s_pa - 1.0).abs() < 1e-8);
            let slope = nozzle.loss(found.flow_m3_per_s).slope_pa_s_per_m3;
            prop_assert!((slope * found.slope_m3_per_s_pa - 1.0).abs() < 1e-12, "the two slopes are inverse");
        }
    }
}
