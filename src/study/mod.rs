//! Studies: one garden and many cases of it; what a number must be; tables of answers.
//!
//! All native: no script engine is known here. Closures of scripts come in as plain functions.

mod axes;
mod axis;
pub mod crew;
mod draws;
pub mod fit;
mod levers;
mod seek;
mod sweep;

pub use axes::Axes;
pub use axis::{Axis, AxisError, AxisValues, steps};
pub use draws::{Distribution, DistributionError, Samples, Spreading, standard_normal};
pub use fit::{Fit, FitError, Measurement, fit};
pub use levers::{Lever, LeverError, Levers, levers};
pub use seek::{SeekError, Sought, seek};
pub use sweep::{BLOCK, Plan, SweepError, SweepOptions, Swept, axis_columns, check_size, sweep, sweep_to};
