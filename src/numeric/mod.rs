//! General numerics that know nothing of water.

mod refined;

pub use refined::{Point, RefinedCurve};
