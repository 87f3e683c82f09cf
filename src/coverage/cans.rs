//! A catch-can test: what equal cans on the ground caught, how even that is, how sure its mean is, and the computation beside it.

use super::ground::Bed;
use super::map::Coverage;
use super::uniformity::{LowQuarter, Uniformity, driest_window};
use crate::quantity::{Quantity, dim};
use crate::told::Told;
use crate::unit_system::example;
use std::f64::consts::PI;
use thiserror::Error;

/// Why cans say nothing; cans and rows count from 1.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum CanError {
    /// No can.
    #[error("catch_cans: there are no cans")]
    NoCans,
    /// A can holds something else than the first.
    #[error("catch_cans: can {can} holds {}, the first {}", found.described(), first.described())]
    Unlike {
        /// Which can.
        can: usize,
        /// What it holds.
        found: Quantity,
        /// What the first holds.
        first: Quantity,
    },
    /// A catch that is no volume and no depth.
    #[error("catch_cans: can {can} holds {}; expected a volume or a depth", found.described())]
    NoCatch {
        /// Which can.
        can: usize,
        /// What it holds.
        found: Quantity,
    },
    /// A can holds less than nothing.
    #[error("catch_cans: can {can} holds {found}, below zero")]
    BelowZero {
        /// Which can.
        can: usize,
        /// What it holds.
        found: Quantity,
    },
    /// All cans are dry.
    #[error("catch_cans: all {cans} cans are dry")]
    Dry {
        /// How many there are.
        cans: usize,
    },
    /// Rows of several lengths.
    #[error("catch_cans: rows have different lengths: {first} in row 1, {found} in row {row}")]
    Ragged {
        /// Which row.
        row: usize,
        /// How many cans it has.
        found: usize,
        /// How many the first row has.
        first: usize,
    },
    /// A parameter of the test that must be above zero.
    #[error("{what} must be above zero")]
    NotPositive {
        /// Function and argument.
        what: &'static str,
    },
    /// A wind during the test that is below zero.
    #[error("wind: the speed is below zero")]
    WindBelowZero,
    /// Catches are volumes, and the mouth of a can is not known.
    #[error("catch_cans: the mouth of a can is not given")]
    NoMouth,
    /// How long the test ran is not known.
    #[error("catch_cans: the time of the test is not given")]
    NoTime,
    /// The cans have no places.
    #[error("catch_cans: where the cans stand is not given")]
    NoPlaces,
    /// A window is larger than the grid of cans.
    #[error("catch_cans: a window of {size} by {size} cans does not fit on rows of {columns}")]
    LargeWindow {
        /// Cans along its side.
        size: usize,
        /// Cans in a row.
        columns: usize,
    },
    /// A can stands where nothing is computed.
    #[error("against: can {can} stands outside of the bed of the coverage in wind")]
    Outside {
        /// Which can.
        can: usize,
    },
}

impl Told for CanError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            CanError::Unlike { .. } => "measure all cans in the same way".into(),
            CanError::NoCans | CanError::NoCatch { .. } | CanError::Dry { .. } | CanError::BelowZero { .. } => {
                "give the catch of each can, as in catch_cans([18.mL, 22.mL])".into()
            }
            CanError::Ragged { .. } => "give every row as many cans, or a table with columns x, y and caught".into(),
            CanError::NotPositive { what } if what.starts_with("spaced") => example(
                "give the distance from can to can, as in .spaced(5.ft)",
                "give the distance from can to can, as in .spaced(1.5.m)",
            ),
            CanError::NotPositive { what } if what.starts_with("lasted") => "give it as in .lasted(15.min)".into(),
            CanError::NotPositive { .. } | CanError::NoMouth => example(
                "give its area or diameter, as in .mouth(16.6.in2) or .mouth(4.6.inch)",
                "give its area or diameter, as in .mouth(107.cm2) or .mouth(11.7.cm)",
            ),
            CanError::WindBelowZero => example("give it as in .wind(4.mph)", "give it as in .wind(2.m_per_s)"),
            CanError::NoTime => "give it as in .lasted(15.min)".into(),
            CanError::NoPlaces => example(
                "give rows of cans with .spaced(5.ft), or a table with columns x, y and caught",
                "give rows of cans with .spaced(1.5.m), or a table with columns x, y and caught",
            ),
            CanError::LargeWindow { .. } => "give rows of cans, and a window of fewer cans".into(),
            CanError::Outside { .. } => "give a larger bed in coverage(..), or .corner(x, y) of the cans".into(),
        })
    }
}

