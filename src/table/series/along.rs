//! Along the rows of a column: running sums, differences, moving means; and cells that are missing.

use super::{Arithmetic, Operand, TableColumn};
use crate::table::{Cell, ColumnKind, TableError};
use polars::prelude as pl;
use polars::prelude::IntoSeries;
use std::collections::VecDeque;

/// A sum that keeps the digits which a plain one loses. Source: Neumaier, ZAMM 54 (1974), the improved Kahan-Babuska algorithm.
#[derive(Default)]
struct Sum {
    sum: f64,
    lost: f64,
}

impl Sum {
    fn add(&mut self, value: f64) {
        let sum = self.sum + value;
        self.lost += if self.sum.abs() >= value.abs() { (self.sum - sum) + value } else { (value - sum) + self.sum };
        self.sum = sum;
    }

    fn value(&self) -> f64 {
        self.sum + self.lost
    }
}

impl TableColumn {
    /// The sum of each row and all rows before it; a missing cell stays missing and is passed over.
    ///
    /// Errors: no numbers, readings of a thermometer.
    pub fn cumulative_sum(&self) -> Result<TableColumn, TableError> {
        self.numbers("cumulative_sum")?;
        self.summable()?;
        let mut sum = Sum::default();
        let kind = match self.kind {
            ColumnKind::Quantity { dimension, preference } => {
                ColumnKind::Quantity { dimension, preference: preference.of_length() }
            }
            other => other,
        };
        self.along(kind, |value| {
            value.map(|value| {
                sum.add(value);
                sum.value()
            })
        })
    }

    /// Each row less the row before it; the first is missing. Errors: no numbers.
    pub fn difference(&self) -> Result<TableColumn, TableError> {
        self.numbers("diff")?;
        let side = Operand::Column(self.clone());
        let kind = Arithmetic::Minus.kind(&side, &side)?;
        let mut before: Option<f64> = None;
        self.along(kind, |value| {
            let difference = value.zip(before).map(|(value, before)| value - before);
            before = value;
            difference
        })
    }

    /// The mean of each row and the rows before it, `n` together; missing until there are `n`. Missing cells are passed over.
    ///
    /// Errors: no numbers, no rows at a time.
    pub fn rolling_mean(&self, n: usize) -> Result<TableColumn, TableError> {
        self.numbers("rolling_mean")?;
        if n == 0 {
            return Err(TableError::NoWindow);
        }
        let mut window: VecDeque<Option<f64>> = VecDeque::new();
        let (mut sum, mut count) = (Sum::default(), 0usize);
        self.along(self.kind, |value| {
            window.push_back(value);
            if let Some(value) = value {
                sum.add(value);
                count += 1;
            }
            if window.len() > n
                && let Some(gone) = window.pop_front().flatten()
            {
                sum.add(-gone);
                count -= 1;
            }
            (window.len() == n && count > 0).then(|| sum.value() / count as f64)
        })
    }

    /// Which cells are missing.
    pub fn is_missing(&self) -> TableColumn {
        TableColumn { values: self.values.is_null().with_name(self.values.name().clone()).into_series(), kind: ColumnKind::Flag }
    }

    /// The same column with a value in place of each missing cell: one for all, or that of another column in its row.
    ///
    /// Errors: a value of another kind or dimension, a column of another length.
    pub fn fill(&self, value: &Operand) -> Result<TableColumn, TableError> {
        let other = match value {
            Operand::Column(series) => series.clone(),
            Operand::Value(Cell::Missing) => return Ok(self.clone()),
            Operand::Value(cell) => TableColumn::of_cells("value", [cell.clone()])?,
        };
        let is_column = matches!(value, Operand::Column(_));
        // A column without any value takes the kind of what fills it.
        let kind = if self.values.null_count() == self.len() { other.kind } else { self.kind };
        if !other.kind.fits(kind) {
            let right = if is_column { other.described() } else { crate::table::column::described(&other.cell(0)) };
            return Err(TableError::Operands { operation: "fill", left: self.described(), right });
        }
        if is_column && other.len() != self.len() {
            let (left, right) = (self.described(), other.described());
            return Err(TableError::UnequalColumns { left, left_rows: self.len(), right, right_rows: other.len() });
        }
        self.room_for_result()?;
        let name = self.values.name().clone();
        let is_empty = self.values.null_count() == self.len();
        let own =
            if is_empty { pl::Series::full_null(name.clone(), self.len(), other.values.dtype()) } else { self.values.clone() };
        let filled = own.zip_with(&own.is_not_null(), &other.values)?.with_name(name);
        Ok(TableColumn { values: filled, kind })
    }

    /// The cells that have a value, in their order.
    pub fn drop_missing(&self) -> TableColumn {
        TableColumn { values: self.values.drop_nulls(), kind: self.kind }
    }

    /// Errors: no numbers.
    fn numbers(&self, what: &str) -> Result<&pl::Float64Chunked, TableError> {
        match self.kind {
            ColumnKind::Quantity { .. } => Ok(self.values.f64()?),
            _ => Err(TableError::NoAggregate { aggregate: what.into(), found: self.described() }),
        }
    }

    /// A column of what each number in turn gives.
    fn along(&self, kind: ColumnKind, next: impl FnMut(Option<f64>) -> Option<f64>) -> Result<TableColumn, TableError> {
        self.room_for_result()?;
        let result: pl::Float64Chunked = self.values.f64()?.iter().map(next).collect();
        Ok(TableColumn::of_numbers(result.with_name(self.values.name().clone()), kind))
    }
}
