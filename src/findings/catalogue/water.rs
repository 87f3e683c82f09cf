//! Heads, emitters, draws, regulators, hoses, flows that nothing decides, and rain on the ground.

use super::{Entry, Level, Source};
use crate::findings::limits::{FAST_SOURCE, TOO_FAST_SOURCE};

/// Why water does not get to a place: it boils under vacuum on the way.
pub const PARTS_ON_THE_WAY: &str = "it parts before {parted} at {vapor}, full vacuum";
/// Why water does not get to a place: it lies too high.
pub const CLIMBS_TOO_LOW: &str = "it does not climb that high";

/// A part that lets water through one way only keeps all supplies from a place that is open.
pub const NO_SUPPLY: Entry = Entry {
    code: "no-supply",
    level: Level::Warning,
    why: "its valve is open, but a part that lets water through one way only stands against it",
    what: "{part} gets no supply",
    action: "turn the check valve, backflow preventer or regulator on the way to it round",
    source: Source::Physics,
};
/// Of a draw.
pub const NO_SUPPLY_TO_DRAW: Entry = Entry {
    what: "{part} wants {wants} and gets no supply",
    action: "turn the one-way part on the way to it round, or leave the draw out",
    ..NO_SUPPLY
};

/// A place is open, and the water does not climb to it.
pub const DRY: Entry = Entry {
    code: "dry",
    level: Level::Warning,
    why: "no water comes out, and what it should water stays dry",
    what: "{part} is dry: the water lacks {lacking} to reach it",
    action: "put it lower, run fewer heads at once, use a wider hose, or add a booster",
    source: Source::Physics,
};
/// At the height that the water just reaches.
pub const DRY_AT_ITS_HEIGHT: Entry = Entry { what: "{part} is dry: no pressure is left before it", ..DRY };
/// Where the way to it is open and the water does not come.
pub const DRY_BEHIND_A_CREST: Entry = Entry {
    what: "no water gets to {part}: {because}",
    action: "put it lower, or lower the pump or the crest that the water does not climb",
    ..DRY
};

/// A head or a line gets less pressure than it needs.
pub const STALLED: Entry = Entry {
    code: "stalled",
    level: Level::Warning,
    why: "below it the arm stops or the stream does not break up: one spot drowns, the rest stays dry",
    what: "{part} gets {has} and stalls below {needs}: {missing} are missing",
    action: "run fewer heads at once, shorten or widen the hose, fit a smaller nozzle, or add a booster",
    source: Source::Physics,
};
/// Of parts that drip.
pub const DRIPS_UNEVENLY: Entry = Entry { why: "below it the outlets give little and unevenly", ..STALLED };

/// A head gets what it needs, but little more.
pub const NEAR_STALL: Entry = Entry {
    code: "near-stall",
    level: Level::Note,
    why: "a reading that is a little off, an open kitchen tap or an older hose is enough to stall it",
    what: "{part} gets {has} and stalls below {needs}: the margin is {margin}",
    action: "leave it a tenth more than it needs: a wider hose, a smaller nozzle, one head fewer",
    source: Source::CommonPractice,
};

/// A head gets more pressure than it can take.
pub const OVER_PRESSURED: Entry = Entry {
    code: "over-pressured",
    level: Level::Warning,
    why: "above it the water turns to mist that the wind takes, and the head wears or breaks",
    what: "{part} gets {has}, {excess} above the {most} it can take",
    action: "put a regulator before it, or run more heads at once",
    source: Source::Physics,
};

/// A drip part without a limit of its own is at more than such parts usually take.
pub const DRIP_OVER_PRESSURE: Entry = Entry {
    code: "drip-over-pressure",
    level: Level::Warning,
    why: "barbed fittings pop off and soaker walls split near {40 psi|2.8 bar}",
    what: "{part} is at {has}; drip parts usually take {most} at most, and its own limit is not given",
    action: "fit a {25 psi|1.7 bar} regulator downstream of the valve, or give its limit with .needs",
    source: Source::CommonPractice,
};

