//! Rain on the ground: what heads throw where, how even it is, and how long it must last.
//!
//! It takes places, throws and flows of heads from a solution. It knows nothing of wind, slope, soil, crops or weather, nor of
//! scripts and pictures; emitters and soakers water a spot or a row, and are left out.
//!
//! - `evenness`: what catches say of themselves
//! - `falling`: the water of one head on a rectangle, exactly
//! - `spray`: one head, its sector of ground, and how its rain thins out
//! - `zone`: which heads water the same bed
//! - `rain`: all heads over a bed

mod evenness;
mod falling;
mod map;
mod spray;
mod zone;

pub use evenness::{Evenness, christiansen_expected, low_quarter_expected};
pub use map::{Bed, CountOn, Coverage, CoverageError, application_rate, run_time_s};
pub use spray::{Pattern, Spray, middle_of_arc_deg};
pub use zone::middle_of_zone_m;
