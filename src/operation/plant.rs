//! The plant: a garden made ready for a run over time. Its stored water is put in as sources whose pressure is set.
//!
//! Finds what stores water and where; vessels that no resistance keeps apart become one storage.

use super::error::OperationError;
use super::storage::{Barrel, Storage};
use super::tolerances::{HARDLY_ANY_RESISTANCE, LEAST_WATER_M3, NO_RESISTANCE};
use crate::garden::walk::{Way, reached_from, rises};
use crate::garden::{Garden, Starter, starters_of};
use crate::laws::section::area_m2;
use crate::laws::vessel::{Held, Store, Vessel, WATER_BULK_MODULUS_PA, open_tank_m3_per_pa};
use crate::parts::{Id, Kind, Law, Part, Placing, Spec, Start};
use crate::quantity::{Quantity, dim};
use std::sync::Arc;

/// What starts and stops a booster, and when.
#[derive(Clone, Debug)]
pub struct Switch {
    pub place: usize,
    pub booster: usize,
    pub rule: Rule,
}

/// When a booster starts and stops.
#[derive(Clone, Debug)]
pub enum Rule {
    /// Between two pressures.
    Pressure { cut_in_pa: f64, cut_out_pa: f64 },
    /// Some time after one of these valves is opened, until all of them are closed.
    Zones { valves: Vec<usize>, delay_s: f64 },
    /// At or below a pressure, until less than a flow has moved for some time; of a drive also the pressure that it holds meanwhile, and with
    /// which the water needs no booster.
    Flow { cut_in_pa: f64, least_m3_per_s: f64, delay_s: f64, holds_pa: Option<f64> },
}

impl Rule {
    /// The pressure at or below which the booster starts, Pa; none for one that no pressure starts.
    pub fn cut_in_pa(&self) -> Option<f64> {
        match self {
            Rule::Pressure { cut_in_pa, .. } | Rule::Flow { cut_in_pa, .. } => Some(*cut_in_pa),
            Rule::Zones { .. } => None,
        }
    }

    /// How long a reason to act must last until it acts, s.
    pub fn delay_s(&self) -> f64 {
        match self {
            Rule::Pressure { .. } => 0.0,
            Rule::Zones { delay_s, .. } | Rule::Flow { delay_s, .. } => *delay_s,
        }
    }
}

/// A flow that is added up over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tracked {
    pub place: usize,
    /// +1 for what flows in the direction of the part, -1 for what comes back.
    pub sign: f64,
    /// What it counts in the balance of the garden: 1 for what comes from outside, -1 for what goes there, 0 for what stays.
    pub counts: f64,
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
}

