//! The garden at rest: zone valves closed, no flow but that of relief valves and leaks.
//!
//! Valves on the way to a booster or a pressure switch stay open, so that the booster is fed and the switch reads its pressure.
//! Outlets without a valve count as closed too (a plugged head, a kinked hose, a hand valve): this is the highest static pressure.

use super::network::{Network, PumpState};
use super::solution::RunError;
use crate::garden::Garden;
use crate::garden::walk::{Way, reached};
use crate::parts::{Id, Placing, Spec};

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

impl Outlets {
    /// True for a kind of outlet that lets water go at rest.
    fn lets_go(self, spec: &Spec) -> bool {
        match self {
            Outlets::Plugged => false,
            Outlets::Relieved => spec.traits.relieves,
            Outlets::Losing => spec.traits.relieves || spec.loses_water(),
        }
    }

    /// True when a garden has outlets that let water go at rest; without any it is at rest as if all were plugged.
    pub fn let_go_in(self, garden: &Garden) -> bool {
        garden.of_spec(|spec| self.lets_go(spec)).next().is_some()
    }
}

/// What a booster does at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// It does not run; water flows through it freely.
    Off,
    /// It runs at its own speed, whatever its drive would hold.
    Full,
    /// It runs as its drive lets it, or without one at its own speed.
    Held,
    /// It runs at this share of its own speed, so that its pressure is the one at which a switch stops it.
    Share(f64),
}

/// A garden made ready at rest: of its states only boosters and the pressures of mains differ.
pub struct Resting {
    garden: Garden,
    network: Network,
    /// Its boosters; true for those at another speed than their own.
    boosters: Vec<(usize, bool)>,
}

impl Resting {
    /// A garden at rest with these outlets. Errors: it cannot be solved at all.
    pub fn of(garden: &Garden, outlets: Outlets) -> Result<Resting, RunError> {
        let network = Network::new(garden, &open_at_rest(garden, outlets))?;
        let boosters = garden.boosters().map(|booster| (booster, false)).collect();
        Ok(Resting { garden: garden.clone(), network, boosters })
    }

    /// Goes over to a garden that differs in the parameters of parts alone. Errors: a part that cannot be solved with.
    pub fn go_over_to(&mut self, garden: &Garden) -> Result<(), RunError> {
        // A booster at another speed is another part, in the place of which its own comes back.
        self.boosters.iter_mut().for_each(|(_, is_slowed)| *is_slowed = false);
        self.garden = garden.clone();
        Ok(self.network.go_over_to(|place| &garden.parts()[place])?)
    }

    /// Solves for a state, from the same beginning whatever was solved before. Errors: there is none.
    pub fn state(&mut self, drive: impl Fn(usize) -> Drive) -> Result<RestState, RunError> {
        let Resting { garden, network, boosters } = self;
        for (booster, is_slowed) in boosters {
            let drive = drive(*booster);
            network.run_pump(
                *booster,
                match drive {
                    Drive::Off => PumpState::Off,
                    Drive::Held => PumpState::Running,
                    Drive::Full | Drive::Share(_) => PumpState::FullSpeed,
                },
            );
            let share = if let Drive::Share(share) = drive { Some(share) } else { None };
            if share.is_some() || *is_slowed {
                *is_slowed = share.is_some();
                network.set(*booster, Id::Speed, garden.parts()[*booster].value(Id::Speed) * share.unwrap_or(1.0))?;
            }
        }
        network.forget();
        network.solve().map_err(|error| error.named(garden))?;
        network.node_pressures_pa();
        let mut node_pa = vec![None; garden.layout().number_of_nodes];
        for (place, joint) in garden.layout().places.iter().enumerate() {
            if garden.spec(place).placing == Placing::Outlet || node_pa[joint.to].is_some() {
                continue;
            }
            node_pa[joint.to] = Some(network.spread_pressure(place)).filter(|pressure_pa| pressure_pa.is_finite());
        }
        Ok(RestState { node_pa, flow_m3_per_s: network.flows() })
    }
}

/// Pressures and flows of a garden at rest.
pub struct RestState {
    node_pa: Vec<Option<f64>>,
    flow_m3_per_s: Vec<f64>,
}

impl RestState {
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

/// Valves upstream of a booster or a switch stay open at rest, other valves and outlets that are not named are closed.
fn open_at_rest(garden: &Garden, outlets: Outlets) -> Vec<bool> {
    let places = &garden.layout().places;
    let mut feeds = vec![false; garden.layout().number_of_nodes];
    let boosters = garden.boosters().map(|booster| places[booster].from);
    for node in boosters.chain(garden.starters().map(|switch| places[switch].to)) {
        if !feeds[node] {
            let upstream = reached(garden, node, |_, way| way == Way::Up);
            feeds.iter_mut().zip(upstream).for_each(|(feeds, reached)| *feeds |= reached);
        }
    }
    (0..garden.parts().len())
        .map(|place| match garden.spec(place) {
            spec if spec.traits.opens => feeds[places[place].to],
            spec => spec.placing != Placing::Outlet || outlets.lets_go(spec),
        })
        .collect()
}
