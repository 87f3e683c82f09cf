//! The water of all heads over a bed.

use super::falling::{Lattice, share_on};
use super::flight::USUAL_ANGLE_DEG;
use super::ground::{Bed, Ground, GroundError, Outline, Piece};
use super::raster::Raster;
use super::spray::{Pattern, Spray, USUAL_RISER_M, middle_of_arc_deg};
use super::uniformity::Uniformity;
use super::wind::{Cells, Wind, blow};
use super::zone::middle_of_zone_m;
use crate::garden::Accepted;
use crate::hydraulics::{Doing, Solution};
use crate::parts::{Id, Part, Spec};
use crate::quantity::{Quantity, UnitSystem, dim};
use crate::told::Told;
use crate::unit_system::units_of_texts;
use std::sync::Arc;
use thiserror::Error;

/// Spots along the longer side of a bed.
const SPOTS: f64 = 60.0;
/// Spots along the shorter one at least.
const LEAST_SPOTS: usize = 4;
/// Values this near to each other, as a share of the highest one, differ by rounding.
const SAME_SHARE: f64 = 1e-9;
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
    /// Beds or obstacles are none.
    #[error("coverage: {0}")]
    Ground(GroundError),
    /// A wind without a speed or a bearing.
    #[error("wind: its speed must be zero or more, and its bearing a number of degrees")]
    NoWind,
    /// All spots of the bed stay dry.
    #[error("coverage: no water falls on the bed")]
    NoWater,
    /// The time that dry ground needs is without end.
    #[error("run_time_for: the ground that counts gets no water")]
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
            CoverageError::Ground(GroundError::Crossing { first, second, x, y }) => {
                let [x, y] = [x, y].map(|length| units.quantity(length.si, dim::LENGTH));
                CoverageError::Ground(GroundError::Crossing { first, second, x, y })
            }
            other => other,
        }
    }
}

impl Told for CoverageError {
    fn hint(&self) -> Option<String> {
        if let CoverageError::Ground(error) = self {
            return error.hint();
        }
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
                CoverageError::NoWind | CoverageError::Ground(_) => pick(
                    "give speed and the bearing it blows from, as in .wind(6.mph, 270)",
                    "give speed and the bearing it blows from, as in .wind(3.m_per_s, 270)",
                ),
                CoverageError::NeverWet => "use the \"low quarter\", or move a head",
                CoverageError::BelowZero => pick("give it as in 1.inch", "give it as in 25.mm"),
                CoverageError::NoWater => "give the bed in the same coordinates as .at(x, y) of the heads",
            }
            .into(),
        )
    }
}

/// A grid over ground.
#[derive(Clone, Debug)]
pub struct Grid {
    /// What is to be watered.
    pub ground: Ground,
    /// Cells from left to right.
    pub columns: usize,
    /// Cells from bottom to top.
    pub rows: usize,
    lattice: Lattice,
    /// Which share of each cell is ground; none where all of them are.
    shares: Option<Vec<f64>>,
    pieces: Vec<Piece>,
}

impl Grid {
    /// `columns` by `rows` equal cells of the rectangle around ground.
    ///
    /// Errors: ground without width or height.
    pub fn new(ground: Ground, columns: usize, rows: usize) -> Result<Grid, CoverageError> {
        let frame = ground.frame();
        let (width_m, height_m) = (frame.width_m(), frame.height_m());
        if !(width_m > 0.0 && height_m > 0.0 && frame.area_m2().is_finite()) {
            let [width, height] = [width_m, height_m].map(|length_m| Quantity::new(length_m, dim::LENGTH));
            return Err(CoverageError::NoGround { width, height });
        }
        let lines = |from_m: f64, to_m: f64, count: usize| -> Vec<f64> {
            let share = |index: usize| index as f64 / count as f64;
            (0..=count).map(|index| from_m * (1.0 - share(index)) + to_m * share(index)).collect()
        };
        let (xs_m, ys_m) = (lines(frame.left_m, frame.right_m, columns), lines(frame.bottom_m, frame.top_m, rows));
        let (shares, pieces) = match ground.is_rectangle() {
            true => (None, Vec::new()),
            false => {
                let (shares, pieces) = ground.on_grid(&xs_m, &ys_m);
                (Some(shares), pieces)
            }
        };
        Ok(Grid { ground, columns, rows, lattice: Lattice { xs_m, ys_m }, shares, pieces })
    }

