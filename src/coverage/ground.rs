//! Ground that is to be watered: beds of any outline, without the obstacles on them.
//!
//! Beds and obstacles may touch and overlap: a slab between two heights in which no edges cross falls into trapezoids, each inside or
//! outside; all of them together are the ground. Knows no heads.

use crate::quantity::{Quantity, dim};
use crate::told::Told;
use crate::unit_system::example;
use thiserror::Error;

/// Corners of all beds and obstacles at most: every pair of sides is looked at.
pub const MOST_CORNERS: usize = 2000;
/// Share of the extent below which two heights are one.
const SAME_HEIGHT: f64 = 1e-12;
/// Share of a cell that is rounding.
const ROUNDING: f64 = 1e-9;

/// Why an outline is none; sides and corners count from 1.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum GroundError {
    /// Fewer corners than a triangle has.
    #[error("an outline needs three corners at least, found {found}")]
    FewCorners {
        /// How many there are.
        found: usize,
    },
    /// A corner that is infinite or not a number.
    #[error("corner {corner} of the outline is not a place")]
    NoPlace {
        /// Which corner.
        corner: usize,
    },
    /// Two sides cross or touch.
    #[error("the outline crosses itself: side {first} meets side {second} at x {x}, y {y}")]
    Crossing {
        /// The side from that corner to the next.
        first: usize,
        /// The other one.
        second: usize,
        /// Where they meet.
        x: Quantity,
        /// Where they meet.
        y: Quantity,
    },
    /// All corners lie on a line.
    #[error("the outline encloses no ground: its corners lie on a line")]
    Flat,
    /// More corners than are looked at.
    #[error("beds and obstacles have {found} corners; at most {MOST_CORNERS} are allowed")]
    ManyCorners {
        /// How many there are.
        found: usize,
    },
    /// Obstacles cover all of it.
    #[error("obstacles cover all beds: no ground is left to water")]
    Covered,
}

impl Told for GroundError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            GroundError::Crossing { .. } => "give the corners in order, once around the bed".into(),
            GroundError::ManyCorners { .. } => "leave out corners that change the outline little".into(),
            GroundError::Covered => "give the obstacles in the same coordinates as the beds".into(),
            _ => example(
                "give the corners in order, as in [[0.ft, 0.ft], [30.ft, 0.ft], [30.ft, 20.ft]]",
                "give the corners in order, as in [[0.m, 0.m], [9.m, 0.m], [9.m, 6.m]]",
            ),
        })
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

    /// Its corners, counterclockwise.
    fn corners(&self) -> Vec<(f64, f64)> {
        vec![(self.left_m, self.bottom_m), (self.right_m, self.bottom_m), (self.right_m, self.top_m), (self.left_m, self.top_m)]
    }
}

/// The outline of a bed or an obstacle: corners in order, without crossings.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    corners: Vec<(f64, f64)>,
}

impl Outline {
    /// Corners in order, m; the last side leads back to the first corner. A first corner given again at the end is left out.
    ///
    /// Errors: fewer than three corners, sides that cross or touch, corners on a line.
    pub fn new(mut corners: Vec<(f64, f64)>) -> Result<Outline, GroundError> {
        if let Some(index) = corners.iter().position(|(x, y)| !(x.is_finite() && y.is_finite())) {
            return Err(GroundError::NoPlace { corner: index + 1 });
        }
        corners.dedup();
        if corners.len() > 1 && corners.first() == corners.last() {
            corners.pop();
        }
        let found = corners.len();
        if found < 3 {
            return Err(GroundError::FewCorners { found });
        }
        if found > MOST_CORNERS {
            return Err(GroundError::ManyCorners { found });
        }
        let outline = Outline { corners };
        let (width, height) = (outline.frame().width_m(), outline.frame().height_m());
        if outline.signed_area_m2().abs() <= SAME_HEIGHT * (width * width + height * height) {
            return Err(GroundError::Flat);
        }
        outline.crossing().map_or(Ok(outline), Err)
    }

    /// Its corners in order, m.
    pub fn corners(&self) -> &[(f64, f64)] {
        &self.corners
    }

    fn sides(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
        let next = self.corners.iter().cycle().skip(1);
        self.corners.iter().copied().zip(next.copied())
    }

