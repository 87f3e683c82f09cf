//! Choosing, ordering and adding rows.

use super::{Column, ColumnKind, Table, TableError, Values, check_size};
use crate::limits;
use polars::prelude as pl;
use polars::prelude::{ChunkFull, NamedFrom};

/// A table in so few pieces stays as it is.
const FEW_PIECES: usize = 16;
/// Pieces of fewer rows, on average, are put together.
const SMALL_PIECE_ROWS: usize = 1000;

/// Work of the table library on so few cells is done at once.
const FEW_CELLS: usize = 500_000;

/// Direction of a sort.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// Small to large, a to z, no before yes.
    Rising,
    /// Large to small, z to a, yes before no.
    Falling,
}

/// Which end of a column is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Best {
    /// The row with the largest value.
    Highest,
    /// The row with the smallest value.
    Lowest,
}

impl Table {
    /// The rows for which `keep` is true, in their order. Errors: not one answer for each row.
    pub fn filter(&self, keep: &[bool]) -> Result<Table, TableError> {
        if keep.len() != self.rows() {
            return Err(TableError::MaskLength { found: keep.len(), expected: self.rows() });
        }
        self.filtered(pl::BooleanChunked::new(pl::PlSmallStr::EMPTY, keep))
    }

    pub(super) fn filtered(&self, mask: pl::BooleanChunked) -> Result<Table, TableError> {
        Ok(self.with_frame(self.apart(move |frame| frame.filter(&mask))?))
    }

    /// The rows in the order of a column; equal rows keep their order and missing values come last in both directions.
    ///
    /// Texts are ordered by their characters. Errors: unknown column.
    pub fn sort_by(&self, name: &str, order: Order) -> Result<Table, TableError> {
        self.sort_by_all(&[(name, order)])
    }

    /// Like [`Table::sort_by`], by several columns: rows that are equal in the first are ordered by the second, and so on.
    ///
    /// Errors: unknown column, no column at all.
    pub fn sort_by_all(&self, columns: &[(&str, Order)]) -> Result<Table, TableError> {
        let places = columns.iter().map(|(name, _)| self.place(name)).collect::<Result<Vec<_>, _>>()?;
        if places.is_empty() {
            return Err(TableError::NoColumns);
        }
        let names: Vec<pl::PlSmallStr> = places.iter().map(|place| self.frame.columns()[*place].name().clone()).collect();
        let options = pl::SortMultipleOptions::default()
            .with_order_descending_multi(columns.iter().map(|(_, order)| *order == Order::Falling))
            .with_nulls_last(true)
            .with_maintain_order(true);
        let mut keys = if self.keys.is_empty() { self.names().into_iter().take(1).collect() } else { self.keys.clone() };
        for name in names.iter().map(|name| name.to_string()) {
            if !keys.contains(&name) {
                keys.push(name);
            }
        }
        Ok(self.with_frame(self.apart(move |frame| frame.sort(names, options))?).with_keys(keys))
    }

    /// The rows that have a value in each of these columns. Errors: unknown column.
    pub fn drop_missing(&self, names: &[&str]) -> Result<Table, TableError> {
        let mut mask = pl::BooleanChunked::full(pl::PlSmallStr::EMPTY, true, self.rows());
        for name in names {
            mask = &mask & &self.series(name)?.values().is_not_null();
        }
        self.filtered(mask)
    }

    /// The first `n` rows, or all where there are fewer.
    pub fn head(&self, n: usize) -> Table {
        self.with_frame(self.frame.head(Some(n)))
    }

    /// The last `n` rows, or all where there are fewer.
    pub fn tail(&self, n: usize) -> Table {
        self.with_frame(self.frame.tail(Some(n)))
    }

    /// These rows in this order, repeated ones too. Errors: no such row.
    pub fn rows_at(&self, rows: &[usize]) -> Result<Table, TableError> {
        rows.iter().try_for_each(|row| self.check_row(*row))?;
        let chosen: Vec<Option<usize>> = rows.iter().map(|row| Some(*row)).collect();
        Ok(self.with_frame(self.take(&chosen)?))
    }

    /// The rows of this table followed by those of the other, which must have the same columns in any order.
    ///
    /// Columns are shown as in this table. Errors: a column that only one of them has, or of another dimension.
    pub fn append(&self, other: &Table) -> Result<Table, TableError> {
        let names = self.names();
        if let Some(extra) = other.names().into_iter().find(|name| !names.contains(name)) {
            return Err(TableError::DifferentColumns { column: extra, place: "second" });
        }
        for (place, name) in names.iter().enumerate() {
            let Ok(kind) = other.kind(name) else {
                return Err(TableError::DifferentColumns { column: name.clone(), place: "first" });
            };
            if !kind.fits(self.kinds[place]) {
                let (left, right) = (self.kinds[place].to_string(), kind.to_string());
                return Err(TableError::DifferentKinds { column: name.clone(), left, right });
            }
        }
        check_size(self.rows().saturating_add(other.rows()), names.len())?;
        let mut frame = self.frame.vstack(&other.frame.select(&names)?)?;
        // Tables that grow by a few rows at a time would become lists of crumbs.
        let pieces = frame.first_col_n_chunks();
        if pieces > FEW_PIECES && frame.height() < pieces * SMALL_PIECE_ROWS {
            limits::room_for(frame.height().saturating_mul(frame.width()).saturating_mul(size_of::<f64>()))?;
            frame.rechunk_mut();
        }
        Ok(self.with_frame(frame))
    }

