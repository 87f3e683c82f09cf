//! Choosing, naming, adding and replacing columns.

use super::build::frame_column;
use super::{Column, ColumnKind, Table, TableColumn, TableError, check_size};
use crate::limits;
use crate::thread_pool::all_of;
use polars::prelude as pl;
use std::collections::HashSet;
use std::sync::{Mutex, PoisonError};

impl Table {
    /// Only these columns, in this order. Errors: unknown column, none at all, one twice.
    pub fn select(&self, names: &[&str]) -> Result<Table, TableError> {
        let places: Vec<usize> = names.iter().map(|name| self.place(name)).collect::<Result<_, _>>()?;
        self.at_places(&places)
    }

    /// All columns but these. Errors: unknown column, none left.
    pub fn without(&self, names: &[&str]) -> Result<Table, TableError> {
        let dropped: Vec<usize> = names.iter().map(|name| self.place(name)).collect::<Result<_, _>>()?;
        let dropped: HashSet<usize> = dropped.into_iter().collect();
        let places: Vec<usize> = (0..self.kinds.len()).filter(|place| !dropped.contains(place)).collect();
        self.at_places(&places)
    }

    /// The same table with one column under another name. Errors: unknown column, blank or taken new name.
    pub fn renamed(&self, from: &str, to: &str) -> Result<Table, TableError> {
        let place = self.place(from)?;
        let to = to.trim();
        if to.is_empty() {
            return Err(TableError::NoName { position: place + 1 });
        }
        if self.place(to).is_ok_and(|taken| taken != place) {
            return Err(TableError::RepeatedName { name: to.to_string() });
        }
        let mut renamed = self.clone();
        renamed.frame.rename(from.trim(), to.into())?;
        renamed.keys.iter_mut().filter(|key| *key == from.trim()).for_each(|key| *key = to.into());
        Ok(renamed)
    }

    /// The same table with one column more, or with the column of that name replaced where it stands.
    ///
    /// Errors: another number of rows, a blank name.
    pub fn with(&self, column: Column) -> Result<Table, TableError> {
        self.with_column(&column.name, frame_column(&column.name, &column.values)?, column.kind())
    }

    pub(super) fn with_column(&self, name: &str, mut column: pl::Column, kind: ColumnKind) -> Result<Table, TableError> {
        let name = name.trim();
        if name.is_empty() {
            return Err(TableError::NoName { position: self.kinds.len() + 1 });
        }
        if column.len() != self.rows() {
            return Err(TableError::UnequalLength {
                name: name.to_string(),
                found: column.len(),
                first: self.names().into_iter().next().unwrap_or_default(),
                expected: self.rows(),
            });
        }
        let mut wider = self.clone();
        match self.place(name) {
            Ok(place) => wider.kinds[place] = kind,
            Err(_) => wider.kinds.push(kind),
        }
        column.rename(name.into());
        wider.frame.with_column(column)?;
        Ok(wider)
    }

    /// The same table with these columns after its own, made by that many threads.
    ///
    /// Errors: another number of rows, a blank name, a name that is taken; the evaluation is to end.
    pub fn beside(&self, columns: Vec<Column>, threads: usize) -> Result<Table, TableError> {
        let n = columns.len();
        let columns: Vec<_> = columns.into_iter().map(|column| Mutex::new(Some(column))).collect();
        let made = all_of(Some(threads), n, |place| {
            let column = columns[place].lock().unwrap_or_else(PoisonError::into_inner).take()?;
            Some(TableColumn::of_column(&column).map(|made| (column.name, made)))
        });
        let made: Vec<_> = made.into_iter().flatten().collect::<Result<_, _>>()?;
        limits::go_on()?;
        self.with_all(made)
    }

    /// The same table with further columns after its own.
    ///
    /// Errors: another number of rows, a blank name, a name that is taken.
    pub(super) fn with_all(&self, columns: Vec<(String, TableColumn)>) -> Result<Table, TableError> {
        let rows = self.rows();
        let first = self.names().into_iter().next().unwrap_or_default();
        let mut taken: HashSet<String> = self.names().into_iter().collect();
        let mut wider = self.clone();
        let mut parts = self.frame.columns().to_vec();
        for (name, column) in &columns {
            limits::go_on()?;
            let name = name.trim();
            if name.is_empty() {
                return Err(TableError::NoName { position: parts.len() + 1 });
            }
            if column.len() != rows {
                let (name, found) = (name.to_string(), column.len());
                return Err(TableError::UnequalLength { name, found, first, expected: rows });
            }
            if !taken.insert(name.to_string()) {
                return Err(TableError::RepeatedName { name: name.to_string() });
            }
            wider.kinds.push(column.kind());
            parts.push(pl::Column::from(column.values().clone().with_name(name.into())));
        }
        wider.frame = pl::DataFrame::new(rows, parts)?;
        Ok(wider)
    }

