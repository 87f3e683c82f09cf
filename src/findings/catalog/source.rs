//! Taps and tanks: pressure left for the house, backsiphonage, backflow, and what keeps waters apart.

use super::{Entry, Level, Source};
use crate::findings::limits::{self, HOUSE_PRESSURE, TESTS_APART};

/// Water flows back from the garden into a tap.
pub const BACKFLOW: Entry = Entry {
    code: "backflow-into-tap",
    level: Level::Danger,
    why: "garden water enters the drinking water of the house and the main",
    what: "{flow} flows backward into {part}",
    action: "fit the backflow preventer that local code requires; if this has happened in a real garden, treat it as contamination: close \
             the tap, do not drink, call the water supplier",
    source: Source::Physics,
};
/// In a run over time.
pub const BACKFLOW_IN_RUN: Entry = Entry { what: "{volume} flows backward into {part} in this run", ..BACKFLOW };

/// Water runs into an open tank.
pub const TANK_FILLS: Entry = Entry {
    code: "tank-fills",
    level: Level::Note,
    why: "when it is full it overflows unless something stops the flow",
    what: "{part} fills at {flow}",
    action: "stop it with a float valve; where the tank is not meant to be filled from here, fit a check valve downstream of it",
    source: Source::Physics,
};
/// In a run over time.
pub const TANK_FILLED: Entry = Entry { what: "{volume} flows into {part}", ..TANK_FILLS };

/// The pressure at a tap falls below atmospheric.
pub const BACKSIPHONAGE: Entry = Entry {
    code: "backsiphonage",
    level: Level::Danger,
    why: "a main below atmospheric pressure draws dirty water in through any leak or open hose (backsiphonage)",
    what: "pressure at {part} drops to {pressure} at {flow}, below atmospheric pressure",
    action: "reduce the flow with a smaller pump or fewer heads, or put a break tank between tap and pump",
    source: Source::Physics,
};

/// The pressure at a tap falls below what is to be left for the house.
pub const LOW_TAP_PRESSURE: Entry = Entry {
    code: "low-tap-pressure",
    level: Level::Warning,
    why: "showers weaken and a tankless heater may turn off; {20 psi|1.4 bar} is the usual minimum in the main",
    what: "pressure at {part} drops to {pressure} at {flow}, below {least}",
    action: "reduce the flow: smaller nozzles, fewer heads at once, or a break tank between tap and pump",
    source: HOUSE_PRESSURE.source,
};
/// In a run over time.
pub const LOW_TAP_PRESSURE_IN_RUN: Entry = Entry {
    what: "pressure at {part} drops to {pressure} at {when}, and is below {least} for {low}",
    action: "reduce the flow, or water when nobody uses water in the house",
    ..LOW_TAP_PRESSURE
};

/// Several bucket tests of a tap do not agree.
pub const TESTS_DISAGREE: Entry = Entry {
    code: "bucket-tests-disagree",
    level: Level::Note,
    why: "readings that scatter make the supply curve, and every pressure computed from it, as uncertain as they are",
    what: "the bucket tests of {part} do not agree: at {flow} the gauge read {has}, and the curve through all tests has {fitted}",
    action: "repeat the tests while nobody else uses water, with the flow steady before reading the gauge",
    source: TESTS_APART.source,
};

/// The pressure at a tap is above what building codes allow without a pressure-reducing valve.
pub const HIGH_STATIC: Entry = Entry {
    code: "high-static-pressure",
    level: Level::Warning,
    why: "plumbing codes require a pressure-reducing valve above that; hoses, valves and washing machines fail early",
    what: "static pressure at {part} is {pressure}, above {limit}",
    action: "have a pressure-reducing valve fitted where the main enters the house; it closes the plumbing, so an expansion tank is then \
             needed",
    source: limits::HIGH_STATIC.source,
};

/// A supply gives more than its bucket test went to.
pub const BEYOND_TEST: Entry = Entry {
    code: "beyond-bucket-test",
    level: Level::Note,
    why: "beyond the test the supply curve is extrapolated",
    what: "{part} gives {flow}, but its bucket test went only to {tested}",
    action: "repeat the bucket test at a higher flow: tap fully open, no hose",
    source: Source::CommonPractice,
};