    /// The number of the row with the highest or lowest value of a numeric column; the first one of equals.
    ///
    /// Missing values are passed over. Errors: unknown column, not numeric, all missing.
    pub fn best(&self, name: &str, best: Best) -> Result<usize, TableError> {
        let values = self.parameters_of(name, "choose the best")?;
        let mut found: Option<(usize, f64)> = None;
        for (row, value) in values.iter().enumerate() {
            let Some(value) = *value else { continue };
            let better = found.is_none_or(|(_, held)| match best {
                Best::Highest => value > held,
                Best::Lowest => value < held,
            });
            if better {
                found = Some((row, value));
            }
        }
        let all_missing = || TableError::AllMissing { column: name.to_string(), rows: self.rows() };
        found.map(|(row, _)| row).ok_or_else(all_missing)
    }

    /// The SI values of a numeric column. Errors: [`TableError::NotNumeric`] says what could not be done.
    pub(super) fn parameters_of(&self, name: &str, action: &'static str) -> Result<Vec<Option<f64>>, TableError> {
        let Column { values, .. } = self.column(name)?;
        match values {
            Values::Quantities { si, .. } => Ok(si),
            other => Err(TableError::NotNumeric { action, column: name.to_string(), found: other.kind().plural().into() }),
        }
    }

    /// Rows by number; nothing gives a row of missing values. The numbers must be in range.
    pub(super) fn take(&self, rows: &[Option<usize>]) -> Result<pl::DataFrame, TableError> {
        let indices: Vec<Option<pl::IdxSize>> =
            rows.iter().map(|row| row.and_then(|row| pl::IdxSize::try_from(row).ok())).collect();
        self.apart(move |frame| frame.take(&pl::IdxCa::new(pl::PlSmallStr::EMPTY, indices)))
    }

    /// Another frame, worked out by a call of the table library, which asks nobody whether it may go on.
    ///
    /// Errors: those of the library; the evaluation is to end.
    fn apart(
        &self,
        work: impl FnOnce(pl::DataFrame) -> pl::PolarsResult<pl::DataFrame> + Send + 'static,
    ) -> Result<pl::DataFrame, TableError> {
        let frame = self.frame.clone();
        let cells = frame.height().saturating_mul(frame.width());
        if cells < FEW_CELLS {
            return Ok(work(frame)?);
        }
        limits::room_for(cells.saturating_mul(size_of::<f64>()))?;
        Ok(limits::aside(move || work(frame))??)
    }

    /// Another frame with the same columns.
    fn with_frame(&self, frame: pl::DataFrame) -> Table {
        Table::made(frame, self.kinds.clone()).with_keys(self.keys.clone())
    }
}

