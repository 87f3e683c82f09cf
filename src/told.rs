//! The texts of an error for people: the message, as it displays itself, and what to do about it, in the units of the reader.
//!
//! Errors carry values; they become text here, at the edge. Knows no error; each implements the trait next to its message.

use crate::unit_system::{UnitSystem, told_in};
use std::error::Error;

/// An error for people: one fact without a full stop, and advice.
pub trait Told: Error {
    /// What to do about it; nothing where nothing can be done. Examples in it are chosen by [`example`](crate::unit_system::example).
    fn hint(&self) -> Option<String> {
        None
    }

    /// What is wrong of all that was given: the name of the value, or a name in it. Nothing where it is all together.
    fn about(&self) -> Option<String> {
        None
    }

    /// What is wrong, its values in these units.
    fn words(&self, system: UnitSystem) -> String {
        told_in(system, || self.to_string())
    }

    /// What to do about it, its examples in these units.
    fn advice(&self, system: UnitSystem) -> Option<String> {
        told_in(system, || self.hint())
    }
}
