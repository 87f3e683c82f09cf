//! Several numbers side by side in the vector registers of the processor, and which of its instructions are used.
//!
//! Code that is generic over [`Vector`] gives the same bits on every processor: it adds, subtracts, multiplies, divides, takes roots and
//! compares lane by lane, as the standard of floating-point numbers (IEEE 754) rounds, and never fuses a product into a sum.
//!
//! - `vector`: what a kind of register must be able to do
//! - `numbers`: one number or several side by side, for laws that are written once for both
//! - `number`: numbers side by side, and masks of them

mod number;
mod numbers;
mod vector;

pub use number::{F, Mask};
pub use numbers::Numbers;
pub use vector::Vector;

use pulp::{NullaryFnOnce, Scalar, Simd, WithSimd};

/// Work that is written for any kind of register.
pub trait Laned {
    /// What it gives.
    type Output;

    /// Does it with one kind of register. Everything that it calls must be inlined, or it is not made for that kind.
    fn on<S: Vector>(self, simd: S) -> Self::Output;
}

/// A piece of such a work that gets a function of its own: inlined everywhere, it would make one that is too large for a stack.
pub trait Apart {
    /// What it gives.
    type Output;

    /// Does it. Everything that it calls must be inlined, as below [`Laned::on`].
    fn work(self) -> Self::Output;

    /// Does it in a function of its own with the instructions of a kind of register.
    #[inline(always)]
    fn with<S: Vector>(self, simd: S) -> Self::Output
    where
        Self: Sized,
    {
        simd.vectorize(Piece(self))
    }
}

/// A piece of work, for the crate of the registers.
struct Piece<A>(A);

impl<A: Apart> WithSimd for Piece<A> {
    type Output = A::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> A::Output {
        self.0.work()
    }
}

/// The instructions that work side by side. Each kind is compiled once more for all that is generic, so there are few.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instructions {
    /// One number after another.
    OneByOne,
    /// AVX2: four numbers in a register.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// AVX-512: eight numbers in a register.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Instructions {
    /// The widest that this processor has; in a build for development none above AVX2, since code that is not optimized keeps all that it works out
    /// on the stack, and with wider registers that of a thread is too small.
    pub fn widest() -> Instructions {
        #[cfg(target_arch = "x86_64")]
        let fits = |kind: &Instructions| !cfg!(debug_assertions) || *kind != Instructions::Avx512;
        #[cfg(not(target_arch = "x86_64"))]
        let fits = |_: &Instructions| true;
        Instructions::available().into_iter().rev().find(fits).unwrap_or(Instructions::OneByOne)
    }

    /// All that this processor has, the narrowest first.
    pub fn available() -> Vec<Instructions> {
        let mut all = vec![Instructions::OneByOne];
        #[cfg(target_arch = "x86_64")]
        {
            all.extend(pulp::x86::V3::try_new().map(|_| Instructions::Avx2));
            all.extend(pulp::x86::V4::try_new().map(|_| Instructions::Avx512));
        }
        all
    }

    /// Does a work with these instructions, or one number after another where the processor does not have them.
    pub fn run<L: Laned>(self, work: L) -> L::Output {
        match self {
            Instructions::OneByOne => work.on(Scalar),
            #[cfg(target_arch = "x86_64")]
            Instructions::Avx2 => match pulp::x86::V3::try_new() {
                Some(simd) => simd.vectorize(With { work, simd }),
                None => work.on(Scalar),
            },
            #[cfg(target_arch = "x86_64")]
            Instructions::Avx512 => match pulp::x86::V4::try_new() {
                Some(simd) => simd.vectorize(With { work, simd }),
                None => work.on(Scalar),
            },
        }
    }
}

/// A work and the registers for it: a closure would not be inlined for sure.
struct With<L, S> {
    work: L,
    simd: S,
}

impl<L: Laned, S: Vector> NullaryFnOnce for With<L, S> {
    type Output = L::Output;

    #[inline(always)]
    fn call(self) -> L::Output {
        self.work.on(self.simd)
    }
}
