//! Variable-speed drives that hold a pressure: what they cannot hold, and where they sit. What they share with switches stands there.

use super::{Entry, Level, Source};

/// At full speed the pressure at the pump is below what the drive is set to.
pub const CANNOT_HOLD: Entry = Entry {
    code: "drive-cannot-hold",
    level: Level::Warning,
    why: "the pump runs at full speed, as if it had no drive, and the heads get less than was meant",
    what: "{part} cannot hold {set}: {pump} gives {has} at full speed",
    action: "set it at or below {has}, run fewer heads at once, or use a larger pump",
    source: Source::Physics,
};

/// With all valves closed the pump does not reach the pressure that the drive is set to.
pub const ABOVE_SHUT_OFF: Entry = Entry {
    code: "drive-above-shut-off",
    level: Level::Warning,
    why: "the pump runs at full speed whenever it runs, so the drive saves nothing",
    what: "{part} is set at {set}, above what {pump} reaches at shut-off[ with the main at {main}]: {reaches}",
    action: "set it at least {margin} below {reaches}; drive_window() gives the set pressures that work",
    source: Source::Physics,
};
/// It does not even reach the pressure at which the drive starts the pump.
pub const TAKEN_FOR_DRY: Entry = Entry {
    why: "a drive that finds no flow and no pressure takes the pump for dry, and locks it out until somebody resets it",
    what: "{part} starts {pump} at {starts}, above what it reaches at shut-off[ with the main at {main}]: {reaches}",
    ..ABOVE_SHUT_OFF
};

/// Something between a pump and its drive takes or adds pressure.
pub const AWAY_FROM_PUMP: Entry = Entry {
    code: "drive-away-from-pump",
    level: Level::Note,
    why: "the pressure at the drive is not the one that it holds, and by it the drive starts the pump again",
    what: "{part} holds {set} at the outlet of {pump}, and {between} lies between the two",
    action: "connect it to the outlet of the pump, beside tank and relief valve, with the check valve upstream of the pump",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[CANNOT_HOLD, ABOVE_SHUT_OFF, TAKEN_FOR_DRY, AWAY_FROM_PUMP];
