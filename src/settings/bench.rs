//! The solves that a window asks for: zones with the pump off and on, and the garden at rest.

use super::error::SettingsError;
use crate::garden::{Excerpt, Garden, Sections};
use crate::hydraulics::{Drive, Network, Outlets, PumpState, RestState, RunError};
use crate::parts::Id;

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

    /// The state with these zones open and the pump on or off, in a garden of the same layout; other boosters run.
    ///
    /// Errors: there is no steady one.
    pub fn felt(&self, garden: &Garden, pump: PumpState) -> Result<Felt, SettingsError> {
        let cut = self.excerpt.garden(garden);
        let names: Vec<&str> = self.names.iter().map(String::as_str).collect();
        let mut network = Network::new(&cut, &cut.opened(&names)?)?;
        network.run_pump(self.pair.booster, pump);
        felt(&cut, self.pair, &mut network)
    }
}

/// What stands at the switch after a solve.
fn felt(garden: &Garden, pair: Pair, network: &mut Network) -> Result<Felt, SettingsError> {
    network.solve().map_err(|error| RunError::from(error.named(garden)))?;
    let place_pa = network.place_pressures_pa();
    let relieved_m3_per_s = garden.reliefs().map(|relief| network.flow(relief)).sum();
    let needs = |place: usize| Some((place, garden.parts()[place].si(Id::RangeLow)?));
    let served = (0..garden.parts().len())
        .filter_map(needs)
        .filter_map(|(place, low_pa)| (!place_pa[place].is_nan()).then_some(place_pa[place] >= low_pa));
    let is_enough = served.reduce(|all, one| all && one);
    let (pressure_pa, flow_m3_per_s) = (place_pa[pair.switch], network.flow(pair.booster));
    Ok(Felt { pressure_pa, flow_m3_per_s, relieved_m3_per_s, is_enough })
}

/// The garden at rest while the pump of a pair is driven so; other boosters run. Errors: no steady state.
pub fn at_rest(garden: &Garden, pair: Pair, outlets: Outlets, drive: Drive) -> Result<RestState, SettingsError> {
    Ok(RestState::of(garden, outlets, |booster| if booster == pair.booster { drive } else { Drive::Full })?)
}

/// Pressure at the switch of a pair in that state with outlets plugged, Pa; not a number where no source is connected to it.
///
/// Errors: there is no steady state.
pub fn at_switch_pa(garden: &Garden, pair: Pair, drive: Drive) -> Result<f64, SettingsError> {
    Ok(at_rest(garden, pair, Outlets::Plugged, drive)?.at(garden, pair.switch).unwrap_or(f64::NAN))
}
