//! The thresholds of the findings, each with its source. Limits that belong to a part (ratings, needs, settings) are
//! parameters of that part and not here.
//!
//! A [`Threshold`] is a matter of judgment: the owner of a garden may set another value by its name. What follows them are constants
//! of nature, slack for rounding, and what is sold.

use super::catalog::Source;
use super::phrase::Limit;
use crate::garden::{Accepted, Garden, HOUSE_PRESSURE as HOUSE_PRESSURE_NAME};
use crate::parts::{Id, Kind, LEAST_TAP_PA};
use crate::quantity::{DAY_S, Dimension, FOOT_M, GPM_M3_PER_S, INCH_M, MPH_M_PER_S, PSI_PA, Quantity, dim};

/// A threshold of findings that a study may set otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Threshold {
    /// Its name in scripts.
    pub name: &'static str,
    /// The usual value, SI.
    pub usual: f64,
    /// What it measures.
    pub dimension: Dimension,
    /// The unit in which the trade or its source gives it.
    pub unit: &'static str,
    /// What is judged by it.
    pub about: &'static str,
    /// Where the usual value comes from.
    pub source: Source,
}

impl Threshold {
    /// The value that holds for a garden, SI.
    pub fn of(&self, garden: &Garden) -> f64 {
        self.given_in(garden.accepted())
    }

    /// The value among what an owner decided, SI.
    pub fn given_in(&self, accepted: &Accepted) -> f64 {
        accepted.threshold(self.name).unwrap_or(self.usual)
    }

    /// The value that holds for a garden, to be shown; in another unit than that of its source it is round, and a document is quoted
    /// in brackets.
    pub fn limit(&self, garden: &Garden) -> Limit {
        let value = Quantity::new(self.of(garden), self.dimension);
        match self.source {
            Source::Published(_) | Source::FromMemory(_) if value.si == self.usual => Limit::published(value, self.unit),
            _ => Limit::of_practice(value, self.unit),
        }
    }

    const fn pressure(name: &'static str, psi: f64, about: &'static str, source: Source) -> Threshold {
        Threshold { name, usual: psi * PSI_PA, dimension: dim::PRESSURE, unit: "psi", about, source }
    }

    const fn number(name: &'static str, usual: f64, about: &'static str, source: Source) -> Threshold {
        Threshold { name, usual, dimension: dim::NUMBER, unit: "", about, source }
    }

    const fn speed(name: &'static str, ft_per_s: f64, about: &'static str, source: Source) -> Threshold {
        Threshold { name, usual: ft_per_s * FOOT_M, dimension: dim::SPEED, unit: "ft/s", about, source }
    }
}

const PRACTICE: Source = Source::CommonPractice;

/// Pressure at a public tap while water runs.
pub const HOUSE_PRESSURE: Threshold = Threshold {
    usual: LEAST_TAP_PA,
    ..Threshold::pressure(
        HOUSE_PRESSURE_NAME,
        20.0,
        "pressure to be left at a tap while water runs",
        Source::FromMemory(
            "Great Lakes-Upper Mississippi River Board, Recommended Standards for Water Works (2018), section 8.2.1: minimum in the main",
        ),
    )
};
/// Static pressure at a tap below which a house has little.
pub const LOW_STATIC: Threshold = Threshold::pressure(
    "low_static_pressure",
    40.0,
    "static pressure at a tap below which the house has little",
    Source::FromMemory("International Residential Code P2903.3: minimum static pressure where the main enters the building"),
);
/// Highest static pressure at a tap without a pressure-reducing valve.
pub const HIGH_STATIC: Threshold = Threshold::pressure(
    "high_static_pressure",
    80.0,
    "highest static pressure at a tap without a pressure-reducing valve",
    Source::Published("Uniform Plumbing Code 608.2; International Residential Code 2021 P2903.3.1"),
);
/// Inlet pressure at which a low-suction cut-off on a main stops a pump.
pub const LOW_SUCTION: Threshold = Threshold::pressure(
    "low_suction_cutoff",
    10.0,
    "inlet pressure at which a booster on a main has to stop",
    Source::FromMemory("Great Lakes-Upper Mississippi River Board, Recommended Standards for Water Works (2018), booster pumps"),
);
/// Pressure at the inlet of a pump below which its lift is called too high where its own limit is not given: some 15 ft of water.
pub const LOWEST_INLET: Threshold =
    Threshold::pressure("lowest_inlet", -7.0, "inlet pressure of a pump whose NPSH is not given", PRACTICE);
