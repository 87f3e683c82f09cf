//! Random numbers of a study: distributions, and the numbers that fill them.
//!
//! Every number is computed from the seed, the number of the sample and the number of the axis alone, so that samples are
//! the same in any order, on any number of threads and in any part of a study. It knows nothing of gardens.

mod distribution;
mod philox;

pub use distribution::{Distribution, DistributionError, standard_normal};

use crate::numeric::lanes::{Instructions, Laned, Vector};
use philox::uniform;
use std::ops::Range;

/// How samples are spread over the space of the axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spreading {
    /// Independent: Philox4x32-10, counted by sample and axis.
    Independent,
    /// Evenly: a Sobol sequence with Owen's scrambling, drawn afresh after every 65536 samples.
    Even,
}

/// A set of samples: how many, from which seed, spread how.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Samples {
    /// How many samples there are.
    pub n: usize,
    /// What the random numbers begin with: the same seed gives the same samples.
    pub seed: u64,
    /// How the samples lie among each other.
    pub spreading: Spreading,
}

impl Default for Samples {
    /// A thousand independent samples from the seed 1.
    fn default() -> Samples {
        Samples { n: 1000, seed: 1, spreading: Spreading::Independent }
    }
}

/// The longest Sobol sequence of the table in use.
const SEQUENCE: usize = 1 << 16;
/// Axes that one Sobol sequence serves; further ones begin a sequence of their own.
const SEQUENCE_AXES: usize = 256;

impl Samples {
    /// The numbers of these samples on this axis, each as [`Samples::uniform`] gives it.
    pub fn uniforms(&self, instructions: Instructions, samples: Range<usize>, axis: usize, out: &mut [f64]) {
        match self.spreading {
            Spreading::Independent => {
                instructions.run(Counted { seed: self.seed, first: samples.start as u64, axis: axis as u32, out })
            }
            Spreading::Even => samples.zip(out).for_each(|(sample, out)| *out = self.uniform(sample, axis)),
        }
    }

    /// The values of these samples of a distribution on this axis, SI.
    pub fn values(&self, distribution: &Distribution, samples: Range<usize>, axis: usize, out: &mut [f64]) {
        let instructions = Instructions::widest();
        self.uniforms(instructions, samples, axis, out);
        distribution.quantiles(instructions, out);
    }

    /// The number between 0 and 1, both excluded, of this sample on this axis.
    pub fn uniform(&self, sample: usize, axis: usize) -> f64 {
        match self.spreading {
            Spreading::Independent => uniform(self.seed, sample as u64, axis as u32),
            Spreading::Even => {
                let round = (sample / SEQUENCE) as u64 * 0x1_0001 + (axis / SEQUENCE_AXES) as u64;
                // Two rounds of the counter-based generator would do; a multiply and a fold keep the two halves of the seed.
                let mixed = (self.seed ^ round.rotate_left(32)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
                let seed = (mixed ^ (mixed >> 32)) as u32;
                let index = (sample % SEQUENCE) as u32;
                // The numbers have 24 bits; half a step keeps them off zero and one.
                f64::from(sobol_burley::sample(index, (axis % SEQUENCE_AXES) as u32, seed)) + 0.5 / f64::from(1u32 << 24)
            }
        }
    }
}

/// Random numbers that are counted by sample.
struct Counted<'a> {
    seed: u64,
    first: u64,
    axis: u32,
    out: &'a mut [f64],
}

impl Laned for Counted<'_> {
    type Output = ();

    /// A plain loop, in which the compiler uses the instructions.
    #[inline(always)]
    fn on<S: Vector>(self, _: S) {
        for (sample, out) in (self.first..).zip(self.out) {
            *out = uniform(self.seed, sample, self.axis);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_samples_fill_every_cell_of_a_power_of_two_once() {
        // The defining property of a (0, m, 1)-net, on every axis alone.
        for axis in [0, 3, 300] {
            let samples = Samples { n: 256, seed: 7, spreading: Spreading::Even };
            let mut seen = [0; 256];
            (0..256).for_each(|sample| seen[(samples.uniform(sample, axis) * 256.0) as usize] += 1);
            assert!(seen.iter().all(|count| *count == 1), "axis {axis}");
        }
    }

    #[test]
    fn many_samples_at_once_have_the_bits_of_one_after_another() {
        use crate::quantity::{Quantity, dim};
        let psi = |si: f64| Quantity::new(si, dim::PRESSURE);
        let normal = Distribution::normal(psi(3e5), psi(2e4)).expect("a distribution");
        let even = Distribution::between(psi(3e5), psi(4e5)).expect("a distribution");
        for spreading in [Spreading::Independent, Spreading::Even] {
            let samples = Samples { n: 100_000, seed: 11, spreading };
            for (distribution, axis) in [(&normal, 0), (&even, 3)] {
                let one = |sample: usize| distribution.quantile(samples.uniform(sample, axis)).to_bits();
                let singly: Vec<u64> = (70_001..71_008).map(one).collect();
                for instructions in Instructions::available() {
                    let mut many = vec![0.0; singly.len()];
                    samples.uniforms(instructions, 70_001..71_008, axis, &mut many);
                    distribution.quantiles(instructions, &mut many);
                    assert!(
                        many.iter().map(|value| value.to_bits()).eq(singly.iter().copied()),
                        "{spreading:?} {instructions:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn samples_of_other_seeds_and_axes_are_others() {
        for spreading in [Spreading::Independent, Spreading::Even] {
            let at = |seed, sample, axis| Samples { n: 10, seed, spreading }.uniform(sample, axis);
            assert_ne!(at(1, 0, 0), at(2, 0, 0));
            assert_ne!(at(1, 0, 0), at(1, 0, 1));
            assert_ne!(at(1, 0, 0), at(1, SEQUENCE, 0));
            assert_ne!(at(1, 5, 0), at(1 << 40, 5, 0));
            assert_eq!(at(1, 9, 2), at(1, 9, 2));
        }
    }

    #[test]
    fn the_mean_of_many_samples_is_a_half() {
        for (spreading, within) in [(Spreading::Independent, 0.004), (Spreading::Even, 1e-5)] {
            let samples = Samples { n: 65_536, seed: 3, spreading };
            let mean = (0..samples.n).map(|sample| samples.uniform(sample, 1)).sum::<f64>() / samples.n as f64;
            // Independent: the standard error is 1 / sqrt(12 n) = 0.00113; three and a half of them.
            assert!((mean - 0.5).abs() < within, "{spreading:?}: {mean}");
        }
    }
}
