//! Smooth functions on an interval as Chebyshev series, and Gauss-Legendre points. Plain numbers only.
//!
//! Source: L. N. Trefethen, Approximation Theory and Approximation Practice (2013), chapters 2 to 4, from memory.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Points of a series, both ends included.
pub const POINTS: usize = 13;
/// Gauss-Legendre points of an integral.
pub const GAUSS: usize = 14;

/// The points on [-1, 1], rising.
pub fn points() -> &'static [f64; POINTS] {
    static KNOWN: OnceLock<[f64; POINTS]> = OnceLock::new();
    KNOWN.get_or_init(|| std::array::from_fn(|index| -(PI * index as f64 / (POINTS - 1) as f64).cos()))
}

/// Coefficients of the series through values at the points.
pub fn coefficients(values: &[f64; POINTS]) -> [f64; POINTS] {
    static KNOWN: OnceLock<[[f64; POINTS]; POINTS]> = OnceLock::new();
    let matrix = KNOWN.get_or_init(|| {
        let n = (POINTS - 1) as f64;
        let half = |index: usize| if index == 0 || index == POINTS - 1 { 0.5 } else { 1.0 };
        std::array::from_fn(|order| {
            std::array::from_fn(|index| {
                // The points run upward: point `index` is cos(pi (n - index) / n).
                let angle = PI * order as f64 * (n - index as f64) / n;
                2.0 / n * half(order) * half(index) * angle.cos()
            })
        })
    });
    std::array::from_fn(|order| matrix[order].iter().zip(values).map(|(weight, value)| weight * value).sum())
}

/// The series at a place in [-1, 1] (Clenshaw).
#[inline]
pub fn series(coefficients: &[f64], x: f64) -> f64 {
    let (mut next, mut after) = (0.0, 0.0);
    for &coefficient in coefficients[1..].iter().rev() {
        (next, after) = (2.0 * x * next - after + coefficient, next);
    }
    x * next - after + coefficients[0]
}

/// Gauss-Legendre points on [-1, 1] and their weights.
pub fn gauss() -> &'static [(f64, f64); GAUSS] {
    static KNOWN: OnceLock<[(f64, f64); GAUSS]> = OnceLock::new();
    KNOWN.get_or_init(|| std::array::from_fn(gauss_point))
}

fn gauss_point(index: usize) -> (f64, f64) {
    let n = GAUSS as f64;
    let mut x = -(PI * (index as f64 + 0.75) / (n + 0.5)).cos();
    let mut slope = 1.0;
    for _ in 0..50 {
        let (mut before, mut here) = (1.0, x);
        for order in 2..=GAUSS {
            let k = order as f64;
            (before, here) = (here, ((2.0 * k - 1.0) * x * here - (k - 1.0) * before) / k);
        }
        slope = n * (x * here - before) / (x * x - 1.0);
        let step = here / slope;
        x -= step;
        if step.abs() < 1e-16 {
            break;
        }
    }
    (x, 2.0 / ((1.0 - x * x) * slope * slope))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_series_goes_through_its_values_and_between_them() {
        let values: [f64; POINTS] = std::array::from_fn(|index| (0.7 * points()[index]).exp());
        let found = coefficients(&values);
        for x in [-1.0, -0.3, 0.123, 1.0] {
            // Thirteen points leave some 1e-14 of an exponential.
            assert_relative_eq!(series(&found, x), (0.7 * x).exp(), max_relative = 1e-13);
        }
    }

    #[test]
    fn gauss_points_integrate_polynomials_exactly() {
        let integral: f64 = gauss().iter().map(|(x, weight)| weight * x.powi(26)).sum();
        assert_relative_eq!(integral, 2.0 / 27.0, max_relative = 1e-13);
        assert_relative_eq!(gauss().iter().map(|(_, weight)| weight).sum::<f64>(), 2.0, max_relative = 1e-14);
    }
}