    fn signed_area_m2(&self) -> f64 {
        signed_area(&self.corners)
    }

    /// The first two sides that are not neighbors and meet.
    fn crossing(&self) -> Option<GroundError> {
        let sides: Vec<_> = self.sides().collect();
        for (first, one) in sides.iter().enumerate() {
            for (second, other) in sides.iter().enumerate().skip(first + 1) {
                let apart = second - first > 1 && !(first == 0 && second == sides.len() - 1);
                let meet = if apart { meeting(*one, *other) } else { folded(*one, *other, first == 0 && second > 1) };
                if let Some((x_m, y_m)) = meet {
                    let [x, y] = [x_m, y_m].map(|length_m| Quantity::new(length_m, dim::LENGTH));
                    return Some(GroundError::Crossing { first: first + 1, second: second + 1, x, y });
                }
            }
        }
        None
    }

    /// The least rectangle around it.
    pub fn frame(&self) -> Bed {
        frame(self.corners.iter().copied())
    }
}

fn frame(places: impl Iterator<Item = (f64, f64)>) -> Bed {
    let none = Bed { left_m: f64::INFINITY, right_m: f64::NEG_INFINITY, bottom_m: f64::INFINITY, top_m: f64::NEG_INFINITY };
    places.fold(none, |bed, (x, y)| Bed {
        left_m: bed.left_m.min(x),
        right_m: bed.right_m.max(x),
        bottom_m: bed.bottom_m.min(y),
        top_m: bed.top_m.max(y),
    })
}

/// Area of an outline, above zero where it runs counterclockwise.
pub fn signed_area(corners: &[(f64, f64)]) -> f64 {
    let Some(&first) = corners.first() else { return 0.0 };
    let from = |(x, y): (f64, f64)| (x - first.0, y - first.1);
    let turns = corners.windows(2).map(|pair| (from(pair[0]), from(pair[1]))).map(|(a, b)| a.0 * b.1 - a.1 * b.0);
    0.5 * turns.sum::<f64>()
}

type Place = (f64, f64);

fn turn(a: Place, b: Place, c: Place) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// Where two lines between places meet, ends included.
fn meeting((a, b): (Place, Place), (c, d): (Place, Place)) -> Option<Place> {
    let (of_c, of_d, of_a, of_b) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    let between =
        |p: Place, q: Place, r: Place| r.0 >= p.0.min(q.0) && r.0 <= p.0.max(q.0) && r.1 >= p.1.min(q.1) && r.1 <= p.1.max(q.1);
    let ends = [(of_c, a, b, c), (of_d, a, b, d), (of_a, c, d, a), (of_b, c, d, b)];
    if let Some(&(_, _, _, at)) = ends.iter().find(|(turned, p, q, r)| *turned == 0.0 && between(*p, *q, *r)) {
        return Some(at);
    }
    if (of_c > 0.0) == (of_d > 0.0) || (of_a > 0.0) == (of_b > 0.0) {
        return None;
    }
    let share = of_a / (of_a - of_b);
    Some((a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1)))
}

/// Where two neighboring sides run back over each other; `last` when the second leads to the begin of the first.
fn folded(one: (Place, Place), other: (Place, Place), last: bool) -> Option<Place> {
    let (shared, a, b) = if last { (one.0, one.1, other.0) } else { (one.1, one.0, other.1) };
    let along = (a.0 - shared.0) * (b.0 - shared.0) + (a.1 - shared.1) * (b.1 - shared.1);
    (turn(shared, a, b) == 0.0 && along > 0.0).then_some(shared)
}

/// A part of the ground between two heights: corners counterclockwise from the lower left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trapezoid(pub [Place; 4]);

/// Beds without the obstacles on them.
#[derive(Clone, Debug, PartialEq)]
pub struct Ground {
    /// The beds; ground that two of them share counts once.
    pub beds: Vec<Outline>,
    /// What takes no water: sheds, paths, ponds.
    pub obstacles: Vec<Outline>,
    frame: Bed,
    /// The ground is the whole frame.
    plain: bool,
    trapezoids: Vec<Trapezoid>,
}

