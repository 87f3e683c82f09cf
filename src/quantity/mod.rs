//! Quantities: a number with a dimension, the units people write them in, and how they are read and shown.
//!
//! Inside the program every number is SI; this room is where numbers come in from people and go out to people.
//! Pressures are gauge (above the atmosphere) throughout. The gallon is the US gallon unless `imperial` is said.
//!
//! It knows nothing of water, parts or scripts.

mod currency;
mod digits;
mod dimension;
mod find;
mod money;
mod rate;
mod read;
mod show;
mod unit;
mod value;

pub use crate::unit_system::UnitSystem;
pub use currency::Currency;
pub use digits::{GIVEN_DIGITS, Precision, ends_within};
pub use dimension::{Dimension, dim};
pub use find::{all_units, find_unit, nearest_unit_names, nearest_units, unit_for, unit_for_size};
pub use money::money_units;
pub use rate::{Rate, RateError};
pub use read::{ReadError, read_quantity};
pub use show::{inch_fraction, show_fraction, show_in, show_number, show_number_with, with_commas};
pub use unit::{
    DAY_S, FOOT_M, GALLON_M3, GPM_M3_PER_S, INCH_M, MPH_M_PER_S, PSI_PA, STANDARD_ATMOSPHERE_PA, STANDARD_GRAVITY_M_PER_S2,
    ZERO_CELSIUS_K,
};
pub use unit::{UNITS, Unit};
pub use value::{Preference, Quantity, QuantityError, close, finite, operand};
