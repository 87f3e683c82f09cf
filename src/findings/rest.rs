//! The garden at rest: zone valves shut, nothing flows but what a relief valve lets go.
//!
//! Valves upstream of a booster stay open, so that the booster is fed. Outlets without a valve count as shut too (a
//! plugged head, a kinked hose, a hand valve): this is the highest pressure that can stand.

use super::reach::{Way, reached};
use crate::garden::Garden;
use crate::hydraulics::{Network, PumpState, booster_of};
use crate::parts::{Around, Id, Kind, Law, Placing};

/// What reliefs do.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Reliefs {
    Shut,
    Live,
}

/// What a booster does.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Drive {
    Off,
    Full,
    /// It pushes with this share of its speed: how a switch that stops it in time is pictured.
    Share(f64),
}

/// One state at rest.
pub(super) struct State {
    node_pa: Vec<Option<f64>>,
    flow_m3_per_s: Vec<f64>,
}

impl State {
    /// Solves for the state; nothing when there is none.
    pub fn of(garden: &Garden, reliefs: Reliefs, drive: impl Fn(usize) -> Drive) -> Option<State> {
        let mut network = Network::new(garden, &open_at_rest(garden, reliefs)).ok()?;
        for booster in garden.of_kind(Kind::Booster) {
            match drive(booster) {
                Drive::Off => network.run_pump(booster, PumpState::Off),
                Drive::Full => {}
                Drive::Share(share) => {
                    let part = &garden.parts()[booster];
                    network.set(booster, Id::Speed, part.value(Id::Speed) * share).ok()?;
                }
            }
        }
        network.solve().ok()?;
        let place_pa = network.place_pressures_pa();
        let mut node_pa = vec![None; garden.layout().number_of_nodes];
        for (place, joint) in garden.layout().places.iter().enumerate() {
            if garden.parts()[place].spec().placing == Placing::Outlet || node_pa[joint.to].is_some() {
                continue;
            }
            node_pa[joint.to] = Some(place_pa[place]).filter(|pressure_pa| pressure_pa.is_finite());
        }
        let flow_m3_per_s = (0..garden.parts().len()).map(|place| network.flow(place)).collect();
        Some(State { node_pa, flow_m3_per_s })
    }

    /// Pressure behind a part, or at the place of an outlet or switch.
    pub fn at(&self, garden: &Garden, place: usize) -> Option<f64> {
        self.node_pa[garden.layout().places[place].to]
    }

    /// The higher pressure of the two ends of a part.
    pub fn highest(&self, garden: &Garden, place: usize) -> Option<f64> {
        let joint = &garden.layout().places[place];
        [self.node_pa[joint.from], self.node_pa[joint.to]].into_iter().flatten().reduce(f64::max)
    }

    pub fn flow(&self, place: usize) -> f64 {
        self.flow_m3_per_s[place]
    }
}

/// A switch and its booster at rest.
pub(super) struct Stop {
    pub switch: usize,
    pub booster: usize,
    /// How the booster pushes when the switch feels cut-out; nothing when the booster cannot bring it there.
    pub drive: Option<Drive>,
}

/// The states at rest that findings ask for.
pub(super) struct AtRest {
    /// Boosters off, reliefs shut.
    pub off: State,
    /// Boosters run against shut valves, reliefs shut.
    pub dead_head: State,
    /// Boosters run against shut valves, reliefs do their work: what stands when a switch fails to stop its booster.
    pub relieved: State,
    /// Reliefs do their work, switches stop their boosters: the highest pressure in normal use.
    pub stopped: State,
    pub stops: Vec<Stop>,
}

impl AtRest {
    /// Solves for all of them; nothing when one has no steady state.
    pub fn of(garden: &Garden) -> Option<AtRest> {
        let off = State::of(garden, Reliefs::Shut, |_| Drive::Off)?;
        let dead_head = State::of(garden, Reliefs::Shut, |_| Drive::Full)?;
        let relieved = State::of(garden, Reliefs::Live, |_| Drive::Full)?;
        let switches = garden.of_kind(Kind::PressureSwitch);
        let stops: Vec<Stop> = switches
            .filter_map(|switch| {
                let booster = booster_of(garden, switch)?;
                Some(Stop { switch, booster, drive: drive_at_cut_out(garden, switch, booster, &dead_head) })
            })
            .collect();
        let stopped = State::of(garden, Reliefs::Live, |booster| weakest_drive(&stops, booster))?;
        Some(AtRest { off, dead_head, relieved, stopped, stops })
    }

    /// The state in which a switch feels cut-out, reliefs shut; also where the booster is too weak to get there.
    pub fn at_cut_out(garden: &Garden, stop: &Stop) -> Option<State> {
        let drive = stop.drive?;
        State::of(garden, Reliefs::Shut, |booster| if booster == stop.booster { drive } else { Drive::Full })
    }
}

/// Valves upstream of a booster stay open at rest, other valves and all outlets are shut.
fn open_at_rest(garden: &Garden, reliefs: Reliefs) -> Vec<bool> {
    let places = &garden.layout().places;
    let mut feeds = vec![false; garden.layout().number_of_nodes];
    for booster in garden.of_kind(Kind::Booster) {
        let upstream = reached(garden, places[booster].from, |_, way| way == Way::Up);
        feeds.iter_mut().zip(upstream).for_each(|(feeds, reached)| *feeds |= reached);
    }
    let parts = garden.parts().iter().enumerate();
    parts
        .map(|(place, part)| match part.kind() {
            Kind::Valve => feeds[places[place].to],
            Kind::Relief => reliefs == Reliefs::Live,
            _ => part.spec().placing != Placing::Outlet,
        })
        .collect()
}

/// At rest the pressure at the switch grows with the rise of the booster, one to one: the share of speed that brings it
/// to cut-out follows from the square in the affinity law, and is then tried.
fn drive_at_cut_out(garden: &Garden, switch: usize, booster: usize, dead_head: &State) -> Option<Drive> {
    let part = &garden.parts()[booster];
    let Law::Booster { curve } = part.law(&Around { water: *garden.water(), bore_m: f64::NAN }) else { return None };
    let cut_out_pa = garden.parts()[switch].si(Id::CutOut)?;
    let rise_pa = curve.dead_head_pa();
    let needed_pa = rise_pa - (dead_head.at(garden, switch)? - cut_out_pa);
    if needed_pa <= 0.0 {
        return Some(Drive::Off);
    }
    let drive = Drive::Share((needed_pa / rise_pa).sqrt());
    let tried = State::of(garden, Reliefs::Shut, |other| if other == booster { drive } else { Drive::Full })?;
    let found_pa = tried.at(garden, switch)?;
    ((found_pa - cut_out_pa).abs() <= 1e-3 * cut_out_pa).then_some(drive)
}

/// How a booster pushes in normal use: at full speed, or as far as its switches let it.
fn weakest_drive(stops: &[Stop], booster: usize) -> Drive {
    let share = |drive: Drive| match drive {
        Drive::Off => 0.0,
        Drive::Full => 1.0,
        Drive::Share(share) => share,
    };
    let drives = stops.iter().filter(|stop| stop.booster == booster).filter_map(|stop| stop.drive);
    drives.fold(Drive::Full, |least, drive| if share(drive) < share(least) { drive } else { least })
}