/// Where the cans stand.
#[derive(Clone, Debug, PartialEq)]
enum Layout {
    /// Nobody said.
    Anywhere,
    /// In rows as on a plan: the first row is the uppermost.
    Rows { columns: usize, spacing_m: Option<(f64, f64)>, corner_m: Option<(f64, f64)> },
    /// Each at its place, m.
    Placed(Vec<(f64, f64)>),
}

/// Catches of equal cans, and what is known of the test.
#[derive(Clone, Debug, PartialEq)]
pub struct CatchCans {
    /// Catches in the order in which they were given, SI.
    pub catches: Vec<f64>,
    /// The unit of the catches.
    unit: Quantity,
    layout: Layout,
    /// Area of the mouth of a can, m2.
    pub mouth_m2: Option<f64>,
    /// How long the test ran, s.
    pub lasted_s: Option<f64>,
    /// Lengths were given in metric units.
    metric: bool,
    /// Wind during the test, m/s.
    pub wind_m_per_s: Option<f64>,
    /// How even the catches are; mean, lowest and highest in SI.
    pub uniformity: Uniformity,
}

/// Two-sided confidence of a mean.
const CONFIDENCE: f64 = 0.9;

impl CatchCans {
    /// What cans caught that stand anywhere. Errors: no cans, catches of two dimensions, below zero, or all dry.
    pub fn of(catches: &[Quantity]) -> Result<CatchCans, CanError> {
        let first = *catches.first().ok_or(CanError::NoCans)?;
        for (index, found) in catches.iter().enumerate() {
            let (can, found) = (index + 1, *found);
            if found.dimension != dim::VOLUME && found.dimension != dim::LENGTH {
                return Err(CanError::NoCatch { can, found });
            }
            if found.dimension != first.dimension {
                return Err(CanError::Unlike { can, found, first });
            }
            if found.si.is_nan() || found.si < 0.0 {
                return Err(CanError::BelowZero { can, found });
            }
        }
        let values: Vec<f64> = catches.iter().map(|found| found.si).collect();
        let uniformity = Uniformity::of(&values).ok_or(CanError::Dry { cans: values.len() })?;
        let unit = first;
        Ok(CatchCans {
            catches: values,
            unit,
            layout: Layout::Anywhere,
            mouth_m2: None,
            lasted_s: None,
            metric: false,
            wind_m_per_s: None,
            uniformity,
        })
    }

    /// Rows of cans as seen on a plan, the uppermost first. Errors: as for [`CatchCans::of`], and rows of several lengths.
    pub fn in_rows(rows: &[Vec<Quantity>]) -> Result<CatchCans, CanError> {
        let columns = rows.first().map_or(0, Vec::len);
        if let Some(index) = rows.iter().position(|row| row.len() != columns) {
            return Err(CanError::Ragged { row: index + 1, found: rows[index].len(), first: columns });
        }
        let cans = CatchCans::of(&rows.concat())?;
        Ok(CatchCans { layout: Layout::Rows { columns, spacing_m: None, corner_m: None }, ..cans })
    }

    /// Cans at places, m. Errors: as for [`CatchCans::of`].
    pub fn placed(cans: &[((f64, f64), Quantity)]) -> Result<CatchCans, CanError> {
        let catches: Vec<Quantity> = cans.iter().map(|can| can.1).collect();
        Ok(CatchCans { layout: Layout::Placed(cans.iter().map(|can| can.0).collect()), ..CatchCans::of(&catches)? })
    }

    /// The same with the distance from can to can, m: along a row, and from row to row. Errors: cans that are not in rows; not above zero.
    pub fn spaced(mut self, spacing: (f64, f64)) -> Result<CatchCans, CanError> {
        if !(spacing.0 > 0.0 && spacing.1 > 0.0) {
            return Err(CanError::NotPositive { what: "spaced: the distance" });
        }
        match &mut self.layout {
            Layout::Rows { spacing_m, .. } => *spacing_m = Some(spacing),
            _ => return Err(CanError::NoPlaces),
        }
        Ok(self)
    }

    /// The same with the place of the can at the lower left, m. Errors: cans that are not in rows.
    pub fn corner(mut self, corner: (f64, f64)) -> Result<CatchCans, CanError> {
        match &mut self.layout {
            Layout::Rows { corner_m, .. } => *corner_m = Some(corner),
            _ => return Err(CanError::NoPlaces),
        }
        Ok(self)
    }

