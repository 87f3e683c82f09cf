//! Seeking the value at which something becomes nothing: a root inside a bracket. By Brent's method where only values are known,
//! by Newton's method kept inside the bracket where slopes are known too.
//!
//! Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 4; written from the description.

use thiserror::Error;

/// A root and how it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sought {
    /// Where the root is.
    pub x: f64,
    /// What is left there.
    pub value: f64,
    /// How often the function was evaluated.
    pub evaluations: usize,
}

/// Why no root was found.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SeekError<E> {
    /// The values at both ends have the same sign.
    #[error("the value does not change sign between the ends: {at_low} and {at_high}")]
    SameSign {
        /// The value at the lower end.
        at_low: f64,
        /// The value at the upper end.
        at_high: f64,
    },
    /// The function gave NaN.
    #[error("the value at {x} is not a number")]
    NotANumber {
        /// Where it did.
        x: f64,
    },
    /// The function passes from one sign to the other without a zero: a step or a pole.
    #[error("the value jumps from {} to {} between {} and {}", from.value, to.value, from.x, to.x)]
    Jump {
        /// The end of the last bracket at the lower x.
        from: End,
        /// The other end.
        to: End,
    },
    /// The bracket was still wide when the function had been evaluated as often as it may be.
    #[error("no solution after {evaluations} evaluations")]
    TooMany {
        /// How often it was evaluated.
        evaluations: usize,
    },
    /// The function itself failed.
    #[error("{0}")]
    Failed(E),
}

/// An end of a bracket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// Where the end is.
    pub x: f64,
    /// The value of the function there.
    pub value: f64,
}

/// How near a root is found: to a share of its distance from zero, and never nearer than `least`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// The share.
    pub share: f64,
    /// The least distance.
    pub least: f64,
}

impl From<f64> for Tolerance {
    fn from(least: f64) -> Tolerance {
        Tolerance { share: 0.0, least }
    }
}

const MOST_EVALUATIONS: usize = 200;
/// A change of the value across the last bracket, as a share of that between the ends, which no smooth function has.
const SUSPICIOUS: f64 = 1e-5;
/// A bracket halved so often that the change across it is below half unless it is a jump, be the root as steep as the tenth one.
const HALVINGS: usize = 12;
/// Two numbers that differ by no more than this share of themselves are one but for rounding.
const ROUNDING: f64 = 4.0 * f64::EPSILON;

