//! One number, or several side by side: what a law may do with them that is written once for both.

use super::vector::{exponent_of, two_to};
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// One number or several side by side.
pub trait Numbers:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// What is true of each.
    type Mask: Copy + BitAnd<Output = Self::Mask> + BitOr<Output = Self::Mask> + Not<Output = Self::Mask>;

    /// As many of another number.
    fn like(self, number: f64) -> Self;
    /// Absolute values.
    fn abs(self) -> Self;
    /// Square roots.
    fn sqrt(self) -> Self;
    /// These where they are greater than the others, else the others.
    fn or_greater(self, other: Self) -> Self;
    /// True where these are less than the others.
    fn lt(self, other: Self) -> Self::Mask;
    /// True where these are at most the others.
    fn le(self, other: Self) -> Self::Mask;
    /// The first where something is true, else the second.
    fn choose(which: Self::Mask, first: Self, second: Self) -> Self;
    /// True where something is true of any.
    fn any(of: Self::Mask) -> bool;
    /// The exponent of 2 in each, which are above zero and not subnormal.
    fn exponents(self) -> Self;
    /// The same with the exponent of 2 taken away: from 1 up to 2, for numbers above zero that are not subnormal.
    fn mantissas(self) -> Self;
    /// 2 to these, which are whole and from -1022 to 1023.
    fn twos(self) -> Self;
}

impl Numbers for f64 {
    type Mask = bool;

    #[inline(always)]
    fn like(self, number: f64) -> f64 {
        number
    }

    #[inline(always)]
    fn abs(self) -> f64 {
        f64::abs(self)
    }

    #[inline(always)]
    fn sqrt(self) -> f64 {
        f64::sqrt(self)
    }

    #[inline(always)]
    fn or_greater(self, other: f64) -> f64 {
        if self > other { self } else { other }
    }

    #[inline(always)]
    fn lt(self, other: f64) -> bool {
        self < other
    }

    #[inline(always)]
    fn le(self, other: f64) -> bool {
        self <= other
    }

    #[inline(always)]
    fn choose(which: bool, first: f64, second: f64) -> f64 {
        if which { first } else { second }
    }

    #[inline(always)]
    fn any(of: bool) -> bool {
        of
    }

    #[inline(always)]
    fn exponents(self) -> f64 {
        exponent_of(self)
    }

    #[inline(always)]
    fn mantissas(self) -> f64 {
        f64::from_bits(self.to_bits() & 0x000f_ffff_ffff_ffff | 0x3ff0_0000_0000_0000)
    }

    #[inline(always)]
    fn twos(self) -> f64 {
        two_to(self)
    }
}
