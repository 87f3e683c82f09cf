//! How an error is told to people: its words, as it displays itself, and what to do about it.
//!
//! Knows no error; each implements it beside its words.

use std::error::Error;

/// An error for people: one fact without a full stop, and advice.
pub trait Told: Error {
    /// What to do about it; nothing where nothing can be done.
    fn hint(&self) -> Option<String> {
        None
    }

    /// What is wrong of all that was given: the name of the value, or a name in it. Nothing where it is all together.
    fn about(&self) -> Option<String> {
        None
    }
}
