//! Days that repeat: one that begins as an earlier one did, and has the same turns, goes as that one went.
//!
//! A run begins every day afresh: networks start from a guess and steps with a short one. So a day follows from the state at its
//! midnight, from its turns, and from what the machine has learned (configurations, curves, legs). The first two are compared to the last bit,
//! and a day counts as known only where the machine learned nothing on it and has not since. What is taken over is therefore what running
//! the day would give, to the last bit.

use super::standing::{Run, Standing};
use super::turns::{Turned, Way};
use crate::operation::accumulate::Sums;
use crate::operation::day::Day;
use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

/// Memory that known days may take, bytes; beyond it all are forgotten.
const MOST_BYTES: usize = 1 << 26;

/// A day that is known, and how things stand after it.
pub(super) struct Known {
    begins: Begins,
    pub day: Arc<Day>,
    pub sums: Sums,
    pub after: Standing,
}

/// How a day begins: what must be the same for it to be the same day.
pub(super) struct Begins {
    standing: Standing,
    /// Time of the day, as bits.
    turns: Vec<(u64, Turned, Way)>,
    hash: u64,
}

/// The days that are known.
#[derive(Default)]
pub(super) struct Repeats {
    known: HashMap<u64, Known>,
    /// What the machine knew then.
    learned: usize,
    bytes: usize,
}

impl Begins {
    /// How the day of a run begins.
    pub fn of(run: &Run) -> Begins {
        let midnight_s = run.midnight_s();
        let turns = run.turns[run.next_turn..run.turns_end].iter();
        let turns: Vec<_> = turns.map(|turn| ((turn.time_s - midnight_s).to_bits(), turn.what, turn.on)).collect();
        let mut hasher = DefaultHasher::new();
        turns.hash(&mut hasher);
        run.standing.bits().for_each(|bits| bits.hash(&mut hasher));
        run.standing.setting.hash(&mut hasher);
        Begins { standing: run.standing.clone(), turns, hash: hasher.finish() }
    }

    fn is_same(&self, other: &Begins) -> bool {
        self.hash == other.hash && self.turns == other.turns && self.standing.is_same(&other.standing)
    }
}

impl Repeats {
    /// The day that begins so; none where none is known, or the machine has learned something since.
    pub fn find(&self, begins: &Begins, learned: usize) -> Option<&Known> {
        self.known.get(&begins.hash).filter(|known| self.learned == learned && known.begins.is_same(begins))
    }

    /// Keeps a day on which the machine learned nothing.
    pub fn keep(&mut self, begins: Begins, learned: usize, day: Arc<Day>, sums: Sums, after: Standing) {
        let bytes = sums.bytes() + begins.standing.bytes() + after.bytes() + 40 * begins.turns.len();
        if self.learned != learned || self.bytes + bytes > MOST_BYTES {
            self.known.clear();
            (self.learned, self.bytes) = (learned, 0);
        }
        if bytes <= MOST_BYTES {
            self.bytes += bytes;
            self.known.insert(begins.hash, Known { begins, day, sums, after });
        }
    }
}

impl Standing {
    /// What is not a number of a place or a state, as bits.
    fn bits(&self) -> impl Iterator<Item = u64> + '_ {
        let since_s = self.since_s.iter().map(|since_s| since_s.unwrap_or(f64::INFINITY));
        self.stored_pa.iter().chain(&self.changed_s).copied().chain(since_s).map(f64::to_bits)
    }

    fn is_same(&self, other: &Standing) -> bool {
        self.bits().eq(other.bits())
            && self.setting == other.setting
            && self.openings == other.openings
            && self.empty == other.empty
            && self.locked == other.locked
            && self.noted == other.noted
            && self.known == other.known
    }

    /// Roughly what it takes in memory, bytes.
    fn bytes(&self) -> usize {
        8 * self.openings.len() + 16 * self.stored_pa.len() + 4 * self.setting.open.len()
    }
}
