//! Friction in round pipes: the Darcy friction factor in every regime, and the loss it makes.
//!
//! The regimes are those of the Moody chart: laminar to Re 2000, Colebrook-White from Re 4000. Between them nothing is
//! agreed upon; a straight line in Re joins the two, so that loss rises steadily with flow.

use super::section::area_m2;
use std::f64::consts::LN_10;

/// Reynolds number up to which flow is laminar.
pub const LAMINAR_UP_TO: f64 = 2000.0;
/// Reynolds number from which flow is turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;

/// Roughness over diameter up to which the law of Colebrook and White is drawn.
///
/// Source: L. F. Moody, Friction factors for pipe flow, Transactions of the ASME 66 (1944), from memory: the chart ends at 0.05.
pub const MOST_RELATIVE_ROUGHNESS: f64 = 0.05;

/// The regime of flow in a pipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// In smooth layers: Reynolds numbers up to 2000.
    Laminar,
    /// Between the two, where neither law holds and the flow may flip: Reynolds numbers above 2000 and below 4000.
    Transitional,
    /// Mixed by eddies: Reynolds numbers from 4000.
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

    /// The name for it, as in tables and reports.
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
/// `relative_roughness` is roughness over diameter, from zero to about 0.05; `reynolds` is above zero.
/// `guess` is a start value, for instance the answer of a neighboring case; anything above zero will do.
/// Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939): 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))).
///
/// The equation x = -2 log10(a + b x) is solved by Householder's method of the third order, whose error shrinks with its
/// fourth power and which needs one logarithm a step; two steps from a poor guess, one from a good one.
#[inline]
fn colebrook_inverse_root(relative_roughness: f64, reynolds: f64, guess: f64) -> f64 {
    colebrook_root_and_rate(relative_roughness / 3.7, 2.51 / reynolds, guess).0
}

/// The root x of x = -2 log10(a + b x), and (2/ln 10) b/(a + b x) beside it, which its derivatives need.
#[inline]
fn colebrook_root_and_rate(a: f64, b: f64, guess: f64) -> (f64, f64) {
    const TWO_OVER_LN10: f64 = 2.0 / LN_10;
    let mut x = guess;
    let mut rate = 0.0;
    for _ in 0..20 {
        let argument = a + b * x;
        let value = x + TWO_OVER_LN10 * argument.ln();
        let slope_part = b / argument;
        rate = TWO_OVER_LN10 * slope_part;
        let over_first = 1.0 / (1.0 + rate);
        // The second and third derivative over the first are -k and 2 k u, with u = b/(a + b x).
        let (newton, k) = (value * over_first, rate * slope_part * over_first);
        let share = newton * k;
        let step = newton * (1.0 + 0.5 * share) / (1.0 + share * (1.0 + newton * slope_part / 3.0));
        x -= step;
        // The rate where the step ends, to the third order.
        let moved = slope_part * step;
        rate *= 1.0 + moved * (1.0 + moved);
        // The next error is below 1e-4 of the fourth power of this step, which is rounding.
        if step.abs() < 2e-3 * x {
            break;
        }
    }
    (x, rate)
}

/// A usable first guess for [`colebrook_inverse_root`].
///
/// Source: S. E. Haaland, J. Fluids Eng. 105 (1983), equation 7; within 2 % of Colebrook-White.
fn inverse_root_guess(relative_roughness: f64, reynolds: f64) -> f64 {
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
    /// Loss of laminar flow = this x flow.
    laminar_slope: f64,
}

/// What one evaluation leaves for the next, which saves logarithms: the root x = 1/sqrt(f) and its derivatives to ln Re.
#[derive(Clone, Copy, Debug, Default)]
pub struct Memory {
    /// Zero means no memory.
    root: f64,
    /// One over its Reynolds number.
    inverse_reynolds: f64,
    rate: f64,
    curvature: f64,
}

/// Share by which a Reynolds number may differ from that of the memory for the root to be taken from its Taylor series.
/// The third term left out is below 0.2 x share^3, 2e-11 of the root.
const NEAR: f64 = 5e-4;

impl Memory {
    fn of_root(root: f64) -> Memory {
        Memory { root, ..Memory::default() }
    }

    /// Keeps no more than a first guess: what it holds belongs to another pipe.
    pub fn forget(&mut self) {
        self.inverse_reynolds = 0.0;
    }

    /// The root from the Taylor series, where the Reynolds number has grown by this share.
    #[inline]
    fn expected(&self, growth: f64) -> f64 {
        let logarithm = if growth.abs() < 0.1 { growth * (1.0 - growth * (0.5 - growth / 3.0)) } else { (1.0 + growth).ln() };
        self.root + logarithm * (self.rate + 0.5 * logarithm * self.curvature)
    }
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
    /// `diameter_m`, `density_kg_per_m3` and `viscosity_pa_s` are above zero; `length_m` and `roughness_m` may be zero.
    ///
    /// Source: Darcy-Weisbach, dp = f (L/D) rho v^2 / 2.
    pub fn new(length_m: f64, diameter_m: f64, roughness_m: f64, density_kg_per_m3: f64, viscosity_pa_s: f64) -> PipeFriction {
        let area_m2 = area_m2(diameter_m);
        let reynolds_per_flow = density_kg_per_m3 * diameter_m / (viscosity_pa_s * area_m2);
        let loss_per_factor = length_m / diameter_m * density_kg_per_m3 / (2.0 * area_m2 * area_m2);
        PipeFriction {
            relative_roughness: roughness_m / diameter_m,
            reynolds_per_flow,
            loss_per_factor,
            // f = 64/Re makes the loss a straight line through zero.
            laminar_slope: 64.0 / reynolds_per_flow * loss_per_factor,
        }
    }

