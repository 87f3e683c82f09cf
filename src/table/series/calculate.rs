//! Arithmetic, comparisons and logic of columns. The laws of dimensions are those of single quantities.

use super::TableColumn;
use crate::clock;
use crate::moment::{DateOrder, Moment, weekday_meant};
use crate::quantity::{Preference, Quantity, QuantityError, UnitSystem, close, dim};
use crate::table::column::described;
use crate::table::{Cell, ColumnKind, TableError};
use polars::prelude as pl;
use polars::prelude::{ChunkCompareEq, ChunkCompareIneq, IntoSeries};
use std::ops::Not;

/// One side of a calculation: a column, or one value for all rows.
#[derive(Clone, Debug)]
pub enum Operand {
    /// A value for each row.
    Column(TableColumn),
    /// The same value in all rows.
    Value(Cell),
}

/// A calculation with numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arithmetic {
    /// The sum.
    Plus,
    /// The difference.
    Minus,
    /// The product.
    Times,
    /// The quotient.
    Over,
}

/// A comparison; numbers that differ by rounding alone are equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each says what it is")]
pub enum Comparison {
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    Equal,
    NotEqual,
}

/// A combination of flags. A missing flag is neither true nor false: with `And` and false it gives false, with `Or` and true it
/// gives true, else the result is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Logic {
    /// Both.
    And,
    /// One of them or both.
    Or,
}

impl Arithmetic {
    fn law(self) -> fn(Quantity, Quantity) -> Result<Quantity, QuantityError> {
        match self {
            Arithmetic::Plus => Quantity::plus,
            Arithmetic::Minus => Quantity::minus,
            Arithmetic::Times => Quantity::times,
            Arithmetic::Over => Quantity::over,
        }
    }

    fn verb(self) -> &'static str {
        match self {
            Arithmetic::Plus => "add",
            Arithmetic::Minus => "subtract",
            Arithmetic::Times => "multiply",
            Arithmetic::Over => "divide",
        }
    }

    /// What the result of two columns of numbers holds. Errors: dimensions that do not go together.
    pub(super) fn kind(self, a: &Operand, b: &Operand) -> Result<ColumnKind, TableError> {
        let mixed = || TableError::Operands { operation: self.verb(), left: a.described(), right: b.described() };
        let (Some(left), Some(right)) = (a.one(), b.one()) else { return Err(mixed()) };
        match self.law()(left, right) {
            Ok(result) => Ok(ColumnKind::Quantity { dimension: result.dimension, preference: result.preference }),
            Err(QuantityError::Mixed { .. }) => Err(mixed()),
            Err(other) => Err(other.into()),
        }
    }
}

impl Operand {
    /// Number of rows; none for a single value.
    fn rows(&self) -> Option<usize> {
        match self {
            Operand::Column(series) => Some(series.len()),
            Operand::Value(_) => None,
        }
    }

    /// A text beside dates or times of the day is read as one.
    fn as_read_beside(&self, other: &Operand) -> Operand {
        let (Operand::Value(Cell::Text(text)), Operand::Column(column)) = (self, other) else { return self.clone() };
        let read = match column.kind {
            ColumnKind::Date { .. } => Moment::read(text, DateOrder::YearMonthDay).map(Cell::Date),
            ColumnKind::Quantity { dimension, preference } if column.kind.is_clock() => {
                clock::read_ns(text).map(|ns| Cell::Quantity(Quantity { si: clock::seconds_of(ns), dimension, preference }))
            }
            _ => None,
        };
        read.map_or_else(|| self.clone(), Operand::Value)
    }

    /// What it holds; none for a single missing value.
    fn kind(&self) -> Option<ColumnKind> {
        match self {
            Operand::Column(series) => Some(series.kind),
            Operand::Value(Cell::Missing) => None,
            Operand::Value(Cell::Quantity(quantity)) => {
                Some(ColumnKind::Quantity { dimension: quantity.dimension, preference: quantity.preference })
            }
            Operand::Value(Cell::Text(_)) => Some(ColumnKind::Text),
            Operand::Value(Cell::Flag(_)) => Some(ColumnKind::Flag),
            Operand::Value(Cell::Date(date)) => Some(ColumnKind::Date { clock: date.has_clock() }),
        }
    }

    /// A quantity of 1 in SI units of its dimension, by which the laws of dimensions are asked.
    fn one(&self) -> Option<Quantity> {
        match self.kind() {
            Some(ColumnKind::Quantity { dimension, preference }) => Some(Quantity { si: 1.0, dimension, preference }),
            _ => None,
        }
    }