/// A cell of a grid of which only a part is ground.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Column of the cell.
    pub column: usize,
    /// Row of the cell.
    pub row: usize,
    /// A convex outline within the cell, m.
    pub corners: Vec<Place>,
}

impl From<Bed> for Ground {
    fn from(bed: Bed) -> Ground {
        Ground {
            beds: vec![Outline { corners: bed.corners() }],
            obstacles: Vec::new(),
            frame: bed,
            plain: true,
            trapezoids: vec![Trapezoid([bed.corners()[0], bed.corners()[1], bed.corners()[2], bed.corners()[3]])],
        }
    }
}

impl Ground {
    /// Beds and what takes no water on them.
    ///
    /// Errors: no bed, too many corners, no ground that is left.
    pub fn new(beds: Vec<Outline>, obstacles: Vec<Outline>) -> Result<Ground, GroundError> {
        let found = beds.iter().chain(&obstacles).map(|outline| outline.corners.len()).sum();
        if found > MOST_CORNERS {
            return Err(GroundError::ManyCorners { found });
        }
        if beds.is_empty() {
            return Err(GroundError::FewCorners { found: 0 });
        }
        let frame = frame(beds.iter().flat_map(|bed| bed.corners.iter().copied()));
        let trapezoids = trapezoids(&beds, &obstacles, &frame);
        let mut ground = Ground { beds, obstacles, frame, plain: false, trapezoids };
        let area_m2 = ground.area_m2();
        if area_m2 <= ROUNDING * frame.area_m2() {
            return Err(GroundError::Covered);
        }
        ground.plain = (area_m2 / frame.area_m2() - 1.0).abs() < ROUNDING;
        Ok(ground)
    }

    /// The same beds with more obstacles. Errors: as for [`Ground::new`].
    pub fn without(&self, obstacles: impl IntoIterator<Item = Outline>) -> Result<Ground, GroundError> {
        Ground::new(self.beds.clone(), self.obstacles.iter().cloned().chain(obstacles).collect())
    }

    /// The rectangle around all beds.
    pub fn frame(&self) -> Bed {
        self.frame
    }

    /// True when the ground is the whole frame.
    pub fn is_rectangle(&self) -> bool {
        self.plain
    }

    /// Ground that is to be watered, m2.
    pub fn area_m2(&self) -> f64 {
        self.trapezoids.iter().map(|trapezoid| signed_area(&trapezoid.0)).sum()
    }

    /// True for a place on a bed and on no obstacle.
    pub fn holds(&self, at: Place) -> bool {
        self.trapezoids.iter().any(|Trapezoid([a, b, c, d])| {
            [(a, b), (b, c), (c, d), (d, a)].iter().all(|(from, to)| turn(**from, **to, at) >= 0.0)
        })
    }

    /// Which share of each cell of a grid is ground, row by row from the bottom, and the pieces of those cells that are ground in part.
    pub fn on_grid(&self, xs_m: &[f64], ys_m: &[f64]) -> (Vec<f64>, Vec<Piece>) {
        let (columns, rows) = (xs_m.len() - 1, ys_m.len() - 1);
        let mut shares = vec![0.0; columns * rows];
        let mut pieces = Vec::new();
        for Trapezoid(corners) in &self.trapezoids {
            let around = frame(corners.iter().copied());
            let first = |lines: &[f64], from: f64| lines.partition_point(|line| *line <= from).saturating_sub(1);
            let end = |lines: &[f64], to: f64| lines.partition_point(|line| *line < to).min(lines.len() - 1);
            for row in first(ys_m, around.bottom_m)..end(ys_m, around.top_m) {
                for column in first(xs_m, around.left_m)..end(xs_m, around.right_m) {
                    let cell = Bed { left_m: xs_m[column], right_m: xs_m[column + 1], bottom_m: ys_m[row], top_m: ys_m[row + 1] };
                    let corners = clipped(corners, &cell);
                    let share = signed_area(&corners) / cell.area_m2();
                    if share > ROUNDING {
                        shares[row * columns + column] += share;
                        pieces.push(Piece { column, row, corners });
                    }
                }
            }
        }
        for share in &mut shares {
            if *share > 1.0 - ROUNDING {
                *share = 1.0;
            }
        }
        pieces.retain(|piece| shares[piece.row * columns + piece.column] < 1.0);
        (shares, pieces)
    }
}

