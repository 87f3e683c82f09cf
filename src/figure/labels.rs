//! Where labels go: spread along a line so that they do not overlap, or all together on a sheet, each at one of its candidates.

use super::geometry::{Rect, Spot, clip_segment, segments_cross};
use crate::limits;

/// Something a label should not cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Obstacle {
    Segment(Spot, Spot),
    Area(Rect),
}

/// A place where a label may stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    pub rect: Rect,
    /// How much worse it is than the best place, in pixels of covered line.
    pub cost: f64,
    /// The ends of the thin line from what is named to its label, where that stands apart.
    pub leader: Option<(Spot, Spot)>,
}

/// A label with the places where it may stand.
#[derive(Clone, Debug)]
pub(super) struct Label {
    pub candidates: Vec<Candidate>,
    /// The cost at which it is better left out; [`MUST`] for one that is needed.
    pub worth: f64,
}

/// The worth of a label that is left out only where there is no place for it.
pub(super) const MUST: f64 = 1e4;

/// What labels stand among.
#[derive(Clone, Copy, Debug)]
pub(super) struct Surroundings<'a> {
    /// No label leaves it.
    pub frame: Rect,
    /// What no label covers.
    pub solids: &'a [Rect],
    /// What labels had better not cover.
    pub obstacles: &'a [Obstacle],
    /// What it costs to cover an obstacle at all, besides how much of it.
    pub touch: f64,
}

/// The cost of a leader that crosses another leader or a solid thing.
const CROSSING: f64 = 40.0;
/// The cost of a pixel of a leader.
const LEADER: f64 = 0.15;
/// From this far away a label has a leader, px.
const APART: f64 = 9.0;
/// Between labels, px.
const BETWEEN: f64 = 2.5;
/// Moves tried for each label.
const MOVES: usize = 160;
/// The first and the last temperature: costs by which a move may be worse.
const TEMPERATURES: (f64, f64) = (60.0, 0.5);

/// Places around a thing that fills a circle of `clear` pixels, for a label of a size: to the right, left, above, below and between,
/// on rings that lie `away` pixels from the thing.
pub(super) fn around((x, y): Spot, clear: f64, (wide, high): (f64, f64), away: &[f64]) -> Vec<Candidate> {
    let boxed = |left: f64, top: f64| Rect { left, top, right: left + wide, bottom: top + high };
    let mut candidates = Vec::with_capacity(12 * away.len());
    for ring in away {
        let (far, diagonal) = (clear + ring, 0.72 * (clear + ring));
        let rects = [
            (0.0, boxed(x + far, y - high / 2.0)),
            (1.0, boxed(x - far - wide, y - high / 2.0)),
            (2.0, boxed(x - wide / 2.0, y - far - high)),
            (2.5, boxed(x - wide / 2.0, y + far)),
            (3.0, boxed(x + diagonal, y - diagonal - high)),
            (3.5, boxed(x + diagonal, y + diagonal)),
            (4.0, boxed(x - diagonal - wide, y - diagonal - high)),
            (4.5, boxed(x - diagonal - wide, y + diagonal)),
            (5.0, boxed(x - 0.2 * wide, y - far - high)),
            (5.0, boxed(x - 0.8 * wide, y - far - high)),
            (5.5, boxed(x - 0.2 * wide, y + far)),
            (5.5, boxed(x - 0.8 * wide, y + far)),
        ];
        let candidate = |(cost, rect): (f64, Rect)| {
            let leader = (*ring >= APART).then(|| leader((x, y), clear, &rect));
            Candidate { rect, cost: cost + ring, leader }
        };
        candidates.extend(rects.map(candidate));
    }
    candidates
}

/// The line from the rim of a circle around a place to the nearest point of a label.
pub(super) fn leader((x, y): Spot, clear: f64, rect: &Rect) -> (Spot, Spot) {
    let end = rect.nearest((x, y));
    let length = (end.0 - x).hypot(end.1 - y);
    let share = if length > 0.0 { (clear / length).min(1.0) } else { 0.0 };
    ((x + share * (end.0 - x), y + share * (end.1 - y)), end)
}

