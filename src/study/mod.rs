//! Studies: one garden and many cases of it; what a number must be; tables of answers.
//!
//! All native: no script engine is known here. Closures of scripts come in as plain functions.

mod axes;
mod seek;
mod sweep;

pub use axes::{Axes, Axis, AxisError, AxisValues, steps};
pub use seek::{SeekError, Sought, seek};
pub use sweep::{SweepError, SweepOptions, sweep};