/// Suction head to be had above what the pump requires.
pub const NPSH_MARGIN: Threshold = Threshold {
    name: "npsh_margin",
    usual: 0.5,
    dimension: dim::LENGTH,
    unit: "m",
    about: "suction head above what a pump requires",
    source: PRACTICE,
};
/// Cut-out is to lie this far below the pressure at shut-off, at the lowest pressure of the main.
pub const SHUT_OFF_MARGIN: Threshold =
    Threshold::pressure("shut_off_margin", 5.0, "cut-out below the pressure at shut-off; 5 to 10 psi is usual", PRACTICE);
/// How far a garden gauge or a switch may be off. A switch that works by less than this may not work.
pub const GAUGE_MARGIN: Threshold =
    Threshold::pressure("gauge_margin", 3.0, "error of a gauge or a switch; 5 psi on a main that moves", PRACTICE);
/// A relief valve is to be set this far above cut-out.
pub const RELIEF_MARGIN: Threshold =
    Threshold::pressure("relief_margin", 10.0, "relief setting above cut-out; 15 to 25 psi is usual", PRACTICE);
/// A precharge may lie this far below what is right: 5 psi, and a fifth of it where that is less.
pub const PRECHARGE_LOW: Threshold =
    Threshold::pressure("precharge_low", 5.0, "precharge below what is right, which is 2 psi below cut-in", PRACTICE);
/// Starts in an hour for which a tank is designed.
pub const STARTS_PER_HOUR: Threshold =
    Threshold::number("starts_per_hour", 10.0, "starts in an hour by design, up to 1 hp; above that six tenths of it", STARTS);
/// Starts in an hour that a maker may allow.
pub const MOST_STARTS: Threshold =
    Threshold::number("most_starts_per_hour", 20.0, "starts in an hour that small motors tolerate at most", STARTS);
/// Starts in a day of a motor up to 3/4 hp.
pub const STARTS_PER_DAY: Threshold =
    Threshold::number("starts_per_day", 300.0, "starts in a day, up to 3/4 hp; from 1 hp a third of it", STARTS);
/// Shortest run of a small motor.
pub const LEAST_RUN: Threshold = Threshold {
    name: "shortest_run",
    usual: 60.0,
    dimension: dim::TIME,
    unit: "s",
    about: "shortest run of a motor up to 1 hp; above that twice as long",
    source: PRACTICE,
};
const STARTS: Source = Source::FromMemory("limits printed for small single-phase motors");

/// A pressure this near to a limit of a head, as a share of the limit, is worth a note.
pub const NEAR_RANGE: Threshold =
    Threshold::number("near_range", 0.10, "margin of a head to the ends of its operating range, as a share", PRACTICE);
/// Highest pressure of drip emitters and soakers whose own limit is not given.
pub const DRIP_PRESSURE: Threshold =
    Threshold::pressure("drip_pressure", 30.0, "highest pressure of drip parts whose range is not given", PRACTICE);
/// Openings an inch of a filter for drip.
pub const DRIP_MESH: Threshold = Threshold::number("drip_mesh", 150.0, "mesh of a filter upstream of drip parts", PRACTICE);
/// Difference of working pressures in a zone, as a share of their mean.
pub const ZONE_VARIATION: Threshold = Threshold::number(
    "zone_variation",
    0.20,
    "difference of working pressures in a zone, as a share of their mean",
    Source::Published("A. R. Jarrett, Water Management (2000), pp. 336-337: greatest pressure variation along a zone or lateral"),
);
/// Share of the heads' water that may fall outside the bed: as full circles at the edges of small beds lose about as much.
pub const OFF_BED: Threshold = Threshold::number("overspray", 0.25, "share of the water that may fall outside the bed", PRACTICE);
/// DU (low quarter) below which water is called uneven.
pub const LEAST_DU: Threshold = Threshold::number("least_du", 0.6, "DU (low quarter) below which water is uneven", PRACTICE);
/// Water that may miss the bed in wind beyond what misses it in calm air.
pub const BLOWN: Threshold =
    Threshold::number("blown_off", 0.1, "share of the water that wind may carry off the bed, beyond that of calm air", PRACTICE);
