//! Relief valves and ratings.

use super::switch::{LITTLE_ROOM_FOR_CUT_OUT, LOWER_CUT_OUT};
use super::{Entry, Level, Source};

/// A cut-out above a limit, in a window.
const ABOVE_A_LIMIT: &str = "cut-out {setting} of '{name}' is above a limit: {limit}";

/// A relief valve lets water go while zones run.
pub const RELIEF_OPENS: Entry = Entry {
    code: "relief-opens",
    level: Level::Warning,
    why: "a relief valve is a safety device; opening in daily use wastes water and power and wears it",
    what: "{part} is open and discharges {flow}: line pressure is {line_pressure}, set pressure {setting}",
    action: "set it higher but below the weakest rating, or lower the pressure with a regulator or a smaller pump",
    source: Source::CommonPractice,
};

/// A relief valve is set at or below the line pressure at which the switch stops the pump.
pub const RELIEF_WEEPS: Entry = Entry {
    code: "relief-weeps",
    level: Level::Warning,
    why: "a relief valve that opens in normal use wastes water and soon no longer seals; the pump may never reach cut-out",
    what: "{part} opens each time {switch} stops the pump: set pressure {setting}, line pressure {line_pressure}",
    action: "set it at least {margin} above cut-out and below the weakest rating",
    source: Source::CommonPractice,
};
/// In a run over time.
pub const RELIEF_WEPT: Entry = Entry {
    what: "{part} opens in normal use and discharges {lost}",
    action: "lower cut-out, or set the relief valve higher but below the weakest rating",
    ..RELIEF_WEEPS
};
/// Of settings against a window: cut-out above the relief.
pub const RELIEF_WOULD_WEEP: Entry = Entry { what: ABOVE_A_LIMIT, action: LOWER_CUT_OUT, ..RELIEF_WEEPS };
/// Of settings against a window: cut-out at the relief.
pub const RELIEF_AT_CUT_OUT: Entry = Entry { what: "cut-out {setting} of '{name}' is at a limit: {limit}", ..RELIEF_WOULD_WEEP };

/// A relief valve is open even at rest, with the pump off.
pub const RELIEF_NEVER_CLOSES: Entry = Entry {
    code: "relief-never-closes",
    level: Level::Warning,
    why: "it discharges day and night, even with the pump off",
    what: "{part} never closes: with the pump off and no flow, line pressure is {line_pressure}, set pressure {setting}",
    action: "set it higher, or fit a regulator upstream of it",
    source: Source::Physics,
};

/// A relief valve is set above the line pressure at cut-out, but by less than the usual margin.
pub const RELIEF_NEAR_CUT_OUT: Entry = Entry {
    code: "relief-near-cut-out",
    level: Level::Note,
    why: "springs and switches are not that exact: it may weep at cut-out",
    what: "{part} is set at {setting}, only {room} above the {line_pressure} there when {switch} stops the pump",
    action: "set it at least {margin} above cut-out and below the weakest rating",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const RELIEF_WOULD_BE_NEAR: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: LOWER_CUT_OUT, ..RELIEF_NEAR_CUT_OUT };

/// A relief valve opens, but has no capacity for what the pump pushes with all valves closed.
pub const RELIEF_TOO_SMALL: Entry = Entry {
    code: "relief-too-small",
    level: Level::Warning,
    why: "a relief valve without capacity for the pump does not protect",
    what: "{part} is too small: with all valves closed the pump pushes {flow} through it and the pressure rises to {pressure}; its \
           capacity is {capacity} at {at}",
    action: "use a larger relief valve or a smaller pump",
    source: Source::CommonPractice,
};

/// A relief valve opens while the pump runs on, and its capacity is not given.
pub const NO_CAPACITY: Entry = Entry {
    code: "relief-capacity-not-given",
    level: Level::Note,
    why: "a relief valve protects only if it passes the full flow of the pump near its set pressure",
    what: "the capacity of {part} is not given: {assumed} at {at} is assumed; if the pump does not stop, {flow} goes through it",
    action: "read its flow and overpressure on the data sheet, and give them with .capacity({12.gpm, 10.psi|45.lpm, 0.7.bar})",
    source: Source::CommonPractice,
};

