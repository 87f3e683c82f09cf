//! Friction in round pipes: the Darcy friction factor in every regime, and the loss it makes.
//!
//! The regimes are those of the Moody chart: laminar to Re 2000, Colebrook-White from Re 4000. Between them nothing is
//! agreed upon; a straight line in Re joins the two, so that loss rises steadily with flow.

mod pipes;

use super::section::area_m2;

pub use pipes::{LAMINAR_UP_TO, Pipes, Remembered, TURBULENT_FROM};

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

/// The Colebrook-White factor, solved to rounding error.
///
/// `relative_roughness` is roughness over diameter, from zero to about 0.05; `reynolds` is above zero.
fn colebrook(relative_roughness: f64, reynolds: f64) -> f64 {
    let root = pipes::root(relative_roughness, reynolds, Memory::default().0);
    1.0 / (root * root)
}

/// A round pipe made ready for many evaluations of its loss.
#[derive(Clone, Copy, Debug)]
pub struct PipeFriction {
    /// Roughness over 3.7 diameters.
    walls: f64,
    /// Reynolds number = this x flow.
    reynolds_per_flow: f64,
    /// Loss = f x this x flow^2.
    loss_per_factor: f64,
}

/// What one evaluation leaves for the next, which saves logarithms.
#[derive(Clone, Copy, Debug)]
pub struct Memory(Remembered<f64>);

impl Default for Memory {
    fn default() -> Memory {
        Memory::of_root(0.0)
    }
}

impl Memory {
    /// A guess of the root 1/sqrt(f); zero means none.
    fn of_root(root: f64) -> Memory {
        Memory(Remembered::guess(0.0, root))
    }

    /// Keeps no more than a first guess: what it holds belongs to another pipe.
    pub fn forget(&mut self) {
        self.0.forget(true);
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
    #[inline]
    pub fn new(length_m: f64, diameter_m: f64, roughness_m: f64, density_kg_per_m3: f64, viscosity_pa_s: f64) -> PipeFriction {
        let area_m2 = area_m2(diameter_m);
        let reynolds_per_flow = density_kg_per_m3 * diameter_m / (viscosity_pa_s * area_m2);
        let loss_per_factor = length_m / diameter_m * density_kg_per_m3 / (2.0 * area_m2 * area_m2);
        PipeFriction { walls: roughness_m / diameter_m / 3.7, reynolds_per_flow, loss_per_factor }
    }

    /// True when the friction factor is the same function of the Reynolds number: a memory may serve both.
    pub fn has_the_walls_of(&self, other: &PipeFriction) -> bool {
        self.walls == other.walls
    }

    /// Reynolds number at a flow.
    pub fn reynolds(&self, flow_m3_per_s: f64) -> f64 {
        self.reynolds_per_flow * flow_m3_per_s.abs()
    }

    /// Loss and slope at a flow of either sign, to rounding.
    ///
    /// `root` carries 1/sqrt(f) from one call to the next, as a guess that saves logarithms; zero means none.
    #[inline]
    pub fn loss(&self, flow_m3_per_s: f64, root: &mut f64) -> Loss {
        let mut memory = Memory::of_root(*root);
        let loss = self.loss_near(flow_m3_per_s, &mut memory);
        *root = 1.0 / memory.0.inverse_root;
        loss
    }

    /// Loss and slope as [`PipeFriction::loss`] gives them, with the memory of solves that go on in small steps.
    ///
    /// The slope of turbulent flow is right to a share of some 1e-4, the loss to 1e-11.
    #[inline]
    pub fn loss_near(&self, flow_m3_per_s: f64, memory: &mut Memory) -> Loss {
        let pipe = Pipes { walls: self.walls, reynolds_per_flow: self.reynolds_per_flow, loss_per_factor: self.loss_per_factor };
        let (loss_pa, slope_pa_s_per_m3) = pipe.loss(flow_m3_per_s, &mut memory.0, true);
        Loss { loss_pa, slope_pa_s_per_m3 }
    }

    /// Its numbers, for many pipes side by side: see [`Pipes`].
    pub fn numbers(&self) -> [f64; 3] {
        [self.walls, self.reynolds_per_flow, self.loss_per_factor]
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
            let x = pipes::root(rough, re, Memory::of_root(guess).0);
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
            for share in [share, 1.0 + 2.9e-3, 1.0 - 2.9e-3, 1.0 + 1e-6] {
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
