//! One value of a whole column, missing cells passed over.

use super::{Arithmetic, Operand, TableColumn};
use crate::moment::Moment;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, QuantityError, UnitSystem, dim, finite};
use crate::table::quantile::{in_order, quantile};
use crate::table::{Cell, ColumnKind, TableError};
use polars::prelude::{ChunkAgg, ChunkVar};
use std::fmt;

/// What is asked of a column as a whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aggregate {
    /// The sum; of flags, how many are true.
    Sum,
    /// The arithmetic mean; of flags, the share of true.
    Mean,
    /// The smallest value.
    Min,
    /// The largest value.
    Max,
    /// Half of the values lie below it.
    Median,
    /// That fraction of the values lies below it; by straight lines between the ordered values, as in [`Figures`](crate::table::Figures).
    Quantile(f64),
    /// The sample standard deviation, divided by n - 1.
    StandardDeviation,
    /// How many cells have a value.
    Count,
    /// The first value.
    First,
    /// The last value.
    Last,
}

/// Names in scripts.
const NAMES: [(&str, Aggregate); 9] = [
    ("sum", Aggregate::Sum),
    ("mean", Aggregate::Mean),
    ("min", Aggregate::Min),
    ("max", Aggregate::Max),
    ("median", Aggregate::Median),
    ("sd", Aggregate::StandardDeviation),
    ("count", Aggregate::Count),
    ("first", Aggregate::First),
    ("last", Aggregate::Last),
];

impl Aggregate {
    /// The one of that name. Errors: an unknown name comes with the nearest one.
    pub fn of_name(name: &str) -> Result<Aggregate, TableError> {
        let known = || NAMES.iter().map(|(name, _)| *name);
        let found = NAMES.iter().find(|(known, _)| *known == name).map(|(_, aggregate)| *aggregate);
        found.ok_or_else(|| TableError::UnknownAggregate {
            name: name.to_string(),
            advice: did_you_mean(name, known())
                .unwrap_or_else(|| format!("choose one of {}", known().collect::<Vec<_>>().join(", "))),
        })
    }
}

impl fmt::Display for Aggregate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match NAMES.iter().find(|(_, aggregate)| aggregate == self) {
            Some((name, _)) => f.write_str(name),
            None => f.write_str("quantile"),
        }
    }
}

impl TableColumn {
    /// One value of the whole column; missing where no cell has a value (a sum of none is zero).
    ///
    /// Errors: a sum of texts and the like, a sum of temperatures, a fraction outside 0 to 1, a sum that is infinite.
    pub fn aggregate(&self, what: Aggregate) -> Result<Cell, TableError> {
        let count = self.len() - self.values.null_count();
        match (what, self.kind) {
            (Aggregate::Count, _) => Ok(Cell::number(count as f64)),
            (Aggregate::First, _) => Ok(self.cells().find(|cell| !cell.is_missing()).unwrap_or(Cell::Missing)),
            (Aggregate::Last, _) => {
                let last = (0..self.len()).rev().map(|row| self.cell(row)).find(|cell| !cell.is_missing());
                Ok(last.unwrap_or(Cell::Missing))
            }
            (_, ColumnKind::Quantity { .. }) => self.aggregate_numbers(what),
            (Aggregate::Min | Aggregate::Max, ColumnKind::Date { clock }) => {
                let dates = self.values.i64()?;
                let ms = if what == Aggregate::Min { dates.min() } else { dates.max() };
                Ok(ms.and_then(|ms| Moment::of_ms(ms, clock)).map_or(Cell::Missing, Cell::Date))
            }
            (Aggregate::Sum, ColumnKind::Flag) => Ok(Cell::number(f64::from(self.values.bool()?.sum().unwrap_or(0)))),
            (Aggregate::Mean, ColumnKind::Flag) if count == 0 => Ok(Cell::Missing),
            (Aggregate::Mean, ColumnKind::Flag) => {
                Ok(Cell::number(f64::from(self.values.bool()?.sum().unwrap_or(0)) / count as f64))
            }
            _ => Err(TableError::NoAggregate { aggregate: what.to_string(), found: self.described() }),
        }
    }

    fn aggregate_numbers(&self, what: Aggregate) -> Result<Cell, TableError> {
        let ColumnKind::Quantity { dimension, preference } = self.kind else { return Ok(Cell::Missing) };
        let numbers = self.values.f64()?;
        let si = match what {
            Aggregate::Sum => {
                self.summable()?;
                let sum = numbers.sum().unwrap_or(0.0);
                let si = finite(sum, || format!("sum of column '{}'", self.name()))?;
                return Ok(Cell::Quantity(Quantity { si, dimension, preference: preference.of_length() }));
            }
            Aggregate::Mean => numbers.mean(),
            Aggregate::Min => numbers.min(),
            Aggregate::Max => numbers.max(),
            Aggregate::Median => self.quantile(0.5)?,
            Aggregate::Quantile(fraction) => self.quantile(fraction)?,
            Aggregate::StandardDeviation => {
                let side = Operand::Column(self.clone());
                let ColumnKind::Quantity { dimension, preference } = Arithmetic::Minus.kind(&side, &side)? else {
                    return Ok(Cell::Missing);
                };
                return Ok(numbers.std(1).map_or(Cell::Missing, |si| Cell::Quantity(Quantity { si, dimension, preference })));
            }
            Aggregate::Count | Aggregate::First | Aggregate::Last => None,
        };
        Ok(si.map_or(Cell::Missing, |si| Cell::Quantity(Quantity { si, dimension, preference })))
    }

    /// Errors: readings of a thermometer, which have no sum.
    pub(super) fn summable(&self) -> Result<(), TableError> {
        if !matches!(self.kind, ColumnKind::Quantity { dimension: dim::TEMPERATURE, .. }) {
            return Ok(());
        }
        let shown = |end| -> Result<String, TableError> { Ok(self.aggregate(end)?.show(UnitSystem::AsWritten)) };
        Err(QuantityError::TwoTemperatures { left: shown(Aggregate::First)?, right: shown(Aggregate::Last)? }.into())
    }

    fn quantile(&self, fraction: f64) -> Result<Option<f64>, TableError> {
        if !(0.0..=1.0).contains(&fraction) {
            return Err(TableError::BadFraction { fraction });
        }
        let sorted = in_order(self.values.f64()?.iter().flatten().collect())?;
        Ok((!sorted.is_empty()).then(|| quantile(&sorted, fraction)))
    }
}