/// The part of a convex outline within a rectangle.
fn clipped(corners: &[Place], bed: &Bed) -> Vec<Place> {
    let mut found = corners.to_vec();
    let sides: [(bool, f64, f64); 4] =
        [(true, bed.left_m, 1.0), (true, bed.right_m, -1.0), (false, bed.bottom_m, 1.0), (false, bed.top_m, -1.0)];
    for (upright, line, sign) in sides {
        let inward = |at: Place| sign * (if upright { at.0 } else { at.1 } - line);
        let mut kept = Vec::with_capacity(found.len() + 1);
        for (index, &at) in found.iter().enumerate() {
            let before = found[(index + found.len() - 1) % found.len()];
            let (was, is) = (inward(before), inward(at));
            if (was > 0.0 && is < 0.0) || (was < 0.0 && is > 0.0) {
                let share = was / (was - is);
                let crossed = (before.0 + share * (at.0 - before.0), before.1 + share * (at.1 - before.1));
                kept.push(if upright { (line, crossed.1) } else { (crossed.0, line) });
            }
            if is >= 0.0 {
                kept.push(at);
            }
        }
        found = kept;
    }
    found
}

/// A side that is not level, from its lower end up, and the outline that it belongs to.
struct Side {
    low: Place,
    high: Place,
    outline: usize,
}

impl Side {
    fn x_at(&self, y: f64) -> f64 {
        let share = ((y - self.low.1) / (self.high.1 - self.low.1)).clamp(0.0, 1.0);
        self.low.0 * (1.0 - share) + self.high.0 * share
    }
}

