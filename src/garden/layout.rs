//! Who is joined to whom: places of parts between nodes, and the open ends of a line.

use super::error::GardenError;
use super::place::Place;
use super::walk::Walk;
use crate::parts::Part;
use std::collections::HashMap;
use std::fmt;
use std::sync::{Arc, OnceLock};

/// An end of a line from which it can go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tail {
    /// The node at which the line goes on.
    pub node: usize,
    /// True behind an outlet: the line may go on from it, but is not joined with other branches.
    pub ended: bool,
}

/// The shape of a garden without its numbers.
pub struct Layout {
    /// Where each part sits; the place of a part is its number in this list.
    pub places: Vec<Place>,
    /// Nodes are numbered from zero to one below this.
    pub number_of_nodes: usize,
    /// The node by which a line that is not fed yet can be joined to another.
    pub inlet: Option<usize>,
    /// Its open ends, from which [`Garden::then`](super::Garden::then) goes on.
    pub tails: Vec<Tail>,
    /// For each place the hose whose diameter it takes when it has none of its own.
    pub diameter_from: Vec<Option<usize>>,
    by_name: HashMap<Arc<str>, usize>,
    joined: OnceLock<Vec<Vec<usize>>>,
}

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
        let layout = Layout { inlet, tails, ..Layout::of_places(places, number_of_nodes, Vec::new()) };
        Ok(Layout { diameter_from: nearest_hoses(&layout, parts), ..layout })
    }

    /// A layout of named places without an open end.
    pub(super) fn of_places(places: Vec<Place>, number_of_nodes: usize, diameter_from: Vec<Option<usize>>) -> Layout {
        let by_name = places.iter().enumerate().map(|(index, place)| (Arc::clone(&place.name), index)).collect();
        Layout { places, number_of_nodes, inlet: None, tails: Vec::new(), diameter_from, by_name, joined: OnceLock::new() }
    }

    /// A copy that shares nothing with this layout; what was worked out from it is worked out again.
    pub(super) fn detached(&self) -> Layout {
        let name = |place: &Place| Place { name: Arc::from(&*place.name), ..place.clone() };
        let fresh = Layout::of_places(self.places.iter().map(name).collect(), self.number_of_nodes, self.diameter_from.clone());
        Layout { inlet: self.inlet, tails: self.tails.clone(), ..fresh }
    }

    /// For each node the places that have an end there, in their order; worked out once.
    pub fn joined(&self) -> &[Vec<usize>] {
        self.joined.get_or_init(|| {
            let mut joined: Vec<Vec<usize>> = vec![Vec::new(); self.number_of_nodes];
            for (index, place) in self.places.iter().enumerate() {
                joined[place.from].push(index);
                if place.to != place.from {
                    joined[place.to].push(index);
                }
            }
            joined
        })
    }

    /// The place of the part of that name; nothing where no part has it.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }
}

/// What is worked out from the rest does not count.
impl PartialEq for Layout {
    fn eq(&self, other: &Layout) -> bool {
        self.places == other.places
            && self.number_of_nodes == other.number_of_nodes
            && self.inlet == other.inlet
            && self.tails == other.tails
            && self.diameter_from == other.diameter_from
    }
}

impl fmt::Debug for Layout {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Layout").field("places", &self.places).field("tails", &self.tails).finish_non_exhaustive()
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
fn nearest_hoses(layout: &Layout, parts: &[Arc<Part>]) -> Vec<Option<usize>> {
    let is_hose = |place: &usize| parts[*place].spec().is_line();
    let mut nearest: Vec<Option<usize>> = layout.joined().iter().map(|here| here.iter().copied().find(is_hose)).collect();
    let beside: Vec<usize> = (0..nearest.len()).filter(|&node| nearest[node].is_some()).collect();
    for (passage, ()) in Walk::over(&layout.places, layout.joined(), parts).from(beside, |_| Some(())) {
        nearest[passage.to] = nearest[passage.from];
    }
    layout.places.iter().map(|place| nearest[place.from].or(nearest[place.to])).collect()
}