/// A head gets no more than it can take, but little less.
pub const NEAR_HIGH: Entry = Entry {
    code: "near-high",
    level: Level::Note,
    why: "the street pressure rises at night, and then it mists",
    what: "{part} gets {has} and can take {most}: the margin is {margin}",
    action: "put a regulator before it where the street pressure varies",
    source: Source::CommonPractice,
};

/// A draw takes its flow at a pressure at which no tap would give it.
pub const DRAW_STARVED: Entry = Entry {
    code: "draw-starved",
    level: Level::Warning,
    why: "no tap gives water at that pressure: the flow was taken for granted, and all pressures around it are too low",
    what: "{part} takes {wants} at {has}",
    action: "give the draw less flow, or look at another time of day",
    source: Source::Physics,
};
/// Where the water parts, and less comes than the draw wants.
pub const DRAW_SHORT: Entry = Entry {
    why: "at full vacuum water parts and no more comes; no tap gives water long before that",
    what: "{part} takes {takes} of {wants} at {has}",
    ..DRAW_STARVED
};
/// Where nothing comes.
pub const DRAW_WITHOUT_WATER: Entry = Entry {
    what: "{part} wants {wants} and gets nothing: {because}",
    action: "put it lower, or lower the pump or the crest that the water does not climb",
    ..DRAW_SHORT
};

/// A regulator gets less pressure than it is set to.
pub const REGULATOR_STARVED: Entry = Entry {
    code: "regulator-starved",
    level: Level::Note,
    why: "it stands wide open and only takes pressure away",
    what: "{part} cannot hold its {set}: it gets {gets} and passes on {passes_on}",
    action: "set it lower, raise the pressure before it, or leave it out",
    source: Source::Physics,
};

/// In a run over time.
pub const STARVED: Entry = Entry {
    code: "starved",
    level: Level::Warning,
    why: "a head below its need does not turn or throw, and leaves dry ground",
    what: "{part} is below its need for {below} of {open}, {percent}% of its time",
    action: "run fewer heads at once, widen the hose, or raise cut-in",
    source: Source::Physics,
};

/// Two openings of a schedule overlap in time.
pub const OVERLAP: Entry = Entry {
    code: "overlap",
    level: Level::Note,
    why: "zones that run together share the pressure",
    what: "{overlaps} of two openings, first {first} and {second} at {when}",
    action: "move one of them if they should not run together; .overlaps(1.days) lists them",
    source: Source::Physics,
};

/// Water runs in a hose faster than [`FAST_M_PER_S`](crate::findings::limits::FAST_M_PER_S).
pub const FAST: Entry = Entry {
    code: "fast",
    level: Level::Note,
    why: "friction grows with nearly the square of the speed, and a valve that snaps shut knocks harder",
    what: "in {part} the water runs at {speed}, above {limit}",
    action: "use a wider hose, or run fewer heads at once",
    source: FAST_SOURCE,
};

/// Water runs in a hose faster than [`TOO_FAST_M_PER_S`](crate::findings::limits::TOO_FAST_M_PER_S).
pub const TOO_FAST: Entry = Entry {
    code: "too-fast",
    level: Level::Warning,
    why: "most of the pressure is lost on the way, and a valve that snaps shut knocks hard enough to burst couplings",
    source: TOO_FAST_SOURCE,
    ..FAST
};

/// The pressure in a hose falls below that of the air.
pub const SUCTION_IN_HOSE: Entry = Entry {
    code: "hose-suction",
    level: Level::Warning,
    why: "a soft hose collapses, and every leak or open head sucks in air and dirt",
    what: "in {part} the pressure falls to {lowest}, below that of the air",
    action: "draw less, use a wider hose, or lay it lower",
    source: Source::Physics,
};

