//! The natural logarithm, its inverse and powers with the same bits on every processor and system, also of several numbers side by side.
//!
//! The functions of a system's library differ in their last digit from version to version and from processor to processor.

use super::lanes::Numbers;
use std::f64::consts::SQRT_2;

/// ln 2 in two parts: the first has so few digits that its product with an exponent is exact, the second is what is left.
#[expect(clippy::excessive_precision, reason = "digits as published")]
const LN_2: [f64; 2] = [6.931_471_803_691_238_164_90e-1, 1.908_214_929_270_587_700_02e-10];

/// Factors of s^2, s^4 .. s^14 in (ln(1 + f) - 2 s) / s.
#[expect(clippy::excessive_precision, reason = "digits as published")]
const SERIES: [f64; 7] = [
    6.666_666_666_666_735_130e-1,
    3.999_999_999_940_941_908e-1,
    2.857_142_874_366_239_149e-1,
    2.222_219_843_214_978_396e-1,
    1.818_357_216_161_805_012e-1,
    1.531_383_769_920_937_332e-1,
    1.479_819_860_511_658_591e-1,
];

/// Natural logarithms of numbers above zero that are neither subnormal nor infinite; for others what comes out means nothing.
///
/// With x = 2^k (1 + f), 1 + f between the roots of 1/2 and 2, and s = f/(2 + f): ln(1 + f) = 2 s + s R(s^2), where R is a polynomial of least
/// greatest error, and 2 s = f - s f gives f without rounding.
///
/// Source: the method and the coefficients of the logarithm of fdlibm (K. C. Ng, Sun Microsystems, 1993), from its published description,
/// from memory; the error is below one unit in the last place.
#[inline(always)]
pub fn lns<N: Numbers>(x: N) -> N {
    let mantissa = x.mantissas();
    let halves = x.like(SQRT_2).lt(mantissa);
    let exponent = x.exponents() + N::choose(halves, x.like(1.0), x.like(0.0));
    let f = mantissa * N::choose(halves, x.like(0.5), x.like(1.0)) - 1.0;
    let s = f / (f + 2.0);
    let square = s * s;
    let fourth = square * square;
    // Odd and even powers are summed beside each other.
    let odd = square * (fourth * (fourth * (fourth * SERIES[6] + SERIES[4]) + SERIES[2]) + SERIES[0]);
    let even = fourth * (fourth * (fourth * SERIES[5] + SERIES[3]) + SERIES[1]);
    let half_square = f * f * 0.5;
    exponent * LN_2[0] - (half_square - (s * (half_square + (odd + even)) + exponent * LN_2[1]) - f)
}

/// The natural logarithm of any number: minus infinity for zero, not a number below.
#[inline]
pub fn ln(x: f64) -> f64 {
    const TO_NORMAL: f64 = 18_014_398_509_481_984.0;
    if (f64::MIN_POSITIVE..f64::INFINITY).contains(&x) {
        return lns(x);
    }
    if x > 0.0 && x < f64::MIN_POSITIVE {
        return ln(x * TO_NORMAL) - 54.0 * LN_2[0] - 54.0 * LN_2[1];
    }
    match x {
        0.0 => f64::NEG_INFINITY,
        _ if x == f64::INFINITY => x,
        _ => f64::NAN,
    }
}

/// One over the factorials of 2, 4 .. 12.
const EVEN: [f64; 6] = [1.0 / 2.0, 1.0 / 24.0, 1.0 / 720.0, 1.0 / 40_320.0, 1.0 / 3_628_800.0, 1.0 / 479_001_600.0];
/// One over the factorials of 3, 5 .. 13.
const ODD: [f64; 6] = [1.0 / 6.0, 1.0 / 120.0, 1.0 / 5_040.0, 1.0 / 362_880.0, 1.0 / 39_916_800.0, 1.0 / 6_227_020_800.0];
/// A number of this size and its sum with one that is small have no digits after the point: 1.5 x 2^52.
const WHOLE: f64 = 6_755_399_441_055_744.0;

/// A sum of powers of these numbers, from the first to the sixth; no closure, which might not be inlined.
#[inline(always)]
fn series<N: Numbers>(x: N, [a, b, c, d, e, f]: [f64; 6]) -> N {
    x * (x * (x * (x * (x * (x * f + e) + d) + c) + b) + a)
}

/// e to these numbers, which lie between -700 and 700; for others what comes out means nothing.
///
/// With n the nearest integer to x over ln 2 what is left is at most 0.35, and the series of the exponential function up to its thirteenth power
/// leaves out less than 1e-17. Even and odd powers are summed beside each other.
#[inline(always)]
pub fn exps<N: Numbers>(x: N) -> N {
    let n = x * std::f64::consts::LOG2_E + WHOLE - WHOLE;
    let rest = x - n * LN_2[0] - n * LN_2[1];
    let square = rest * rest;
    (rest + (rest * series(square, ODD) + series(square, EVEN)) + 1.0) * n.twos()
}

