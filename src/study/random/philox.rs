//! Philox4x32-10: random numbers from a counter, without any state.
//!
//! Source: J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, Parallel Random Numbers: As Easy as 1, 2, 3, SC11 (2011);
//! written from the description.

const MULTIPLIERS: [u32; 2] = [0xD251_1F53, 0xCD9E_8D57];
const KEY_STEPS: [u32; 2] = [0x9E37_79B9, 0xBB67_AE85];
const ROUNDS: usize = 10;

/// Four random words of a counter and a key.
#[inline(always)]
pub fn philox(mut counter: [u32; 4], mut key: [u32; 2]) -> [u32; 4] {
    for _ in 0..ROUNDS {
        let low = u64::from(MULTIPLIERS[0]) * u64::from(counter[0]);
        let high = u64::from(MULTIPLIERS[1]) * u64::from(counter[2]);
        counter = [(high >> 32) as u32 ^ counter[1] ^ key[0], high as u32, (low >> 32) as u32 ^ counter[3] ^ key[1], low as u32];
        key = [key[0].wrapping_add(KEY_STEPS[0]), key[1].wrapping_add(KEY_STEPS[1])];
    }
    counter
}

/// A number between 0 and 1, both excluded, with 53 random bits.
#[inline(always)]
pub fn uniform(seed: u64, sample: u64, axis: u32) -> f64 {
    // One call gives two numbers: neighboring axes share it.
    let words = philox([sample as u32, (sample >> 32) as u32, axis / 2, 0], [seed as u32, (seed >> 32) as u32]);
    let pair = if axis.is_multiple_of(2) { [words[0], words[1]] } else { [words[2], words[3]] };
    let bits = (u64::from(pair[0]) << 21) ^ (u64::from(pair[1]) >> 11);
    (bits as f64 + 0.5) / (1u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_known_answers_of_the_authors_come_out() {
        // Known answers of the authors' library for philox4x32-10 (from memory).
        assert_eq!(philox([0; 4], [0; 2]), [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8]);
        assert_eq!(philox([u32::MAX; 4], [u32::MAX; 2]), [0x408f_276d, 0x41c8_3b0e, 0xa20b_c7c6, 0x6d54_51fd]);
    }

    #[test]
    fn numbers_keep_off_zero_and_one() {
        assert!((0..10_000).map(|sample| uniform(1, sample, 0)).all(|u| u > 0.0 && u < 1.0));
    }
}
