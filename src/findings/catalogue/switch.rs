//! Pressure switches: whether the pump starts, stays on and stops, how often, and what the main does to that; pressure tanks.

use super::{Entry, Level, Source};
use crate::findings::limits::STARTS_SOURCE;

/// A cut-in inside its margin, in a window.
const LITTLE_ROOM_FOR_CUT_IN: &str = "cut-in {setting} of '{name}' has a margin of {room} only: {limit}; {usual} is usual";
/// A cut-out inside its margin, in a window.
pub(super) const LITTLE_ROOM_FOR_CUT_OUT: &str =
    "cut-out {setting} of '{name}' has a margin of {room} only: {limit}; {usual} is usual";
const RAISE_CUT_IN: &str = "set cut-in above {kept}";
const RAISE_CUT_OUT: &str = "set cut-out above {kept}";
pub(super) const LOWER_CUT_OUT: &str = "set cut-out below {kept}";

/// A switch feels more than cut-in without the pump, so that it never starts it.
pub const NEVER_STARTS: Entry = Entry {
    code: "never-starts",
    level: Level::Warning,
    why: "the pump stays off, and the heads get only what the main gives",
    what: "{part} never starts: pressure without {pump} is {off}, above cut-in {cut_in}",
    action: "set cut-in above {off}, or run this zone without the pump",
    source: Source::Physics,
};
/// In a run over time.
pub const NEVER_STARTED: Entry = Entry {
    what: "{part} never starts {pump}: the lowest it feels is {lowest}, {margin} above cut-in {cut_in}",
    action: "set cut-in above the pressure that zones have without the pump",
    ..NEVER_STARTS
};
/// Of settings against a window.
pub const WOULD_NEVER_START: Entry = Entry {
    what: "cut-in {setting} of '{name}' never starts the pump with {zones}: {limit}",
    action: RAISE_CUT_IN,
    ..NEVER_STARTS
};

/// All heads that run have what they need without the pump.
pub const NEEDS_NO_PUMP: Entry = Entry {
    code: "zone-needs-no-pump",
    level: Level::Note,
    why: "the main alone serves these heads; the pump would only use power and raise the pressure",
    what: "{outlet} has {has} without {pump} and needs {needs}: this zone needs no pump",
    action: "leave it as it is, or connect this zone upstream of the pump",
    source: Source::Physics,
};
/// In a run over time.
pub const NEEDED_NO_PUMP: Entry = Entry {
    what: "{part} never starts {pump}: the lowest it feels is {lowest}, {margin} above cut-in {cut_in}, and all that ran had what \
           they need",
    action: "leave it as it is, or connect these zones upstream of the pump",
    ..NEEDS_NO_PUMP
};
/// Of settings against a window.
pub const WOULD_NEED_NO_PUMP: Entry = Entry {
    what: "the pump stays off in {zones}, which has {off} and all its heads need without it",
    action: "nothing; or take {zones} off upstream of the pump, so that it bounds no setting",
    ..NEEDS_NO_PUMP
};

/// A switch starts the pump, but by less than the usual margin.
pub const BARELY_STARTS: Entry = Entry {
    code: "barely-starts",
    level: Level::Note,
    why: "a gauge or a switch may be off by that much, and in the small hours the main pressure is higher",
    what: "{part} starts by a margin of {margin}: without {pump} it feels {off}, cut-in is {cut_in}",
    action: "set cut-in a little higher",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BARELY_START: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_IN, action: RAISE_CUT_IN, ..BARELY_STARTS };

/// A switch feels cut-out or more while the pump runs, so that it stops and starts over and over.
pub const SHORT_CYCLES: Entry = Entry {
    code: "short-cycles",
    level: Level::Warning,
    why: "every start heats the motor and wears contacts; the pressure at the heads swings",
    what: "{part} short-cycles: with {pump} it reaches {at}, at or above cut-out {cut_out}",
    action: "set cut-out higher, run more heads at once, or take a smaller pump",
    source: Source::Physics,
};
/// In a run over time, by the starts of an hour.
pub const SHORT_CYCLED: Entry = Entry {
    what: "{part} starts {starts} times in an hour, {more} more than small motors stand[, the shortest run lasts {shortest}]",
    action: "fit a larger tank, set cut-in and cut-out further apart, or water more at once",
    source: STARTS_SOURCE,
    ..SHORT_CYCLES
};
/// Of settings against a window.
pub const WOULD_SHORT_CYCLE: Entry = Entry {
    what: "cut-out {setting} of '{name}' short-cycles the pump with {zones}: {limit}",
    action: RAISE_CUT_OUT,
    ..SHORT_CYCLES
};

