//! Contours by marching squares: where a field on a grid crosses a level, as pieces, or as closed rings around what lies above.
//!
//! Each cell is looked at by itself; where two opposite corners are above and two below, the mean of the four decides
//! which belong together. Cells with a missing corner have no contour.

use super::description::Field;
use crate::limits::{self, Ended};

/// Two places on a contour, in the numbers of the axes.
pub(super) type Segment = ((f64, f64), (f64, f64));

/// The pieces of the contour of a level, not in order. Errors: the evaluation is to end.
pub(super) fn contour(field: &Field, level: f64) -> Result<Vec<Segment>, Ended> {
    let columns = field.xs.len();
    let value = |row: usize, column: usize| field.values.get(row * columns + column).copied().flatten();
    let mut segments = Vec::new();
    for row in 0..field.ys.len().saturating_sub(1) {
        limits::go_on()?;
        for column in 0..columns.saturating_sub(1) {
            let corners = [value(row, column), value(row, column + 1), value(row + 1, column + 1), value(row + 1, column)];
            let [Some(a), Some(b), Some(c), Some(d)] = corners else { continue };
            let (x0, x1, y0, y1) = (field.xs[column], field.xs[column + 1], field.ys[row], field.ys[row + 1]);
            cell([(x0, y0, a), (x1, y0, b), (x1, y1, c), (x0, y1, d)], level, &mut segments);
        }
    }
    Ok(segments)
}

/// The pieces inside one cell, whose corners go round.
fn cell(corners: [(f64, f64, f64); 4], level: f64, segments: &mut Vec<Segment>) {
    let above = corners.map(|(_, _, value)| value >= level);
    let crossing = |side: usize| {
        let (from, to) = (corners[side], corners[(side + 1) % 4]);
        let share = (level - from.2) / (to.2 - from.2);
        (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1))
    };
    let crossed: Vec<usize> = (0..4).filter(|side| above[*side] != above[(side + 1) % 4]).collect();
    match crossed[..] {
        [one, other] => segments.push((crossing(one), crossing(other))),
        [_, _, _, _] => {
            let middle = corners.iter().map(|corner| corner.2).sum::<f64>() / 4.0 >= level;
            // The corner between two sides is cut off when it differs from the middle.
            let pairs = if above[0] == middle { [(0, 1), (2, 3)] } else { [(3, 0), (1, 2)] };
            segments.extend(pairs.map(|(one, other)| (crossing(one), crossing(other))));
        }
        _ => {}
    }
}

