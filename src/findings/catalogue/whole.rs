//! Runs over time that ended early, and states that were not found.

use super::{Entry, Level, Source};

/// The steady state with all valves shut was not found.
pub const REST_UNKNOWN: Entry = Entry {
    code: "rest-unknown",
    level: Level::Note,
    why: "so nothing is said of ratings at rest, of where the pump stops, and of the relief valve",
    what: "with all zone valves shut no steady state was found",
    action: "look for a booster that pushes in a circle or for parts that fight each other",
    source: Source::Physics,
};

/// A run over time ended early, as a pump starts and stops without end.
pub const CUT_SHORT: Entry = Entry {
    code: "cut-short",
    level: Level::Danger,
    why: "no contact lives through that for long, and what came after is in no sum",
    what: "the run was {how}",
    action: "give the pump a tank, or set cut-in and cut-out further apart",
    source: Source::Physics,
};

/// A run over time ended early, as it had too many steps or events, or too many steps without a steady state.
pub const RUN_TOO_LONG: Entry = Entry {
    code: "run-too-long",
    level: Level::Warning,
    why: "what came after is in no sum",
    what: "the run was {how}",
    action: "run a shorter time",
    source: Source::Physics,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[REST_UNKNOWN, CUT_SHORT, RUN_TOO_LONG];