/// Slabs between all heights at which a side ends or two cross, each cut into what is ground.
fn trapezoids(beds: &[Outline], obstacles: &[Outline], frame: &Bed) -> Vec<Trapezoid> {
    let outlines = || beds.iter().chain(obstacles).enumerate();
    let sides: Vec<Side> = outlines()
        .flat_map(|(outline, of)| of.sides().map(move |(from, to)| (outline, from, to)))
        .filter(|(_, from, to)| from.1 != to.1)
        .map(
            |(outline, from, to)| {
                if from.1 < to.1 { Side { low: from, high: to, outline } } else { Side { low: to, high: from, outline } }
            },
        )
        .collect();
    let mut heights: Vec<f64> = sides.iter().flat_map(|side| [side.low.1, side.high.1]).collect();
    for (index, one) in sides.iter().enumerate() {
        for other in sides[index + 1..].iter().filter(|other| other.outline != one.outline) {
            heights.extend(meeting((one.low, one.high), (other.low, other.high)).map(|at| at.1));
        }
    }
    heights.sort_by(f64::total_cmp);
    let least = SAME_HEIGHT * (frame.width_m() + frame.height_m());
    heights.dedup_by(|next, kept| *next - *kept <= least);
    let mut found = Vec::new();
    for slab in heights.windows(2) {
        let (bottom, top) = (slab[0], slab[1]);
        let middle = 0.5 * (bottom + top);
        let mut here: Vec<(f64, &Side)> = sides
            .iter()
            .filter(|side| side.low.1 < middle && side.high.1 > middle)
            .map(|side| (side.x_at(middle), side))
            .collect();
        here.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut inside = vec![false; beds.len() + obstacles.len()];
        let mut left: Option<&Side> = None;
        for (_, side) in here {
            inside[side.outline] = !inside[side.outline];
            let is_ground = inside[..beds.len()].contains(&true) && !inside[beds.len()..].contains(&true);
            match (left, is_ground) {
                (None, true) => left = Some(side),
                (Some(from), false) => {
                    left = None;
                    let corners =
                        [(from.x_at(bottom), bottom), (side.x_at(bottom), bottom), (side.x_at(top), top), (from.x_at(top), top)];
                    if signed_area(&corners) > 0.0 {
                        found.push(Trapezoid(corners));
                    }
                }
                _ => {}
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn outline(corners: &[Place]) -> Outline {
        Outline::new(corners.to_vec()).expect("an outline")
    }

    fn rectangle(left_m: f64, right_m: f64, bottom_m: f64, top_m: f64) -> Outline {
        outline(&Bed { left_m, right_m, bottom_m, top_m }.corners())
    }

    fn lines(from: f64, to: f64, count: usize) -> Vec<f64> {
        (0..=count).map(|index| from + (to - from) * index as f64 / count as f64).collect()
    }

    #[test]
    fn beds_that_overlap_count_once_and_obstacles_not_at_all() {
        let beds = vec![rectangle(0.0, 4.0, 0.0, 3.0), rectangle(2.0, 6.0, 1.0, 5.0)];
        let two = Ground::new(beds.clone(), Vec::new()).expect("ground");
        assert!((two.area_m2() - (12.0 + 16.0 - 4.0)).abs() < 1e-12);
        let path = outline(&[(3.0, -1.0), (3.5, -1.0), (3.5, 9.0), (3.0, 9.0)]);
        let shed = rectangle(3.2, 5.2, 1.5, 2.0);
        let left = two.without([path, shed]).expect("ground");
        // The path takes 0.5 by 5 of the beds, the shed what lies to its right.
        assert!((left.area_m2() - (24.0 - 2.5 - 1.7 * 0.5)).abs() < 1e-12, "{}", left.area_m2());
        assert!(!left.holds((3.2, 0.5)) && left.holds((2.9, 0.5)) && !left.holds((4.0, 1.7)) && !left.holds((6.0, 0.5)));
        assert_eq!(two.without([rectangle(-1.0, 7.0, -1.0, 6.0)]).unwrap_err(), GroundError::Covered);
    }

    #[test]
    fn outlines_that_enclose_nothing_are_refused() {
        let refused = |corners: &[Place]| Outline::new(corners.to_vec()).unwrap_err();
        assert_eq!(refused(&[(0.0, 0.0), (1.0, 0.0)]), GroundError::FewCorners { found: 2 });
        assert_eq!(refused(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]), GroundError::Flat);
        assert!(matches!(
            refused(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 3.0)]),
            GroundError::Crossing { first: 1, second: 3, .. }
        ));
        // A spur that runs back over itself.
        assert!(matches!(
            refused(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 1.0), (0.0, 3.0)]),
            GroundError::Crossing { first: 2, second: 3, .. }
        ));
        assert_eq!(outline(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)]).corners().len(), 3, "closed by hand");
    }

    proptest! {
        /// A star around a place has no crossings; its area is that of its triangles.
        #[test]
        fn cells_add_up_to_the_ground(
            reaches in proptest::collection::vec(0.5..4.0, 3..12), columns in 1_usize..30, rows in 1_usize..30, backward: bool,
        ) {
            let count = reaches.len();
            let angle = |index: usize| std::f64::consts::TAU * index as f64 / count as f64;
            let mut corners: Vec<Place> =
                reaches.iter().enumerate().map(|(index, r)| (5.0 + r * angle(index).cos(), 3.0 + r * angle(index).sin())).collect();
            let triangles: f64 = (0..count)
                .map(|index| 0.5 * reaches[index] * reaches[(index + 1) % count] * angle(1).sin())
                .sum();
            if backward {
                corners.reverse();
            }
            let ground = Ground::new(vec![outline(&corners)], vec![rectangle(5.0, 5.7, 0.0, 9.0)]).expect("ground");
            let whole = Ground::new(vec![outline(&corners)], Vec::new()).expect("ground");
            prop_assert!((whole.area_m2() - triangles).abs() < 1e-9, "{} {triangles}", whole.area_m2());
            for of in [&ground, &whole] {
                let frame = of.frame();
                let (xs, ys) = (lines(frame.left_m, frame.right_m, columns), lines(frame.bottom_m, frame.top_m, rows));
                let (shares, pieces) = of.on_grid(&xs, &ys);
                let cell = frame.area_m2() / (columns * rows) as f64;
                prop_assert!((shares.iter().sum::<f64>() * cell - of.area_m2()).abs() < 1e-7 * of.area_m2());
                let mixed: f64 = shares.iter().filter(|share| **share < 1.0).sum::<f64>() * cell;
                let clipped: f64 = pieces.iter().map(|piece| signed_area(&piece.corners)).sum();
                prop_assert!((mixed - clipped).abs() < 1e-7 * frame.area_m2());
            }
        }
    }
}