/// Share of the least pressure with a measured throw below which a stream may fall as a ring.
pub const RING: Threshold = Threshold::number(
    "ring",
    0.8,
    "pressure of a head over the least with a measured throw, below which it may throw a ring",
    PRACTICE,
);
/// A head reaches its neighbor when it throws this share of the distance: circles that meet but for rounding and a few inches of hose.
pub const REACH: Threshold =
    Threshold::number("head_to_head", 0.97, "throw of a head over the distance to its nearest neighbor", PRACTICE);
/// The highest rate less the lowest one of the heads on one valve, over their mean: 15 % on both sides of it.
pub const UNMATCHED: Threshold =
    Threshold::number("unmatched", 0.3, "difference of application rates of heads on one valve, over their mean", PRACTICE);
/// Flow below which a regulator does not hold its pressure well.
pub const REGULATOR_FLOW: Threshold = Threshold {
    name: "regulator_flow",
    usual: 0.1 * GPM_M3_PER_S,
    dimension: dim::FLOW,
    unit: "gpm",
    about: "flow below which a regulator creeps",
    source: PRACTICE,
};
/// How far a head may lie below the highest point of its lateral before water drains through it.
pub const DRAINAGE_HEIGHT: Threshold = Threshold {
    name: "drainage_height",
    usual: FOOT_M,
    dimension: dim::LENGTH,
    unit: "ft",
    about: "height of a lateral above its lowest head",
    source: PRACTICE,
};
/// A run is to last this many times as long as the filling of a line that drains.
pub const FILL_TIMES: Threshold =
    Threshold::number("fill_times", 5.0, "run time over the time to fill a lateral that drains", PRACTICE);
/// Pressure in a line whose check valve must open by little.
pub const WEAK_LINE: Threshold = Threshold::pressure("weak_line", 3.0, "pressure at which a spring check may not open", PRACTICE);

/// Velocity in a pipe above which friction and water hammer grow costly.
pub const FAST_IN_PIPE: Threshold = Threshold::speed(
    "pipe_velocity",
    5.0,
    "velocity in a pipe",
    Source::Published("A. R. Jarrett, Water Management (2000), pp. 336-337: limit for plastic irrigation pipe"),
);
/// The same of a garden hose, whose wall gives; a 5/8 in hose passes 5 ft/s with two small heads.
pub const FAST_IN_HOSE: Threshold = Threshold::speed("hose_velocity", 7.0, "velocity in a hose", PRACTICE);
/// Speed above which water pipe in buildings is not designed.
pub const TOO_FAST: Threshold = Threshold::speed(
    "excessive_velocity",
    8.0,
    "velocity in any line",
    Source::FromMemory("Copper Development Association, Copper Tube Handbook (A4015): limit for cold water in buildings"),
);
/// Friction loss of a hose as a share of static pressure.
pub const HOSE_FRICTION: Threshold =
    Threshold::number("hose_friction", 0.20, "friction loss of a hose, as a share of static pressure", PRACTICE);

/// Share of the rating of a hose that it may be at.
pub const HOSE_RATING: Threshold =
    Threshold::number("hose_rating", 0.80, "pressure of a hose as a share of its rating; half in the sun", PRACTICE);
/// Share of the class of a pipe that it may be at.
pub const PIPE_RATING: Threshold = Threshold::number(
    "pipe_rating",
    0.72,
    "pressure of a pipe as a share of its rating",
    Source::FromMemory("ASABE S376 and NRCS Conservation Practice Standard 430: at most 72 % of the pressure class of PVC pipe"),
);
/// Share of its rating at which a hose must not be left.
pub const HOSE_LEFT: Threshold =
    Threshold::number("hose_left", 0.60, "pressure of a hose between waterings, as a share of its rating", PRACTICE);
/// Rating of a hose timer.
pub const TIMER_RATING: Threshold =
    Threshold::pressure("timer_rating", 120.0, "rating of a valve or timer that does not give one", PRACTICE);

/// Flow over that of the bucket test beyond which the supply curve is a guess: the drop of pressure goes with the square.
pub const BEYOND_TEST: Threshold =
    Threshold::number("bucket_test", 1.2, "flow of a supply over that of its bucket test", PRACTICE);
