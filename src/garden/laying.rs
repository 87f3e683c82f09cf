//! From joints to a layout: names are given or generated, each part finds the hose whose diameter it takes, and each drive its booster.

use super::error::GardenError;
use super::layout::{Layout, Lenders, Tail};
use super::place::Place;
use super::starting::drives;
use super::walk::Walk;
use crate::parts::Part;
use std::collections::HashMap;
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

/// Given names as they are, generated ones from the word of the part and a number that is free.
fn unique_names(parts: &[Arc<Part>]) -> Result<Vec<Arc<str>>, GardenError> {
    let mut taken: std::collections::HashSet<Arc<str>> = std::collections::HashSet::new();
    for name in parts.iter().filter_map(|part| part.name()) {
        if !taken.insert(name.into()) {
            return Err(GardenError::TwoOfAName { name: name.to_string() });
        }
    }
    let mut counts: HashMap<&str, usize> = HashMap::new();
    let mut names = Vec::with_capacity(parts.len());
    for part in parts {
        if let Some(name) = part.name() {
            names.push(Arc::from(name));
            continue;
        }
        let word = part.spec().word;
        let count = counts.entry(word).or_insert(0);
        let name: Arc<str> = loop {
            *count += 1;
            let name: Arc<str> = if *count == 1 { word.into() } else { format!("{word}{count}").into() };
            if taken.insert(Arc::clone(&name)) {
                break name;
            }
        };
        names.push(name);
    }
    Ok(names)
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