    /// The same with the area of the mouth of a can, m2. Errors: not above zero.
    pub fn mouth(self, area_m2: f64) -> Result<CatchCans, CanError> {
        if area_m2 > 0.0 {
            Ok(CatchCans { mouth_m2: Some(area_m2), ..self })
        } else {
            Err(CanError::NotPositive { what: "mouth: the area" })
        }
    }

    /// The same with a round mouth of a diameter, m. Errors: not above zero.
    pub fn round_mouth(self, diameter_m: f64) -> Result<CatchCans, CanError> {
        self.mouth(0.25 * PI * diameter_m.max(0.0).powi(2))
    }

    /// The same with the time that the test ran, s. Errors: not above zero.
    pub fn lasted(self, time_s: f64) -> Result<CatchCans, CanError> {
        if time_s > 0.0 {
            Ok(CatchCans { lasted_s: Some(time_s), ..self })
        } else {
            Err(CanError::NotPositive { what: "lasted: the time" })
        }
    }

    /// The same with the wind during the test, m/s. Errors: below zero.
    pub fn in_wind(self, wind_m_per_s: f64) -> Result<CatchCans, CanError> {
        if wind_m_per_s >= 0.0 {
            Ok(CatchCans { wind_m_per_s: Some(wind_m_per_s), ..self })
        } else {
            Err(CanError::WindBelowZero)
        }
    }

    /// The same, with rates and places in metric units.
    pub fn in_metric(self, metric: bool) -> CatchCans {
        CatchCans { metric: self.metric || metric, ..self }
    }

    /// Whether a length was given in metric units.
    pub fn is_metric(&self) -> bool {
        self.metric
    }

    /// A catch in the unit in which they were given.
    pub fn quantity(&self, si: f64) -> Quantity {
        Quantity { si, ..self.unit }
    }

    /// Cans in a row, where they are in rows.
    pub fn columns(&self) -> Option<usize> {
        if let Layout::Rows { columns, .. } = self.layout { Some(columns) } else { None }
    }

    /// Row and column of a can, counted from 1 from the upper left, where the cans are in rows.
    pub fn row_and_column(&self, can: usize) -> Option<(usize, usize)> {
        self.columns().map(|columns| (can / columns + 1, can % columns + 1))
    }

    /// Depth of the water in a can, m. Errors: a volume without the mouth of the can.
    pub fn depth_m(&self, catch: f64) -> Result<f64, CanError> {
        match self.unit.dimension == dim::LENGTH {
            true => Ok(catch),
            false => self.mouth_m2.map(|area_m2| catch / area_m2).ok_or(CanError::NoMouth),
        }
    }

    /// Rate of a catch, m/s. Errors: the mouth of the cans or the time of the test is not known.
    pub fn rate_m_per_s(&self, catch: f64) -> Result<f64, CanError> {
        let depth_m = self.depth_m(catch)?;
        self.lasted_s.map(|time_s| depth_m / time_s).ok_or(CanError::NoTime)
    }

    /// The places of the cans, m. Rows without a corner are centered on a bed, or begin half a spacing from the origin.
    ///
    /// Errors: nobody said where they stand.
    pub fn places_m(&self, bed: Option<Bed>) -> Result<Vec<(f64, f64)>, CanError> {
        match &self.layout {
            Layout::Placed(places) => Ok(places.clone()),
            Layout::Rows { columns, spacing_m: Some((across, up)), corner_m } => {
                let rows = self.catches.len() / columns;
                let (wide, high) = ((columns - 1) as f64 * across, (rows - 1) as f64 * up);
                let middle = bed.map(|bed| (0.5 * (bed.left_m + bed.right_m - wide), 0.5 * (bed.bottom_m + bed.top_m - high)));
                let (left, bottom) = corner_m.or(middle).unwrap_or((0.5 * across, 0.5 * up));
                let place =
                    |can: usize| (left + (can % columns) as f64 * across, bottom + (rows - 1 - can / columns) as f64 * up);
                Ok((0..self.catches.len()).map(place).collect())
            }
            _ => Err(CanError::NoPlaces),
        }
    }

