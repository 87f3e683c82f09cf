//! What switches, guards and empty tanks do of themselves, and how long nothing of that is due.

use super::standing::{Run, SWITCH_LAG_S};
use crate::operation::event::EventKind;
use crate::operation::gauge::{Gauge, What};
use crate::operation::plant::Rule;
use crate::operation::tolerances::SAME_MOMENT_S;
use crate::parts::{FaultKind, Id};

/// Share of its volume to which an open tank must fill before water is taken from it again.
const SERVES_AGAIN_AT: f64 = 0.02;

impl Run {
    /// What each switch wants of its booster: on, off or nothing.
    fn wish(&self, index: usize, raised: impl Fn(What) -> bool) -> Option<bool> {
        let switch = &self.machine.plant.switches[index];
        let either = |kind| self.fails(switch.place, kind) || self.fails(switch.booster, kind);
        if self.standing.locked[switch.booster] || either(FaultKind::WillNotStart) {
            return Some(false);
        }
        if either(FaultKind::WillNotStop) {
            return Some(true);
        }
        if self.fails(switch.place, FaultKind::Blocked) {
            return None;
        }
        let is_due = self.due_s(index).is_some_and(|due_s| self.time_s >= due_s - SAME_MOMENT_S);
        match (&switch.rule, self.standing.setting.runs[switch.booster]) {
            (Rule::Zones { .. }, runs) => (runs != is_due).then_some(is_due),
            (_, false) if raised(What::CutIn(index)) => Some(true),
            (Rule::Pressure { .. }, true) if raised(What::CutOut(index)) => Some(false),
            (Rule::Flow { .. }, true) if is_due || raised(What::Idles(index)) => Some(false),
            _ => None,
        }
    }

    /// When a relay, control or drive acts if its reason lasts, s.
    fn due_s(&self, index: usize) -> Option<f64> {
        Some(self.standing.since_s[index]? + self.machine.plant.switches[index].rule.delay_s())
    }

    /// Notes since when each relay has a zone open, and each control or drive senses no flow.
    fn look_out(&mut self, raised: impl Fn(What) -> bool) {
        for (index, switch) in self.machine.plant.switches.iter().enumerate() {
            let has_reason = match &switch.rule {
                Rule::Pressure { .. } => false,
                // The relay follows the timer, not the valve, which may stick.
                Rule::Zones { valves, .. } => valves.iter().any(|&valve| self.standing.openings[valve] > 0),
                Rule::Flow { .. } => self.standing.setting.runs[switch.booster] && raised(What::LeastFlow(index)),
            };
            let since_s = &mut self.standing.since_s[index];
            *since_s = has_reason.then(|| since_s.unwrap_or(self.time_s));
        }
    }

    /// Whether a control that senses no flow takes it that the booster runs dry: no pressure comes with its run.
    fn runs_dry(&self, index: usize, gauges: &[(Gauge, bool)]) -> bool {
        let switch = &self.machine.plant.switches[index];
        let tells = |gauge: &Gauge| match gauge.what {
            What::CutIn(of) => of == index,
            What::NoWater => gauge.place == switch.booster,
            _ => false,
        };
        matches!(switch.rule, Rule::Flow { .. }) && gauges.iter().any(|(gauge, raised)| *raised && tells(gauge))
    }

    /// Stops a booster for good, as a guard against running dry does.
    fn lock(&mut self, booster: usize) {
        self.standing.locked[booster] = true;
        self.standing.setting.runs[booster] = false;
        self.event(booster, EventKind::PumpStopsDry);
    }

    /// The gauges that a switch, a guard or an empty tank acts on.
    fn acting(&self, config: usize, raised: &[bool]) -> Vec<(Gauge, bool)> {
        let acts = |what: What| {
            matches!(
                what,
                What::CutIn(_)
                    | What::CutOut(_)
                    | What::LeastFlow(_)
                    | What::Idles(_)
                    | What::Dry
                    | What::NoWater
                    | What::Barrel { .. }
            )
        };
        let gauges = self.machine.configs[config].state.gauges.iter().copied().zip(raised.iter().copied());
        gauges.filter(|(gauge, _)| acts(gauge.what)).collect()
    }

    /// Lets switches, guards and empty tanks act; true when something has changed.
    pub(super) fn act(&mut self, config: usize, raised: &[bool]) -> bool {
        let gauges = self.acting(config, raised);
        let is_raised = |what: What| gauges.iter().any(|(gauge, raised)| gauge.what == what && *raised);
        let mut changed = false;
        self.look_out(is_raised);
        for index in 0..self.machine.plant.switches.len() {
            let booster = self.machine.plant.switches[index].booster;
            let Some(wish) = self.wish(index, is_raised) else { continue };
            let lags = self.time_s < self.standing.changed_s[index] + SWITCH_LAG_S - SAME_MOMENT_S;
            if self.standing.setting.runs[booster] != wish && !lags {
                if !wish && !self.standing.locked[booster] && self.runs_dry(index, &gauges) {
                    self.lock(booster);
                } else {
                    self.set_runs(booster, wish);
                }
                self.standing.changed_s[index] = self.time_s;
                changed = true;
            }
        }
        for (gauge, raised) in &gauges {
            match gauge.what {
                What::Dry | What::NoWater if *raised && !self.standing.locked[gauge.place] && self.is_guarded(gauge.place) => {
                    self.lock(gauge.place);
                    changed = true;
                }
                What::Barrel { storage } => {
                    let full = self.machine.plant.storages[storage].barrel.map_or(f64::NAN, |barrel| barrel.full_pa);
                    let serves = self.standing.stored_pa[storage] >= SERVES_AGAIN_AT * full * (1.0 - 1e-9);
                    if !*raised && !self.standing.empty[storage] {
                        self.standing.empty[storage] = true;
                        self.set_source(gauge.place);
                        self.event(gauge.place, EventKind::BarrelEmpties);
                        changed = true;
                    } else if self.standing.empty[storage] && serves {
                        self.standing.empty[storage] = false;
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
        let mut until_s = self.next_turn_s();
        let gauges = self.acting(config, raised);
        let is_raised = |what: What| gauges.iter().any(|(gauge, raised)| gauge.what == what && *raised);
        for (index, &changed_s) in self.standing.changed_s.iter().enumerate() {
            let free_s = changed_s + SWITCH_LAG_S;
            let booster = self.machine.plant.switches[index].booster;
            let waits = self.wish(index, is_raised).is_some_and(|wish| wish != self.standing.setting.runs[booster]);
            if waits && free_s > self.time_s + SAME_MOMENT_S {
                until_s = until_s.min(free_s);
            }
            if let Some(due_s) = self.due_s(index).filter(|due_s| *due_s > self.time_s + SAME_MOMENT_S) {
                until_s = until_s.min(due_s);
            }
        }
        for (index, storage) in self.machine.plant.storages.iter().enumerate() {
            if let Some(barrel) = storage.barrel.filter(|barrel| self.standing.empty[index] && barrel.inflow_m3_per_s > 0.0) {
                let missing =
                    storage.volume_m3(SERVES_AGAIN_AT * barrel.full_pa) - storage.volume_m3(self.standing.stored_pa[index]);
                let wait_s = missing / barrel.inflow_m3_per_s;
                if wait_s > 0.0 {
                    until_s = until_s.min(self.time_s + wait_s);
                }
            }
        }
        until_s - self.time_s
    }
}
