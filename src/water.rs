//! Liquid water between freezing and 60 degC near atmospheric pressure: density, viscosity, vapor pressure, speed of sound.
//!
//! Each correlation names its paper, their coefficients are from memory; every one is held against published
//! tables and the international standard formulation by `tests/checks/water_properties.csv`.
//! Nothing is known here of pipes, gardens or the weather.

use crate::numeric::power;
use crate::quantity::show_number;
use crate::quantity::{STANDARD_ATMOSPHERE_PA, ZERO_CELSIUS_K};
use crate::told::Told;
use thiserror::Error;

/// Temperature of water by default, K (15 degC).
pub const DEFAULT_TEMPERATURE_K: f64 = 288.15;
/// Density of water at 15 degC, kg/m3, a fixed value of this program.
pub const DEFAULT_DENSITY_KG_PER_M3: f64 = 999.1;
/// Dynamic viscosity of water at 15 degC, Pa s, a fixed value of this program.
pub const DEFAULT_VISCOSITY_PA_S: f64 = 1.138e-3;
/// Coldest water that is accepted, K (0 degC).
const COLDEST_K: f64 = ZERO_CELSIUS_K;
/// Warmest water that is accepted, K (60 degC): up to here the correlations are checked.
const WARMEST_K: f64 = 333.15;

/// Slack for a temperature that was converted from another scale and back, K.
const ROUNDING_K: f64 = 1e-6;
/// Pressure at which the density is given, Pa absolute (the standard atmosphere).
const REFERENCE_PRESSURE_PA: f64 = STANDARD_ATMOSPHERE_PA;

/// Properties of water at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Its temperature, K: 273.15 to 333.15.
    pub temperature_k: f64,
    /// At atmospheric pressure; [`Water::density_at`] gives it at another one.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity.
    pub viscosity_pa_s: f64,
    /// Pressure at which it boils, absolute.
    pub vapor_pressure_pa: f64,
    /// In water without air and without a yielding wall around it.
    pub sound_speed_m_per_s: f64,
}

/// Why there is no water of that temperature.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum WaterError {
    /// The temperature is NaN.
    #[error("the water temperature is not a number")]
    NotANumber,
    /// The temperature is below 0 degC.
    #[error("water at {} is frozen; its properties are known from 0 degC (32 degF) to 60 degC (140 degF)", solution(*.temperature_k))]
    Frozen {
        /// The temperature that was given, K.
        temperature_k: f64,
    },
    /// The temperature is above 60 degC.
    #[error("water at {} is too hot; its properties are known from 0 degC (32 degF) to 60 degC (140 degF)", solution(*.temperature_k))]
    TooHot {
        /// The temperature that was given, K.
        temperature_k: f64,
    },
}

impl Told for WaterError {
    fn hint(&self) -> Option<String> {
        let hint = match self {
            WaterError::NotANumber => "give a temperature such as 15.degC or 59.degF",
            WaterError::Frozen { .. } => "drain the hoses for the winter, or give a temperature such as 15.degC or 59.degF",
            WaterError::TooHot { .. } => "garden water is rarely above 30.degC; check the unit of the temperature",
        };
        Some(hint.into())
    }

    fn about(&self) -> Option<String> {
        Some("temperature".into())
    }
}

impl Water {
    /// Water at a temperature from 0 degC to 60 degC; at 15 degC this is the same as [`Water::default`].
    ///
    /// Density and viscosity are multiplied by constant factors so that they pass through the fixed values at 15 degC:
    /// 0.4 parts in a million and 0.04 %, well inside the uncertainty of the correlations. So a sweep over temperature has
    /// no step at 15 degC.
    ///
    /// Errors: [`WaterError`] for a temperature that is not a number, below freezing or above the range.
    pub fn at(temperature_k: f64) -> Result<Water, WaterError> {
        if temperature_k.is_nan() {
            return Err(WaterError::NotANumber);
        }
        if temperature_k < COLDEST_K - ROUNDING_K {
            return Err(WaterError::Frozen { temperature_k });
        }
        if temperature_k > WARMEST_K + ROUNDING_K {
            return Err(WaterError::TooHot { temperature_k });
        }
        Ok(Water::of(temperature_k))
    }

    /// Bulk modulus at constant entropy, Pa: rho w^2, the one that counts for pressure waves.
    pub fn bulk_modulus_pa(&self) -> f64 {
        self.density_kg_per_m3 * self.sound_speed_m_per_s * self.sound_speed_m_per_s
    }

    /// Kinematic viscosity, m2/s.
    pub fn kinematic_viscosity_m2_per_s(&self) -> f64 {
        self.viscosity_pa_s / self.density_kg_per_m3
    }