/// The candidate of each label so that no label covers another, a solid thing or the leader of another, nor leaves the frame; nothing
/// for a label that has no such place left. The sum of the costs is small: greedy first, then simulated annealing (Kirkpatrick, Gelatt and
/// Vecchi 1983, from memory) whose moves follow from a fixed seed, so that the same labels get the same places.
pub(super) fn place(labels: &[Label], around: &Surroundings) -> Vec<Option<usize>> {
    let mut board = Board::new(labels, around);
    board.fill();
    let first = (board.total(), board.chosen.clone());
    board.anneal();
    board.fill();
    board.descend();
    if board.total() <= first.0 { board.chosen } else { first.1 }
}

/// A candidate that is in the frame and covers nothing solid, with its cost among the obstacles.
struct Choice {
    /// Its place among the candidates of its label.
    index: usize,
    rect: Rect,
    leader: Option<(Spot, Spot)>,
    cost: f64,
}

/// The labels in the making.
struct Board {
    choices: Vec<Vec<Choice>>,
    worths: Vec<f64>,
    /// The place among the choices, of each label that has one, and the same as indices of candidates.
    at: Vec<Option<usize>>,
    chosen: Vec<Option<usize>>,
}

impl Board {
    fn new(labels: &[Label], around: &Surroundings) -> Board {
        let frame = around.frame.grown(0.01);
        let fits = |rect: &Rect| {
            frame.holds((rect.left, rect.top))
                && frame.holds((rect.right, rect.bottom))
                && around.solids.iter().all(|solid| solid.shared_area(rect) <= 0.0)
        };
        let cost = |candidate: &Candidate| {
            let covered: f64 = around.obstacles.iter().map(|obstacle| obstacle.covered_by(&candidate.rect)).sum();
            let covered = if covered > 0.0 { around.touch + covered } else { 0.0 };
            let Some((from, to)) = candidate.leader else { return candidate.cost + covered };
            let crossed =
                around.solids.iter().filter(|solid| clip_segment(from, to, &solid.grown(-2.0)).is_some()).count() as f64;
            let crossing = CROSSING.max(10.0 * around.touch);
            candidate.cost + covered + LEADER * (to.0 - from.0).hypot(to.1 - from.1) + crossing * crossed
        };
        let of_label = |label: &Label| -> Vec<Choice> {
            let fitting = limits::while_going_on(label.candidates.iter().enumerate()).filter(|(_, one)| fits(&one.rect));
            fitting.map(|(index, one)| Choice { index, rect: one.rect, leader: one.leader, cost: cost(one) }).collect()
        };
        Board {
            choices: labels.iter().map(of_label).collect(),
            worths: labels.iter().map(|label| label.worth).collect(),
            at: vec![None; labels.len()],
            chosen: vec![None; labels.len()],
        }
    }

    fn put(&mut self, label: usize, choice: Option<usize>) {
        self.at[label] = choice;
        self.chosen[label] = choice.map(|choice| self.choices[label][choice].index);
    }

    /// The labels that have a place, other than this.
    fn others(&self, label: usize) -> impl Iterator<Item = (usize, &Choice)> {
        let placed = self.at.iter().enumerate().filter(move |(other, _)| *other != label);
        placed.filter_map(|(other, at)| Some((other, &self.choices[other][(*at)?])))
    }

    /// The cost of a label at a choice; nothing where it and another cannot both stand.
    fn free(&self, label: usize, choice: &Choice) -> Option<f64> {
        let mut cost = choice.cost;
        for (_, other) in self.others(label) {
            cost += choice.beside(other)?;
        }
        Some(cost)
    }

    /// Gives labels without a place one that is free, those with the fewest left first.
    fn fill(&mut self) {
        let mut waiting: Vec<usize> = (0..self.at.len()).filter(|label| self.at[*label].is_none()).collect();
        while !waiting.is_empty() && !limits::ended() {
            let free = |label: &usize| self.choices[*label].iter().filter(|choice| self.free(*label, choice).is_some()).count();
            let (next, _) = waiting.iter().map(free).enumerate().min_by_key(|(_, count)| *count).unwrap_or_default();
            let label = waiting.remove(next);
            self.put(label, self.best(label));
        }
    }

