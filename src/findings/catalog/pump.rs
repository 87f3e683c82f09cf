//! Boosters: their curve, their suction, heat, starts of their motor.

use super::{Entry, Level, Source};

/// A tank that can run empty feeds a booster that nothing stops then.
pub const WOULD_RUN_DRY: Entry = Entry {
    code: "runs-dry",
    level: Level::Warning,
    why: "water cools and lubricates the seal; without it the seal burns out within minutes",
    what: "nothing stops {part} when {tank} is empty",
    action: "add a float switch or a dry-run cut-off, dry_run_cutoff",
    source: Source::CommonPractice,
};
/// More severe where a booster runs, and no supply reaches it.
pub const RUNS_DRY: Entry = Entry {
    level: Level::Danger,
    what: "{part} runs without water: no supply reaches it",
    action: "add a pressure switch or a dry-run cut-off, and open the valve upstream of it",
    ..WOULD_RUN_DRY
};
/// In a run over time.
pub const RAN_DRY: Entry = Entry {
    what: "{part} runs without water for {time}",
    action: "add a float switch in the tank, or a dry-run cut-off: dry_run_cutoff on the booster, a little below its usual inlet pressure",
    ..RUNS_DRY
};

/// A booster runs against a line in which nothing flows.
pub const DEAD_HEADED: Entry = Entry {
    code: "dead-headed",
    level: Level::Warning,
    why: "all its power heats the water in the case until the seal fails or the water boils",
    what: "{part} runs dead-headed: no flow at {pressure}",
    action: "start it from the timer with pump_start(), or stop it with a pressure switch, with cut-out below that pressure",
    source: Source::CommonPractice,
};

/// What the power of a pump would do.
pub const HEATS: Entry = Entry {
    code: "dead-head-heat",
    level: Level::Warning,
    why: "hot water ruins the seal, softens plastic and scalds whoever opens a valve",
    what: "dead-headed, {part} can reach {hot} in about {minutes} minutes: {power} heats {volume} of water in the case by up to {rise} \
           a minute",
    action: "start it from the timer with pump_start(), stop it with a pressure switch, or add a small bypass",
    source: Source::Physics,
};
/// How much warmer trapped water gets that does not boil.
pub const BY_KELVIN: &str = "by {kelvin} kelvin";
/// More severe where a run over time did get that hot.
pub const HEATED: Entry = Entry {
    level: Level::Danger,
    what: "{part} runs dead-headed for {dead}: {power} can heat {a quart|a liter} of water in the case {rise} in {time}",
    action: "have something stop it, such as a lower cut-out or a flow switch, and fit a thermal overload",
    ..HEATS
};

/// Water runs through a booster from its outlet to its inlet.
pub const BACKWARD: Entry = Entry {
    code: "booster-backward",
    level: Level::Warning,
    why: "pump and motor turn backward and may be damaged at the next start; the flow computed here is uncertain",
    what: "{flow} flows backward through {part}",
    action: "fit a check valve next to it",
    source: Source::CommonPractice,
};

/// A booster passes more water than the last point of its curve.
pub const BEYOND_CURVE: Entry = Entry {
    code: "beyond-curve",
    level: Level::Warning,
    why: "there the boost is extrapolated, and a pump past run-out may overload its motor",
    what: "{part} runs at {flow}, beyond the last point of its curve at {last}[, and lowers the pressure by {brakes}]",
    action: "use a larger pump or fewer heads, or add points of the manufacturer's curve",
    source: Source::CommonPractice,
};

/// At the inlet of a booster the water boils, which limits what gets there.
pub const SUCTION_AT_VACUUM: Entry = Entry {
    code: "suction-at-vacuum",
    level: Level::Danger,
    why: "water boils at that pressure: no pump can pull more, and it cavitates and overheats",
    what: "the inlet of {part} is at {vapor}, full vacuum: flow is limited to {flow}",
    action: "set the pump at most about {15 ft|4.5 m} above the water, shorten or widen the suction line, or reduce the flow",
    source: Source::Physics,
};
/// Where no water gets there at all.
pub const SUCTION_AT_VACUUM_NO_FLOW: Entry = Entry {
    what: "no water reaches {part}: its inlet is at {vapor}, full vacuum, and the lift is too high",
    ..SUCTION_AT_VACUUM
};

/// The suction lift of a booster is more than pumps usually bear, and what it requires is not given.
pub const LIFT_TOO_HIGH: Entry = Entry {
    code: "lift-too-high",
    level: Level::Warning,
    why: "most garden pumps lift water at most {15 ft|4.5 m}; above that they lose prime and cavitate",
    what: "the inlet of {part} is at {inlet}, below {lowest}; its NPSH is not given",
    action: "set the pump lower, at most about {15 ft|4.5 m} above the water, and give its NPSH",
    source: Source::CommonPractice,
};

