//! The water of all heads over a bed.

use super::falling::Lattice;
use super::spray::{Pattern, Spray, middle_of_arc_deg};
use super::uniformity::Uniformity;
use super::zone::middle_of_zone_m;
use crate::garden::Accepted;
use crate::hydraulics::{Doing, Solution};
use crate::parts::{Id, Part, Spec};
use crate::quantity::{Quantity, UnitSystem, dim};
use crate::told::Told;
use crate::unit_system::units_of_texts;
use thiserror::Error;

/// Spots along the longer side of a bed.
const SPOTS: f64 = 60.0;
/// Spots along the shorter one at least.
const LEAST_SPOTS: usize = 4;
/// The throw of a head that runs without any pressure, m: it dribbles where it stands.
const LEAST_THROW_M: f64 = 1e-3;

/// Why coverage cannot be determined.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum CoverageError {
    /// A head that runs lacks a parameter without which its coverage cannot be placed.
    #[error("coverage: the head '{head}' runs, but has no {missing}")]
    Unknown {
        /// Name of the head.
        head: String,
        /// What it lacks, in words.
        missing: &'static str,
    },
    /// No head runs that throws water.
    #[error("coverage: no sprinkler head runs here")]
    NoHeads,
    /// The bed has no ground: a side that is not above zero, or one without end.
    #[error("coverage: the bed is {width} by {height}; expected a rectangle of ground")]
    NoGround {
        /// From left to right.
        width: Quantity,
        /// From bottom to top.
        height: Quantity,
    },
    /// All spots of the bed stay dry.
    #[error("coverage: no water falls on the bed")]
    NoWater,
    /// The time that the driest spot needs is without end.
    #[error("run_time_for: the driest spot gets no water")]
    NeverWet,
    /// A depth of water to be applied is below zero.
    #[error("run_time_for: the depth is below zero")]
    BelowZero,
}

/// Which part of the ground must have a depth of water.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CountOn {
    /// All of it on the mean.
    Mean,
    /// The mean of the driest quarter.
    LowQuarter,
    /// The driest spot.
    Driest,
}

impl CountOn {
    /// Each with the word for it.
    pub const ALL: [(&str, CountOn); 3] =
        [("mean", CountOn::Mean), ("low quarter", CountOn::LowQuarter), ("driest", CountOn::Driest)];
}

impl CoverageError {
    /// The error about a garden that was given in these units.
    fn in_units(self, units: UnitSystem) -> CoverageError {
        match self {
            CoverageError::NoGround { width, height } => {
                let [width, height] = [width, height].map(|length| units.quantity(length.si, dim::LENGTH));
                CoverageError::NoGround { width, height }
            }
            other => other,
        }
    }
}

impl Told for CoverageError {
    fn hint(&self) -> Option<String> {
        let pick = |us, metric| units_of_texts().pick(us, metric);
        Some(
            match self {
                CoverageError::Unknown { missing: "place", .. } => pick("give .at(10.ft, 5.ft)", "give .at(3.m, 1.5.m)"),
                CoverageError::Unknown { .. } => pick("give .throws(28.ft, 40.psi)", "give .throws(8.5.m, 2.8.bar)"),
                CoverageError::NoHeads => "open a zone with heads that run; emitters and soakers are left out",
                CoverageError::NoGround { .. } => pick(
                    "give the bed as in coverage([0.ft, 30.ft], [0.ft, 20.ft])",
                    "give the bed as in coverage([0.m, 9.m], [0.m, 6.m])",
                ),
                CoverageError::NeverWet => "use the \"low quarter\", or move a head",
                CoverageError::BelowZero => pick("give it as in 1.inch", "give it as in 25.mm"),
                CoverageError::NoWater => "give the bed in the same coordinates as .at(x, y) of the heads",
            }
            .into(),
        )
    }
}

/// A rectangle of ground, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Least x of the bed, m.
    pub left_m: f64,
    /// Greatest x of the bed, m.
    pub right_m: f64,
    /// Least y of the bed, m.
    pub bottom_m: f64,
    /// Greatest y of the bed, m.
    pub top_m: f64,
}

impl Bed {
    /// From left to right, m.
    pub fn width_m(&self) -> f64 {
        self.right_m - self.left_m
    }

    /// From bottom to top on the plan, m.
    pub fn height_m(&self) -> f64 {
        self.top_m - self.bottom_m
    }

    /// Ground of the bed, m2.
    pub fn area_m2(&self) -> f64 {
        self.width_m() * self.height_m()
    }
}

