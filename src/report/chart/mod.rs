//! Charts of tables: what stands on which axis, marks and bands, and from that the description of a figure.
//!
//! Drawing is the work of `crate::figure`; here columns of a table become its description.

mod drawing; // the columns of a chart, chosen and checked
mod error; // why a chart cannot be drawn
mod fan; // bands of percentiles over x
mod figure; // from a chart to the description of its figure
mod marks; // marks and bands in the units of the axes
mod options; // which options go with which kind of chart
mod panels; // one panel for each value of a column
mod pareto_front; // the line along points that no other beats
mod series; // lines, points and bars from columns
mod shades; // colors of values for the lines of a column of numbers
mod special; // histograms, boxes, tornados, heat maps
#[cfg(test)]
mod tests;
mod what; // what a chart shows

pub use error::ChartError;
pub use pareto_front::{Better, ParetoFront};
pub use what::{Chart, Style};

use crate::figure::{Figure, svg};
use crate::quantity::UnitSystem;
use drawing::Drawing;

impl Chart {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self, system: UnitSystem) -> Result<Figure, ChartError> {
        Drawing { chart: self, system }.figure()
    }

    /// The chart as SVG. Errors: columns that are missing or cannot be drawn.
    pub fn svg(&self, system: UnitSystem) -> Result<String, ChartError> {
        Ok(svg(&self.figure(system)?)?)
    }
}
