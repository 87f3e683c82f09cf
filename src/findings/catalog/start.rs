//! Pumps that a relay of the timer or a flow-and-pressure control starts.

use super::{Entry, Level, Source};

/// A relay has no zone valve downstream of its booster.
pub const NO_ZONES: Entry = Entry {
    code: "relay-without-zones",
    level: Level::Warning,
    why: "the timer runs the pump only while it opens a zone, so the pump never runs",
    what: "no zone valve lies downstream of {pump}, which {part} starts",
    action: "add a valve upstream of the heads, or start the pump by its pressure",
    source: Source::Physics,
};

/// A zone downstream of a booster on a relay is opened by a timer without a terminal for one.
pub const NO_TERMINAL: Entry = Entry {
    code: "relay-without-terminal",
    level: Level::Warning,
    why: "a timer on a hose thread opens its own valve and has no pump start terminal, so the pump stays off while its zone runs",
    what: "{part} cannot start {pump} for {valve}, which has a timer of its own",
    action: "wire a zone valve to the timer that has the relay, or start the pump with pump_control() or drive()",
    source: Source::CommonPractice,
};

/// A zone valve that does not open leaves a booster on a relay against a closed line.
pub const RELAY_DEAD_HEAD: Entry = Entry {
    code: "relay-dead-head",
    level: Level::Note,
    why: "the relay follows the timer and not the water: a failed solenoid or a cut wire leaves the pump dead-headed for the whole run time",
    what: "if a zone valve does not open, {part} runs {pump} against a closed line[: {hot} in about {minutes} minutes]",
    action: "use a pump with a thermal cut-off or a flow switch, or add a small bypass",
    source: Source::CommonPractice,
};

/// Two things start one booster.
pub const STARTER_WITHOUT_EFFECT: Entry = Entry {
    code: "starter-without-effect",
    level: Level::Warning,
    why: "a relay or control takes the place of a pressure switch, and of several the first one counts",
    what: "{part} does nothing, since {other} starts {pump}",
    action: "remove one of the two",
    source: Source::Physics,
};

/// A zone takes less water than a control senses.
pub const BELOW_LEAST_FLOW: Entry = Entry {
    code: "below-least-flow",
    level: Level::Warning,
    why: "the pump short-cycles: pressure swings, and the motor and its contacts wear out",
    what: "{pump} moves {flow}, and {part} takes less than {least} for no flow: it stops the pump after {delay} and starts it again",
    action: "run this zone together with another, connect it upstream of the pump, or start the pump from the timer with pump_start()",
    source: Source::Physics,
};

/// With all valves closed the pump does not reach the pressure at which a control starts it.
pub const CUT_IN_ABOVE_SHUT_OFF: Entry = Entry {
    code: "control-above-shut-off",
    level: Level::Warning,
    why: "a control that finds no flow and no pressure takes the pump for dry, and locks it out until somebody resets it",
    what: "{part} starts {pump} at {cut_in}, above what it reaches at shut-off[ with the main at {main}]: {reaches}",
    action: "set cut-in at least {margin} below {reaches}",
    source: Source::Physics,
};

/// With all zones off a leak makes a control start its booster again and again.
pub const LEAK_CYCLES: Entry = Entry {
    code: "leak-cycles-pump",
    level: Level::Warning,
    why: "each time the leak has let the pressure down to cut-in the pump starts, finds hardly any flow and stops again",
    what: "with all zones off a leak of {leak} makes {part} start {pump} about {times} times an hour",
    action: "find and fix the leak; a pressure tank makes the starts rarer",
    source: Source::Physics,
};
/// A leak that a control takes for a zone.
pub const LEAK_KEEPS_RUNNING: Entry = Entry {
    why: "the control senses flow, so the pump runs day and night",
    what: "with all zones off a leak of {leak} keeps {pump} running: {part} stops it only below {least}",
    action: "find and fix the leak, and close the tap until then",
    ..LEAK_CYCLES
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    NO_ZONES,
    NO_TERMINAL,
    RELAY_DEAD_HEAD,
    STARTER_WITHOUT_EFFECT,
    BELOW_LEAST_FLOW,
    CUT_IN_ABOVE_SHUT_OFF,
    LEAK_CYCLES,
    LEAK_KEEPS_RUNNING,
];
