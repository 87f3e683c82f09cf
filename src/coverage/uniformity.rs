//! How even catches are: catches in cans, or rates at many spots of the same size. It knows nothing of heads.

/// What catches say of themselves; shares are of one, not percent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uniformity {
    /// Mean of all catches, in the unit of the catches; above zero.
    pub mean: f64,
    /// The smallest catch, in the unit of the catches.
    pub lowest: f64,
    /// The largest catch, in the unit of the catches.
    pub highest: f64,
    /// Christiansen's coefficient: 1 - mean |catch - mean| / mean.
    ///
    /// Source: J. E. Christiansen, Irrigation by Sprinkling, California Agricultural Experiment Station Bulletin 670 (1942).
    pub christiansen: f64,
    /// Distribution uniformity: the mean of the lowest quarter of the catches over the mean of all.
    ///
    /// Source: USDA NRCS, National Engineering Handbook, Part 623, chapter 11, Sprinkler Irrigation (2016), from memory.
    pub du: f64,
    /// The same for the lowest half.
    pub low_half: f64,
    /// Standard deviation (of n - 1) over the mean; none for a single catch.
    pub variation: Option<f64>,
}

impl Uniformity {
    /// Of catches that are zero or above; none when there are none, one is below zero or not finite, or all are zero.
    pub fn of(catches: &[f64]) -> Option<Uniformity> {
        let sound = catches.iter().all(|value| value.is_finite() && *value >= 0.0);
        let count = catches.len() as f64;
        let mean = catches.iter().sum::<f64>() / count;
        if !sound || mean.is_nan() || mean <= 0.0 {
            return None;
        }
        let mut sorted = catches.to_vec();
        sorted.sort_by(f64::total_cmp);
        let deviation = catches.iter().map(|value| (value - mean).abs()).sum::<f64>() / count;
        let squares = catches.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        Some(Uniformity {
            mean,
            lowest: sorted[0],
            highest: sorted[sorted.len() - 1],
            christiansen: 1.0 - deviation / mean,
            du: mean_of_lowest(&sorted, 0.25) / mean,
            low_half: mean_of_lowest(&sorted, 0.5) / mean,
            variation: (catches.len() > 1).then(|| (squares / (count - 1.0)).sqrt() / mean),
        })
    }

    /// How much longer than for the mean water must run until the lowest quarter has its share: one over `du`.
    pub fn scheduling_coefficient(&self) -> f64 {
        1.0 / self.du
    }
}

/// Mean of the lowest share of sorted values; where the share ends within a value, that counts in part.
fn mean_of_lowest(sorted: &[f64], share: f64) -> f64 {
    let wanted = share * sorted.len() as f64;
    let whole = wanted.floor() as usize;
    let rest = wanted - whole as f64;
    let sum: f64 = sorted[..whole].iter().sum();
    (sum + rest * sorted.get(whole).copied().unwrap_or(0.0)) / wanted
}

/// The low-quarter uniformity that goes with Christiansen's coefficient, both as shares of one, when catches are distributed normally.
///
/// Source: USDA NRCS, National Engineering Handbook, Part 623, chapter 11, Sprinkler Irrigation (2016):
/// DU = 100 - 1.59 (100 - CU), from memory.
pub fn low_quarter_expected(christiansen: f64) -> f64 {
    1.0 - 1.59 * (1.0 - christiansen)
}

/// Christiansen's coefficient that goes with a low-quarter uniformity, both as shares of one, when catches are distributed normally.
///
/// Source: as [`low_quarter_expected`], CU = 100 - 0.63 (100 - DU).
pub fn christiansen_expected(du: f64) -> f64 {
    1.0 - 0.63 * (1.0 - du)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_is_said_of_no_water() {
        assert_eq!(Uniformity::of(&[]), None);
        assert_eq!(Uniformity::of(&[0.0, 0.0]), None);
        assert_eq!(Uniformity::of(&[1.0, -1.0]), None);
        assert_eq!(Uniformity::of(&[1.0, f64::NAN]), None);
    }

    #[test]
    fn a_quarter_that_ends_within_a_catch_takes_part_of_it() {
        // A quarter of six is one and a half: (2 + 0.5 x 4) / 1.5, over the mean of 7.
        let found = Uniformity::of(&[2.0, 4.0, 6.0, 8.0, 10.0, 12.0]).expect("water");
        assert!((found.du - (4.0 / 1.5) / 7.0).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn the_size_of_the_cans_does_not_matter(catches in proptest::collection::vec(0.1..50.0, 1..40), size in 0.1..10.0) {
            let one = Uniformity::of(&catches).expect("water");
            let other = Uniformity::of(&catches.iter().map(|catch| catch * size).collect::<Vec<_>>()).expect("water");
            prop_assert!((one.christiansen - other.christiansen).abs() < 1e-9);
            prop_assert!((one.du - other.du).abs() < 1e-9);
        }

        #[test]
        fn quarter_below_half_below_all(catches in proptest::collection::vec(0.1..50.0, 1..40)) {
            let found = Uniformity::of(&catches).expect("water");
            prop_assert!(found.du <= found.low_half + 1e-12 && found.low_half <= 1.0 + 1e-12);
            prop_assert!(found.lowest <= found.du * found.mean + 1e-9);
        }
    }
}
