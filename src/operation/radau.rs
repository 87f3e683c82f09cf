//! Several storages: the implicit method Radau IIA of order 5, for what moves in tenths of a second beside what takes hours.
//!
//! The state is the stored volumes. What flows is added up with the weights of the method, so that a step loses no water.
//! Source: E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, section IV.8; coefficients from memory, checked
//! by the order conditions in the tests.

use super::config::Config;
use super::curve::Watch;
use super::growth::{Tolerance, bracket};
use super::machine::{Frame, Leg, Question};
use super::plant::Plant;
use crate::hydraulics::SolveError;

/// The first step after something has changed, s.
pub const FIRST_STEP_S: f64 = 1e-3;
/// Least step, s: below it an error is let pass.
const LEAST_STEP_S: f64 = 1e-9;
const STAGES: usize = 3;
/// Error of a step at the usual tolerance, Pa, and as a share.
const ERROR_PA: f64 = 1e-3;
const ERROR_SHARE: f64 = 1e-8;
/// By how much a pressure is moved for a derivative, Pa, and as a share.
const MOVED_PA: f64 = 1e-5;
const MOVED_SHARE: f64 = 1e-10;
/// Share of the error at which the stages count as settled.
const SETTLED: f64 = 0.01;
const ROOT_OF_6: f64 = 2.449_489_742_783_178;

const A: [[f64; 3]; 3] = [
    [(88.0 - 7.0 * ROOT_OF_6) / 360.0, (296.0 - 169.0 * ROOT_OF_6) / 1800.0, (-2.0 + 3.0 * ROOT_OF_6) / 225.0],
    [(296.0 + 169.0 * ROOT_OF_6) / 1800.0, (88.0 + 7.0 * ROOT_OF_6) / 360.0, (-2.0 - 3.0 * ROOT_OF_6) / 225.0],
    [(16.0 - ROOT_OF_6) / 36.0, (16.0 + ROOT_OF_6) / 36.0, 1.0 / 9.0],
];
/// Weights of the stages in the error estimate, and the real eigenvalue that belongs to it.
const E: [f64; 3] = [(-13.0 - 7.0 * ROOT_OF_6) / 3.0, (-13.0 + 7.0 * ROOT_OF_6) / 3.0, -1.0 / 3.0];
const EIGENVALUE: f64 = 3.637_834_252_744_496;

/// A step that was tried.
struct Tried {
    volumes: Vec<f64>,
    integrals: Vec<f64>,
    error: f64,
}

/// What a step starts from.
struct Start<'a> {
    plant: &'a Plant,
    active: &'a [usize],
    stored_pa: &'a [f64],
    volumes: Vec<f64>,
    net: Vec<f64>,
    jacobian: Vec<f64>,
    tolerance: f64,
}

/// One step of several storages, cut short where a watched gauge changes.
pub fn step(config: &mut Config, question: &Question, active: &[usize], frame: &Frame) -> Result<Leg, SolveError> {
    let &Question { plant, stored_pa, raised, most_s, watches, tolerance } = question;
    let start = Start {
        plant,
        active,
        stored_pa,
        volumes: active.iter().map(|&k| plant.storages[k].volume_m3(stored_pa[k])).collect(),
        net: active.iter().map(|&k| frame.integrands[k]).collect(),
        jacobian: jacobian(config, plant, active, stored_pa, frame)?,
        tolerance: tolerance.share / Tolerance::USUAL.share,
    };
    let mut step_s = config.step_s.min(most_s);
    let tried = loop {
        let found = start.attempt(config, step_s)?;
        let error = found.as_ref().map_or(f64::INFINITY, |tried| tried.error);
        if let Some(tried) = found.filter(|_| error <= 1.0 || step_s <= LEAST_STEP_S) {
            let factor = if error > 0.0 { (0.9 * error.powf(-0.25)).clamp(0.2, 8.0) } else { 8.0 };
            config.step_s = if step_s < most_s { step_s * factor } else { config.step_s.max(step_s * factor) };
            break tried;
        }
        let factor = if error.is_finite() { (0.9 * error.powf(-0.25)).clamp(0.1, 0.7) } else { 0.25 };
        step_s = (step_s * factor).max(0.5 * LEAST_STEP_S);
    };
    start.finish(config, tried, step_s, raised, watches)
}

