//! What switches, guards and empty tanks do of themselves, and how long nothing of that is due.

use super::standing::Run;
use crate::operation::event::EventKind;
use crate::operation::gauge::{Gauge, What};
use crate::operation::tolerances::SAME_MOMENT_S;
use crate::parts::{FaultKind, Id};

/// A switch and its pump do not change again sooner than this, s. Common practice, no source: contacts need some time.
const SWITCH_LAG_S: f64 = 0.05;
/// Share of its volume to which an open tank must fill before water is taken from it again.
const SERVES_AGAIN_AT: f64 = 0.02;

impl Run {
    /// What each switch wants of its booster: on, off or nothing.
    fn wish(&self, index: usize, raised: impl Fn(What) -> bool) -> Option<bool> {
        let switch = self.machine.plant.switches[index];
        let either = |kind| self.fails(switch.place, kind) || self.fails(switch.booster, kind);
        if self.locked[switch.booster] || either(FaultKind::WillNotStart) {
            return Some(false);
        }
        if either(FaultKind::WillNotStop) {
            return Some(true);
        }
        if self.fails(switch.place, FaultKind::Blocked) {
            return None;
        }
        match self.setting.runs[switch.booster] {
            false if raised(What::CutIn(index)) => Some(true),
            true if raised(What::CutOut(index)) => Some(false),
            _ => None,
        }
    }

    /// Lets switches, guards and empty tanks act; true when something has changed.
    pub(super) fn act(&mut self, config: usize, raised: &[bool]) -> bool {
        let gauges: Vec<(Gauge, bool)> =
            self.machine.configs[config].state.gauges.iter().copied().zip(raised.iter().copied()).collect();
        let is_raised = |what: What| gauges.iter().any(|(gauge, raised)| gauge.what == what && *raised);
        let mut changed = false;
        for index in 0..self.machine.plant.switches.len() {
            let booster = self.machine.plant.switches[index].booster;
            let Some(wish) = self.wish(index, is_raised) else { continue };
            let lags = self.time_s < self.changed_s[index] + SWITCH_LAG_S - SAME_MOMENT_S;
            if self.setting.runs[booster] != wish && !lags {
                self.set_runs(booster, wish);
                self.changed_s[index] = self.time_s;
                changed = true;
            }
        }
        for (gauge, raised) in &gauges {
            match gauge.what {
                What::Dry | What::NoWater if *raised && !self.locked[gauge.place] && self.is_guarded(gauge.place) => {
                    self.locked[gauge.place] = true;
                    self.setting.runs[gauge.place] = false;
                    self.sums.pump_stops(gauge.place, self.time_s);
                    self.event(gauge.place, EventKind::PumpStopsDry);
                    changed = true;
                }
                What::Barrel { storage } => {
                    let full = self.machine.plant.storages[storage].barrel.map_or(f64::NAN, |barrel| barrel.full_pa);
                    let serves = self.stored_pa[storage] >= SERVES_AGAIN_AT * full * (1.0 - 1e-9);
                    if !*raised && !self.empty[storage] {
                        self.empty[storage] = true;
                        self.set_source(gauge.place);
                        self.event(gauge.place, EventKind::BarrelEmpties);
                        changed = true;
                    } else if self.empty[storage] && serves {
                        self.empty[storage] = false;
                        self.set_source(gauge.place);
                        self.event(gauge.place, EventKind::BarrelServes);
                        changed = true;
                    }
                }
                _ => {}
            }
        }
        changed
    }

    /// Whether a booster stops when it runs dry.
    fn is_guarded(&self, booster: usize) -> bool {
        self.machine.plant.garden.parts()[booster].si(Id::DryRunCutoff).is_some()
    }

    /// Switches that do not act now by their pressure.
    pub(super) fn deaf(&self) -> Vec<bool> {
        (0..self.machine.plant.switches.len())
            .map(|index| self.fails(self.machine.plant.switches[index].place, FaultKind::Blocked))
            .collect()
    }

    /// How long the state may go on before something happens that is known beforehand.
    pub(super) fn free_s(&self, config: usize, raised: &[bool]) -> f64 {
        let mut until_s = self.turns.get(self.next_turn).map_or(self.duration_s, |turn| turn.time_s.min(self.duration_s));
        let gauges = &self.machine.configs[config].state.gauges;
        let is_raised = |what: What| gauges.iter().zip(raised).any(|(gauge, raised)| gauge.what == what && *raised);
        for (index, &changed_s) in self.changed_s.iter().enumerate() {
            let free_s = changed_s + SWITCH_LAG_S;
            let booster = self.machine.plant.switches[index].booster;
            let waits = self.wish(index, is_raised).is_some_and(|wish| wish != self.setting.runs[booster]);
            if waits && free_s > self.time_s + SAME_MOMENT_S {
                until_s = until_s.min(free_s);
            }
        }
        for (index, storage) in self.machine.plant.storages.iter().enumerate() {
            if let Some(barrel) = storage.barrel.filter(|barrel| self.empty[index] && barrel.inflow_m3_per_s > 0.0) {
                let missing = storage.volume_m3(SERVES_AGAIN_AT * barrel.full_pa) - storage.volume_m3(self.stored_pa[index]);
                let wait_s = missing / barrel.inflow_m3_per_s;
                if wait_s > 0.0 {
                    until_s = until_s.min(self.time_s + wait_s);
                }
            }
        }
        until_s - self.time_s
    }
}
