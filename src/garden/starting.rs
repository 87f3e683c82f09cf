//! Which booster each switch, relay, control and drive starts, and which of several counts.
//!
//! A starter drives the nearest booster upstream of it, or else the nearest downstream. When it starts it is the work of `hydraulics`.

use super::Garden;
use super::layout::{Driven, Layout};
use super::walk::{Walk, Way};
use crate::parts::{Kind, Start};

/// Something that starts a booster.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Starter {
    /// Place of the switch, relay, control or drive.
    pub place: usize,
    /// Place of the booster that it drives.
    pub booster: usize,
    /// How it drives it.
    pub start: Start,
    /// Places of the zone valves that a relay follows: those downstream of its booster.
    pub valves: Vec<usize>,
}

/// All that starts a booster in a garden. One without a booster is left out. What is no pressure switch takes the place of the pressure
/// switches of its booster, and the first of several counts.
pub fn starters_of(garden: &Garden) -> Vec<Starter> {
    starters(garden.layout())
}

/// The place of the booster that a switch drives: the nearest upstream of it, or else the nearest downstream. `switch` is a place.
pub fn booster_of(garden: &Garden, switch: usize) -> Option<usize> {
    booster(garden.layout(), switch)
}

impl Garden {
    /// The place of the drive that holds the pressure of a booster, by their places; none where the booster has none.
    pub fn drive_of(&self, booster: usize) -> Option<usize> {
        self.layout().drive_of(booster)
    }
}

/// The drives of a layout that count.
pub(super) fn drives(layout: &Layout) -> Vec<Driven> {
    let is_drive = |kind: &Kind| kind.spec().traits.starts == Some(Start::Speed);
    if !layout.kinds().iter().any(is_drive) {
        return Vec::new();
    }
    let by_speed = starters(layout).into_iter().filter(|starter| starter.start == Start::Speed);
    by_speed.map(|starter| Driven { place: starter.place, booster: starter.booster }).collect()
}

fn starters(layout: &Layout) -> Vec<Starter> {
    let mut found: Vec<Starter> = Vec::new();
    for place in 0..layout.places.len() {
        let Some(start) = layout.spec(place).traits.starts else { continue };
        let Some(booster) = booster(layout, place) else { continue };
        let rules = |other: &Starter| other.booster == booster && other.start != Start::Pressure;
        if found.iter().any(rules) {
            continue;
        }
        if start != Start::Pressure {
            found.retain(|other| other.booster != booster);
        }
        let valves = if start == Start::Zones { valves_downstream(layout, booster) } else { Vec::new() };
        found.push(Starter { place, booster, start, valves });
    }
    found
}

/// The zone valves that a booster gives water to.
fn valves_downstream(layout: &Layout, booster: usize) -> Vec<usize> {
    let places = &layout.places;
    let mut walk = Walk::over(layout);
    let down = |place: usize, way: Way| (way == Way::Down && place != booster).then_some(());
    walk.from([places[booster].to], |passage| down(passage.place, passage.way)).for_each(drop);
    let fed = walk.seen();
    (0..places.len()).filter(|&place| layout.spec(place).traits.opens && fed[places[place].from]).collect()
}

fn booster(layout: &Layout, switch: usize) -> Option<usize> {
    nearest_booster(layout, switch, Way::Up).or_else(|| nearest_booster(layout, switch, Way::Down))
}

fn nearest_booster(layout: &Layout, switch: usize, way: Way) -> Option<usize> {
    let start = layout.places[switch].to;
    let mut walk = Walk::over(layout);
    let mut passed = walk.from([start], |passage| (passage.way == way).then_some(())).map(|(passage, ())| passage.place);
    passed.find(|&place| layout.spec(place).traits.pumps)
}
