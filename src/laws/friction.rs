//! Friction in round pipes: the Darcy friction factor in every regime, and the loss it makes.
//!
//! The regimes are those of the Moody chart: laminar to Re 2000, Colebrook-White from Re 4000. Between them nothing is
//! agreed upon; a straight line in Re joins the two, so that loss rises steadily with flow.

use std::f64::consts::{LN_10, PI};

/// Reynolds number up to which flow is laminar.
pub const LAMINAR_UP_TO: f64 = 2000.0;
/// Reynolds number from which flow is turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;

/// The regime of flow in a pipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    Laminar,
    Transitional,
    Turbulent,
}

impl Regime {
    /// The regime at a Reynolds number: laminar to 2000, turbulent from 4000.
    pub fn at(reynolds: f64) -> Regime {
        if reynolds <= LAMINAR_UP_TO {
            Regime::Laminar
        } else if reynolds < TURBULENT_FROM {
            Regime::Transitional
        } else {
            Regime::Turbulent
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Regime::Laminar => "laminar",
            Regime::Transitional => "transitional",
            Regime::Turbulent => "turbulent",
        }
    }
}

/// Inverse square root of the Colebrook-White factor, solved to rounding error.
///
/// `relative_roughness` is roughness over bore, from zero to about 0.05; `reynolds` is above zero.
/// `guess` is a start value, for instance the answer of a neighbouring case; anything above zero will do.
/// Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939): 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))).
///
/// The equation x = -2 log10(a + b x) is solved by Halley's method, whose error shrinks with its third power; two steps
/// from a poor guess, one from a good one.
#[inline]
pub fn colebrook_inverse_root(relative_roughness: f64, reynolds: f64, guess: f64) -> f64 {
    let a = relative_roughness / 3.7;
    let b = 2.51 / reynolds;
    let two_over_ln10 = 2.0 / LN_10;
    let mut x = guess;
    for _ in 0..20 {
        let argument = a + b * x;
        let value = x + two_over_ln10 * argument.ln();
        let slope_part = b / argument;
        let first = 1.0 + two_over_ln10 * slope_part;
        let second = -two_over_ln10 * slope_part * slope_part;
        let newton = value / first;
        let step = newton / (1.0 - 0.5 * newton * second / first);
        x -= step;
        // The next error is of the order of the third power of this step, far below rounding.
        if step.abs() < 1e-5 * x {
            break;
        }
    }
    x
}

/// A usable first guess for [`colebrook_inverse_root`].
///
/// Source: S. E. Haaland, J. Fluids Eng. 105 (1983), equation 7; within 2 % of Colebrook-White.
pub fn inverse_root_guess(relative_roughness: f64, reynolds: f64) -> f64 {
    -1.8 * ((relative_roughness / 3.7).powf(1.11) + 6.9 / reynolds).log10()
}

/// The Darcy friction factor at a Reynolds number above zero.
///
/// Laminar 64/Re (Hagen-Poiseuille), Colebrook-White from Re 4000, a straight line in Re between.
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    match Regime::at(reynolds) {
        Regime::Laminar => 64.0 / reynolds,
        Regime::Turbulent => colebrook(relative_roughness, reynolds),
        Regime::Transitional => {
            let low = 64.0 / LAMINAR_UP_TO;
            let high = colebrook(relative_roughness, TURBULENT_FROM);
            low + (high - low) * (reynolds - LAMINAR_UP_TO) / (TURBULENT_FROM - LAMINAR_UP_TO)
        }
    }
}

fn colebrook(relative_roughness: f64, reynolds: f64) -> f64 {
    let x = colebrook_inverse_root(relative_roughness, reynolds, inverse_root_guess(relative_roughness, reynolds));
    1.0 / (x * x)
}

/// A round pipe made ready for many evaluations of its loss.
#[derive(Clone, Copy, Debug)]
pub struct PipeFriction {
    relative_roughness: f64,
    /// Reynolds number = this x flow.
    reynolds_per_flow: f64,
    /// Loss = f x this x flow^2.
    loss_per_factor: f64,
    /// The factor at Re 4000, where the straight line ends.
    factor_at_turbulent: f64,
}

/// Loss of a pipe and its slope at one flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Pressure loss, with the sign of the flow, Pa.
    pub loss_pa: f64,
    /// Its derivative to the flow, Pa s/m3; above zero.
    pub slope_pa_s_per_m3: f64,
}

impl PipeFriction {
    /// `bore_m`, `density_kg_per_m3` and `viscosity_pa_s` are above zero; `length_m` and `roughness_m` may be zero.
    ///
    /// Source: Darcy-Weisbach, dp = f (L/D) rho v^2 / 2.
    pub fn new(length_m: f64, bore_m: f64, roughness_m: f64, density_kg_per_m3: f64, viscosity_pa_s: f64) -> PipeFriction {
        let area_m2 = PI * bore_m * bore_m / 4.0;
        let relative_roughness = roughness_m / bore_m;
        PipeFriction {
            relative_roughness,
            reynolds_per_flow: density_kg_per_m3 * bore_m / (viscosity_pa_s * area_m2),
            loss_per_factor: length_m / bore_m * density_kg_per_m3 / (2.0 * area_m2 * area_m2),
            factor_at_turbulent: colebrook(relative_roughness, TURBULENT_FROM),
        }
    }

