//! The values of courses for whoever points at them: of many points those that lie apart, always with the highest and the lowest.

use super::axis::{Axis, AxisScale, drawable};
use super::scale::Scale;
use super::scene::Scene;
use super::text::words;
use crate::limits::while_going_on;
use crate::numeric::lowest_and_highest;

/// Most points of all courses of a figure that are shown to the pointer.
const MOST: usize = 400;
/// Where a course has more points, those are shown that lie this share of its extent apart, or twice as far as long as they are too many.
const APART: f64 = 0.008;

/// A course with its name.
pub(super) type Course<'a> = (&'a str, Vec<(f64, f64)>);

/// The axes of courses, each with its scale.
pub(super) struct Axes<'a> {
    pub x: (&'a Axis, &'a Scale),
    pub y: (&'a Axis, &'a Scale),
}

impl Axes<'_> {
    /// Shows the pointer the points of courses that lie between the axes, each course in a row of its own.
    pub fn tell(&self, courses: &[Course], scene: &mut Scene) {
        let first = scene.free_row();
        let most = MOST / courses.len().max(1);
        for (index, (name, points)) in courses.iter().enumerate() {
            let drawable = |(x, y): &(f64, f64)| Some((drawable(*x)?, drawable(*y)?));
            let known: Vec<(f64, f64)> = while_going_on(points).filter_map(drawable).collect();
            for (x, y) in chosen(&known, most).into_iter().filter(|(x, y)| self.x.1.holds(*x) && self.y.1.holds(*y)) {
                scene.tell((self.x.1.px(x), self.y.1.px(y)), first + index, self.said(name, x, y));
            }
        }
    }

    /// What a point is, then a colon and its value.
    fn said(&self, name: &str, x: f64, y: f64) -> String {
        let (label, name) = (words(&self.y.0.label), words(name));
        let what = match (label.is_empty(), name.is_empty() || name == label) {
            (false, false) => format!("{label} of {name}"),
            (false, true) => label,
            (true, _) => name,
        };
        let place = match self.x.0.scale {
            AxisScale::Clock => self.x.0.text(x),
            _ => format!("{} {}", words(&self.x.0.label), self.x.0.said(x)),
        };
        format!("{what} at {}: {}", place.trim(), self.y.0.said(y))
    }
}

/// At most `most` of the points, in their order; which ones does not depend on the size of the figure.
fn chosen(points: &[(f64, f64)], most: usize) -> Vec<(f64, f64)> {
    if points.len() <= most {
        return points.to_vec();
    }
    let range = |value: fn(&(f64, f64)) -> f64| {
        let (low, high) = lowest_and_highest(while_going_on(points).map(value));
        (high - low).max(f64::MIN_POSITIVE)
    };
    let (wide, high) = (range(|point| point.0), range(|point| point.1));
    let by_y = |a: &usize, b: &usize| points[*a].1.total_cmp(&points[*b].1);
    let ends = [(0..points.len()).min_by(by_y), (0..points.len()).max_by(by_y), points.len().checked_sub(1)];
    let mut apart = APART;
    loop {
        let mut kept: Vec<usize> = Vec::new();
        for (index, point) in while_going_on(points.iter().enumerate()) {
            let far = |last: &usize| ((point.0 - points[*last].0) / wide).hypot((point.1 - points[*last].1) / high) >= apart;
            if ends.contains(&Some(index)) || kept.last().is_none_or(far) {
                kept.push(index);
            }
        }
        if kept.len() <= most.max(ends.len() + 1) {
            return kept.into_iter().map(|index| points[index]).collect();
        }
        apart *= 2.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_points_some_are_told_with_the_highest_the_lowest_and_the_last() {
        let wave = |at: usize| if at == 3333 { 9.0 } else { (at as f64 / 900.0).sin() };
        let points: Vec<(f64, f64)> = (0..5000).map(|at| (at as f64, wave(at))).collect();
        let told = chosen(&points, 80);
        assert!((30..=80).contains(&told.len()), "{}", told.len());
        let lowest = points.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)).expect("points");
        for wanted in [points[0], points[3333], points[4999], lowest] {
            assert!(told.contains(&wanted), "{wanted:?}");
        }
        assert_eq!(chosen(&points[..50], 80), points[..50]);
    }
}