    /// Density at an absolute pressure up to some 10 MPa, kg/m3.
    ///
    /// Source: definition of the bulk modulus, rho = rho0 / (1 - (p - p0)/K).
    pub fn density_at(&self, absolute_pressure_pa: f64) -> f64 {
        self.density_kg_per_m3 / (1.0 - (absolute_pressure_pa - REFERENCE_PRESSURE_PA) / self.bulk_modulus_pa())
    }

    fn of(temperature_k: f64) -> Water {
        let density_part = density(temperature_k) / density(DEFAULT_TEMPERATURE_K);
        let viscosity_part = viscosity(temperature_k) / viscosity(DEFAULT_TEMPERATURE_K);
        Water {
            temperature_k,
            density_kg_per_m3: DEFAULT_DENSITY_KG_PER_M3 * density_part,
            viscosity_pa_s: DEFAULT_VISCOSITY_PA_S * viscosity_part,
            vapor_pressure_pa: vapor_pressure(temperature_k),
            sound_speed_m_per_s: sound_speed(temperature_k),
        }
    }
}

impl Default for Water {
    /// Water at 15 degC: 999.1 kg/m3 and 1.138e-3 Pa s exactly.
    fn default() -> Water {
        Water::of(DEFAULT_TEMPERATURE_K)
    }
}

/// Density at 101.325 kPa, kg/m3; 0 to 150 degC.
///
/// Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, equation 16 (coefficients from memory).
fn density(temperature_k: f64) -> f64 {
    let t = temperature_k - ZERO_CELSIUS_K;
    let above = [999.839_52, 16.945_176, -7.987_040_1e-3, -46.170_461e-6, 105.563_02e-9, -280.542_53e-12];
    polynomial(&above, t) / (1.0 + 16.879_850e-3 * t)
}

/// Dynamic viscosity at 0.1 MPa, Pa s; 253 to 383 K, within 1 %.
///
/// Source: M. L. Huber et al., J. Phys. Chem. Ref. Data 38 (2009) 101, section 3.7, simplified correlation for liquid water
/// at 0.1 MPa, also in IAPWS R12-08 (coefficients from memory): mu = 1e-6 sum a (T/300 K)^b.
fn viscosity(temperature_k: f64) -> f64 {
    let t = temperature_k / 300.0;
    1e-6 * (280.68 * power(t, -1.9) + 511.45 * power(t, -7.7) + 61.131 * power(t, -19.6) + 0.459_03 * power(t, -40.0))
}

/// Vapor pressure, Pa absolute; from the triple point to the critical point.
///
/// Source: W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1 (coefficients from memory):
/// ln(p/pc) = (Tc/T)(a1 v + a2 v^1.5 + a3 v^3 + a4 v^3.5 + a5 v^4 + a6 v^7.5), v = 1 - T/Tc.
fn vapor_pressure(temperature_k: f64) -> f64 {
    const CRITICAL_TEMPERATURE_K: f64 = 647.096;
    const CRITICAL_PRESSURE_PA: f64 = 22.064e6;
    let v = 1.0 - temperature_k / CRITICAL_TEMPERATURE_K;
    let root = v.sqrt();
    let cube = v * v * v;
    let sum = -7.859_517_83 * v + 1.844_082_59 * v * root - 11.786_649_7 * cube + 22.680_741_1 * cube * root
        - 15.961_871_9 * cube * v
        + 1.801_225_02 * cube * cube * v * root;
    CRITICAL_PRESSURE_PA * (CRITICAL_TEMPERATURE_K / temperature_k * sum).exp()
}

/// Speed of sound at atmospheric pressure, m/s; 0 to 95 degC.
///
/// Source: W. Marczak, J. Acoust. Soc. Am. 102 (1997) 2776, equation 2 (coefficients from memory).
fn sound_speed(temperature_k: f64) -> f64 {
    let t = temperature_k - ZERO_CELSIUS_K;
    polynomial(&[1_402.385, 5.038_813, -5.799_136e-2, 3.287_156e-4, -1.398_845e-6, 2.787_860e-9], t)
}

