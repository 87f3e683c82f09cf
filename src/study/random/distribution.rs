//! Distributions of a number that is not known exactly, by their quantiles.

use crate::numeric::lanes::{F, Instructions, Laned, Numbers, Vector};
use crate::numeric::lns;
use crate::quantity::{Dimension, Preference, Quantity, dim};
use crate::told::Told;
use crate::unit_system::chosen;
use std::fmt;
use std::sync::Arc;
use thiserror::Error;

/// A number that is not known exactly; values in SI.
#[derive(Clone, Debug, PartialEq)]
pub struct Distribution {
    shape: Shape,
    /// What it is a number of.
    pub dimension: Dimension,
    /// The unit in which its samples are shown.
    pub preference: Preference,
}

#[derive(Clone, Debug, PartialEq)]
enum Shape {
    Normal {
        mean: f64,
        deviation: f64,
    },
    Between {
        low: f64,
        high: f64,
    },
    Triangular {
        low: f64,
        mode: f64,
        high: f64,
    },
    /// Each of these values is equally likely.
    Values(Arc<[f64]>),
}

/// What is wrong with a distribution.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum DistributionError {
    /// Its numbers are not of one dimension.
    #[error("{word}: {first} and {other} differ in dimension")]
    Mixed {
        /// The function that makes such a distribution.
        word: &'static str,
        /// The first number, in words.
        first: String,
        /// The number that does not go with it, in words.
        other: String,
    },
    /// A standard deviation is below zero.
    #[error("normal: the standard deviation must be zero or more, found {found}")]
    Deviation {
        /// The deviation that was given, with its unit.
        found: String,
    },
    /// The lower end does not lie below the upper end, or the peak not between them.
    #[error("{word}: {low}, {high} do not rise")]
    NotRising {
        /// The function that makes such a distribution.
        word: &'static str,
        /// The number that should be lower, with its unit.
        low: String,
        /// The number that should be higher, with its unit.
        high: String,
    },
    /// One of its numbers is infinite or not a number.
    #[error("{word}: a value is not finite")]
    NotFinite {
        /// The function that makes such a distribution.
        word: &'static str,
    },
    /// A list to draw from is empty.
    #[error("there is no value to sample from")]
    NoValues,
}

impl Told for DistributionError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            DistributionError::NotRising { word: "triangular", .. } => {
                "give the lowest, the most likely and the highest value, in that order".into()
            }
            DistributionError::NotRising { word, low, high } => format!("give the smaller value first: {word} {high} and {low}"),
            DistributionError::Mixed { .. } => "give all values in units of one kind".into(),
            DistributionError::Deviation { .. } => {
                chosen("the deviation is the standard error, as in normal({44.psi, 1.psi|3.bar, 0.1.bar})")
            }
            DistributionError::NotFinite { .. } => return None,
            DistributionError::NoValues => "choose a column with values".into(),
        })
    }

    fn about(&self) -> Option<String> {
        match self {
            DistributionError::Deviation { .. } => Some("deviation".into()),
            DistributionError::Mixed { word: "resampled", .. } | DistributionError::NoValues => Some("values".into()),
            _ => None,
        }
    }
}

impl Distribution {
    /// A normal distribution by mean and standard deviation. Errors: mixed dimensions, a negative deviation.
    pub fn normal(mean: Quantity, deviation: Quantity) -> Result<Distribution, DistributionError> {
        let difference = if mean.dimension.absolute { dim::TEMPERATURE_DIFFERENCE } else { mean.dimension };
        if deviation.dimension != difference {
            return Err(mixed("normal", &mean, &deviation));
        }
        finite("normal", &[mean, deviation])?;
        if deviation.si < 0.0 {
            return Err(DistributionError::Deviation { found: deviation.to_string() });
        }
        Ok(Distribution::of(&mean, Shape::Normal { mean: mean.si, deviation: deviation.si }))
    }

    /// Every value between two ends equally likely. Errors: mixed dimensions, ends that do not rise.
    pub fn between(low: Quantity, high: Quantity) -> Result<Distribution, DistributionError> {
        rising("between", &[low, high])?;
        Ok(Distribution::of(&low, Shape::Between { low: low.si, high: high.si }))
    }

    /// Most likely at `mode`, less toward both ends. Errors: mixed dimensions, values that do not rise.
    pub fn triangular(low: Quantity, mode: Quantity, high: Quantity) -> Result<Distribution, DistributionError> {
        rising("triangular", &[low, mode, high])?;
        Ok(Distribution::of(&low, Shape::Triangular { low: low.si, mode: mode.si, high: high.si }))
    }

    /// One of these values, each equally likely. Errors: none, or mixed dimensions.
    pub fn of_values(values: &[Quantity]) -> Result<Distribution, DistributionError> {
        let first = values.first().ok_or(DistributionError::NoValues)?;
        if let Some(other) = values.iter().find(|value| value.dimension != first.dimension) {
            return Err(mixed("resampled", first, other));
        }
        finite("resampled", values)?;
        Ok(Distribution::of(first, Shape::Values(values.iter().map(|value| value.si).collect())))
    }

