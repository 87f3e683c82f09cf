//! Rain on the ground: what heads throw where, how even it is, and how long it must last.
//!
//! It takes places, throws and flows of heads from a solution. It knows nothing of wind, slope, soil, crops or weather, nor of
//! scripts and pictures; emitters and soakers water a spot or a row, and are left out.
//!
//! - `uniformity`: uniformity of catches: CU, DU
//! - `falling`: the water of one head on a rectangle, exactly
//! - `spray`: one head, its sector of ground, and how its application rate falls with distance
//! - `zone`: which heads water the same bed
//! - `map`: all heads over a bed

mod falling;
mod map;
mod spray;
mod uniformity;
mod zone;

pub use map::{Bed, CountOn, Coverage, CoverageError, application_rate, run_time_s};
pub use spray::{Pattern, Spray, middle_of_arc_deg};
pub use uniformity::{Uniformity, christiansen_expected, low_quarter_expected};
pub use zone::middle_of_zone_m;