    /// The usual grid: `SPOTS` cells along the longer side. Errors: as for [`Grid::new`].
    pub fn usual(ground: Ground) -> Result<Grid, CoverageError> {
        let (width_m, height_m) = (ground.frame().width_m(), ground.frame().height_m());
        let longer_m = width_m.max(height_m);
        let spots = |side_m: f64| ((SPOTS * side_m / longer_m).round() as usize).max(LEAST_SPOTS);
        let (columns, rows) = (spots(width_m), spots(height_m));
        Grid::new(ground, columns, rows)
    }

    /// The middle of a cell by its number, m; x runs fastest, from the left and from the bottom.
    pub fn place_m(&self, index: usize) -> (f64, f64) {
        let middle = |lines: &[f64], index: usize| 0.5 * (lines[index] + lines[index + 1]);
        (middle(&self.lattice.xs_m, index % self.columns), middle(&self.lattice.ys_m, index / self.columns))
    }

    /// The cell at a place; none outside of the frame.
    pub fn cell_at(&self, (x_m, y_m): (f64, f64)) -> Option<usize> {
        let cell = |lines: &[f64], at: f64| {
            let inside = at >= lines[0] && at <= lines[lines.len() - 1];
            inside.then(|| lines.partition_point(|line| *line <= at).saturating_sub(1).min(lines.len() - 2))
        };
        Some(cell(&self.lattice.ys_m, y_m)? * self.columns + cell(&self.lattice.xs_m, x_m)?)
    }

    /// Which share of a cell is ground.
    pub fn share_of(&self, cell: usize) -> f64 {
        self.shares.as_ref().map_or(1.0, |shares| shares[cell])
    }

    /// Cells with ground, by their numbers.
    pub fn cells(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.columns * self.rows).filter(|cell| self.share_of(*cell) > 0.0)
    }

    /// How even values of the cells are over the ground; none without water.
    pub fn uniformity(&self, values: &[f64]) -> Option<Uniformity> {
        match &self.shares {
            None => Uniformity::of(values),
            Some(shares) => Uniformity::of_ground(values, shares),
        }
    }

    /// The cell with ground that has the least value; of those that are equal but for rounding the first.
    pub fn lowest(&self, values: &[f64]) -> usize {
        let ends =
            self.cells().fold((f64::INFINITY, 0.0_f64), |(low, high), cell| (low.min(values[cell]), high.max(values[cell])));
        self.cells().find(|cell| values[*cell] <= ends.0 + SAME_SHARE * ends.1).unwrap_or(0)
    }

    /// Share of the ground on which a value is zero.
    pub fn zero_share(&self, values: &[f64]) -> f64 {
        let sum = |zero: bool| -> f64 {
            self.cells().filter(|cell| !zero || values[*cell] == 0.0).map(|cell| self.share_of(cell)).sum()
        };
        sum(true) / sum(false)
    }

    fn cell_m2(&self) -> f64 {
        self.ground.frame().area_m2() / (self.columns * self.rows) as f64
    }

    /// Rates of heads in calm air, m/s, from exact integrals over the ground of each cell.
    fn calm_rates(&self, sprays: &[Spray], pattern: Pattern) -> Vec<f64> {
        let cell_m2 = self.cell_m2();
        let mut rates_m_per_s = vec![0.0; self.columns * self.rows];
        for spray in sprays {
            self.lattice.each_share(spray, pattern, |column, row, share| {
                rates_m_per_s[row * self.columns + column] += share * spray.flow_m3_per_s / cell_m2;
            });
        }
        for piece in &self.pieces {
            rates_m_per_s[piece.row * self.columns + piece.column] = 0.0;
        }
        for piece in &self.pieces {
            let cell = piece.row * self.columns + piece.column;
            for spray in sprays.iter().filter(|spray| spray.may_reach(&piece.corners)) {
                let ground_m2 = self.share_of(cell) * cell_m2;
                rates_m_per_s[cell] += share_on(spray, pattern, &piece.corners) * spray.flow_m3_per_s / ground_m2;
            }
        }
        // Cones of which measured profiles are made take water away where these are hollow.
        rates_m_per_s.iter_mut().for_each(|rate| *rate = rate.max(0.0));
        rates_m_per_s
    }

    /// Rates of heads in wind, m/s, and the mean way of all their water, m.
    fn windy_rates(&self, sprays: &[Spray], pattern: Pattern, wind: &Wind) -> (Vec<f64>, (f64, f64)) {
        let frame = self.ground.frame();
        let cells = Cells {
            left_m: frame.left_m,
            bottom_m: frame.bottom_m,
            width_m: frame.width_m() / self.columns as f64,
            height_m: frame.height_m() / self.rows as f64,
        };
        let mut raster = Raster::new(self.columns, self.rows);
        let all: f64 = sprays.iter().map(|spray| spray.flow_m3_per_s).sum();
        let mut shift_m = (0.0, 0.0);
        for spray in crate::limits::while_going_on(sprays.iter()) {
            let way = blow(spray, spray.profile(pattern), wind, cells, &mut raster);
            let part = spray.flow_m3_per_s / all;
            shift_m = (shift_m.0 + part * way.0, shift_m.1 + part * way.1);
        }
        let cell_m2 = self.cell_m2();
        (raster.amounts().into_iter().map(|flow| flow / cell_m2).collect(), shift_m)
    }
}

