//! Heads, emitters, demands, regulators, hoses, flows that nothing decides, and coverage.

use super::{Entry, Level, Source};
use crate::findings::limits::{FAST_IN_PIPE, TOO_FAST};

/// Why water does not get to a place: it boils under vacuum on the way.
pub const AT_VACUUM_UPSTREAM: &str = "the line upstream of {parted} is at {vapor}, full vacuum";
/// Why water does not get to a place: it lies too high.
pub const TOO_HIGH: &str = "the line to it is too high";

/// A one-way part keeps all supplies from a place that is open.
pub const NO_SUPPLY: Entry = Entry {
    code: "no-supply",
    level: Level::Warning,
    why: "its valve is open, but a one-way part upstream is installed backward",
    what: "no water reaches {part}",
    action: "reverse the check valve, backflow preventer or regulator: the arrow points downstream",
    source: Source::Physics,
};
/// Of a demand.
pub const NO_SUPPLY_TO_DEMAND: Entry = Entry {
    what: "no water reaches {part}, which takes {wants}",
    action: "reverse the one-way part upstream, so that its arrow points downstream, or remove the demand",
    ..NO_SUPPLY
};

/// A place is open, and the pressure does not reach its elevation.
pub const NO_FLOW: Entry = Entry {
    code: "no-flow",
    level: Level::Warning,
    why: "its area stays dry",
    what: "no flow at {part}: the pressure is {lacking} short of its elevation",
    action: "set it lower, run fewer heads at once, use a larger hose, or add a booster",
    source: Source::Physics,
};
/// At the elevation that the water just reaches.
pub const NO_FLOW_AT_ITS_ELEVATION: Entry =
    Entry { what: "no flow at {part}: the pressure is just enough for its elevation", ..NO_FLOW };
/// Where the way to it is open and the water does not come.
pub const NO_FLOW_PAST_A_CREST: Entry = Entry {
    what: "no water reaches {part}: {because}",
    action: "set it lower, or lower the pump or the crest upstream of it",
    ..NO_FLOW
};

/// A head or a line gets less pressure than it needs.
pub const BELOW_RANGE: Entry = Entry {
    code: "below-range",
    level: Level::Warning,
    why: "below its range the head stops turning or throws a ring: the center gets too much, the rest stays dry",
    what: "{part} has {has} and needs at least {needs}: it is {missing} short",
    action: "run fewer heads at once, shorten or widen the hose, use a smaller nozzle, or add a booster",
    source: Source::Physics,
};
/// Of parts that drip.
pub const EMITTER_BELOW_RANGE: Entry = Entry {
    why: "below its range the outlets give little and unevenly",
    action: "run fewer zones at once, shorten the rows or feed them in the middle, use a larger hose, or set the regulator higher",
    ..BELOW_RANGE
};
/// In a run over time.
pub const BELOW_RANGE_IN_RUN: Entry = Entry {
    why: "below its range a head does not turn or throw, and leaves dry ground",
    what: "{part} is below its operating range for {below} of {open}, {percent}% of its run time",
    action: "run fewer heads at once, use a larger hose, or raise cut-in",
    ..BELOW_RANGE
};

/// A head gets what it needs, but little more.
pub const NEAR_RANGE_LOW: Entry = Entry {
    code: "near-range-low",
    level: Level::Note,
    why: "a gauge error, an open kitchen tap or an aging hose is enough to drop it below range",
    what: "{part} has {has} and needs at least {needs}: the margin is {margin}",
    action: "leave a margin of {share}%: a larger hose, a smaller nozzle or one head fewer",
    source: Source::CommonPractice,
};

/// A head gets more pressure than it can take.
pub const ABOVE_RANGE: Entry = Entry {
    code: "above-range",
    level: Level::Warning,
    why: "above its range the head mists, wind carries the water away, and the head wears or breaks",
    what: "{part} has {has}, {excess} above its highest working pressure of {most}",
    action: "fit a regulator upstream of it, or run more heads at once",
    source: Source::Physics,
};

/// A drip part without a limit of its own is at more than such parts usually take.
pub const DRIP_OVER_PRESSURE: Entry = Entry {
    code: "drip-over-pressure",
    level: Level::Warning,
    why: "barbed fittings pop off and soaker walls split near {40 psi|2.8 bar}",
    what: "{part} is at {has}; drip parts usually take at most {most}, and its operating range is not given",
    action: "fit a {25 psi|1.7 bar} regulator downstream of the valve, or give its limit with .operating_range",
    source: Source::CommonPractice,
};

/// A head gets no more than it can take, but little less.
pub const NEAR_RANGE_HIGH: Entry = Entry {
    code: "near-range-high",
    level: Level::Note,
    why: "main pressure rises at night; the head will then mist",
    what: "{part} has {has} and takes at most {most}: the margin is {margin}",
    action: "fit a regulator upstream of it where main pressure varies",
    source: Source::CommonPractice,
};

