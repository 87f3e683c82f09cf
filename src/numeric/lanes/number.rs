//! Numbers side by side: `W` registers of a kind taken as one, which hides the time that each instruction takes to arrive.

use super::numbers::Numbers;
use super::vector::Vector;
use pulp::bytemuck::{Zeroable, cast_slice, cast_slice_mut};
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Numbers side by side.
#[derive(Clone, Copy, Debug)]
pub struct F<S: Vector, const W: usize> {
    registers: [S::f64s; W],
    simd: S,
}

/// What is true of each of several numbers side by side.
#[derive(Clone, Copy, Debug)]
pub struct Mask<S: Vector, const W: usize> {
    registers: [S::m64s; W],
    simd: S,
}

/// For each register in turn; a loop without an iterator, which is slow where nothing is optimized.
macro_rules! each {
    ($count:expr, $at:ident, $work:expr) => {
        let mut $at = 0;
        while $at < $count {
            $work;
            $at += 1;
        }
    };
}

impl<S: Vector, const W: usize> F<S, W> {
    /// How many numbers there are.
    pub const LANES: usize = W * (size_of::<S::f64s>() / size_of::<f64>());

    /// The same number in all lanes.
    #[inline(always)]
    pub fn splat(simd: S, number: f64) -> Self {
        F { registers: [simd.splat_f64s(number); W], simd }
    }

    /// Another number in all lanes.
    #[inline(always)]
    pub fn like(self, number: f64) -> Self {
        F::splat(self.simd, number)
    }

    /// The first numbers of a list, which has at least as many as there are lanes.
    #[inline(always)]
    pub fn load(simd: S, from: &[f64]) -> Self {
        let mut number = F { registers: [S::f64s::zeroed(); W], simd };
        number.lanes_mut().copy_from_slice(&from[..Self::LANES]);
        number
    }

    /// Each lane by itself.
    #[inline(always)]
    pub fn lanes(&self) -> &[f64] {
        cast_slice(&self.registers)
    }

    /// Each lane by itself, to be changed.
    #[inline(always)]
    pub fn lanes_mut(&mut self) -> &mut [f64] {
        cast_slice_mut(&mut self.registers)
    }

    /// Absolute values.
    #[inline(always)]
    pub fn abs(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.abs_f64s(self.registers[at]));
        self
    }

    /// Square roots.
    #[inline(always)]
    pub fn sqrt(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.sqrt_f64s(self.registers[at]));
        self
    }

    /// These where they are greater than the others, else the others.
    #[inline(always)]
    pub fn or_greater(mut self, other: Self) -> Self {
        each!(W, at, self.registers[at] = self.simd.greater(self.registers[at], other.registers[at]));
        self
    }

    /// True where these are less than the others.
    #[inline(always)]
    pub fn lt(self, other: Self) -> Mask<S, W> {
        let mut mask = Mask { registers: [S::m64s::zeroed(); W], simd: self.simd };
        each!(W, at, mask.registers[at] = self.simd.less_than_f64s(self.registers[at], other.registers[at]));
        mask
    }

    /// True where these are at most the others.
    #[inline(always)]
    pub fn le(self, other: Self) -> Mask<S, W> {
        let mut mask = Mask { registers: [S::m64s::zeroed(); W], simd: self.simd };
        each!(W, at, mask.registers[at] = self.simd.less_than_or_equal_f64s(self.registers[at], other.registers[at]));
        mask
    }

    /// True where these are greater than the others.
    #[inline(always)]
    pub fn gt(self, other: Self) -> Mask<S, W> {
        let mut mask = Mask { registers: [S::m64s::zeroed(); W], simd: self.simd };
        each!(W, at, mask.registers[at] = self.simd.greater_than_f64s(self.registers[at], other.registers[at]));
        mask
    }

    /// True where both are equal.
    #[inline(always)]
    pub fn same(self, other: Self) -> Mask<S, W> {
        let mut mask = Mask { registers: [S::m64s::zeroed(); W], simd: self.simd };
        each!(W, at, mask.registers[at] = self.simd.equal_f64s(self.registers[at], other.registers[at]));
        mask
    }

    /// The exponent of 2 in each, which are above zero and not subnormal.
    #[inline(always)]
    pub fn exponents(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.exponents(self.registers[at]));
        self
    }

    /// 2 to these, which are whole and from -1022 to 1023.
    #[inline(always)]
    pub fn twos(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.twos(self.registers[at]));
        self
    }

    /// The same with the exponent of 2 taken away: from 1 up to 2, for numbers above zero that are not subnormal.
    #[inline(always)]
    pub fn mantissas(mut self) -> Self {
        let simd = self.simd;
        each!(W, at, {
            let bits = simd.and_u64s(simd.transmute_u64s_f64s(self.registers[at]), simd.splat_u64s(0x000f_ffff_ffff_ffff));
            self.registers[at] = simd.transmute_f64s_u64s(simd.or_u64s(bits, simd.splat_u64s(0x3ff0_0000_0000_0000)));
        });
        self
    }
}

