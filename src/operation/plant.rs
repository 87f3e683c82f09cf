//! The plant: a garden made ready for a run over time. Its stored water is put in as sources whose pressure is set.
//!
//! Finds what stores water and where; vessels that no resistance keeps apart become one storage.

use super::error::OperationError;
use super::storage::{Barrel, Item, Storage, Vessel, WATER_BULK_MODULUS_PA, barrel_m3_per_pa};
use crate::garden::Garden;
use crate::hydraulics::booster_of;
use crate::parts::{Around, Kind, Law, Part, Placing};
use crate::quantity::{Quantity, dim};
use std::collections::VecDeque;
use std::f64::consts::PI;

/// Resistance that counts as none, Pa s2/m6: 100 Pa at 10 gpm.
const NO_RESISTANCE: f64 = 2.5e8;
/// Resistance of a pump at rest where nothing else keeps two storages apart, Pa s2/m6: 200 Pa at 10 gpm.
pub const PUMP_AT_REST: f64 = 5e8;

/// Whether pumps at rest count as a way without loss.
#[derive(Clone, Copy, PartialEq)]
enum Pumps {
    LetThrough,
    KeepApart,
}

/// Water in the line that is taken at least, m3: a litre.
const LEAST_WATER_M3: f64 = 1e-3;

/// A switch and what it drives.
#[derive(Clone, Copy, Debug)]
pub struct Switch {
    pub place: usize,
    pub booster: usize,
    pub cut_in_pa: f64,
    pub cut_out_pa: f64,
}

/// A flow that is added up over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tracked {
    pub place: usize,
    /// +1 for what flows in the direction of the part, -1 for what comes back.
    pub sign: f64,
}

/// A garden made ready for a run over time.
#[derive(Clone, Debug)]
pub struct Plant {
    /// The garden as it was given.
    pub garden: Garden,
    /// The garden with stored water as sources; its first places are those of `garden`.
    pub hydraulic: Garden,
    pub storages: Vec<Storage>,
    pub switches: Vec<Switch>,
    pub tracked: Vec<Tracked>,
    pub boosters: Vec<usize>,
    /// Nothing stores water but the compression of what stands in the line.
    pub is_stiff: bool,
    /// Only a pump keeps two storages apart, so that at rest it needs some resistance.
    pub pumps_resist: bool,
}

impl Plant {
    /// Errors: nothing feeds the garden.
    pub fn of(garden: &Garden) -> Result<Plant, OperationError> {
        if !garden.is_fed() {
            return Err(crate::garden::GardenError::NotFed.into());
        }
        let switches: Vec<Switch> = garden.of_kind(Kind::PressureSwitch).filter_map(|place| switch(garden, place)).collect();
        let found = vessels(garden);
        let is_stiff = found.is_empty() && !switches.is_empty();
        let apart = merge(garden, found.clone(), Pumps::LetThrough).len();
        let mut groups = merge(garden, found, Pumps::KeepApart);
        let pumps_resist = groups.len() > apart;
        let squeezed = water_in_line_m3(garden) / WATER_BULK_MODULUS_PA;
        if is_stiff {
            let node = garden.layout().places[switches[0].place].to;
            groups.push(Group { node, items: Vec::new() });
        }
        let share = squeezed / groups.len().max(1) as f64;
        for group in &mut groups {
            group.items.push(Item { place: None, vessel: Vessel::Linear { m3_per_pa: share }, offset_pa: 0.0 });
        }
        let mut hydraulic = garden.clone();
        let mut storages = Vec::new();
        for (index, group) in groups.into_iter().enumerate() {
            let source = hydraulic.parts().len();
            hydraulic = feed(&hydraulic, group.node, index)?;
            storages.push(Storage { source, items: group.items, barrel: None });
        }
        storages.extend(garden.of_kind(Kind::OpenTank).filter_map(|place| barrel(garden, place)));
        Ok(Plant {
            hydraulic,
            storages,
            switches,
            tracked: tracked(garden),
            boosters: garden.of_kind(Kind::Booster).collect(),
            is_stiff,
            pumps_resist,
            garden: garden.clone(),
        })
    }

    /// Number of values that are added up over time: net inflow of each storage, what runs over from each, tracked flows,
    /// power of each booster.
    pub fn integrands(&self) -> usize {
        self.first_tracked() + self.tracked.len() + self.boosters.len()
    }

    /// Where the tracked flows begin among the values that are added up.
    pub fn first_tracked(&self) -> usize {
        2 * self.storages.len()
    }
}

fn switch(garden: &Garden, place: usize) -> Option<Switch> {
    let part = &garden.parts()[place];
    Some(Switch { place, booster: booster_of(garden, place)?, cut_in_pa: part.si("cut_in")?, cut_out_pa: part.si("cut_out")? })
}

fn tracked(garden: &Garden) -> Vec<Tracked> {
    let mut tracked = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        match part.spec().placing {
            _ if part.kind() == Kind::Valve => tracked.push(Tracked { place, sign: 1.0 }),
            Placing::Outlet => tracked.push(Tracked { place, sign: 1.0 }),
            Placing::Source => tracked.extend([1.0, -1.0].map(|sign| Tracked { place, sign })),
            _ => {}
        }
    }
    tracked
}