    fn described(&self) -> String {
        match self {
            Operand::Column(series) => series.described(),
            Operand::Value(cell) => described(cell),
        }
    }

    /// As a column; a single value is one of a single row, which the kernels repeat.
    fn series(&self) -> Result<TableColumn, TableError> {
        match self {
            Operand::Column(series) => Ok(series.clone()),
            Operand::Value(cell) => TableColumn::of_cells("value", [cell.clone()]),
        }
    }
}

/// Errors: a text is compared with a column that has no such cell, but one that differs in capital letters or blanks alone, or has the
/// short name of the same weekday. No row would ever be equal, which nobody wants to know.
fn none_nearly_equal(a: &Operand, b: &Operand) -> Result<(), TableError> {
    let (column, text) = match (a, b) {
        (Operand::Column(column), Operand::Value(Cell::Text(text)))
        | (Operand::Value(Cell::Text(text)), Operand::Column(column)) => (column, text),
        _ => return Ok(()),
    };
    let cells = column.values.str()?;
    let is_near = |cell: &str| cell.trim().eq_ignore_ascii_case(text.trim()) || weekday_meant(text) == Some(cell);
    let mut near = None;
    for cell in cells.iter().flatten() {
        if cell == text.as_str() {
            return Ok(());
        }
        if near.is_none() && is_near(cell) {
            near = Some(cell.to_string());
        }
    }
    near.map_or(Ok(()), |near| Err(TableError::NearlyEqual { column: column.described(), text: text.to_string(), near }))
}

/// Both sides as columns; the first has the name of the result.
///
/// Errors: two columns of different length.
fn sides(a: &Operand, b: &Operand) -> Result<(TableColumn, TableColumn), TableError> {
    if let (Some(left), Some(right)) = (a.rows(), b.rows())
        && left != right
    {
        return Err(TableError::UnequalColumns { left: a.described(), left_rows: left, right: b.described(), right_rows: right });
    }
    let (mut a, b) = (a.series()?, b.series()?);
    if a.len() > b.len() {
        a.room_for_result()?
    } else {
        b.room_for_result()?
    }
    if a.len() == 1 && b.len() != 1 {
        a.values.rename(b.values.name().clone());
    }
    Ok((a, b))
}

impl TableColumn {
    /// A calculation row by row. Errors: texts or flags, dimensions that do not go together, columns of different length.
    pub fn calculate(operation: Arithmetic, a: &Operand, b: &Operand) -> Result<TableColumn, TableError> {
        if let Some(result) = calculate_dates(operation, a, b)? {
            return Ok(result);
        }
        let kind = operation.kind(a, b)?;
        let (a, b) = sides(a, b)?;
        let (a, b) = (a.values.f64()?, b.values.f64()?);
        let result = match operation {
            Arithmetic::Plus => a + b,
            Arithmetic::Minus => a - b,
            Arithmetic::Times => a * b,
            Arithmetic::Over => a / b,
        };
        Ok(TableColumn::of_numbers(result, kind))
    }

    /// A column of flags: which rows compare so. A comparison with a missing cell is missing.
    ///
    /// Errors: values of two kinds or dimensions, the order of flags, columns of different length.
    pub fn compare(comparison: Comparison, a: &Operand, b: &Operand) -> Result<TableColumn, TableError> {
        let (a, b) = (&a.as_read_beside(b), &b.as_read_beside(a));
        // A column beside () asks which cells are missing.
        if let (Operand::Column(column), Operand::Value(Cell::Missing))
        | (Operand::Value(Cell::Missing), Operand::Column(column)) = (a, b)
        {
            match comparison {
                Comparison::Equal => return Ok(column.is_missing()),
                Comparison::NotEqual => return column.is_missing().negation(),
                _ => {}
            }
        }
        let mixed = || TableError::Operands { operation: "compare", left: a.described(), right: b.described() };
        let (Some(left), Some(right)) = (a.kind(), b.kind()) else { return Err(mixed()) };
        if !left.fits(right) {
            return Err(mixed());
        }
        let (x, y) = sides(a, b)?;
        let flags = match left {
            ColumnKind::Quantity { .. } => compare_numbers(comparison, x.values.f64()?, y.values.f64()?),
            ColumnKind::Text => {
                if matches!(comparison, Comparison::Equal | Comparison::NotEqual) {
                    none_nearly_equal(a, b)?;
                }
                compare_in_order(comparison, x.values.str()?, y.values.str()?)
            }
            ColumnKind::Date { .. } => compare_in_order(comparison, x.values.i64()?, y.values.i64()?),
            ColumnKind::Flag => {
                let (x, y) = (x.values.bool()?, y.values.bool()?);
                match comparison {
                    Comparison::Equal => x.equal(y),
                    Comparison::NotEqual => x.not_equal(y),
                    _ => return Err(mixed()),
                }
            }
        };
        Ok(TableColumn { values: flags.into_series(), kind: ColumnKind::Flag })
    }

