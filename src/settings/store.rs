//! Water stored under pressure: by tanks with an air cushion and by hoses that stretch.

use super::error::SettingsError;
use crate::atmosphere::SEA_LEVEL_PRESSURE_PA;
use crate::findings::reach::{Way, keeps_back, reached};
use crate::garden::Garden;
use crate::parts::{Kind, Placing};
use crate::quantity::STANDARD_GRAVITY_M_PER_S2;
use std::collections::VecDeque;

/// Water in a tank with an air cushion at a gauge pressure, m3; nothing at or below the precharge.
///
/// `volume_m3` is that of the whole tank, `precharge_pa` the gauge pressure of its air without water.
/// Source: Boyle's law, isothermal: V (P0 + Pa) / (P + Pa) is the air.
pub fn tank_water_m3(volume_m3: f64, precharge_pa: f64, pressure_pa: f64, atmosphere_pa: f64) -> f64 {
    (volume_m3 * (1.0 - (precharge_pa + atmosphere_pa) / (pressure_pa + atmosphere_pa))).max(0.0)
}

/// Something that stores water, with its pressure above that at the reference place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stored {
    pub place: usize,
    pub law: StoreLaw,
    /// Pressure there less that at the reference place, from heights, Pa.
    pub higher_pa: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StoreLaw {
    Tank {
        volume_m3: f64,
        precharge_pa: f64,
    },
    /// Volume for each pressure, m3/Pa.
    Stretch {
        volume_per_pa: f64,
    },
}

impl Stored {
    /// Water it holds beyond that at no pressure, m3, at a pressure of the reference place.
    pub fn water_m3(&self, pressure_pa: f64) -> f64 {
        let own_pa = pressure_pa + self.higher_pa;
        match self.law {
            StoreLaw::Tank { volume_m3, precharge_pa } => tank_water_m3(volume_m3, precharge_pa, own_pa, SEA_LEVEL_PRESSURE_PA),
            StoreLaw::Stretch { volume_per_pa } => volume_per_pa * own_pa,
        }
    }

    /// Water it gives for each fall of pressure, m3/Pa.
    pub fn per_pa(&self, pressure_pa: f64) -> f64 {
        let own_pa = pressure_pa + self.higher_pa;
        match self.law {
            StoreLaw::Stretch { volume_per_pa } => volume_per_pa,
            StoreLaw::Tank { precharge_pa, .. } if own_pa <= precharge_pa => 0.0,
            StoreLaw::Tank { volume_m3, precharge_pa } => {
                let absolute_pa = own_pa + SEA_LEVEL_PRESSURE_PA;
                volume_m3 * (precharge_pa + SEA_LEVEL_PRESSURE_PA) / (absolute_pa * absolute_pa)
            }
        }
    }

    /// The pressure of the reference place at which its law has a corner, Pa.
    pub fn corner_pa(&self) -> Option<f64> {
        match self.law {
            StoreLaw::Tank { precharge_pa, .. } => Some(precharge_pa - self.higher_pa),
            StoreLaw::Stretch { .. } => None,
        }
    }
}

/// The part of a garden that keeps its pressure when the pump has stopped and the valves are shut.
#[derive(Clone, Debug)]
pub struct Store {
    /// Where pressures are read: a switch, a tank, or the part that was named.
    pub at: usize,
    pub stored: Vec<Stored>,
    /// Outlets that are joined to it without a valve, with their pressure above that at the reference place, Pa.
    pub outlets: Vec<(usize, f64)>,
}

