//! The bottom of a valley by golden section.
//!
//! Source: J. Kiefer, Sequential minimax search for a maximum, Proceedings of the American Mathematical Society 4 (1953).

/// Share of a piece that is kept at each step: the golden section.
const KEPT: f64 = 0.618_033_988_749_894_9;

/// Narrows the piece from `low` to `high` down to `width` about the bottom of its one valley, and gives its middle; of a flat
/// bottom some point. `value` gives the value at a point, and `beats` whether the first of two is the better.
///
/// Errors: those of `value`.
pub fn bottom<V, E>(
    low: f64,
    high: f64,
    width: f64,
    mut value: impl FnMut(f64) -> Result<V, E>,
    beats: impl Fn(&V, &V) -> bool,
) -> Result<f64, E> {
    let (mut low, mut high) = (low, high);
    let mut left = high - KEPT * (high - low);
    let mut right = low + KEPT * (high - low);
    let (mut at_left, mut at_right) = (value(left)?, value(right)?);
    // Rounding of the ends is the narrowest there is.
    let width = width.max(4.0 * f64::EPSILON * low.abs().max(high.abs()));
    while high - low > width {
        if beats(&at_right, &at_left) {
            (low, left, at_left) = (left, right, at_right);
            right = low + KEPT * (high - low);
            at_right = value(right)?;
        } else {
            (high, right, at_right) = (right, left, at_left);
            left = high - KEPT * (high - low);
            at_left = value(left)?;
        }
    }
    Ok(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::convert::Infallible;

    fn found(low: f64, high: f64, width: f64, f: impl Fn(f64) -> f64) -> f64 {
        let Ok(at) = bottom(low, high, width, |x| Ok::<f64, Infallible>(f(x)), |a, b| a < b);
        at
    }

    #[test]
    fn a_width_of_nothing_ends_at_rounding() {
        assert!((found(-1.0, 5.0, 0.0, |x| (x - 2.0).abs()) - 2.0).abs() < 1e-14);
    }

    #[test]
    fn an_error_of_the_function_is_handed_on() {
        assert_eq!(bottom(0.0, 1.0, 1e-3, |_| Err::<f64, u8>(7), |a, b| a < b), Err(7));
    }

    proptest! {
        #[test]
        fn the_bottom_of_a_convex_function_is_met(at in -3.0f64..3.0, left in 0.1f64..9.0, right in 0.1f64..9.0) {
            // Steep on either side in its own way, with a corner at the bottom.
            let valley = |x: f64| if x < at { left * (at - x) } else { right * (x - at) + (x - at).powi(2) };
            prop_assert!((found(-4.0, 4.0, 1e-9, valley) - at).abs() <= 1e-9);
        }

        #[test]
        fn a_flat_bottom_and_a_function_flat_everywhere_end_inside(at in -3.0f64..3.0, half in 0.0f64..2.0) {
            let trough = |x: f64| ((x - at).abs() - half).max(0.0);
            prop_assert!((found(-6.0, 6.0, 1e-9, trough) - at).abs() <= half + 1e-9);
            let flat = found(-6.0, 6.0, 1e-9, |_| at);
            prop_assert!((-6.0..=6.0).contains(&flat));
        }

        #[test]
        fn a_function_that_only_falls_or_rises_has_its_bottom_at_an_end(rate in 0.1f64..9.0) {
            prop_assert!((found(1.0, 2.0, 1e-9, |x| rate * x) - 1.0).abs() <= 1e-9);
            prop_assert!((found(1.0, 2.0, 1e-9, |x| -rate * x) - 2.0).abs() <= 1e-9);
        }
    }
}