impl Start<'_> {
    /// The leg of an accepted step, or of the shorter one that ends at the first event in it.
    fn finish(
        &self,
        config: &mut Config,
        tried: Tried,
        step_s: f64,
        raised: &[bool],
        watches: &[Watch],
    ) -> Result<Leg, SolveError> {
        let (mut tried, mut step_s) = (tried, step_s);
        let mut end_pa = self.pressures(&tried.volumes);
        let mut frame = Frame::default();
        config.evaluate(self.plant, &end_pa, &mut frame)?;
        let mut event = false;
        for _ in 0..watches.len() {
            let changed =
                |frame: &Frame| (0..watches.len()).find(|&gauge| watches[gauge].sees(raised[gauge], frame.raised[gauge]));
            let Some(gauge) = changed(&frame) else { break };
            event = true;
            let sign = if raised[gauge] { 1.0 } else { -1.0 };
            let (before, behind) = bracket(0.0, step_s, |at| {
                if at <= 0.0 {
                    return Ok(f64::MIN_POSITIVE.max(1.0));
                }
                let mut here = Frame::default();
                if let Some(shorter) = self.attempt(config, at)? {
                    config.evaluate(self.plant, &self.pressures(&shorter.volumes), &mut here)?;
                    let value = sign * here.gauges[gauge];
                    return Ok(if sign > 0.0 && value == 0.0 { f64::MIN_POSITIVE } else { value });
                }
                Ok(f64::MIN_POSITIVE)
            })?;
            let Some(shorter) = self.attempt(config, behind)? else { break };
            (tried, step_s) = (shorter, behind);
            end_pa = self.pressures(&tried.volumes);
            config.evaluate(self.plant, &end_pa, &mut frame)?;
            // Is another gauge still earlier?
            let mut earlier = Frame::default();
            let Some(sooner) = self.attempt(config, before).ok().flatten().filter(|_| before > 0.0) else { break };
            config.evaluate(self.plant, &self.pressures(&sooner.volumes), &mut earlier)?;
            if changed(&earlier).is_none() {
                break;
            }
            (tried, step_s) = (sooner, before);
            end_pa = self.pressures(&tried.volumes);
            frame = earlier;
        }
        if event {
            config.step_s = FIRST_STEP_S;
        }
        Ok(Leg {
            start_pa: self.stored_pa.to_vec(),
            end_pa,
            time_s: step_s,
            integrals: tried.integrals,
            raised_s: raised.iter().map(|&raised| if raised { step_s } else { 0.0 }).collect(),
            raised: frame.raised,
            start_node_pa: Vec::new(),
            end_node_pa: frame.node_pa,
            event,
        })
    }

    fn pressures(&self, volumes: &[f64]) -> Vec<f64> {
        let mut pressures = self.stored_pa.to_vec();
        for (&k, &volume) in self.active.iter().zip(volumes) {
            pressures[k] = self.plant.storages[k].pressure_pa(volume, pressures[k]);
        }
        pressures
    }

    /// Volume that a storage may be off by, m3.
    fn allowed_m3(&self, index: usize) -> f64 {
        let k = self.active[index];
        let pressure_pa = self.stored_pa[k];
        self.plant.storages[k].m3_per_pa(pressure_pa) * (ERROR_PA + ERROR_SHARE * pressure_pa.abs()) * self.tolerance
    }

    /// Tries a step; nothing when its stages do not settle.
    fn attempt(&self, config: &mut Config, step_s: f64) -> Result<Option<Tried>, SolveError> {
        let n = self.active.len();
        let size = STAGES * n;
        // (I - h A x J), and with it the steps of a simplified Newton's method.
        let mut matrix = vec![0.0; size * size];
        for i in 0..STAGES {
            for j in 0..STAGES {
                for row in 0..n {
                    for column in 0..n {
                        matrix[(i * n + row) * size + j * n + column] = -step_s * A[i][j] * self.jacobian[row * n + column];
                    }
                }
            }
        }
        (0..size).for_each(|index| matrix[index * size + index] += 1.0);
        let factors = Factors::of(matrix, size);
        let mut z = vec![0.0; size];
        let mut frames: [Frame; STAGES] = Default::default();
        let mut last = f64::INFINITY;
        for iteration in 0..12 {
            for (stage, frame) in frames.iter_mut().enumerate() {
                let volumes: Vec<f64> = (0..n).map(|index| self.volumes[index] + z[stage * n + index]).collect();
                config.evaluate(self.plant, &self.pressures(&volumes), frame)?;
            }
            let mut change: Vec<f64> = (0..size)
                .map(|index| {
                    let (stage, k) = (index / n, self.active[index % n]);
                    let sum: f64 = (0..STAGES).map(|j| A[stage][j] * frames[j].integrands[k]).sum();
                    step_s * sum - z[index]
                })
                .collect();
            factors.solve(&mut change);
            let norm = (0..size).map(|index| (change[index] / self.allowed_m3(index % n)).abs()).fold(0.0, f64::max);
            z.iter_mut().zip(&change).for_each(|(z, change)| *z += change);
            if !norm.is_finite() || (iteration > 2 && norm > 2.0 * last) {
                return Ok(None);
            }
            // Where small pressures drive large flows the steady solve is not finer than this.
            let stalls = iteration >= 5 && norm <= 0.3;
            if norm <= SETTLED || stalls {
                return Ok(Some(self.tried(&z, &frames, step_s)));
            }
            last = norm;
        }
        Ok(None)
    }

    fn tried(&self, z: &[f64], frames: &[Frame; STAGES], step_s: f64) -> Tried {
        let n = self.active.len();
        let number = frames[0].integrands.len();
        let integral = |index: usize| step_s * (0..STAGES).map(|j| A[STAGES - 1][j] * frames[j].integrands[index]).sum::<f64>();
        let integrals: Vec<f64> = (0..number).map(integral).collect();
        let volumes = (0..n).map(|index| self.volumes[index] + integrals[self.active[index]]).collect();
        let mut estimate: Vec<f64> = (0..n)
            .map(|index| {
                let sum: f64 = (0..STAGES).map(|stage| E[stage] * z[stage * n + index]).sum();
                sum / step_s + self.net[index]
            })
            .collect();
        let matrix = (0..n * n).map(|index| {
            let diagonal = if index / n == index % n { EIGENVALUE / step_s } else { 0.0 };
            diagonal - self.jacobian[index]
        });
        Factors::of(matrix.collect(), n).solve(&mut estimate);
        let error = (0..n).map(|index| (estimate[index] / self.allowed_m3(index)).abs()).fold(0.0, f64::max);
        Tried { volumes, integrals, error }
    }
}

