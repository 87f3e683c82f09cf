//! One-page cards that stay at the garden: settings of the pump, watering by the timer, spring and fall, the parts list.
//!
//! Each becomes a `Sheet` of texts; `crate::figure` lays it out. Values show in US and metric units, those of the garden first.
//!
//! - `settings`: pressure switch, tank, relief, ratings, and what is checked when
//! - `watering`: what to set on the timer
//! - `seasons`: draining and blowing out in fall, starting in spring
//! - `parts`: what to buy, with sums
//! - `lines`: what all of them share, and a card as plain text

mod lines;
mod parts;
mod seasons;
mod settings;
#[cfg(test)]
mod tests;
mod watering;

pub use lines::in_words;
pub use parts::parts_card;
pub use seasons::seasons_card;
pub use settings::settings_card;
pub use watering::{WateringRow, rows_of_schedule, watering_card};