/// What is known of a head that waters, beside its spray.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadState {
    /// Its name.
    pub name: String,
    /// Its working pressure, gauge, Pa.
    pub pressure_pa: f64,
    /// The ends of its operating range, as they were given.
    pub range: [Option<Quantity>; 2],
    /// The least pressure at which its throw was measured, Pa.
    pub least_throw_pa: Option<f64>,
}

/// Rates all over a bed.
#[derive(Clone, Debug)]
pub struct Coverage {
    /// The ground on which coverage is computed, with its cells.
    pub grid: Arc<Grid>,
    /// What each head in range throws, also where it falls outside the bed.
    pub sprays: Vec<Spray>,
    /// Names and pressures of these heads; empty where sprays did not come from a garden.
    pub heads: Vec<HeadState>,
    /// How the application rate of every head falls with distance that nobody measured.
    pub pattern: Pattern,
    /// The wind in which the water falls; none in calm air.
    pub wind: Option<Wind>,
    /// The mean way that the wind takes the water, m.
    pub shift_m: (f64, f64),
    /// Mean rates of the cells, m/s; zero where there is no ground to water.
    pub rates_m_per_s: Vec<f64>,
    /// How even the rates are over the ground; mean, lowest and highest in m/s.
    pub uniformity: Uniformity,
    /// The units in which the garden of the heads was given.
    pub units: UnitSystem,
    /// Names of heads that get less pressure than they need: nothing here is theirs.
    pub stalled: Vec<String>,
    /// The findings that the owner of the garden has accepted.
    pub accepted: Accepted,
}

/// Where coverage is computed.
enum On {
    AroundHeads,
    Ground(Ground),
    Grid(Arc<Grid>),
}

impl Coverage {
    /// The coverage of the heads that run in a solution on a rectangle, see [`Coverage::on`].
    pub fn of(solution: &Solution, bed: Option<Bed>, pattern: Pattern) -> Result<Coverage, CoverageError> {
        Coverage::on(solution, bed.map(Ground::from), pattern)
    }

    /// The coverage of the heads that run in a solution; the ground is by default the rectangle around them.
    ///
    /// A head throws as [`Part::throw_m`] says for its pressure. One below its operating range waters nothing: it stands still or throws a
    /// ring. An arc without a `facing` points to the middle of the heads of its zone, or of all places where it is alone, see
    /// [`middle_of_arc_deg`].
    ///
    /// Errors: a head that runs without a place or a throw; no head; no ground; no water on it.
    pub fn on(solution: &Solution, ground: Option<Ground>, pattern: Pattern) -> Result<Coverage, CoverageError> {
        let units = solution.garden.units();
        let place = ground.map_or(On::AroundHeads, On::Ground);
        Coverage::of_running(solution, place, pattern).map_err(|error| error.in_units(units))
    }