    fn of(like: &Quantity, shape: Shape) -> Distribution {
        Distribution { shape, dimension: like.dimension, preference: like.preference }
    }

    /// The value below which the fraction `u` of the distribution lies, SI; `u` is above 0 and below 1.
    pub fn quantile(&self, u: f64) -> f64 {
        match &self.shape {
            Shape::Normal { mean, deviation } => mean + deviation * standard_normal(u),
            Shape::Between { low, high } => low + u * (high - low),
            Shape::Triangular { low, mode, high } => {
                let (width, rise) = (high - low, mode - low);
                if u * width < rise { low + (u * width * rise).sqrt() } else { high - ((1.0 - u) * width * (high - mode)).sqrt() }
            }
            Shape::Values(values) => values[((u * values.len() as f64) as usize).min(values.len() - 1)],
        }
    }

    /// Turns fractions into the values below which they lie, as [`Distribution::quantile`] does with one.
    pub(super) fn quantiles(&self, instructions: Instructions, fractions: &mut [f64]) {
        if let Shape::Normal { mean, deviation } = self.shape {
            instructions.run(Normals { mean, deviation, fractions });
        } else {
            fractions.iter_mut().for_each(|u| *u = self.quantile(*u));
        }
    }

    /// Both ends, SI, of a distribution that has every value between them.
    pub fn ends(&self) -> Option<(f64, f64)> {
        match self.shape {
            Shape::Between { low, high } => Some((low, high)),
            _ => None,
        }
    }

    /// The value in the middle.
    pub fn median(&self) -> Quantity {
        self.quantity(self.quantile(0.5))
    }

    /// A value of this distribution as a quantity.
    pub fn quantity(&self, si: f64) -> Quantity {
        Quantity { si, dimension: self.dimension, preference: self.preference }
    }
}

impl fmt::Display for Distribution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let q = |si: f64| self.quantity(si);
        match &self.shape {
            Shape::Normal { mean, deviation } if self.dimension.absolute => {
                write!(f, "normal around {}, deviation {}", q(*mean), Quantity::new(*deviation, dim::TEMPERATURE_DIFFERENCE))
            }
            Shape::Normal { mean, deviation } => write!(f, "normal around {}, deviation {}", q(*mean), q(*deviation)),
            Shape::Between { low, high } => write!(f, "between {} and {}", q(*low), q(*high)),
            Shape::Triangular { low, mode, high } => write!(f, "triangular from {} over {} to {}", q(*low), q(*mode), q(*high)),
            Shape::Values(values) => write!(f, "one of {} values", values.len()),
        }
    }
}

fn mixed(word: &'static str, first: &Quantity, other: &Quantity) -> DistributionError {
    DistributionError::Mixed { word, first: first.described(), other: other.described() }
}

fn finite(word: &'static str, values: &[Quantity]) -> Result<(), DistributionError> {
    if values.iter().all(|value| value.si.is_finite()) { Ok(()) } else { Err(DistributionError::NotFinite { word }) }
}

fn rising(word: &'static str, values: &[Quantity]) -> Result<(), DistributionError> {
    finite(word, values)?;
    for pair in values.windows(2) {
        if pair[0].dimension != pair[1].dimension {
            return Err(mixed(word, &pair[0], &pair[1]));
        }
        if pair[0].si > pair[1].si {
            return Err(DistributionError::NotRising { word, low: pair[0].to_string(), high: pair[1].to_string() });
        }
    }
    Ok(())
}

/// Fractions that become values of a normal distribution.
struct Normals<'a> {
    mean: f64,
    deviation: f64,
    fractions: &'a mut [f64],
}

impl Laned for Normals<'_> {
    type Output = ();

    #[inline(always)]
    fn on<S: Vector>(self, simd: S) {
        let Normals { mean, deviation, fractions } = self;
        let mut chunks = fractions.chunks_exact_mut(F::<S, 1>::LANES);
        for chunk in &mut chunks {
            let values = standard_normals(F::<S, 1>::load(simd, chunk)) * deviation + mean;
            chunk.copy_from_slice(values.lanes());
        }
        chunks.into_remainder().iter_mut().for_each(|u| *u = standard_normals(*u) * deviation + mean);
    }
}

/// The quantile of the standard normal distribution, to about 1e-16 of itself; `u` is above 0 and below 1.
///
/// Source: M. J. Wichura, Algorithm AS 241: The Percentage Points of the Normal Distribution, Applied Statistics 37 (1988),
/// routine PPND16.
pub fn standard_normal(u: f64) -> f64 {
    standard_normals(u)
}

