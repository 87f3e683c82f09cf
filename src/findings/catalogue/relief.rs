//! Relief valves and ratings.

use super::switch::{LITTLE_ROOM_FOR_CUT_OUT, LOWER_CUT_OUT};
use super::{Entry, Level, Source};

/// A cut-out above a limit, in a window.
const ABOVE_A_LIMIT: &str = "cut-out {setting} of '{name}' lies above a limit: {limit}";

/// A relief valve lets water go while zones run.
pub const RELIEF_OPENS: Entry = Entry {
    code: "relief-opens",
    level: Level::Warning,
    why: "a relief valve is for the day when something fails; open in daily use it wastes water and power, and wears",
    what: "{part} is open and lets {flow} go: it feels {feels}, its setting is {setting}",
    action: "set it higher, below the weakest rating, or lower the pressure with a regulator or a smaller pump",
    source: Source::CommonPractice,
};

/// A relief valve is set at or below what it feels when the switch stops the pump.
pub const RELIEF_WEEPS: Entry = Entry {
    code: "relief-weeps",
    level: Level::Warning,
    why: "a relief valve that opens in normal use wastes water and soon no longer shuts; the pump may never reach cut-out",
    what: "{part} weeps: it is set at {setting} and feels {feels} when {switch} stops the pump",
    action: "set it {margin} or more above cut-out, and below the weakest rating",
    source: Source::CommonPractice,
};
/// In a run over time.
pub const RELIEF_WEPT: Entry = Entry {
    what: "{part} opens in normal use and loses {lost}",
    action: "set cut-out lower, or the relief higher and still below the weakest rating",
    ..RELIEF_WEEPS
};
/// Of settings against a window: cut-out above the relief.
pub const RELIEF_WOULD_WEEP: Entry = Entry { what: ABOVE_A_LIMIT, action: LOWER_CUT_OUT, ..RELIEF_WEEPS };
/// Of settings against a window: cut-out at the relief.
pub const RELIEF_AT_CUT_OUT: Entry =
    Entry { what: "cut-out {setting} of '{name}' and the relief valve coincide: {limit}", ..RELIEF_WOULD_WEEP };

/// A relief valve is open even at rest, with the pump off.
pub const RELIEF_NEVER_SHUTS: Entry = Entry {
    code: "relief-never-shuts",
    level: Level::Warning,
    why: "it runs day and night, with the pump off",
    what: "{part} never shuts: at rest it feels {feels}, its setting is {setting}",
    action: "set it higher, or put a regulator before it",
    source: Source::Physics,
};

/// A relief valve is set above what it feels at cut-out, but by less than the usual margin.
pub const RELIEF_NEAR_CUT_OUT: Entry = Entry {
    code: "relief-near-cut-out",
    level: Level::Note,
    why: "springs and switches are not that exact: it may weep at cut-out",
    what: "{part} is set at {setting}, only {room} above the {feels} it feels when {switch} stops the pump",
    action: "set it {margin} or more above cut-out, and below the weakest rating",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const RELIEF_WOULD_BE_NEAR: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: LOWER_CUT_OUT, ..RELIEF_NEAR_CUT_OUT };

/// A relief valve opens, but cannot let go of what the pump pushes against shut valves.
pub const RELIEF_TOO_SMALL: Entry = Entry {
    code: "relief-too-small",
    level: Level::Warning,
    why: "a relief valve without capacity for the pump does not protect",
    what: "{part} is too small: against shut valves the pump pushes {flow} through it and the pressure climbs to {pressure}, though \
           it is meant to pass {capacity} at {at}",
    action: "take a bigger relief valve, or a smaller pump",
    source: Source::CommonPractice,
};

/// A part stands at more than its rating while zones run.
pub const OVER_RATING: Entry = Entry {
    code: "over-rating",
    level: Level::Danger,
    why: "above its rating it can burst, and a hose under pressure whips",
    what: "{part} stands at {pressure} in this run, above its rating of {rating}",
    action: "take a part with a higher rating, put a regulator before it, or set cut-out and relief lower",
    source: Source::Physics,
};
/// With nothing flowing.
pub const OVER_RATING_AT_REST: Entry =
    Entry { what: "{part} stands at {pressure} when the valves shut, above its rating of {rating}", ..OVER_RATING };
/// Of settings against a window.
pub const WOULD_BE_OVER_RATING: Entry = Entry { what: ABOVE_A_LIMIT, action: LOWER_CUT_OUT, ..OVER_RATING };

/// Of settings against a window.
pub const NEAR_RATING: Entry = Entry {
    code: "near-rating",
    level: Level::Note,
    why: "a gauge or a switch may be off by that much, and the main pressure moves",
    what: LITTLE_ROOM_FOR_CUT_OUT,
    action: LOWER_CUT_OUT,
    source: Source::CommonPractice,
};

/// A pump that does not stop brings a part above its rating, and no relief valve stands behind it.
pub const NO_RELIEF: Entry = Entry {
    code: "no-relief",
    level: Level::Warning,
    why: "a switch that sticks leaves the pump running, and nothing else limits the pressure",
    what: "{part} has no relief valve behind it and can bring {weakest}, rated {rated}, to {reaches}",
    action: "fit a relief valve behind it, set below {rated}, that passes the whole flow of the pump",
    source: Source::CommonPractice,
};
/// Less grave where no rating is known that the pump passes.
pub const NO_RELIEF_NO_RATINGS: Entry = Entry {
    level: Level::Note,
    what: "{part} has no relief valve behind it and can reach {reaches}; the rating of {unrated} is not given",
    action: "give the ratings of hoses and tanks, and fit a relief valve set below the weakest",
    ..NO_RELIEF
};

/// A pump that does not stop brings a part above its rating in spite of a relief valve.
pub const RELIEF_DOES_NOT_PROTECT: Entry = Entry {
    code: "relief-does-not-protect",
    level: Level::Warning,
    why: "a switch that sticks leaves the pump running, and a relief valve set above a rating or too small does not save the part",
    what: "{relief} lets {part} bring {weakest}, rated {rated}, to {reaches}",
    action: "set it further below {rated}, or take one that passes the whole flow of the pump there",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    RELIEF_OPENS,
    RELIEF_WEEPS,
    RELIEF_WEPT,
    RELIEF_WOULD_WEEP,
    RELIEF_AT_CUT_OUT,
    RELIEF_NEVER_SHUTS,
    RELIEF_NEAR_CUT_OUT,
    RELIEF_WOULD_BE_NEAR,
    RELIEF_TOO_SMALL,
    OVER_RATING,
    OVER_RATING_AT_REST,
    WOULD_BE_OVER_RATING,
    NEAR_RATING,
    NO_RELIEF,
    NO_RELIEF_NO_RATINGS,
    RELIEF_DOES_NOT_PROTECT,
];
