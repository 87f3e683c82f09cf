//! Rain of heads on the ground: spacing, matched precipitation, overspray, wind, heads out of range; catch-can tests.

use super::{Entry, Level, Source};

/// A head does not reach its neighbor.
pub const SPACING: Entry = Entry {
    code: "spacing",
    level: Level::Warning,
    why: "without overlap the ground between two heads gets a fraction of what lies near them, and dries out",
    what: "{part} throws {throw}, and '{neighbor}', the nearest head, is {apart} away",
    action: "space heads head to head: move them closer, or use nozzles that throw {apart}",
    source: Source::CommonPractice,
};
/// Heads are farther apart than the wind allows.
pub const SPACING_IN_WIND: Entry = Entry {
    why: "wind shortens the throw against it and narrows the pattern across it",
    what: "heads '{first}' and '{second}' are {apart} apart, {percent}% of their diameter; in a wind of {wind} {most}% is the most",
    action: "space them closer, or water when the wind is still, as before sunrise",
    source: Source::FromMemory(
        "USDA Soil Conservation Service, National Engineering Handbook, section 15, chapter 11, Sprinkle Irrigation (1983): spacing in wind",
    ),
    ..SPACING
};

/// Heads of a zone put down water at different rates.
pub const UNMATCHED: Entry = Entry {
    code: "unmatched",
    level: Level::Warning,
    why: "the zone runs until the slowest head has given enough, and the ground of the others drowns meanwhile",
    what: "{part} puts down {least} and '{other}' on the same valve {most}",
    action: "match nozzles to the arc and throw (half the flow for half a circle), or put them on separate zones",
    source: Source::CommonPractice,
};
/// Heads and drip parts have one valve.
pub const UNMATCHED_WITH_DRIP: Entry = Entry {
    why: "drip parts need hours where heads need minutes",
    what: "{part} and {drip} are on the same valve",
    action: "put drip parts on a valve of their own",
    ..UNMATCHED
};

/// More of the water falls outside the bed than is usual.
pub const OVERSPRAY: Entry = Entry {
    code: "overspray",
    level: Level::Warning,
    why: "that water is paid for and pumped, and wets paths, walls and weeds; the application rate on the bed is that much lower",
    what: "{off}% of the water falls outside the bed (overspray), more than {most}%",
    action: "use smaller arcs or radii at the edges, turn the arcs inward, or move the heads",
    source: Source::CommonPractice,
};

/// A head below its operating range is left out of the coverage.
pub const COVERAGE_BELOW_RANGE: Entry = Entry {
    code: "coverage-below-range",
    level: Level::Warning,
    why: "a head below its range stands still or throws a ring (doughnut): the center gets too much, the rest stays dry",
    what: "head '{first}' is below its operating range and counts for nothing here",
    action: "raise the pressure: fewer heads at once, a larger hose, smaller nozzles or a booster",
    source: Source::Physics,
};
/// Of two heads.
pub const COVERAGE_OF_TWO_BELOW_RANGE: Entry = Entry {
    what: "heads '{first}' and '{second}' are below their operating range and count for nothing here",
    ..COVERAGE_BELOW_RANGE
};
/// Of more than two.
pub const COVERAGE_OF_MANY_BELOW_RANGE: Entry = Entry {
    what: "head '{first}' and {others} are below their operating range and count for nothing here",
    ..COVERAGE_BELOW_RANGE
};

/// Of all heads that throw water there.
pub const COVERAGE_OF_NONE_IN_RANGE: Entry =
    Entry { what: "no head is in its operating range ({heads} below it), so nothing waters the ground", ..COVERAGE_BELOW_RANGE };

/// A head runs far below the pressure at which its throw was measured, and its range is not known.
pub const COVERAGE_RING: Entry = Entry {
    code: "coverage-ring",
    level: Level::Warning,
    why: "with too little pressure the stream does not break up and falls as a ring (doughnut); what is shown takes it for even",
    what: "head '{head}' has {has}, below the {least} at which its throw was measured[; so do {others}]",
    action: "raise the pressure, measure the throw there, or give its range with .operating_range(..)",
    source: Source::CommonPractice,
};

