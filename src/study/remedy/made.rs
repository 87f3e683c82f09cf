//! A change that was made, and the names of what comes new.

use crate::garden::Garden;
use crate::parts::Part;

/// A change that was made.
pub(super) struct Made {
    pub garden: Garden,
    pub script: String,
    pub words: String,
    /// The valve of a zone that was split, and its new one.
    pub twin: Option<(String, String)>,
}

/// A part of the stock, as messages call it.
pub(super) fn called(stock: &[Part], at: usize) -> String {
    stock[at].title().replace('_', " ")
}
