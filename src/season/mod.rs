//! The water of beds from day to day: what a season takes, and how long each zone must run this week.
//!
//! It joins weather, soil and crops; rates and uniformities come in as numbers, from the coverage of a zone or from cans. Depths are in
//! mm. It knows nothing of heads, pipes, scripts or pictures.
//!
//! - `bed`: a bed, a lawn or a pot with its crop, its soil and its water
//! - `parameters`: the numbers of a bed by their paths
//! - `balance`: the water of one bed, day by day; every day closes
//! - `run`: beds over the days of a weather
//! - `tariff`: what the water of a garden adds to a bill
//! - `week`: depths, minutes, runs and pauses of the next days, and a schedule

mod balance;
mod bed;
mod error;
mod parameters;
mod run;
mod tariff;
#[cfg(test)]
mod tests;
mod week;

pub use balance::{BedDay, Rule, Totals, balance};
pub use bed::{Bed, CountsOn, Water, share_counted_on};
pub use error::SeasonError;
pub use parameters::{PARAMETERS, Parameter};
pub use run::{BedSeason, Plan, Season, season};
pub use tariff::{Block, Tariff};
pub use week::{Job, Watering, Week, week};