    /// True when the friction factor is the same function of the Reynolds number: a memory may serve both.
    pub fn has_the_walls_of(&self, other: &PipeFriction) -> bool {
        self.relative_roughness == other.relative_roughness
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
        let mut all = Memory::of_root(*memory);
        let loss = self.loss_near(flow_m3_per_s, &mut all);
        *memory = all.root;
        loss
    }

    /// Loss and slope as [`PipeFriction::loss`] gives them, with the memory of solves that go on in small steps.
    ///
    /// The slope of turbulent flow is right to a share of some 1e-3, the loss to 1e-11.
    #[inline]
    pub fn loss_near(&self, flow_m3_per_s: f64, memory: &mut Memory) -> Loss {
        let flow = flow_m3_per_s.abs();
        let reynolds = self.reynolds_per_flow * flow;
        if reynolds < TURBULENT_FROM {
            return self.below_turbulent(flow_m3_per_s, reynolds, memory);
        }
        let x = self.root(reynolds, memory);
        // f = 1/x^2, and from d ln f/d ln Re = -2 (dx/d ln Re)/x the slope of f q^2.
        let over_x = 1.0 / x;
        let loss_over_flow = self.loss_per_factor * flow * over_x * over_x;
        let slope = 2.0 * loss_over_flow * (1.0 - memory.rate * over_x);
        Loss { loss_pa: loss_over_flow * flow_m3_per_s, slope_pa_s_per_m3: slope }
    }

    /// 1/sqrt(f) of turbulent flow: from the memory, or solved for and kept there.
    #[inline]
    fn root(&self, reynolds: f64, memory: &mut Memory) -> f64 {
        let growth = reynolds * memory.inverse_reynolds - 1.0;
        if growth.abs() < NEAR { memory.expected(growth) } else { self.solve_root(reynolds, growth, memory) }
    }

    fn solve_root(&self, reynolds: f64, growth: f64, memory: &mut Memory) -> f64 {
        let guess = if memory.root <= 0.0 {
            inverse_root_guess(self.relative_roughness, reynolds)
        } else if memory.inverse_reynolds > 0.0 {
            memory.expected(growth)
        } else {
            memory.root
        };
        let inverse_reynolds = 1.0 / reynolds;
        let (root, c) = colebrook_root_and_rate(self.relative_roughness / 3.7, 2.51 * inverse_reynolds, guess);
        // With u = b/(a + b x), c = (2/ln 10) u and b = 2.51/Re, from x + 2 log10(a + b x) = 0:
        // dx/d ln Re = c x/(1 + c), du/d ln Re = -u + u^2 (x - dx/d ln Re).
        let over = 1.0 / (1.0 + c);
        let rate = c * over * root;
        let c_rate = c * (LN_10 / 2.0 * c * (root - rate) - 1.0);
        let curvature = over * (c_rate * over * root + c * rate);
        *memory = Memory { root, inverse_reynolds, rate, curvature };
        root
    }

    /// Loss and slope of laminar flow, and between the regimes.
    fn below_turbulent(&self, flow_m3_per_s: f64, reynolds: f64, memory: &mut Memory) -> Loss {
        if reynolds <= LAMINAR_UP_TO {
            return Loss { loss_pa: self.laminar_slope * flow_m3_per_s, slope_pa_s_per_m3: self.laminar_slope };
        }
        let at_turbulent = self.root(TURBULENT_FROM, memory);
        let (low, high) = (64.0 / LAMINAR_UP_TO, 1.0 / (at_turbulent * at_turbulent));
        let rise = (high - low) / (TURBULENT_FROM - LAMINAR_UP_TO);
        let factor = low + rise * (reynolds - LAMINAR_UP_TO);
        let flow = flow_m3_per_s.abs();
        Loss {
            loss_pa: factor * self.loss_per_factor * flow * flow_m3_per_s,
            slope_pa_s_per_m3: self.loss_per_factor * flow * (2.0 * factor + rise * reynolds),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The pipe of the tests: 30 m of 15.875 mm diameter, smooth, water at 15 degC.
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
        fn memory_of_another_flow_does_not_change_the_loss(re in 10.0f64..3e5, share in 0.01f64..3.0, rough in 0.0f64..5e-4) {
            let pipe = PipeFriction::new(30.0, 0.015_875, rough, 999.1, 1.138e-3);
            for share in [share, 1.0 + 4.9e-4, 1.0 - 4.9e-4, 1.0 + 1e-6] {
                let mut memory = Memory::default();
                let flow = re / pipe.reynolds_per_flow;
                pipe.loss_near(flow * share, &mut memory);
                let (near, afresh) = (pipe.loss_near(flow, &mut memory), pipe.loss(flow, &mut 0.0));
                prop_assert!((near.loss_pa - afresh.loss_pa).abs() < 1e-11 * afresh.loss_pa);
                prop_assert!((near.slope_pa_s_per_m3 - afresh.slope_pa_s_per_m3).abs() < 1e-3 * afresh.slope_pa_s_per_m3);
            }
        }

        #[test]
        fn loss_rises_with_flow(low in 0.0f64..1e-3, more in 1e-9f64..1e-3) {
            let pipe = hose();
            prop_assert!(pipe.loss(low + more, &mut 0.0).loss_pa > pipe.loss(low, &mut 0.0).loss_pa);
        }
    }
}
