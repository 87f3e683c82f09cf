//! The part of a garden that keeps its pressure when the pump has stopped, and how pressures lie in it in still water.
//!
//! How much water it holds, and how it runs out, is the work of `operation`.

use super::error::SettingsError;
use crate::garden::Garden;
use crate::garden::walk::{Way, keeps_back, rises};
use crate::laws::section::pressure_of_head_pa;
use crate::parts::{Placing, Spec};

/// What keeps its pressure together with a place.
#[derive(Clone, Debug)]
pub struct Store {
    /// Where pressures are read: a switch, a tank, or the part that was named.
    pub at: usize,
    /// Outlets that are joined to it without a valve.
    pub outlets: Vec<usize>,
    /// For each node of the garden that keeps its pressure with the place: how much higher it is in still water, Pa.
    pub higher_pa: Vec<Option<f64>>,
}

impl Store {
    /// What keeps the pressure at a place: everything joined to it, as far as closed valves, check valves and regulators.
    ///
    /// Errors: an unknown name, no switch or tank to go by, nothing that stores water, or nothing that keeps water from
    /// running back to a source.
    pub fn of(garden: &Garden, at: Option<&str>) -> Result<Store, SettingsError> {
        let at = reference(garden, at)?;
        let places = &garden.layout().places;
        let mut store = Store { at, outlets: Vec::new(), higher_pa: heights_around(garden, places[at].to) };
        let mut stores = false;
        for (place, part) in garden.parts().iter().enumerate() {
            let (from, to) = (store.higher_pa[places[place].from], store.higher_pa[places[place].to]);
            if from.is_none() || to.is_none() {
                continue;
            }
            match part.kind() {
                _ if part.spec().placing == Placing::Source => {
                    return Err(SettingsError::RunsBack { name: garden.name(place).into() });
                }
                _ if part.spec().placing == Placing::Outlet => store.outlets.push(place),
                _ => stores |= part.vessel().is_some(),
            }
        }
        if stores { Ok(store) } else { Err(SettingsError::NoStore) }
    }
}

/// The named part, or else the first switch or tank.
fn reference(garden: &Garden, at: Option<&str>) -> Result<usize, SettingsError> {
    if let Some(name) = at {
        return Ok(garden.find(name)?);
    }
    let first = garden.switches().chain(garden.of_spec(Spec::has_cushion)).next();
    first.ok_or(SettingsError::NoPlace)
}

/// For each node that keeps its pressure with the start: how much higher its pressure is, Pa.
fn heights_around(garden: &Garden, start: usize) -> Vec<Option<f64>> {
    rises(garden, start, |place, way| passes(garden, place, way).then(|| garden.parts()[place].rise_m()))
        .into_iter()
        .map(|height_m| Some(-pressure_of_head_pa(height_m?, garden.water().density_kg_per_m3)))
        .collect()
}

/// True where pressure spreads through a part that nothing flows through: not through closed valves, not back through parts
/// that keep water back, and not past a regulator.
fn passes(garden: &Garden, place: usize, way: Way) -> bool {
    match garden.spec(place) {
        spec if spec.traits.opens || spec.regulates() => false,
        _ if keeps_back(garden, place) => way == Way::Down,
        _ => true,
    }
}
