//! How the pressure falls by a leak when the pump has stopped, and the leak from a fall that was seen.
//!
//! The fall itself is worked out by `operation`, leg by leg as in a run over time; here is what is asked of it.

use super::error::SettingsError;
use super::store::Store;
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{Network, Probe, ProbeKind, PumpState};
use crate::numeric::{SeekError, seek};
use crate::operation::{Descent, LeakDown, leak_down};
use crate::parts::{Id, Kind, Part, Placing, Spec};
use crate::quantity::{Quantity, UnitSystem, dim};

/// A fall of pressure and how long it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Fall {
    /// The higher pressure, with which it begins, Pa.
    pub from_pa: f64,
    /// The lower pressure that was asked for, Pa.
    pub to_pa: f64,
    /// How long it takes, s; none when the pressure never drops that far.
    pub time_s: Option<f64>,
    /// The pressure at which it ends, Pa: the lower one, or that at which it comes to rest.
    pub end_pa: f64,
    /// Where the pressure is read.
    pub at: String,
    /// The units in which the garden was given.
    pub units: UnitSystem,
    /// What the leaks take at the start, m3/s.
    pub leak_from_m3_per_s: f64,
    /// What the leaks take at the end, m3/s; less than at the start, as the pressure is lower.
    pub leak_to_m3_per_s: f64,
    /// Water that the stores give on the way, m3.
    pub water_m3: f64,
    /// What main pressure alone holds there, Pa; below that a leak is fed by the main.
    pub main_pa: Option<f64>,
}

/// How long the pressure takes to fall by the leaks of the garden, valves closed and pump off; from cut-out to cut-in it is
/// the time until the pump starts by itself.
///
/// The water is still when the fall begins; the loss in hoses between tanks and leaks counts. Errors: nothing that stores
/// water or holds the pressure, no leak, a pressure that rises, a state that cannot be solved.
pub fn leak_down_time(garden: &Garden, from: Quantity, to: Quantity, at: Option<&str>) -> Result<Fall, SettingsError> {
    check_fall(from, to)?;
    let store = Store::of(garden, at)?;
    if store.outlets.is_empty() {
        return Err(SettingsError::NoLeak);
    }
    let descent = Descent { at: store.at, from_pa: from.si, to_pa: to.si, higher_pa: &store.higher_pa, is_fed: true };
    let down = leak_down(garden, &descent)?;
    Ok(Fall {
        units: garden.units(),
        from_pa: from.si,
        to_pa: to.si,
        time_s: down.time_s,
        end_pa: down.end_pa,
        at: garden.name(store.at).to_string(),
        leak_from_m3_per_s: down.taken_first_m3_per_s,
        leak_to_m3_per_s: down.taken_last_m3_per_s,
        water_m3: down.given_m3,
        main_pa: main_static_pa(garden, store.at),
    })
}

/// The leak that lets the pressure fall from `from` to `to` in a time, with the tap closed or the pressure above that of the
/// main all the time: its flow at the higher pressure, as a hole that keeps its size (q = c sqrt(P)).
///
/// `at` names where the pressure was read and the leak is taken to be; the switch, or else the tank, by default. Leaks the
/// garden has already count: only what they do not explain is given. Errors: nothing that stores water or holds the
/// pressure, a pressure that rises, a time that is not above zero, or a time that no leak there explains.
pub fn leak_from_decay(
    garden: &Garden,
    from: Quantity,
    to: Quantity,
    time_s: f64,
    at: Option<&str>,
) -> Result<Part, SettingsError> {
    check_fall(from, to)?;
    if !(time_s > 0.0 && time_s.is_finite()) {
        return Err(SettingsError::NoTime { found: Quantity::new(time_s, dim::TIME) });
    }
    let store = Store::of(garden, at)?;
    let search = Search { garden, store: &store, from, to, time_s };
    let flow_m3_per_s = search.flow_m3_per_s()?;
    let flow = Quantity { si: flow_m3_per_s, dimension: dim::FLOW, preference: garden.units().preference_of("gph") };
    leak(Some("leak"), flow, from)
}

fn leak(name: Option<&str>, flow: Quantity, pressure: Quantity) -> Result<Part, SettingsError> {
    Ok(Part::build(Kind::Leak, name, &[(Id::Flow, flow), (Id::Pressure, pressure)]).map_err(GardenError::from)?)
}