    /// The cells of one where the flags are true, and of the other where they are false; missing where a flag is.
    ///
    /// Errors: no flags, values of two kinds, columns of different length.
    pub fn choose(&self, yes: &Operand, no: &Operand) -> Result<TableColumn, TableError> {
        if self.kind != ColumnKind::Flag {
            return Err(TableError::NoFlags { found: self.described() });
        }
        for side in [yes, no] {
            if let Some(rows) = side.rows().filter(|rows| *rows != self.len()) {
                let (left, right) = (self.described(), side.described());
                return Err(TableError::UnequalColumns { left, left_rows: self.len(), right, right_rows: rows });
            }
        }
        let kind = match (yes.kind(), no.kind()) {
            (Some(yes_kind), Some(no_kind)) if !yes_kind.fits(no_kind) => {
                return Err(TableError::Operands { operation: "choose from", left: yes.described(), right: no.described() });
            }
            (Some(kind), _) | (None, Some(kind)) => kind,
            (None, None) => ColumnKind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual },
        };
        self.room_for_result()?;
        let other = |side: &Operand, like: &Operand| match side {
            Operand::Value(Cell::Missing) => Ok(pl::Series::full_null("value".into(), 1, like.series()?.values.dtype())),
            side => Ok::<_, TableError>(side.series()?.values),
        };
        let (yes, no) = (other(yes, no)?, other(no, yes)?);
        let flags = self.values.bool()?;
        let chosen = yes.zip_with(flags, &no)?;
        let none = pl::Series::full_null("value".into(), 1, chosen.dtype());
        let chosen = chosen.zip_with(&flags.is_not_null(), &none)?.with_name(self.values.name().clone());
        Ok(TableColumn { values: chosen, kind })
    }

    /// Its numbers without their minus. Errors: no numbers.
    pub fn absolute(&self) -> Result<TableColumn, TableError> {
        self.need_numbers("size")?;
        self.each_number(f64::abs, self.kind)
    }

    /// Its numbers rounded to decimals of the unit in which they are shown. Errors: no numbers.
    pub fn rounded(&self, decimals: i32, system: UnitSystem) -> Result<TableColumn, TableError> {
        self.need_numbers("rounded number")?;
        let (unit, scale) = (self.kind.shown_unit(system), 10f64.powi(decimals));
        let round = move |si: f64| {
            let shown = unit.map_or(si, |unit| unit.from_si(si));
            let scaled = (shown * scale).round();
            // A number too large for the scale has no decimals left to round.
            let number = if scaled.is_finite() { scaled / scale } else { shown };
            unit.map_or(number, |unit| unit.to_si(number))
        };
        self.each_number(round, self.kind)
    }

    /// The same column, shown in that unit from now on. Errors: an unknown unit, one of another dimension.
    pub fn in_unit(&self, unit: &str) -> Result<TableColumn, TableError> {
        self.need_numbers("unit")?;
        let ColumnKind::Quantity { dimension, preference } = self.kind else { return Ok(self.clone()) };
        let Quantity { preference, .. } = Quantity { si: 1.0, dimension, preference }.to(unit)?;
        Ok(TableColumn { values: self.values.clone(), kind: ColumnKind::Quantity { dimension, preference } })
    }

    fn need_numbers(&self, what: &str) -> Result<(), TableError> {
        if self.kind.is_numeric() {
            return Ok(());
        }
        Err(TableError::NoAggregate { aggregate: what.into(), found: self.described() })
    }

    /// Two columns of flags combined row by row. Errors: no flags, columns of different length.
    pub fn combine(logic: Logic, a: &Operand, b: &Operand) -> Result<TableColumn, TableError> {
        if (a.kind(), b.kind()) != (Some(ColumnKind::Flag), Some(ColumnKind::Flag)) {
            return Err(TableError::Operands { operation: "combine", left: a.described(), right: b.described() });
        }
        let (a, b) = sides(a, b)?;
        let (a, b) = (a.values.bool()?, b.values.bool()?);
        let flags = if logic == Logic::And { a & b } else { a | b };
        Ok(TableColumn { values: flags.into_series(), kind: ColumnKind::Flag })
    }

    /// True where it is false, and the other way round. Errors: no flags.
    pub fn negation(&self) -> Result<TableColumn, TableError> {
        if self.kind != ColumnKind::Flag {
            return Err(TableError::NoFlags { found: self.described() });
        }
        Ok(TableColumn { values: self.values.bool()?.not().into_series(), kind: ColumnKind::Flag })
    }
}

