//! Rectangles, segments and clipping, in pixels with y growing downwards.

/// A place on the sheet: x to the right, y downwards, in pixels.
pub(super) type Spot = (f64, f64);

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rect {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Rect {
    /// Left, top, right and bottom edge.
    pub fn edges(&self) -> [f64; 4] {
        [self.left, self.top, self.right, self.bottom]
    }

    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    pub fn grown(&self, by: f64) -> Rect {
        Rect { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    pub fn holds(&self, (x, y): Spot) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    /// Area that two rectangles share.
    pub fn shared_area(&self, other: &Rect) -> f64 {
        let width = self.right.min(other.right) - self.left.max(other.left);
        let height = self.bottom.min(other.bottom) - self.top.max(other.top);
        width.max(0.0) * height.max(0.0)
    }

    /// The point of the rectangle that is nearest to a place.
    pub fn nearest(&self, (x, y): Spot) -> Spot {
        (x.clamp(self.left, self.right), y.clamp(self.top, self.bottom))
    }
}

/// The part of a segment inside a rectangle, by the Liang-Barsky method; nothing when it misses.
pub(super) fn clip_segment(from: Spot, to: Spot, rect: &Rect) -> Option<(Spot, Spot)> {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let edges = [(-dx, from.0 - rect.left), (dx, rect.right - from.0), (-dy, from.1 - rect.top), (dy, rect.bottom - from.1)];
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (direction, distance) in edges {
        if direction == 0.0 {
            if distance < 0.0 {
                return None;
            }
            continue;
        }
        let t = distance / direction;
        if direction < 0.0 {
            enter = enter.max(t);
        } else {
            leave = leave.min(t);
        }
    }
    if enter > leave {
        return None;
    }
    // Clamping corrects the rounding of very long segments.
    let at = |t: f64| rect.nearest((from.0 + t * dx, from.1 + t * dy));
    let start = if enter == 0.0 { from } else { at(enter) };
    let end = if leave == 1.0 { to } else { at(leave) };
    Some((start, end))
}

/// Whether two segments cross; not where they only touch.
pub(super) fn segments_cross((a, b): (Spot, Spot), (c, d): (Spot, Spot)) -> bool {
    let side = |from: Spot, to: Spot, of: Spot| (to.0 - from.0) * (of.1 - from.1) - (to.1 - from.1) * (of.0 - from.0);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// The parts of a line of points inside a rectangle.
pub(super) fn clip_line(points: &[Spot], rect: &Rect) -> Vec<Vec<Spot>> {
    let mut parts: Vec<Vec<Spot>> = Vec::new();
    for pair in points.windows(2) {
        let Some((start, end)) = clip_segment(pair[0], pair[1], rect) else { continue };
        match parts.last_mut() {
            Some(part) if part.last() == Some(&start) => part.push(end),
            _ => parts.push(vec![start, end]),
        }
    }
    parts
}

/// A long line with fewer points that looks the same: in each column of half a pixel only the first, lowest, highest
/// and last point are kept. Lines of fewer than `2000` points are left as they are.
pub(super) fn thinned(points: Vec<Spot>) -> Vec<Spot> {
    if points.len() < 2000 {
        return points;
    }
    let column = |spot: &Spot| (spot.0 * 2.0).floor();
    let mut kept: Vec<Spot> = Vec::new();
    for group in points.chunk_by(|a, b| column(a) == column(b)) {
        let mut order: Vec<usize> = vec![0, group.len() - 1];
        order.extend((0..group.len()).min_by(|a, b| group[*a].1.total_cmp(&group[*b].1)));
        order.extend((0..group.len()).max_by(|a, b| group[*a].1.total_cmp(&group[*b].1)));
        order.sort_unstable();
        order.dedup();
        kept.extend(order.into_iter().map(|index| group[index]));
    }
    kept
}

/// A closed ring without the points that lie within a fifth of a pixel of the line between their neighbors.
pub(super) fn thinned_ring(points: Vec<Spot>) -> Vec<Spot> {
    let mut kept: Vec<Spot> = Vec::with_capacity(points.len());
    for (at, point) in points.iter().enumerate() {
        let next = points[(at + 1) % points.len()];
        let is_straight = kept.last().is_some_and(|last| {
            let (dx, dy) = (next.0 - last.0, next.1 - last.1);
            let length = dx.hypot(dy);
            length < 12.0 && (dx * (point.1 - last.1) - dy * (point.0 - last.0)).abs() <= 0.2 * length
        });
        if !is_straight {
            kept.push(*point);
        }
    }
    kept
}

/// The dashes of a line: lengths of stroke and space in turn, in pixels. An empty pattern is the whole line.
pub(super) fn dashes(points: &[Spot], pattern: &[f64]) -> Vec<Vec<Spot>> {
    if pattern.is_empty() || pattern.iter().any(|length| *length <= 0.0) {
        return vec![points.to_vec()];
    }
    let (mut parts, mut part, mut index, mut left) = (Vec::new(), Vec::new(), 0, pattern[0]);
    part.extend(points.first());
    for pair in points.windows(2) {
        let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        let length = dx.hypot(dy);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let spot = (pair[0].0 + dx * done / length, pair[0].1 + dy * done / length);
            if index % 2 == 0 {
                part.push(spot);
                parts.push(std::mem::take(&mut part));
            } else {
                part = vec![spot];
            }
            index = (index + 1) % pattern.len();
            left = pattern[index];
        }
        left -= length - done;
        if index % 2 == 0 {
            part.push(pair[1]);
        }
    }
    if part.len() > 1 {
        parts.push(part);
    }
    parts
}

/// The place of the plot on a figure, and the ends of its axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Left, top, right and bottom edge of the plot, pixels.
    pub plot: [f64; 4],
    /// Ends of the axis along the foot.
    pub x: (f64, f64),
    /// Ends of the upright axis.
    pub y: (f64, f64),
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BOX: Rect = Rect { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };

    #[test]
    fn a_line_that_leaves_and_returns_has_two_parts() {
        let parts = clip_line(&[(1.0, 5.0), (5.0, -5.0), (9.0, 5.0)], &BOX);
        assert_eq!(parts, vec![vec![(1.0, 5.0), (3.0, 0.0)], vec![(7.0, 0.0), (9.0, 5.0)]]);
    }

    #[test]
    fn a_line_outside_has_no_part() {
        assert!(clip_line(&[(-5.0, -5.0), (-1.0, 20.0)], &BOX).is_empty());
        assert_eq!(clip_segment((-5.0, 12.0), (15.0, 12.0), &BOX), None);
    }

    #[test]
    fn thinning_keeps_the_extremes_of_each_column() {
        let mut points: Vec<Spot> = (0..5000).map(|i| (f64::from(i) / 100.0, 1.0)).collect();
        points[2345].1 = -7.0;
        let kept = thinned(points.clone());
        assert!(kept.len() < 500, "{}", kept.len());
        assert!(kept.contains(&points[2345]));
        assert_eq!((kept.first(), kept.last()), (points.first(), points.last()));
    }

    #[test]
    fn a_thinned_ring_stays_within_a_pixel_of_itself() {
        let ring: Vec<Spot> =
            (0..400).map(|i| f64::from(i).to_radians() * 0.9).map(|a| (50.0 * a.cos(), 50.0 * a.sin())).collect();
        let thin = thinned_ring(ring);
        assert!(thin.len() < 120, "{}", thin.len());
        for pair in thin.windows(2) {
            let middle = ((pair[0].0 + pair[1].0) / 2.0, (pair[0].1 + pair[1].1) / 2.0);
            assert!((middle.0.hypot(middle.1) - 50.0).abs() < 0.5, "{middle:?}");
        }
    }

    #[test]
    fn dashes_follow_the_line_round_its_corners() {
        let parts = dashes(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0)], &[3.0, 2.0]);
        assert_eq!(parts, vec![vec![(0.0, 0.0), (3.0, 0.0)], vec![(4.0, 1.0), (4.0, 4.0)]]);
    }

    #[test]
    fn segments_cross_where_each_has_the_ends_of_the_other_on_both_sides() {
        assert!(segments_cross(((0.0, 0.0), (4.0, 4.0)), ((0.0, 4.0), (4.0, 0.0))));
        assert!(!segments_cross(((0.0, 0.0), (4.0, 4.0)), ((0.0, 4.0), (1.0, 3.0))));
        assert!(!segments_cross(((0.0, 0.0), (4.0, 0.0)), ((2.0, 0.0), (2.0, 3.0))), "they touch");
    }

    fn spot() -> impl Strategy<Value = Spot> {
        (-30.0f64..30.0, -30.0f64..30.0)
    }

    fn length(line: &[Spot]) -> f64 {
        line.windows(2).map(|pair| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)).sum()
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        #[test]
        fn what_is_clipped_lies_inside_on_the_segment_and_is_all_of_it(from in spot(), to in spot()) {
            let clipped = clip_segment(from, to, &BOX);
            // As many of a thousand points of the segment lie inside as the clipped part is long.
            let inside = (0..1000).filter(|step| {
                let share = (f64::from(*step) + 0.5) / 1000.0;
                BOX.holds((from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1)))
            }).count() as f64 / 1000.0;
            let whole = length(&[from, to]);
            let found = clipped.map_or(0.0, |(start, end)| length(&[start, end]) / whole);
            prop_assert!((found - inside).abs() < 3e-3, "{found} and {inside}");
            if let Some((start, end)) = clipped {
                prop_assert!(BOX.grown(1e-9).holds(start) && BOX.grown(1e-9).holds(end));
                let (back_start, back_end) = clip_segment(to, from, &BOX).expect("the same segment");
                prop_assert!(length(&[start, back_end]) < 1e-9 && length(&[end, back_start]) < 1e-9);
                prop_assert_eq!(clip_segment(start, end, &BOX), Some((start, end)), "clipped once is clipped");
            }
        }

        #[test]
        fn dashes_are_as_long_as_their_pattern_says(points in prop::collection::vec(spot(), 2..8), stroke in 0.5f64..5.0, space in 0.5f64..5.0) {
            let whole = length(&points);
            let drawn: f64 = dashes(&points, &[stroke, space]).iter().map(|dash| length(dash)).sum();
            let rounds = (whole / (stroke + space)).floor();
            let rest = (whole - rounds * (stroke + space)).min(stroke);
            prop_assert!((drawn - rounds * stroke - rest).abs() < 1e-6 * whole + 1e-9, "{drawn}");
            let lengths: Vec<f64> = dashes(&points, &[stroke, space]).iter().map(|dash| length(dash)).collect();
            prop_assert!(lengths.iter().all(|length| *length <= stroke + 1e-6));
            prop_assert_eq!(dashes(&points, &[]), vec![points.clone()]);
        }

        #[test]
        fn rectangles_share_what_both_hold(a in (0.0f64..5.0, 0.0f64..5.0, 0.1f64..6.0, 0.1f64..6.0), b in (0.0f64..5.0, 0.0f64..5.0, 0.1f64..6.0, 0.1f64..6.0)) {
            let rect = |(left, top, width, height): (f64, f64, f64, f64)| Rect { left, top, right: left + width, bottom: top + height };
            let (a, b) = (rect(a), rect(b));
            let area = a.shared_area(&b);
            prop_assert!((area - b.shared_area(&a)).abs() < 1e-12);
            prop_assert!((a.shared_area(&a) - a.width() * a.height()).abs() < 1e-9);
            let middle = ((a.left.max(b.left) + a.right.min(b.right)) / 2.0, (a.top.max(b.top) + a.bottom.min(b.bottom)) / 2.0);
            prop_assert_eq!(area > 0.0, a.holds(middle) && b.holds(middle) && a.left.max(b.left) < a.right.min(b.right) && a.top.max(b.top) < a.bottom.min(b.bottom));
        }
    }
}
