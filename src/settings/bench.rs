//! The solves that a window asks for: zones with the pump off and on, and the line at rest with everything plugged.

use super::error::SettingsError;
use crate::garden::Garden;
use crate::hydraulics::{Network, Probe, ProbeKind, PumpState, RunError};
use crate::parts::{Id, Kind, Part, Placing};

/// What stands at a switch in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felt {
    /// Pressure at the switch, Pa; not a number where no supply reaches.
    pub pressure_pa: f64,
    /// Flow through the pump, m3/s.
    pub flow_m3_per_s: f64,
    /// Flow through all relief valves, m3/s.
    pub relieved_m3_per_s: f64,
    /// Whether every outlet that says what it needs has that; nothing where none says so.
    pub is_enough: Option<bool>,
}

/// The pump and the switch a window is about.
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    pub switch: usize,
    pub booster: usize,
}

/// Which outlets let water go while the valves are open.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Outlets {
    /// All plugged: the highest pressure that can stand.
    Plugged,
    /// Relief valves and leaks do their work, all others are plugged.
    Relieved,
}

/// The state with these zones open and the pump as told; other boosters run.
pub fn with_zones(garden: &Garden, pair: Pair, zones: &[String], pump: PumpState) -> Result<Felt, SettingsError> {
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let open = garden.opened(&names)?;
    let mut network = Network::new(garden, &open)?;
    network.run_pump(pair.booster, pump);
    felt(garden, pair, &mut network)
}

fn felt(garden: &Garden, pair: Pair, network: &mut Network) -> Result<Felt, SettingsError> {
    network.solve().map_err(|error| RunError::from(error.named(garden)))?;
    let pressure_pa = network.probe(&Probe { place: pair.switch, kind: ProbeKind::Pressure });
    let relieved_m3_per_s = garden.of_kind(Kind::Relief).map(|relief| network.flow(relief)).sum();
    let needs = |place: usize| Some((place, garden.parts()[place].si(Id::NeedsLow)?));
    let served = (0..garden.parts().len()).filter_map(needs).filter_map(|(place, low_pa)| {
        let there_pa = network.probe(&Probe { place, kind: ProbeKind::Pressure });
        (!there_pa.is_nan()).then_some(there_pa >= low_pa)
    });
    let is_enough = served.reduce(|all, one| all && one);
    Ok(Felt { pressure_pa, flow_m3_per_s: network.flow(pair.booster), relieved_m3_per_s, is_enough })
}

/// How the pump pushes in a state at rest.
#[derive(Clone, Copy, PartialEq)]
pub enum Push {
    Off,
    /// With this share of its speed.
    Share(f64),
}

/// The line at rest: all valves open, outlets plugged or relieved.
pub struct Rest {
    node_pa: Vec<f64>,
    pub felt: Felt,
}

impl Rest {
    pub fn of(garden: &Garden, pair: Pair, outlets: Outlets, push: Push) -> Result<Rest, SettingsError> {
        let lets_go = |part: &Part| outlets == Outlets::Relieved && part.spec().loses_water();
        let parts = garden.parts().iter();
        let open: Vec<bool> = parts.map(|part| part.spec().placing != Placing::Outlet || lets_go(part)).collect();
        let mut network = Network::new(garden, &open)?;
        match push {
            Push::Off => network.run_pump(pair.booster, PumpState::Off),
            Push::Share(share) => {
                let part = &garden.parts()[pair.booster];
                network.set(pair.booster, Id::Speed, part.value(Id::Speed) * share)?;
            }
        }
        let felt = felt(garden, pair, &mut network)?;
        let mut node_pa = vec![f64::NAN; garden.layout().number_of_nodes];
        for (place, joint) in garden.layout().places.iter().enumerate() {
            if node_pa[joint.to].is_nan() && garden.parts()[place].spec().placing != Placing::Outlet {
                node_pa[joint.to] = network.probe(&Probe { place, kind: ProbeKind::Pressure });
            }
        }
        Ok(Rest { node_pa, felt })
    }

    /// The higher pressure of the two ends of a part; nothing where no supply reaches.
    pub fn highest(&self, garden: &Garden, place: usize) -> Option<f64> {
        let joint = &garden.layout().places[place];
        [self.node_pa[joint.from], self.node_pa[joint.to]].into_iter().filter(|pressure| !pressure.is_nan()).reduce(f64::max)
    }
}
