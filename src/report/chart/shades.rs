//! Colors for lines that differ by a column of numbers: from sand for the lowest to blue for the highest.

use super::ChartError;
use super::drawing::Drawing;
use crate::figure::Shades;
use crate::table::Cell;

/// Fewer lines than this have colors of their own, which differ more.
const FEWEST: usize = 5;

impl Drawing<'_> {
    /// The values that color the series; none where they differ by texts, by several columns, or are few. Errors: an unknown column.
    pub fn shades(&self) -> Result<Option<Shades>, ChartError> {
        let Some(by) = &self.chart.by else { return Ok(None) };
        let kind = self.chart.table.column(by)?.kind();
        if self.chart.y.len() != 1 || !kind.is_numeric() {
            return Ok(None);
        }
        let groups = self.chart.table.group_by(by)?;
        let value = |(key, _): &(Cell, _)| match key {
            Cell::Quantity(value) => kind.shown_value(value.si, self.system),
            _ => f64::NAN,
        };
        let values: Vec<f64> = groups.iter().map(value).collect();
        Ok((values.len() >= FEWEST).then(|| Shades { axis: self.axis(by, kind), values }))
    }
}
