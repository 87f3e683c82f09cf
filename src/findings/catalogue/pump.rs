//! Boosters: their curve, their suction, heat, starts of their motor.

use super::{Entry, Level, Source};

/// A booster runs, and no supply reaches it.
pub const RUNS_DRY: Entry = Entry {
    code: "runs-dry",
    level: Level::Danger,
    why: "water cools and greases the seal of a pump: without it the seal burns within minutes",
    what: "{part} runs and no supply reaches it",
    action: "give it a pressure switch or a dry-run cut-off, and open the valve before it first",
    source: Source::CommonPractice,
};
/// In a run over time.
pub const RAN_DRY: Entry = Entry {
    what: "{part} runs {time} without any water",
    action: "fit a guard that stops it: dry_run_cutoff on the booster, at {some psi|some tenths of a bar} above nothing",
    ..RUNS_DRY
};

/// A booster runs against a line in which nothing flows.
pub const DEAD_HEADED: Entry = Entry {
    code: "dead-headed",
    level: Level::Warning,
    why: "all its power heats the water inside, until the seal fails or the water boils",
    what: "{part} runs and nothing flows: it stands at {pressure}",
    action: "let a pressure switch stop it, with cut-out below that pressure",
    source: Source::CommonPractice,
};

/// What the power of a pump would do.
pub const HEATS: Entry = Entry {
    code: "dead-head-heat",
    level: Level::Warning,
    why: "hot water ruins the seal and softens plastic, and whoever opens a valve then is scalded",
    what: "against a closed line the {power} of {part} heat the water in it by up to {rise} a minute, if it \
           holds {volume}: {hot} after {minutes} minutes",
    action: "let a switch stop it, or let a little water run off through a small bypass",
    source: Source::Physics,
};
/// How much warmer trapped water gets that does not boil.
pub const BY_KELVIN: &str = "by {kelvin} kelvin";
/// Graver where a run over time did get that hot.
pub const HEATED: Entry = Entry {
    level: Level::Danger,
    what: "{part} runs {dead} against a shut line: {power} would heat a litre of trapped water {rise} in {time}",
    action: "set cut-out lower so that the switch stops it, and fit a thermal cut-out",
    ..HEATS
};

/// Water runs through a booster from its outlet to its inlet.
pub const BACKWARD: Entry = Entry {
    code: "booster-backward",
    level: Level::Warning,
    why: "pump and motor turn the wrong way and may be damaged when they start; what it gives then is not known",
    what: "{flow} of water run backward through {part}",
    action: "put a check valve beside it",
    source: Source::CommonPractice,
};

/// A booster passes more water than the last point of its curve.
pub const BEYOND_CURVE: Entry = Entry {
    code: "beyond-curve",
    level: Level::Warning,
    why: "out there the curve is a guess, and a pump that far out may overload its motor",
    what: "{part} passes {flow}, beyond the last point of its curve at {last}[ and takes away {brakes}]",
    action: "take a bigger pump or fewer heads, or add points of the maker's curve",
    source: Source::CommonPractice,
};

/// At the inlet of a booster the water boils, which bounds what gets there.
pub const COLUMN_PARTS: Entry = Entry {
    code: "suction-parts",
    level: Level::Danger,
    why: "water boils at that pressure and its column parts: no pump can pull more, and it cavitates and runs hot",
    what: "the inlet of {part} is at {vapor}, full vacuum: no more than {flow} gets there",
    action: "set the pump at most about {15 ft|4.5 m} above the water, shorten or widen the suction line, or draw less",
    source: Source::Physics,
};
/// Where no water gets there at all.
pub const COLUMN_STANDS: Entry =
    Entry { what: "no water gets to {part}: its inlet is at {vapor}, full vacuum, and water climbs no higher", ..COLUMN_PARTS };

/// The suction lift of a booster is more than pumps usually bear, and what it requires is not given.
pub const LIFT_TOO_HIGH: Entry = Entry {
    code: "lift-too-high",
    level: Level::Warning,
    why: "most garden pumps lift water {15 ft|4.5 m} at most; with more they lose prime and cavitate",
    what: "the inlet of {part} is at {inlet}, below {lowest}; its NPSH is not given",
    action: "set the pump lower, at most about {15 ft|4.5 m} above the water, and give its NPSH",
    source: Source::CommonPractice,
};

/// The suction head left at the inlet of a booster is below what it requires.
pub const CAVITATES: Entry = Entry {
    code: "cavitates",
    level: Level::Danger,
    why: "the water boils in the pump: it rattles, wears and loses its rise, so pressures and flows here come out too high",
    what: "at the inlet of {part} a suction head (NPSH) of {available} is left; it requires {required}",
    action: "leave at least {margin} more than it requires: pump lower and nearer, hose before it wider",
    source: Source::Physics,
};
/// Where what the pump requires is not given.
pub const CAVITATES_AS_USUAL: Entry = Entry {
    what: "at the inlet of {part} a suction head (NPSH) of {available} is left; its NPSH is not given; small pumps require {required}",
    source: Source::CommonPractice,
    ..CAVITATES
};

/// The suction head left at the inlet of a booster is little above what it requires.
pub const NPSH_MARGIN: Entry = Entry {
    code: "npsh-margin",
    level: Level::Note,
    why: "warm water, a clogged strainer or a garden high above the sea uses that margin up",
    source: Source::CommonPractice,
    ..CAVITATES
};

/// Where a tank feeds the pump.
pub const INLET_SUCTION: Entry = Entry {
    code: "inlet-suction",
    level: Level::Note,
    why: "a soft hose before it collapses, and air leaks in",
    what: "the pressure at the inlet of {part} is {inlet}, below that of the air",
    action: "put the pump nearer to the source and lower, widen the hose before it, or draw less",
    source: Source::CommonPractice,
};
/// Graver where a public main feeds it.
pub const INLET_SUCTION_ON_MAIN: Entry = Entry {
    level: Level::Danger,
    why: "the pump sucks on the drinking water, and a soft hose before it collapses",
    ..INLET_SUCTION
};

/// A booster takes so much power that its start may be too much for a long cord or a breaker.
pub const START_CURRENT: Entry = Entry {
    code: "start-current",
    level: Level::Note,
    why: "a motor draws four to eight times its running current for a moment; on a long thin cord it may not start, and a tight breaker trips",
    what: "{part} takes {power} while it runs, and several times that as it starts",
    action: "ask a licensed electrician for a circuit of its own, with residual-current protection",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    RUNS_DRY,
    RAN_DRY,
    DEAD_HEADED,
    HEATS,
    HEATED,
    BACKWARD,
    BEYOND_CURVE,
    COLUMN_PARTS,
    COLUMN_STANDS,
    LIFT_TOO_HIGH,
    CAVITATES,
    CAVITATES_AS_USUAL,
    NPSH_MARGIN,
    INLET_SUCTION,
    INLET_SUCTION_ON_MAIN,
    START_CURRENT,
];
