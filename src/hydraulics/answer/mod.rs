//! What follows from a solved circuit: pressures everywhere, splits that nothing decides, and how readings change with its laws.
//!
//! It reads the state of a circuit and changes none of it; it knows laws, and no parts.

pub mod no_slope;
pub mod pressures;
pub mod probe;
pub mod slopes;
pub mod split;
mod tangent;
mod trace;