    /// The driest can; of equal ones the first.
    pub fn driest(&self) -> usize {
        let catches = self.catches.iter().enumerate();
        catches.min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(can, _)| can)
    }

    /// The mean of the low quarter over the mean of all, by a habit of counting it.
    pub fn low_quarter(&self, rule: LowQuarter) -> f64 {
        Uniformity::by_rule(&self.catches, rule).map_or(self.uniformity.du, |found| found.du)
    }

    /// The mean of all over the mean of the driest window of `size` by `size` cans; none where that is dry.
    ///
    /// Errors: cans that are not in rows, or a window that does not fit.
    pub fn scheduling_coefficient(&self, size: usize) -> Result<Option<f64>, CanError> {
        let columns = self.columns().ok_or(CanError::NoPlaces)?;
        let (_, driest) = driest_window(&self.catches, columns, size).ok_or(CanError::LargeWindow { size, columns })?;
        Ok((driest > 0.0).then(|| self.uniformity.mean / driest))
    }

    /// Half the width of the interval in which the mean of the ground lies with a confidence of 90 %, as a share of the mean of the cans;
    /// none for a single can. Takes the cans for a random sample: Student's t of n - 1 times the standard error.
    pub fn band(&self) -> Option<f64> {
        let count = self.catches.len();
        Some(student(count - 1) * self.uniformity.variation? / (count as f64).sqrt())
    }

    /// The computation beside the cans.
    ///
    /// Errors: the rates or places of the cans are not known, or one stands outside of a bed in wind.
    pub fn beside(&self, coverage: &Coverage) -> Result<Comparison, CanError> {
        let places_m = self.places_m(Some(coverage.grid.ground.frame()))?;
        let mut cans = Vec::with_capacity(places_m.len());
        for (index, (&at_m, &catch)) in places_m.iter().zip(&self.catches).enumerate() {
            let computed_m_per_s = coverage.rate_at(at_m).ok_or(CanError::Outside { can: index + 1 })?;
            cans.push(Compared { at_m, computed_m_per_s, caught_m_per_s: self.rate_m_per_s(catch)? });
        }
        Ok(Comparison { cans, units: coverage.units })
    }
}

/// Student's t that a value stays below with [`CONFIDENCE`] on both sides.
///
/// Closed forms for one and two degrees of freedom; from three on the series in their inverse around the normal quantile 1.644854
/// (Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.7.5), within 0.3 %.
fn student(freedom: usize) -> f64 {
    match freedom {
        0 => f64::INFINITY,
        1 => (0.5 * PI * CONFIDENCE).tan(),
        2 => CONFIDENCE * (2.0 / (1.0 - CONFIDENCE * CONFIDENCE)).sqrt(),
        more => {
            let (z, n): (f64, f64) = (1.644_853_627, more as f64);
            let powers = [z, z.powi(3), z.powi(5), z.powi(7)];
            let first = (powers[1] + powers[0]) / 4.0;
            let second = (5.0 * powers[2] + 16.0 * powers[1] + 3.0 * powers[0]) / 96.0;
            let third = (3.0 * powers[3] + 19.0 * powers[2] + 17.0 * powers[1] - 15.0 * powers[0]) / 384.0;
            z + first / n + second / (n * n) + third / (n * n * n)
        }
    }
}

/// A can beside the computation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compared {
    /// Where it stands, m.
    pub at_m: (f64, f64),
    /// The computed rate there, m/s.
    pub computed_m_per_s: f64,
    /// The rate that it caught, m/s.
    pub caught_m_per_s: f64,
}

/// Cans beside the computation.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The cans in the order in which they were given.
    pub cans: Vec<Compared>,
    /// The units in which the garden was given.
    pub units: crate::quantity::UnitSystem,
}

impl Comparison {
    /// Mean of what was caught over mean of what was computed; none where nothing was computed.
    pub fn ratio(&self) -> Option<f64> {
        let sum = |of: fn(&Compared) -> f64| self.cans.iter().map(of).sum::<f64>();
        let computed = sum(|can| can.computed_m_per_s);
        (computed > 0.0).then(|| sum(|can| can.caught_m_per_s) / computed)
    }

    /// How far a can is off the computation once that is brought to the mean of the cans: root of the mean square over the mean catch.
    pub fn scatter(&self) -> Option<f64> {
        let ratio = self.ratio()?;
        let count = self.cans.len() as f64;
        let mean = self.cans.iter().map(|can| can.caught_m_per_s).sum::<f64>() / count;
        let squares: f64 = self.cans.iter().map(|can| (can.caught_m_per_s - ratio * can.computed_m_per_s).powi(2)).sum();
        Some((squares / count).sqrt() / mean)
    }

