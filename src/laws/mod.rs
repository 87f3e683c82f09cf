//! Formulas of hydraulics as plain functions, each with its source.
//!
//! No part, garden or solver is known here: these are the laws they are made of.

mod error;
pub mod fittings;
pub mod friction;
pub mod hazen_williams;
pub mod minor;
pub mod multiple_outlets;
pub mod nozzle;
pub mod npsh;
pub mod outlet_line;
pub mod pipe_sizes;
pub mod powers;
pub mod pump;
pub mod roughness;
pub mod section;
pub mod vessel;

pub use error::LawError;
