//! Where labels go: spread along a line so that they do not overlap, or at the emptiest of several places.

use super::geometry::{Rect, Spot, clip_segment};
use crate::limits;

/// Something a label should not cover.
#[derive(Clone, Copy, Debug)]
pub(super) enum Obstacle {
    Segment(Spot, Spot),
    Area(Rect),
}

/// Middles for labels of the given heights, as near as possible to where each is wanted, without overlap, in the same
/// order, between `low` and `high`. When there is not enough room the labels start at `low` and go beyond `high`.
///
/// Least sum of squared moves, by pooling neighbors that push each other (isotonic regression).
pub(super) fn spread(wanted: &[f64], heights: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    // `offset` is the place of each middle when all labels are stacked from zero.
    let mut stacked = 0.0;
    let offsets: Vec<f64> = order
        .iter()
        .map(|index| {
            stacked += heights[*index];
            stacked - heights[*index] / 2.0
        })
        .collect();
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (place, index) in order.iter().enumerate() {
        let mut pool = (wanted[*index] - offsets[place], 1);
        while let Some(before) = pools.last().copied().filter(|before| before.0 > pool.0) {
            let count = before.1 + pool.1;
            pool = ((before.0 * before.1 as f64 + pool.0 * pool.1 as f64) / count as f64, count);
            pools.pop();
        }
        pools.push(pool);
    }
    let shifts = pools.into_iter().flat_map(|(shift, count)| std::iter::repeat_n(shift, count));
    let mut middles = vec![0.0; wanted.len()];
    for ((place, index), shift) in order.iter().enumerate().zip(shifts) {
        middles[*index] = shift.min(high - stacked).max(low) + offsets[place];
    }
    middles
}

/// The index of the candidate that covers least; among equals the first. Nothing when there are no candidates.
pub(super) fn emptiest(candidates: &[Rect], obstacles: &[Obstacle]) -> Option<usize> {
    let covered = |candidate: &Rect| obstacles.iter().map(|obstacle| obstacle.covered_by(candidate)).sum::<f64>();
    let costs: Vec<f64> = candidates.iter().map(|candidate| if limits::ended() { 0.0 } else { covered(candidate) }).collect();
    (0..costs.len()).min_by(|a, b| costs[*a].total_cmp(&costs[*b]))
}

impl Obstacle {
    /// Length or, for areas, roughly the length of text that would be covered.
    fn covered_by(&self, rect: &Rect) -> f64 {
        match self {
            Obstacle::Segment(from, to) => {
                clip_segment(*from, *to, rect).map_or(0.0, |(a, b)| 1.0 + (a.0 - b.0).hypot(a.1 - b.1))
            }
            Obstacle::Area(area) => rect.shared_area(area) / 4.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn labels_with_room_stay_where_they_are_wanted() {
        assert_eq!(spread(&[80.0, 20.0, 50.0], &[10.0; 3], 0.0, 100.0), [80.0, 20.0, 50.0]);
    }

    #[test]
    fn labels_at_one_place_share_the_move() {
        assert_eq!(spread(&[50.0, 50.0], &[10.0; 2], 0.0, 100.0), [45.0, 55.0]);
        assert_eq!(spread(&[98.0, 99.0], &[10.0; 2], 0.0, 100.0), [85.0, 95.0]);
    }

    #[test]
    fn the_emptiest_place_is_free_of_lines() {
        let place = |left: f64| Rect { left, top: 0.0, right: left + 10.0, bottom: 10.0 };
        let line = Obstacle::Segment((0.0, 5.0), (15.0, 5.0));
        assert_eq!(emptiest(&[place(0.0), place(12.0), place(30.0)], &[line]), Some(2));
        assert_eq!(emptiest(&[place(0.0), place(30.0)], &[]), Some(0));
        assert_eq!(emptiest(&[], &[line]), None);
    }

    proptest! {
        #[test]
        fn spread_labels_do_not_overlap_and_keep_their_order(wanted in proptest::collection::vec(0.0..300.0f64, 0..12)) {
            let heights: Vec<f64> = (0..wanted.len()).map(|i| 14.0 + (i % 3) as f64 * 4.0).collect();
            let middles = spread(&wanted, &heights, 0.0, 300.0);
            for a in 0..middles.len() {
                prop_assert!(middles[a] - heights[a] / 2.0 >= -1e-9 && middles[a] + heights[a] / 2.0 <= 300.0 + 1e-9);
                for b in 0..a {
                    prop_assert!((middles[a] - middles[b]).abs() >= (heights[a] + heights[b]) / 2.0 - 1e-9);
                    if wanted[a] < wanted[b] {
                        prop_assert!(middles[a] < middles[b]);
                    }
                }
            }
        }
    }
}