/// Rates all over a bed.
#[derive(Clone, Debug)]
pub struct Coverage {
    /// The ground on which coverage is computed.
    pub bed: Bed,
    /// What each head that runs throws, also where it falls outside the bed.
    pub sprays: Vec<Spray>,
    /// How the application rate of every head falls with distance.
    pub pattern: Pattern,
    /// Spots from left to right.
    pub columns: usize,
    /// Spots from bottom to top.
    pub rows: usize,
    /// Mean rates of the spots, m/s, from the exact integral over each; x runs fastest, from the left and from the bottom.
    pub rates_m_per_s: Vec<f64>,
    /// How even the rates of the spots are; mean, lowest and highest in m/s.
    pub uniformity: Uniformity,
    /// The units in which the garden of the heads was given.
    pub units: UnitSystem,
    /// Names of heads that get less pressure than they need: they do not throw as is shown here.
    pub stalled: Vec<String>,
    /// The findings that the owner of the garden has accepted.
    pub accepted: Accepted,
}

impl Coverage {
    /// The coverage of the heads that run in a solution; the bed is by default the rectangle around them.
    ///
    /// A head throws its rated radius at its rated pressure and above; below, the radius shrinks with the square root of
    /// the pressure (common practice, no source). An arc without a `facing` points to the middle of the heads of its zone, or
    /// of all places where it is alone, see [`middle_of_arc_deg`].
    ///
    /// Errors: a head that runs without a place or a throw; no head; no ground; no water on it.
    pub fn of(solution: &Solution, bed: Option<Bed>, pattern: Pattern) -> Result<Coverage, CoverageError> {
        let sprays = sprays(solution)?;
        let bed = bed.unwrap_or_else(|| around(&sprays));
        let (width_m, height_m) = (bed.width_m(), bed.height_m());
        let longer_m = width_m.max(height_m);
        let spots = |side_m: f64| ((SPOTS * side_m / longer_m).round() as usize).max(LEAST_SPOTS);
        let coverage = Coverage::sampled(sprays, bed, pattern, spots(width_m), spots(height_m));
        let units = solution.garden.units();
        let accepted = solution.garden.accepted().clone();
        Ok(Coverage { stalled: stalled(solution), units, accepted, ..coverage.map_err(|error| error.in_units(units))? })
    }

    /// The coverage of sprays as its means over `columns` by `rows` equal cells of a bed.
    ///
    /// Errors: as for [`Coverage::of`].
    pub fn sampled(
        sprays: Vec<Spray>,
        bed: Bed,
        pattern: Pattern,
        columns: usize,
        rows: usize,
    ) -> Result<Coverage, CoverageError> {
        let (width_m, height_m) = (bed.width_m(), bed.height_m());
        if sprays.is_empty() {
            return Err(CoverageError::NoHeads);
        }
        if !(width_m > 0.0 && height_m > 0.0 && bed.area_m2().is_finite()) {
            let [width, height] = [width_m, height_m].map(|length_m| Quantity::new(length_m, dim::LENGTH));
            return Err(CoverageError::NoGround { width, height });
        }
        let rates_m_per_s = rates(&sprays, &bed, pattern, (columns, rows));
        let uniformity = Uniformity::of(&rates_m_per_s).ok_or(CoverageError::NoWater)?;
        Ok(Coverage {
            bed,
            sprays,
            pattern,
            columns,
            rows,
            rates_m_per_s,
            uniformity,
            units: UnitSystem::default(),
            stalled: Vec::new(),
            accepted: Accepted::default(),
        })
    }

    /// How long the heads must run until that part of the ground has a depth of water, s.
    ///
    /// Errors: a depth below zero; a driest spot that gets nothing.
    pub fn time_for_s(&self, depth_m: f64, on: CountOn) -> Result<f64, CoverageError> {
        let share = match on {
            CountOn::Mean => 1.0,
            CountOn::LowQuarter => self.uniformity.du,
            CountOn::Driest => self.uniformity.lowest / self.uniformity.mean,
        };
        match (share == 0.0, depth_m < 0.0) {
            (true, _) => Err(CoverageError::NeverWet),
            (_, true) => Err(CoverageError::BelowZero),
            _ => Ok(run_time_s(depth_m, self.uniformity.mean, share)),
        }
    }

    /// The same ground under another pattern. Errors: no water falls on it.
    pub fn with_pattern(&self, pattern: Pattern) -> Result<Coverage, CoverageError> {
        let coverage = Coverage::sampled(self.sprays.clone(), self.bed, pattern, self.columns, self.rows)?;
        Ok(Coverage { stalled: self.stalled.clone(), units: self.units, accepted: self.accepted.clone(), ..coverage })
    }

