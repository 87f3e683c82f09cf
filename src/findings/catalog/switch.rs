//! Pressure switches: whether the pump starts, stays on and stops, how often, and what the main does to that; pressure tanks.

use super::{Entry, Level, Source};
use crate::findings::limits::MOST_STARTS;

/// A cut-in inside its margin, in a window.
const LITTLE_ROOM_FOR_CUT_IN: &str = "cut-in {setting} of '{name}' has a margin of only {room}: {limit}; {usual} is usual";
/// A cut-out inside its margin, in a window.
pub(super) const LITTLE_ROOM_FOR_CUT_OUT: &str =
    "cut-out {setting} of '{name}' has a margin of only {room}: {limit}; {usual} is usual";
const RAISE_CUT_IN: &str = "set cut-in above {kept}";
const RAISE_CUT_OUT: &str = "set cut-out above {kept}";
pub(super) const LOWER_CUT_OUT: &str = "set cut-out below {kept}";

/// Line pressure without the pump is above cut-in, so that the switch never starts it.
pub const NEVER_STARTS: Entry = Entry {
    code: "never-starts",
    level: Level::Warning,
    why: "the pump stays off, and the heads get only what the main gives",
    what: "{part} never starts {pump}: line pressure is {off} with it off, and cut-in is {cut_in}",
    action: "set cut-in above {off}, or start the pump from the timer",
    source: Source::Physics,
};
/// In a run over time.
pub const NEVER_STARTED: Entry = Entry {
    what: "{part} never starts {pump}: its lowest pressure is {lowest}, {margin} above cut-in {cut_in}",
    action: "set cut-in above the pressure that zones have with the pump off, or start the pump from the timer",
    ..NEVER_STARTS
};
/// Of settings against a window.
pub const WOULD_NEVER_START: Entry = Entry {
    what: "cut-in {setting} of '{name}' never starts the pump with {zones}: {limit}",
    action: RAISE_CUT_IN,
    ..NEVER_STARTS
};
/// A drive does not start its pump, and the heads have not what they need.
pub const DRIVE_NEVER_STARTS: Entry = Entry {
    what: "{part} never starts {pump}: line pressure is {off} with it off, and it starts at {starts}, {margin} below its set pressure {set}",
    action: "set it more than {margin} above {off}, or start the pump from the timer with pump_start()",
    ..NEVER_STARTS
};

/// All heads that run have what they need without the pump.
pub const NEEDS_NO_PUMP: Entry = Entry {
    code: "zone-needs-no-pump",
    level: Level::Note,
    why: "main pressure alone is enough for these heads; the pump would only use power and raise the pressure",
    what: "{outlet} has {has} without {pump} and needs {needs}: this zone does not need the pump",
    action: "leave it as it is, or connect this zone upstream of the pump",
    source: Source::Physics,
};
/// In a run over time.
pub const NEEDED_NO_PUMP: Entry = Entry {
    what: "{part} never starts {pump}: its lowest pressure is {lowest}, {margin} above cut-in {cut_in}, and all outlets that ran had \
           what they need",
    action: "leave it as it is, or connect these zones upstream of the pump",
    ..NEEDS_NO_PUMP
};
/// Of settings against a window.
pub const WOULD_NEED_NO_PUMP: Entry = Entry {
    what: "the pump stays off in {zones}: line pressure is {off}, enough for all heads there",
    action: "leave it as it is, or connect {zones} upstream of the pump, so that it limits no setting",
    ..NEEDS_NO_PUMP
};

/// The pump runs, and all heads would have what they need without it.
pub const RUNS_UNNEEDED: Entry = Entry {
    why: "what comes to the pump is enough for these heads; it only uses power, wears, and raises the pressure",
    what: "{part} has {has} with {pump} off[ and the main at {main}], and needs {needs}: the pump runs for nothing",
    action: "[{first}, then ]connect this zone upstream of {pump}, or do without the pump where no zone needs it",
    ..NEEDS_NO_PUMP
};
/// Where the timer starts it.
pub const NEEDS_NO_PUMP_ON_RELAY: Entry = Entry {
    action: "[{first}, then ]set the timer so that it does not start {pump} for this zone, or connect the zone upstream of it",
    ..RUNS_UNNEEDED
};
/// Where nothing starts and stops it.
pub const NEEDS_NO_PUMP_UNSWITCHED: Entry =
    Entry { action: "[{first}, then ]leave {pump} off for these heads, or connect them upstream of it", ..RUNS_UNNEEDED };
/// What comes first where the lowest pressure of the main is not given.
pub const READ_THE_MAIN: &str = "read main pressure on a dry evening";