/// Closed rings around where a whole grid of values is at or above a level, in columns and rows of the grid; what is above lies to the left of
/// the way (x to the right, y along the rows), so that holes run the other way round. Beyond the grid the values at its edges go on by
/// one step. Errors: the evaluation is to end.
pub(super) fn rings(columns: usize, values: &[f64], level: f64) -> Result<Vec<Vec<(f64, f64)>>, Ended> {
    let rows = values.len() / columns.max(1);
    if rows == 0 {
        return Ok(Vec::new());
    }
    // A rim of the values at the edges, and around it one that lies below every level, which closes all rings.
    let (wide, high) = (columns + 4, rows + 4);
    let below = level - 1.0 - level.abs();
    let at = |column: usize, row: usize| {
        let is_rim = column == 0 || row == 0 || column == wide - 1 || row == high - 1;
        let inner = |place: usize, count: usize| place.saturating_sub(2).min(count - 1);
        if is_rim { below } else { values[inner(row, rows) * columns + inner(column, columns)] }
    };
    // Edges to the right of a corner have even numbers, those upward from it odd ones.
    let number = |column: usize, row: usize, upward: bool| 2 * (row * wide + column) + usize::from(upward);
    let spot = |edge: usize| {
        let (column, row, upward) = (edge / 2 % wide, edge / 2 / wide, edge % 2 == 1);
        let (from, to) = (at(column, row), at(column + usize::from(!upward), row + usize::from(upward)));
        let share = (level - from) / (to - from);
        let (x, y) = (column as f64 - 2.0, row as f64 - 2.0);
        if upward { (x, y + share) } else { (x + share, y) }
    };
    let mut next: Vec<Option<usize>> = vec![None; 2 * wide * high];
    for row in 0..high - 1 {
        limits::go_on()?;
        for column in 0..wide - 1 {
            let corners = [at(column, row), at(column + 1, row), at(column + 1, row + 1), at(column, row + 1)];
            let above = corners.map(|value| value >= level);
            let sides = [
                number(column, row, false),
                number(column + 1, row, true),
                number(column, row + 1, false),
                number(column, row, true),
            ];
            let leaves = |side: usize| above[side] && !above[(side + 1) % 4];
            let enters = |side: usize| !above[side] && above[(side + 1) % 4];
            let joined = corners.iter().sum::<f64>() / 4.0 >= level;
            for side in (0..4).filter(|side| leaves(*side)) {
                // On a saddle the low corner is cut off where the middle is above, else the high one.
                let order = if joined { [1, 2, 3] } else { [3, 2, 1] };
                let end = order.into_iter().map(|step| (side + step) % 4).find(|other| enters(*other));
                next[sides[side]] = end.map(|end| sides[end]);
            }
        }
    }
    let mut rings = Vec::new();
    for start in 0..next.len() {
        let mut ring = Vec::new();
        let mut edge = start;
        while let Some(following) = next[edge].take() {
            ring.push(spot(edge));
            edge = following;
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    Ok(rings)
}

#[cfg(test)]
mod tests {
    use super::super::description::Axis;
    use super::*;

    fn field(n: usize, f: impl Fn(f64, f64) -> Option<f64>) -> Field {
        let xs: Vec<f64> = (0..n).map(|i| i as f64 / (n - 1) as f64).collect();
        let values = xs.iter().flat_map(|y| xs.iter().map(|x| f(*x, *y)).collect::<Vec<_>>()).collect();
        Field { ys: xs.clone(), xs, values, axis: Axis::new("z"), marks: Vec::new() }
    }

    #[test]
    fn the_contour_of_a_plane_is_the_straight_line() {
        let pieces = contour(&field(7, |x, y| Some(2.0 * x + y)), 1.3).expect("pieces");
        assert!(pieces.iter().flat_map(|(a, b)| [a, b]).all(|(x, y)| (2.0 * x + y - 1.3).abs() < 1e-12));
        let length: f64 = pieces.iter().map(|(a, b)| (a.0 - b.0).hypot(a.1 - b.1)).sum();
        // From (0.15, 1) to (0.65, 0).
        assert!((length - 0.5_f64.hypot(1.0)).abs() < 1e-12, "{length}");
    }

    #[test]
    fn a_cone_has_a_circle_of_the_right_length() {
        let pieces = contour(&field(201, |x, y| Some((x - 0.5).hypot(y - 0.5))), 0.3).expect("pieces");
        let length: f64 = pieces.iter().map(|(a, b)| (a.0 - b.0).hypot(a.1 - b.1)).sum();
        assert!((length / (std::f64::consts::TAU * 0.3) - 1.0).abs() < 1e-3, "{length}");
    }

    /// Area inside rings, holes taken off (shoelace formula).
    fn area(rings: &[Vec<(f64, f64)>]) -> f64 {
        let of_ring = |ring: &Vec<(f64, f64)>| {
            let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
            pairs.map(|(a, b)| 0.5 * (a.0 * b.1 - b.0 * a.1)).sum::<f64>()
        };
        rings.iter().map(of_ring).sum()
    }

    #[test]
    fn rings_enclose_what_lies_above_and_leave_out_its_holes() {
        let value = |column: usize, row: usize| -((column as f64 - 30.0).hypot(row as f64 - 30.0) - 15.0).abs();
        let values: Vec<f64> = (0..61).flat_map(|row| (0..61).map(move |column| value(column, row))).collect();
        let rings = rings(61, &values, -5.0).expect("rings");
        assert_eq!(rings.len(), 2, "a ring of radius 10 to 20 has a rim outside and one inside");
        let expected = std::f64::consts::PI * (400.0 - 100.0);
        assert!((area(&rings) / expected - 1.0).abs() < 2e-3, "{} and {expected}", area(&rings));
    }

    #[test]
    fn a_grid_that_is_above_everywhere_has_one_ring_around_it() {
        let found = rings(3, &[2.0; 6], 1.0).expect("rings");
        assert_eq!(found.len(), 1);
        assert!(found[0].iter().all(|(x, y)| *x <= -1.0 || *x >= 3.0 || *y <= -1.0 || *y >= 2.0), "{found:?}");
        assert!(rings(3, &[0.0; 6], 1.0).expect("no rings").is_empty());
    }

    #[test]
    fn opposite_corners_are_joined_as_the_middle_says_and_holes_have_no_contour() {
        let saddle = field(2, |x, y| Some(if x == y { 1.0 } else { 0.0 }));
        assert_eq!(contour(&saddle, 0.4).expect("pieces").len(), 2);
        // The middle, 0.5, is above 0.4: the low corners at (1, 0) and (0, 1) are cut off.
        let pieces = contour(&saddle, 0.4).expect("pieces");
        assert!(pieces.contains(&((0.6, 0.0), (1.0, 0.4))), "{pieces:?}");
        let holed = field(5, |x, y| (x > 0.3).then_some(y));
        assert!(contour(&holed, 0.5).expect("pieces").iter().all(|(a, b)| a.0 > 0.3 && b.0 > 0.3));
    }
}
