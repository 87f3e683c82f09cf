//! Contours by marching squares: where a field on a grid crosses a level.
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
