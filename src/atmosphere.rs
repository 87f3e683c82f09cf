//! Pressure of the standard atmosphere by elevation: what pushes water into a pump and keeps it from boiling there.
//!
//! Nothing is known here of weather: the true pressure moves by some 3 kPa either way (common practice).

use crate::quantity::{Quantity, STANDARD_ATMOSPHERE_PA, STANDARD_GRAVITY_M_PER_S2, UnitSystem, dim};
use crate::told::Told;
use thiserror::Error;

/// Pressure of the standard atmosphere at sea level, Pa absolute (ISO 2533, NIST SP 811).
pub const SEA_LEVEL_PRESSURE_PA: f64 = STANDARD_ATMOSPHERE_PA;
/// Lowest elevation that is accepted, m; the lowest land lies at about -430 m.
const LOWEST_ELEVATION_M: f64 = -500.0;
/// Highest elevation that is accepted, m: the end of the lowest layer of the standard atmosphere.
const HIGHEST_ELEVATION_M: f64 = 11_000.0;

/// An elevation for which there is no pressure.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum AtmosphereError {
    /// The elevation lies below or above what the standard atmosphere describes, or is not a number.
    #[error(
        "the elevation {elevation} is outside the range of the standard atmosphere, {} to {}",
        height(LOWEST_ELEVATION_M),
        height(HIGHEST_ELEVATION_M)
    )]
    OutOfRange {
        /// The elevation that was given, above sea level.
        elevation: Quantity,
    },
}

/// A height as this standard gives it, in meters, unless other units are chosen.
fn height(elevation_m: f64) -> Quantity {
    UnitSystem::AsWrittenMetric.quantity(elevation_m, dim::LENGTH)
}

impl Told for AtmosphereError {
    fn hint(&self) -> Option<String> {
        Some("give the height of the garden above sea level, such as 500.ft or 150.m".into())
    }

    fn about(&self) -> Option<String> {
        Some("altitude".into())
    }
}

/// Pressure of the standard atmosphere, Pa absolute, at an elevation above sea level from -500 m to 11,000 m.
///
/// Errors: an elevation outside that range, or not a number.
/// Source: U.S. Standard Atmosphere, 1976, equations 18 and 33a with the lapse rate of 6.5 K/km:
/// p = p0 (1 - L h/T0)^(g M/(R L)), h = r z/(r + z) being the geopotential height of the elevation z.
pub fn pressure_pa(elevation_m: f64) -> Result<f64, AtmosphereError> {
    const EARTH_RADIUS_M: f64 = 6_356_766.0;
    const LAPSE_RATE_K_PER_M: f64 = 6.5e-3;
    const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
    // Gravity 9.80665 m/s2, air 0.0289644 kg/mol, gas constant 8.31432 J/(mol K) as fixed in that standard.
    const EXPONENT: f64 = STANDARD_GRAVITY_M_PER_S2 * 0.028_964_4 / (8.314_32 * LAPSE_RATE_K_PER_M);
    if !(LOWEST_ELEVATION_M..=HIGHEST_ELEVATION_M).contains(&elevation_m) {
        return Err(AtmosphereError::OutOfRange { elevation: height(elevation_m) });
    }
    let height_m = EARTH_RADIUS_M * elevation_m / (EARTH_RADIUS_M + elevation_m);
    Ok(SEA_LEVEL_PRESSURE_PA * (1.0 - LAPSE_RATE_K_PER_M * height_m / SEA_LEVEL_TEMPERATURE_K).powf(EXPONENT))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn refuses_heights_outside_the_range_and_says_which() {
        assert!(pressure_pa(f64::NAN).is_err());
        let error = pressure_pa(12_000.0).expect_err("above the range");
        insta::assert_snapshot!(error.to_string(), @"the elevation 12000 m is outside the range of the standard atmosphere, -500 m to 11000 m");
    }

    #[test]
    fn sea_level_is_the_standard_atmosphere() {
        assert_eq!(pressure_pa(0.0), Ok(SEA_LEVEL_PRESSURE_PA));
    }

    #[test]
    fn pressures_are_those_of_the_standard_to_all_printed_digits() {
        // Computed by fluids 1.3.1, ATMOSPHERE_1976; the last of ten digits is rounded.
        for (elevation_m, expected_pa) in [(200.0, 98_945.399_79), (1000.0, 89_876.285_19), (2000.0, 79_501.424_64)] {
            approx::assert_relative_eq!(pressure_pa(elevation_m).expect("in range"), expected_pa, max_relative = 1e-8);
        }
    }

    proptest! {
        #[test]
        fn pressure_falls_with_height(low in -500.0f64..10_000.0, more in 0.1f64..1000.0) {
            prop_assert!(pressure_pa(low + more).expect("in range") < pressure_pa(low).expect("in range"));
        }
    }
}
