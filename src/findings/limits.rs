//! The thresholds of the findings, each with its source. Limits that belong to a part (ratings, needs, settings) are
//! parameters of that part and not here.

use super::catalog::Source;

use crate::parts::{Id, Kind};
use crate::quantity::{FOOT_M, GPM_M3_PER_S, INCH_M, PSI_PA};

/// A pressure this near to a limit of a head, as a share of the limit, is worth a note. Common practice, no source.
pub const NEAR_SHARE: f64 = 0.10;

/// Highest pressure of drip emitters and soakers whose own limit is not given, Pa: 30 psi. Common practice, no source.
pub const MOST_DRIP_PA: f64 = 30.0 * PSI_PA;

/// Share of the heads' water that may fall outside the bed: a quarter, as full circles at the edges of small beds lose about as
/// much. Common practice, no source.
pub const MOST_OFF_BED_SHARE: f64 = 0.25;

/// Velocity in a pipe above which friction and water hammer grow costly, m/s: 5 ft/s.
pub const FAST_IN_PIPE_M_PER_S: f64 = 5.0 * FOOT_M;
/// Source of [`FAST_IN_PIPE_M_PER_S`].
pub const FAST_IN_PIPE_SOURCE: Source =
    Source::Published("A. R. Jarrett, Water Management (2000), pp. 336-337: limit for plastic irrigation pipe");

/// The same of a garden hose, whose wall gives, m/s: 7 ft/s; a 5/8 in hose passes 5 ft/s with two small heads. Common practice, no source.
pub const FAST_IN_HOSE_M_PER_S: f64 = 7.0 * FOOT_M;

/// Speed above which water pipe in buildings is not designed, m/s: 8 ft/s.
pub const TOO_FAST_M_PER_S: f64 = 8.0 * FOOT_M;
/// Source of [`TOO_FAST_M_PER_S`].
pub const TOO_FAST_SOURCE: Source =
    Source::FromMemory("Copper Development Association, Copper Tube Handbook (A4015): limit for cold water in buildings");

pub use crate::parts::LEAST_TAP_PA;
/// Source of [`LEAST_TAP_PA`].
pub const LEAST_TAP_SOURCE: Source = Source::FromMemory(
    "Great Lakes-Upper Mississippi River Board, Recommended Standards for Water Works (2018), section 8.2.1: minimum in the main",
);

/// Highest static pressure at a tap without a pressure-reducing valve, Pa: 80 psi.
pub const MOST_STATIC_PA: f64 = 80.0 * PSI_PA;
/// Source of [`MOST_STATIC_PA`].
pub const MOST_STATIC_SOURCE: Source =
    Source::Published("Uniform Plumbing Code 608.2; International Residential Code 2021 P2903.3.1");

/// Flow over that of the bucket test beyond which the supply curve is a guess. Common practice, no source.
pub const BEYOND_TEST_SHARE: f64 = 1.5;

/// By how much a reading may be off the curve through several bucket tests, Pa: 3 psi, which a gauge to 100 psi of grade B may be
/// off near its ends.
pub const TESTS_APART_PA: f64 = 3.0 * PSI_PA;
/// Source of [`TESTS_APART_PA`].
pub const TESTS_APART_SOURCE: Source = Source::FromMemory("ASME B40.100, accuracy of gauges of grade B");

/// Suction head to be had above what the pump requires, m. Common practice, no source: half a meter or more.
pub const NPSH_MARGIN_M: f64 = 0.5;

/// Pressure at the inlet of a pump below which its lift is called too high where its own limit is not given, Pa: -7 psi, some
/// 15 ft of water. Common practice, no source.
pub const LOWEST_INLET_PA: f64 = -7.0 * PSI_PA;

pub use crate::operation::PRECHARGE_BELOW_CUT_IN_PA;
pub use crate::parts::USUAL_NPSH_M;

/// Cut-out is to lie this far below the dead-head pressure, Pa: 5 psi. Common practice, no source.
pub const DEAD_HEAD_MARGIN_PA: f64 = 5.0 * PSI_PA;

/// How far a garden gauge may be off, Pa: 3 psi. A switch that works by less than this may not work. Common practice, no source.
pub const GAUGE_MARGIN_PA: f64 = 3.0 * PSI_PA;

/// A relief valve is to be set this far above cut-out, Pa: 10 psi (10 to 30 psi is usual). Common practice, no source.
pub const RELIEF_ABOVE_CUT_OUT_PA: f64 = 10.0 * PSI_PA;

/// Starts in an hour that small motors stand: 6 to 20 by what is printed for them. From memory, see [`STARTS_SOURCE`].
pub const MOST_STARTS: usize = 20;
/// Starts in an hour from which one should ask whether the motor stands them. From memory, see [`STARTS_SOURCE`].
pub const MANY_STARTS: usize = 6;
/// Source of [`MOST_STARTS`] and [`MANY_STARTS`].
pub const STARTS_SOURCE: Source = Source::FromMemory("limits printed for small single-phase motors");

/// Shortest run of a small motor, s. Common practice, no source: a minute between start and stop.
pub const LEAST_RUN_S: f64 = 60.0;

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

/// Flow that nobody sees, m3/s: below a drop a minute.
pub const UNSEEN_M3_PER_S: f64 = 1e-10;

/// A value this near to its limit, as a share of it, is at the limit: settings on round numbers meet it but for rounding.
pub const AT_LIMIT: f64 = 1e-9;