    /// The middle of a spot by its number in `rates_m_per_s`, m.
    pub fn place_m(&self, index: usize) -> (f64, f64) {
        let place = |from_m: f64, size_m: f64, index: usize, count: usize| from_m + (index as f64 + 0.5) / count as f64 * size_m;
        let (column, row) = (index % self.columns, index / self.columns);
        let x_m = place(self.bed.left_m, self.bed.width_m(), column, self.columns);
        (x_m, place(self.bed.bottom_m, self.bed.height_m(), row, self.rows))
    }

    /// Number of the driest spot; of equal ones the first.
    pub fn driest(&self) -> usize {
        let rates = self.rates_m_per_s.iter().enumerate();
        rates.min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(index, _)| index)
    }

    /// Share of the ground that gets no water at all.
    pub fn bare_share(&self) -> f64 {
        self.rates_m_per_s.iter().filter(|rate| **rate == 0.0).count() as f64 / self.rates_m_per_s.len() as f64
    }

    /// Share of the heads' water that falls on the bed.
    pub fn caught_share(&self) -> f64 {
        let thrown: f64 = self.sprays.iter().map(|spray| spray.flow_m3_per_s).sum();
        (self.uniformity.mean * self.bed.area_m2() / thrown).min(1.0)
    }
}

/// Rate at which a flow waters an area on the mean, m/s: q / A, the total-area method.
pub fn application_rate(flow_m3_per_s: f64, area_m2: f64) -> f64 {
    flow_m3_per_s / area_m2
}

/// How long water must be applied at a rate until the ground has a depth when only a share of it counts, s: d / (share rate).
pub fn run_time_s(depth_m: f64, rate_m_per_s: f64, share: f64) -> f64 {
    depth_m / (share * rate_m_per_s)
}

fn rates(sprays: &[Spray], bed: &Bed, pattern: Pattern, (columns, rows): (usize, usize)) -> Vec<f64> {
    let lines = |from_m: f64, to_m: f64, count: usize| -> Vec<f64> {
        let share = |index: usize| index as f64 / count as f64;
        (0..=count).map(|index| from_m * (1.0 - share(index)) + to_m * share(index)).collect()
    };
    let lattice = Lattice { xs_m: lines(bed.left_m, bed.right_m, columns), ys_m: lines(bed.bottom_m, bed.top_m, rows) };
    let spot_m2 = bed.area_m2() / (columns * rows) as f64;
    let mut rates_m_per_s = vec![0.0; columns * rows];
    for spray in sprays {
        lattice.each_share(spray, pattern, |column, row, share| {
            rates_m_per_s[row * columns + column] += share * spray.flow_m3_per_s / spot_m2;
        });
    }
    rates_m_per_s
}

fn place_of(part: &Part) -> Option<(f64, f64)> {
    part.si(Id::X).zip(part.si(Id::Y))
}

fn sprays(solution: &Solution) -> Result<Vec<Spray>, CoverageError> {
    let parts = solution.garden.parts();
    let places: Vec<(f64, f64)> = parts.iter().filter_map(|part| place_of(part)).collect();
    let count = places.len().max(1) as f64;
    let middle = (places.iter().map(|at| at.0).sum::<f64>() / count, places.iter().map(|at| at.1).sum::<f64>() / count);
    let running = solution.garden.of_spec(Spec::throws).filter(|&place| solution.parts[place].flow_m3_per_s > 0.0);
    running
        .map(|place| {
            let part = &parts[place];
            let unknown = |missing| CoverageError::Unknown { head: solution.garden.name(place).to_string(), missing };
            let (x_m, y_m) = place_of(part).ok_or_else(|| unknown("place"))?;
            let rated_m = part.si(Id::Radius).ok_or_else(|| unknown("throw"))?;
            let pressure_pa = solution.parts[place].pressure_out_pa.unwrap_or(0.0);
            let short = part.si(Id::RadiusPressure).map_or(1.0, |rated_pa| (pressure_pa / rated_pa).min(1.0).sqrt());
            Ok(Spray {
                x_m,
                y_m,
                radius_m: (rated_m * short).max(LEAST_THROW_M),
                arc_deg: part.si(Id::Arc).unwrap_or(360.0),
                middle_deg: middle_of_arc_deg(part, (x_m, y_m), middle_of_zone_m(&solution.garden, place).unwrap_or(middle)),
                flow_m3_per_s: solution.parts[place].flow_m3_per_s,
            })
        })
        .collect()
}

/// Heads that run below the pressure that they need.
fn stalled(solution: &Solution) -> Vec<String> {
    let falls_short =
        |place: &usize| solution.parts[*place].flow_m3_per_s > 0.0 && solution.need_met(*place) == Some(Doing::BelowRange);
    solution.garden.of_spec(Spec::throws).filter(falls_short).map(|place| solution.garden.name(place).to_string()).collect()
}

