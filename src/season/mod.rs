//! The water of beds from day to day: what a season takes, and how long each zone must run this week.
//!
//! It joins weather, soil and crops; rates and uniformities come in as numbers, from the coverage of a zone or from cans. Depths are in
//! mm. It knows nothing of heads, pipes, scripts or pictures.
//!
//! - `bed`: a bed, a lawn or a pot with its crop, its soil and its water
//! - `parameters`: the numbers of a bed by their paths
//! - `plan`: the rule of watering, the days and hours that are allowed
//! - `balance`: the water of one bed, day by day; every day closes
//! - `run`: beds over the days of a weather
//! - `scenario`: what a season is computed from, every number by a path
//! - `years`: a season in every year of a weather
//! - `climate`: crop coefficients in the climate of a weather
//! - `barrel`: a rain barrel over a season
//! - `week`: depths, minutes, runs and pauses of the next days, and a schedule

mod balance;
mod barrel;
mod bed;
mod climate;
mod error;
mod parameters;
mod plan;
mod run;
mod scenario;
#[cfg(test)]
mod tests;
mod week;
mod years;

pub use balance::{BedDay, Totals, balance};
pub use barrel::{Barrel, BarrelDay, BarrelSeason, FIRST_FLUSH_MM, ROOF_SHARE};
pub use bed::{Bed, CountsOn, Water, share_counted_on};
pub use climate::in_climate_of;
pub use error::SeasonError;
pub use parameters::{PARAMETERS, Parameter};
pub use plan::{Plan, Rule};
pub use run::{BedSeason, Season, season, season_on};
pub use scenario::{Scenario, Setting, Target};
pub use week::{Job, Late, Watering, Week, Window, WindowEnd, week};
pub use years::Years;
