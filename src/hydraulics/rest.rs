//! The garden at rest: zone valves closed, no flow but that of relief valves and leaks.
//!
//! Valves on the way to a booster or a pressure switch stay open, so that the booster is fed and the switch reads its pressure.
//! Outlets without a valve count as closed too (a plugged head, a kinked hose, a hand valve): this is the highest static pressure.

use super::network::{Network, PumpState};
use super::solution::RunError;
use crate::garden::Garden;
use crate::garden::walk::{Way, reached};
use crate::parts::{Id, Placing};

/// Which outlets let water go at rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlets {
    /// None: this gives the highest static pressure.
    Plugged,
    /// Relief valves.
    Relieved,
    /// Relief valves and leaks.
    Losing,
}

/// What a booster does at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// It does not run; water flows through it freely.
    Off,
    /// It runs at its own speed.
    Full,
    /// It runs at this share of its own speed, so that its pressure is the one at which a switch stops it.
    Share(f64),
}

/// Pressures and flows of a garden at rest.
pub struct RestState {
    node_pa: Vec<Option<f64>>,
    flow_m3_per_s: Vec<f64>,
}

impl RestState {
    /// Solves for the state; `drive` is asked for each booster by its place.
    ///
    /// Errors: as for [`run`](super::run).
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

    /// Gauge pressure downstream of a part, or at the place of an outlet or switch, Pa; `None` where no source is connected. `garden`
    /// is the one that was solved.
    pub fn at(&self, garden: &Garden, place: usize) -> Option<f64> {
        self.node_pa[garden.layout().places[place].to]
    }

    /// The higher gauge pressure of the two ends of a part, Pa; `None` where no source is connected. `garden` is the one that was
    /// solved.
    pub fn highest(&self, garden: &Garden, place: usize) -> Option<f64> {
        let joint = &garden.layout().places[place];
        [self.node_pa[joint.from], self.node_pa[joint.to]].into_iter().flatten().reduce(f64::max)
    }

    /// Flow through a part in its own direction, or out of an outlet, m3/s.
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