/// A switch starts the pump, but by less than the usual margin.
pub const NEAR_CUT_IN: Entry = Entry {
    code: "near-cut-in",
    level: Level::Note,
    why: "a gauge or a switch may be off by that much, and main pressure rises at night",
    what: "{part} starts {pump} with a margin of only {margin}: line pressure is {off} with it off, and cut-in is {cut_in}",
    action: "raise cut-in a little",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BE_NEAR_CUT_IN: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_IN, action: RAISE_CUT_IN, ..NEAR_CUT_IN };

/// Line pressure reaches cut-out while the pump runs, so that the switch stops and starts it over and over.
pub const SHORT_CYCLES: Entry = Entry {
    code: "short-cycles",
    level: Level::Warning,
    why: "pressure swings, and the motor and switch contacts wear out",
    what: "{part} short-cycles {pump}: line pressure is {at} with it on, at or above cut-out {cut_out}",
    action: "raise cut-out, run more heads at once, or start the pump from the timer with pump_start()",
    source: Source::Physics,
};
/// In a run over time, by the starts of an hour.
pub const SHORT_CYCLED: Entry = Entry {
    what: "{part} starts {starts} times in an hour; small motors tolerate at most {most}[; the shortest run is {shortest}]",
    action: "fit a larger pressure tank, widen the differential between cut-in and cut-out, run more heads at once, or start the pump from \
             the timer with pump_start()",
    source: MOST_STARTS.source,
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
    what: "{part} has up to {starts} in an hour[; the shortest run is {shortest}]; such motors should start at most {usual} times and run at \
           least {least}",
    action: "ask the manufacturer how many starts the motor tolerates, or fit a larger pressure tank",
    ..SHORT_CYCLED
};

/// A switch keeps the pump running, but by less than the usual margin below cut-out.
pub const NEAR_CUT_OUT: Entry = Entry {
    code: "near-cut-out",
    level: Level::Note,
    why: "with one nozzle fewer or clogged it short-cycles; a gauge or a switch may be off by that much",
    what: "{part} keeps {pump} on with a margin of only {margin}: line pressure is {at} with it on, and cut-out is {cut_out}",
    action: "raise cut-out, but keep it below dead-head pressure, relief setting and ratings",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BE_NEAR_CUT_OUT: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: RAISE_CUT_OUT, ..NEAR_CUT_OUT };

/// The pump does not reach cut-out at shut-off.
pub const NEVER_STOPS: Entry = Entry {
    code: "never-stops",
    level: Level::Warning,
    why: "with all valves closed the pump runs dead-headed, overheats and fails",
    what: "{part} never stops {pump}: with all valves closed[ and the main at {main}], line pressure is {reaches}, below cut-out {cut_out}",
    action: "set cut-out at least {margin} below {reaches}",
    source: Source::Physics,
};
/// In a run over time.
pub const NEVER_STOPPED: Entry = Entry {
    what: "{part} never stops {pump} after {when}: line pressure settles at {settled}, {short} below cut-out {cut_out}[, while {relief} \
           discharges]",
    action: "set cut-out at least {margin} below the shut-off pressure of supply and pump",
    ..NEVER_STOPS
};
/// In a run over time, where a relief valve keeps the pressure below cut-out.
pub const RELIEF_KEPT_IT_RUNNING: Entry =
    Entry { action: "set cut-out at least {margin} below the relief setting", ..NEVER_STOPPED };
/// In a run over time with a failure.
pub const FAILURE_KEPT_IT_RUNNING: Entry = Entry {
    action: "the failure '{failed} {failure}' causes it; a dry-run cut-off or a timer on the pump ends it",
    ..NEVER_STOPPED
};
/// Of settings against a window.
pub const WOULD_NEVER_STOP: Entry = Entry {
    what: "cut-out {setting} of '{name}' never stops the pump: {limit}; line pressure settles at {settled}[, with {lost} lost through \
           relief valves and leaks][, {no_flow}]",
    action: LOWER_CUT_OUT,
    ..NEVER_STOPS
};

/// The pump reaches cut-out at shut-off, but by less than the usual margin.
pub const NEAR_DEAD_HEAD: Entry = Entry {
    code: "near-dead-head",
    level: Level::Warning,
    why: "when main pressure drops or the pump wears it no longer reaches cut-out and never stops",
    what: "{part} stops {pump} with a margin of only {room}: with all valves closed[ and the main at {main}], line pressure is {reaches}, and cut-out is {cut_out}",
    action: "set cut-out at least {margin} below {reaches}",
    source: Source::CommonPractice,
};
/// Of settings against a window.
pub const WOULD_BE_NEAR_DEAD_HEAD: Entry = Entry { what: LITTLE_ROOM_FOR_CUT_OUT, action: LOWER_CUT_OUT, ..NEAR_DEAD_HEAD };

