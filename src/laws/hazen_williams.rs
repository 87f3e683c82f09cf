//! The Hazen-Williams formula: an older, empirical law for water in pipes, the basis of many printed hose and pipe tables.
//!
//! The program itself computes with `friction.rs`; this is for comparing with such tables. Water near 15 degC only.

use super::error::{LawError, not_negative, positive};
use super::friction::Loss;
use super::powers::Powers;
use crate::numeric::power;
use crate::quantity::{FOOT_M, GPM_M3_PER_S, INCH_M, PSI_PA};

/// Power of the flow and of C.
const FLOW_POWER: f64 = 1.852;
/// Power of the diameter.
const BORE_POWER: f64 = 4.87;
/// The factor 4.52 psi/ft for gallons a minute and inches.
const PSI_PER_FOOT: f64 = 4.52;

/// A pipe under the Hazen-Williams formula.
#[derive(Clone, Copy, Debug)]
pub struct HazenWilliams {
    /// Loss at 1 gpm, Pa.
    loss_at_gpm_pa: f64,
    /// The law through that.
    powers: Powers<f64>,
}

impl HazenWilliams {
    /// `length_m` is zero or more, `diameter_m` and the coefficient `c` (about 100 to 150) are above zero.
    ///
    /// Errors: [`LawError`] names the number that is not in range.
    /// Source: US form of A. Hazen and G. S. Williams, Hydraulic Tables (1905), dp = 4.52 Q^1.852/(C^1.852 d^4.87) psi/ft
    /// with gpm and inches (NFPA 13, friction loss formula, from memory), converted exactly to SI.
    pub fn new(length_m: f64, diameter_m: f64, c: f64) -> Result<HazenWilliams, LawError> {
        let length_ft = not_negative("length", length_m, "m")? / FOOT_M;
        let diameter_in = positive("diameter", diameter_m, "m")? / INCH_M;
        let c = positive("Hazen-Williams coefficient C", c, "")?;
        let loss_at_gpm_pa = PSI_PER_FOOT * PSI_PA * length_ft * power(c, -FLOW_POWER) * power(diameter_in, -BORE_POWER);
        Ok(HazenWilliams { loss_at_gpm_pa, powers: Powers::through(GPM_M3_PER_S, loss_at_gpm_pa, FLOW_POWER) })
    }

    /// Loss and slope at a flow of either sign; the slope is zero at rest.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64) -> Loss {
        self.powers.at(flow_m3_per_s)
    }

    /// Its law as a power of the flow.
    pub fn powers(&self) -> Powers<f64> {
        self.powers
    }

    /// The flow that loses this pressure, m3/s: what an open hose gives when all of the inlet pressure is lost in it.
    ///
    /// The velocity head at the open end is neglected. Errors: the loss must not be below zero, the length not be zero.
    pub fn flow_at_loss(&self, loss_pa: f64) -> Result<f64, LawError> {
        let loss_pa = not_negative("pressure loss", loss_pa, "Pa")?;
        let at_gpm_pa = positive("length of the hose", self.loss_at_gpm_pa, "")?;
        let share = loss_pa / at_gpm_pa;
        Ok(if share > 0.0 { GPM_M3_PER_S * power(share, 1.0 / FLOW_POWER) } else { 0.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn wrong_numbers_are_named() {
        assert!(matches!(HazenWilliams::new(30.0, 0.0, 140.0), Err(LawError::NotPositive { what: "diameter", .. })));
        assert!(matches!(HazenWilliams::new(-1.0, 0.01, 140.0), Err(LawError::Negative { what: "length", .. })));
        let hose = HazenWilliams::new(0.0, 0.01, 140.0).expect("a hose of no length");
        assert!(hose.flow_at_loss(1e5).is_err());
    }

    proptest! {
        #[test]
        fn the_flow_at_a_loss_has_that_loss(loss in 1.0f64..1e6, diameter in 5e-3f64..0.05) {
            let hose = HazenWilliams::new(30.0, diameter, 140.0).expect("good");
            let back = hose.loss(hose.flow_at_loss(loss).expect("good")).loss_pa;
            prop_assert!((back / loss - 1.0).abs() < 1e-10);
        }

        #[test]
        fn slope_equals_the_finite_difference_and_sign_follows_the_flow(flow in 1e-6f64..1e-2) {
            let hose = HazenWilliams::new(30.0, 0.015, 140.0).expect("good");
            let step = flow * 1e-5;
            let difference = (hose.loss(flow + step).loss_pa - hose.loss(flow - step).loss_pa) / (2.0 * step);
            prop_assert!((difference / hose.loss(flow).slope_pa_s_per_m3 - 1.0).abs() < 1e-8);
            prop_assert_eq!(hose.loss(-flow).loss_pa, -hose.loss(flow).loss_pa);
        }
    }
}
