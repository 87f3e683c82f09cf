//! What an evaluation may use, and which limit it reached.

use super::memory::{free_bytes, used_bytes};
use std::time::Duration;

/// How often time, memory and the stop flag are looked at by whoever waits.
pub(super) const LOOK_EVERY: Duration = Duration::from_millis(20);
/// The part of the memory that is free at the start which a study may use.
const USUAL_PART: f64 = 0.75;

/// What an evaluation may use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Nothing stands for as long as it takes.
    pub time: Option<Duration>,
    /// Memory of the whole program; nothing stands for as much as there is.
    pub memory_bytes: Option<u64>,
}

impl Limits {
    /// Any time, and three quarters of the memory that is free now.
    pub fn usual() -> Limits {
        let free = free_bytes().map(|free| (free as f64 * USUAL_PART) as u64);
        Limits { time: None, memory_bytes: free.map(|free| free + used_bytes().unwrap_or(0)) }
    }
}

/// Which limit an evaluation reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Reached {
    /// None: it ended by itself, failed, or was stopped by somebody.
    Nothing,
    /// It took longer than [`Limits::time`].
    Time,
    /// The program held more than [`Limits::memory_bytes`].
    Memory,
    /// Something that it needs and had before is gone.
    Lost,
}

impl Reached {
    pub(super) fn of(code: u8) -> Reached {
        [Reached::Time, Reached::Memory, Reached::Lost]
            .into_iter()
            .find(|reached| *reached as u8 == code)
            .unwrap_or(Reached::Nothing)
    }
}