    /// The can that is farthest off the computation brought to the mean of the cans.
    pub fn farthest(&self) -> Option<usize> {
        let ratio = self.ratio()?;
        let off = |can: &Compared| (can.caught_m_per_s - ratio * can.computed_m_per_s).abs();
        self.cans.iter().enumerate().max_by(|a, b| off(a.1).total_cmp(&off(b.1))).map(|(can, _)| can)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coverage::{Pattern, Spray};

    fn ml(values: &[f64]) -> Vec<Quantity> {
        values.iter().map(|value| Quantity::new(value * 1e-6, dim::VOLUME)).collect()
    }

    #[test]
    fn rates_need_mouth_and_time() {
        let cans = CatchCans::of(&ml(&[20.0, 10.0])).expect("cans");
        assert_eq!(cans.rate_m_per_s(1e-6), Err(CanError::NoMouth));
        let cans = cans.mouth(0.01).expect("a mouth");
        assert_eq!(cans.rate_m_per_s(1e-6), Err(CanError::NoTime));
        let cans = cans.lasted(100.0).expect("a time");
        assert_eq!(cans.rate_m_per_s(1e-6), Ok(1e-6));
        assert_eq!(cans.places_m(None), Err(CanError::NoPlaces));
        assert_eq!(cans.clone().mouth(-1.0), Err(CanError::NotPositive { what: "mouth: the area" }));
        assert!((cans.round_mouth(0.1).expect("a mouth").mouth_m2.expect("it") - 0.0078539816).abs() < 1e-9);
    }

    #[test]
    fn rows_are_seen_on_a_plan() {
        let rows = [ml(&[1.0, 2.0, 3.0]), ml(&[4.0, 5.0, 6.0])];
        let cans = CatchCans::in_rows(&rows).expect("cans").spaced((2.0, 3.0)).expect("spaced");
        assert_eq!(cans.places_m(None).expect("places")[0], (1.0, 4.5));
        let bed = Bed { left_m: 10.0, right_m: 16.0, bottom_m: 0.0, top_m: 6.0 };
        assert_eq!(cans.places_m(Some(bed)).expect("places")[5], (15.0, 1.5));
        assert_eq!(cans.corner((0.0, 0.0)).expect("a corner").places_m(Some(bed)).expect("places")[3], (0.0, 0.0));
        let ragged = [ml(&[1.0, 2.0]), ml(&[4.0])];
        assert_eq!(CatchCans::in_rows(&ragged), Err(CanError::Ragged { row: 2, found: 1, first: 2 }));
    }

    #[test]
    fn the_band_is_that_of_student() {
        // Tables of Student's t for 90 %: 6.314, 2.920, 2.353, 2.015, 1.753, 1.671 for 1, 2, 3, 5, 15 and 60 degrees of freedom.
        for (freedom, table) in [(1, 6.314), (2, 2.920), (3, 2.353), (5, 2.015), (15, 1.753), (60, 1.671)] {
            assert!((student(freedom) / table - 1.0).abs() < 4e-3, "{freedom}: {}", student(freedom));
        }
        let cans = CatchCans::of(&ml(&[9.0, 11.0, 10.0, 10.0])).expect("cans");
        // Standard deviation 0.8165 over 10, t of three 2.353, over the root of four.
        assert!((cans.band().expect("a band") - 0.0961).abs() < 5e-4);
        assert_eq!(CatchCans::of(&ml(&[9.0])).expect("a can").band(), None);
    }

    #[test]
    fn cans_that_caught_what_was_computed_are_on_the_line() {
        let spray = Spray { radius_m: 6.0, flow_m3_per_s: 1e-4, ..Spray::default() };
        let bed = Bed { left_m: -4.0, right_m: 4.0, bottom_m: -3.0, top_m: 3.0 };
        let coverage = Coverage::sampled(vec![spray], bed, Pattern::Cone, 20, 20).expect("coverage");
        let places: Vec<(f64, f64)> =
            (0..12).map(|can| (f64::from(can % 4) * 2.0 - 3.0, f64::from(can / 4) * 2.0 - 2.0)).collect();
        let catch = |share: f64| -> Vec<((f64, f64), Quantity)> {
            places
                .iter()
                .map(|&at| (at, Quantity::new(share * 900.0 * coverage.rate_at(at).expect("a rate"), dim::LENGTH)))
                .collect()
        };
        let cans = CatchCans::placed(&catch(0.8)).expect("cans").lasted(900.0).expect("a time");
        let both = cans.beside(&coverage).expect("a comparison");
        assert!((both.ratio().expect("a ratio") - 0.8).abs() < 1e-12 && both.scatter().expect("it") < 1e-12);
        let mut off = catch(0.8);
        off[7].1.si *= 0.5;
        let cans = CatchCans::placed(&off).expect("cans").lasted(900.0).expect("a time");
        assert_eq!(cans.beside(&coverage).expect("a comparison").farthest(), Some(7));
    }
}
