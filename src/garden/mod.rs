//! The garden: parts joined into a network, every one under a unique name, every parameter reachable by a path.
//!
//! A garden is a value: joining and `with` make new gardens and leave the old ones alone. What flows in it is the work of
//! `hydraulics`; here is only who is joined to whom.

mod accepted;
mod changes;
mod drawing;
mod edit;
mod error;
mod excerpt;
mod growth;
#[cfg(test)]
mod growth_tests;
mod join;
mod laying;
mod layout;
mod lists;
mod mains;
mod names;
mod path;
mod place;
mod starting;
#[cfg(test)]
mod tests;
mod units;
pub(crate) mod walk;
mod zoning;

pub use accepted::{Accepted, Thresholds};
pub use changes::{Change, changes};
pub use drawing::{TreeLine, drawing, drawing_within, tree};
pub use edit::Side;
pub use error::GardenError;
pub use excerpt::{Excerpt, Sections};
pub use layout::{Layout, Tail};
pub use lists::Lists;
pub use mains::HOUSE_PRESSURE;
pub use path::{ParameterPath, split_path};
pub use place::Place;
pub use starting::{Starter, booster_of, starters_of};

use crate::atmosphere::{self, AtmosphereError};
use crate::laws::npsh::vapor_gauge_pa;
use crate::parts::{Around, Id, Kind, Law, Part, Spec};
use crate::water::Water;
use growth::Shape;
use layout::Laid;
use std::sync::Arc;

/// A network of parts, or a line that is not fed yet. Two are equal when they were joined in the same order of equal parts, in the
/// same surroundings.
#[derive(Clone, Debug)]
pub struct Garden {
    shape: Shape,
    surroundings: Surroundings,
    accepted: Accepted,
}

impl PartialEq for Garden {
    fn eq(&self, other: &Garden) -> bool {
        self.layout() == other.layout()
            && self.parts() == other.parts()
            && self.surroundings == other.surroundings
            && self.accepted == other.accepted
    }
}

/// What holds for a garden as a whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// The water in all parts, at one temperature.
    pub water: Water,
    /// Pressure of the atmosphere, Pa absolute; default: that at sea level.
    pub atmosphere_pa: f64,
}

impl Default for Surroundings {
    fn default() -> Surroundings {
        Surroundings { water: Water::default(), atmosphere_pa: atmosphere::SEA_LEVEL_PRESSURE_PA }
    }
}

impl Garden {
    pub(crate) fn assemble(layout: Layout, parts: Vec<Arc<Part>>, surroundings: Surroundings, accepted: Accepted) -> Garden {
        let laid = Laid { layout: Arc::new(layout), parts: Arc::new(parts) };
        Garden { shape: Shape::Laid(laid), surroundings, accepted }
    }

    fn shape(&self) -> &Shape {
        &self.shape
    }

    /// The same surroundings and accepted findings around another shape.
    fn with_shape(&self, shape: Shape) -> Garden {
        Garden { shape, surroundings: self.surroundings, accepted: self.accepted.clone() }
    }

    /// Layout and parts.
    fn laid(&self) -> &Laid {
        self.shape.laid()
    }

    /// The same with this layout and these parts.
    fn with_laid(&self, layout: Arc<Layout>, parts: Arc<Vec<Arc<Part>>>) -> Garden {
        self.with_shape(Shape::Laid(Laid { layout, parts }))
    }

    /// A copy that shares nothing with this garden, for another thread.
    pub fn detached(&self) -> Garden {
        let parts = self.parts().iter().map(|part| Arc::new(part.detached())).collect();
        Garden::assemble(self.layout().detached(), parts, self.surroundings, self.accepted.detached())
    }

    /// The shape of the garden: where parts sit and how they are joined.
    #[inline]
    pub fn layout(&self) -> &Layout {
        &self.shape.laid().layout
    }

    /// The layout, to be kept with other parameters.
    pub(crate) fn shared_layout(&self) -> Arc<Layout> {
        Arc::clone(&self.shape.laid().layout)
    }

    /// The parts, in the order in which they were joined; `layout().places` says where each sits.
    #[inline]
    pub fn parts(&self) -> &[Arc<Part>] {
        &self.shape.laid().parts
    }

    /// The parts, to be kept with other parameters.
    pub(crate) fn shared_parts(&self) -> Arc<Vec<Arc<Part>>> {
        Arc::clone(&self.shape.laid().parts)
    }