    /// Reynolds number at a flow.
    pub fn reynolds(&self, flow_m3_per_s: f64) -> f64 {
        self.reynolds_per_flow * flow_m3_per_s.abs()
    }

    /// Loss and slope at a flow of either sign.
    ///
    /// `memory` carries 1/sqrt(f) from one call to the next, which saves logarithms; zero means no memory.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64, memory: &mut f64) -> Loss {
        let flow = flow_m3_per_s.abs();
        let reynolds = self.reynolds_per_flow * flow;
        if reynolds <= LAMINAR_UP_TO {
            // f = 64/Re makes the loss a straight line through zero.
            let slope = 64.0 / self.reynolds_per_flow * self.loss_per_factor;
            return Loss { loss_pa: slope * flow_m3_per_s, slope_pa_s_per_m3: slope };
        }
        let (factor, reynolds_times_slope) = if reynolds < TURBULENT_FROM {
            let low = 64.0 / LAMINAR_UP_TO;
            let slope = (self.factor_at_turbulent - low) / (TURBULENT_FROM - LAMINAR_UP_TO);
            (low + slope * (reynolds - LAMINAR_UP_TO), slope * reynolds)
        } else {
            if *memory <= 0.0 {
                *memory = inverse_root_guess(self.relative_roughness, reynolds);
            }
            let x = colebrook_inverse_root(self.relative_roughness, reynolds, *memory);
            *memory = x;
            let factor = 1.0 / (x * x);
            // From x + 2 log10(a + b x) = 0 with b = 2.51/Re: Re dx/dRe = c x / (1 + c), c = (2/ln 10) b/(a + b x).
            let b = 2.51 / reynolds;
            let c = 2.0 / LN_10 * b / (self.relative_roughness / 3.7 + b * x);
            (factor, -2.0 * factor * c / (1.0 + c))
        };
        let loss = factor * self.loss_per_factor * flow * flow_m3_per_s;
        let slope = self.loss_per_factor * flow * (2.0 * factor + reynolds_times_slope);
        Loss { loss_pa: loss, slope_pa_s_per_m3: slope }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The pipe of the tests: 30 m of 15.875 mm bore, smooth, water at 15 degC.
    fn hose() -> PipeFriction {
        PipeFriction::new(30.0, 0.015_875, 1.5e-6, 999.1, 1.138e-3)
    }

    #[test]
    fn loss_joins_without_a_step_where_regimes_meet() {
        let pipe = hose();
        for reynolds in [LAMINAR_UP_TO, TURBULENT_FROM] {
            let flow = reynolds / pipe.reynolds_per_flow;
            let below = pipe.loss(flow * (1.0 - 1e-9), &mut 0.0).loss_pa;
            let above = pipe.loss(flow * (1.0 + 1e-9), &mut 0.0).loss_pa;
            assert!((above - below).abs() < 1e-6 * above, "at Re {reynolds}: {below} and {above}");
        }
    }

    proptest! {
        #[test]
        fn colebrook_holds_to_rounding_from_any_guess(log_re in 3.6f64..8.0, rough in 0.0f64..0.05, guess in 0.5f64..20.0) {
            let re = 10f64.powf(log_re);
            let x = colebrook_inverse_root(rough, re, guess);
            let residual = x + 2.0 * (rough / 3.7 + 2.51 * x / re).log10();
            prop_assert!(residual.abs() < 1e-12 * x, "residual {residual}");
        }

        #[test]
        fn slope_equals_the_finite_difference(re in 10.0f64..3e5, sign in prop::bool::ANY) {
            // Steps over a corner of the law have no derivative to compare with.
            prop_assume!((re - LAMINAR_UP_TO).abs() > 1.0 && (re - TURBULENT_FROM).abs() > 1.0);
            let pipe = hose();
            let flow = re / pipe.reynolds_per_flow * if sign { 1.0 } else { -1.0 };
            let step = flow.abs() * 1e-6;
            let up = pipe.loss(flow + step, &mut 0.0).loss_pa;
            let down = pipe.loss(flow - step, &mut 0.0).loss_pa;
            let slope = pipe.loss(flow, &mut 0.0).slope_pa_s_per_m3;
            prop_assert!(((up - down) / (2.0 * step) - slope).abs() < 1e-6 * slope);
        }

        #[test]
        fn loss_rises_with_flow(low in 0.0f64..1e-3, more in 1e-9f64..1e-3) {
            let pipe = hose();
            prop_assert!(pipe.loss(low + more, &mut 0.0).loss_pa > pipe.loss(low, &mut 0.0).loss_pa);
        }
    }
}
