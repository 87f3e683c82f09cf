//! A pressure that goes with a power of the flow, of one number or of several side by side, with the same bits on every processor.

use super::friction::Loss;
use crate::numeric::lanes::Numbers;
use crate::numeric::{exps, lns};

/// Flows below this share of that of the known point count as no more: a logarithm needs a number above zero.
const LEAST_SHARE: f64 = 1e-300;
/// Logarithms of powers are kept within this: what is beyond has no meaning in a garden.
const MOST_LOGARITHM: f64 = 690.0;

/// A pressure over flow law, odd in the flow: steepness x (share of the flow of a known point)^(exponent - 1) x flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Powers<N> {
    /// One over the flow of the known point, s/m3.
    pub per_flow: N,
    /// Pressure over flow there, Pa s/m3.
    pub steepness: N,
    /// The exponent less one.
    pub above_one: N,
}

impl Powers<f64> {
    /// Through a point of flow (m3/s) and pressure (Pa), both above zero.
    pub fn through(flow_m3_per_s: f64, pressure_pa: f64, exponent: f64) -> Powers<f64> {
        Powers { per_flow: 1.0 / flow_m3_per_s, steepness: pressure_pa / flow_m3_per_s, above_one: exponent - 1.0 }
    }

    /// Pressure and slope at one flow of either sign; both are zero at rest.
    #[inline]
    pub fn at(&self, flow_m3_per_s: f64) -> Loss {
        if flow_m3_per_s == 0.0 {
            return Loss { loss_pa: 0.0, slope_pa_s_per_m3: 0.0 };
        }
        let (loss_pa, slope_pa_s_per_m3) = self.loss(flow_m3_per_s);
        Loss { loss_pa, slope_pa_s_per_m3 }
    }
}

impl<N: Numbers> Powers<N> {
    /// Pressure and slope at flows of either sign.
    #[inline(always)]
    pub fn loss(&self, flow: N) -> (N, N) {
        let share = (flow.abs() * self.per_flow).or_greater(flow.like(LEAST_SHARE));
        let logarithm = lns(share) * self.above_one;
        let most = flow.like(MOST_LOGARITHM);
        let within = -(-logarithm.or_greater(-most)).or_greater(-most);
        let steepness = self.steepness * exps(within);
        (steepness * flow, steepness * (self.above_one + 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_is_the_power_of_the_system_to_rounding(
            log_share in -12.0f64..12.0, exponent in 0.3f64..12.0, flow in 1e-8f64..1e-2, pressure in 1e2f64..1e7,
        ) {
            let law = Powers::through(flow, pressure, exponent);
            let share = log_share.exp();
            let (found, expected) = (law.at(flow * share), pressure * share.powf(exponent));
            let allowed = 1e-15 * (4.0 + 4.0 * (exponent * log_share).abs());
            prop_assert!((found.loss_pa / expected - 1.0).abs() < allowed, "{found:?}, not {expected}");
            let slope = exponent * expected / (flow * share);
            prop_assert!((found.slope_pa_s_per_m3 / slope - 1.0).abs() < 2.0 * allowed);
            prop_assert_eq!(law.at(-flow * share).loss_pa, -found.loss_pa);
        }
    }

    #[test]
    fn far_out_it_stays_a_number_that_rises() {
        for exponent in [0.5, 1.0, 2.0, 20.0, 1000.0] {
            let law = Powers::through(1e-8, 1.0, exponent);
            let at = [0.0, 1e-300, 1e-12, 1e-8, 1e-4, 1e300].map(|flow| law.at(flow).loss_pa);
            assert!(at.windows(2).all(|pair| pair[0] <= pair[1]) && !at[5].is_nan(), "{exponent}: {at:?}");
            assert!(law.at(f64::NAN).loss_pa.is_nan());
        }
    }
}