/// By how much a reading may be off the curve through several bucket tests.
pub const TESTS_APART: Threshold = Threshold::pressure(
    "bucket_tests_apart",
    3.0,
    "a reading off the curve through several bucket tests",
    Source::FromMemory("ASME B40.100, accuracy of gauges of grade B: 3 psi near the ends of a gauge to 100 psi"),
);
/// Share of the rated flow of a meter.
pub const METER_FLOW: Threshold =
    Threshold::number("meter_flow", 0.75, "flow through a meter, as a share of its rated flow", PRACTICE);
/// What a backflow preventer of unknown type may lose: 2 to 12 psi.
pub const PREVENTER_LOSS: Threshold =
    Threshold::pressure("preventer_loss", 12.0, "loss of a backflow preventer whose type is not given", PRACTICE);
/// Water above a breaker on a hose bibb that it stands.
pub const HOSE_BREAKER_HEIGHT: Threshold = Threshold {
    name: "hose_breaker_height",
    usual: 10.0 * FOOT_M,
    dimension: dim::LENGTH,
    unit: "ft",
    about: "height of an outlet above a vacuum breaker on a hose bibb",
    source: Source::FromMemory("ASSE 1011, hose connection vacuum breakers: low-head backpressure"),
};

/// All thresholds, in the order in which help lists them.
pub const ALL: &[Threshold] = &[
    HOUSE_PRESSURE,
    LOW_STATIC,
    HIGH_STATIC,
    BEYOND_TEST,
    TESTS_APART,
    METER_FLOW,
    PREVENTER_LOSS,
    HOSE_BREAKER_HEIGHT,
    LOW_SUCTION,
    LOWEST_INLET,
    NPSH_MARGIN,
    SHUT_OFF_MARGIN,
    GAUGE_MARGIN,
    RELIEF_MARGIN,
    PRECHARGE_LOW,
    STARTS_PER_HOUR,
    MOST_STARTS,
    STARTS_PER_DAY,
    LEAST_RUN,
    FAST_IN_HOSE,
    FAST_IN_PIPE,
    TOO_FAST,
    HOSE_FRICTION,
    HOSE_RATING,
    PIPE_RATING,
    HOSE_LEFT,
    TIMER_RATING,
    NEAR_RANGE,
    DRIP_PRESSURE,
    DRIP_MESH,
    ZONE_VARIATION,
    OFF_BED,
    LEAST_DU,
    BLOWN,
    RING,
    REACH,
    UNMATCHED,
    REGULATOR_FLOW,
    DRAINAGE_HEIGHT,
    FILL_TIMES,
    WEAK_LINE,
];

pub use crate::operation::PRECHARGE_BELOW_CUT_IN_PA;
pub use crate::parts::USUAL_NPSH_M;

/// Share of the right precharge below which it is too low, where that is less than [`PRECHARGE_LOW`]: a fifth. Common practice, no
/// source.
pub const PRECHARGE_LOW_SHARE: f64 = 0.2;

/// Electrical power of a motor of 1 hp, W, from which fewer starts are right: 746 W of shaft power at 68 %. Common practice, no source.
pub const HORSEPOWER_INPUT_W: f64 = 1100.0;
/// Starts in an hour above 1 hp, as a share of [`STARTS_PER_HOUR`]: 6 of 10. From memory, see there.
pub const FEWER_STARTS_PER_HOUR: f64 = 0.6;
/// Starts in a day from 1 hp on, as a share of [`STARTS_PER_DAY`]: 100 of 300. From memory, see there.
pub const FEWER_STARTS_PER_DAY: f64 = 1.0 / 3.0;
/// How much longer a motor above 1 hp has to run: 2 minutes. Common practice, no source.
pub const LONGER_RUN: f64 = 2.0;
/// The span of starts per day, s.
pub const STARTS_SPAN_S: f64 = DAY_S;

/// Rise of temperature of a hose that the sun gets to, K: 40 degF. Common practice, no source.
pub const SUN_RISE_K: f64 = 40.0 / 1.8;
/// Pressure below which a hose may be left under it, Pa: 15 psi, as of a tank on a stand. Common practice, no source.
pub const HOSE_AT_EASE_PA: f64 = 15.0 * PSI_PA;

/// Water inside a small garden pump, m3: a liter. Common practice, no source; casings hold from a half to two liters.
pub const PUMP_WATER_M3: f64 = 1e-3;

/// Temperature at which water trapped in a pump is too hot, K: 60 degC, where plastic parts soften and water scalds.
/// Common practice, no source.
pub const HOT_WATER_K: f64 = 333.15;

