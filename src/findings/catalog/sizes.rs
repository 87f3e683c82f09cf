//! Values that no part of a garden has: most often a mistake in the unit or the decimal point.

use super::{Entry, Level, Source};

/// A parameter lies far outside what is sold or measured.
pub const UNLIKELY: Entry = Entry {
    code: "unlikely-value",
    level: Level::Warning,
    why: "a value that far from what is sold or measured is usually a mistake in the unit or the decimal point",
    what: "{parameter} of {part} is {value}; {low} to {high} is usual",
    action: "[did you mean {meant}? ]check the number and its unit",
    source: Source::CommonPractice,
};
/// Where only large values are slips.
pub const UNLIKELY_LARGE: Entry = Entry { what: "{parameter} of {part} is {value}; up to {high} is usual", ..UNLIKELY };

/// The entries of this file.
pub const ALL: &[Entry] = &[UNLIKELY, UNLIKELY_LARGE];