/// The time between two dates, or a date some time later or before; nothing where no date is meant.
fn calculate_dates(operation: Arithmetic, a: &Operand, b: &Operand) -> Result<Option<TableColumn>, TableError> {
    let is_time = |kind: Option<ColumnKind>| matches!(kind, Some(ColumnKind::Quantity { dimension: dim::TIME, .. }));
    let (left, right) = (a.kind(), b.kind());
    let sign = match (operation, left, right) {
        (Arithmetic::Minus, Some(ColumnKind::Date { .. }), Some(ColumnKind::Date { .. })) => {
            let (a, b) = sides(a, b)?;
            let preference = Preference::written_in("h");
            let seconds = pl::arity::broadcast_binary_elementwise_values(a.values.i64()?, b.values.i64()?, |a: i64, b: i64| {
                (a - b) as f64 / 1000.0
            });
            return Ok(Some(TableColumn::of_numbers(seconds, ColumnKind::Quantity { dimension: dim::TIME, preference })));
        }
        (Arithmetic::Plus, Some(ColumnKind::Date { .. }), time) if is_time(time) => 1.0,
        (Arithmetic::Plus, time, Some(ColumnKind::Date { .. })) if is_time(time) => return calculate_dates(operation, b, a),
        (Arithmetic::Minus, Some(ColumnKind::Date { .. }), time) if is_time(time) => -1.0,
        _ => return Ok(None),
    };
    let (dates, times) = sides(a, b)?;
    let mut clock = matches!(left, Some(ColumnKind::Date { clock: true }));
    let later = |date: Option<i64>, time: Option<f64>| {
        let later = Moment::of_ms(date?, false)?.later_by(sign * time?)?;
        clock |= later.has_clock();
        Some(later.ms())
    };
    let ms: pl::Int64Chunked = pl::arity::broadcast_binary_elementwise(dates.values.i64()?, times.values.f64()?, later);
    Ok(Some(TableColumn { values: ms.into_series(), kind: ColumnKind::Date { clock } }))
}

/// Values that are compared as they are.
fn compare_in_order<T>(comparison: Comparison, a: &T, b: &T) -> pl::BooleanChunked
where
    T: for<'b> ChunkCompareEq<&'b T, Item = pl::BooleanChunked> + for<'b> ChunkCompareIneq<&'b T, Item = pl::BooleanChunked>,
{
    match comparison {
        Comparison::Less => a.lt(b),
        Comparison::LessOrEqual => a.lt_eq(b),
        Comparison::Greater => a.gt(b),
        Comparison::GreaterOrEqual => a.gt_eq(b),
        Comparison::Equal => a.equal(b),
        Comparison::NotEqual => a.not_equal(b),
    }
}

fn compare_numbers(comparison: Comparison, a: &pl::Float64Chunked, b: &pl::Float64Chunked) -> pl::BooleanChunked {
    fn by(a: &pl::Float64Chunked, b: &pl::Float64Chunked, holds: impl Fn(f64, f64) -> bool) -> pl::BooleanChunked {
        pl::arity::broadcast_binary_elementwise_values(a, b, holds)
    }
    match comparison {
        Comparison::Less => by(a, b, |a, b| a < b && !close(a, b)),
        Comparison::LessOrEqual => by(a, b, |a, b| a < b || close(a, b)),
        Comparison::Greater => by(a, b, |a, b| a > b && !close(a, b)),
        Comparison::GreaterOrEqual => by(a, b, |a, b| a > b || close(a, b)),
        Comparison::Equal => by(a, b, close),
        Comparison::NotEqual => by(a, b, |a, b| !close(a, b)),
    }
}