/// The x between `low` and `high` where `f` is zero, or passes from one sign to the other; `f` must change its sign between them.
pub fn seek<E>(
    low: f64,
    high: f64,
    tolerance: impl Into<Tolerance>,
    f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<Sought, SeekError<E>> {
    bracketed(low, high, tolerance.into(), f, |_, _, _| Ok(()))
}

/// As [`seek`], for a zero only: a jump from one sign to the other is an error.
pub fn zero<E>(
    low: f64,
    high: f64,
    tolerance: impl Into<Tolerance>,
    f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<Sought, SeekError<E>> {
    bracketed(low, high, tolerance.into(), f, |[mut best, mut other], span, f| {
        let change = |a: End, b: End| (a.value - b.value).abs();
        let before = change(best, other);
        if best.value == 0.0 || before <= SUSPICIOUS * span {
            return Ok(());
        }
        for _ in 0..HALVINGS {
            let x = 0.5 * (best.x + other.x);
            let middle = End { x, value: f(x)? };
            if middle.value == 0.0 {
                return Ok(());
            }
            *if (middle.value > 0.0) == (best.value > 0.0) { &mut best } else { &mut other } = middle;
        }
        if change(best, other) < 0.5 * before {
            return Ok(());
        }
        let (from, to) = if best.x < other.x { (best, other) } else { (other, best) };
        Err(SeekError::Jump { from, to })
    })
}

type Eval<'f, E> = &'f mut dyn FnMut(f64) -> Result<f64, SeekError<E>>;

/// Seeks, and lets `judge` look at the last bracket, its better end first, and at the change of the value between the ends.
fn bracketed<E>(
    low: f64,
    high: f64,
    tolerance: Tolerance,
    mut f: impl FnMut(f64) -> Result<f64, E>,
    judge: impl Fn([End; 2], f64, Eval<E>) -> Result<(), SeekError<E>>,
) -> Result<Sought, SeekError<E>> {
    let mut evaluations = 0;
    let mut eval = |x: f64| -> Result<f64, SeekError<E>> {
        evaluations += 1;
        let value = f(x).map_err(SeekError::Failed)?;
        if value.is_nan() { Err(SeekError::NotANumber { x }) } else { Ok(value) }
    };
    let (at_low, at_high) = (eval(low)?, eval(high)?);
    if at_low != 0.0 && at_high != 0.0 && (at_low > 0.0) == (at_high > 0.0) {
        return Err(SeekError::SameSign { at_low, at_high });
    }
    let ends = [End { x: low, value: at_low }, End { x: high, value: at_high }];
    let (bracket, is_narrow) = brent(ends, tolerance, &mut eval)?;
    if is_narrow {
        judge(bracket, (at_high - at_low).abs(), &mut eval)?;
        return Ok(Sought { x: bracket[0].x, value: bracket[0].value, evaluations });
    }
    Err(SeekError::TooMany { evaluations })
}

/// Narrows a change of sign, from above zero at the first end to not above it at the other, until the ends are `tolerance` apart:
/// the last point above zero, the first that is not. The function may jump, be it but a sign; a zero ends the search at once.
///
/// Errors: those of the function.
pub fn narrow<E>(
    mut above: End,
    mut below: End,
    tolerance: f64,
    mut f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<(End, End), E> {
    brent([above, below], tolerance.into(), |x| {
        let value = f(x)?;
        *if value > 0.0 { &mut above } else { &mut below } = End { x, value };
        Ok(value)
    })?;
    Ok((above, below))
}

/// The last bracket, its better end first, and whether it is as narrow as it should be.
fn brent<E>([from, to]: [End; 2], tolerance: Tolerance, mut f: impl FnMut(f64) -> Result<f64, E>) -> Result<([End; 2], bool), E> {
    let bracket = |b: f64, fb: f64, c: f64, fc: f64| [End { x: b, value: fb }, End { x: c, value: fc }];
    // `b` is the best until now, `a` the one before it, and `c` the end on the other side of the root.
    let (End { x: mut a, value: mut fa }, End { x: mut b, value: mut fb }) = (from, to);
    let (mut c, mut fc) = (a, fa);
    let (mut step, mut before) = (b - a, b - a);
    for _ in 2..MOST_EVALUATIONS {
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let near = 2.0 * f64::EPSILON * b.abs() + 0.5 * tolerance.least.max(tolerance.share * b.abs());
        let middle = 0.5 * (c - b);
        if middle.abs() <= near || fb == 0.0 {
            return Ok((bracket(b, fb, c, fc), true));
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
        fb = f(b)?;
        if fb != 0.0 && fc != 0.0 && (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            step = b - a;
            before = step;
        }
    }
    Ok((bracket(b, fb, c, fc), false))
}

/// The root of a function that rises, by Newton's method kept between `low` and `high`, which lie on either side of it; where a
/// step would leave the bracket that is halved. `f` gives value and slope.
///
/// It ends where the value is at most `within`, or where rounding lets it come no nearer.
pub fn rising_root(low: f64, high: f64, start: f64, within: f64, mut f: impl FnMut(f64) -> (f64, f64)) -> f64 {
    let (mut low, mut high) = (low, high);
    let mut x = start;
    for _ in 0..MOST_EVALUATIONS {
        let (value, slope) = f(x);
        if value.abs() <= within {
            break;
        }
        // Written so that what has grown out of all numbers is too much.
        *if value < 0.0 { &mut low } else { &mut high } = x;
        let mut next = x - value / slope;
        if !(next > low && next < high) {
            next = 0.5 * (low + high);
        }
        let moved = (next - x).abs();
        x = next;
        if moved <= ROUNDING * x.abs() || high - low <= ROUNDING * low.abs().max(high.abs()) {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
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
    fn a_small_root_in_a_wide_bracket_is_as_exact_as_a_large_one() {
        let near = Tolerance { share: 1e-9, least: 1e-30 };
        for root in [3.0, 1e-7, 4e9] {
            let found = zero(0.0, 1e10, near, ok(|x| x - root)).expect("a root");
            assert!((found.x - root).abs() <= 1e-9 * root, "{} instead of {root}", found.x);
        }
    }

    #[test]
    fn a_jump_is_no_zero_and_a_steep_root_is_one() {
        for (what, f) in hostile(0.7) {
            let jumps = matches!(what, "a sign alone" | "a step of unlike sides" | "a pole in place of a root");
            let found = zero(-2.0, 3.0, 1e-9, ok(f));
            assert_eq!(
                matches!(found, Err(SeekError::Jump { from, to }) if from.x <= 0.7 && 0.7 <= to.x),
                jumps,
                "{what}: {found:?}"
            );
        }
    }

    #[test]
    fn a_root_at_an_end_is_found() {
        assert_eq!(seek(0.0, 2.0, 1e-9, ok(|x| x)).expect("a root").x, 0.0);
        assert_eq!(seek(-2.0, 0.0, 1e-9, ok(|x| x)).expect("a root").x, 0.0);
    }

    type Function = Box<dyn Fn(f64) -> f64>;

    /// Functions that change their sign once, at `root`, each hostile in its own way.
    fn hostile(root: f64) -> Vec<(&'static str, Function)> {
        vec![
            ("a flat root", Box::new(move |x| (x - root).powi(9))),
            ("a steep root", Box::new(move |x| (x - root).cbrt())),
            ("a sign alone", Box::new(move |x| if x < root { -1.0 } else { 1.0 })),
            ("a step of unlike sides", Box::new(move |x| if x < root { -1e-12 } else { 1e12 })),
            ("a pole in place of a root", Box::new(move |x| 1.0 / (x - root))),
            ("flat but near the root", Box::new(move |x| (1e6 * (x - root)).tanh())),
            ("grown out of all numbers", Box::new(move |x| (x - root) * (300.0 * (x - root).abs()).exp())),
            ("waves about a rise", Box::new(move |x| (x - root) * (1.5 + (40.0 * x).sin()))),
        ]
    }

    proptest! {
        #[test]
        fn a_bracket_of_a_hostile_function_holds_its_root_and_is_narrow(root in -1.9f64..2.9, rises in any::<bool>()) {
            for (what, f) in hostile(root) {
                let f = |x: f64| if rises { f(x) } else { -f(x) };
                let found = seek(-2.0, 3.0, 1e-9, ok(f)).expect(what);
                prop_assert!((found.x - root).abs() <= 1e-9 || found.value == 0.0, "{}: {} and {root}", what, found.x);
                let mut asked = Vec::new();
                let noted = |x: f64| {
                    asked.push(x);
                    Ok::<f64, Infallible>(f(x))
                };
                let (above, below) = if rises { (3.0, -2.0) } else { (-2.0, 3.0) };
                let ends = [above, below].map(|x| End { x, value: f(x) });
                let (above, below) = narrow(ends[0], ends[1], 1e-9, noted).expect("no failure");
                prop_assert!(above.value > 0.0 && below.value <= 0.0, "{}: {above:?} {below:?}", what);
                prop_assert!(below.value == 0.0 || (above.x - below.x).abs() <= 1e-9 + 1e-14, "{}: {above:?} {below:?}", what);
                prop_assert!(asked.iter().all(|x| (-2.0..=3.0).contains(x)), "{}: asked outside", what);
            }
        }

        #[test]
        fn a_root_with_slopes_is_met_to_rounding_from_anywhere(
            root in -3.0f64..3.0, start in 0.0f64..1.0, low in 0.1f64..9.0, high in 0.1f64..9.0, bend in 0.0f64..9.0, kink in 1e-6f64..1.0,
        ) {
            let (low, high) = (root - low, root + high);
            let start = low + start * (high - low);
            let smooth = |x: f64| ((x - root) * (1.0 + bend * (x - root).powi(2)), 1.0 + 3.0 * bend * (x - root).powi(2));
            prop_assert!((rising_root(low, high, start, 0.0, smooth) - root).abs() <= 1e-15 * (1.0 + root.abs()));
            // Flat on one side, so that a step goes far beyond.
            let bent = |x: f64| if x < root { (kink * (x - root), kink) } else { (x - root, 1.0) };
            prop_assert!((rising_root(low, high, start, 0.0, bent) - root).abs() <= 1e-15 * (1.0 + root.abs()));
            // A slope that says nothing leaves halving.
            let blind = |x: f64| (x - root, if bend > 4.0 { 0.0 } else { f64::NAN });
            prop_assert!((rising_root(low, high, start, 0.0, blind) - root).abs() <= 1e-14 * (1.0 + low.abs().max(high.abs())));
        }

        #[test]
        fn a_value_small_enough_ends_the_search_without_another_step(root in 0.5f64..3.0) {
            let mut asked = 0;
            let found = rising_root(0.0, 4.0, root + 1e-7, 1e-6, |x| {
                asked += 1;
                (x - root, 1.0)
            });
            prop_assert_eq!((found, asked), (root + 1e-7, 1));
        }
    }
}
