//! Nonlinear least squares inside bounds: damped Gauss-Newton steps.
//!
//! Sources: D. W. Marquardt, J. Soc. Indust. Appl. Math. 11 (1963), for the damping; J. J. More, Lecture Notes in Mathematics
//! 630 (1978), for the scaling by the largest columns up to the present step; K. Madsen, H. B. Nielsen and O. Tingleff, Methods for Non-Linear
//! Least Squares Problems (2004), for the way the damping changes. A variable at a bound that the descent pushes against
//! stays there for the step.

use crate::numeric::solve_positive;

/// What is to be made small.
pub(super) trait Problem {
    /// Residuals at a point inside the bounds; nothing where there are none.
    fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>>;
    /// Derivatives of the residuals, a row each, at the point of the last residuals that were asked for.
    fn jacobian(&mut self, x: &[f64]) -> Vec<Vec<f64>>;
}

/// What a model is to the search and to its report.
pub(super) trait Unknowns: Problem {
    /// Where the search begins.
    fn start(&self) -> Vec<f64>;
    /// The ends of each unknown.
    fn bounds(&self) -> Vec<(f64, f64)>;
    /// The value of an unknown, SI.
    fn si(&self, x: &[f64], index: usize) -> f64;
    /// SI of one unit of the search.
    fn scale(&self, index: usize) -> f64;
    /// Why the last values were refused, if any were.
    fn refusal(&self) -> Option<&str>;
    /// What an unknown must be, in words.
    fn must_be(&self, index: usize) -> String;
}

/// Where a search ended.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub x: Vec<f64>,
    pub residuals: Vec<f64>,
    pub jacobian: Vec<Vec<f64>>,
    /// For each variable whether a bound holds it.
    pub bound: Vec<bool>,
    pub iterations: usize,
    pub why: Stop,
}

/// Why a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stop {
    /// The last step was too small to matter.
    Settled,
    /// No step made it better, though the slope says there should be one.
    Stuck,
    TooMany,
}

const MOST_ITERATIONS: usize = 200;
/// A step below this share of the variables is none; variables are of order one.
const LEAST_STEP: f64 = 1e-10;
const FIRST_DAMPING: f64 = 1e-3;
const MOST_DAMPING: f64 = 1e14;

/// Finds the least sum of squares from a start; nothing where the start has no residuals.
pub(super) fn least_squares(problem: &mut impl Problem, start: &[f64], bounds: &[(f64, f64)]) -> Option<Found> {
    let clamped = |x: f64, index: usize| x.clamp(bounds[index].0, bounds[index].1);
    let mut x: Vec<f64> = start.iter().enumerate().map(|(index, value)| clamped(*value, index)).collect();
    let mut residuals = problem.residuals(&x)?;
    let mut jacobian = problem.jacobian(&x);
    let mut largest = vec![0.0f64; x.len()];
    let (mut damping, mut growth) = (FIRST_DAMPING, 2.0);
    let mut iterations = 0;
    let mut why = Stop::TooMany;
    while iterations < MOST_ITERATIONS {
        iterations += 1;
        let normal = normal_matrix(&jacobian, x.len());
        let slope = transposed_times(&jacobian, &residuals, x.len());
        for (most, index) in largest.iter_mut().zip(0..) {
            *most = most.max(normal[index][index]);
        }
        let held = held(&x, &slope, bounds);
        let free: Vec<usize> = (0..x.len()).filter(|&index| !held[index] && largest[index] > 0.0).collect();
        let Some(step) = damped_step(&normal, &slope, &largest, damping, &free) else {
            damping *= growth;
            growth *= 2.0;
            continue;
        };
        let next: Vec<f64> = x.iter().zip(&step).enumerate().map(|(index, (x, step))| clamped(x + step, index)).collect();
        let taken: Vec<f64> = next.iter().zip(&x).map(|(next, x)| next - x).collect();
        if free.is_empty() || taken.iter().zip(&x).all(|(taken, x)| taken.abs() <= LEAST_STEP * (1e-3 + x.abs())) {
            // A step may be small for its damping alone.
            why = if damping < 1e3 { Stop::Settled } else { Stop::Stuck };
            break;
        }
        let predicted = -dot(&slope, &taken) - 0.5 * quadratic(&normal, &taken);
        let now = 0.5 * dot(&residuals, &residuals);
        let tried = problem.residuals(&next);
        let gained = tried.as_ref().map_or(f64::NEG_INFINITY, |tried| now - 0.5 * dot(tried, tried));
        match tried {
            Some(tried) if gained > 0.0 => {
                (x, residuals) = (next, tried);
                jacobian = problem.jacobian(&x);
                let share = gained / predicted.max(f64::MIN_POSITIVE);
                damping *= (1.0 - (2.0 * share - 1.0).powi(3)).clamp(1.0 / 3.0, 2.0);
                growth = 2.0;
                if gained <= 1e-15 * now && share > 0.25 {
                    why = Stop::Settled;
                    break;
                }
            }
            _ => {
                // Rounding hides gains this small.
                if predicted.abs() <= 1e-13 * now || now <= 1e-24 {
                    why = Stop::Settled;
                    break;
                }
                damping *= growth;
                growth *= 2.0;
                if damping > MOST_DAMPING {
                    why = Stop::Stuck;
                    break;
                }
            }
        }
    }
    // The last residuals asked for may be those of a step that was refused.
    residuals = problem.residuals(&x)?;
    jacobian = problem.jacobian(&x);
    let slope = transposed_times(&jacobian, &residuals, x.len());
    let bound = held(&x, &slope, bounds);
    Some(Found { bound, x, residuals, jacobian, iterations, why })
}