    /// The cheapest free choice that is worth it.
    fn best(&self, label: usize) -> Option<usize> {
        let costs = self.choices[label].iter().enumerate().filter_map(|(at, choice)| Some((at, self.free(label, choice)?)));
        let worth = costs.filter(|(_, cost)| *cost < self.worths[label]);
        worth.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at)
    }

    /// Each label to its cheapest free choice, until none moves.
    fn descend(&mut self) {
        for _ in 0..12 {
            let before = self.at.clone();
            for label in limits::while_going_on(0..self.at.len()) {
                self.put(label, self.best(label));
            }
            if self.at == before {
                return;
            }
        }
    }

    /// The cost of a label where it stands, or of leaving it out.
    fn cost_of(&self, label: usize) -> f64 {
        match self.at[label] {
            Some(at) => self.free(label, &self.choices[label][at]).unwrap_or(self.worths[label]),
            None => self.worths[label],
        }
    }

    fn total(&self) -> f64 {
        (0..self.at.len()).map(|label| self.cost_of(label)).sum()
    }

    /// Moves single labels to any of their choices, which takes others off; worse states are kept the less often the colder it is.
    fn anneal(&mut self) {
        let movable: Vec<usize> = (0..self.at.len()).filter(|label| self.choices[*label].len() > 1).collect();
        if movable.is_empty() {
            return;
        }
        let rounds = MOVES * movable.len();
        let mut random = Random(0x9e37_79b9_7f4a_7c15);
        for round in limits::while_going_on(0..rounds) {
            let share = round as f64 / rounds as f64;
            let temperature = TEMPERATURES.0 * (TEMPERATURES.1 / TEMPERATURES.0).powf(share);
            let label = movable[random.below(movable.len())];
            let next = random.below(self.choices[label].len());
            if self.at[label] == Some(next) {
                continue;
            }
            let choice = &self.choices[label][next];
            let (mut cost, mut off) = (choice.cost, Vec::new());
            for (other, placed) in self.others(label) {
                match choice.beside(placed) {
                    Some(more) => cost += more,
                    None => {
                        cost += self.worths[other] - placed.cost;
                        off.push(other);
                    }
                }
            }
            let worse = cost - self.cost_of(label);
            if worse <= 0.0 || random.share() < (-worse / temperature).exp() {
                off.into_iter().for_each(|other| self.put(other, None));
                self.put(label, Some(next));
            }
        }
    }
}

impl Choice {
    /// What two labels cost beside each other; nothing where one covers the other or its leader.
    fn beside(&self, other: &Choice) -> Option<f64> {
        let meets = |rect: &Rect, leader: Option<(Spot, Spot)>| leader.is_some_and(|(a, b)| clip_segment(a, b, rect).is_some());
        if self.rect.grown(BETWEEN).shared_area(&other.rect) > 0.0
            || meets(&self.rect, other.leader)
            || meets(&other.rect, self.leader)
        {
            return None;
        }
        let crossed = self.leader.zip(other.leader).is_some_and(|(one, two)| segments_cross(one, two));
        Some(if crossed { CROSSING / 2.0 } else { 0.0 })
    }
}

/// Numbers that look random and are the same each time (xorshift, Marsaglia 2003, from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() >> 11) as usize % count
    }

    /// From 0 to 1.
    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
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