/// A supply has no bucket test, so that it is taken to hold its pressure at any flow.
pub const NO_BUCKET_TEST: Entry = Entry {
    code: "no-bucket-test",
    level: Level::Note,
    why: "pressure at a real tap drops as flow rises, so pressures and flows computed here are too high",
    what: "no bucket test of {part} is given: it is assumed to hold {pressure} at any flow",
    action: "read a gauge at the tap while you time the filling of a bucket, and give both with .measured(pressure, flow)",
    source: Source::Physics,
};

/// No approved device keeps garden water from the drinking water of a tap.
pub const NO_BACKFLOW_PREVENTER: Entry = Entry {
    code: "no-backflow-preventer",
    level: Level::Warning,
    why: "when main pressure fails, water with soil and fertilizer in it can flow back into the drinking water",
    what: "there is no backflow preventer between {part} and the garden[; {check} is not an approved one]",
    action: "fit the device that local code requires, just downstream of the tap",
    source: Source::CommonPractice,
};
/// More severe where an outlet lies in the soil.
pub const SOIL_ON_TAP: Entry = Entry {
    level: Level::Danger,
    what: "there is no backflow preventer between {part} and {outlet}, which lies in the soil[; {check} is not an approved one]",
    ..NO_BACKFLOW_PREVENTER
};

/// An open tank and a tap are connected, with only backflow preventers between them.
pub const CROSS_CONNECTION_BEHIND_PREVENTER: Entry = Entry {
    code: "cross-connection",
    level: Level::Warning,
    why: "stored water is a high hazard: most preventers may not be used against it, and their type is not known here",
    what: "{tap} and {part} are connected, with only a backflow preventer between them",
    action: "fill the tank from above through an air gap, or fit the strictest device that local code names for the connection",
    source: Source::CommonPractice,
};
/// More severe where no backflow preventer lies between them.
pub const CROSS_CONNECTION: Entry = Entry {
    level: Level::Danger,
    why: "tank water is not drinking water; codes require an air gap or the strictest device between the two",
    what: "{tap} and {part} are connected without a backflow preventer between them",
    action: "separate them by an air gap, or ask the water supplier which device is allowed",
    ..CROSS_CONNECTION_BEHIND_PREVENTER
};

/// A vacuum breaker with something downstream that can push back.
pub const BACKPRESSURE: Entry = Entry {
    code: "backpressure",
    level: Level::Danger,
    why: "a vacuum breaker does not protect against backpressure",
    what: "downstream of {part}, {pump} can raise the pressure above that of the main",
    action: "use a reduced-pressure assembly if local code allows the connection, and have it tested",
    source: Source::FromMemory(PREVENTERS),
};
/// Where only the height of an outlet raises it.
pub const BACKPRESSURE_OF_HEIGHT: Entry = Entry {
    why: "a breaker on a hose bibb tolerates only little backpressure",
    what: "{outlet} is {by} above {part}, which tolerates at most {most}",
    action: "use a pressure vacuum breaker above the highest outlet, or a device that protects against backpressure",
    source: limits::HOSE_BREAKER_HEIGHT.source,
    ..BACKPRESSURE
};

/// A valve downstream of a device that must not stay under pressure.
pub const CONTINUOUS_PRESSURE: Entry = Entry {
    code: "continuous-pressure",
    level: Level::Warning,
    why: "such breakers are listed for at most 12 h of pressure in 24",
    what: "{part} is under pressure all day, because {valve} is downstream of it",
    action: "move the valve upstream, or use a pressure vacuum breaker",
    source: Source::FromMemory(PREVENTERS),
};

/// A vacuum breaker that is not far enough above the outlets.
pub const BREAKER_HEIGHT: Entry = Entry {
    code: "breaker-height",
    level: Level::Danger,
    why: "below that height water from the outlets can flow back through it",
    what: "{part} is only {by} above {outlet}; it must be at least {needed} above the highest outlet",
    action: "raise it, or use a type that may stand below the outlets",
    source: Source::FromMemory(PREVENTERS),
};
/// It is even below an outlet.
pub const BREAKER_BELOW: Entry =
    Entry { what: "{part} is {by} below {outlet}; it must be at least {needed} above the highest outlet", ..BREAKER_HEIGHT };

/// What each type of preventer stands.
const PREVENTERS: &str = "ASSE 1001, 1011, 1013, 1015 and 1020, performance requirements of backflow preventers";

/// Two taps with different static pressures feed one garden, so that they are not two taps of one main.
pub const SUPPLIES_JOINED: Entry = Entry {
    code: "supplies-joined",
    level: Level::Warning,
    why: "water from a private well or a second system may not be joined to a main, not even through valves and check valves",
    what: "{tap} and {part} have different static pressures and feed one garden",
    action: "if one of them is not the main, separate them by an air gap, or fit the strictest device that local code names",
    source: Source::CommonPractice,
};

