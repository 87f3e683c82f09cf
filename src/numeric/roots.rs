//! Seeking the value at which something becomes nothing: a root inside a bracket, by Brent's method.
//!
//! Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 4; written from the description.

use thiserror::Error;

/// A root and how it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sought {
    pub x: f64,
    /// What is left there.
    pub value: f64,
    pub evaluations: usize,
}

/// Why no root was found.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SeekError<E> {
    /// The values at both ends have the same sign.
    #[error("the value does not change its sign between the ends: {at_low} and {at_high}")]
    SameSign { at_low: f64, at_high: f64 },
    #[error("the value at {x} is not a number")]
    NotANumber { x: f64 },
    #[error("no answer after {evaluations} evaluations")]
    TooMany { evaluations: usize },
    /// The function itself failed.
    #[error("{0}")]
    Failed(E),
}

const MOST_EVALUATIONS: usize = 200;

/// The x between `low` and `high` where `f` is zero, to `tolerance` in x; `f` must change its sign between them.
pub fn seek<E>(low: f64, high: f64, tolerance: f64, mut f: impl FnMut(f64) -> Result<f64, E>) -> Result<Sought, SeekError<E>> {
    let mut evaluations = 0;
    let mut eval = |x: f64| -> Result<f64, SeekError<E>> {
        evaluations += 1;
        let value = f(x).map_err(SeekError::Failed)?;
        if value.is_nan() { Err(SeekError::NotANumber { x }) } else { Ok(value) }
    };
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (eval(a)?, eval(b)?);
    if fa != 0.0 && fb != 0.0 && (fa > 0.0) == (fb > 0.0) {
        return Err(SeekError::SameSign { at_low: fa, at_high: fb });
    }
    let (mut c, mut fc) = (a, fa);
    let (mut step, mut before) = (b - a, b - a);
    for used in 2..MOST_EVALUATIONS {
        if fb != 0.0 && fc != 0.0 && (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let near = 2.0 * f64::EPSILON * b.abs() + 0.5 * tolerance;
        let middle = 0.5 * (c - b);
        if middle.abs() <= near || fb == 0.0 {
            return Ok(Sought { x: b, value: fb, evaluations: used });
        }
        if before.abs() >= near && fa.abs() > fb.abs() {
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * middle * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (s * (2.0 * middle * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            }
            p = p.abs();
            if 2.0 * p < (3.0 * middle * q - (near * q).abs()).min((before * q).abs()) {
                before = step;
                step = p / q;
            } else {
                step = middle;
                before = middle;
            }
        } else {
            step = middle;
            before = middle;
        }
        (a, fa) = (b, fb);
        b += if step.abs() > near { step } else { near.copysign(middle) };
        fb = eval(b)?;
    }
    Err(SeekError::TooMany { evaluations: MOST_EVALUATIONS })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::convert::Infallible;

    fn ok(f: impl Fn(f64) -> f64) -> impl FnMut(f64) -> Result<f64, Infallible> {
        move |x| Ok(f(x))
    }

    #[test]
    fn finds_known_roots_in_few_evaluations() {
        struct Case {
            f: fn(f64) -> f64,
            ends: (f64, f64),
            root: f64,
            within: f64,
        }
        // Roots known in closed form: sqrt 2, the fixed point of the cosine (from memory), and a flat triple root.
        let cases = [
            Case { f: |x| x * x - 2.0, ends: (0.0, 2.0), root: 2f64.sqrt(), within: 1e-12 },
            Case { f: |x| x.cos() - x, ends: (0.0, 1.0), root: 0.739_085_133_215_160_6, within: 1e-12 },
            Case { f: |x| (x - 0.3).powi(3), ends: (0.0, 1.0), root: 0.3, within: 1e-5 },
        ];
        for Case { f, ends: (low, high), root, within } in cases {
            let found = seek(low, high, 1e-13, ok(f)).expect("a root");
            assert!((found.x - root).abs() < within, "{} instead of {root}", found.x);
            assert!(found.evaluations < 130, "{} evaluations", found.evaluations);
        }
    }

    #[test]
    fn fails_when_the_sign_does_not_change() {
        let error = seek(1.0, 2.0, 1e-9, ok(|x| x)).unwrap_err();
        assert_eq!(error, SeekError::SameSign { at_low: 1.0, at_high: 2.0 });
    }

    #[test]
    fn a_root_at_an_end_is_found() {
        assert_eq!(seek(0.0, 2.0, 1e-9, ok(|x| x)).expect("a root").x, 0.0);
        assert_eq!(seek(-2.0, 0.0, 1e-9, ok(|x| x)).expect("a root").x, 0.0);
    }
}
