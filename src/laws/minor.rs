//! Minor losses: the loss of a fitting or valve from its K, and K from what else may be known of it.
//!
//! K counts velocity heads at the diameter it is said for. The fittings themselves live in `fittings.rs`.

use super::error::{LawError, not_negative, positive};
use super::friction::Loss;
use super::section::area_m2;
use crate::quantity::{GPM_M3_PER_S, PSI_PA};

/// K of the exit of a pipe into a tank or the open: the whole velocity head is lost.
///
/// Source: Borda-Carnot with an endless large diameter; TP-410, K factor table (from memory).
pub const EXIT_K: f64 = 1.0;

/// Density of the water that Cv and Kv count from, kg/m3.
///
/// Source: IEC 60534-2-1 takes the relative density of water at 15 degC as 1 for both (from memory); Cv is said for water
/// at 60 degF, which is 0.01 % lighter.
pub const VALVE_COEFFICIENT_DENSITY_KG_PER_M3: f64 = 999.1;

/// Flow through Cv = 1 and the drop that drives it: one US gallon a minute at 1 psi.
const CV_FLOW_M3_PER_S: f64 = GPM_M3_PER_S;
const CV_DROP_PA: f64 = PSI_PA;
/// Flow through Kv = 1 and the drop that drives it: one cubic meter an hour at 1 bar.
const KV_FLOW_M3_PER_S: f64 = 1.0 / 3600.0;
const KV_DROP_PA: f64 = 1e5;

/// A fitting made ready for many evaluations of its loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MinorLoss {
    /// Loss = this x flow x |flow|, Pa s2/m6.
    pub loss_per_flow2: f64,
}

impl MinorLoss {
    /// `k` is zero or more, for the diameter `diameter_m`; diameter and density are above zero.
    ///
    /// Errors: [`LawError`] names the number that is not in range.
    /// Source: definition of K, dp = K rho v^2/2.
    #[inline]
    pub fn new(k: f64, diameter_m: f64, density_kg_per_m3: f64) -> Result<MinorLoss, LawError> {
        not_negative("loss coefficient K", k, "")?;
        let area_m2 = area_m2(positive("diameter", diameter_m, "m")?);
        let density_kg_per_m3 = positive("density", density_kg_per_m3, "kg/m3")?;
        Ok(MinorLoss { loss_per_flow2: MinorLoss::per_flow2(k, area_m2, density_kg_per_m3) })
    }

    /// Loss over flow x |flow|, Pa s2/m6, of numbers that are in range.
    #[inline]
    pub fn per_flow2(k: f64, area_m2: f64, density_kg_per_m3: f64) -> f64 {
        k * density_kg_per_m3 / (2.0 * area_m2 * area_m2)
    }

    /// Loss and slope at a flow of either sign. The slope is zero at rest: a solver that divides by it sets its own floor.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64) -> Loss {
        let steepness = self.loss_per_flow2 * flow_m3_per_s.abs();
        Loss { loss_pa: steepness * flow_m3_per_s, slope_pa_s_per_m3: 2.0 * steepness }
    }
}

/// K at a diameter from the flow coefficient Cv (gallons a minute through it at 1 psi).
///
/// Errors: Cv and diameter must be above zero.
/// Source: definition of Cv, Q = Cv sqrt(dp/SG), put into dp = K rho v^2/2.
pub fn k_from_cv(cv_gpm_per_sqrt_psi: f64, diameter_m: f64) -> Result<f64, LawError> {
    let flow = positive("flow coefficient Cv", cv_gpm_per_sqrt_psi, "gpm/sqrt(psi)")? * CV_FLOW_M3_PER_S;
    k_from_pair(flow, CV_DROP_PA, VALVE_COEFFICIENT_DENSITY_KG_PER_M3, diameter_m)
}