/// A demand takes its flow at a pressure at which no tap would give it.
pub const DEMAND_NOT_MET: Entry = Entry {
    code: "demand-not-met",
    level: Level::Warning,
    why: "the supply cannot deliver this demand; pressures near it are not valid",
    what: "{part} takes {wants} at {has}",
    action: "reduce the demand, or study another time of day",
    source: Source::Physics,
};
/// Where the line is at full vacuum, and less comes than the demand.
pub const DEMAND_SHORT: Entry = Entry {
    why: "at full vacuum no more water flows, and a real tap stops giving water long before that",
    what: "{part} takes {takes} of {wants} at {has}",
    ..DEMAND_NOT_MET
};
/// Where no water comes.
pub const DEMAND_WITHOUT_WATER: Entry = Entry {
    what: "no water reaches {part}, which takes {wants}: {because}",
    action: "set it lower, or lower the pump or the crest upstream of it",
    ..DEMAND_SHORT
};

/// A regulator gets less pressure than it is set to.
pub const REGULATOR_BELOW_SET: Entry = Entry {
    code: "regulator-below-set",
    level: Level::Note,
    why: "inlet pressure is below the set point, so the regulator is wide open and adds loss",
    what: "{part} cannot hold its {set}: inlet pressure is {gets}, outlet pressure {passes_on}",
    action: "raise its inlet pressure, or set it lower; keep it where main pressure rises at night",
    source: Source::Physics,
};

/// The inlet of a valve is below the pressure that it needs.
pub const VALVE_MAY_NOT_CLOSE: Entry = Entry {
    code: "valve-may-not-close",
    level: Level::Warning,
    why: "line pressure closes a diaphragm valve: with too little it stays open, and the zone runs on",
    what: "{part} has {has} at its inlet and needs at least {needs} to close",
    action: "run fewer zones at once, use a larger hose upstream of it, or use a valve or timer made for low pressure",
    source: Source::CommonPractice,
};
/// In a run over time.
pub const VALVE_MIGHT_NOT_CLOSE: Entry =
    Entry { what: "the inlet of {part} drops to {has}; it needs at least {needs} to close", ..VALVE_MAY_NOT_CLOSE };

/// Too little water flows through it.
pub const VALVE_FLOW_LOW: Entry = Entry {
    why: "flow and pressure close a diaphragm valve: with too little it stays open, and the zone runs on",
    what: "only {flow} goes through {part}, which needs at least {needs} to close",
    action: "use a valve or timer made for small flow",
    ..VALVE_MAY_NOT_CLOSE
};

/// The inlet of a regulator is below the pressure that it needs.
pub const REGULATOR_BELOW_RANGE: Entry = Entry {
    code: "regulator-below-range",
    level: Level::Note,
    why: "below its range a regulator does not hold its pressure",
    what: "{part} has {has} at its inlet and needs at least {needs}",
    action: "run fewer zones at once, use a larger hose upstream of it, or use a regulator made for low pressure",
    source: Source::Physics,
};

/// The inlet of a valve or regulator is above its range.
pub const INLET_ABOVE_RANGE: Entry = Entry {
    code: "inlet-above-range",
    level: Level::Warning,
    why: "above its range it leaks, or does not open, and its body may crack",
    what: "the inlet of {part} is at {has}, above its highest working pressure of {most}",
    action: "fit a regulator upstream of it, or use a part with a higher range",
    source: Source::Physics,
};

/// Two openings of a schedule overlap in time.
pub const OVERLAP: Entry = Entry {
    code: "overlap",
    level: Level::Note,
    why: "zones that run together share the pressure",
    what: "{overlaps} in the schedule, first '{first}' and '{second}' at {when}",
    action: "move one of them if they should not run together; .overlaps(1.days) lists them",
    source: Source::Physics,
};

/// A timer waters when it may not.
pub const RESTRICTION: Entry = Entry {
    code: "restriction",
    level: Level::Warning,
    why: "watering outside the allowed days and hours may be fined",
    what: "timer '{timer}' waters through {part} at {when}; allowed is {allowed}[; {more} in this run are not allowed]",
    action: "move its start or shorten its zones",
    source: Source::Physics,
};

/// Water runs in a pipe faster than [`FAST_IN_PIPE`].
pub const HIGH_VELOCITY: Entry = Entry {
    code: "high-velocity",
    level: Level::Note,
    why: "friction loss grows with nearly the square of velocity, and water hammer with velocity",
    what: "velocity in {part} is {velocity}, above {limit}",
    action: "use a larger pipe, or run fewer heads at once",
    source: FAST_IN_PIPE.source,
};
/// In a hose faster than [`FAST_IN_HOSE`](crate::findings::limits::FAST_IN_HOSE).
pub const HIGH_VELOCITY_IN_HOSE: Entry =
    Entry { action: "use a larger hose, or run fewer heads at once", source: Source::CommonPractice, ..HIGH_VELOCITY };

