//! Many tables under each other: the pieces of a sweep, or of a study that ran in parts.

use super::{ColumnKind, Table, TableError};
use crate::limits;
use polars::prelude as pl;
use polars::prelude::IntoColumn;

impl Table {
    /// The rows of all tables, one under the other. Columns come in the order in which they first appear; one that a table
    /// has not is missing there. A column without any value in a table takes the kind it has elsewhere.
    ///
    /// Errors: no table at all, a column of two dimensions or kinds.
    pub fn stacked(tables: &[Table]) -> Result<Table, TableError> {
        let first = tables.first().ok_or(TableError::NoColumns)?;
        if tables.iter().all(|table| table.kinds == first.kinds && table.names() == first.names()) {
            let mut frame = first.frame.clone();
            limits::room_for(tables.iter().map(|table| table.rows() * table.kinds.len() * size_of::<f64>()).sum())?;
            for table in &tables[1..] {
                limits::go_on()?;
                frame.vstack_mut(&table.frame)?;
            }
            frame.rechunk_mut();
            return Ok(Table::made(frame, first.kinds.clone()).with_keys(first.keys.clone()));
        }
        let model = model(tables)?;
        let mut alike = Vec::with_capacity(tables.len());
        for table in tables {
            alike.push(table.shaped(&model)?);
        }
        Table::stacked(&alike)
    }

    /// True when no row has a value in that column. Errors: unknown column.
    pub fn is_all_missing(&self, name: &str) -> Result<bool, TableError> {
        let column = &self.frame.columns()[self.place(name)?];
        Ok(column.null_count() == column.len())
    }

    /// The same rows with these columns; a column that is not there, or is there without any value, is missing.
    fn shaped(&self, model: &[(String, ColumnKind)]) -> Result<Table, TableError> {
        let mut parts = Vec::with_capacity(model.len());
        for (name, kind) in model {
            let there = self.place(name).is_ok() && self.kind(name)?.fits(*kind);
            parts.push(if there {
                self.frame.columns()[self.place(name)?].clone()
            } else {
                let dtype = match kind {
                    ColumnKind::Quantity { .. } => pl::DataType::Float64,
                    ColumnKind::Text => pl::DataType::String,
                    ColumnKind::Flag => pl::DataType::Boolean,
                    ColumnKind::Date { .. } => pl::DataType::Int64,
                };
                pl::Series::full_null(pl::PlSmallStr::from_str(name), self.rows(), &dtype).into_column()
            });
        }
        let frame = pl::DataFrame::new(self.rows(), parts)?;
        Ok(Table::made(frame, model.iter().map(|(_, kind)| *kind).collect()).with_keys(self.keys.clone()))
    }
}

/// Names and kinds of the columns of all tables.
fn model(tables: &[Table]) -> Result<Vec<(String, ColumnKind)>, TableError> {
    let mut model: Vec<(String, ColumnKind, bool)> = Vec::new();
    for table in tables {
        for name in table.names() {
            let (kind, empty) = (table.kind(&name)?, table.is_all_missing(&name)?);
            match model.iter_mut().find(|(known, ..)| *known == name) {
                None => model.push((name, kind, empty)),
                Some((_, known, known_empty)) if *known_empty && !empty => (*known, *known_empty) = (kind, false),
                Some((_, known, _)) if !empty && !known.fits(kind) => {
                    return Err(TableError::DifferentKinds { column: name, left: known.to_string(), right: kind.to_string() });
                }
                Some(_) => {}
            }
        }
    }
    Ok(model.into_iter().map(|(name, kind, _)| (name, kind)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::{sweep, unit};
    use crate::table::{Cell, Column};

    #[test]
    fn pieces_of_a_table_make_the_table_again() {
        let pieces = [sweep().head(1), sweep().head(3).tail(2), sweep().tail(3)];
        assert_eq!(Table::stacked(&pieces).expect("a table"), sweep());
    }

    #[test]
    fn columns_that_one_piece_lacks_are_missing_there() {
        let a = Table::new(vec![Column::written("l", [1.0], unit("ft"))]).expect("a table");
        let b = Table::new(vec![Column::texts("t", ["x"]), Column::numbers("l", [f64::NAN])]).expect("a table");
        let both = Table::stacked(&[b.clone(), a.clone()]).expect("a table");
        assert_eq!(both.names(), ["t", "l"]);
        assert_eq!(both.cell(1, "t").expect("a cell"), Cell::Missing);
        assert_eq!(both.cell(1, "l").expect("a cell").show(Default::default()), "1 ft");
        let c = Table::new(vec![Column::written("l", [1.0], unit("psi"))]).expect("a table");
        let error = Table::stacked(&[a, c]).unwrap_err();
        assert_eq!(error.to_string(), "column 'l' holds a length in one table and a pressure in the other");
    }
}
