//! Rain on the ground: what heads throw where, in calm air and in wind, how even it is, and how long it must last.
//!
//! It takes places, throws, pressures and flows of heads from a solution, and what runs when from a schedule. It knows nothing of slope,
//! soil, crops or weather, nor of scripts and pictures; emitters and soakers water a spot or a row, and are left out.
//!
//! - `uniformity`: uniformity of catches: CU, DU
//! - `ground`: beds of any outline, and what takes no water on them
//! - `falling`: the water of one head on a rectangle or an outline in calm air, exactly
//! - `spray`: one head, its sector of ground, and how its application rate falls with distance
//! - `flight`: the flight of a drop with the drag of a sphere
//! - `wind`: where wind takes the water of one head
//! - `raster`: water that is even over triangles, on the cells of a grid
//! - `zone`: which heads water the same bed
//! - `map`: all heads over a bed
//! - `depth`: several zones over a schedule
//! - `cans`: a catch-can test, alone and beside the computation

mod cans;
mod depth;
mod falling;
mod flight;
mod ground;
mod map;
mod raster;
mod spray;
mod uniformity;
mod wind;
mod zone;

pub use cans::{CanError, CatchCans, Compared, Comparison};
pub use depth::{Depth, DepthError, Together};
pub use flight::{Landing, Launch, USUAL_ANGLE_DEG, jet_m_per_s, sphere_drag, terminal_speed_m_per_s};
pub use ground::{Bed, Ground, GroundError, Outline};
pub use map::{CountOn, Coverage, CoverageError, Grid, HeadState, application_rate, run_time_s};
pub use spray::{Pattern, Profile, Spray, USUAL_RISER_M, middle_of_arc_deg};
pub use uniformity::{LowQuarter, Uniformity, christiansen_expected, driest_window, low_quarter_expected};
pub use wind::{Drift, Wind};
pub use zone::middle_of_zone_m;