/// In a run over time.
pub const MANY_STARTS: Entry = Entry {
    code: "many-starts",
    level: Level::Note,
    what: "{part} makes up to {starts} in an hour[, the shortest run lasts {shortest}]; a minute is what small motors want",
    action: "ask the maker how many starts the motor stands, or fit a larger tank",
    ..SHORT_CYCLED
};

/// A switch keeps the pump running, but by less than the usual margin below cut-out.
pub const NEAR_CUT_OUT: Entry = Entry {
    code: "near-cut-out",
    level: Level::Note,
    why: "one nozzle less or a clogged one, and it short-cycles; a gauge or a switch may be off by that much",
    what: "{part} stays on by a margin of {margin}: with {pump} it feels {at}, cut-out is {cut_out}",
    action: "set cut-out higher, below dead-head pressure, relief and ratings",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BE_NEAR_CUT_OUT: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: RAISE_CUT_OUT, ..NEAR_CUT_OUT };

/// The pump does not reach cut-out against shut valves.
pub const NEVER_STOPS: Entry = Entry {
    code: "never-stops",
    level: Level::Warning,
    why: "the pump runs on with nothing to do, heats its water and fails",
    what: "{part} never stops: against shut valves {pump} brings it to {reaches}, below cut-out {cut_out}",
    action: "set cut-out at least {margin} below {reaches}",
    source: Source::Physics,
};
/// In a run over time.
pub const NEVER_STOPPED: Entry = Entry {
    what: "{part} never stops {pump} after {when}: it settles at {settled}, {short} below cut-out {cut_out}[, while {relief} lets \
           the water go]",
    action: "set cut-out at least {margin} below what supply and pump reach against shut valves",
    ..NEVER_STOPS
};
/// In a run over time, where a relief valve keeps the pressure below cut-out.
pub const RELIEF_KEPT_IT_RUNNING: Entry = Entry { action: "set cut-out below the relief, {margin} or more", ..NEVER_STOPPED };
/// In a run over time with a failure.
pub const FAILURE_KEPT_IT_RUNNING: Entry =
    Entry { action: "that is what '{failed} {failure}' does; a dry-run guard or a timer on the pump ends it", ..NEVER_STOPPED };
/// Of settings against a window.
pub const WOULD_NEVER_STOP: Entry = Entry {
    what: "cut-out {setting} of '{name}' never stops the pump: {limit}; it settles at {settled}[, with {lost} lost through relief \
           valves and leaks][, with {nothing} flowing]",
    action: LOWER_CUT_OUT,
    ..NEVER_STOPS
};

/// The pump reaches cut-out against shut valves, but by less than the usual margin.
pub const NEAR_DEAD_HEAD: Entry = Entry {
    code: "near-dead-head",
    level: Level::Warning,
    why: "when the main pressure falls or the pump wears it no longer reaches cut-out and never stops",
    what: "{part} stops by a margin of {room}: against shut valves {pump} brings it to {reaches}, cut-out is {cut_out}",
    action: "set cut-out at least {margin} below {reaches}",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BE_NEAR_DEAD_HEAD: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: LOWER_CUT_OUT, ..NEAR_DEAD_HEAD };

/// Nothing holds the pressure once the pump stops, so that it starts again with nothing open.
pub const CYCLES_AT_REST: Entry = Entry {
    code: "cycles-at-rest",
    level: Level::Warning,
    why: "as soon as it stops, the water runs back through it, the pressure falls, and it starts again, day and night",
    what: "{part} never comes to rest: once {pump} stops it falls back to {off}, and cut-in is {cut_in}",
    action: "put a check valve between the source and the switch, or set cut-in below that",
    source: Source::Physics,
};

/// The precharge of a tank is not below cut-in at its place.
pub const PRECHARGE: Entry = Entry {
    code: "precharge",
    level: Level::Warning,
    why: "the tank is empty before the pump starts: the pressure drops at once, and the bladder is pressed flat each time",
    what: "the precharge of {part}, {precharge}, is not below cut-in of {switch}, {cut_in} at its place",
    action: "let air out until it is {margin} below cut-in, with the tank empty",
    source: Source::CommonPractice,
};

/// In a run over time.
pub const CHATTERS: Entry = Entry {
    code: "chatters",
    level: Level::Danger,
    why: "nothing stores water: the pressure follows the pump at once, and the switch would open and close many times a second",
    what: "{part} chatters: {starts}, and no tank or hose with a stretch stores any water",
    action: "fit a pressure tank beside the switch; tank_for(garden, 20.per_hour) says which",
    source: Source::Physics,
};

/// In a run over time.
pub const NO_STORE: Entry = Entry {
    code: "no-store",
    level: Level::Note,
    why: "all is well while a zone runs, but a dripping head or a tap in the garden makes the pump chatter",
    what: "no tank and no hose with a stretch stores water behind {part}",
    ..CHATTERS
};