impl Obstacle {
    /// Length or, for areas, roughly the length of text that would be covered.
    pub fn covered_by(&self, rect: &Rect) -> f64 {
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

    fn boxed(left: f64, top: f64, wide: f64, high: f64) -> Rect {
        Rect { left, top, right: left + wide, bottom: top + high }
    }

    #[test]
    fn a_label_gives_way_to_one_that_has_no_other_place() {
        let frame = boxed(0.0, 0.0, 100.0, 100.0);
        let at = |left: f64, cost: f64| Candidate { rect: boxed(left, 0.0, 40.0, 10.0), cost, leader: None };
        let labels = [
            Label { candidates: vec![at(0.0, 0.0), at(55.0, 5.0)], worth: MUST },
            Label { candidates: vec![at(10.0, 3.0)], worth: MUST },
            Label { candidates: vec![at(20.0, 0.0)], worth: 50.0 },
            Label { candidates: vec![at(70.0, 0.0)], worth: MUST },
        ];
        let around = Surroundings { frame, solids: &[], obstacles: &[], touch: 0.0 };
        assert_eq!(place(&labels, &around), [Some(1), Some(0), None, None], "the last would leave the frame");
    }

    #[test]
    fn a_label_that_is_not_needed_is_left_out_where_it_would_cover_much() {
        let candidates = vec![Candidate { rect: boxed(0.0, 0.0, 40.0, 10.0), cost: 0.0, leader: None }];
        let (frame, lines) = (boxed(0.0, 0.0, 100.0, 100.0), [Obstacle::Segment((0.0, 5.0), (40.0, 5.0)); 3]);
        let around = Surroundings { frame, solids: &[], obstacles: &lines, touch: 0.0 };
        let placed = |worth: f64| place(&[Label { candidates: candidates.clone(), worth }], &around);
        assert_eq!((placed(60.0), placed(MUST)), (vec![None], vec![Some(0)]));
    }

    #[test]
    fn a_label_that_stands_apart_has_a_leader_from_the_rim_of_its_thing() {
        let places = super::around((50.0, 50.0), 10.0, (30.0, 16.0), &[2.0, 20.0]);
        assert!(places.iter().all(|one| one.rect.shared_area(&boxed(40.0, 40.0, 20.0, 20.0)) < 40.0));
        let (near, far) = places.split_at(places.len() / 2);
        assert!(near.iter().all(|one| one.leader.is_none()));
        for (from, to) in far.iter().filter_map(|one| one.leader) {
            assert!(((from.0 - 50.0).hypot(from.1 - 50.0) - 10.0).abs() < 1e-9);
            assert!((to.0 - 50.0).hypot(to.1 - 50.0) > 10.0);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

        #[test]
        fn placed_labels_cover_nothing_and_come_out_the_same(
            things in prop::collection::vec((20.0f64..480.0, 20.0f64..380.0, 10.0f64..90.0), 0..40),
        ) {
            let frame = boxed(0.0, 0.0, 500.0, 400.0);
            let solids: Vec<Rect> = things.iter().map(|(x, y, _)| boxed(x - 8.0, y - 8.0, 16.0, 16.0)).collect();
            let label = |(x, y, wide): &(f64, f64, f64)| {
                Label { candidates: super::around((*x, *y), 9.0, (*wide, 14.0), &[2.0, 14.0, 40.0]), worth: MUST }
            };
            let labels: Vec<Label> = things.iter().map(label).collect();
            let around = Surroundings { frame, solids: &solids, obstacles: &[], touch: 0.0 };
            let placed = place(&labels, &around);
            prop_assert_eq!(&placed, &place(&labels, &around));
            let found: Vec<&Candidate> =
                labels.iter().zip(&placed).filter_map(|(label, at)| Some(&label.candidates[(*at)?])).collect();
            for (index, one) in found.iter().enumerate() {
                prop_assert!(frame.holds((one.rect.left, one.rect.top)) && frame.holds((one.rect.right, one.rect.bottom)));
                prop_assert!(solids.iter().all(|solid| solid.shared_area(&one.rect) <= 0.0));
                for other in &found[..index] {
                    prop_assert!(one.rect.shared_area(&other.rect) <= 0.0);
                    prop_assert!(one.leader.is_none_or(|(a, b)| clip_segment(a, b, &other.rect).is_none()));
                }
            }
            // With this much room hardly any is left out.
            prop_assert!(found.len() * 10 >= things.len() * 9, "{} of {}", found.len(), things.len());
        }
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