fn around(sprays: &[Spray]) -> Bed {
    let ends = |value: fn(&Spray) -> f64| {
        let values = || sprays.iter().map(value);
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
    };
    let ((left_m, right_m), (bottom_m, top_m)) = (ends(|spray| spray.x_m), ends(|spray| spray.y_m));
    Bed { left_m, right_m, bottom_m, top_m }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(radius_m: f64, arc_deg: f64) -> Vec<Spray> {
        let at = [(0.0, 0.0, 45.0), (10.0, 0.0, 135.0), (10.0, 10.0, 225.0), (0.0, 10.0, 315.0)];
        at.map(|(x_m, y_m, middle_deg)| Spray { x_m, y_m, radius_m, arc_deg, middle_deg, flow_m3_per_s: 1e-4 }).to_vec()
    }

    const SQUARE: Bed = Bed { left_m: 0.0, right_m: 10.0, bottom_m: 0.0, top_m: 10.0 };

    #[test]
    fn quarter_circles_in_the_corners_keep_all_water_on_the_bed() {
        for (word, pattern) in Pattern::ALL {
            for spots in [4, 60, 61] {
                let coverage = Coverage::sampled(corners(10.0, 90.0), SQUARE, pattern, spots, spots).expect("coverage");
                assert!((coverage.caught_share() - 1.0).abs() < 1e-12, "{word} {spots}: {}", coverage.caught_share());
                assert!((coverage.uniformity.mean / application_rate(4e-4, 100.0) - 1.0).abs() < 1e-12, "{word} {spots}");
                let full = Coverage::sampled(corners(10.0, 360.0), SQUARE, pattern, spots, spots).expect("coverage");
                assert!((full.caught_share() - 0.25).abs() < 1e-12, "{word} {spots}: {}", full.caught_share());
            }
        }
    }

    #[test]
    fn the_mean_does_not_depend_on_the_grid() {
        // A bed beside the lines of the heads, cut by arcs and circles anyhow.
        let bed = Bed { left_m: -1.3, right_m: 7.9, bottom_m: 2.2, top_m: 9.1 };
        for (word, pattern) in Pattern::ALL {
            let mean =
                |spots| Coverage::sampled(corners(6.5, 110.0), bed, pattern, spots, spots).expect("coverage").uniformity.mean;
            assert!((mean(7) / mean(200) - 1.0).abs() < 1e-12, "{word}");
        }
    }

    #[test]
    fn evenness_settles_as_the_grid_grows_finer() {
        for (word, pattern) in Pattern::ALL {
            let at = |spots| Coverage::sampled(corners(8.0, 90.0), SQUARE, pattern, spots, spots).expect("coverage").uniformity;
            let (usual, fine, finest) = (at(60), at(240), at(960));
            for of in [|e: &Uniformity| e.christiansen, |e: &Uniformity| e.du] {
                let (far, near) = ((of(&usual) - of(&finest)).abs(), (of(&fine) - of(&finest)).abs());
                println!("{word}: 60 spots off by {far:.2e}, 240 by {near:.2e}");
                assert!(far < 5e-3 && near < 2e-3, "{word}: {far} {near}");
            }
        }
    }

    #[test]
    fn the_dry_spot_lies_where_no_circle_reaches() {
        let coverage = Coverage::sampled(corners(6.0, 90.0), SQUARE, Pattern::Cone, 41, 41).expect("coverage");
        assert!(coverage.bare_share() > 0.0);
        assert_eq!(coverage.uniformity.lowest, 0.0);
        let only_three = Coverage::sampled(corners(10.0, 90.0)[..3].to_vec(), SQUARE, Pattern::Cone, 40, 40).expect("coverage");
        let (x_m, y_m) = only_three.place_m(only_three.driest());
        assert!(x_m < 1.0 && y_m > 9.0, "{x_m} {y_m}");
    }

    #[test]
    fn nothing_to_water_is_refused() {
        let line = Bed { top_m: 0.0, ..SQUARE };
        assert!(matches!(Coverage::sampled(corners(5.0, 90.0), line, Pattern::Cone, 4, 4), Err(CoverageError::NoGround { .. })));
        let far = Bed { left_m: 100.0, right_m: 110.0, ..SQUARE };
        assert_eq!(Coverage::sampled(corners(5.0, 90.0), far, Pattern::Cone, 4, 4).unwrap_err(), CoverageError::NoWater);
        assert_eq!(Coverage::sampled(Vec::new(), SQUARE, Pattern::Cone, 4, 4).unwrap_err(), CoverageError::NoHeads);
    }
}
