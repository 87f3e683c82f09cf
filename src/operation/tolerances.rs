//! What counts as nothing, as near enough and as too much in a run over time: each number once, with its reason.
//!
//! What a solve counts as nothing is the business of `hydraulics`; bounds on the work of a run stand with the run.

pub use crate::hydraulics::NO_FLOW_M3_PER_S;

/// Moments that count as the same, s.
pub const SAME_MOMENT_S: f64 = 1e-9;
/// A check valve that passes less than this is closed, m3/s, where stores are in the network: a drop a minute. Between stores at rest
/// rounding drives as much.
pub const TRICKLE_M3_PER_S: f64 = 1e-9;
/// Flow through a running pump below which it counts as running against a closed line, m3/s: a cupful a minute.
pub const DEAD_HEAD_M3_PER_S: f64 = 4e-6;
/// Puts flows on the scale of pressures: a gauge of a flow is this times as large.
pub const FLOW_SCALE: f64 = 1e9;

/// A switch starts its pump this near to cut-in, Pa: water that rests exactly there must not fall to either side by rounding.
pub const STARTS_WITHIN_PA: f64 = 1e-4;
/// Pressure at the outlet of an open tank at which it counts as empty, Pa: a tenth of a millimeter of water.
pub const BARREL_EMPTY_PA: f64 = 1.0;
/// A tank this near to its rim counts as full, as a share of that.
pub const FULL: f64 = 1.0 - 1e-12;

/// Resistance that counts as none, Pa s2/m6: 0.1 Pa at 10 gpm.
pub const NO_RESISTANCE: f64 = 2.5e5;
/// Resistance so small that the pressures on both sides do not determine the flow, Pa s2/m6: 100 Pa at 10 gpm.
pub const HARDLY_ANY_RESISTANCE: f64 = 2.5e8;
/// Water in the line that is taken at least, m3: a liter.
pub const LEAST_WATER_M3: f64 = 1e-3;

/// Extremes of a pressure this near to each other are alike, Pa: the first is kept, for rounding must not choose the hour that is reported.
pub const ALIKE_WITHIN_PA: f64 = 1e-2;
/// A run ends this near to an equilibrium, Pa.
pub const SETTLED_WITHIN_PA: f64 = 1e-3;
/// Kinks of a curve are located to this, Pa.
pub const LOCATED_TO_PA: f64 = 1e-7;
/// No panel of a curve is narrower, Pa; one of less than twice this is taken as it is.
pub const LEAST_WIDTH_PA: f64 = 1e-6;
/// After this many breaks in a row, without a panel between, a state is taken to rest on them.
pub const MOST_BREAKS: usize = 50;
/// After this many they are stepped over, Pa at most: what is passed over holds less water than a rounding.
pub const FEW_BREAKS: i32 = 4;
pub const WIDEST_NUDGE_PA: f64 = 1e-2;
/// Most panels a curve may grow to; more mean laws that are not smooth anywhere.
pub const MOST_PANELS: usize = 5000;
/// Most tries for one panel, each half as wide as the one before or cut at a break.
pub const MOST_TRIES: usize = 200;
/// What a panel leaves of the way to an equilibrium: toward it time runs out of all bounds.
pub const LEFT_TO_ROOT: f64 = 0.2;
/// A flow that is still more than this share of its start right before it stops breaks off there.
pub const BREAKS_OFF: f64 = 1e-4;
/// Water in the gap between two panels that is not left out, m3.
pub const LEAST_GAP_M3: f64 = 1e-14;
/// Where a second's flow would change the pressure of a store by less than this, nothing moves, Pa: no pressure is reported that finely.
pub const NO_CHANGE_PA: f64 = 1e-13;
/// Water that storages which rest may lose while another one moves, m3.
pub const NO_WATER_M3: f64 = 1e-12;
/// A state at rest may move by this share and this much, Pa, until it stands; more is no rest.
pub const RESTS_WITHIN: f64 = 1e-6;
pub const RESTS_WITHIN_PA: f64 = 1.0;

/// A change on a step is located to this, s, or until the gauge is this far past it, Pa.
pub const LOCATED_TO_S: f64 = 1e-7;
pub const BEHIND_PA: f64 = 1e-4;
/// The same of a change that is only logged, s.
pub const LOGGED_TO_S: f64 = 1e-5;