/// A part is at more than its rating while zones run.
pub const OVER_RATING: Entry = Entry {
    code: "over-rating",
    level: Level::Danger,
    why: "it can burst; a burst hose whips",
    what: "{part} is at {pressure} in this run, above its rating of {rating}",
    action: "use a part with a higher rating, fit a regulator upstream of it, or lower cut-out and relief setting",
    source: Source::Physics,
};
/// With no flow.
pub const OVER_RATING_AT_REST: Entry =
    Entry { what: "{part} is at {pressure} with all valves closed, above its rating of {rating}", ..OVER_RATING };
/// Of settings against a window.
pub const WOULD_BE_OVER_RATING: Entry = Entry { what: ABOVE_A_LIMIT, action: LOWER_CUT_OUT, ..OVER_RATING };

/// Of settings against a window.
pub const NEAR_RATING: Entry = Entry {
    code: "near-rating",
    level: Level::Warning,
    why: "a gauge or a switch may be off by that much, and main pressure varies",
    what: LITTLE_ROOM_FOR_CUT_OUT,
    action: LOWER_CUT_OUT,
    source: Source::CommonPractice,
};

/// A hose is nearer to its rating in daily use than hoses last at.
pub const HOSE_NEAR_RATING: Entry = Entry {
    why: "ratings fall with heat, sun and age; a hose that lies in the sun keeps about half",
    what: "{part} is at {pressure}, {percent}% of its rating of {rating}; at most {most}% is usual",
    action: "use a hose with a higher rating, or fit a regulator upstream of it",
    ..NEAR_RATING
};
/// The same of a pipe.
pub const PIPE_NEAR_RATING: Entry = Entry {
    why: "the rest of its pressure class is for water hammer",
    action: "use pipe of a higher class, or fit a regulator upstream of it",
    source: crate::findings::limits::PIPE_RATING.source,
    ..HOSE_NEAR_RATING
};

/// A valve stands between a booster and its relief valve.
pub const RELIEF_BLOCKED: Entry = Entry {
    code: "relief-blocked",
    level: Level::Danger,
    why: "a relief valve that can be isolated does not protect: nothing limits the pressure then",
    what: "{valve} can isolate {part} from {pump}",
    action: "move the relief valve next to the pump, with no valve between them",
    source: Source::CommonPractice,
};

/// No relief valve downstream of a pump, and the rating of a part that it can reach is not given.
pub const NO_RELIEF_NO_RATINGS: Entry = Entry {
    code: "no-relief",
    level: Level::Note,
    why: "a switch that sticks leaves the pump running, and nothing else limits the pressure",
    what: "{part} has no relief valve downstream and can reach {reaches}; the rating of {unrated} is not given",
    action: "give the pressure ratings of hoses and tanks, and fit a relief valve set below the weakest",
    source: Source::CommonPractice,
};
/// More severe where a pump that does not stop brings a part above its rating.
pub const NO_RELIEF: Entry = Entry {
    level: Level::Warning,
    what: "{part} has no relief valve downstream and can raise {weakest}, rated {rated}, to {reaches}",
    action: "fit a relief valve downstream of it, set below {rated}, with capacity for the full flow of the pump",
    ..NO_RELIEF_NO_RATINGS
};

/// A pump that does not stop brings a part above its rating in spite of a relief valve.
pub const RELIEF_DOES_NOT_PROTECT: Entry = Entry {
    code: "relief-does-not-protect",
    level: Level::Warning,
    why: "a switch that sticks leaves the pump running; a relief valve set above a rating, or too small, does not protect the part",
    what: "{relief} lets {part} raise {weakest}, rated {rated}, to {reaches}",
    action: "set it further below {rated}, or use one with capacity for the full flow of the pump at that pressure",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    RELIEF_OPENS,
    RELIEF_WEEPS,
    RELIEF_WEPT,
    RELIEF_WOULD_WEEP,
    RELIEF_AT_CUT_OUT,
    RELIEF_NEVER_CLOSES,
    RELIEF_NEAR_CUT_OUT,
    RELIEF_WOULD_BE_NEAR,
    RELIEF_TOO_SMALL,
    NO_CAPACITY,
    OVER_RATING,
    OVER_RATING_AT_REST,
    WOULD_BE_OVER_RATING,
    NEAR_RATING,
    HOSE_NEAR_RATING,
    PIPE_NEAR_RATING,
    RELIEF_BLOCKED,
    NO_RELIEF_NO_RATINGS,
    NO_RELIEF,
    RELIEF_DOES_NOT_PROTECT,
];
