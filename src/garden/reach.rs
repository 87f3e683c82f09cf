//! Who reaches whom through parts in line. Knows kinds of parts and the layout, no numbers.

use super::Garden;
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
    let places = &garden.layout().places;
    let joined = garden.layout().joined();
    let mut seen = vec![false; garden.layout().number_of_nodes];
    let mut queue: VecDeque<usize> = starts.into_iter().collect();
    queue.iter().for_each(|&start| seen[start] = true);
    while let Some(node) = queue.pop_front() {
        for &place in &joined[node] {
            let joint = &places[place];
            if garden.parts()[place].spec().placing != Placing::Inline {
                continue;
            }
            for (near, far, way) in [(joint.from, joint.to, Way::Down), (joint.to, joint.from, Way::Up)] {
                if near == node && !seen[far] && pass(place, way) {
                    seen[far] = true;
                    queue.push_back(far);
                }
            }
        }
    }
    seen
}

/// True for a part that is there to keep water from coming back.
pub(crate) fn keeps_back(garden: &Garden, place: usize) -> bool {
    garden.parts()[place].spec().keeps_back()
}

/// The first part of a sort that takes its water from one of these nodes.
pub(crate) fn first_of(garden: &Garden, sort: impl Fn(&Spec) -> bool, nodes: &[bool]) -> Option<usize> {
    let parts = garden.parts().iter().enumerate();
    parts.filter(|(_, part)| sort(part.spec())).map(|(place, _)| place).find(|&place| nodes[garden.layout().places[place].from])
}
