//! Every caution once: its name, subject, texts and source, and when it applies.
//!
//! When one applies is asked of traits, never of a list of kinds. No text holds the closing sentence `FOLLOW`, which stands once
//! below all.

use super::caution::{Caution, Subject};
use crate::findings::Source;
use crate::parts::{Backward, Spec};

const CROSS_CONNECTION: Caution = Caution {
    id: "cross-connection",
    subject: Subject::DrinkingWater,
    short: "backflow device by hazard",
    text: "Any hose or irrigation line joined to drinking water is a cross-connection. The device depends on the hazard: vacuum \
           breaker, double check, or reduced-pressure assembly. Testable assemblies are tested when installed and every year by a \
           certified tester. Permits are often required.",
    source: Source::CommonPractice,
    applies: |facts| facts.main(),
};

/// A booster on a main lacks a preventer upstream or a relief downstream. Examples must not show it.
pub const BARE_BOOSTER: Caution = Caution {
    id: "booster-unprotected",
    subject: Subject::DrinkingWater,
    short: "booster lacks preventer or relief",
    text: "A booster on the main in this study has no backflow preventer upstream of it, or no relief valve downstream of it that \
           stays open to the pump when all valves are closed. Fit both.",
    source: Source::CommonPractice,
    applies: |facts| facts.bare_booster(),
};

const BOOSTER_ON_MAIN: Caution = Caution {
    id: "booster-on-main",
    subject: Subject::DrinkingWater,
    short: "ask supplier before a booster",
    text: "A booster on a public main may be prohibited. Ask the water supplier first. If allowed: reduced-pressure assembly or the \
           device they name, low-suction cut-off (10 psi, 0.7 bar), no pressure switch upstream of the meter. A break tank with an \
           air gap is the safe alternative.",
    source: Source::FromMemory("Recommended Standards for Water Works (2018): automatic cut-off of pump suction"),
    applies: |facts| facts.main() && facts.pump(),
};

const JOINED_SOURCES: Caution = Caution {
    id: "joined-sources",
    subject: Subject::DrinkingWater,
    short: "air gap between main and other water",
    text: "Water from a barrel, cistern or private well may not be joined to the house main by a valve or check valve. Fill the tank \
           from above through an air gap of twice the pipe diameter, at least 1 in (25 mm), or fit the strictest device that code \
           names for the connection.",
    source: Source::FromMemory("ASME A112.1.2: air gap of twice the diameter of the outlet"),
    applies: |facts| facts.joined_sources(),
};

const STORED_WATER: Caution = Caution {
    id: "stored-water",
    subject: Subject::DrinkingWater,
    short: "label stored water non-potable",
    text: "Water from a barrel, cistern, pond or open tank is not drinking water. Label tank, taps and hoses non-potable, and cover \
           the tank against children, animals and mosquitoes.",
    source: Source::CommonPractice,
    applies: |facts| facts.open_tank(),
};

const CHECK_VALVE: Caution = Caution {
    id: "check-valve",
    subject: Subject::DrinkingWater,
    short: "a check valve is no approved preventer",
    text: "A check valve is not an approved backflow preventer: one speck of grit holds it open, and it cannot be tested.",
    source: Source::CommonPractice,
    applies: |facts| facts.any(|spec| spec.traits.backward == Backward::Keeps),
};

const VACUUM_BREAKER: Caution = Caution {
    id: "vacuum-breaker",
    subject: Subject::DrinkingWater,
    short: "no vacuum breaker under pump pressure",
    text: "A vacuum breaker does not protect against backpressure: none upstream of a pump, a pressure tank or higher outlets. Mount a \
           pressure or spill-resistant vacuum breaker 12 in (300 mm) above the highest outlet, an atmospheric one 6 in (150 mm); no \
           valve downstream of an atmospheric one. Protect all from frost.",
    source: Source::FromMemory("ASSE 1001, 1011, 1020 and 1056"),
    applies: |facts| facts.main() && (facts.preventer() || facts.pushes_back()),
};

const FERTILIZER: Caution = Caution {
    id: "fertilizer",
    subject: Subject::DrinkingWater,
    short: "fertilizer: reduced-pressure assembly",
    text: "Fertilizer or chemical injection: reduced-pressure assembly or air gap. A vacuum breaker or double check is not enough. \
           Label the tap.",
    source: Source::CommonPractice,
    applies: |facts| facts.main() && facts.drip(),
};

const METRIC_CODES: Caution = Caution {
    id: "metric-codes",
    subject: Subject::DrinkingWater,
    short: "device by EN 1717 or AS/NZS 3500.1",
    text: "UK: fluid category 5, and so an air gap, for drip and soaker lines. EU: EN 1717, type BA or AB. Australia and New Zealand: \
           AS/NZS 3500.1, high hazard for injection.",
    source: Source::FromMemory("Water Supply (Water Fittings) Regulations 1999; EN 1717; AS/NZS 3500.1"),
    applies: |facts| facts.main() && facts.metric(),
};

const ELECTRICITY: Caution = Caution {
    id: "electricity",
    subject: Subject::PumpsAndPressure,
    short: "GFCI (RCD), licensed wiring",
    text: "Pump and switch near water need a GFCI (outside the US: RCD, 30 mA). Outdoor receptacle with in-use cover; no extension cord; \
           bond metal parts; disconnect before opening; pump with thermal overload. Electrical work by a licensed electrician.",
    source: Source::CommonPractice,
    applies: |facts| facts.any(|spec| spec.traits.pumps || spec.traits.starts.is_some()),
};

