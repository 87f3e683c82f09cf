//! Who reaches whom through parts in line. Knows kinds of parts and the layout, no numbers.

use super::lists::Lists;
use super::{Garden, Layout};
use crate::parts::{Placing, Spec};
use std::collections::VecDeque;

/// The way in which a part is passed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    /// In the direction in which it was joined.
    Down,
    /// Against it.
    Up,
}

impl Way {
    /// 1 down and -1 up.
    pub fn sign(self) -> f64 {
        match self {
            Way::Down => 1.0,
            Way::Up => -1.0,
        }
    }
}

/// A part in line as it is passed on a walk.
#[derive(Clone, Copy)]
pub(crate) struct Passage {
    pub place: usize,
    pub way: Way,
    /// The nodes it leads between, in the direction of the walk.
    pub from: usize,
    pub to: usize,
}

/// A walk through parts in line, the nearest first, that comes to each node once; it takes as long as the garden it sees is large.
pub(crate) struct Walk<'a> {
    layout: &'a Layout,
    joined: &'a Lists,
    seen: Vec<bool>,
}

impl<'a> Walk<'a> {
    /// A walk over a layout.
    pub fn over(layout: &'a Layout) -> Walk<'a> {
        Walk { layout, joined: layout.joined(), seen: vec![false; layout.number_of_nodes] }
    }

    /// Whether the walk has come to a node, or began there.
    pub fn has_seen(&self, node: usize) -> bool {
        self.seen[node]
    }

    /// For each node whether the walk has come to it.
    pub fn seen(self) -> Vec<bool> {
        self.seen
    }

    /// Walks on from nodes to all that were not seen before, and gives for each of them the passage that came to it first with
    /// what `pass` says of it; a passage of which it says nothing is not taken.
    pub fn from<T>(
        &mut self,
        starts: impl IntoIterator<Item = usize>,
        pass: impl Fn(&Passage) -> Option<T>,
    ) -> impl Iterator<Item = (Passage, T)> {
        let Walk { layout, joined, seen } = self;
        let mut queue: VecDeque<usize> = starts.into_iter().collect();
        queue.iter().for_each(|&start| seen[start] = true);
        let mut next = 0;
        std::iter::from_fn(move || {
            while let Some(&node) = queue.front() {
                while let Some(&place) = joined[node].get(next) {
                    next += 1;
                    let joint = &layout.places[place];
                    let (to, way) = if joint.from == node { (joint.to, Way::Down) } else { (joint.from, Way::Up) };
                    if seen[to] || layout.spec(place).placing != Placing::Inline {
                        continue;
                    }
                    let passage = Passage { place, way, from: node, to };
                    if let Some(said) = pass(&passage) {
                        seen[to] = true;
                        queue.push_back(to);
                        return Some((passage, said));
                    }
                }
                queue.pop_front();
                next = 0;
            }
            None
        })
    }
}

impl Garden {
    /// A walk through its parts in line.
    pub(crate) fn walk(&self) -> Walk<'_> {
        Walk::over(self.layout())
    }
}

/// The nodes that are reached from a node through parts in line; `pass` says which part may be passed which way.
pub(crate) fn reached(garden: &Garden, start: usize, pass: impl Fn(usize, Way) -> bool) -> Vec<bool> {
    reached_from(garden, [start], pass)
}

/// The same from any of several nodes.
pub(crate) fn reached_from(
    garden: &Garden,
    starts: impl IntoIterator<Item = usize>,
    pass: impl Fn(usize, Way) -> bool,
) -> Vec<bool> {
    let mut walk = garden.walk();
    walk.from(starts, |passage| pass(passage.place, passage.way).then_some(())).for_each(drop);
    walk.seen()
}

/// By how much each node lies above the start, where `rise` says how much a part in line rises from where it begins to where it
/// ends; nothing at nodes to which only parts lead of which it says nothing.
pub(crate) fn rises(garden: &Garden, start: usize, rise: impl Fn(usize, Way) -> Option<f64>) -> Vec<Option<f64>> {
    let mut above = vec![None; garden.layout().number_of_nodes];
    above[start] = Some(0.0);
    for (passage, rise) in garden.walk().from([start], |passage| rise(passage.place, passage.way)) {
        above[passage.to] = above[passage.from].map(|here| here + passage.way.sign() * rise);
    }
    above
}