    /// What the kind of the part in a place is: asks the layout, without a look at the part itself.
    #[inline]
    pub fn spec(&self, place: usize) -> &'static Spec {
        self.layout().spec(place)
    }

    pub(crate) fn part_mut(&mut self, place: usize) -> &mut Part {
        Arc::make_mut(&mut Arc::make_mut(&mut self.shape.laid_mut().parts)[place])
    }

    /// The water in all parts.
    pub fn water(&self) -> &Water {
        &self.surroundings.water
    }

    /// Water and atmosphere.
    pub fn surroundings(&self) -> &Surroundings {
        &self.surroundings
    }

    /// Gauge pressure at which its water parts, Pa: below zero by nearly an atmosphere.
    pub fn vapor_gauge_pa(&self) -> f64 {
        vapor_gauge_pa(self.surroundings.atmosphere_pa, &self.surroundings.water)
    }

    /// The same garden with other water.
    pub fn with_water(&self, water: Water) -> Garden {
        self.with_surroundings(Surroundings { water, ..self.surroundings })
    }

    /// The same garden at another altitude above sea level, m, under the pressure of the standard atmosphere there.
    ///
    /// Errors: an altitude outside the range of [`atmosphere::pressure_pa`].
    pub fn with_altitude(&self, altitude_m: f64) -> Result<Garden, AtmosphereError> {
        let atmosphere_pa = atmosphere::pressure_pa(altitude_m)?;
        Ok(self.with_surroundings(Surroundings { atmosphere_pa, ..self.surroundings }))
    }

    /// The same garden with other water under another atmosphere.
    pub fn with_surroundings(&self, surroundings: Surroundings) -> Garden {
        Garden { surroundings, ..self.clone() }
    }

    /// The name, or followed by the first number that makes it free.
    pub fn free_name(&self, name: &str) -> String {
        let mut names = std::iter::once(name.to_string()).chain((2..).map(|number| format!("{name} {number}")));
        names.find(|name| self.layout().find(name).is_none()).unwrap_or_default()
    }

    /// The findings that its owner has accepted.
    pub fn accepted(&self) -> &Accepted {
        &self.accepted
    }

    /// The same garden, whose findings are judged by these thresholds in place of the usual ones.
    pub fn judged_by(&self, thresholds: &Thresholds) -> Garden {
        if self.accepted.thresholds() == thresholds {
            return self.clone();
        }
        Garden { accepted: self.accepted.judged_by(thresholds), ..self.clone() }
    }

    /// The same garden with a finding accepted, by its code, for a reason. Whether there is such a code is for `findings` to say.
    pub fn accepting(&self, code: &str, reason: &str) -> Garden {
        Garden { accepted: self.accepted.with(code, reason), ..self.clone() }
    }

    /// The same garden with all that another one accepts.
    pub fn accepting_all_of(&self, other: &Garden) -> Garden {
        Garden { accepted: self.accepted.and(&other.accepted), ..self.clone() }
    }

    /// The name of a part by its place.
    pub fn name(&self, place: usize) -> &str {
        &self.layout().places[place].name
    }

    /// The place of a part by its name. Errors: an unknown name lists the nearest.
    pub fn find(&self, name: &str) -> Result<usize, GardenError> {
        self.shape.find(name).ok_or_else(|| GardenError::UnknownName {
            name: name.to_string(),
            known: self.layout().places.iter().map(|place| place.name.to_string()).collect(),
        })
    }

    /// The part of that name. Errors as for [`Garden::find`].
    pub fn part(&self, name: &str) -> Result<&Part, GardenError> {
        Ok(&self.parts()[self.find(name)?])
    }

    /// The same, to be kept; other parts are not looked at.
    pub fn shared_part(&self, name: &str) -> Result<Arc<Part>, GardenError> {
        Ok(self.shape.part(self.find(name)?))
    }

    /// Places of all parts of a kind, in order.
    pub fn of_kind(&self, kind: Kind) -> impl Iterator<Item = usize> + '_ {
        (0..self.parts().len()).filter(move |&place| self.layout().kinds()[place] == kind)
    }

    /// What is around a part: the water, and the diameter of the nearest hose.
    pub fn around(&self, place: usize) -> Around {
        let diameter_m = self.layout().diameter_from()[place].map_or(f64::NAN, |hose| self.parts()[hose].value(Id::Diameter));
        Around { water: *self.water(), diameter_m }
    }

    /// The law of a part where it sits.
    pub fn law_of(&self, place: usize) -> Law {
        self.parts()[place].law(&self.around(place))
    }

    /// Places of all parts whose kind is so, in order.
    pub fn of_spec(&self, is_so: impl Fn(&Spec) -> bool) -> impl Iterator<Item = usize> {
        (0..self.parts().len()).filter(move |&place| is_so(self.spec(place)))
    }

    /// Places of the parts that add pressure while they run.
    pub fn boosters(&self) -> impl Iterator<Item = usize> {
        self.of_spec(|spec| spec.traits.pumps)
    }

    /// Places of the pressure switches.
    pub fn switches(&self) -> impl Iterator<Item = usize> {
        self.of_spec(Spec::is_switch)
    }

    /// Places of all that starts a booster: pressure switches, relays, controls and drives.
    pub fn starters(&self) -> impl Iterator<Item = usize> {
        self.of_spec(|spec| spec.traits.starts.is_some())
    }

    /// Places of the valves of zones.
    pub fn valves(&self) -> impl Iterator<Item = usize> {
        self.of_spec(|spec| spec.traits.opens)
    }

    /// Places of the parts that let water go above their setting.
    pub fn reliefs(&self) -> impl Iterator<Item = usize> {
        self.of_spec(|spec| spec.traits.relieves)
    }

    /// Places of the taps on mains.
    pub fn supplies(&self) -> impl Iterator<Item = usize> {
        self.of_spec(Spec::is_main)
    }

    /// True when something feeds it.
    pub fn is_fed(&self) -> bool {
        self.shape.is_fed()
    }

    /// Which valves stand open when these zones run: one flag a place.
    ///
    /// Errors: a name that is no valve, or a garden that nothing feeds.
    pub fn opened(&self, zones: &[&str]) -> Result<Vec<bool>, GardenError> {
        let mut open: Vec<bool> = self.layout().kinds().iter().map(|kind| !kind.spec().traits.opens).collect();
        for zone in zones {
            open[self.valve(zone)?] = true;
        }
        Ok(open)
    }

    /// The place of the valve of a zone. Errors: a name that is no valve.
    pub fn valve(&self, zone: &str) -> Result<usize, GardenError> {
        let valves = || self.valves().map(|place| self.name(place).to_string()).collect::<Vec<_>>();
        let Some(place) = self.layout().find(zone) else {
            return Err(GardenError::UnknownZone { name: zone.to_string(), valves: valves() });
        };
        let spec = self.spec(place);
        if !spec.traits.opens {
            let word = spec.word;
            return Err(GardenError::NotAValve { name: zone.to_string(), what: word, valves: valves() });
        }
        Ok(place)
    }
}