/// Derivatives of the net inflows to the stored volumes, row by row, by differences.
fn jacobian(
    config: &mut Config,
    plant: &Plant,
    active: &[usize],
    stored_pa: &[f64],
    frame: &Frame,
) -> Result<Vec<f64>, SolveError> {
    let n = active.len();
    let mut jacobian = vec![0.0; n * n];
    let mut moved_pa = stored_pa.to_vec();
    let mut moved = Frame::default();
    for (column, &k) in active.iter().enumerate() {
        // Small, since flows between near pressures go with the root of their difference: two tanks with a valve between
        // them soon stand some hundredths of a pascal apart.
        let by_pa = MOVED_PA + MOVED_SHARE * stored_pa[k].abs();
        // Towards where it goes: the other side of a kink does not matter.
        let by_pa = if frame.integrands[k] < 0.0 { -by_pa } else { by_pa };
        moved_pa[k] += by_pa;
        config.evaluate(plant, &moved_pa, &mut moved)?;
        let volume = plant.storages[k].volume_m3(moved_pa[k]) - plant.storages[k].volume_m3(stored_pa[k]);
        for (row, &other) in active.iter().enumerate() {
            jacobian[row * n + column] = (moved.integrands[other] - frame.integrands[other]) / volume;
        }
        moved_pa[k] = stored_pa[k];
    }
    Ok(jacobian)
}

/// A small dense matrix as triangular factors, with row exchanges.
struct Factors {
    matrix: Vec<f64>,
    order: Vec<usize>,
    size: usize,
}

impl Factors {
    fn of(mut matrix: Vec<f64>, size: usize) -> Factors {
        let mut order: Vec<usize> = (0..size).collect();
        for column in 0..size {
            let largest = |&a: &usize, &b: &usize| matrix[a * size + column].abs().total_cmp(&matrix[b * size + column].abs());
            let pivot = (column..size).max_by(largest).unwrap_or(column);
            order.swap(column, pivot);
            (0..size).for_each(|index| matrix.swap(column * size + index, pivot * size + index));
            for row in column + 1..size {
                let factor = matrix[row * size + column] / matrix[column * size + column];
                matrix[row * size + column] = factor;
                for index in column + 1..size {
                    matrix[row * size + index] -= factor * matrix[column * size + index];
                }
            }
        }
        Factors { matrix, order, size }
    }

    fn solve(&self, right: &mut [f64]) {
        let size = self.size;
        let mut x: Vec<f64> = self.order.iter().map(|&index| right[index]).collect();
        for row in 0..size {
            for index in 0..row {
                x[row] -= self.matrix[row * size + index] * x[index];
            }
        }
        for row in (0..size).rev() {
            for index in row + 1..size {
                x[row] -= self.matrix[row * size + index] * x[index];
            }
            x[row] /= self.matrix[row * size + row];
        }
        right.copy_from_slice(&x);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_coefficients_keep_the_order_conditions() {
        let c: Vec<f64> = A.iter().map(|row| row.iter().sum()).collect();
        for (found, expected) in c.iter().zip([(4.0 - ROOT_OF_6) / 10.0, (4.0 + ROOT_OF_6) / 10.0, 1.0]) {
            assert_relative_eq!(*found, expected, max_relative = 1e-14);
        }
        // B(5): the weights integrate polynomials up to degree 4 exactly; C(3): each row does up to degree 2.
        for power in 0..5 {
            let sum: f64 = (0..3).map(|j| A[2][j] * c[j].powi(power)).sum();
            assert_relative_eq!(sum, 1.0 / f64::from(power + 1), max_relative = 1e-13);
        }
        for (row, at) in A.iter().zip(&c) {
            for power in 0..3 {
                let sum: f64 = (0..3).map(|j| row[j] * c[j].powi(power)).sum();
                assert_relative_eq!(sum, at.powi(power + 1) / f64::from(power + 1), max_relative = 1e-12);
            }
        }
    }

    #[test]
    fn a_small_system_is_solved() {
        let factors = Factors::of(vec![0.0, 2.0, 1.0, 1.0, 1.0, 1.0, 2.0, 0.0, 3.0], 3);
        let mut right = [7.0, 6.0, 11.0];
        factors.solve(&mut right);
        for (found, expected) in right.iter().zip([1.0, 2.0, 3.0]) {
            assert_relative_eq!(*found, expected, max_relative = 1e-14);
        }
    }
}