/// True for a part that is there to keep water from coming back.
pub(crate) fn keeps_back(garden: &Garden, place: usize) -> bool {
    garden.spec(place).keeps_back()
}

/// The first part of a sort that takes its water from one of these nodes.
pub(crate) fn first_of(garden: &Garden, sort: impl Fn(&Spec) -> bool, nodes: &[bool]) -> Option<usize> {
    garden.of_spec(sort).find(|&place| nodes[garden.layout().places[place].from])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::{Id, Kind, Part};
    use crate::quantity::{Quantity, dim};
    use proptest::prelude::*;

    /// Climbs of one to six meters between nodes, joined at random: the node before and after each.
    fn climbs(joints: &[(usize, usize)]) -> Garden {
        let climb = |index: usize| Quantity::new((1 + index % 6) as f64, dim::LENGTH);
        let parts = (0..joints.len()).map(|index| Part::build(Kind::Uphill, None, &[(Id::Height, climb(index))]));
        Garden::from_joints(parts.map(|part| part.expect("a climb")).collect(), joints).expect("joins")
    }

    /// Who reaches whom by trying every part again until nothing changes.
    fn tried(garden: &Garden, start: usize, pass: impl Fn(usize, Way) -> bool) -> Vec<bool> {
        let mut reached = vec![false; garden.layout().number_of_nodes];
        reached[start] = true;
        for _ in 0..reached.len() {
            for (place, joint) in garden.layout().places.iter().enumerate() {
                reached[joint.to] |= reached[joint.from] && pass(place, Way::Down);
                reached[joint.from] |= reached[joint.to] && pass(place, Way::Up);
            }
        }
        reached
    }

    fn joints() -> impl Strategy<Value = Vec<(usize, usize)>> {
        prop::collection::vec((0usize..9, 0usize..9), 1..16)
            .prop_map(|joints| joints.into_iter().map(|(from, by)| (from, (from + 1 + by) % 10)).collect())
    }

    proptest! {
        #[test]
        fn what_is_reached_is_what_trying_all_parts_reaches(joints in joints(), shut in 0usize..4, one_way in any::<bool>()) {
            let garden = climbs(&joints);
            let pass = |place: usize, way: Way| place % 4 != shut && (way == Way::Down || !one_way);
            for start in 0..garden.layout().number_of_nodes {
                prop_assert_eq!(reached(&garden, start, pass), tried(&garden, start, pass));
            }
        }

        #[test]
        fn a_walk_goes_on_to_what_it_has_not_seen_and_comes_to_each_node_once(joints in joints()) {
            let garden = climbs(&joints);
            let mut walk = garden.walk();
            let mut came = vec![0; garden.layout().number_of_nodes];
            for start in 0..came.len() {
                if !walk.has_seen(start) {
                    came[start] += 1;
                    walk.from([start], |_| Some(())).for_each(|(passage, ())| came[passage.to] += 1);
                }
            }
            prop_assert!(came.iter().all(|&times| times == 1), "{:?}", came);
        }

        #[test]
        fn rises_add_up_along_a_line_and_change_their_sign_against_it(turned in prop::collection::vec(any::<bool>(), 1..9)) {
            let joints: Vec<(usize, usize)> =
                turned.iter().enumerate().map(|(node, &turned)| if turned { (node + 1, node) } else { (node, node + 1) }).collect();
            let garden = climbs(&joints);
            let height = |place: usize| garden.parts()[place].value(Id::Height);
            let start = if turned[0] { garden.layout().places[0].to } else { garden.layout().places[0].from };
            let found = rises(&garden, start, |place, _| Some(height(place)));
            let mut expected = 0.0;
            for (place, &turned) in turned.iter().enumerate() {
                expected += if turned { -height(place) } else { height(place) };
                let joint = &garden.layout().places[place];
                prop_assert_eq!(found[if turned { joint.from } else { joint.to }], Some(expected));
            }
        }
    }
}
