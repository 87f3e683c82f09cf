//! What a kind of register must be able to do, beyond what the crate asks of all of them.

use pulp::bytemuck::cast_slice_mut;
use pulp::{Scalar, Simd};

/// The exponent of 2^52, whose unit is one: an integer in its low bits makes 2^52 more by that integer.
const UNIT_EXPONENT: u64 = 0x4330_0000_0000_0000;
/// The number with that exponent and nothing below, and the excess of the exponents.
const UNIT_AND_EXCESS: f64 = 4_503_599_627_370_496.0 + 1_023.0;

/// A kind of register for numbers side by side.
pub trait Vector: Simd {
    /// True where some lane of the mask is set.
    fn any(self, mask: Self::m64s) -> bool;

    /// The exponent of 2 in each of these, which are above zero and not subnormal.
    #[inline(always)]
    fn exponents(self, mut of: Self::f64s) -> Self::f64s {
        for number in cast_slice_mut::<Self::f64s, f64>(std::slice::from_mut(&mut of)) {
            *number = exponent_of(*number);
        }
        of
    }

    /// 2 to each of these, which are whole and from -1022 to 1023.
    #[inline(always)]
    fn twos(self, mut to: Self::f64s) -> Self::f64s {
        for number in cast_slice_mut::<Self::f64s, f64>(std::slice::from_mut(&mut to)) {
            *number = two_to(*number);
        }
        to
    }

    /// The first where it is greater than the second, else the second.
    fn greater(self, first: Self::f64s, second: Self::f64s) -> Self::f64s;
}

/// The exponent of 2 in a number that is above zero and not subnormal.
#[inline(always)]
pub fn exponent_of(number: f64) -> f64 {
    f64::from_bits((number.to_bits() >> 52) | UNIT_EXPONENT) - UNIT_AND_EXCESS
}

/// 2 to a whole number from -1022 to 1023.
#[inline(always)]
pub fn two_to(whole: f64) -> f64 {
    f64::from_bits((whole + UNIT_AND_EXCESS).to_bits() << 52)
}

impl Vector for Scalar {
    #[inline(always)]
    fn any(self, mask: bool) -> bool {
        mask
    }

    #[inline(always)]
    fn greater(self, first: f64, second: f64) -> f64 {
        if first > second { first } else { second }
    }
}

#[cfg(target_arch = "x86_64")]
mod x86 {
    use super::{UNIT_AND_EXCESS, UNIT_EXPONENT, Vector};
    use pulp::Simd;
    use pulp::bytemuck::cast;
    use pulp::x86::{V3, V4};

    impl Vector for V3 {
        #[inline(always)]
        fn any(self, mask: Self::m64s) -> bool {
            self.avx._mm256_movemask_pd(cast(mask)) != 0
        }

        #[inline(always)]
        fn exponents(self, of: Self::f64s) -> Self::f64s {
            let exponents = self.shr_const_u64x4::<52>(self.transmute_u64s_f64s(of));
            let counted = self.transmute_f64s_u64s(self.or_u64s(exponents, self.splat_u64s(UNIT_EXPONENT)));
            self.sub_f64s(counted, self.splat_f64s(UNIT_AND_EXCESS))
        }

        #[inline(always)]
        fn twos(self, to: Self::f64s) -> Self::f64s {
            let counted = self.transmute_u64s_f64s(self.add_f64s(to, self.splat_f64s(UNIT_AND_EXCESS)));
            self.transmute_f64s_u64s(self.shl_const_u64x4::<52>(counted))
        }

        #[inline(always)]
        fn greater(self, first: Self::f64s, second: Self::f64s) -> Self::f64s {
            // The instruction gives its second number wherever the first is not greater.
            cast(self.avx._mm256_max_pd(cast(first), cast(second)))
        }
    }

    impl Vector for V4 {
        #[inline(always)]
        fn any(self, mask: Self::m64s) -> bool {
            mask.0 != 0
        }

        #[inline(always)]
        fn exponents(self, of: Self::f64s) -> Self::f64s {
            let exponents = self.shr_const_u64x8::<52>(self.transmute_u64s_f64s(of));
            let counted = self.transmute_f64s_u64s(self.or_u64s(exponents, self.splat_u64s(UNIT_EXPONENT)));
            self.sub_f64s(counted, self.splat_f64s(UNIT_AND_EXCESS))
        }

        #[inline(always)]
        fn twos(self, to: Self::f64s) -> Self::f64s {
            let counted = self.transmute_u64s_f64s(self.add_f64s(to, self.splat_f64s(UNIT_AND_EXCESS)));
            self.transmute_f64s_u64s(self.shl_const_u64x8::<52>(counted))
        }

        #[inline(always)]
        fn greater(self, first: Self::f64s, second: Self::f64s) -> Self::f64s {
            // As with the narrower registers, the second number wherever the first is not greater.
            cast(self.avx512f._mm512_max_pd(cast(first), cast(second)))
        }
    }
}
