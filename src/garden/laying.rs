//! From joints to a layout: each part finds the hose whose diameter it takes, and each drive its booster.

use super::error::GardenError;
use super::layout::{Layout, Lenders, Tail};
use super::names::unique_names;
use super::place::Place;
use super::starting::drives;
use super::walk::Walk;
use crate::parts::Part;
use std::sync::Arc;

impl Layout {
    /// A layout of unnamed places; names are given or generated here.
    ///
    /// Errors: two parts that were given the same name.
    pub(super) fn new(
        joints: Vec<(usize, usize)>,
        parts: &[Arc<Part>],
        number_of_nodes: usize,
        inlet: Option<usize>,
        tails: Vec<Tail>,
    ) -> Result<Layout, GardenError> {
        let names = unique_names(parts)?;
        let places: Vec<Place> = joints.iter().zip(names).map(|(&(from, to), name)| Place { name, from, to }).collect();
        let kinds = parts.iter().map(|part| part.kind()).collect();
        let mut layout = Layout::of_places(places, kinds, number_of_nodes, Lenders::Found(nearest_hoses));
        (layout.inlet, layout.tails) = (inlet, tails);
        layout.drives = drives(&layout);
        Ok(layout)
    }
}

/// For each place the nearest hose or pipe, counted in parts; of two equally near the one joined first.
fn nearest_hoses(layout: &Layout) -> Vec<Option<usize>> {
    let is_hose = |place: &usize| layout.spec(*place).is_line();
    let joined = layout.joined();
    let mut nearest: Vec<Option<usize>> =
        (0..layout.number_of_nodes).map(|node| joined[node].iter().copied().find(is_hose)).collect();
    let beside: Vec<usize> = (0..nearest.len()).filter(|&node| nearest[node].is_some()).collect();
    for (passage, ()) in Walk::over(layout).from(beside, |_| Some(())) {
        nearest[passage.to] = nearest[passage.from];
    }
    layout.places.iter().map(|place| nearest[place.from].or(nearest[place.to])).collect()
}
