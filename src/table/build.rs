//! Making a table from columns or rows, and looking into it.

use super::held::Held;
use super::{Cell, Column, ColumnKind, Growing, Table, TableError, Values};
use crate::limits::{self, Ended, Steps};
use polars::prelude as pl;
use polars::prelude::{IntoColumn, IntoSeries, NamedFrom};
use std::collections::HashSet;

impl Table {
    /// A table of these columns. Blanks at the ends of names are dropped; numbers that are not finite become missing.
    ///
    /// Errors: no column at all, a blank or repeated name, columns of different length.
    pub fn new(columns: Vec<Column>) -> Result<Table, TableError> {
        let rows = check_heads(columns.iter().map(|column| (column.name.as_str(), column.len())))?;
        let kinds = columns.iter().map(Column::kind).collect();
        let parts = columns.into_iter().map(|column| frame_column(column.name.trim(), &column.values));
        Ok(Table::made(pl::DataFrame::new(rows, parts.collect::<Result<_, _>>()?)?, kinds))
    }

    /// The same table, whose rows these columns distinguish.
    pub fn with_keys<T: Into<String>>(self, names: impl IntoIterator<Item = T>) -> Table {
        Table { keys: names.into_iter().map(Into::into).collect(), ..self }
    }

    /// A table of rows, each a list of names and values. Columns come in the order in which their names first appear; a
    /// column is missing where a row does not give it, and is shown as its first value is. A column that is missing in
    /// every row holds plain numbers.
    ///
    /// Errors: values of different dimension or kind in one column (naming the row and both), a name twice in a row.
    pub fn from_rows(rows: Vec<Vec<(String, Cell)>>) -> Result<Table, TableError> {
        let mut growing = Growing::default();
        for row in &rows {
            limits::go_on()?;
            growing.add(row.iter().map(|(name, cell)| (name.as_str(), cell.clone())))?;
        }
        Table::new(growing.into_columns()?)
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        match &self.held {
            Held::Here(contents) => contents.frame.height(),
            Held::Later(later) => later.rows,
        }
    }

    /// Names of the columns, in order.
    pub fn names(&self) -> Vec<String> {
        self.frame.get_column_names().iter().map(|name| name.to_string()).collect()
    }

    /// What the column holds. Errors: an unknown name comes with the nearest ones.
    pub fn kind(&self, name: &str) -> Result<ColumnKind, TableError> {
        Ok(self.kinds[self.place(name)?])
    }

    /// A copy of the column. Errors: an unknown name comes with the nearest ones.
    pub fn column(&self, name: &str) -> Result<Column, TableError> {
        self.column_at(self.place(name)?)
    }

    /// Copies of all columns, in order.
    pub fn columns(&self) -> Result<Vec<Column>, TableError> {
        (0..self.kinds.len()).map(|place| self.column_at(place)).collect()
    }

    /// One value; rows are numbered from 0. Errors: unknown column, no such row.
    pub fn cell(&self, row: usize, name: &str) -> Result<Cell, TableError> {
        let place = self.place(name)?;
        self.check_row(row)?;
        self.cell_at(row, place)
    }

    /// One row, numbered from 0, as names and values. Errors: no such row.
    pub fn row(&self, row: usize) -> Result<Vec<(String, Cell)>, TableError> {
        self.check_row(row)?;
        self.names().into_iter().enumerate().map(|(place, name)| Ok((name, self.cell_at(row, place)?))).collect()
    }

    /// Where the column of that name stands.
    pub(super) fn place(&self, name: &str) -> Result<usize, TableError> {
        let place = self.frame.get_column_index(name.trim());
        place.ok_or_else(|| TableError::UnknownColumn { name: name.to_string(), known: self.names() })
    }

    pub(super) fn check_row(&self, row: usize) -> Result<(), TableError> {
        if row < self.rows() { Ok(()) } else { Err(TableError::NoRow { row, rows: self.rows() }) }
    }

