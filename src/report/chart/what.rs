//! What a chart shows, as it was said.

use super::pareto_front::ParetoFront;
use crate::figure::CurveStyle;
use crate::quantity::Quantity;
use crate::table::Table;

/// A chart in the making.
#[derive(Clone, Debug)]
pub struct Chart {
    /// The table whose columns are shown.
    pub table: Table,
    /// The column along x; nothing where none was named.
    pub x: Option<String>,
    /// The columns on the y axis, in the order in which they were named.
    pub y: Vec<String>,
    /// The column by which lines or bars differ.
    pub by: Option<String>,
    /// Values with their labels.
    pub marks: Vec<(Quantity, String)>,
    /// Printed above the figure and read aloud by screen readers.
    pub title: Option<String>,
    /// The kind of figure; nothing where it follows from the columns.
    pub style: Option<Style>,
    /// Width and height, pixels.
    pub size: Option<(u32, u32)>,
    /// Rows below the curves, each with the starts and ends along x.
    pub bands: Vec<(String, Vec<(Quantity, Quantity)>)>,
    /// The column whose bars reach down from above.
    pub above: Option<String>,
    /// Which ends are the better ones, where the front of a trade-off is to be drawn.
    pub front: Option<ParetoFront>,
    /// The column of the names at the points.
    pub names: Option<String>,
    /// Sentences below the figure.
    pub caption: Option<String>,
    /// The ends of the axis of the column on x.
    pub x_limits: Option<(Quantity, Quantity)>,
    /// The ends of the axis of the columns on y.
    pub y_limits: Option<(Quantity, Quantity)>,
    /// Whether equal ratios are equally far apart along x.
    pub x_log: bool,
    /// The same along y.
    pub y_log: bool,
    /// Whether bands of percentiles are drawn over x.
    pub fan: bool,
    /// Whether the line is drawn on which x and y are equal.
    pub equality: bool,
    /// The column of whose values each has a panel.
    pub panels: Option<String>,
    /// Pixels of a picture each way for one of the size.
    pub pixel_ratio: Option<u32>,
    /// Whether pictures and documents are drawn on dark paper.
    pub dark: bool,
}

/// The kind of figure that a chart is.
#[derive(Clone, Debug)]
pub enum Style {
    /// Points, lines or steps over an axis of numbers.
    Curves(CurveStyle),
    /// Bars over an axis of names.
    Bars,
    /// How often values of one column fall into each step.
    Histogram,
    /// The share of the values at or below each value.
    Ecdf,
    /// Least, quartiles and greatest of each name.
    Boxes,
    /// The column of the colors.
    Heat(String),
    /// The value of today.
    Tornado(Quantity),
}

impl Chart {
    /// A chart of a table of which nothing is said yet.
    pub fn of(table: Table) -> Chart {
        Chart {
            table,
            x: None,
            y: Vec::new(),
            by: None,
            marks: Vec::new(),
            title: None,
            style: None,
            size: None,
            bands: Vec::new(),
            above: None,
            front: None,
            names: None,
            caption: None,
            x_limits: None,
            y_limits: None,
            x_log: false,
            y_log: false,
            fan: false,
            equality: false,
            panels: None,
            pixel_ratio: None,
            dark: false,
        }
    }

    /// The chart of a table that the word `tornado` made, where it is not said what stands where.
    pub(super) fn of_a_tornado(&self) -> Option<Chart> {
        let known = self.table.names();
        let has = |name: &str| known.iter().any(|known| known == name);
        let silent = self.x.is_none() && self.y.is_empty() && ["parameter", "at_low", "at_high"].into_iter().all(has);
        silent.then(|| Chart { x: Some("parameter".into()), y: vec!["at_low".into(), "at_high".into()], ..self.clone() })
    }

    /// The chart in a line.
    pub fn in_words(&self) -> String {
        let x = self.x.as_deref().unwrap_or("?");
        let y = if self.y.is_empty() { "?".to_string() } else { self.y.join(", ") };
        format!("a chart of {y} over {x}; .save(\"name.svg\") draws it")
    }
}