/// Temperature at which water boils under usual atmospheric pressure, K.
pub const BOILING_WATER_K: f64 = 373.15;

/// Electrical power of a motor whose start an ordinary garden circuit may not stand, W: 1 kW. Common practice, no source.
pub const BIG_MOTOR_W: f64 = 1000.0;

/// What a parameter is in gardens, SI, from the least to the most that is sold or measured; far wider than what is sensible, so that
/// only mistakes in the unit or the decimal point lie outside. Common practice, no source.
#[derive(Clone, Copy, Debug)]
pub struct Usual {
    /// The kind of part.
    pub kind: Kind,
    /// The parameter.
    pub id: Id,
    /// The least, SI; zero where a small value is no slip.
    pub low: f64,
    /// The most, SI.
    pub high: f64,
    /// The unit in which the trade gives the two.
    pub unit: &'static str,
}

/// The usual sizes: hose of micro tubing up to lay-flat hose; nozzles up to those of large rotors; mains; taps of houses.
pub const USUAL: &[Usual] = &[
    Usual { kind: Kind::Hose, id: Id::Diameter, low: 0.1 * INCH_M, high: 3.0 * INCH_M, unit: "in" },
    Usual { kind: Kind::Hose, id: Id::Length, low: 0.0, high: 6000.0 * FOOT_M, unit: "ft" },
    Usual { kind: Kind::Pipe, id: Id::Diameter, low: 0.1 * INCH_M, high: 6.0 * INCH_M, unit: "in" },
    Usual { kind: Kind::Pipe, id: Id::Length, low: 0.0, high: 12_000.0 * FOOT_M, unit: "ft" },
    Usual { kind: Kind::Head, id: Id::Nozzle, low: 0.02 * INCH_M, high: INCH_M, unit: "in" },
    Usual { kind: Kind::Head, id: Id::Radius, low: FOOT_M, high: 160.0 * FOOT_M, unit: "ft" },
    Usual { kind: Kind::Supply, id: Id::StaticPressure, low: 3.0 * PSI_PA, high: 200.0 * PSI_PA, unit: "psi" },
    Usual { kind: Kind::Supply, id: Id::MeasuredFlow, low: 0.2 * GPM_M3_PER_S, high: 40.0 * GPM_M3_PER_S, unit: "gpm" },
    Usual { kind: Kind::PressureSwitch, id: Id::CutIn, low: 3.0 * PSI_PA, high: 150.0 * PSI_PA, unit: "psi" },
    Usual { kind: Kind::PressureSwitch, id: Id::CutOut, low: 5.0 * PSI_PA, high: 200.0 * PSI_PA, unit: "psi" },
    Usual { kind: Kind::Uphill, id: Id::Height, low: 0.0, high: 300.0 * FOOT_M, unit: "ft" },
    Usual { kind: Kind::Downhill, id: Id::Height, low: 0.0, high: 300.0 * FOOT_M, unit: "ft" },
];

/// Speeds of wind (m/s, mph) with the most distance between heads as a share of their diameter; above the last one 30 %.
pub const SPACING_IN_WIND: [(f64, f64); 2] = [(5.0 * MPH_M_PER_S, 0.6), (10.0 * MPH_M_PER_S, 0.5)];
/// The share above the last of these speeds.
pub const SPACING_IN_STRONG_WIND: f64 = 0.3;

/// Cans of a test at least. Common practice, no source; a multiple of four.
pub const LEAST_CANS: usize = 16;
/// A mean of cans is to be known to this share. Common practice, no source.
pub const MOST_BAND: f64 = 0.25;
/// Wind above which catch-can tests are not made, m/s: 5 mph (New Mexico State University Extension, Guide H-510).
pub const MOST_TEST_WIND_M_PER_S: f64 = 5.0 * MPH_M_PER_S;
/// Mean depth of a catch below which it is hard to read, m: 3 mm. Common practice, no source.
pub const LEAST_CATCH_M: f64 = 3e-3;

/// Flow that nobody sees, m3/s: below a drop a minute.
pub const UNSEEN_M3_PER_S: f64 = 1e-10;

/// A value this near to its limit, as a share of it, is at the limit: settings on round numbers meet it but for rounding.
pub const AT_LIMIT: f64 = 1e-9;