/// A power of a number above zero, whose logarithm is below 700 in size, with the same bits on every processor; off by some units in the
/// last place times the size of its logarithm.
pub fn power(base: f64, exponent: f64) -> f64 {
    exps(exponent * ln(base))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::lanes::{F, Instructions, Laned, Vector};

    /// Distance in units of the last place of the second.
    fn units_off(found: f64, expected: f64) -> f64 {
        if found == expected {
            return 0.0;
        }
        let unit = f64::from_bits(expected.abs().to_bits() + 1) - expected.abs();
        (found - expected).abs() / unit
    }

    /// Numbers between 1e-12 and 1e12, close to one, and close to the seams of the reduction, by a congruential generator.
    fn numbers(count: usize) -> impl Iterator<Item = f64> {
        let mut state = 1u64;
        (0..count).map(move |index| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let share = (state >> 11) as f64 / (1u64 << 53) as f64;
            match index % 4 {
                0 => 0.5 + 2.0 * share,
                1 => 1.0 + (share - 0.5) * 1e-3,
                2 => SQRT_2 * (1.0 + (share - 0.5) * 1e-6) * [0.25, 0.5, 1.0, 2.0][index / 4 % 4],
                _ => f64::from_bits(((state >> 12) & 0x000f_ffff_ffff_ffff) | ((983 + (state >> 58)) << 52)),
            }
        })
    }

    #[test]
    fn it_is_within_one_unit_of_the_logarithm_of_the_system() {
        // The system's own is within one unit of the exact one: glibc promises that for log.
        let count = if cfg!(debug_assertions) { 400_000 } else { 20_000_000 };
        let worst = numbers(count).map(|x| units_off(ln(x), x.ln())).fold(0.0, f64::max);
        assert!(worst <= 1.0, "{worst} units");
    }

    #[test]
    fn it_is_exact_where_the_logarithm_is_and_keeps_its_edges() {
        assert_eq!((ln(1.0), ln(0.0), ln(f64::INFINITY)), (0.0, f64::NEG_INFINITY, f64::INFINITY));
        assert!(ln(-1.0).is_nan() && ln(f64::NAN).is_nan() && ln(f64::NEG_INFINITY).is_nan());
        for small in [f64::MIN_POSITIVE, f64::MIN_POSITIVE / 8.0, 5e-324, f64::MAX] {
            assert!(units_off(ln(small), small.ln()) <= 1.0, "{small:e}");
        }
        // Published digits: ln 2 and ln 10, M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), table 1.1, from memory.
        assert!(units_off(ln(2.0), std::f64::consts::LN_2) <= 1.0);
        assert!(units_off(ln(10.0), std::f64::consts::LN_10) <= 1.0);
    }

    #[test]
    fn powers_are_those_of_the_system_to_rounding() {
        for base in [0.9, 0.91, 0.987_654_321, 1.0, 1.15, 2.0, 1e-3, 1e6] {
            for exponent in [-40.0, -19.6, -7.7, -1.9, 0.0, 0.5, 1.0, 1.852] {
                let (found, expected): (f64, f64) = (power(base, exponent), base.powf(exponent));
                let logarithm = (exponent * base.ln()).abs();
                assert!(
                    (found / expected - 1.0).abs() < 2.0 * f64::EPSILON * (1.0 + logarithm),
                    "{base}^{exponent}: {found} and {expected}"
                );
            }
        }
    }

    #[test]
    fn exponentials_are_those_of_the_system_to_two_units() {
        // The system's own is within one unit of the exact one: glibc promises that for exp.
        let count = if cfg!(debug_assertions) { 400_000 } else { 20_000_000 };
        let between = |index: usize| -700.0 + 1400.0 * index as f64 / count as f64;
        let worst = (0..=count).map(between).map(|x| units_off(exps(x), x.exp())).fold(0.0, f64::max);
        assert!(worst <= 2.0, "{worst} units");
        assert_eq!(exps(0.0), 1.0);
    }

    /// Logarithms, and what the exponential function makes of them.
    struct Logarithms<'a>(&'a [f64]);

    impl Laned for Logarithms<'_> {
        type Output = Vec<f64>;

        fn on<S: Vector>(self, simd: S) -> Vec<f64> {
            let logarithms = |chunk| lns(F::<S, 2>::load(simd, chunk));
            let of = |chunk| [logarithms(chunk), exps(logarithms(chunk) * 1.852)].map(|of| of.lanes().to_vec()).concat();
            let mut all = vec![Vec::new(); 2];
            for chunk in self.0.chunks_exact(F::<S, 2>::LANES) {
                for (all, half) in all.iter_mut().zip(of(chunk).chunks(F::<S, 2>::LANES)) {
                    all.extend_from_slice(half);
                }
            }
            all.concat()
        }
    }

    #[test]
    fn every_kind_of_register_gives_the_same_bits() {
        let numbers: Vec<f64> = numbers(16_000).collect();
        let powers = numbers.iter().map(|&x| power(x, 1.852));
        let singly: Vec<u64> = numbers.iter().map(|&x| ln(x)).chain(powers).map(f64::to_bits).collect();
        for instructions in Instructions::available() {
            let found: Vec<u64> = instructions.run(Logarithms(&numbers)).into_iter().map(f64::to_bits).collect();
            assert!(found == singly, "{instructions:?}");
        }
    }
}