/// Water runs in a hose faster than [`TOO_FAST`].
pub const EXCESSIVE_VELOCITY: Entry = Entry {
    code: "excessive-velocity",
    level: Level::Warning,
    why: "friction takes most of the pressure, and water hammer of a fast-closing valve can burst couplings",
    action: "use a larger hose or pipe, or run fewer heads at once",
    source: TOO_FAST.source,
    ..HIGH_VELOCITY
};

/// The pressure in a hose falls below atmospheric.
pub const HOSE_BELOW_ATMOSPHERIC: Entry = Entry {
    code: "hose-below-atmospheric",
    level: Level::Warning,
    why: "a soft hose collapses, and every leak or open head draws in air and dirt",
    what: "pressure in {part} drops to {lowest}, below atmospheric pressure",
    action: "reduce the flow, use a larger hose, or lay it lower",
    source: Source::Physics,
};

/// Water boils at a crest and limits what comes over it.
pub const SIPHON_BREAKS: Entry = Entry {
    code: "siphon-breaks",
    level: Level::Warning,
    why: "water boils at that pressure: a siphon pulls no more, and air that gathers at the crest breaks it",
    what: "the crest upstream of {part} is at {vapor}, full vacuum: flow is limited to {flow}",
    action: "lay the line lower at the crest, or put the pump upstream of the crest",
    source: Source::Physics,
};
/// Where no water comes over the crest at all.
pub const SIPHON_BROKEN: Entry =
    Entry { what: "no water passes the crest upstream of {part}: it is at {vapor}, full vacuum", ..SIPHON_BREAKS };

/// The wall of a part is rougher than the law of friction is known for.
pub const TOO_ROUGH: Entry = Entry {
    code: "too-rough",
    level: Level::Warning,
    why: "friction data end at smoother walls, so the friction loss computed here is a guess",
    what: "roughness of {part} is {percent}% of its inside diameter",
    action: "check the roughness and the diameter, or give a Hazen-Williams coefficient",
    source: Source::FromMemory(
        "L. F. Moody, Transactions of the ASME 66 (1944): the chart ends at a roughness of 0.05 of the diameter",
    ),
};

/// The inside diameter of a pipe is the name of a size.
pub const NOMINAL_DIAMETER: Entry = Entry {
    code: "nominal-diameter",
    level: Level::Note,
    why: "pipe is named by a nominal or an outside diameter",
    what: "{part} is {has} inside, which is the name of a size: {size} is {inside} inside",
    action: "write the size, as in pipe(20.ft, \"{size}\"), or keep the diameter if it was measured inside",
    source: Source::CommonPractice,
};

/// Ways without any loss lie side by side, so that nothing decides how the flow is split between them.
pub const SPLIT_UNDETERMINED: Entry = Entry {
    code: "split-undetermined",
    level: Level::Note,
    why: "none of them has a loss, so any split between them is a steady state; their total, all pressures and all other flows are \
          exact",
    what: "the flow split between {ways} and {last} is undetermined: the flow shown for each is one of many",
    action: "give each a loss coefficient k or a hose of its length, and each supply its measured pressure and flow",
    source: Source::Physics,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    NO_SUPPLY,
    NO_SUPPLY_TO_DEMAND,
    NO_FLOW,
    NO_FLOW_AT_ITS_ELEVATION,
    NO_FLOW_PAST_A_CREST,
    BELOW_RANGE,
    EMITTER_BELOW_RANGE,
    BELOW_RANGE_IN_RUN,
    NEAR_RANGE_LOW,
    ABOVE_RANGE,
    DRIP_OVER_PRESSURE,
    NEAR_RANGE_HIGH,
    DEMAND_NOT_MET,
    DEMAND_SHORT,
    DEMAND_WITHOUT_WATER,
    REGULATOR_BELOW_SET,
    VALVE_MAY_NOT_CLOSE,
    VALVE_MIGHT_NOT_CLOSE,
    VALVE_FLOW_LOW,
    REGULATOR_BELOW_RANGE,
    INLET_ABOVE_RANGE,
    OVERLAP,
    RESTRICTION,
    HIGH_VELOCITY,
    HIGH_VELOCITY_IN_HOSE,
    EXCESSIVE_VELOCITY,
    HOSE_BELOW_ATMOSPHERIC,
    SIPHON_BREAKS,
    SIPHON_BROKEN,
    TOO_ROUGH,
    NOMINAL_DIAMETER,
    SPLIT_UNDETERMINED,
];
