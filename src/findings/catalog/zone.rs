//! Zones as a whole: even pressure, drainage, filters, what small flows do to regulators and check valves.

use super::{Entry, Level, Source};
use crate::findings::limits::ZONE_VARIATION;

/// A soaker without a filter.
pub const SOAKER_NO_FILTER: Entry = Entry {
    code: "drip-no-filter",
    level: Level::Note,
    why: "small passages clog with rust and sand, some at a time and unseen",
    what: "there is no filter between {source} and {part}[; {coarse} is too coarse]",
    action: "put a filter of 150 mesh (100 micrometers) or finer upstream of it, and upstream of its regulator",
    source: Source::CommonPractice,
};
/// More severe for emitters.
pub const DRIP_NO_FILTER: Entry = Entry { level: Level::Warning, ..SOAKER_NO_FILTER };

/// So little flows through a regulator that it does not hold its pressure.
pub const REGULATOR_FLOW: Entry = Entry {
    code: "regulator-flow",
    level: Level::Note,
    why: "below its least flow a regulator creeps: outlet pressure rises toward inlet pressure",
    what: "only {flow} goes through {part}; many regulators need {least}",
    action: "check the least flow of the regulator, or use one made for small flow",
    source: Source::CommonPractice,
};

/// Working pressures in a zone are far apart.
pub const ZONE_VARIATION_HIGH: Entry = Entry {
    code: "zone-variation",
    level: Level::Warning,
    why: "heads of one kind then give unlike water: where the last has enough, the first gives too much",
    what: "{part} has {least} and {highest} {most_pressure}[ in zone '{zone}'], {percent}% apart; at most {most}% is usual",
    action: "loop or widen the lateral, or use pressure-regulated heads",
    source: ZONE_VARIATION.source,
};

/// Part of a lateral drains through its lowest head.
pub const LOW_HEAD_DRAINAGE: Entry = Entry {
    code: "low-head-drainage",
    level: Level::Note,
    why: "the low spot turns to mud, and the line has to be filled again at each start",
    what: "after {valve} closes, up to {volume} drains through {part}, the lowest head",
    action: "use heads with a built-in check valve that holds {height}",
    source: Source::CommonPractice,
};

/// A run is short against the filling of a line that drains.
pub const TOO_SHORT: Entry = Entry {
    code: "too-short",
    level: Level::Note,
    why: "far heads get nothing while the line fills",
    what: "each start of {part} first fills up to {volume} of lateral: {fill} of a run of {run}",
    action: "water less often and longer, or use heads with built-in check valves",
    source: Source::CommonPractice,
};

/// The pressure of a line is hardly enough to open a check valve.
pub const WEAK_CHECK: Entry = Entry {
    code: "weak-check",
    level: Level::Note,
    why: "a spring check takes {0.5 to 2 psi|0.03 to 0.14 bar} to open",
    what: "only {has} is left to open {part}, and its cracking pressure is not given",
    action: "use a swing check, or give its cracking_pressure",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] =
    &[SOAKER_NO_FILTER, DRIP_NO_FILTER, REGULATOR_FLOW, ZONE_VARIATION_HIGH, LOW_HEAD_DRAINAGE, TOO_SHORT, WEAK_CHECK];
