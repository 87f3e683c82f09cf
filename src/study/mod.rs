//! Studies: one garden and many cases of it; what a number must be; tables of answers.
//!
//! All native: no script engine is known here. Closures of scripts come in as plain functions.

mod axes;
pub mod fit;
mod levers;
mod operation;
mod seek;
mod sweep;

pub use axes::{Axes, Axis, AxisError, AxisValues, steps};
pub use fit::{Fit, FitError, Measurement, fit};
pub use levers::{Lever, LeverError, Levers, levers};
pub use operation::{sweep_operation, try_faults};
pub use seek::{SeekError, Sought, seek};
pub use sweep::{SweepError, SweepOptions, sweep};