/// One of the four operations, lane by lane, also with the same number in all lanes.
macro_rules! operation {
    ($operation:ident $function:ident $registers:ident) => {
        impl<S: Vector, const W: usize> $operation for F<S, W> {
            type Output = Self;

            #[inline(always)]
            fn $function(mut self, other: Self) -> Self {
                each!(W, at, self.registers[at] = self.simd.$registers(self.registers[at], other.registers[at]));
                self
            }
        }

        impl<S: Vector, const W: usize> $operation<f64> for F<S, W> {
            type Output = Self;

            #[inline(always)]
            fn $function(self, other: f64) -> Self {
                $operation::$function(self, self.like(other))
            }
        }

        impl<S: Vector, const W: usize> $operation<F<S, W>> for f64 {
            type Output = F<S, W>;

            #[inline(always)]
            fn $function(self, other: F<S, W>) -> F<S, W> {
                $operation::$function(other.like(self), other)
            }
        }
    };
}

operation!(Add add add_f64s);
operation!(Sub sub sub_f64s);
operation!(Mul mul mul_f64s);
operation!(Div div div_f64s);

impl<S: Vector, const W: usize> Neg for F<S, W> {
    type Output = Self;

    #[inline(always)]
    fn neg(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.neg_f64s(self.registers[at]));
        self
    }
}

impl<S: Vector, const W: usize> Mask<S, W> {
    /// The same answer in all lanes.
    #[inline(always)]
    pub fn splat(simd: S, answer: bool) -> Self {
        let number = F::<S, W>::splat(simd, if answer { 0.0 } else { 1.0 });
        number.same(number.like(0.0))
    }

    /// True in the lanes whose number in a list is not zero; the list has at least as many as there are lanes.
    #[inline(always)]
    pub fn load(simd: S, from: &[f64]) -> Self {
        let number = F::<S, W>::load(simd, from);
        !number.same(number.like(0.0))
    }

    /// True where some lane is.
    #[inline(always)]
    pub fn any(self) -> bool {
        let mut any = self.registers[0];
        each!(W, at, any = self.simd.or_m64s(any, self.registers[at]));
        self.simd.any(any)
    }

    /// The first where this is true, else the second.
    #[inline(always)]
    pub fn choose(self, mut first: F<S, W>, second: F<S, W>) -> F<S, W> {
        each!(W, at, first.registers[at] = self.simd.select_f64s(self.registers[at], first.registers[at], second.registers[at]));
        first
    }

    /// The number where this is true, else zero.
    #[inline(always)]
    pub fn keep(self, number: F<S, W>) -> F<S, W> {
        self.choose(number, number.like(0.0))
    }

    /// One number where this is true, another where it is not.
    #[inline(always)]
    pub fn numbers(self, first: f64, second: f64) -> F<S, W> {
        self.choose(F::splat(self.simd, first), F::splat(self.simd, second))
    }
}

impl<S: Vector, const W: usize> std::ops::BitAnd for Mask<S, W> {
    type Output = Self;

    #[inline(always)]
    fn bitand(mut self, other: Self) -> Self {
        each!(W, at, self.registers[at] = self.simd.and_m64s(self.registers[at], other.registers[at]));
        self
    }
}

impl<S: Vector, const W: usize> std::ops::BitOr for Mask<S, W> {
    type Output = Self;

    #[inline(always)]
    fn bitor(mut self, other: Self) -> Self {
        each!(W, at, self.registers[at] = self.simd.or_m64s(self.registers[at], other.registers[at]));
        self
    }
}

impl<S: Vector, const W: usize> std::ops::Not for Mask<S, W> {
    type Output = Self;

    #[inline(always)]
    fn not(mut self) -> Self {
        each!(W, at, self.registers[at] = self.simd.not_m64s(self.registers[at]));
        self
    }
}

impl<S: Vector, const W: usize> Numbers for F<S, W> {
    type Mask = Mask<S, W>;

    #[inline(always)]
    fn like(self, number: f64) -> Self {
        F::like(self, number)
    }

    #[inline(always)]
    fn abs(self) -> Self {
        F::abs(self)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        F::sqrt(self)
    }

    #[inline(always)]
    fn or_greater(self, other: Self) -> Self {
        F::or_greater(self, other)
    }

    #[inline(always)]
    fn lt(self, other: Self) -> Mask<S, W> {
        F::lt(self, other)
    }

    #[inline(always)]
    fn le(self, other: Self) -> Mask<S, W> {
        F::le(self, other)
    }

    #[inline(always)]
    fn choose(which: Mask<S, W>, first: Self, second: Self) -> Self {
        which.choose(first, second)
    }

    #[inline(always)]
    fn any(of: Mask<S, W>) -> bool {
        of.any()
    }

    #[inline(always)]
    fn exponents(self) -> Self {
        F::exponents(self)
    }

    #[inline(always)]
    fn mantissas(self) -> Self {
        F::mantissas(self)
    }

    #[inline(always)]
    fn twos(self) -> Self {
        F::twos(self)
    }
}
