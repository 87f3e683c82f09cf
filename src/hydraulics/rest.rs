//! The garden at rest: zone valves shut, nothing flows but what relief valves and leaks let go.
//!
//! Valves on the way to a booster or a pressure switch stay open, so that the booster is fed and the switch feels it. Outlets
//! without a valve count as shut too (a plugged head, a kinked hose, a hand valve): this is the highest pressure that can stand.

use super::network::{Network, PumpState};
use super::solution::RunError;
use crate::garden::Garden;
use crate::garden::walk::{Way, reached};
use crate::parts::{Id, Placing};

/// Which outlets let water go at rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlets {
    /// None: the highest pressure that can stand.
    Plugged,
    /// Relief valves do their work.
    Relieved,
    /// Relief valves do their work, and leaks run.
    Losing,
}

/// What a booster does at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    Off,
    Full,
    /// It pushes with this share of its speed: how a switch that stops it in time is pictured.
    Share(f64),
}

/// One state at rest.
pub struct RestState {
    node_pa: Vec<Option<f64>>,
    flow_m3_per_s: Vec<f64>,
}

impl RestState {
    /// Solves for the state. Errors: there is none.
    pub fn of(garden: &Garden, outlets: Outlets, drive: impl Fn(usize) -> Drive) -> Result<RestState, RunError> {
        let mut network = Network::new(garden, &open_at_rest(garden, outlets))?;
        for booster in garden.boosters() {
            match drive(booster) {
                Drive::Off => network.run_pump(booster, PumpState::Off),
                Drive::Full => {}
                Drive::Share(share) => network.set(booster, Id::Speed, garden.parts()[booster].value(Id::Speed) * share)?,
            }
        }
        network.solve().map_err(|error| error.named(garden))?;
        let place_pa = network.place_pressures_pa();
        let mut node_pa = vec![None; garden.layout().number_of_nodes];
        for (place, joint) in garden.layout().places.iter().enumerate() {
            if garden.parts()[place].spec().placing == Placing::Outlet || node_pa[joint.to].is_some() {
                continue;
            }
            node_pa[joint.to] = Some(place_pa[place]).filter(|pressure_pa| pressure_pa.is_finite());
        }
        let flow_m3_per_s = (0..garden.parts().len()).map(|place| network.flow(place)).collect();
        Ok(RestState { node_pa, flow_m3_per_s })
    }

    /// Pressure behind a part, or at the place of an outlet or switch, Pa; nothing where no supply reaches.
    pub fn at(&self, garden: &Garden, place: usize) -> Option<f64> {
        self.node_pa[garden.layout().places[place].to]
    }

    /// The higher pressure of the two ends of a part, Pa; nothing where no supply reaches.
    pub fn highest(&self, garden: &Garden, place: usize) -> Option<f64> {
        let joint = &garden.layout().places[place];
        [self.node_pa[joint.from], self.node_pa[joint.to]].into_iter().flatten().reduce(f64::max)
    }

    /// Flow through a part, m3/s.
    pub fn flow(&self, place: usize) -> f64 {
        self.flow_m3_per_s[place]
    }
}

/// Valves upstream of a booster or a switch stay open at rest, other valves and outlets that are not told are shut.
fn open_at_rest(garden: &Garden, outlets: Outlets) -> Vec<bool> {
    let places = &garden.layout().places;
    let mut feeds = vec![false; garden.layout().number_of_nodes];
    let boosters = garden.boosters().map(|booster| places[booster].from);
    for node in boosters.chain(garden.switches().map(|switch| places[switch].to)) {
        if !feeds[node] {
            let upstream = reached(garden, node, |_, way| way == Way::Up);
            feeds.iter_mut().zip(upstream).for_each(|(feeds, reached)| *feeds |= reached);
        }
    }
    let parts = garden.parts().iter().enumerate();
    parts
        .map(|(place, part)| match part.spec() {
            spec if spec.traits.opens => feeds[places[place].to],
            spec if spec.traits.relieves => outlets != Outlets::Plugged,
            spec if spec.loses_water() => outlets == Outlets::Losing,
            spec => spec.placing != Placing::Outlet,
        })
        .collect()
}