impl ColumnKind {
    /// What a column of it holds, in words.
    pub(super) fn plural(self) -> &'static str {
        match self {
            kind if kind.is_clock() => "times of the day",
            ColumnKind::Quantity { .. } => "quantities",
            ColumnKind::Text => "strings",
            ColumnKind::Flag => "booleans",
            ColumnKind::Date { .. } => "dates",
        }
    }

    /// True for a column of quantities or plain numbers.
    pub fn is_numeric(self) -> bool {
        matches!(self, ColumnKind::Quantity { .. })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::{sweep, unit};
    use crate::told::Told;
    use proptest::prelude::*;

    fn texts(table: &Table, name: &str) -> Vec<String> {
        table.column(name).expect("a column").cells().map(|cell| cell.show(Default::default())).collect()
    }

    #[test]
    fn a_filter_keeps_order_and_units() {
        let table = sweep().filter(&[false, true, false, false, true, true]).expect("a table");
        assert_eq!(texts(&table, "feed.length"), ["100 ft", "100 ft", "150 ft"]);
        assert_eq!(table.kind("feed.diameter").expect("a kind"), sweep().kind("feed.diameter").expect("a kind"));
        assert_eq!(sweep().filter(&[true]).unwrap_err().to_string(), "1 answers for 6 rows");
        assert_eq!(sweep().filter(&[false; 6]).expect("an empty table").rows(), 0);
    }

    #[test]
    fn missing_values_sort_last_in_both_directions() {
        for (order, first) in [(Order::Rising, 1.95e5), (Order::Falling, 3.1e5)] {
            let sorted = sweep().sort_by("berry.pressure", order).expect("a table").column("berry.pressure").expect("a column");
            let Values::Quantities { si, .. } = sorted.values else { panic!("numbers were expected") };
            assert_eq!((si[0], si[5]), (Some(first), None));
        }
    }

    #[test]
    fn head_and_tail_take_what_is_there() {
        assert_eq!(texts(&sweep().head(2), "remark"), ["-", "fair"]);
        assert_eq!(texts(&sweep().tail(2), "remark"), ["weak", "dry"]);
        assert_eq!(sweep().head(100), sweep());
        assert_eq!(sweep().tail(0).rows(), 0);
    }

    #[test]
    fn rows_are_chosen_by_number_and_a_wrong_number_is_refused() {
        let table = sweep().rows_at(&[5, 0, 0]).expect("a table");
        assert_eq!(texts(&table, "feed.length"), ["150 ft", "50 ft", "50 ft"]);
        let error = sweep().rows_at(&[6]).unwrap_err();
        assert_eq!(error.hint().as_deref(), Some("rows are numbered from 0 to 5"));
    }

    #[test]
    fn tables_with_the_same_columns_in_another_order_append() {
        let a = Table::new(vec![Column::written("l", [1.0], unit("ft")), Column::texts("t", ["a"])]).expect("a table");
        let b = Table::new(vec![Column::texts("t", ["b"]), Column::written("l", [1.0], unit("m"))]).expect("a table");
        let both = a.append(&b).expect("a table");
        assert_eq!(texts(&both, "l"), ["1 ft", "3.3 ft"]);
        assert_eq!(texts(&both, "t"), ["a", "b"]);
    }

    #[test]
    fn tables_with_other_columns_or_dimensions_do_not_append() {
        let a = Table::new(vec![Column::written("l", [1.0], unit("ft"))]).expect("a table");
        let b = Table::new(vec![Column::written("l", [1.0], unit("psi"))]).expect("a table");
        assert_eq!(a.append(&b).unwrap_err().to_string(), "column 'l' holds a length in one table and a pressure in the other");
        let c = Table::new(vec![Column::written("m", [1.0], unit("ft"))]).expect("a table");
        assert_eq!(a.append(&c).unwrap_err().to_string(), "the tables differ: column 'm' is only in the second one");
    }

    #[test]
    fn the_best_row_is_the_first_of_equals_and_passes_over_missing() {
        assert_eq!(sweep().best("berry.pressure", Best::Highest).expect("a row"), 0);
        assert_eq!(sweep().best("berry.pressure", Best::Lowest).expect("a row"), 4);
        assert_eq!(sweep().best("feed.length", Best::Highest).expect("a row"), 2);
        let error = sweep().best("remark", Best::Lowest).unwrap_err();
        assert_eq!(error.to_string(), "cannot choose the best by column 'remark', which holds strings");
        let error = sweep().tail(1).best("berry.pressure", Best::Lowest).unwrap_err();
        assert_eq!(error.to_string(), "column 'berry.pressure' has no value to choose from: all 1 rows are missing");
    }

    #[test]
    fn distinct_rows_come_in_order_of_appearance() {
        let distinct = |names: &[&str]| sweep().distinct(names).expect("a table");
        assert_eq!(texts(&distinct(&["feed.diameter"]), "feed.diameter"), ["3/4 in", "5/8 in"]);
        assert_eq!(texts(&distinct(&["remark"]), "remark"), ["-", "fair", "weak", "dry"]);
        assert_eq!(distinct(&["feed.diameter", "enough"]).rows(), 3);
        // 0.1 + 0.2 and 0.3 differ in the last bit only.
        let table = Table::new(vec![Column::numbers("x", [0.1 + 0.2, 0.3, 0.300_000_1])]).expect("a table");
        assert_eq!(table.distinct(&["x"]).expect("a table").rows(), 2);
        assert!(sweep().distinct(&[]).is_err());
    }

    #[test]
    fn rows_are_sorted_by_several_columns() {
        let sorted = sweep().sort_by_all(&[("feed.diameter", Order::Rising), ("feed.length", Order::Falling)]).expect("a table");
        assert_eq!(texts(&sorted, "feed.length"), ["150 ft", "100 ft", "50 ft", "150 ft", "100 ft", "50 ft"]);
        assert_eq!(texts(&sorted, "feed.diameter")[0], "5/8 in");
        assert_eq!(sweep().drop_missing(&["remark", "berry.pressure"]).expect("a table").rows(), 3);
    }

    proptest! {
        #[test]
        fn sorting_is_stable(keys in proptest::collection::vec(proptest::option::of(0u8..5), 1..60)) {
            for order in [Order::Rising, Order::Falling] {
                let si = keys.iter().map(|key| key.map(f64::from));
                let key_column = Column::quantities("key", si, crate::quantity::dim::NUMBER, crate::quantity::Preference::Usual);
                let table = Table::new(vec![key_column, Column::numbers("row", (0..keys.len()).map(|n| n as f64))]).expect("a table");
                let sorted = table.sort_by("key", order).expect("a table").parameters_of("row", "test").expect("numbers");
                let mut expected: Vec<usize> = (0..keys.len()).collect();
                expected.sort_by_key(|row| match (keys[*row], order) {
                    (None, _) => i16::MAX,
                    (Some(key), Order::Rising) => i16::from(key),
                    (Some(key), Order::Falling) => -i16::from(key),
                });
                let expected: Vec<Option<f64>> = expected.into_iter().map(|row| Some(row as f64)).collect();
                prop_assert_eq!(sorted, expected);
            }
        }
    }
}