/// Nothing holds the pressure once the pump stops, so that it starts again with all valves closed.
pub const CYCLES_WITHOUT_DEMAND: Entry = Entry {
    code: "cycles-without-demand",
    level: Level::Warning,
    why: "each time it stops, water flows back through it, the pressure drops, and it starts again, day and night",
    what: "{part} cycles {pump} with all valves closed: when it stops, line pressure drops to {off}, and cut-in is {cut_in}",
    action: "fit a check valve between the source and the switch, or set cut-in below that pressure",
    source: Source::Physics,
};
/// Nothing holds the pressure once the pump stops.
pub const DRIVE_RUNS_BACK: Entry = Entry {
    what: "{part} cycles {pump} with all valves closed: when it stops, line pressure drops to {off}, and it starts at {cut_in}",
    action: "fit a check valve between the source and the pump",
    ..CYCLES_WITHOUT_DEMAND
};

/// The precharge of a tank is not below cut-in at its place.
pub const PRECHARGE_HIGH: Entry = Entry {
    code: "precharge-high",
    level: Level::Warning,
    why: "the tank is empty before cut-in: pressure drops suddenly and the bladder wears",
    what: "precharge of {part} is {precharge}, not below cut-in of {switch}, {cut_in} at its elevation",
    action: "with the pump off and the tank drained, set precharge {margin} below cut-in",
    source: Source::CommonPractice,
};
/// The precharge of a tank is not below the pressure at which a drive starts its pump.
pub const DRIVE_PRECHARGE_HIGH: Entry = Entry {
    why: "the tank is empty before the pump starts: pressure drops suddenly and the bladder wears",
    what: "precharge of {part} is {precharge}, not below the pressure at which {switch} starts the pump, {cut_in} at its elevation",
    action: "with the pump off and the tank drained, set precharge {margin} below that pressure",
    ..PRECHARGE_HIGH
};

/// In a run over time.
pub const CHATTERS: Entry = Entry {
    code: "chatters",
    level: Level::Danger,
    why: "without stored water the pressure follows the pump at once, and the switch would open and close many times a second",
    what: "{part} chatters: {starts}, and no tank or hose with compliance stores water",
    action: "fit a pressure tank next to the switch; tank_for(garden, 10.per_hour) gives its size",
    source: Source::Physics,
};

/// In a run over time.
pub const NO_PRESSURE_TANK: Entry = Entry {
    code: "no-pressure-tank",
    level: Level::Note,
    why: "this works while a zone runs, but a dripping head or a small demand makes the pump chatter",
    what: "no tank or hose with compliance stores water downstream of {part}",
    ..CHATTERS
};
/// Nothing stores water near a drive.
pub const DRIVE_WITHOUT_TANK: Entry = Entry {
    why: "water hardly gives way: a dripping head or a small demand lets the pressure fall by the start margin at once",
    what: "no pressure tank is near {part}: any leak starts {pump}",
    action: "fit a small pressure tank of {1 to 2 gal|4 to 8 L} beside the drive",
    ..NO_PRESSURE_TANK
};

/// In a run over time.
pub const UNNEEDED_STARTS: Entry = Entry {
    code: "unneeded-starts",
    level: Level::Note,
    why: "water is lost somewhere: a leak, a dripping head or a check valve that leaks back",
    what: "{part} makes {starts} with all zones off, first at {when}[; main pressure ({rest}) is not above cut-in ({cut_in}), so any \
           leak starts it]",
    action: "close the valves one at a time and watch the gauge, or compute the leak from two gauge readings with leak_from_decay",
    source: Source::Physics,
};

/// Static pressure of the main is near cut-in.
pub const CUT_IN_NEAR_STATIC: Entry = Entry {
    code: "cut-in-near-static",
    level: Level::Note,
    why: "main pressure is {a few psi|some tenths of a bar} higher at night and lower by day: the pump may start with all zones off, as after any leak",
    what: "with all zones off {part} is at {rest}, only {by} {way} cut-in {cut_in}",
    action: "to keep the pump off between waterings, set cut-in at least {margin} below {rest}",
    source: Source::CommonPractice,
};
/// Where the two are the same.
pub const CUT_IN_AT_STATIC: Entry =
    Entry { what: "with all zones off {part} is right at cut-in: {rest}, and cut-in is {cut_in}", ..CUT_IN_NEAR_STATIC };

