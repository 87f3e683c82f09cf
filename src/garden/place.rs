//! A place: where a part of a garden sits.

use std::sync::Arc;

/// Where a part sits.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its name, given or generated, unique in the garden.
    pub name: Arc<str>,
    /// The node where water enters it.
    pub from: usize,
    /// The node where water leaves it; the same node for sources, outlets and parts at a point.
    pub to: usize,
}