    /// The same on a grid that several coverages share. Errors: as for [`Coverage::on`].
    pub fn on_grid(solution: &Solution, grid: Arc<Grid>, pattern: Pattern) -> Result<Coverage, CoverageError> {
        Coverage::of_running(solution, On::Grid(grid), pattern)
    }

    fn of_running(solution: &Solution, place: On, pattern: Pattern) -> Result<Coverage, CoverageError> {
        let Running { sprays, heads, stalled, places } = running(solution)?;
        let grid = match place {
            On::Grid(grid) => grid,
            On::Ground(ground) => Arc::new(Grid::usual(ground)?),
            On::AroundHeads => Arc::new(Grid::usual(Ground::from(around(&places)))?),
        };
        let coverage = Coverage::fallen(sprays, grid, pattern, None, !stalled.is_empty())?;
        let (units, accepted) = (solution.garden.units(), solution.garden.accepted().clone());
        Ok(Coverage { heads, stalled, units, accepted, ..coverage })
    }

    /// The coverage of sprays as its means over `columns` by `rows` equal cells of ground.
    ///
    /// Errors: as for [`Coverage::on`].
    pub fn sampled(
        sprays: Vec<Spray>,
        ground: impl Into<Ground>,
        pattern: Pattern,
        columns: usize,
        rows: usize,
    ) -> Result<Coverage, CoverageError> {
        Coverage::fallen(sprays, Arc::new(Grid::new(ground.into(), columns, rows)?), pattern, None, false)
    }

    /// Where all heads that run stall, the ground is dry and nothing is even.
    fn fallen(
        sprays: Vec<Spray>,
        grid: Arc<Grid>,
        pattern: Pattern,
        wind: Option<Wind>,
        some_stall: bool,
    ) -> Result<Coverage, CoverageError> {
        if sprays.is_empty() && !some_stall {
            return Err(CoverageError::NoHeads);
        }
        let (rates_m_per_s, shift_m) = match &wind {
            None => (grid.calm_rates(&sprays, pattern), (0.0, 0.0)),
            Some(wind) => grid.windy_rates(&sprays, pattern, wind),
        };
        let dry = sprays.is_empty().then_some(Uniformity::DRY);
        let uniformity = grid.uniformity(&rates_m_per_s).or(dry).ok_or(CoverageError::NoWater)?;
        Ok(Coverage {
            grid,
            sprays,
            heads: Vec::new(),
            pattern,
            wind,
            shift_m,
            rates_m_per_s,
            uniformity,
            units: UnitSystem::default(),
            stalled: Vec::new(),
            accepted: Accepted::default(),
        })
    }

    /// The same heads on another grid, with another pattern or in another wind.
    fn again(&self, grid: Arc<Grid>, pattern: Pattern, wind: Option<Wind>) -> Result<Coverage, CoverageError> {
        let coverage = Coverage::fallen(self.sprays.clone(), grid, pattern, wind, !self.stalled.is_empty())?;
        let (heads, stalled, accepted) = (self.heads.clone(), self.stalled.clone(), self.accepted.clone());
        Ok(Coverage { heads, stalled, units: self.units, accepted, ..coverage })
    }

    /// The same ground under another pattern. Errors: no water falls on it.
    pub fn with_pattern(&self, pattern: Pattern) -> Result<Coverage, CoverageError> {
        self.again(self.grid.clone(), pattern, self.wind)
    }

    /// The same heads in wind, or in calm air. Errors: a speed or bearing that is none; no water falls on the bed.
    pub fn in_wind(&self, wind: Option<Wind>) -> Result<Coverage, CoverageError> {
        if let Some(Wind { speed_m_per_s, from_deg }) = wind
            && !(speed_m_per_s >= 0.0 && speed_m_per_s.is_finite() && from_deg.is_finite())
        {
            return Err(CoverageError::NoWind);
        }
        self.again(self.grid.clone(), self.pattern, wind.filter(|wind| wind.speed_m_per_s > 0.0))
    }

