//! Formulas of hydraulics as plain functions, each with its source.
//!
//! No part, garden or solver is known here: these are the laws they are made of.

pub mod friction;
