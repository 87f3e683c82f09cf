//! Taps and tanks: pressure left for the house, suction on the main, water that runs back, and what keeps waters apart.

use super::{Entry, Level, Source};
use crate::findings::limits::{LEAST_TAP_SOURCE, MOST_STATIC_SOURCE};

/// Water runs back from the garden into a tap.
pub const TAP_BACKWARD: Entry = Entry {
    code: "tap-backward",
    level: Level::Danger,
    why: "garden water enters the drinking water of the house and the street",
    what: "{flow} of water run backward into {part}",
    action: "separate the two waters, or fit the backflow preventer that local code asks for",
    source: Source::Physics,
};

/// Water runs into an open tank.
pub const TANK_FILLS: Entry = Entry {
    code: "tank-fills",
    level: Level::Note,
    why: "when it is full it runs over, as long as nothing shuts the water off",
    what: "{part} fills at {flow}",
    action: "let a float valve end it; where the tank is not meant to be filled from here, put a check valve behind it",
    source: Source::Physics,
};
/// In a run over time.
pub const TANK_FILLED: Entry = Entry { what: "{volume} filled {part}", ..TANK_FILLS };

/// In a run over time.
pub const RAN_BACK: Entry = Entry {
    code: "ran-back",
    level: Level::Danger,
    why: "garden water has run back towards the drinking water",
    what: "{volume} ran back into {part}",
    action: "fit the backflow preventer that local code asks for, right behind the tap",
    source: Source::Physics,
};

/// The pressure at a tap falls below that of the air.
pub const TAP_SUCTION: Entry = Entry {
    code: "tap-suction",
    level: Level::Danger,
    why: "suction on the main can draw dirty water into the drinking water through any leak or open hose",
    what: "{part} falls to {pressure} while {flow} run, below the pressure of the air",
    action: "draw less: a smaller pump or fewer heads, or a tank between tap and pump",
    source: Source::Physics,
};

/// The pressure at a tap falls below what is to be left for the house.
pub const TAP_LOW: Entry = Entry {
    code: "tap-low",
    level: Level::Warning,
    why: "health codes usually ask for that much to be left, and the house notices: the shower weakens, a heater may switch off",
    what: "{part} falls to {pressure} while {flow} run, below {least}",
    action: "draw less: smaller nozzles, fewer heads at once, or a tank between tap and pump",
    source: LEAST_TAP_SOURCE,
};

/// In a run over time.
pub const HOUSE_STARVED: Entry = Entry {
    code: "house-starved",
    level: Level::Warning,
    why: "showers and boilers in the house fail, and a main under suction can draw dirt into the drinking water",
    what: "the house tap at {part} falls to {pressure} at {when}, and stands below {least} for {low}",
    action: "draw less at once, or water when nobody needs the house taps",
    source: LEAST_TAP_SOURCE,
};

/// The pressure at a tap is above what building codes allow without a pressure-reducing valve.
pub const TAP_HIGH: Entry = Entry {
    code: "tap-high",
    level: Level::Note,
    why: "building codes ask for a pressure-reducing valve above that; hoses, valves and washing machines suffer",
    what: "{part} stands at {pressure}, above {limit}",
    action: "have a pressure-reducing valve fitted where the water enters the house",
    source: MOST_STATIC_SOURCE,
};

/// A supply gives more than its bucket test went to.
pub const BEYOND_TEST: Entry = Entry {
    code: "beyond-bucket-test",
    level: Level::Note,
    why: "out there the supply curve is a guess",
    what: "{part} gives {flow}, but its bucket test went only to {tested}",
    action: "repeat the bucket test with the tap opened further",
    source: Source::CommonPractice,
};

/// A supply has no bucket test, so that it is taken to hold its pressure whatever flows.
pub const UNMEASURED: Entry = Entry {
    code: "tap-unmeasured",
    level: Level::Note,
    why: "every real tap weakens as it gives more, so pressures and flows come out too high",
    what: "no bucket test of {part} is given: it is taken to hold {pressure} whatever flows",
    action: "read a gauge at the tap while you fill a bucket by the clock, and give both with .measured(pressure, flow)",
    source: Source::Physics,
};

/// Nothing that codes approve keeps garden water from the drinking water of a tap.
pub const NO_BACKFLOW_PREVENTER: Entry = Entry {
    code: "no-backflow-preventer",
    level: Level::Warning,
    why: "when the street pressure fails, water with soil and fertiliser in it can run back into the drinking water",
    what: "no backflow preventer stands between {part} and the garden[; {check} is not an approved one]",
    action: "fit the device that local code asks for, right behind the tap",
    source: Source::CommonPractice,
};
/// Graver where an outlet lies in the soil.
pub const SOIL_ON_TAP: Entry = Entry {
    level: Level::Danger,
    what: "no backflow preventer stands between {part} and {outlet}, which lies in the soil[; {check} is not an approved one]",
    ..NO_BACKFLOW_PREVENTER
};

/// An open tank and a tap are joined without a backflow preventer.
pub const TANK_ON_TAP: Entry = Entry {
    code: "tank-on-tap",
    level: Level::Danger,
    why: "tank water is not drinking water; where the two are joined, codes ask for an air gap or the strictest kind of device",
    what: "{tap} and {part} are joined without a backflow preventer between them",
    action: "separate them by an air gap, or ask the water supplier which device is allowed",
    source: Source::CommonPractice,
};

/// No check valve keeps the pressure of a booster from the house.
pub const NO_CHECK: Entry = Entry {
    code: "no-check-valve",
    level: Level::Warning,
    why: "when the pump stops, its pressure runs back into the house pipes, and nothing holds the garden at pressure",
    what: "no check valve stands between {tap} and {part}",
    action: "put a check valve between {tap} and {part}",
    source: Source::CommonPractice,
};

/// The only check valve stands behind the booster.
pub const CHECK_DOWNSTREAM: Entry = Entry {
    code: "check-downstream-only",
    level: Level::Note,
    why: "it holds the garden at pressure, but pump and suction hose stay open to the house",
    what: "{check} stands behind {part}; none stands before it",
    ..NO_CHECK
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    TAP_BACKWARD,
    TANK_FILLS,
    TANK_FILLED,
    RAN_BACK,
    TAP_SUCTION,
    TAP_LOW,
    HOUSE_STARVED,
    TAP_HIGH,
    BEYOND_TEST,
    UNMEASURED,
    NO_BACKFLOW_PREVENTER,
    SOIL_ON_TAP,
    TANK_ON_TAP,
    NO_CHECK,
    CHECK_DOWNSTREAM,
];
