//! What the values of a column look like, and what the ending of a file name says.

use crate::limits;
use std::path::Path;

/// What the values of a column look like when their heading does not say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Guess {
    Numbers,
    Flags,
    Texts,
}

/// What texts would be taken for; no texts at all look like numbers.
pub(super) fn guess<'a>(texts: impl Iterator<Item = &'a str> + Clone) -> Guess {
    let mut given = texts.filter(|text| !text.trim().is_empty());
    if given.clone().all(|text| !limits::ended() && plain_number(text).is_some()) {
        return Guess::Numbers;
    }
    if given.all(|text| matches!(text.trim(), "true" | "false")) { Guess::Flags } else { Guess::Texts }
}

/// The part of a file name after its last point, in lower case.
pub(super) fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// A finite decimal number.
pub(super) fn plain_number(text: &str) -> Option<f64> {
    text.trim().parse().ok().and_then(finite)
}

pub(super) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
