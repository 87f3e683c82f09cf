//! Integrals: of a smooth function by Gauss-Legendre points, of values at even steps by Simpson's rule.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Gauss-Legendre points of an integral; polynomials of a degree below twice as many are integrated exactly.
const GAUSS: usize = 14;

/// Gauss-Legendre points on [-1, 1], rising, and their weights.
fn gauss() -> &'static [(f64, f64); GAUSS] {
    static KNOWN: OnceLock<[(f64, f64); GAUSS]> = OnceLock::new();
    KNOWN.get_or_init(|| std::array::from_fn(gauss_point))
}

/// The points of an integral from one place to another, with their weights.
#[inline]
pub fn gauss_between(from: f64, to: f64) -> impl Iterator<Item = (f64, f64)> {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    gauss().iter().map(move |&(x, weight)| (middle + half * x, half * weight))
}

/// A zero of the Legendre polynomial by Newton's method from its asymptotic place, and its weight.
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

/// The integral of values at points one step apart, an odd number of at least three of them; exact for cubics (Simpson).
pub fn simpson(step: f64, values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let last = values.len().saturating_sub(1);
    let weight = |index: usize| match index {
        0 => 1.0,
        index if index == last => 1.0,
        index if index % 2 == 1 => 4.0,
        _ => 2.0,
    };
    step / 3.0 * values.enumerate().map(|(index, value)| weight(index) * value).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A polynomial by its coefficients, the lowest first, and its integral.
    fn polynomial(coefficients: &[f64], x: f64) -> f64 {
        coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
    }

    fn integral(coefficients: &[f64], from: f64, to: f64) -> f64 {
        let raised: Vec<f64> =
            [0.0].into_iter().chain(coefficients.iter().enumerate().map(|(order, c)| c / (order + 1) as f64)).collect();
        polynomial(&raised, to) - polynomial(&raised, from)
    }

    #[test]
    fn weights_add_up_to_the_length_and_points_lie_evenly_about_the_middle() {
        let points = gauss();
        assert!((points.iter().map(|(_, weight)| weight).sum::<f64>() - 2.0).abs() < 1e-14);
        for (near, far) in points.iter().zip(points.iter().rev()) {
            assert!((near.0 + far.0).abs() < 1e-15 && (near.1 - far.1).abs() < 1e-15);
        }
        assert!(points.windows(2).all(|pair| pair[0].0 < pair[1].0));
    }

    #[test]
    fn the_degree_after_the_last_exact_one_is_not_exact() {
        // The error of n points for x^2n is 2^(2n+1) (n!)^4 / ((2n+1) (2n)!^2).
        let factorial = |n: usize| (1..=n).map(|k| k as f64).product::<f64>();
        let n = GAUSS as i32;
        let expected = 2f64.powi(2 * n + 1) * factorial(GAUSS).powi(4) / (f64::from(2 * n + 1) * factorial(2 * GAUSS).powi(2));
        let found: f64 = gauss_between(-1.0, 1.0).map(|(x, weight)| weight * x.powi(2 * GAUSS as i32)).sum();
        let off = 2.0 / (2 * GAUSS + 1) as f64 - found;
        assert!((off / expected - 1.0).abs() < 1e-5, "{off} and {expected}");
    }

    proptest! {
        #[test]
        fn gauss_points_are_exact_for_every_polynomial_of_their_degree(
            coefficients in prop::collection::vec(-1.0f64..1.0, 2 * GAUSS), from in -1.0f64..1.0, to in -1.0f64..1.0,
        ) {
            let found: f64 = gauss_between(from, to).map(|(x, weight)| weight * polynomial(&coefficients, x)).sum();
            prop_assert!((found - integral(&coefficients, from, to)).abs() < 1e-13);
        }

        #[test]
        fn simpson_is_exact_for_every_cubic(
            coefficients in prop::collection::vec(-1.0f64..1.0, 4), from in -2.0f64..2.0, width in 0.1f64..3.0, pairs in 1usize..20,
        ) {
            let step = width / (2 * pairs) as f64;
            let found = simpson(step, (0..2 * pairs + 1).map(|index| polynomial(&coefficients, from + step * index as f64)));
            prop_assert!((found - integral(&coefficients, from, from + width)).abs() < 1e-12);
        }
    }
}
