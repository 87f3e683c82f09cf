//! What water, power and equipment cost: water bills by blocks, electricity by the time of day, payback and present value.
//!
//! Money is a plain number beside the currency it is in; quantities come in with their prices and go out with results. It knows no gardens,
//! beds, logs, scripts or tables: volumes and times of running come in as numbers.
//!
//! - `amount`: amounts and differences of one currency
//! - `tariff`: prices of water by blocks of one bill, fixed charges, sewage
//! - `bills`: the bills of a house with and without its garden
//! - `electricity`: prices of power by the time of day
//! - `worth`: present value, rate of return, payback, equivalent yearly cost

mod amount;
mod bills;
mod electricity;
mod error;
mod tariff;
#[cfg(test)]
mod tests;
mod worth;

pub use amount::amount;
pub use bills::{Bill, Bills, House, MONTH_S};
pub use electricity::{Electricity, Peak};
pub use error::MoneyError;
pub use tariff::{BillingPeriod, Block, Sewage, Tariff};
pub use worth::{Payback, payback, present_value, rate_of_return, yearly_cost};