/// Cv from K at a diameter, in gallons a minute at 1 psi; the inverse of [`k_from_cv`]. Errors: K and diameter must be above zero.
pub fn cv_from_k(k: f64, diameter_m: f64) -> Result<f64, LawError> {
    Ok(flow_of_k(k, diameter_m, CV_DROP_PA, VALVE_COEFFICIENT_DENSITY_KG_PER_M3)? / CV_FLOW_M3_PER_S)
}

/// K at a diameter from the flow coefficient Kv (cubic meters an hour through it at 1 bar). Errors: both must be above zero.
///
/// Source: definition of Kv in IEC 60534-1.
pub fn k_from_kv(kv_m3_per_h_per_sqrt_bar: f64, diameter_m: f64) -> Result<f64, LawError> {
    let flow = positive("flow coefficient Kv", kv_m3_per_h_per_sqrt_bar, "m3/h/sqrt(bar)")? * KV_FLOW_M3_PER_S;
    k_from_pair(flow, KV_DROP_PA, VALVE_COEFFICIENT_DENSITY_KG_PER_M3, diameter_m)
}

/// Flow through a valve of a Cv at a pressure drop, m3/s.
///
/// Errors: Cv and density must be above zero, the drop must not be below zero.
/// Source: definition of Cv, Q = Cv sqrt(dp/SG).
pub fn flow_through_cv(cv_gpm_per_sqrt_psi: f64, drop_pa: f64, density_kg_per_m3: f64) -> Result<f64, LawError> {
    let cv = positive("flow coefficient Cv", cv_gpm_per_sqrt_psi, "gpm/sqrt(psi)")?;
    let drop = not_negative("pressure drop", drop_pa, "Pa")? / CV_DROP_PA;
    let specific_gravity = positive("density", density_kg_per_m3, "kg/m3")? / VALVE_COEFFICIENT_DENSITY_KG_PER_M3;
    Ok(cv * CV_FLOW_M3_PER_S * (drop / specific_gravity).sqrt())
}

/// K at a diameter from one measured pair of flow and pressure drop. Errors: all must be above zero.
///
/// Source: definition of K.
pub fn k_from_pair(flow_m3_per_s: f64, drop_pa: f64, density_kg_per_m3: f64, diameter_m: f64) -> Result<f64, LawError> {
    let speed = positive("flow", flow_m3_per_s, "m3/s")? / area_m2(positive("diameter", diameter_m, "m")?);
    let drop = positive("pressure drop", drop_pa, "Pa")?;
    Ok(2.0 * drop / (positive("density", density_kg_per_m3, "kg/m3")? * speed * speed))
}

/// K of a sudden expansion, for the smaller diameter.
///
/// Errors: diameters must be above zero and in that order.
/// Source: Borda-Carnot, K = (1 - (d/D)^2)^2.
pub fn sudden_expansion_k(from_bore_m: f64, to_bore_m: f64) -> Result<f64, LawError> {
    let ratio = area_ratio(from_bore_m, to_bore_m)?;
    if ratio > 1.0 {
        return Err(LawError::WrongWay { change: "expansion", from_m: from_bore_m, to_m: to_bore_m });
    }
    Ok((1.0 - ratio) * (1.0 - ratio))
}

/// K of a sudden contraction, for the smaller diameter.
///
/// Errors: diameters must be above zero and in that order.
/// Source: TP-410, Flow of Fluids Through Valves, Fittings and Pipe (1976 and later editions), formula 1 of the K factor
/// table at 180 degrees, K = 0.5 (1 - (d/D)^2).
pub fn sudden_contraction_k(from_bore_m: f64, to_bore_m: f64) -> Result<f64, LawError> {
    let ratio = area_ratio(to_bore_m, from_bore_m)?;
    if ratio > 1.0 {
        return Err(LawError::WrongWay { change: "contraction", from_m: from_bore_m, to_m: to_bore_m });
    }
    Ok(0.5 * (1.0 - ratio))
}

