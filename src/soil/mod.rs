//! Soil and crops: how much water soil holds and how fast it takes it in, and what crops use of it from planting to harvest.
//!
//! Textures and crops are data with a source in each row, and every number of them can be set. Depths of water are in mm. It knows
//! nothing of weather, days of the calendar, heads, gardens or scripts.
//!
//! - `textures`, `crops`: the data
//! - `ground`: a soil with its numbers
//! - `plant`: a crop with its numbers, stages and roots
//! - `reservoir`: water within reach of roots, stress
//! - `intake`: how fast soil takes water in, and when it ponds
//! - `soak`: runs with pauses, so that a puddle never runs over
//! - `runoff`: rain that runs off, by curve number
//! - `monthly_rain`: what of the rain of a month plants can use, where no days are known

mod crops;
mod error;
mod ground;
mod intake;
mod monthly_rain;
mod plant;
mod reservoir;
mod runoff;
mod soak;
mod textures;

pub use crops::{CROPS, CropRow, Stages};
pub use error::SoilError;
pub use ground::{Soil, Tilth, intake_share_on_slope, puddle_by_slope_mm};
pub use intake::{Intake, front_rate_mm_per_h, front_time_h};
pub use monthly_rain::{effective_rain_of_month_mm, effective_rain_of_month_scs_mm};
pub use plant::{Climate, Crop, GARDEN_ROOTS_M, LAWN_ROOTS_M, Stage, middle_coefficient_in_climate};
pub use reservoir::{adjusted_share, stress};
pub use runoff::{COVERS, Cover, cover_number, curve_number_runoff_mm, rain_before_runoff_mm, retention_mm};
pub use soak::{Cycles, cycles};
pub use textures::{GREEN_AMPT_SOURCE, INTAKE_SOURCE, TEXTURES, Texture};