impl Store {
    /// What keeps the pressure at a place: everything joined to it, as far as shut valves, check valves and regulators.
    ///
    /// Errors: an unknown name, no switch or tank to go by, or nothing that keeps water from running back to a source.
    pub fn of(garden: &Garden, at: Option<&str>) -> Result<Store, SettingsError> {
        let at = reference(garden, at)?;
        let heights = heights_around(garden, garden.layout().places[at].to);
        let mut store = Store { at, stored: Vec::new(), outlets: Vec::new() };
        for (place, part) in garden.parts().iter().enumerate() {
            let joint = &garden.layout().places[place];
            let (Some(from_pa), Some(to_pa)) = (heights[joint.from], heights[joint.to]) else { continue };
            let higher_pa = 0.5 * (from_pa + to_pa);
            match part.kind() {
                _ if part.spec().placing == Placing::Source => {
                    return Err(SettingsError::RunsBack { name: garden.name(place).into() });
                }
                Kind::Hose | Kind::Pipe => {
                    let volume_per_pa = part.si("stretch").unwrap_or(0.0) * part.value(0);
                    if volume_per_pa > 0.0 {
                        store.stored.push(Stored { place, law: StoreLaw::Stretch { volume_per_pa }, higher_pa });
                    }
                }
                Kind::PressureTank => {
                    let law = StoreLaw::Tank { volume_m3: part.value(0), precharge_pa: part.value(1) };
                    store.stored.push(Stored { place, law, higher_pa });
                }
                _ if part.spec().placing == Placing::Outlet => store.outlets.push((place, higher_pa)),
                _ => {}
            }
        }
        if store.stored.is_empty() { Err(SettingsError::NoStore) } else { Ok(store) }
    }

    /// Water stored at a pressure of the reference place, m3.
    pub fn water_m3(&self, pressure_pa: f64) -> f64 {
        self.stored.iter().map(|stored| stored.water_m3(pressure_pa)).sum()
    }

    /// Water given for each fall of pressure, m3/Pa.
    pub fn per_pa(&self, pressure_pa: f64) -> f64 {
        self.stored.iter().map(|stored| stored.per_pa(pressure_pa)).sum()
    }
}

/// The named part, or else the first switch or tank.
fn reference(garden: &Garden, at: Option<&str>) -> Result<usize, SettingsError> {
    if let Some(name) = at {
        return Ok(garden.find(name)?);
    }
    let first = [Kind::PressureSwitch, Kind::PressureTank].into_iter().find_map(|kind| garden.of_kind(kind).next());
    first.ok_or(SettingsError::NoPlace)
}

/// For each node that keeps its pressure with the start: how much higher its pressure is, Pa.
fn heights_around(garden: &Garden, start: usize) -> Vec<Option<f64>> {
    let places = &garden.layout().places;
    let kept = reached(garden, start, |place, way| passes(garden, place, way));
    let per_m = garden.water().density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2;
    let mut higher_pa: Vec<Option<f64>> = vec![None; kept.len()];
    higher_pa[start] = Some(0.0);
    let mut queue = VecDeque::from([start]);
    while let Some(node) = queue.pop_front() {
        let here_pa = higher_pa[node].unwrap_or(0.0);
        for (place, joint) in places.iter().enumerate() {
            let part = &garden.parts()[place];
            if part.spec().placing != Placing::Inline {
                continue;
            }
            let climb_pa = if part.kind() == Kind::Climb { per_m * part.value(0) } else { 0.0 };
            let ways = [(joint.from, joint.to, Way::Down, -climb_pa), (joint.to, joint.from, Way::Up, climb_pa)];
            for (near, far, way, change_pa) in ways {
                if near == node && kept[far] && higher_pa[far].is_none() && passes(garden, place, way) {
                    higher_pa[far] = Some(here_pa + change_pa);
                    queue.push_back(far);
                }
            }
        }
    }
    higher_pa
}

/// True where pressure spreads through a part that nothing flows through: not through shut valves, not back through parts
/// that keep water back, and not past a regulator.
fn passes(garden: &Garden, place: usize, way: Way) -> bool {
    match garden.parts()[place].kind() {
        Kind::Valve | Kind::Regulator => false,
        _ if keeps_back(garden, place) => way == Way::Down,
        _ => true,
    }
}