/// Which variables sit at a bound with the descent pushing outwards.
fn held(x: &[f64], slope: &[f64], bounds: &[(f64, f64)]) -> Vec<bool> {
    x.iter()
        .zip(slope)
        .zip(bounds)
        .map(|((x, slope), (low, high))| (*x <= *low && *slope >= 0.0) || (*x >= *high && *slope <= 0.0))
        .collect()
}

/// The step of the free variables; nothing where the matrix is not positive.
fn damped_step(normal: &[Vec<f64>], slope: &[f64], largest: &[f64], damping: f64, free: &[usize]) -> Option<Vec<f64>> {
    let damped = |i: usize, j: usize| normal[i][j] + if i == j { damping * largest[i] } else { 0.0 };
    let mut matrix: Vec<f64> = free.iter().flat_map(|&i| free.iter().map(move |&j| damped(i, j))).collect();
    let mut right: Vec<f64> = free.iter().map(|&i| -slope[i]).collect();
    if !solve_positive(&mut matrix, &mut right) {
        return None;
    }
    let mut step = vec![0.0; slope.len()];
    free.iter().zip(right).for_each(|(&index, by)| step[index] = by);
    Some(step)
}

pub(super) fn normal_matrix(jacobian: &[Vec<f64>], n: usize) -> Vec<Vec<f64>> {
    (0..n).map(|i| (0..n).map(|j| jacobian.iter().map(|row| row[i] * row[j]).sum()).collect()).collect()
}

fn transposed_times(jacobian: &[Vec<f64>], residuals: &[f64], n: usize) -> Vec<f64> {
    (0..n).map(|j| jacobian.iter().zip(residuals).map(|(row, residual)| row[j] * residual).sum()).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn quadratic(matrix: &[Vec<f64>], x: &[f64]) -> f64 {
    matrix.iter().zip(x).map(|(row, xi)| xi * dot(row, x)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The valley of H. H. Rosenbrock, The Computer Journal 3 (1960), as two residuals.
    struct Valley;

    impl Problem for Valley {
        fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>> {
            Some(vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]])
        }

        fn jacobian(&mut self, x: &[f64]) -> Vec<Vec<f64>> {
            vec![vec![-20.0 * x[0], 10.0], vec![-1.0, 0.0]]
        }
    }

    #[test]
    fn goes_down_the_curved_valley() {
        let free = [(f64::NEG_INFINITY, f64::INFINITY); 2];
        let found = least_squares(&mut Valley, &[-1.2, 1.0], &free).expect("an end");
        assert!((found.x[0] - 1.0).abs() < 1e-8 && (found.x[1] - 1.0).abs() < 1e-8, "{:?}", found.x);
        assert_eq!(found.why, Stop::Settled);
        assert!(found.iterations < 60, "{} iterations", found.iterations);
    }

    #[test]
    fn stops_at_a_bound_with_the_others_at_their_best() {
        // With x at most 1/2 the best y is its square.
        let bounds = [(f64::NEG_INFINITY, 0.5), (f64::NEG_INFINITY, f64::INFINITY)];
        let found = least_squares(&mut Valley, &[-1.2, 1.0], &bounds).expect("an end");
        assert_eq!(found.bound, [true, false]);
        assert!((found.x[0] - 0.5).abs() < 1e-12 && (found.x[1] - 0.25).abs() < 1e-7, "{:?}", found.x);
    }
}