    /// The same beds with what takes no water on them. Errors: nothing is left of them, or no water falls on the rest.
    pub fn without(&self, obstacles: impl IntoIterator<Item = Outline>) -> Result<Coverage, CoverageError> {
        let ground = self.grid.ground.without(obstacles).map_err(CoverageError::Ground)?;
        let grid = Grid::new(ground, self.grid.columns, self.grid.rows)?;
        self.again(Arc::new(grid), self.pattern, self.wind)
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
        match (share == 0.0 || self.uniformity.mean == 0.0, depth_m < 0.0) {
            (true, _) => Err(CoverageError::NeverWet),
            (_, true) => Err(CoverageError::BelowZero),
            _ => Ok(run_time_s(depth_m, self.uniformity.mean, share)),
        }
    }

    /// Ground that is to be watered, m2.
    pub fn area_m2(&self) -> f64 {
        self.grid.ground.area_m2()
    }

    /// The rate at a place, m/s: in calm air exactly there, in wind the mean of its cell; none outside of the grid in wind.
    pub fn rate_at(&self, (x_m, y_m): (f64, f64)) -> Option<f64> {
        match self.wind {
            None => Some(self.sprays.iter().map(|spray| spray.rate_at(self.pattern, x_m, y_m)).sum()),
            Some(_) => self.grid.cell_at((x_m, y_m)).map(|cell| self.rates_m_per_s[cell]),
        }
    }

    /// The middle of a cell by its number in `rates_m_per_s`, m.
    pub fn place_m(&self, index: usize) -> (f64, f64) {
        self.grid.place_m(index)
    }

    /// Number of the driest cell; of equal ones the first.
    pub fn driest(&self) -> usize {
        self.grid.lowest(&self.rates_m_per_s)
    }

    /// Share of the ground that gets no water at all.
    pub fn bare_share(&self) -> f64 {
        self.grid.zero_share(&self.rates_m_per_s)
    }