/// Water boils at a crest and bounds what comes over it.
pub const SIPHON_PARTS: Entry = Entry {
    code: "siphon-parts",
    level: Level::Warning,
    why: "water boils at that pressure and its column parts at the crest: a siphon pulls no more, and air that gathers there stops it",
    what: "the crest before {part} is at {vapor}, full vacuum: no more than {flow} comes over it",
    action: "lay the line lower at the crest, or put the pump before the crest",
    source: Source::Physics,
};
/// Where no water comes over the crest at all.
pub const SIPHON_STANDS: Entry =
    Entry { what: "no water comes over the crest before {part}: it is at {vapor}, full vacuum", ..SIPHON_PARTS };

/// The wall of a part is rougher than the law of friction is known for.
pub const ROUGH: Entry = Entry {
    code: "too-rough",
    level: Level::Warning,
    why: "the law of friction is known for smoother walls only; the loss that is told is a guess",
    what: "the wall of {part} has a roughness of {percent} % of its diameter",
    action: "check the roughness and the diameter, or give a Hazen-Williams coefficient",
    source: Source::FromMemory(
        "L. F. Moody, Transactions of the ASME 66 (1944): the chart ends at a roughness of 0.05 of the diameter",
    ),
};

/// Ways without any loss lie side by side, so that nothing decides how the flow is split between them.
pub const SPLIT_UNDETERMINED: Entry = Entry {
    code: "split-undetermined",
    level: Level::Note,
    why: "none of them loses any pressure, so any split between them is a steady state; their sum, all pressures and all other \
          flows are exact",
    what: "nothing decides how the flow is split between {ways} and {last}: the flow shown for each is one of many",
    action: "give each a loss coefficient k or a hose of its length, and each supply its measured pressure and flow",
    source: Source::Physics,
};

/// More of the water falls outside the bed than is usual.
pub const OFF_BED: Entry = Entry {
    code: "off-bed",
    level: Level::Warning,
    why: "that water is paid for and pumped, and wets paths, walls and weeds; the rate on the bed is that much lower",
    what: "{off}% of the water falls outside the bed, more than {most}%",
    action: "fit smaller arcs or radii at the edges, turn the arcs inward, or move the heads",
    source: Source::CommonPractice,
};

/// Heads whose pressure is too low are shown in a rain as if they worked.
pub const COVERAGE_OF_STALLED: Entry = Entry {
    code: "coverage-of-stalled-heads",
    level: Level::Warning,
    why: "a head below its need does not turn or throws a ring: the evenness shown holds for heads that work",
    what: "head '{first}' gets less pressure than needed, so the {percent}% evenness shown is not what they give",
    action: "raise the pressure until they work: fewer heads at once, a wider hose, smaller nozzles or a booster",
    source: Source::Physics,
};
/// Of two heads.
pub const COVERAGE_OF_TWO_STALLED: Entry = Entry {
    what: "heads '{first}' and '{second}' get less pressure than needed, so the {percent}% evenness shown is not what they give",
    ..COVERAGE_OF_STALLED
};
/// Of more than two.
pub const COVERAGE_OF_MANY_STALLED: Entry = Entry {
    what: "head '{first}' and {others} others get less pressure than needed, so the {percent}% evenness shown is not what they give",
    ..COVERAGE_OF_STALLED
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    NO_SUPPLY,
    NO_SUPPLY_TO_DRAW,
    DRY,
    DRY_AT_ITS_HEIGHT,
    DRY_BEHIND_A_CREST,
    STALLED,
    DRIPS_UNEVENLY,
    NEAR_STALL,
    OVER_PRESSURED,
    DRIP_OVER_PRESSURE,
    NEAR_HIGH,
    DRAW_STARVED,
    DRAW_SHORT,
    DRAW_WITHOUT_WATER,
    REGULATOR_STARVED,
    STARVED,
    OVERLAP,
    FAST,
    TOO_FAST,
    SUCTION_IN_HOSE,
    SIPHON_PARTS,
    SIPHON_STANDS,
    ROUGH,
    SPLIT_UNDETERMINED,
    OFF_BED,
    COVERAGE_OF_STALLED,
    COVERAGE_OF_TWO_STALLED,
    COVERAGE_OF_MANY_STALLED,
];