/// No cut-in and cut-out work in all zones.
pub const NO_SETTINGS: Entry = Entry {
    code: "no-settings-work",
    level: Level::Warning,
    why: "the pressures of the zones, the pump, the relief valve and the ratings leave too little between them",
    what: "no cut-in and cut-out work in all these zones",
    action: "{remedy}",
    source: Source::Physics,
};

/// Settings work in all zones, but none with the usual margins.
pub const NO_MARGIN: Entry = Entry {
    code: "no-settings-margin",
    level: Level::Note,
    what: "cut-in and cut-out can be set, but not with the usual margins",
    ..NO_SETTINGS
};
/// The remedy where no change of the garden makes settings possible.
pub const OTHER_PUMP: &str = "use a pump with a steeper curve; {timer}";

/// The lowest pressure of the main is not given, on which depends whether the pump ever stops.
pub const LOWEST_MAIN: Entry = Entry {
    code: "lowest-main",
    level: Level::Warning,
    why: "on a hot evening, when everyone waters, the pump may run dead-headed for hours: it overheats and fails",
    what: "the lowest main pressure is not given: {lowest}",
    action: "read a gauge at that time, and give the lowest pressure as lowest_static of the supply",
    source: Source::CommonPractice,
};

/// The highest pressure of the main is not given, on which depends whether the pump starts at night.
pub const HIGHEST_MAIN: Entry = Entry {
    code: "highest-main",
    level: Level::Note,
    why: "main pressure is higher at night; zone pressures rise with it and may stay above a low cut-in",
    what: "the highest main pressure is not given: static pressure of the supply is used",
    action: "read a gauge with a maximum pointer overnight, and give it as the option highest_static",
    source: Source::CommonPractice,
};

/// Static pressure of the main is above cut-in, so that the pump stays off until a zone opens.
pub const MAIN_ABOVE_CUT_IN: Entry = Entry {
    code: "main-above-cut-in",
    level: Level::Note,
    why: "a trickle, such as a drip line or a leak, does not start it; this keeps nights quiet and is no fault",
    what: "with all zones off the main holds {rest} at '{name}', above cut-in {cut_in}: the pump stays off until a zone opens",
    action: "leave it as it is if every zone starts it; otherwise raise cut-in above that",
    source: Source::Physics,
};

/// The precharge of a tank is far below cut-in.
pub const PRECHARGE_LOW: Entry = Entry {
    code: "precharge-low",
    level: Level::Warning,
    why: "a tank with too little air gives less water between two starts, and its bladder is stretched at each",
    what: "precharge of {part} is {precharge}, far below cut-in of {switch}, {cut_in} at its elevation",
    action: "with the pump off and the tank drained, set precharge {margin} below cut-in, and check it twice a year",
    source: Source::CommonPractice,
};

/// In a run over time, by the starts of a day.
pub const STARTS_OF_DAY: Entry = Entry {
    code: "many-starts-a-day",
    level: Level::Warning,
    why: "each start heats the motor and wears its switch; makers print a limit for a day too",
    what: "{part} has {starts} within 24 hours; {most} are usual at most",
    action: "fit a larger pressure tank, widen the differential between cut-in and cut-out, or look for a leak",
    source: MOST_STARTS.source,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    NEVER_STARTS,
    NEVER_STARTED,
    WOULD_NEVER_START,
    DRIVE_NEVER_STARTS,
    NEEDS_NO_PUMP,
    NEEDED_NO_PUMP,
    WOULD_NEED_NO_PUMP,
    RUNS_UNNEEDED,
    NEEDS_NO_PUMP_ON_RELAY,
    NEEDS_NO_PUMP_UNSWITCHED,
    NEAR_CUT_IN,
    WOULD_BE_NEAR_CUT_IN,
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
    CYCLES_WITHOUT_DEMAND,
    DRIVE_RUNS_BACK,
    PRECHARGE_HIGH,
    DRIVE_PRECHARGE_HIGH,
    CHATTERS,
    NO_PRESSURE_TANK,
    DRIVE_WITHOUT_TANK,
    UNNEEDED_STARTS,
    CUT_IN_NEAR_STATIC,
    CUT_IN_AT_STATIC,
    NO_SETTINGS,
    NO_MARGIN,
    LOWEST_MAIN,
    HIGHEST_MAIN,
    MAIN_ABOVE_CUT_IN,
    PRECHARGE_LOW,
    STARTS_OF_DAY,
];