/// The suction head left at the inlet of a booster is below what it requires.
pub const CAVITATES: Entry = Entry {
    code: "cavitates",
    level: Level::Danger,
    why: "the water boils in the pump: it rattles, wears and loses boost, so pressures and flows computed here are too high",
    what: "NPSH available at the inlet of {part} is {available}; {required} is required",
    action: "leave at least {margin} more than required: set the pump lower and closer to the source, or use a larger suction hose",
    source: Source::Physics,
};
/// Where what the pump requires is not given.
pub const CAVITATES_AS_USUAL: Entry = Entry {
    what: "NPSH available at the inlet of {part} is {available}; required NPSH is not given, small pumps need {required}",
    source: Source::CommonPractice,
    ..CAVITATES
};

/// The suction head left at the inlet of a booster is little above what it requires.
pub const NPSH_MARGIN: Entry = Entry {
    code: "npsh-margin",
    level: Level::Note,
    why: "warm water, a clogged strainer or a high altitude uses up that margin",
    source: Source::CommonPractice,
    ..CAVITATES
};

/// Where a tank feeds the pump.
pub const INLET_SUCTION: Entry = Entry {
    code: "inlet-suction",
    level: Level::Note,
    why: "a soft hose upstream collapses, and air leaks in",
    what: "the inlet of {part} is at {inlet}, below atmospheric pressure",
    action: "set the pump lower and closer to the source, use a larger suction hose, or reduce the flow",
    source: Source::CommonPractice,
};
/// More severe where a public main feeds it.
pub const INLET_SUCTION_ON_MAIN: Entry = Entry {
    level: Level::Danger,
    why: "the pump pulls the main below atmospheric pressure (backsiphonage), and a soft hose upstream collapses",
    ..INLET_SUCTION
};

/// A booster takes enough power that its start may be too much for a long cord or a breaker.
pub const START_CURRENT: Entry = Entry {
    code: "start-current",
    level: Level::Note,
    why: "a motor draws four to eight times its running current at start: on a long thin cord it may not start, and a breaker may trip",
    what: "{part} takes {power} running, and several times that at start",
    action: "have a licensed electrician install a dedicated circuit with GFCI (RCD) protection",
    source: Source::CommonPractice,
};

/// A booster on a main has no cut-off at low suction.
pub const NO_LOW_SUCTION_CUTOFF: Entry = Entry {
    code: "no-low-suction-cutoff",
    level: Level::Note,
    why: "water suppliers that allow a booster on the main usually require one, so that it never pulls the main empty",
    what: "{part} on a main has no low-suction cut-off at {limit}[, only one at {set}]",
    action: "add one, dry_run_cutoff on the booster, and ask the water supplier whether a booster is allowed",
    source: crate::findings::limits::LOW_SUCTION.source,
};

/// A booster above the water of a tank, without a check valve between them.
pub const LOSES_PRIME: Entry = Entry {
    code: "loses-prime",
    level: Level::Warning,
    why: "a pump that has lost its prime starts dry and lifts nothing",
    what: "water drains back from {part} to {tank} when it stops: it is {height} above the water, without a check valve between",
    action: "fit a foot valve at the end of the suction line, and a way to fill it",
    source: Source::CommonPractice,
};

/// A suction line runs below atmospheric pressure, as it has to.
pub const SUCTION_LEAK: Entry = Entry {
    code: "suction-leak",
    level: Level::Note,
    why: "a loose joint below atmospheric pressure lets air in and does not drip, and a soft hose collapses",
    what: "{part} runs at {lowest}, below atmospheric pressure",
    action: "use suction hose or pipe, clamps and thread tape, and test the line under pressure",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    WOULD_RUN_DRY,
    RUNS_DRY,
    RAN_DRY,
    DEAD_HEADED,
    HEATS,
    HEATED,
    BACKWARD,
    BEYOND_CURVE,
    SUCTION_AT_VACUUM,
    SUCTION_AT_VACUUM_NO_FLOW,
    LIFT_TOO_HIGH,
    CAVITATES,
    CAVITATES_AS_USUAL,
    NPSH_MARGIN,
    INLET_SUCTION,
    INLET_SUCTION_ON_MAIN,
    START_CURRENT,
    NO_LOW_SUCTION_CUTOFF,
    LOSES_PRIME,
    SUCTION_LEAK,
];