    fn column_at(&self, place: usize) -> Result<Column, TableError> {
        let column = &self.frame.columns()[place];
        limits::room_for(column.len().saturating_mul(size_of::<Option<String>>()))?;
        let values = match self.kinds[place] {
            ColumnKind::Quantity { dimension, preference } => {
                Values::Quantities { si: column.f64()?.iter().collect(), dimension, preference }
            }
            ColumnKind::Text => {
                let mut steps = Steps::default();
                let copied = column.str()?.iter().map(|text| {
                    steps.weigh(text.map_or(0, str::len))?;
                    Ok(text.map(str::to_string))
                });
                Values::Texts(copied.collect::<Result<_, Ended>>()?)
            }
            ColumnKind::Flag => Values::Flags(column.bool()?.iter().collect()),
            ColumnKind::Date { clock } => Values::Dates { ms: column.i64()?.iter().collect(), clock },
        };
        Ok(Column { name: column.name().to_string(), values })
    }

    fn cell_at(&self, row: usize, place: usize) -> Result<Cell, TableError> {
        Ok(self.column_in(place).cell(row))
    }
}

/// The number of rows of columns with these names and lengths.
///
/// Errors: no column at all, a blank or repeated name, columns of different length.
pub(super) fn check_heads<'n>(heads: impl IntoIterator<Item = (&'n str, usize)>) -> Result<usize, TableError> {
    let mut heads = heads.into_iter().map(|(name, rows)| (name.trim(), rows)).enumerate().peekable();
    let Some((_, (first, expected))) = heads.peek().copied() else { return Err(TableError::NoColumns) };
    let mut seen = HashSet::new();
    for (index, (name, found)) in heads {
        if name.is_empty() {
            return Err(TableError::NoName { position: index + 1 });
        }
        if !seen.insert(name) {
            return Err(TableError::RepeatedName { name: name.to_string() });
        }
        if found != expected {
            return Err(TableError::UnequalLength { name: name.to_string(), found, first: first.to_string(), expected });
        }
    }
    Ok(expected)
}

/// The values as a column of the table library.
///
/// Errors: the evaluation is to end.
pub(super) fn frame_column(name: &str, values: &Values) -> Result<pl::Column, Ended> {
    limits::room_for(values.len().saturating_mul(BYTES_OF_A_VALUE))?;
    let name = pl::PlSmallStr::from_str(name);
    Ok(match values {
        Values::Quantities { si, .. } => {
            let finite: Vec<Option<f64>> = si.iter().map(|value| value.filter(|number| number.is_finite())).collect();
            pl::Series::new(name, finite).into_column()
        }
        Values::Texts(texts) => {
            let mut column = pl::StringChunkedBuilder::new(name, texts.len());
            let mut steps = Steps::default();
            for text in texts {
                steps.weigh(text.as_ref().map_or(0, String::len))?;
                column.append_option(text.as_deref());
            }
            column.finish().into_series().into_column()
        }
        Values::Flags(flags) => pl::Series::new(name, flags.as_slice()).into_column(),
        Values::Dates { ms, .. } => pl::Series::new(name, ms.as_slice()).into_column(),
    })
}

