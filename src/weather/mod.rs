//! Weather of a place: what an export of a weather service, a rain gauge or twelve monthly means give for each day, and the reference
//! evapotranspiration (ET0) from it.
//!
//! Texts come in, days come out; whatever is wrong with a line is reported with its number, and no value is guessed without a remark.
//! Depths are in mm (1 mm is one liter on a square meter), temperatures in degC, radiation in MJ/m2 a day, as in the paper that all of
//! this follows. It knows nothing of soil, crops, gardens, scripts, or where texts come from.
//!
//! - `evapotranspiration`: the formulas
//! - `day`: what is known of a day
//! - `heading`: what a heading of a column means
//! - `read`: the lines of a text as days
//! - `remark`: what a reader of weather must know
//! - `reference`: ET0 of a day, and how it was determined
//! - `sun`: sunrise and sunset on the clock
//! - `series`: weather from day to day, its gaps and its ET0
//! - `gauge`: rain from a bucket gauge

mod day;
mod error;
pub mod evapotranspiration;
mod gauge;
mod heading;
mod read;
mod reference;
mod remark;
mod series;
mod sun;
#[cfg(test)]
mod tests;

pub use day::{Day, Field};
pub use error::WeatherError;
pub use gauge::Gauge;
pub use reference::{Air, ClockZone, Et0, Humidity, Means, Method, Place, Settings, Sky, evapotranspiration_of};
pub use remark::Remark;
pub use series::{Course, CourseDay, LONGEST_GAP_DAYS, MethodTotal, Month, Weather};
pub use sun::{half_day_h, sunrise_and_sunset_s};
