//! The solves that a window asks for: zones with the pump off and on, and the line at rest with everything plugged.

use super::error::SettingsError;
use crate::garden::{Excerpt, Garden, Sections};
use crate::hydraulics::{Network, PumpState, RunError};
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

impl Pair {
    /// The pair in an excerpt of its garden that has both.
    fn within(self, excerpt: &Excerpt) -> Pair {
        let place = |whole: usize| excerpt.place(whole).expect("an excerpt has what it was asked for beside the water");
        Pair { switch: place(self.switch), booster: place(self.booster) }
    }
}

/// Which outlets let water go while the valves are open.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Outlets {
    /// All plugged: the highest pressure that can stand.
    Plugged,
    /// Relief valves and leaks do their work, all others are plugged.
    Relieved,
}

/// What some zones open, cut out of a garden: it costs what they open, not what the garden has.
pub struct OpenZones {
    excerpt: Excerpt,
    /// Names of the valves that water reaches.
    names: Vec<String>,
    pair: Pair,
}

impl OpenZones {
    /// The zones behind these valves.
    pub fn of(garden: &Garden, sections: &Sections, pair: Pair, valves: &[usize]) -> OpenZones {
        let excerpt = sections.excerpt(valves, &[pair.switch, pair.booster]);
        let names = valves.iter().filter(|&&valve| excerpt.place(valve).is_some()).map(|&valve| garden.name(valve).to_string());
        let (names, within) = (names.collect(), pair.within(&excerpt));
        OpenZones { excerpt, names, pair: within }
    }

    /// The state with these zones open and the pump as told, in a garden of the same layout; other boosters run.
    pub fn felt(&self, garden: &Garden, pump: PumpState) -> Result<Felt, SettingsError> {
        let cut = self.excerpt.garden(garden);
        let names: Vec<&str> = self.names.iter().map(String::as_str).collect();
        let mut network = Network::new(&cut, &cut.opened(&names)?)?;
        network.run_pump(self.pair.booster, pump);
        Ok(felt(&cut, self.pair, &mut network)?.0)
    }
}

/// What stands at the switch after a solve, and the pressures at all places.
fn felt(garden: &Garden, pair: Pair, network: &mut Network) -> Result<(Felt, Vec<f64>), SettingsError> {
    network.solve().map_err(|error| RunError::from(error.named(garden)))?;
    let place_pa = network.place_pressures_pa();
    let relieved_m3_per_s = garden.of_kind(Kind::Relief).map(|relief| network.flow(relief)).sum();
    let needs = |place: usize| Some((place, garden.parts()[place].si(Id::NeedsLow)?));
    let served = (0..garden.parts().len())
        .filter_map(needs)
        .filter_map(|(place, low_pa)| (!place_pa[place].is_nan()).then_some(place_pa[place] >= low_pa));
    let is_enough = served.reduce(|all, one| all && one);
    let (pressure_pa, flow_m3_per_s) = (place_pa[pair.switch], network.flow(pair.booster));
    Ok((Felt { pressure_pa, flow_m3_per_s, relieved_m3_per_s, is_enough }, place_pa))
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
        let (felt, place_pa) = felt(garden, pair, &mut network)?;
        let mut node_pa = vec![f64::NAN; garden.layout().number_of_nodes];
        for (place, joint) in garden.layout().places.iter().enumerate() {
            if node_pa[joint.to].is_nan() && garden.parts()[place].spec().placing != Placing::Outlet {
                node_pa[joint.to] = place_pa[place];
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