/// The search for a leak whose fall takes a known time.
struct Search<'a> {
    garden: &'a Garden,
    store: &'a Store,
    from: Quantity,
    to: Quantity,
    time_s: f64,
}

impl Search<'_> {
    /// The fall with a leak of this flow at the higher pressure, at the place where the pressure is read.
    fn fall(&self, flow_m3_per_s: f64) -> Result<LeakDown, SettingsError> {
        let leaking = if flow_m3_per_s > 0.0 {
            let leak = leak(None, Quantity::new(flow_m3_per_s, dim::FLOW), self.from)?;
            &self.garden.branch(self.garden.name(self.store.at), &Garden::of(leak))?
        } else {
            self.garden
        };
        let (at, higher_pa) = (self.store.at, &self.store.higher_pa[..]);
        Ok(leak_down(leaking, &Descent { at, from_pa: self.from.si, to_pa: self.to.si, higher_pa, is_fed: false })?)
    }

    /// How much too large a leak is, from -1 for one that never lets the pressure fall to the end to 1 for one that does at once.
    fn excess(&self, flow_m3_per_s: f64) -> Result<f64, SettingsError> {
        let time_s = self.fall(flow_m3_per_s)?.time_s;
        Ok(time_s.map_or(-1.0, |time_s| (self.time_s - time_s) / (self.time_s + time_s)))
    }

    fn flow_m3_per_s(&self) -> Result<f64, SettingsError> {
        /// Doublings of a first guess: beyond that the loss on the way to the leak rules, and no leak is fast enough.
        const MOST_DOUBLINGS: usize = 30;
        let without = if self.store.outlets.is_empty() { -1.0 } else { self.excess(0.0)? };
        if without >= 0.0 {
            return Err(SettingsError::Explained { time: Quantity::new(self.time_s, dim::TIME) });
        }
        let mut high = 2.0 * self.guess_m3_per_s()?;
        for _ in 0..MOST_DOUBLINGS {
            if self.excess(high)? >= 0.0 {
                return match seek(0.0, high, 1e-13 * high, |flow| if flow > 0.0 { self.excess(flow) } else { Ok(without) }) {
                    Ok(sought) => Ok(sought.x),
                    Err(SeekError::Failed(error)) => Err(error),
                    Err(_) => Err(self.too_fast()),
                };
            }
            high *= 2.0;
        }
        Err(self.too_fast())
    }

    /// The leak that would do if all water were at hand: what is given over the time, brought to the higher pressure.
    fn guess_m3_per_s(&self) -> Result<f64, SettingsError> {
        /// A leak so small that it meets no loss, m3/s.
        const LOSSLESS_M3_PER_S: f64 = 1e-8;
        let down = self.fall(LOSSLESS_M3_PER_S)?;
        let middle_pa = 0.5 * (self.from.si + self.to.si);
        let flow = down.given_m3 / self.time_s * (self.from.si / middle_pa).sqrt();
        Ok(if flow > 0.0 { flow } else { LOSSLESS_M3_PER_S })
    }

    fn too_fast(&self) -> SettingsError {
        let name = self.garden.name(self.store.at).to_string();
        SettingsError::TooFast { name, time: Quantity::new(self.time_s, dim::TIME) }
    }
}

fn check_fall(from: Quantity, to: Quantity) -> Result<(), SettingsError> {
    if from.si > to.si && to.si >= 0.0 && from.si.is_finite() {
        return Ok(());
    }
    Err(SettingsError::NoFall { from, to })
}

/// What main pressure alone holds at a place with all valves and outlets closed and the pumps off, Pa; none where it does
/// not reach.
fn main_static_pa(garden: &Garden, at: usize) -> Option<f64> {
    let flows = |spec: &Spec| !spec.traits.opens && spec.placing != Placing::Outlet;
    let open: Vec<bool> = garden.parts().iter().map(|part| flows(part.spec())).collect();
    let mut network = Network::new(garden, &open).ok()?;
    garden.boosters().for_each(|booster| network.run_pump(booster, PumpState::Off));
    network.solve().ok()?;
    let pressure_pa = network.probe(&Probe { place: at, kind: ProbeKind::Pressure });
    pressure_pa.is_finite().then_some(pressure_pa)
}