/// In a run over time.
pub const WAKES: Entry = Entry {
    code: "wakes",
    level: Level::Note,
    why: "water goes somewhere: a leak, a dripping head or a check valve that lets water back",
    what: "{part} makes {starts} while nothing is meant to be open, first at {when}[; with {rest} the street alone does not hold \
           cut-in {cut_in}]",
    action: "shut the valves one after another and watch the gauge, or work the leak out from two readings of it",
    source: Source::Physics,
};

/// The pressure of the street at rest is near cut-in.
pub const NEAR_REST: Entry = Entry {
    code: "cut-in-near-rest",
    level: Level::Note,
    why: "the street is a few psi up by night and down by day: the pump starts with no zone open, and any leak wakes it",
    what: "{part} rests only {by} {way} cut-in {cut_in}: with nothing open the street holds {rest} there",
    action: "for a quiet garden set cut-in at least {margin} below {rest}",
    source: Source::CommonPractice,
};
/// Where the two are the same.
pub const AT_REST: Entry = Entry {
    what: "{part} rests on its cut-in: with nothing open the street holds {rest} there, and cut-in is {cut_in}",
    ..NEAR_REST
};

/// No cut-in and cut-out work in all zones.
pub const NO_WINDOW: Entry = Entry {
    code: "no-window",
    level: Level::Warning,
    why: "the pressures of the zones, the pump, the relief valve and the ratings leave too little between them",
    what: "no cut-in and cut-out work in all these zones",
    action: "{remedy}",
    source: Source::Physics,
};

/// Settings work in all zones, but none with the usual margins.
pub const NARROW_WINDOW: Entry = Entry {
    code: "narrow-window",
    level: Level::Note,
    what: "cut-in and cut-out can be set, but not with the usual margins",
    ..NO_WINDOW
};
/// The remedy where no change of the garden opens a window.
pub const OTHER_PUMP: &str = "take a pump whose pressure falls off more with its flow; {timer}";

/// The lowest pressure of the main is not given, on which hangs whether the pump ever stops.
pub const LOWEST_MAIN: Entry = Entry {
    code: "lowest-main",
    level: Level::Warning,
    why: "on a hot evening, when all water, the pump may run dead-headed for hours: it overheats and fails",
    what: "the lowest main pressure is not given: {lowest}",
    action: "read a gauge then, and give the lowest pressure as lowest_static",
    source: Source::CommonPractice,
};

/// The highest pressure of the main is not given, on which hangs whether the pump starts by night.
pub const NIGHT_UNKNOWN: Entry = Entry {
    code: "night-unknown",
    level: Level::Note,
    why: "in the small hours it is higher, zones are higher with it, and a low cut-in is not reached",
    what: "the highest main pressure is not given; that of the supply is taken",
    action: "read a gauge with a needle that stays at the highest, and give it as highest_static",
    source: Source::CommonPractice,
};

/// The street alone holds more than cut-in, so that the pump stays off until a zone opens.
pub const STREET_ABOVE_CUT_IN: Entry = Entry {
    code: "street-above-cut-in",
    level: Level::Note,
    why: "a trickle, such as a drip line or a leak, never starts it; that is quiet at night, and no fault",
    what: "with all zones off the main holds {rest} at '{name}', above cut-in {cut_in}: the pump stays off until a zone opens",
    action: "nothing, if every zone starts it; else raise cut-in above that",
    source: Source::Physics,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    NEVER_STARTS,
    NEVER_STARTED,
    WOULD_NEVER_START,
    NEEDS_NO_PUMP,
    NEEDED_NO_PUMP,
    WOULD_NEED_NO_PUMP,
    BARELY_STARTS,
    WOULD_BARELY_START,
    SHORT_CYCLES,
    SHORT_CYCLED,
    WOULD_SHORT_CYCLE,
    MANY_STARTS,
    NEAR_CUT_OUT,
    WOULD_BE_NEAR_CUT_OUT,
    NEVER_STOPS,
    NEVER_STOPPED,
    RELIEF_KEPT_IT_RUNNING,
    FAILURE_KEPT_IT_RUNNING,
    WOULD_NEVER_STOP,
    NEAR_DEAD_HEAD,
    WOULD_BE_NEAR_DEAD_HEAD,
    CYCLES_AT_REST,
    PRECHARGE,
    CHATTERS,
    NO_STORE,
    WAKES,
    NEAR_REST,
    AT_REST,
    NO_WINDOW,
    NARROW_WINDOW,
    LOWEST_MAIN,
    NIGHT_UNKNOWN,
    STREET_ABOVE_CUT_IN,
];