/// What stores water, with its node: tanks, and hoses that stretch, whose stretch sits at their far end.
fn vessels(garden: &Garden) -> Vec<(usize, Item)> {
    let places = &garden.layout().places;
    let vessel = |(place, part): (usize, &std::sync::Arc<Part>)| {
        let vessel = match part.kind() {
            Kind::PressureTank => Vessel::Cushion { volume_m3: part.si("volume")?, precharge_pa: part.si("precharge")? },
            Kind::Hose | Kind::Pipe => {
                let m3_per_pa = part.si("stretch")? * part.si("length")?;
                (m3_per_pa > 0.0).then_some(Vessel::Linear { m3_per_pa })?
            }
            _ => return None,
        };
        Some((places[place].to, Item { place: Some(place), vessel, offset_pa: 0.0 }))
    };
    garden.parts().iter().enumerate().filter_map(vessel).collect()
}

/// Vessels of one storage.
struct Group {
    node: usize,
    items: Vec<Item>,
}

/// Puts vessels together that are joined without resistance.
fn merge(garden: &Garden, found: Vec<(usize, Item)>, pumps: Pumps) -> Vec<Group> {
    let mut groups: Vec<(Group, Vec<Option<f64>>)> = Vec::new();
    for (node, item) in found {
        match groups.iter_mut().find_map(|(group, reach)| Some((group, reach[node]?))) {
            Some((group, offset_pa)) => group.items.push(Item { offset_pa, ..item }),
            None => groups.push((Group { node, items: vec![item] }, without_loss(garden, node, pumps))),
        }
    }
    groups.into_iter().map(|(group, _)| group).collect()
}

/// By how much the pressure at each node differs from that at `start` whatever flows; nothing where a loss lies between.
fn without_loss(garden: &Garden, start: usize, pumps: Pumps) -> Vec<Option<f64>> {
    let layout = garden.layout();
    let mut offset_pa = vec![None; layout.number_of_nodes];
    offset_pa[start] = Some(0.0);
    let mut queue = VecDeque::from([(start, 0.0)]);
    while let Some((node, here_pa)) = queue.pop_front() {
        for (place, joint) in layout.places.iter().enumerate() {
            let Some(rise_pa) = lossless_rise_pa(garden, place, pumps) else { continue };
            for (near, far, there_pa) in [(joint.from, joint.to, here_pa - rise_pa), (joint.to, joint.from, here_pa + rise_pa)] {
                if near == node && offset_pa[far].is_none() {
                    offset_pa[far] = Some(there_pa);
                    queue.push_back((far, there_pa));
                }
            }
        }
    }
    offset_pa
}

/// The pressure that a part in line takes away whatever flows; nothing when it has a loss or can be shut.
fn lossless_rise_pa(garden: &Garden, place: usize, pumps: Pumps) -> Option<f64> {
    let part = &garden.parts()[place];
    if part.spec().placing != Placing::Inline || part.kind() == Kind::Valve {
        return None;
    }
    match law_of(garden, place) {
        Law::Booster { .. } if pumps == Pumps::LetThrough => Some(0.0),
        Law::Free if part.kind() != Kind::Booster => Some(0.0),
        Law::Quadratic { resistance } if resistance < NO_RESISTANCE => Some(0.0),
        Law::Climb { rise_pa } => Some(rise_pa),
        _ => None,
    }
}

/// The law of a part in its garden.
pub fn law_of(garden: &Garden, place: usize) -> Law {
    garden.parts()[place].law(&around(garden, place))
}

/// The surroundings of a part in its garden.
pub fn around(garden: &Garden, place: usize) -> Around {
    let bore_m = garden.layout().bore_from[place].map_or(f64::NAN, |hose| garden.parts()[hose].value(1));
    Around { water: *garden.water(), bore_m }
}

/// Water that stands in hoses and pipes, m3.
fn water_in_line_m3(garden: &Garden) -> f64 {
    let hoses = garden.parts().iter().filter(|part| matches!(part.kind(), Kind::Hose | Kind::Pipe));
    let volume: f64 = hoses.map(|hose| PI / 4.0 * hose.value(1) * hose.value(1) * hose.value(0)).sum();
    volume.max(LEAST_WATER_M3)
}

/// The garden with a source at a node.
fn feed(garden: &Garden, node: usize, index: usize) -> Result<Garden, OperationError> {
    feed_at(garden, node, &format!("stored water {}", index + 1))
}

/// The garden with a source of a name at a node.
pub fn feed_at(garden: &Garden, node: usize, source: &str) -> Result<Garden, OperationError> {
    let layout = garden.layout();
    let name = (0..layout.places.len()).find(|&place| layout.places[place].to == node).map(|place| garden.name(place));
    let at = name.unwrap_or_default().to_string();
    let pressure = Quantity::new(1.0, dim::PRESSURE);
    let part =
        Part::build(Kind::Supply, Some(source), &[("static_pressure", pressure)]).map_err(crate::garden::GardenError::Part)?;
    Ok(garden.feed(&at, &Garden::of(part))?)
}

/// An open tank whose content is known.
fn barrel(garden: &Garden, place: usize) -> Option<Storage> {
    let part = &garden.parts()[place];
    let (volume_m3, level_m) = (part.si("volume")?, part.si("level").filter(|level_m| *level_m > 0.0)?);
    let m3_per_pa = barrel_m3_per_pa(volume_m3, level_m, garden.water().density_kg_per_m3);
    let barrel = Barrel { place, inflow_m3_per_s: part.si("inflow").unwrap_or(0.0), full_pa: volume_m3 / m3_per_pa };
    let items = vec![Item { place: Some(place), vessel: Vessel::Linear { m3_per_pa }, offset_pa: 0.0 }];
    Some(Storage { source: place, items, barrel: Some(barrel) })
}