/// The same of several numbers side by side. All are taken by the middle and by the near tail, and what fits is chosen; the far tail, two in
/// 10^11, is taken only where there is one.
#[inline(always)]
pub(super) fn standard_normals<N: Numbers>(u: N) -> N {
    let (half, zero) = (u.like(0.5), u.like(0.0));
    let q = u - half;
    let r = -(q * q) + 0.180_625;
    let middle = q * polynomial(&MIDDLE_TOP, r) / polynomial(&MIDDLE_BOTTOM, r);
    let tails = u.like(0.425).lt(q.abs());
    if !N::any(tails) {
        return middle;
    }
    let below = u.lt(half);
    let r = (-lns(N::choose(below, u, -u + 1.0))).sqrt();
    let mut size = polynomial(&NEAR_TOP, r - 1.6) / polynomial(&NEAR_BOTTOM, r - 1.6);
    let far = u.like(5.0).lt(r);
    if N::any(far) {
        size = N::choose(far, polynomial(&FAR_TOP, r - 5.0) / polynomial(&FAR_BOTTOM, r - 5.0), size);
    }
    N::choose(tails, N::choose(q.lt(zero), -size, size), middle)
}

#[inline(always)]
fn polynomial<N: Numbers>(coefficients: &[f64; 8], x: N) -> N {
    let mut sum = x.like(coefficients[7]);
    let mut power = 7;
    while power > 0 {
        power -= 1;
        sum = sum * x + coefficients[power];
    }
    sum
}

const MIDDLE_TOP: [f64; 8] = [
    3.387_132_872_796_366_5,
    1.331_416_678_917_843_8e2,
    1.971_590_950_306_551_3e3,
    1.373_169_376_550_946e4,
    4.592_195_393_154_987e4,
    6.726_577_092_700_87e4,
    3.343_057_558_358_813e4,
    2.509_080_928_730_122_7e3,
];
const MIDDLE_BOTTOM: [f64; 8] = [
    1.0,
    4.231_333_070_160_091e1,
    6.871_870_074_920_579e2,
    5.394_196_021_424_751e3,
    2.121_379_430_158_659_7e4,
    3.930_789_580_009_271e4,
    2.872_908_573_572_194_3e4,
    5.226_495_278_852_854e3,
];
const NEAR_TOP: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    2.417_807_251_774_506e-1,
    2.272_384_498_926_918_4e-2,
    7.745_450_142_783_414e-4,
];
const NEAR_BOTTOM: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    6.897_673_349_851e-1,
    1.481_039_764_274_800_8e-1,
    1.519_866_656_361_645_7e-2,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const FAR_TOP: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    2.965_605_718_285_048_7e-1,
    2.653_218_952_657_612_4e-2,
    1.242_660_947_388_078_4e-3,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const FAR_BOTTOM: [f64; 8] = [
    1.0,
    5.998_322_065_558_88e-1,
    1.369_298_809_227_358e-1,
    1.487_536_129_085_061_5e-2,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::find_unit;

    fn psi(value: f64) -> Quantity {
        Quantity::written(value, find_unit("psi").expect("psi"))
    }

    #[test]
    fn normal_quantiles_are_those_of_the_tables() {
        // M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), table 26.5, and more digits from memory.
        for (u, z) in [
            (0.5, 0.0),
            (0.75, 0.674_489_750_196_081_7),
            (0.975, 1.959_963_984_540_054),
            (0.001, -3.090_232_306_167_813),
            (1e-10, -6.361_340_902_404_056),
            (1e-20, -9.262_340_089_798_408),
        ] {
            assert!((standard_normal(u) - z).abs() < 1e-13 * (1.0 + z.abs()), "{u}: {}", standard_normal(u));
        }
    }

    #[test]
    fn quantiles_of_the_triangle_and_the_box_are_those_worked_by_hand() {
        let triangle = Distribution::triangular(psi(0.0), psi(1.0), psi(3.0)).expect("rising");
        // Cumulative: x2/3 to the mode (a third), then 1 - (3-x)2/6.
        let one = psi(1.0).si;
        for (u, x) in [(1.0 / 12.0, 0.5), (1.0 / 3.0, 1.0), (1.0 - 1.0 / 6.0, 2.0)] {
            assert!((triangle.quantile(u) / one - x).abs() < 1e-12, "{u}");
        }
        let flat = Distribution::between(psi(10.0), psi(20.0)).expect("rising");
        assert!((flat.quantile(0.25) / one - 12.5).abs() < 1e-12);
        let values = Distribution::of_values(&[psi(1.0), psi(5.0)]).expect("values");
        assert_eq!((values.quantile(0.49), values.quantile(0.51)), (psi(1.0).si, psi(5.0).si));
    }

    #[test]
    fn wrong_distributions_say_what_is_wrong() {
        let ft = Quantity::written(1.0, find_unit("ft").expect("ft"));
        let text = |found: Result<Distribution, DistributionError>| found.expect_err("refused").to_string();
        assert_eq!(
            text(Distribution::normal(psi(1.0), ft)),
            "normal: 1 psi (a pressure) and 1 ft (a length) differ in dimension"
        );
        assert_eq!(text(Distribution::between(psi(2.0), psi(1.0))), "between: 2 psi, 1 psi do not rise");
        let found = text(Distribution::normal(psi(2.0), psi(-1.0)));
        assert_eq!(found, "normal: the standard deviation must be zero or more, found -1 psi");
        assert_eq!(text(Distribution::of_values(&[])), "there is no value to sample from");
    }
}
