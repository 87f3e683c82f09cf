//! A column taken out of a table, to calculate with: each operation is one call of a kernel of the table library for all rows.
//!
//! A missing cell gives a missing result, and so does a row whose result is infinite or no number, such as a quotient by zero;
//! aggregates pass over missing cells.
//!
//! - `calculate`: arithmetic, comparisons, and, or, not
//! - `aggregate`: one value of a whole column, or of each group of rows
//! - `along`: sums, differences and means along the rows; missing cells

mod aggregate;
mod along;
mod calculate;

pub use aggregate::Aggregate;
pub use calculate::{Arithmetic, Comparison, Logic, Operand};

use super::build::frame_column;
use super::{Cell, Column, ColumnKind, Growing, Table, TableError};
use crate::limits;
use crate::moment::Moment;
use crate::quantity::Quantity;
use polars::prelude as pl;
use polars::prelude::{IntoSeries, NamedFrom};

/// A column of a table with its name, its unit and its values. It is cheap to copy.
#[derive(Clone, Debug)]
pub struct TableColumn {
    values: pl::Series,
    kind: ColumnKind,
}

/// Memory for a cell of a result.
const BYTES_OF_A_CELL: usize = 16;

impl TableColumn {
    /// The cells of a list; of no value at all they are plain numbers. Errors: cells of two kinds or dimensions.
    pub fn of_cells(name: &str, cells: impl IntoIterator<Item = Cell>) -> Result<TableColumn, TableError> {
        let mut growing = Growing::default();
        cells.into_iter().try_for_each(|cell| growing.add([(name, cell)]))?;
        let column = growing.into_columns()?.pop().unwrap_or_else(|| Column::numbers(name, []));
        TableColumn::of_column(&column)
    }

    /// Like [`TableColumn::of_cells`], with the kind of another column where no cell has a value.
    pub(super) fn of_cells_like(name: &str, cells: Vec<Cell>, like: &TableColumn) -> Result<TableColumn, TableError> {
        let made = TableColumn::of_cells(name, cells)?;
        if made.values.null_count() < made.len() || made.is_empty() {
            return Ok(made);
        }
        Ok(TableColumn { values: pl::Series::full_null(name.into(), made.len(), like.values.dtype()), kind: like.kind })
    }

    /// The values as the table library has them.
    pub(super) fn values(&self) -> &pl::Series {
        &self.values
    }

    /// That many cells from a row on.
    pub(super) fn part(&self, start: usize, len: usize) -> TableColumn {
        TableColumn { values: self.values.slice(start as i64, len), kind: self.kind }
    }

    /// The values of a column. Errors: the evaluation is to end.
    pub fn of_column(column: &Column) -> Result<TableColumn, TableError> {
        let values = frame_column(&column.name, &column.values)?;
        Ok(TableColumn { values: values.take_materialized_series(), kind: column.kind() })
    }

    /// The name of the column, or that of the first column it was computed from.
    pub fn name(&self) -> &str {
        self.values.name().as_str()
    }

    /// What it holds.
    pub fn kind(&self) -> ColumnKind {
        self.kind
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Number of cells that are not missing.
    pub fn n_values(&self) -> usize {
        self.values.len() - self.values.null_count()
    }

    /// True where it has no cell.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// The cell of a row; missing as well where there is no such row.
    pub fn cell(&self, row: usize) -> Cell {
        let cell = match self.kind {
            ColumnKind::Quantity { dimension, preference } => {
                let si = self.values.f64().ok().and_then(|numbers| numbers.get(row));
                si.map(|si| Cell::Quantity(Quantity { si, dimension, preference }))
            }
            ColumnKind::Text => self.values.str().ok().and_then(|texts| texts.get(row)).map(Cell::from),
            ColumnKind::Flag => self.values.bool().ok().and_then(|flags| flags.get(row)).map(Cell::Flag),
            ColumnKind::Date { clock } => {
                self.values.i64().ok().and_then(|dates| dates.get(row)).and_then(|ms| Moment::of_ms(ms, clock)).map(Cell::Date)
            }
        };
        cell.unwrap_or(Cell::Missing)
    }

    /// The cells from the first row to the last.
    pub fn cells(&self) -> impl Iterator<Item = Cell> + '_ {
        (0..self.len()).map(|row| self.cell(row))
    }

