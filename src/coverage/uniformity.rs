//! How even catches are: catches in cans, or rates at many spots of the same size. It knows nothing of heads.

/// What catches say of themselves; shares are of one, not percent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uniformity {
    /// Mean of all catches, in the unit of the catches; above zero but for [`Uniformity::DRY`].
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
    /// Of ground on which nothing waters: all is zero.
    pub const DRY: Uniformity =
        Uniformity { mean: 0.0, lowest: 0.0, highest: 0.0, christiansen: 0.0, du: 0.0, low_half: 0.0, variation: None };

    /// Of catches that are zero or above; none when there are none, one is below zero or not finite, or all are zero.
    pub fn of(catches: &[f64]) -> Option<Uniformity> {
        Uniformity::by_rule(catches, LowQuarter::Parts)
    }

    /// The same with another habit of taking the low quarter.
    pub fn by_rule(catches: &[f64], rule: LowQuarter) -> Option<Uniformity> {
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
            du: mean_of_lowest(&sorted, rule.share_of(sorted.len())) / mean,
            low_half: mean_of_lowest(&sorted, 0.5) / mean,
            variation: (catches.len() > 1).then(|| (squares / (count - 1.0)).sqrt() / mean),
        })
    }

    /// Of rates on cells of which only a share is ground, from 0 to 1; cells without ground do not count. None as for [`Uniformity::of`].
    ///
    /// The variation is that of as many cells as the ground has room for.
    pub fn of_ground(rates: &[f64], shares: &[f64]) -> Option<Uniformity> {
        let mut cells: Vec<(f64, f64)> = rates.iter().copied().zip(shares.iter().copied()).filter(|cell| cell.1 > 0.0).collect();
        let sound = cells.iter().all(|(rate, _)| rate.is_finite() && *rate >= 0.0);
        let whole: f64 = cells.iter().map(|cell| cell.1).sum();
        let mean_of = |value: &dyn Fn(f64) -> f64| cells.iter().map(|(rate, share)| share * value(*rate)).sum::<f64>() / whole;
        let mean = mean_of(&|rate| rate);
        if !sound || mean.is_nan() || mean <= 0.0 {
            return None;
        }
        let (deviation, squares) = (mean_of(&|rate| (rate - mean).abs()), mean_of(&|rate| (rate - mean).powi(2)));
        cells.sort_by(|a, b| a.0.total_cmp(&b.0));
        let lowest_part = |part: f64| {
            let wanted = part * whole;
            let (mut water, mut ground) = (0.0, 0.0);
            for (rate, share) in &cells {
                let more = share.min(wanted - ground);
                (water, ground) = (water + more * rate, ground + more);
                if ground >= wanted {
                    break;
                }
            }
            water / wanted
        };
        Some(Uniformity {
            mean,
            lowest: cells[0].0,
            highest: cells[cells.len() - 1].0,
            christiansen: 1.0 - deviation / mean,
            du: lowest_part(0.25) / mean,
            low_half: lowest_part(0.5) / mean,
            variation: (whole > 1.0).then(|| (squares * whole / (whole - 1.0)).sqrt() / mean),
        })
    }

    /// How much longer than for the mean water must run until the lowest quarter has its share: one over `du`.
    pub fn scheduling_coefficient(&self) -> f64 {
        1.0 / self.du
    }
}

/// Which catches make the low quarter where their number is not a multiple of four.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LowQuarter {
    /// A quarter of all, to which one catch may count in part.
    #[default]
    Parts,
    /// Whole catches, their number rounded.
    Rounded,
    /// Whole catches, their number rounded up.
    RoundedUp,
}

impl LowQuarter {
    /// Each with the word for it.
    pub const ALL: [(&str, LowQuarter); 3] =
        [("parts", LowQuarter::Parts), ("rounded", LowQuarter::Rounded), ("rounded up", LowQuarter::RoundedUp)];

    fn share_of(self, count: usize) -> f64 {
        let quarter = count as f64 / 4.0;
        let catches = match self {
            LowQuarter::Parts => quarter,
            LowQuarter::Rounded => quarter.round().max(1.0),
            LowQuarter::RoundedUp => quarter.ceil(),
        };
        catches / count as f64
    }
}

/// The mean of the driest square of `size` by `size` catches on a grid that is `columns` wide, and the number of its first catch; none
/// where the grid is smaller.
pub fn driest_window(catches: &[f64], columns: usize, size: usize) -> Option<(usize, f64)> {
    let rows = catches.len() / columns.max(1);
    if size == 0 || size > columns || size > rows {
        return None;
    }
    let firsts = (0..=rows - size).flat_map(|row| (0..=columns - size).map(move |column| row * columns + column));
    let mean = |first: usize| {
        let cells = (0..size * size).map(|cell| catches[first + cell / size * columns + cell % size]);
        cells.sum::<f64>() / (size * size) as f64
    };
    firsts.map(|first| (first, mean(first))).min_by(|a, b| a.1.total_cmp(&b.1))
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
        fn ground_that_is_whole_is_as_catches_and_half_cells_count_half(catches in proptest::collection::vec(0.1..50.0, 2..40)) {
            let near = |one: Uniformity, other: Uniformity| {
                [one.mean - other.mean, one.christiansen - other.christiansen, one.du - other.du, one.low_half - other.low_half]
                    .iter()
                    .all(|off| off.abs() < 1e-9)
            };
            let plain = Uniformity::of(&catches).expect("water");
            let whole = Uniformity::of_ground(&catches, &vec![1.0; catches.len()]).expect("water");
            prop_assert!(near(plain, whole) && (plain.variation.unwrap() - whole.variation.unwrap()).abs() < 1e-9);
            let halved = Uniformity::of_ground(&[&catches[..], &catches[..]].concat(), &vec![0.5; 2 * catches.len()]).expect("water");
            prop_assert!(near(plain, halved));
        }

        #[test]
        fn quarter_below_half_below_all(catches in proptest::collection::vec(0.1..50.0, 1..40)) {
            let found = Uniformity::of(&catches).expect("water");
            prop_assert!(found.du <= found.low_half + 1e-12 && found.low_half <= 1.0 + 1e-12);
            prop_assert!(found.lowest <= found.du * found.mean + 1e-9);
        }
    }
}