/// K of a fitting with the equivalent length n diameters: K = n fT.
///
/// Errors: neither may be below zero. Source: TP-410, K factor table.
pub fn k_from_multiplier(n_diameters: f64, fully_turbulent_factor: f64) -> Result<f64, LawError> {
    Ok(not_negative("equivalent length in diameters", n_diameters, "")?
        * not_negative("friction factor", fully_turbulent_factor, "")?)
}

/// The friction factor in complete turbulence, fT. Errors: the relative roughness must be above zero.
///
/// Source: Nikuradse, the limit of Colebrook-White for endless Re: 1/sqrt(f) = 2 log10(3.7 D/e).
pub fn fully_turbulent_factor(relative_roughness: f64) -> Result<f64, LawError> {
    let x = -2.0 * (positive("relative roughness", relative_roughness, "")? / 3.7).log10();
    Ok(1.0 / (x * x))
}

fn flow_of_k(k: f64, diameter_m: f64, drop_pa: f64, density_kg_per_m3: f64) -> Result<f64, LawError> {
    let k = positive("loss coefficient K", k, "")?;
    Ok(area_m2(positive("diameter", diameter_m, "m")?) * (2.0 * drop_pa / (k * density_kg_per_m3)).sqrt())
}

/// Area of one diameter over that of another.
fn area_ratio(diameter_m: f64, other_bore_m: f64) -> Result<f64, LawError> {
    let ratio = positive("diameter", diameter_m, "m")? / positive("diameter", other_bore_m, "m")?;
    Ok(ratio * ratio)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn wrong_numbers_are_named() {
        assert!(matches!(MinorLoss::new(-1.0, 0.01, 999.1), Err(LawError::Negative { what: "loss coefficient K", .. })));
        assert!(matches!(MinorLoss::new(1.0, 0.0, 999.1), Err(LawError::NotPositive { what: "diameter", .. })));
        assert!(matches!(k_from_cv(f64::NAN, 0.01), Err(LawError::NotPositive { .. })));
        assert!(matches!(sudden_expansion_k(0.02, 0.01), Err(LawError::WrongWay { .. })));
        assert!(matches!(sudden_contraction_k(0.01, 0.02), Err(LawError::WrongWay { .. })));
    }

    #[test]
    fn kv_is_0_865_cv() {
        // The factor between the two as printed in IEC 60534-1, Kv = 0.865 Cv (from memory), is rounded to three digits.
        let k = k_from_kv(1.0, 0.02).expect("good numbers");
        assert_relative_eq!(cv_from_k(k, 0.02).expect("good numbers"), 1.0 / 0.865, max_relative = 5e-4);
    }

    proptest! {
        #[test]
        fn cv_comes_back_from_k(c in 0.01f64..1e3, diameter in 1e-3f64..0.1) {
            let cv = cv_from_k(k_from_cv(c, diameter).expect("good"), diameter).expect("good");
            prop_assert!((cv / c - 1.0).abs() < 1e-12);
        }

        #[test]
        fn a_valve_of_a_cv_loses_the_drop_that_drives_it(cv in 0.1f64..100.0, drop in 1.0f64..1e6, diameter in 5e-3f64..0.05) {
            let flow = flow_through_cv(cv, drop, 999.1).expect("good");
            let valve = MinorLoss::new(k_from_cv(cv, diameter).expect("good"), diameter, 999.1).expect("good");
            prop_assert!((valve.loss(flow).loss_pa / drop - 1.0).abs() < 1e-9);
        }

        #[test]
        fn slope_equals_the_finite_difference_and_sign_follows_the_flow(flow in 1e-6f64..1e-2, k in 0.01f64..50.0) {
            let fitting = MinorLoss::new(k, 0.015, 999.1).expect("good");
            let step = flow * 1e-5;
            let difference = (fitting.loss(flow + step).loss_pa - fitting.loss(flow - step).loss_pa) / (2.0 * step);
            prop_assert!((difference / fitting.loss(flow).slope_pa_s_per_m3 - 1.0).abs() < 1e-8);
            prop_assert_eq!(fitting.loss(-flow).loss_pa, -fitting.loss(flow).loss_pa);
        }
    }
}