impl Plant {
    /// Errors: nothing feeds the garden.
    pub fn of(garden: &Garden) -> Result<Plant, OperationError> {
        if !garden.is_fed() {
            return Err(crate::garden::GardenError::NotFed.into());
        }
        let switches: Vec<Switch> = starters_of(garden).into_iter().filter_map(|starter| switch(garden, starter)).collect();
        let found = vessels(garden);
        let felt = switches.iter().find(|switch| switch.rule.cut_in_pa().is_some());
        let stiff_at = felt.filter(|_| found.is_empty()).map(|switch| garden.layout().places[switch.place].to);
        let mut groups = merge(garden, found);
        let squeezed = water_in_line_m3(garden) / WATER_BULK_MODULUS_PA;
        groups.extend(stiff_at.map(|node| Group { node, items: Vec::new() }));
        let share = squeezed / groups.len().max(1) as f64;
        for group in &mut groups {
            group.items.push(Item { place: None, held: Held { vessel: Vessel::Linear { m3_per_pa: share }, offset_pa: 0.0 } });
        }
        let mut hydraulic = garden.clone();
        let mut storages = Vec::new();
        for (index, group) in groups.into_iter().enumerate() {
            let source = hydraulic.parts().len();
            hydraulic = feed(&hydraulic, group.node, index)?;
            let store = Store { held: group.items.iter().map(|item| item.held).collect(), rim_pa: None };
            let places = group.items.iter().map(|item| item.place).collect();
            storages.push(Storage { source, store: Arc::new(store), places, barrel: None });
        }
        storages.extend(garden.of_spec(Spec::is_tank).filter_map(|place| barrel(garden, place)));
        Ok(Plant {
            hydraulic,
            storages,
            switches,
            tracked: tracked(garden),
            boosters: garden.boosters().collect(),
            is_stiff: stiff_at.is_some(),
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

fn switch(garden: &Garden, starter: Starter) -> Option<Switch> {
    let Starter { place, booster, start, valves } = starter;
    let part = &garden.parts()[place];
    let rule = match start {
        Start::Pressure => Rule::Pressure { cut_in_pa: part.si(Id::CutIn)?, cut_out_pa: part.si(Id::CutOut)? },
        Start::Zones => Rule::Zones { valves, delay_s: part.value(Id::Delay) },
        Start::Flow | Start::Speed => Rule::Flow {
            cut_in_pa: part.starts_at_pa()?,
            least_m3_per_s: part.value(Id::MinimumFlow),
            delay_s: part.value(Id::Delay),
            holds_pa: part.si(Id::Set),
        },
    };
    Some(Switch { place, booster, rule })
}

fn tracked(garden: &Garden) -> Vec<Tracked> {
    let mut tracked = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        match part.spec().placing {
            _ if part.traits().opens => tracked.push(Tracked { place, sign: 1.0, counts: 0.0 }),
            Placing::Outlet => tracked.push(Tracked { place, sign: 1.0, counts: -1.0 }),
            Placing::Source => {
                let outside = if barrel(garden, place).is_some() { 0.0 } else { 1.0 };
                tracked.extend([1.0, -1.0].map(|sign| Tracked { place, sign, counts: sign * outside }));
            }
            _ => {}
        }
    }
    tracked
}

/// What stores water, with its node: tanks, and hoses that stretch, whose stretch sits at their far end.
fn vessels(garden: &Garden) -> Vec<(usize, Item)> {
    let places = &garden.layout().places;
    let vessel = |(place, part): (usize, &Arc<Part>)| {
        let held = Held { vessel: part.vessel()?, offset_pa: 0.0 };
        Some((places[place].to, Item { place: Some(place), held }))
    };
    garden.parts().iter().enumerate().filter_map(vessel).collect()
}

/// A vessel with its part.
struct Item {
    place: Option<usize>,
    held: Held,
}

/// Vessels of one storage.
struct Group {
    node: usize,
    items: Vec<Item>,
}

/// Puts vessels together that are joined without resistance.
fn merge(garden: &Garden, found: Vec<(usize, Item)>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    // The group of each node, and by how much the pressure there lies above that of the group.
    let mut at: Vec<Option<(usize, f64)>> = vec![None; garden.layout().number_of_nodes];
    let mut walk = garden.walk();
    for (node, item) in found {
        if let Some((group, offset_pa)) = at[node] {
            groups[group].items.push(Item { held: Held { offset_pa, ..item.held }, ..item });
            continue;
        }
        at[node] = Some((groups.len(), 0.0));
        groups.push(Group { node, items: vec![item] });
        for (passage, rise_pa) in walk.from([node], |passage| lossless_rise_pa(garden, passage.place)) {
            at[passage.to] = at[passage.from].map(|(group, here_pa)| (group, here_pa - passage.way.sign() * rise_pa));
        }
    }
    groups
}

/// The pressure that a part in line takes away whatever flows; none when it has a loss or can be closed.
fn lossless_rise_pa(garden: &Garden, place: usize) -> Option<f64> {
    let part = &garden.parts()[place];
    if part.traits().opens {
        return None;
    }
    match garden.law_of(place) {
        Law::Free if !part.traits().pumps => Some(0.0),
        Law::Quadratic { resistance } if resistance < NO_RESISTANCE => Some(0.0),
        Law::Climb { rise_pa } => Some(rise_pa),
        _ => None,
    }
}

/// The nodes that stand so near to one of these that pressures there do not determine what flows between: joined by open parts with hardly
/// any loss. `law` and `open` give the state of each place.
pub fn near<'a>(garden: &Garden, starts: Vec<usize>, open: impl Fn(usize) -> bool, law: impl Fn(usize) -> &'a Law) -> Vec<bool> {
    let joins = |place: usize| match law(place) {
        Law::Free | Law::Climb { .. } | Law::Booster { .. } => true,
        Law::Quadratic { resistance } | Law::OneWay { resistance, .. } | Law::Regulator { resistance, .. } => {
            *resistance < HARDLY_ANY_RESISTANCE
        }
        _ => false,
    };
    reached_from(garden, starts, |place, _| open(place) && joins(place))
}

/// Whether water from a source that is open can come to the inlet of a booster, other than back through the booster itself.
pub fn gets_water(garden: &Garden, booster: usize, open: &[bool]) -> bool {
    let places = &garden.layout().places;
    let sources = (0..places.len()).filter(|&place| open[place] && garden.spec(place).placing == Placing::Source);
    let both_ways = |place: usize| !garden.spec(place).is_one_way();
    let passes = |place: usize, way: Way| place != booster && open[place] && (way == Way::Down || both_ways(place));
    reached_from(garden, sources.map(|place| places[place].to), passes)[places[booster].from]
}

/// Height of each node above the first source, m, by the elevation changes; of what no part joins to it, zero.
pub fn heights_m(garden: &Garden) -> Vec<f64> {
    let first = (0..garden.parts().len()).find(|&place| garden.spec(place).placing == Placing::Source);
    let start = first.map_or(0, |place| garden.layout().places[place].to);
    let heights = rises(garden, start, |place, _| Some(garden.parts()[place].rise_m()));
    heights.into_iter().map(|height_m| height_m.unwrap_or(0.0)).collect()
}

/// Whether a source holds its pressure whatever is taken.
pub fn is_stiff(law: &Law) -> bool {
    matches!(law, Law::Source { resistance, .. } if *resistance < HARDLY_ANY_RESISTANCE)
}

/// Water that stands in hoses and pipes, m3.
fn water_in_line_m3(garden: &Garden) -> f64 {
    let hoses = garden.parts().iter().filter(|part| part.spec().is_line());
    let volume: f64 = hoses.map(|hose| area_m2(hose.value(Id::Diameter)) * hose.value(Id::Length)).sum();
    volume.max(LEAST_WATER_M3)
}

/// The garden with a source at a node.
fn feed(garden: &Garden, node: usize, index: usize) -> Result<Garden, OperationError> {
    feed_at(garden, node, &format!("stored water {}", index + 1))
}

/// The garden with a source of a name at a node of its layout. Errors: the name is taken, or no part ends at the node.
pub fn feed_at(garden: &Garden, node: usize, source: &str) -> Result<Garden, OperationError> {
    let layout = garden.layout();
    let name = (0..layout.places.len()).find(|&place| layout.places[place].to == node).map(|place| garden.name(place));
    let at = name.unwrap_or_default().to_string();
    let pressure = Quantity::new(1.0, dim::PRESSURE);
    let part =
        Part::build(Kind::Supply, Some(source), &[(Id::StaticPressure, pressure)]).map_err(crate::garden::GardenError::Part)?;
    Ok(garden.add_source(&at, &Garden::of(part))?)
}

/// An open tank whose content is known.
fn barrel(garden: &Garden, place: usize) -> Option<Storage> {
    let part = &garden.parts()[place];
    if !part.spec().is_tank() {
        return None;
    }
    let (volume_m3, level_m) = (part.si(Id::Volume)?, part.si(Id::Level).filter(|level_m| *level_m > 0.0)?);
    let m3_per_pa = open_tank_m3_per_pa(volume_m3, level_m, garden.water().density_kg_per_m3);
    let barrel = Barrel { place, inflow_m3_per_s: part.si(Id::Inflow).unwrap_or(0.0), full_pa: volume_m3 / m3_per_pa };
    let held = vec![Held { vessel: Vessel::Linear { m3_per_pa }, offset_pa: 0.0 }];
    let store = Arc::new(Store { held, rim_pa: Some(barrel.full_pa) });
    Some(Storage { source: place, store, places: vec![Some(place)], barrel: Some(barrel) })
}
