//! Descriptions of figures with a form of their own: waterfalls and strips over time.

use super::axis::{Axis, Mark, Ribbon, Series};

/// Steps from a first to a last value, for one or several things beside each other.
#[derive(Clone, Debug, PartialEq)]
pub struct Waterfall {
    /// Names of the rows, from top to bottom.
    pub names: Vec<String>,
    /// The steps of each thing.
    pub things: Vec<Falls>,
}

/// The steps of one thing, one for each row of a [`Waterfall`].
#[derive(Clone, Debug, PartialEq)]
pub struct Falls {
    /// What they are of; empty where there is one thing only.
    pub name: String,
    /// What stands in each row; nothing where the thing has no such step.
    pub rows: Vec<Option<Fall>>,
}

/// What stands in a row of a waterfall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fall {
    /// A value, as a bar from zero.
    Total(f64),
    /// A change from where the step before it ended.
    Change(f64),
}

/// Rows of on and off, events, and curves on axes of their own, all over the x axis of their figure.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strips {
    /// The rows, from top to bottom.
    pub rows: Vec<StripRow>,
    /// What happened at single moments, in their order.
    pub events: Vec<StripEvent>,
    /// The curves below the rows.
    pub panels: Vec<StripPanel>,
}

/// A row that shows when something is on.
#[derive(Clone, Debug, PartialEq)]
pub struct StripRow {
    /// What is on.
    pub name: String,
    /// When it is.
    pub spans: Vec<Span>,
    /// Its color, as the number of a series.
    pub color: usize,
}

/// From when to when something is on.
#[derive(Clone, Debug, PartialEq)]
pub struct Span {
    /// Start along x.
    pub from: f64,
    /// End along x.
    pub to: f64,
    /// How many times it goes on and off between them, where it does so too fast to be drawn; 1 for a span that is on throughout.
    pub times: usize,
}

/// Something at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct StripEvent {
    /// When along x.
    pub at: f64,
    /// What.
    pub label: String,
}

/// Curves on an axis of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct StripPanel {
    /// The upright axis.
    pub axis: Axis,
    /// The curves.
    pub series: Vec<Series>,
    /// Bands of the same series.
    pub ribbons: Vec<Ribbon>,
    /// Level marks.
    pub marks: Vec<Mark>,
}
