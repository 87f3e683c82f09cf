//! Smooth functions on an interval as Chebyshev series.
//!
//! Source: L. N. Trefethen, Approximation Theory and Approximation Practice (2013), chapters 2 to 4, from memory.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Points of a series, both ends included.
pub const POINTS: usize = 13;

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
}