    /// The column in words, for messages: `column 'p' (a pressure)`.
    pub(super) fn described(&self) -> String {
        let held = match self.kind {
            ColumnKind::Quantity { dimension, .. } if !self.kind.is_clock() => dimension.to_string(),
            kind => kind.plural().to_string(),
        };
        format!("column '{}' ({held})", self.name())
    }

    /// The cells of these rows, which are there; nothing gives a missing one.
    pub(super) fn at(&self, rows: &[Option<pl::IdxSize>]) -> Result<TableColumn, TableError> {
        let rows = pl::IdxCa::new(pl::PlSmallStr::EMPTY, rows);
        Ok(TableColumn { values: self.values.take(&rows)?, kind: self.kind })
    }

    /// A column of what a law makes of each number.
    pub(super) fn each_number(&self, law: impl Fn(f64) -> f64 + Copy, kind: ColumnKind) -> Result<TableColumn, TableError> {
        self.room_for_result()?;
        Ok(TableColumn::of_numbers(pl::arity::unary_elementwise_values(self.values.f64()?, law), kind))
    }

    /// The numbers of a result, without those that are not finite.
    fn of_numbers(numbers: pl::Float64Chunked, kind: ColumnKind) -> TableColumn {
        let all_finite = |array: &[f64]| array.iter().fold(true, |finite, value| finite & value.is_finite());
        let is_fine = numbers.downcast_iter().all(|array| all_finite(array.values()));
        let finite = |value: Option<f64>| value.filter(|number| number.is_finite());
        let numbers = if is_fine { numbers } else { pl::arity::unary_elementwise(&numbers, finite) };
        TableColumn { values: numbers.into_series(), kind }
    }

    /// Errors: the evaluation is to end, or ends since that many cells do not fit.
    fn room_for_result(&self) -> Result<(), TableError> {
        Ok(limits::room_for(self.len().saturating_mul(BYTES_OF_A_CELL))?)
    }
}

impl Table {
    /// A column to calculate with. Errors: an unknown name comes with the nearest ones.
    pub fn series(&self, name: &str) -> Result<TableColumn, TableError> {
        Ok(self.column_in(self.place(name)?))
    }

    pub(super) fn column_in(&self, place: usize) -> TableColumn {
        TableColumn { values: self.frame.columns()[place].as_materialized_series().clone(), kind: self.kinds[place] }
    }

    /// The same table with one column more, or with the column of that name replaced where it stands.
    ///
    /// Errors: another number of rows, a blank name.
    pub fn with_series(&self, name: &str, series: &TableColumn) -> Result<Table, TableError> {
        self.with_column(name, pl::Column::from(series.values.clone()), series.kind)
    }

    /// A table of these columns under these names. Errors: those of [`Table::new`].
    pub fn of_series(columns: Vec<(String, TableColumn)>) -> Result<Table, TableError> {
        let mut columns = columns.into_iter();
        let (name, first) = columns.next().ok_or(TableError::NoColumns)?;
        let empty = Table::made(pl::DataFrame::empty_with_height(first.len()), Vec::new());
        let mut table = empty.with_series(&name, &first)?;
        for (name, series) in columns {
            if table.place(&name).is_ok() {
                return Err(TableError::RepeatedName { name: name.trim().to_string() });
            }
            table = table.with_series(&name, &series)?;
        }
        Ok(table)
    }

    /// The rows for which a column of flags is true; a missing flag counts as false. Errors: no flags, another number of rows.
    pub fn filter_by(&self, flags: &TableColumn) -> Result<Table, TableError> {
        if flags.kind != ColumnKind::Flag {
            return Err(TableError::NoFlags { found: flags.described() });
        }
        if flags.len() != self.rows() {
            return Err(TableError::MaskLength { found: flags.len(), expected: self.rows() });
        }
        let mask = flags.values.bool()?.clone();
        self.filtered(mask)
    }
}

#[cfg(test)]
mod tests;
