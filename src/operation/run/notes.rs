//! What is written into the log of parts that change by themselves: check valves, reliefs, tanks.

use super::standing::{Noted, Run};
use crate::operation::event::EventKind;
use crate::operation::gauge::What;

/// A check valve that opens again this soon has not closed, s.
const FLUTTER_S: f64 = 1.0;

impl Run {
    /// Notes which check valves and reliefs are open and which tanks hold water, and logs changes.
    pub(super) fn note(&mut self, config: usize, raised: &[bool]) {
        for (index, &is_raised) in raised.iter().enumerate() {
            let gauge = self.machine.configs[config].state.gauges[index];
            let (opens, shuts) = match gauge.what {
                What::Check => (EventKind::CheckOpens, EventKind::CheckCloses),
                What::Relief => (EventKind::ReliefOpens, EventKind::ReliefCloses),
                What::Tank { .. } => (EventKind::TankFills, EventKind::TankEmpties),
                _ => continue,
            };
            let now = if is_raised { Noted::Yes } else { Noted::No };
            let before = std::mem::replace(&mut self.standing.noted[gauge.place], now);
            if before == Noted::Unknown || before == now || self.flutters(gauge.place) {
                continue;
            }
            self.event(gauge.place, if now == Noted::Yes { opens } else { shuts });
        }
    }

    /// A check valve that closes and at once opens again, with nothing else in between, is taken as open: next to rest a hair of
    /// pressure holds it, which is less than a step of several storages is sharp.
    fn flutters(&mut self, place: usize) -> bool {
        let last = self.day.events.last();
        let flutters = last.is_some_and(|event| {
            event.place == place && event.kind == EventKind::CheckCloses && self.time_s - event.time_s < FLUTTER_S
        });
        if flutters {
            self.day.events.pop();
        }
        flutters
    }
}
