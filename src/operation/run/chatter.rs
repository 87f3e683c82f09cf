//! Chatter: a pump that starts and stops without end, faster than any contact lives through.
//!
//! It is known by its cycle: many starts in a row on one day, evenly apart, while nothing from outside has changed.

use super::standing::Run;
use crate::operation::log::CutShort;

/// Cycles that must be alike.
const CYCLES: usize = 24;
/// A cycle longer than this is no chatter but a pump that starts too often, s. Common practice, no source.
const LONGEST_S: f64 = 1.0;
/// Cycles are alike within this share of their time.
const ALIKE: f64 = 0.05;

impl Run {
    /// Chatter that the last starts of the day show.
    pub(super) fn chatter(&self) -> Option<CutShort> {
        self.machine.plant.boosters.iter().find_map(|&booster| {
            let last = self.starts_s[booster].last_chunk::<{ CYCLES + 1 }>()?;
            let since_s = last[0];
            let period_s = (last[CYCLES] - since_s) / CYCLES as f64;
            if period_s > LONGEST_S || since_s < self.turned_s {
                return None;
            }
            let alike = |two: &[f64]| (two[1] - two[0] - period_s).abs() <= ALIKE * period_s;
            let since_s = self.midnight_s() + since_s;
            last.windows(2).all(alike).then_some(CutShort::Chatters { booster, period_s, since_s })
        })
    }
}
