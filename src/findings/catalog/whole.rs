//! Runs over time that ended early, and states that were not found.

use super::{Entry, Level, Source};

/// The steady state with all valves closed was not found.
pub const NO_STATIC_STATE: Entry = Entry {
    code: "no-static-state",
    level: Level::Note,
    why: "so static pressures against ratings, the stop of the pump and the relief valve are not checked",
    what: "no steady state was found with all zone valves closed",
    action: "look for a booster that pumps in a loop, or for conflicting components",
    source: Source::Physics,
};

/// A run over time ended early, as a pump starts and stops without end.
pub const CUT_SHORT: Entry = Entry {
    code: "cut-short",
    level: Level::Danger,
    why: "switch contacts do not last, and totals leave out the time after that",
    what: "the run was {how}",
    action: "fit a pressure tank, or widen the differential between cut-in and cut-out",
    source: Source::Physics,
};

/// A run over time ended early, as it had too many steps or events, or too many steps without a steady state.
pub const RUN_TOO_LONG: Entry = Entry {
    code: "run-too-long",
    level: Level::Warning,
    why: "totals leave out the time after that",
    what: "the run was {how}",
    action: "run a shorter time",
    source: Source::Physics,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[NO_STATIC_STATE, CUT_SHORT, RUN_TOO_LONG];
