//! The solves that a window asks for: zones with the pump off and on, and the garden at rest.

use super::error::SettingsError;
use crate::garden::{Excerpt, Garden, Sections};
use crate::hydraulics::{Drive, Network, Outlets, PumpState, RestState, Resting, RunError};

/// The pressure at a switch in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Felt {
    /// Pressure at the switch, Pa; not a number where no supply reaches.
    pub pressure_pa: f64,
    /// Flow through the pump, m3/s.
    pub flow_m3_per_s: f64,
    /// Flow through all relief valves, m3/s.
    pub relieved_m3_per_s: f64,
    /// Whether every outlet that says what it needs has that; none where none says so.
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
    cut: Garden,
    network: Network,
    pair: Pair,
}

impl OpenZones {
    /// The zones of these valves. Errors: they cannot be solved at all.
    pub fn of(garden: &Garden, sections: &Sections, pair: Pair, valves: &[usize]) -> Result<OpenZones, SettingsError> {
        let excerpt = sections.excerpt(valves, &[pair.switch, pair.booster]);
        let cut = excerpt.garden(garden);
        let mut open = cut.opened(&[])?;
        valves.iter().filter_map(|&valve| excerpt.place(valve)).for_each(|valve| open[valve] = true);
        let (network, pair) = (Network::new(&cut, &open)?, pair.within(&excerpt));
        Ok(OpenZones { excerpt, cut, network, pair })
    }

    /// The state with these zones open and the pump as given, in a garden that differs from the first one only in parameters; other
    /// boosters run. Errors: no steady state.
    pub fn felt(&mut self, garden: &Garden, pump: PumpState) -> Result<Felt, SettingsError> {
        let OpenZones { excerpt, cut, network, pair } = self;
        network.go_over_to(|place| &garden.parts()[excerpt.whole(place)])?;
        network.run_pump(pair.booster, pump);
        network.forget();
        network.solve().map_err(|error| RunError::from(error.named(cut)))?;
        let waters = cut.of_spec(|spec| spec.traits.waters);
        let needs: Vec<(usize, f64)> = waters.filter_map(|place| Some((place, cut.parts()[place].needs_pa()?))).collect();
        let mut felt_pa = network.pressures_pa(needs.iter().map(|&(place, _)| place).chain([pair.switch]));
        let pressure_pa = felt_pa.pop().unwrap_or(f64::NAN);
        let served =
            needs.iter().zip(felt_pa).filter_map(|(&(_, low_pa), has_pa)| (!has_pa.is_nan()).then_some(has_pa >= low_pa));
        Ok(Felt {
            pressure_pa,
            flow_m3_per_s: network.flow(pair.booster),
            relieved_m3_per_s: cut.reliefs().map(|relief| network.flow(relief)).sum(),
            is_enough: served.reduce(|all, one| all && one),
        })
    }
}

/// A garden at rest with outlets plugged, under any pressures of its mains, with the pump of a pair driven in any way; other
/// boosters run.
pub struct AtRest {
    plugged: Resting,
    pair: Pair,
}

impl AtRest {
    /// Errors: the garden cannot be solved at all.
    pub fn of(garden: &Garden, pair: Pair) -> Result<AtRest, SettingsError> {
        Ok(AtRest { plugged: Resting::of(garden, Outlets::Plugged)?, pair })
    }

    /// The state of a garden that differs from the first one only in parameters. Errors: no steady state.
    pub fn state(&mut self, garden: &Garden, drive: Drive) -> Result<RestState, SettingsError> {
        self.plugged.go_over_to(garden)?;
        Ok(self.plugged.state(driving(self.pair, drive))?)
    }

    /// Pressure at the switch of the pair in that state, Pa; not a number where no supply reaches it.
    pub fn at_switch_pa(&mut self, garden: &Garden, drive: Drive) -> Result<f64, SettingsError> {
        let switch = self.pair.switch;
        Ok(self.state(garden, drive)?.at(garden, switch).unwrap_or(f64::NAN))
    }

    /// The state at full speed with reliefs that do their work and leaks that run. Errors: no steady state.
    pub fn losing(&mut self, garden: &Garden) -> Result<RestState, SettingsError> {
        if !Outlets::Losing.let_go_in(garden) {
            return self.state(garden, Drive::Full);
        }
        Ok(Resting::of(garden, Outlets::Losing)?.state(driving(self.pair, Drive::Full))?)
    }
}

/// How each booster is driven where that of a pair is driven so.
fn driving(pair: Pair, drive: Drive) -> impl Fn(usize) -> Drive {
    move |booster| if booster == pair.booster { drive } else { Drive::Full }
}
