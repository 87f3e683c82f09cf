//! The garden: parts joined into a network, every one under a unique name, every number within reach by a path.
//!
//! A garden is a value: joining and `but` make new gardens and leave the old ones alone. What flows in it is the work of
//! `hydraulics`; here is only who is joined to whom.

mod draw;
mod error;
mod join;
mod layout;
mod path;

pub use draw::{drawing, drawing_within};
pub use error::GardenError;
pub use layout::{Layout, Place, Tail};
pub use path::{NumberPath, split_path};

use crate::parts::{Kind, Part, Placing};
use crate::water::Water;
use std::sync::Arc;

/// A network of parts, or a line that is not fed yet.
#[derive(Clone, Debug)]
pub struct Garden {
    layout: Arc<Layout>,
    parts: Vec<Arc<Part>>,
    water: Water,
}

impl Garden {
    /// A garden of a single part, to be joined with others.
    pub fn of(part: Part) -> Garden {
        join::single(part)
    }

    pub(crate) fn assemble(layout: Layout, parts: Vec<Arc<Part>>, water: Water) -> Garden {
        Garden { layout: Arc::new(layout), parts, water }
    }

    /// A copy that shares nothing with this garden, for another thread.
    pub fn detached(&self) -> Garden {
        let parts = self.parts.iter().map(|part| Arc::new(part.detached())).collect();
        Garden { layout: Arc::new(self.layout.detached()), parts, water: self.water }
    }

    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The layout, to be kept beside other numbers.
    pub(crate) fn shared_layout(&self) -> Arc<Layout> {
        Arc::clone(&self.layout)
    }

    /// The parts, in the order in which they were joined; `layout().places` tells where each sits.
    pub fn parts(&self) -> &[Arc<Part>] {
        &self.parts
    }

    pub(crate) fn part_mut(&mut self, place: usize) -> &mut Part {
        Arc::make_mut(&mut self.parts[place])
    }

    pub fn water(&self) -> &Water {
        &self.water
    }

    /// The same garden with other water.
    pub fn with_water(&self, water: Water) -> Garden {
        Garden { water, ..self.clone() }
    }

    /// The name of a part by its place.
    pub fn name(&self, place: usize) -> &str {
        &self.layout.places[place].name
    }

    /// The place of a part by its name. Errors: an unknown name lists the nearest.
    pub fn find(&self, name: &str) -> Result<usize, GardenError> {
        self.layout.find(name).ok_or_else(|| GardenError::UnknownName {
            name: name.to_string(),
            known: self.layout.places.iter().map(|place| place.name.to_string()).collect(),
        })
    }

    /// The part of that name. Errors as for [`Garden::find`].
    pub fn part(&self, name: &str) -> Result<&Part, GardenError> {
        Ok(&self.parts[self.find(name)?])
    }

    /// Places of all parts of a kind, in order.
    pub fn of_kind(&self, kind: Kind) -> impl Iterator<Item = usize> + '_ {
        (0..self.parts.len()).filter(move |&place| self.parts[place].kind() == kind)
    }

    /// True when something feeds it.
    pub fn is_fed(&self) -> bool {
        self.parts.iter().any(|part| part.spec().placing == Placing::Source)
    }

    /// Which valves stand open when these zones run: one flag a place.
    ///
    /// Errors: a name that is no valve, or a garden that nothing feeds.
    pub fn opened(&self, zones: &[&str]) -> Result<Vec<bool>, GardenError> {
        let mut open: Vec<bool> = self.parts.iter().map(|part| part.kind() != Kind::Valve).collect();
        for zone in zones {
            let valves = || self.of_kind(Kind::Valve).map(|place| self.name(place).to_string()).collect::<Vec<_>>();
            let Some(place) = self.layout.find(zone) else {
                return Err(GardenError::UnknownZone { name: (*zone).to_string(), valves: valves() });
            };
            if self.parts[place].kind() != Kind::Valve {
                let word = self.parts[place].spec().word;
                return Err(GardenError::NotAValve { name: (*zone).to_string(), word, valves: valves() });
            }
            open[place] = true;
        }
        Ok(open)
    }
}
