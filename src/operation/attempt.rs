//! A step of a run with several storages as it is tried: an implicit method of order three, or implicit Euler.
//!
//! Each stage is one steady solve in which the stores are part of the network, so check valves, dry heads and lines without
//! resistance need no care here. Volumes follow from flows by the weights of the method: no water is lost. The last stage is
//! the end of the step. Where a stage would begin with less water than there is, the step is taken by implicit Euler, which
//! never overshoots.
//! Source: R. Alexander, SIAM J. Numer. Anal. 14 (1977), from memory, checked by the order conditions in the tests; the error by
//! way of the tangents: E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, section IV.8, from memory.

use super::frame::{Frame, Question, Tolerance};
use super::gauge::What;
use super::plant::Plant;
use super::state::{State, volumes_m3};
use crate::hydraulics::SolveError;

/// Error of a step at the usual tolerance: pressure, Pa, or volume, m3. The volume lets pass what is no water: the pressure of a
/// full, an empty or a rigid store.
const ERROR_PA: f64 = 1.0;
const ERROR_M3: f64 = 1e-9;
/// A stage that begins below this is one without water, Pa: a vacuum.
const VACUUM_PA: f64 = -1e5;
/// The root of x^3 - 3x^2 + 3x/2 - 1/6 that makes the method L-stable.
const GAMMA: f64 = 0.435_866_521_508_459;
const B1: f64 = -(6.0 * GAMMA * GAMMA - 16.0 * GAMMA + 1.0) / 4.0;
const B2: f64 = (6.0 * GAMMA * GAMMA - 20.0 * GAMMA + 5.0) / 4.0;
const A: [[f64; 3]; 3] = [[GAMMA, 0.0, 0.0], [0.5 * (1.0 - GAMMA), GAMMA, 0.0], [B1, B2, GAMMA]];
/// Weights of second order beside those of the method.
const BESIDE: [f64; 3] = [GAMMA / (1.0 - GAMMA), (1.0 - 2.0 * GAMMA) / (1.0 - GAMMA), 0.0];
const STAGES: usize = 3;

/// A step that was tried.
pub struct Tried {
    pub step_s: f64,
    pub integrals: Vec<f64>,
    pub frame: Frame,
    /// Error as a share of what is let pass.
    pub error: f64,
    pub order: Order,
}

/// How a step is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Order {
    Three,
    /// Implicit Euler.
    One,
}

impl Order {
    /// How long a stage of a step lasts, s.
    fn span_s(self, step_s: f64) -> f64 {
        match self {
            Order::Three => GAMMA * step_s,
            Order::One => step_s,
        }
    }
}

/// What a step starts from.
pub struct Start<'a> {
    pub question: &'a Question<'a>,
    pub frame: Frame,
    volumes_m3: Vec<f64>,
    tolerance: f64,
}