const RELIEF: Caution = Caution {
    id: "relief",
    subject: Subject::PumpsAndPressure,
    short: "no valve between pump and relief",
    text: "Size the relief valve for the pump's flow, with no valve between pump and relief; set at or below cut-out it weeps. \
           Discharge full size, downhill, no thread or cap at the end, visible, not onto a walkway; the water may be hot.",
    source: Source::CommonPractice,
    applies: |facts| facts.any(|spec| spec.traits.relieves),
};

const PRESSURE_TANK: Caution = Caution {
    id: "pressure-tank",
    subject: Subject::PumpsAndPressure,
    short: "recharge a tank only drained",
    text: "Never exceed the pressure rating of a tank. Recharge it only with the pump off and the tank drained. Steel tanks for air need \
           the rating plate. A relief valve sized for the pump belongs to it, with no valve between.",
    source: Source::CommonPractice,
    applies: |facts| facts.any(Spec::has_cushion),
};

const THERMAL_EXPANSION: Caution = Caution {
    id: "thermal-expansion",
    subject: Subject::PumpsAndPressure,
    short: "have the expansion tank checked",
    text: "A check valve, backflow preventer or pressure regulator closes the plumbing upstream or downstream of it. Water that is \
           heated there, by a water heater or by sun, raises the pressure each time. A plumber should fit or check the expansion tank.",
    source: Source::CommonPractice,
    applies: |facts| facts.main() && facts.any(Spec::is_one_way),
};

const HOSE_PRESSURE: Caution = Caution {
    id: "hose-pressure",
    subject: Subject::PumpsAndPressure,
    short: "no hose left under pressure",
    text: "Do not leave hoses under pressure: close the tap after watering. Replace a bulged or cracked hose; a burst hose whips.",
    source: Source::CommonPractice,
    applies: |facts| facts.hose(),
};

const HEAT: Caution = Caution {
    id: "heat",
    subject: Subject::PumpsAndPressure,
    short: "ratings fall with heat and sun",
    text: "Pressure ratings fall with heat, sun and age. Use at most three quarters of a hose's rating, half when it lies in the sun; \
           PVC pipe is rated at 73 degF (23 degC) and keeps about half of that at 110 degF (43 degC).",
    source: Source::FromMemory("temperature factors of PVC pipe; the shares of a hose's rating are common practice"),
    applies: |facts| facts.any(|spec| spec.traits.bursts),
};

const HOT_WATER: Caution = Caution {
    id: "hot-water",
    subject: Subject::PeopleAndSite,
    short: "hose water in the sun can scald",
    text: "Water in a sun-heated hose can scald: run it away from people and pets for a minute.",
    source: Source::CommonPractice,
    applies: |facts| facts.hose(),
};

const LEGIONELLA: Caution = Caution {
    id: "legionella",
    subject: Subject::PeopleAndSite,
    short: "flush warm standing water",
    text: "Warm standing water in hoses and tanks can grow Legionella. Flush to the ground before use; do not let children drink or play \
           in mist from a hose that lay in the sun.",
    source: Source::FromMemory("health-agency advice on Legionella in garden hoses and stored water"),
    applies: |facts| facts.hose() || facts.warm_water(),
};

const DRINKING_FROM_HOSE: Caution = Caution {
    id: "drinking-from-hose",
    subject: Subject::PeopleAndSite,
    short: "do not drink from garden hoses",
    text: "Garden hoses and brass fittings may contain lead or plasticizers. Drink only from hoses marked for drinking water; parts on \
           the drinking side must be lead-free.",
    source: Source::FromMemory("NSF/ANSI 61 and 372"),
    applies: |facts| facts.hose(),
};

const SPRAY: Caution = Caution {
    id: "spray",
    subject: Subject::PeopleAndSite,
    short: "no spray on electrical boxes",
    text: "Do not water over electrical boxes, onto walks in frost, or into open vessels of drinking water.",
    source: Source::CommonPractice,
    applies: |facts| facts.spray(),
};

const DIGGING: Caution = Caution {
    id: "digging",
    subject: Subject::PeopleAndSite,
    short: "call before you dig (811 in the US)",
    text: "Call before you dig (811 in the US) several business days ahead, also for trenches of 6 in (150 mm). Mark private lines \
           yourself.",
    source: Source::CommonPractice,
    applies: |facts| facts.pipe(),
};

const FREEZING: Caution = Caution {
    id: "freezing",
    subject: Subject::PeopleAndSite,
    short: "drain before frost",
    text: "Before frost close the supply, drain hoses, pump, tank, filter and backflow device, and leave their drains open.",
    source: Source::CommonPractice,
    applies: |facts| facts.is_fed(),
};

const BLOW_OUT: Caution = Caution {
    id: "blow-out",
    subject: Subject::PeopleAndSite,
    short: "blow out PE at 50 psi at most, PVC at 80",
    text: "Blow out at no more than 50 psi, 3.4 bar (PE) or 80 psi, 5.5 bar (PVC), with eye protection, little air, one zone at a time and \
           the backflow device open. Never blow through the pump or the backflow device.",
    source: Source::CommonPractice,
    applies: |facts| facts.pipe(),
};

/// All cautions, by subject; within one the most severe first.
pub const ALL: &[Caution] = &[
    BARE_BOOSTER,
    BOOSTER_ON_MAIN,
    JOINED_SOURCES,
    CROSS_CONNECTION,
    FERTILIZER,
    VACUUM_BREAKER,
    CHECK_VALVE,
    STORED_WATER,
    METRIC_CODES,
    ELECTRICITY,
    RELIEF,
    PRESSURE_TANK,
    THERMAL_EXPANSION,
    HOSE_PRESSURE,
    HEAT,
    HOT_WATER,
    LEGIONELLA,
    DIGGING,
    DRINKING_FROM_HOSE,
    SPRAY,
    FREEZING,
    BLOW_OUT,
];
