//! Random numbers of a study: distributions, and the numbers that fill them.
//!
//! Every number is computed from the seed, the number of the sample and the number of the axis alone, so that samples are
//! the same in any order, on any number of threads and in any part of a study. It knows nothing of gardens.

mod distribution;
mod philox;

pub use distribution::{Distribution, DistributionError, standard_normal};

use philox::uniform;

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