impl<'a> Start<'a> {
    /// The start of a step; `frame` is the state there.
    pub fn new(question: &'a Question<'a>, frame: Frame) -> Start<'a> {
        let volumes_m3 = volumes_m3(question.plant, question.stored_pa);
        Start { question, frame, volumes_m3, tolerance: question.tolerance.share / Tolerance::USUAL.share }
    }

    fn plant(&self) -> &Plant {
        self.question.plant
    }

    /// Tries a step of this length, s, of third order.
    ///
    /// Errors: a state within it has no steady solution.
    pub fn attempt(&self, state: &mut State, step_s: f64) -> Result<Tried, SolveError> {
        let plant = self.plant();
        let mut frames: [Frame; STAGES] = Default::default();
        for stage in 0..STAGES {
            let from_m3: Vec<f64> = (0..self.volumes_m3.len())
                .map(|k| self.volumes_m3[k] + step_s * (0..stage).map(|j| A[stage][j] * frames[j].integrands[k]).sum::<f64>())
                .collect();
            if stage > 0 && self.runs_out(&from_m3) {
                return self.euler(state, step_s);
            }
            let (span_s, frame) = (Order::Three.span_s(step_s), &mut frames[stage]);
            if stage + 1 == STAGES {
                state.stage(plant, &from_m3, span_s, frame)?;
            } else {
                state.flows_of_stage(plant, &from_m3, span_s, frame)?;
            }
        }
        let number = frames[0].integrands.len();
        let sum = |weights: &[f64; STAGES], index: usize| -> f64 {
            step_s * (0..STAGES).map(|stage| weights[stage] * frames[stage].integrands[index]).sum::<f64>()
        };
        let integrals: Vec<f64> = (0..number).map(|index| sum(&A[STAGES - 1], index)).collect();
        let off_m3: Vec<f64> = (0..self.volumes_m3.len()).map(|k| integrals[k] - sum(&BESIDE, k)).collect();
        let [.., frame] = frames;
        Ok(self.tried(state, step_s, Order::Three, integrals, &off_m3, frame))
    }

    /// Tries a step of this length, s, by implicit Euler: first order, but at rest at once where rates change abruptly.
    ///
    /// Errors: the state at its end has no steady solution.
    pub fn euler(&self, state: &mut State, step_s: f64) -> Result<Tried, SolveError> {
        let mut frame = Frame::default();
        state.stage(self.plant(), &self.volumes_m3, step_s, &mut frame)?;
        let integrals: Vec<f64> = frame.integrands.iter().map(|value| step_s * value).collect();
        let change = |k: usize| 0.5 * step_s * (frame.integrands[k] - self.frame.integrands[k]);
        let off_m3: Vec<f64> = (0..self.volumes_m3.len()).map(change).collect();
        Ok(self.tried(state, step_s, Order::One, integrals, &off_m3, frame))
    }

    fn tried(
        &self,
        state: &mut State,
        step_s: f64,
        order: Order,
        mut integrals: Vec<f64>,
        off_m3: &[f64],
        mut frame: Frame,
    ) -> Tried {
        let plant = self.plant();
        let rises_pa = state.rises_pa(plant, &frame, off_m3, order.span_s(step_s));
        let share = |(rise_pa, off_m3): (&f64, &f64)| (rise_pa.abs() / ERROR_PA).min(off_m3.abs() / ERROR_M3) / self.tolerance;
        let error = rises_pa.iter().zip(off_m3).map(share).fold(0.0, f64::max);
        close(plant, &self.volumes_m3, &mut integrals, &mut frame);
        Tried { step_s, integrals, frame, error: if error.is_nan() { f64::INFINITY } else { error }, order }
    }

    /// Whether a store would begin a stage with less than nothing.
    fn runs_out(&self, from_m3: &[f64]) -> bool {
        let storages = self.plant().storages.iter().zip(from_m3).zip(self.question.stored_pa);
        storages.into_iter().any(|((storage, &from_m3), &at_pa)| {
            let least_pa = if storage.barrel.is_some() { 0.0 } else { VACUUM_PA };
            from_m3 < storage.volume_m3(at_pa.min(0.0) + least_pa)
        })
    }

    /// Whether the state of a part changes in a step in a way that bends the way of the state.
    pub fn turns(&self, state: &State, tried: &Tried) -> bool {
        let bends = |what: What| {
            !matches!(what, What::CutIn(_) | What::CutOut(_) | What::LeastFlow(_) | What::Needs | What::Tap | What::DeadHead)
        };
        let rim = |(storage, (before_pa, after_pa)): (&super::storage::Storage, (&f64, &f64))| {
            storage.barrel.is_some_and(|barrel| (*before_pa < barrel.full_pa) != (*after_pa < barrel.full_pa))
        };
        let ends = self.question.stored_pa.iter().zip(&tried.frame.stored_pa);
        let mut gauges = state.gauges.iter().zip(self.frame.raised.iter().zip(&tried.frame.raised));
        gauges.any(|(gauge, (before, after))| before != after && bends(gauge.what))
            || self.plant().storages.iter().zip(ends).any(rim)
    }

    /// Tries a step of another length, s, by the method of one that was tried. Errors: as for that method.
    pub fn like(&self, state: &mut State, tried: &Tried, step_s: f64) -> Result<Tried, SolveError> {
        match tried.order {
            Order::Three => self.attempt(state, step_s),
            Order::One => self.euler(state, step_s),
        }
    }
}

/// The end of a span by implicit Euler: where a state at rest is at its end. Gives what was added up, the state, and how
/// long it took.
pub fn settle(state: &mut State, plant: &Plant, stored_pa: &[f64], span_s: f64) -> Result<(Vec<f64>, Frame), SolveError> {
    let volumes = volumes_m3(plant, stored_pa);
    let mut frame = Frame::default();
    state.stage(plant, &volumes, span_s, &mut frame)?;
    let mut integrals: Vec<f64> = frame.integrands.iter().map(|value| span_s * value).collect();
    close(plant, &volumes, &mut integrals, &mut frame);
    Ok((integrals, frame))
}

/// Sets the pressures at the end of a step by what its flows have brought. The film above a rim runs over.
fn close(plant: &Plant, volumes_m3: &[f64], integrals: &mut [f64], frame: &mut Frame) {
    let n = plant.storages.len();
    for (k, storage) in plant.storages.iter().enumerate() {
        let mut end_m3 = volumes_m3[k] + integrals[k];
        if let Some(rim_pa) = storage.store.rim_pa {
            let over_m3 = (end_m3 - storage.volume_m3(rim_pa)).max(0.0);
            end_m3 -= over_m3;
            integrals[k] -= over_m3;
            integrals[n + k] += over_m3;
        }
        frame.stored_pa[k] = storage.store.pressure_pa(end_m3);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_coefficients_keep_the_order_conditions() {
        let c: Vec<f64> = A.iter().map(|row| row.iter().sum()).collect();
        let b = A[STAGES - 1];
        let sum = |value: &dyn Fn(usize) -> f64| (0..STAGES).map(|index| b[index] * value(index)).sum::<f64>();
        assert_relative_eq!(sum(&|_| 1.0), 1.0, max_relative = 1e-14);
        assert_relative_eq!(sum(&|j| c[j]), 0.5, max_relative = 1e-13);
        assert_relative_eq!(sum(&|j| c[j] * c[j]), 1.0 / 3.0, max_relative = 1e-13);
        let inner = |j: usize| (0..STAGES).map(|k| A[j][k] * c[k]).sum::<f64>();
        assert_relative_eq!(sum(&inner), 1.0 / 6.0, max_relative = 1e-13);
        let beside = |value: &dyn Fn(usize) -> f64| (0..STAGES).map(|index| BESIDE[index] * value(index)).sum::<f64>();
        assert_relative_eq!(beside(&|_| 1.0), 1.0, max_relative = 1e-14);
        assert_relative_eq!(beside(&|j| c[j]), 0.5, max_relative = 1e-13);
    }
}