/// c0 + c1 x + c2 x^2 + ..., by Horner's rule.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// A temperature on both scales, for messages.
fn solution(temperature_k: f64) -> String {
    let celsius = temperature_k - ZERO_CELSIUS_K;
    format!("{} degC ({} degF)", show_number(celsius), show_number(celsius * 1.8 + 32.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn celsius(t: f64) -> Water {
        Water::at(ZERO_CELSIUS_K + t).expect("a temperature in range")
    }

    #[test]
    fn water_at_15_degc_is_the_default_to_the_last_bit() {
        let water = Water::default();
        assert_eq!(water.density_kg_per_m3, 999.1);
        assert_eq!(water.viscosity_pa_s, 1.138e-3);
        assert_eq!(celsius(15.0), water);
    }

    #[test]
    fn the_correlations_themselves_agree_with_the_fixed_values() {
        // Kell 1975 and Huber et al. 2009; the factors in `Water::at` must stay inside what those correlations are worth.
        assert!((density(DEFAULT_TEMPERATURE_K) / DEFAULT_DENSITY_KG_PER_M3 - 1.0).abs() < 5e-6);
        assert!((viscosity(DEFAULT_TEMPERATURE_K) / DEFAULT_VISCOSITY_PA_S - 1.0).abs() < 1e-3);
    }

    #[test]
    fn the_coefficients_are_right_far_inside_the_tolerance_of_the_check_values() {
        // IAPWS-95 by iapws 1.5.5 at 101.325 kPa: degC, kg/m3, Pa s. The tolerances are just above the largest chi_square seen,
        // so that a slip in a coefficient cannot hide in the factors of `Water::at`.
        let cases = [
            (1.0, 999.901_837_6, 1.731_021_286e-3),
            (15.0, 999.102_621_5, 1.137_567_559e-3),
            (20.0, 998.207_150_5, 1.001_596_143e-3),
            (30.0, 995.649_453_9, 0.797_221_799_8e-3),
            (40.0, 992.216_352_9, 0.652_728_726_6e-3),
        ];
        for (t, expected_density, expected_viscosity) in cases {
            approx::assert_relative_eq!(density(ZERO_CELSIUS_K + t), expected_density, max_relative = 5e-6);
            approx::assert_relative_eq!(viscosity(ZERO_CELSIUS_K + t), expected_viscosity, max_relative = 5e-5);
        }
    }

    #[test]
    fn density_has_its_maximum_near_4_degc() {
        let density = |i: &i32| celsius(f64::from(*i) / 100.0).density_kg_per_m3;
        let densest = (0..1000).max_by(|a, b| density(a).total_cmp(&density(b))).expect("many temperatures");
        // 3.98 degC: IAPWS-95 (iapws 1.5.5).
        assert!((f64::from(densest) / 100.0 - 3.98).abs() < 0.03, "densest at {densest}/100 degC");
    }

    #[test]
    fn water_boils_at_100_degc_under_the_standard_atmosphere() {
        // 101.42 kPa at 100 degC: the modern scale puts the boiling point at 99.97 degC.
        assert!((vapor_pressure(373.15) - 101_420.0).abs() < 20.0);
    }

    #[test]
    fn the_ends_of_the_range_are_accepted_and_beyond_is_refused() {
        assert!(Water::at(COLDEST_K).is_ok() && Water::at(WARMEST_K).is_ok());
        assert_eq!(Water::at(f64::NAN), Err(WaterError::NotANumber));
        assert_eq!(Water::at(f64::INFINITY), Err(WaterError::TooHot { temperature_k: f64::INFINITY }));
        assert!(matches!(Water::at(15.0), Err(WaterError::Frozen { .. })));
    }

    #[test]
    fn refusals_say_what_is_known_and_what_to_do() {
        let text = |t: f64| {
            let error = Water::at(t).expect_err("outside the range");
            format!("{error}\n  {}", error.hint().unwrap_or_default())
        };
        insta::assert_snapshot!(format!("{}\n{}\n{}", text(f64::NAN), text(270.15), text(373.15)), @r"
        the water temperature is not a number
          give a temperature such as 15.degC or 59.degF
        water at -3 degC (26.6 degF) is frozen; its properties are known from 0 degC (32 degF) to 60 degC (140 degF)
          drain the hoses for the winter, or give a temperature such as 15.degC or 59.degF
        water at 100 degC (212 degF) is too hot; its properties are known from 0 degC (32 degF) to 60 degC (140 degF)
          garden water is rarely above 30.degC; check the unit of the temperature
        ");
    }

    proptest! {
        #[test]
        fn viscosity_falls_with_temperature(t in 0.0f64..59.9, step in 1e-4f64..0.1) {
            prop_assert!(celsius(t + step).viscosity_pa_s < celsius(t).viscosity_pa_s);
        }

        #[test]
        fn vapor_pressure_rises_with_temperature(t in 0.0f64..59.9, step in 1e-4f64..0.1) {
            prop_assert!(celsius(t + step).vapor_pressure_pa > celsius(t).vapor_pressure_pa);
        }

        #[test]
        fn density_rises_with_pressure(t in 0.0f64..60.0, pressure in 0.0f64..1e6, more in 1.0f64..1e6) {
            let water = celsius(t);
            prop_assert!(water.density_at(pressure + more) > water.density_at(pressure));
        }
    }
}
