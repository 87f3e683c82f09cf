//! Who is joined to whom: places of parts between nodes, and the open ends of a line.

use super::lists::Lists;
use super::place::Place;
use crate::parts::{Kind, Part, Placing, Spec};
use std::collections::HashMap;
use std::fmt;
use std::sync::{Arc, OnceLock};

/// An end of a line from which it can go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tail {
    /// The node at which the line goes on.
    pub node: usize,
    /// True downstream of an outlet: the line may go on from it, but is not joined with other branches.
    pub ended: bool,
}

/// A drive and the booster whose speed it changes, by their places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Driven {
    /// Place of the drive.
    pub place: usize,
    /// Place of the booster.
    pub booster: usize,
}

/// The shape of a garden without its parameters.
pub struct Layout {
    /// Where each part sits; the place of a part is its number in this list.
    pub places: Vec<Place>,
    /// Nodes are numbered from zero to one below this.
    pub number_of_nodes: usize,
    /// The node by which a line that is not fed yet can be joined to another.
    pub inlet: Option<usize>,
    /// Its open ends, from which [`Garden::then`](super::Garden::then) goes on.
    pub tails: Vec<Tail>,
    /// The drives with the boosters that they hold at a pressure.
    pub drives: Vec<Driven>,
    /// The kind of the part in each place: close together, for walks that ask nothing else of the parts.
    kinds: Vec<Kind>,
    by_name: OnceLock<HashMap<Arc<str>, usize>>,
    joined: OnceLock<Lists>,
    takers: OnceLock<Lists>,
    /// For each place the hose whose diameter it takes, and how that is found.
    lenders: OnceLock<Vec<Option<usize>>>,
    find_lenders: FindLenders,
}

/// For each place the hose whose diameter it takes when it has none of its own.
type FindLenders = fn(&Layout) -> Vec<Option<usize>>;

/// The hoses whose diameters are taken: known, or found when somebody asks for them.
pub(super) enum Lenders {
    Known(Vec<Option<usize>>),
    Found(FindLenders),
}

/// Parts with the layout of where they sit.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub layout: Arc<Layout>,
    pub parts: Arc<Vec<Arc<Part>>>,
}

/// Up to this many places a name is looked for among them one by one.
const FEW_PLACES: usize = 16;

impl Layout {
    /// A layout of named places without an open end.
    pub(super) fn of_places(places: Vec<Place>, kinds: Vec<Kind>, number_of_nodes: usize, lenders: Lenders) -> Layout {
        let (lenders, find_lenders): (_, FindLenders) = match lenders {
            Lenders::Known(known) => (OnceLock::from(known), |_| Vec::new()),
            Lenders::Found(find) => (OnceLock::new(), find),
        };
        Layout {
            places,
            number_of_nodes,
            inlet: None,
            tails: Vec::new(),
            kinds,
            by_name: OnceLock::new(),
            joined: OnceLock::new(),
            takers: OnceLock::new(),
            lenders,
            find_lenders,
            drives: Vec::new(),
        }
    }

    /// A copy that shares nothing with this layout; what was worked out from it is worked out again.
    pub(super) fn detached(&self) -> Layout {
        let name = |place: &Place| Place { name: Arc::from(&*place.name), ..place.clone() };
        let fresh = Layout::of_places(
            self.places.iter().map(name).collect(),
            self.kinds.clone(),
            self.number_of_nodes,
            Lenders::Known(self.diameter_from().to_vec()),
        );
        Layout { inlet: self.inlet, tails: self.tails.clone(), drives: self.drives.clone(), ..fresh }
    }

    /// For each place the hose whose diameter it takes when it has none of its own; worked out once.
    pub fn diameter_from(&self) -> &[Option<usize>] {
        self.lenders.get_or_init(|| (self.find_lenders)(self))
    }

    /// For each node the places that have an end there, in their order; worked out once.
    pub fn joined(&self) -> &Lists {
        self.joined.get_or_init(|| {
            let ends = |(index, place): (usize, &Place)| {
                let other = (place.to != place.from).then_some((place.to, index));
                [Some((place.from, index)), other].into_iter().flatten()
            };
            Lists::of(self.number_of_nodes, self.places.iter().enumerate().flat_map(ends))
        })
    }

    /// For each hose the places in line that take its diameter when they have none of their own; worked out once.
    pub(crate) fn takers(&self) -> &Lists {
        self.takers.get_or_init(|| {
            let inline = |place: usize| self.spec(place).placing == Placing::Inline;
            let taken =
                self.diameter_from().iter().enumerate().filter_map(|(place, hose)| Some((hose.as_ref().copied()?, place)));
            Lists::of(self.places.len(), taken.filter(|&(hose, place)| hose != place && inline(place)))
        })
    }

    /// The drive of a booster, by their places; none where it has none.
    pub fn drive_of(&self, booster: usize) -> Option<usize> {
        self.drives.iter().find(|drive| drive.booster == booster).map(|drive| drive.place)
    }

    /// The booster that a drive holds at a pressure, by their places; none for other parts.
    pub fn driven_by(&self, place: usize) -> Option<usize> {
        self.drives.iter().find(|drive| drive.place == place).map(|drive| drive.booster)
    }

    /// What the kind of the part in a place is.
    #[inline]
    pub fn spec(&self, place: usize) -> &'static Spec {
        self.kinds[place].spec()
    }

    /// The kinds of the parts in all places.
    pub(crate) fn kinds(&self) -> &[Kind] {
        &self.kinds
    }

    /// The place of the part of that name; none where no part has it.
    pub fn find(&self, name: &str) -> Option<usize> {
        if self.places.len() <= FEW_PLACES {
            return self.places.iter().position(|place| &*place.name == name);
        }
        let named = || self.places.iter().enumerate().map(|(index, place)| (Arc::clone(&place.name), index)).collect();
        self.by_name.get_or_init(named).get(name).copied()
    }
}

/// What is worked out from the rest does not count.
impl PartialEq for Layout {
    fn eq(&self, other: &Layout) -> bool {
        self.places == other.places
            && self.number_of_nodes == other.number_of_nodes
            && self.inlet == other.inlet
            && self.tails == other.tails
            && self.diameter_from() == other.diameter_from()
            && self.kinds == other.kinds
    }
}

impl fmt::Debug for Layout {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Layout").field("places", &self.places).field("tails", &self.tails).finish_non_exhaustive()
    }
}