/// A head above its range mists.
pub const COVERAGE_MIST: Entry = Entry {
    code: "coverage-mist",
    level: Level::Note,
    why: "mist drifts away in a breath of air and falls near the head: less reaches the ground than is shown",
    what: "head '{head}' has {has}, above its highest working pressure of {most}[; so do {others}]",
    action: "fit a regulator upstream of it, or use regulated heads",
    source: Source::CommonPractice,
};

/// The low quarter gets little.
pub const COVERAGE_UNEVEN: Entry = Entry {
    code: "coverage-uneven",
    level: Level::Warning,
    why: "to give the driest quarter enough, the rest gets that much too much",
    what: "DU (low quarter) is {du}%, below {least}%; the driest spot is at x {x}, y {y}",
    action: "space heads head to head, match their nozzles, and look at the map of .table()",
    source: Source::CommonPractice,
};

/// The wind takes water off the bed.
pub const COVERAGE_WIND: Entry = Entry {
    code: "coverage-wind",
    level: Level::Warning,
    why: "that water wets the neighbor, and the windward edge stays dry",
    what: "a wind of {wind} moves the water by {shift}, and {off}% of it misses the bed, {calm}% in calm air",
    action: "water before sunrise when the wind is still, or use heads with a flat trajectory and larger drops",
    source: Source::Physics,
};

/// Few cans were set out.
pub const CANS_FEW: Entry = Entry {
    code: "cans-few",
    level: Level::Note,
    why: "a few cans miss the dry corner, and DU takes the lowest quarter of them",
    what: "{cans}[: the mean is known to {band}%]; {least} are the least for a lawn",
    action: "set out more cans on an even grid, some of them near heads and some halfway between",
    source: Source::CommonPractice,
};
/// More severe: so few that the mean says little.
pub const CANS_UNSURE: Entry = Entry {
    level: Level::Warning,
    why: "the run time follows from the mean, and can be off as much",
    what: "{cans} differ so strongly that their mean is known to {band}% only",
    ..CANS_FEW
};

/// A can is dry.
pub const CANS_EMPTY: Entry = Entry {
    code: "cans-empty",
    level: Level::Warning,
    why: "a can that fell over or stood under a leaf spoils DU; a spot that is really dry is what the test was made for",
    what: "{can} caught nothing[; so did {others}]",
    action: "look whether it fell over or stood in the shadow of something, and repeat the test or leave it out",
    source: Source::CommonPractice,
};

/// The wind was too strong for a test.
pub const CANS_WIND: Entry = Entry {
    code: "cans-wind",
    level: Level::Warning,
    why: "the test then measures the wind of that hour and not the heads",
    what: "the test was made in a wind of {wind}, above {most}",
    action: "repeat it early in the morning",
    source: Source::Published("New Mexico State University Extension, Guide H-510"),
};

/// The cans caught too little to be read.
pub const CANS_SHORT: Entry = Entry {
    code: "cans-short",
    level: Level::Note,
    why: "drops on the wall of a can and the marks of a cup are then a large share of the catch",
    what: "the cans hold {mean} on the mean, less than {least}",
    action: "let the test run longer, several turns of a rotor at least",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    SPACING,
    SPACING_IN_WIND,
    UNMATCHED,
    UNMATCHED_WITH_DRIP,
    OVERSPRAY,
    COVERAGE_BELOW_RANGE,
    COVERAGE_OF_TWO_BELOW_RANGE,
    COVERAGE_OF_MANY_BELOW_RANGE,
    COVERAGE_OF_NONE_IN_RANGE,
    COVERAGE_RING,
    COVERAGE_MIST,
    COVERAGE_UNEVEN,
    COVERAGE_WIND,
    CANS_FEW,
    CANS_UNSURE,
    CANS_EMPTY,
    CANS_WIND,
    CANS_SHORT,
];