/// What a value takes in a table, and once more while its column is made.
const BYTES_OF_A_VALUE: usize = 24;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Preference, Quantity, dim};
    use crate::table::samples::{psi, q};
    use crate::told::Told;

    fn row(cells: &[(&str, Cell)]) -> Vec<(String, Cell)> {
        cells.iter().map(|(name, cell)| (name.to_string(), cell.clone())).collect()
    }

    #[test]
    fn rows_may_leave_out_columns_and_bring_new_ones() {
        let table = Table::from_rows(vec![
            row(&[("a", Cell::number(1.0))]),
            row(&[("b", psi(30.0)), ("a", Cell::number(2.0))]),
            row(&[("c", Cell::Missing)]),
        ])
        .expect("a table");
        assert_eq!(table.names(), ["a", "b", "c"]);
        assert_eq!(table.rows(), 3);
        assert_eq!(table.cell(0, "b").expect("a cell"), Cell::Missing);
        assert_eq!(table.cell(1, "b").expect("a cell"), psi(30.0));
        assert_eq!(table.row(2).expect("a row"), row(&[("a", Cell::Missing), ("b", Cell::Missing), ("c", Cell::Missing)]));
        assert!(table.kind("c").expect("a kind").fits(Column::numbers("x", []).kind()));
    }

    #[test]
    fn a_column_is_shown_as_its_first_value_was_written() {
        let rows = vec![row(&[("l", Cell::Missing)]), row(&[("l", q(1.0, "yd"))]), row(&[("l", q(1.0, "m"))])];
        let column = Table::from_rows(rows).expect("a table").column("l").expect("a column");
        assert_eq!(column.kind().unit_text(Default::default()).as_deref(), Some("yd"));
    }

    #[test]
    fn mixed_dimensions_are_refused_with_row_and_both_values() {
        let error = Table::from_rows(vec![row(&[("p", psi(30.0))]), row(&[("p", Cell::number(3.0))])]).unwrap_err();
        assert_eq!(error.to_string(), "column 'p' holds 30 psi (a pressure), but row 1 gives 3 (a plain number)");
        let error = Table::from_rows(vec![row(&[("p", true.into())]), row(&[("p", "dry".into())])]).unwrap_err();
        assert_eq!(error.to_string(), "column 'p' holds true (a boolean), but row 1 gives 'dry' (a string)");
    }

    #[test]
    fn a_name_twice_in_a_row_is_refused() {
        let error = Table::from_rows(vec![row(&[("a", true.into()), (" a", true.into())])]).unwrap_err();
        assert_eq!(error.to_string(), "row 0 gives column 'a' twice");
    }

    #[test]
    fn numbers_that_are_not_finite_become_missing() {
        let column = Column::numbers("x", [1.0, f64::NAN, f64::INFINITY]);
        let table = Table::new(vec![column]).expect("a table");
        let expected =
            Values::Quantities { si: vec![Some(1.0), None, None], dimension: dim::NUMBER, preference: Preference::Usual };
        assert_eq!(table.column("x").expect("a column").values, expected);
    }

    #[test]
    fn bad_columns_are_refused_with_their_names() {
        let texts = |name: &str, n: usize| Column::texts(name, vec!["a"; n]);
        let message = |columns| Table::new(columns).unwrap_err().to_string();
        assert_eq!(message(vec![]), "a table needs at least one column");
        assert_eq!(message(vec![texts("a", 1), texts("  ", 1)]), "column 2 of the table has no name");
        assert_eq!(message(vec![texts("a", 1), texts("a ", 1)]), "two columns are named 'a'");
        assert_eq!(message(vec![texts("a", 1), texts("b", 2)]), "column 'b' has 2 rows, but column 'a' has 1");
    }

    #[test]
    fn an_unknown_column_names_the_nearest() {
        let table = Table::new(vec![Column::numbers("berry.pressure", [1.0]), Column::numbers("bed", [1.0])]).expect("a table");
        let error = table.column("bery.pressure").unwrap_err();
        assert_eq!(error.to_string(), "no column 'bery.pressure' in this table");
        assert_eq!(error.hint().as_deref(), Some("did you mean berry.pressure?"));
        assert_eq!(table.kind("zzz").unwrap_err().hint().as_deref(), Some("the columns are berry.pressure, bed"));
        assert_eq!(table.cell(1, "bed").unwrap_err().to_string(), "no row 1 in this table of 1 rows");
    }

    #[test]
    fn a_cell_carries_the_preference_of_its_column() {
        let table = Table::from_rows(vec![row(&[("p", psi(30.0))])]).expect("a table");
        let Cell::Quantity(Quantity { preference: Preference::Written(unit), .. }) = table.cell(0, "p").expect("a cell") else {
            panic!("a written quantity was expected");
        };
        assert_eq!(unit.symbol, "psi");
    }
}