    /// Share of the heads' water that falls on the bed.
    pub fn caught_share(&self) -> f64 {
        let thrown: f64 = self.sprays.iter().map(|spray| spray.flow_m3_per_s).sum();
        if thrown > 0.0 { (self.uniformity.mean * self.area_m2() / thrown).min(1.0) } else { 0.0 }
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

fn place_of(part: &Part) -> Option<(f64, f64)> {
    part.si(Id::X).zip(part.si(Id::Y))
}

/// The heads that run.
struct Running {
    sprays: Vec<Spray>,
    heads: Vec<HeadState>,
    stalled: Vec<String>,
    /// Where all of them stand, also those that stall.
    places: Vec<(f64, f64)>,
}

fn running(solution: &Solution) -> Result<Running, CoverageError> {
    let parts = solution.garden.parts();
    let placed: Vec<(f64, f64)> = parts.iter().filter_map(|part| place_of(part)).collect();
    let count = placed.len().max(1) as f64;
    let middle = (placed.iter().map(|at| at.0).sum::<f64>() / count, placed.iter().map(|at| at.1).sum::<f64>() / count);
    let mut found = Running { sprays: Vec::new(), heads: Vec::new(), stalled: Vec::new(), places: Vec::new() };
    for place in solution.garden.of_spec(Spec::throws).filter(|&place| solution.parts[place].flow_m3_per_s > 0.0) {
        let part = &parts[place];
        let name = solution.garden.name(place).to_string();
        let unknown = |missing| CoverageError::Unknown { head: name.clone(), missing };
        let (x_m, y_m) = place_of(part).ok_or_else(|| unknown("place"))?;
        let pressure_pa = solution.parts[place].pressure_out_pa.unwrap_or(0.0);
        let radius_m = part.throw_m(pressure_pa).ok_or_else(|| unknown("throw"))?;
        found.places.push((x_m, y_m));
        if solution.need_met(place) == Some(Doing::BelowRange) {
            found.stalled.push(name);
            continue;
        }
        found.sprays.push(Spray {
            x_m,
            y_m,
            radius_m: radius_m.max(LEAST_THROW_M),
            arc_deg: part.si(Id::Arc).unwrap_or(360.0),
            middle_deg: middle_of_arc_deg(part, (x_m, y_m), middle_of_zone_m(&solution.garden, place).unwrap_or(middle)),
            flow_m3_per_s: solution.parts[place].flow_m3_per_s,
            pressure_pa: part.at_nozzle_pa(pressure_pa),
            trajectory_deg: part.si(Id::Trajectory).unwrap_or(USUAL_ANGLE_DEG),
            riser_m: part.si(Id::Riser).unwrap_or(USUAL_RISER_M),
            measured: part.profile().cloned(),
        });
        let range = [part.quantity(Id::RangeLow), part.quantity(Id::RangeHigh)];
        found.heads.push(HeadState { name, pressure_pa, range, least_throw_pa: part.least_throw_pressure_pa() });
    }
    Ok(found)
}

fn around(places: &[(f64, f64)]) -> Bed {
    let ends = |value: fn(&(f64, f64)) -> f64| {
        let values = || places.iter().map(value);
        (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
    };
    let ((left_m, right_m), (bottom_m, top_m)) = (ends(|at| at.0), ends(|at| at.1));
    Bed { left_m, right_m, bottom_m, top_m }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(radius_m: f64, arc_deg: f64) -> Vec<Spray> {
        let at = [(0.0, 0.0, 45.0), (10.0, 0.0, 135.0), (10.0, 10.0, 225.0), (0.0, 10.0, 315.0)];
        at.map(|(x_m, y_m, middle_deg)| Spray {
            x_m,
            y_m,
            radius_m,
            arc_deg,
            middle_deg,
            flow_m3_per_s: 1e-4,
            ..Spray::default()
        })
        .to_vec()
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
    fn a_triangle_and_what_stands_on_it_catch_what_falls_there() {
        // The heads in opposite corners throw quarters of which half falls on each side of the diagonal.
        let triangle = Outline::new(vec![(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]).expect("an outline");
        let ground = Ground::new(vec![triangle], Vec::new()).expect("ground");
        for (word, pattern) in Pattern::ALL {
            let found = Coverage::sampled(corners(10.0, 90.0), ground.clone(), pattern, 33, 33).expect("coverage");
            assert!((found.caught_share() - 0.5).abs() < 1e-12, "{word}: {}", found.caught_share());
            assert!((found.area_m2() - 50.0).abs() < 1e-12);
            let shed = Outline::new(vec![(5.0, 0.0), (10.0, 0.0), (10.0, 5.0), (5.0, 5.0)]).expect("an outline");
            let left = found.without([shed]).expect("coverage");
            let square = Bed { left_m: 5.0, right_m: 10.0, bottom_m: 0.0, top_m: 5.0 };
            let on_shed = Coverage::sampled(corners(10.0, 90.0), square, pattern, 9, 9).expect("coverage").caught_share();
            assert!((left.caught_share() + on_shed - 0.5).abs() < 1e-12, "{word}");
        }
    }

    #[test]
    fn a_breath_of_wind_is_nearly_calm_and_a_breeze_moves_water_off_the_bed() {
        let bed = Bed { left_m: -0.5, right_m: 10.4, bottom_m: 0.2, top_m: 10.3 };
        for (word, pattern) in Pattern::ALL {
            let calm = Coverage::sampled(corners(9.0, 110.0), bed, pattern, 60, 60).expect("coverage");
            let wind = |speed_m_per_s: f64| calm.in_wind(Some(Wind { speed_m_per_s, from_deg: 270.0 })).expect("coverage");
            let breath = wind(1e-3);
            assert!((breath.uniformity.mean / calm.uniformity.mean - 1.0).abs() < 2e-3, "{word}");
            assert!((breath.uniformity.christiansen - calm.uniformity.christiansen).abs() < 0.02, "{word}");
            assert!((breath.uniformity.du - calm.uniformity.du).abs() < 0.02, "{word}");
            let breeze = wind(4.0);
            assert!(breeze.shift_m.0 > 1.0 && breeze.shift_m.1.abs() < 0.05, "{word}: {:?}", breeze.shift_m);
            assert!(breeze.caught_share() < calm.caught_share() - 0.02, "{word}");
            let back = breeze.in_wind(None).expect("coverage");
            assert_eq!(back.rates_m_per_s, calm.rates_m_per_s);
        }
        let calm = Coverage::sampled(corners(6.5, 90.0), bed, Pattern::Cone, 9, 9).expect("coverage");
        assert_eq!(calm.in_wind(Some(Wind { speed_m_per_s: -1.0, from_deg: 0.0 })).unwrap_err(), CoverageError::NoWind);
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
