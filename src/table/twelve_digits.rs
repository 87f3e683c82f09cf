//! Numbers that differ by rounding alone are one value: those that agree in twelve significant digits. Knows nothing of columns.

use std::sync::LazyLock;

/// Digits that count.
const DIGITS: i32 = 12;
/// The smallest whole number of twelve digits, and the first one of more.
const LEAST: f64 = 1e11;
const BEYOND: f64 = 1e12;
/// Powers of ten from -POWERS to POWERS, within which numbers are scaled.
const POWERS: i32 = 290;
/// So close to the middle of two whole numbers a scaled number is rounded by its decimal digits: scaling errs by 1e12 * 2^-52.
const IN_DOUBT: f64 = 1e-3;

static TENS: LazyLock<Vec<f64>> =
    LazyLock::new(|| (-POWERS - DIGITS..=POWERS + DIGITS).map(|power| format!("1e{power}").parse().unwrap_or(0.0)).collect());

/// The same for numbers that agree in twelve digits, and another for others.
pub(super) fn key(value: f64) -> u64 {
    let size = value.abs();
    if size == 0.0 {
        return 0; // Also of -0.
    }
    let (digits, power) = quick(size).unwrap_or_else(|| exact(size));
    (u64::from(value < 0.0) << 63) | ((power + 400) as u64) << 42 | digits
}

/// The digits as a whole number, and the power of ten of the first, by scaling; none where that may go wrong.
fn quick(size: f64) -> Option<(u64, i32)> {
    let binary = ((size.to_bits() >> 52) & 0x7FF) as i32 - 1023;
    // The power of ten or one below it.
    let mut power = (f64::from(binary) * std::f64::consts::LOG10_2).floor() as i32;
    let ten = |power: i32| TENS.get(usize::try_from(power + POWERS + DIGITS).ok()?).copied();
    if power.abs() >= POWERS {
        return None;
    }
    let mut scaled = size * ten(DIGITS - 1 - power)?;
    if scaled >= BEYOND {
        power += 1;
        scaled = size * ten(DIGITS - 1 - power)?;
    } else if scaled < LEAST {
        power -= 1;
        scaled = size * ten(DIGITS - 1 - power)?;
    }
    let rounded = scaled.round();
    if (scaled - scaled.floor() - 0.5).abs() < IN_DOUBT {
        return None;
    }
    Some(if rounded >= BEYOND { (LEAST as u64, power + 1) } else { (rounded as u64, power) })
}

/// The same from the decimal digits.
fn exact(size: f64) -> (u64, i32) {
    let text = format!("{size:.*e}", DIGITS as usize - 1);
    let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    (digits.parse().unwrap_or(0), power.parse().unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn rounding_makes_no_other_value() {
        assert_eq!(key(0.1 + 0.2), key(0.3));
        assert_ne!(key(0.3), key(0.300_000_000_01));
        assert_eq!(key(0.0), key(-0.0));
        assert_ne!(key(1.0), key(-1.0));
        assert_ne!(key(1.0), key(10.0));
        assert_eq!(key(1e-320), key(1e-320));
        assert_ne!(key(f64::MAX), key(f64::MIN_POSITIVE));
        assert_eq!(quick(999_999_999_999.7), Some((100_000_000_000, 12)));
    }

    proptest! {
        #[test]
        fn scaling_gives_the_decimal_digits(value in proptest::num::f64::NORMAL, short in 0u32..1_000_000, power in -12i32..12) {
            for size in [value.abs(), f64::from(short) * 10f64.powi(power)] {
                if let Some(found) = quick(size).filter(|_| size > 0.0) {
                    prop_assert_eq!(found, exact(size), "{}", size);
                }
            }
        }
    }
}