/// No check valve keeps the pressure of a booster from the house.
pub const NO_CHECK: Entry = Entry {
    code: "no-check-valve",
    level: Level::Warning,
    why: "when the pump stops, its pressure leaks back into the house plumbing, and the garden loses pressure",
    what: "there is no check valve between {tap} and {part}",
    action: "fit a check valve between {tap} and {part}",
    source: Source::CommonPractice,
};

/// The only check valve is downstream of the booster.
pub const CHECK_DOWNSTREAM: Entry = Entry {
    code: "check-downstream-only",
    level: Level::Note,
    why: "it holds the pressure of the garden, but pump and suction hose stay open to the house",
    what: "{check} is downstream of {part}; there is none upstream",
    ..NO_CHECK
};

/// Static pressure at a tap is low for a house.
pub const LOW_STATIC: Entry = Entry {
    code: "low-static-pressure",
    level: Level::Note,
    why: "tankless heaters and shower valves need pressure, and little of it is left for heads",
    what: "static pressure at {part} is {pressure}, below {limit}",
    action: "water when nobody uses water in the house; low-pressure nozzles or drip need less",
    source: limits::LOW_STATIC.source,
};

/// The type of a backflow preventer is not given, and its loss could bring an outlet below its range.
pub const PREVENTER_TYPE_UNKNOWN: Entry = Entry {
    code: "preventer-type-unknown",
    level: Level::Note,
    why: "types lose between {2 and 12 psi|0.1 and 0.8 bar}, and protect against different hazards",
    what: "the type of {part} is not given, nor its loss, and {outlet} has only {margin} to spare",
    action: "name it, as in double_check() or reduced_pressure(), or give its cracking_pressure",
    source: Source::CommonPractice,
};

/// A one-way part closes the plumbing of the house, and nothing there takes up the expansion of heated water.
pub const THERMAL_EXPANSION: Entry = Entry {
    code: "thermal-expansion",
    level: Level::Warning,
    why: "a water heater then raises the pressure at every heating",
    what: "{part} closes the house plumbing at {demand}, and no tank there takes up expansion",
    action: "have a plumber fit or check the expansion tank",
    source: Source::CommonPractice,
};

/// More water goes through a meter than it should measure for long.
pub const METER_LIMIT: Entry = Entry {
    code: "meter-limit",
    level: Level::Note,
    why: "near its rated flow a meter takes much pressure and wears",
    what: "{flow} through {part} is {percent}% of its rated {rated}; at most {most}% is usual",
    action: "run fewer heads at once, or ask the water supplier about a larger meter",
    source: Source::CommonPractice,
};

/// A fertilizer injector that less than a reduced-pressure assembly keeps from a main.
pub const INJECTOR_NEEDS_RPZ: Entry = Entry {
    code: "injector-needs-rpz",
    level: Level::Danger,
    why: "fertilizer and chemicals are a high hazard: a vacuum breaker or a double check is not enough",
    what: "there is no reduced-pressure assembly between {tap} and {part}",
    action: "use a reduced-pressure assembly or an air gap, as local code requires, and label the tap",
    source: Source::FromMemory(PREVENTERS),
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    BACKFLOW,
    BACKFLOW_IN_RUN,
    TANK_FILLS,
    TANK_FILLED,
    BACKSIPHONAGE,
    LOW_TAP_PRESSURE,
    LOW_TAP_PRESSURE_IN_RUN,
    TESTS_DISAGREE,
    HIGH_STATIC,
    BEYOND_TEST,
    NO_BUCKET_TEST,
    NO_BACKFLOW_PREVENTER,
    SOIL_ON_TAP,
    CROSS_CONNECTION_BEHIND_PREVENTER,
    CROSS_CONNECTION,
    BACKPRESSURE,
    BACKPRESSURE_OF_HEIGHT,
    CONTINUOUS_PRESSURE,
    BREAKER_HEIGHT,
    BREAKER_BELOW,
    SUPPLIES_JOINED,
    NO_CHECK,
    CHECK_DOWNSTREAM,
    LOW_STATIC,
    PREVENTER_TYPE_UNKNOWN,
    THERMAL_EXPANSION,
    METER_LIMIT,
    INJECTOR_NEEDS_RPZ,
];