    /// A long table of a wide one: a row for each cell of the columns that are not kept, with the name of its column in the column
    /// `names` and the cell in the column `values`, column after column.
    ///
    /// Errors: unknown column, no column that is not kept, columns of two dimensions or kinds, a name that is taken.
    pub fn unpivot(&self, kept: &[&str], names: &str, values: &str) -> Result<Table, TableError> {
        let kept_places: HashSet<usize> = kept.iter().map(|name| self.place(name)).collect::<Result<_, _>>()?;
        let others: Vec<usize> = (0..self.kinds.len()).filter(|place| !kept_places.contains(place)).collect();
        check_size(self.rows().saturating_mul(others.len()), kept.len() + 2)?;
        let mut parts = Vec::with_capacity(others.len());
        for series in others.into_iter().map(|place| self.column_in(place)) {
            limits::go_on()?;
            let mut columns =
                kept.iter().map(|name| Ok((name.to_string(), self.series(name)?))).collect::<Result<Vec<_>, TableError>>()?;
            let name = Column::texts(names, vec![series.name(); self.rows()]);
            columns.push((names.to_string(), TableColumn::of_column(&name)?));
            columns.push((values.to_string(), series));
            parts.push(Table::of_series(columns)?);
        }
        Table::stacked(&parts)
    }

    fn at_places(&self, places: &[usize]) -> Result<Table, TableError> {
        if places.is_empty() {
            return Err(TableError::NoColumns);
        }
        let names = self.names();
        let chosen: Vec<&str> = places.iter().map(|place| names[*place].as_str()).collect();
        let mut seen = HashSet::new();
        if let Some(name) = chosen.iter().find(|name| !seen.insert(**name)) {
            return Err(TableError::RepeatedName { name: name.to_string() });
        }
        let kinds = places.iter().map(|place| self.kinds[*place]).collect();
        Ok(Table::made(self.frame.select(chosen)?, kinds).with_keys(self.keys.clone()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::{sweep, unit};
    use crate::told::Told;

    #[test]
    fn selected_columns_keep_their_units() {
        let table = sweep().select(&["berry.pressure", "feed.length"]).expect("a table");
        assert_eq!(table.names(), ["berry.pressure", "feed.length"]);
        assert_eq!(table.kind("feed.length").expect("a kind").unit_text(Default::default()).as_deref(), Some("ft"));
        assert!(matches!(sweep().select(&["remark", "remark"]), Err(TableError::RepeatedName { .. })));
        assert!(matches!(sweep().select(&[]), Err(TableError::NoColumns)));
        assert!(matches!(sweep().select(&["nothing"]), Err(TableError::UnknownColumn { .. })));
    }

    #[test]
    fn left_out_columns_must_exist() {
        let table = sweep().without(&["remark", "feed.diameter"]).expect("a table");
        assert_eq!(table.names(), ["feed.length", "berry.pressure", "enough"]);
        let hint = sweep().without(&["remarks"]).unwrap_err().hint();
        assert_eq!(hint.as_deref(), Some("did you mean remark?"));
    }

    #[test]
    fn a_column_is_renamed_but_not_onto_another() {
        let table = sweep().renamed("remark", "note").expect("a table");
        assert_eq!(table.names()[3], "note");
        assert_eq!(table.kind("note").expect("a kind"), sweep().kind("remark").expect("a kind"));
        assert!(matches!(sweep().renamed("remark", "enough"), Err(TableError::RepeatedName { .. })));
        assert!(matches!(sweep().renamed("remark", " "), Err(TableError::NoName { .. })));
        assert_eq!(sweep().renamed("remark", "remark").expect("the same"), sweep());
    }

    #[test]
    fn a_new_column_comes_last_and_a_known_one_is_replaced_in_place() {
        let wider = sweep().with(Column::written("cost", [1.0; 6], unit("USD"))).expect("a table");
        assert_eq!(wider.names()[5], "cost");
        let changed = wider.with(Column::written("feed.diameter", [1.0; 6], unit("cm"))).expect("a table");
        assert_eq!(changed.names(), wider.names());
        assert_eq!(changed.cell(0, "feed.diameter").expect("a cell").show(Default::default()), "1 cm");
        let error = sweep().with(Column::numbers("x", [1.0])).unwrap_err();
        assert_eq!(error.to_string(), "column 'x' has 1 rows, but column 'feed.length' has 6");
    }
}
