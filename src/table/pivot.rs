//! Turning a long table into a wide one: one line for each value of a column, one column for each value of another.

use super::group::{first_of_each, group_numbers};
use super::{Cell, ColumnKind, Table, TableColumn, TableError, check_size};
use crate::limits::{self, Steps};
use crate::quantity::{UnitSystem, show_number_with};
use polars::prelude as pl;
use std::collections::HashSet;

/// What a cell takes while a column is made: the row chosen for it, its value, and its place in the table.
const BYTES_OF_A_CELL: usize = 40;

impl Table {
    /// A wide table: a row for each value of the column `rows`, a column for each value of the column `columns`, and in it
    /// the value of the column `values`; missing where the pair does not occur.
    ///
    /// Rows and columns come in the order of first appearance. The new columns are named by their value as shown, such as
    /// `5/8 in`; the value of a flag is shown as yes or no, and missing as `-`.
    /// Errors: unknown column, a pair that occurs twice, a value whose name is blank or taken by the column `rows`.
    pub fn pivot(&self, rows: &str, columns: &str, values: &str) -> Result<Table, TableError> {
        let (lines, places) = (group_numbers(&[self], &[rows])?, group_numbers(&[self], &[columns])?);
        let (first_rows, first_columns) = (first_of_each(&lines), first_of_each(&places));
        check_size(first_rows.len(), first_columns.len() + 1)?;
        limits::room_for(first_rows.len().saturating_mul(first_columns.len()).saturating_mul(BYTES_OF_A_CELL))?;
        let heads = column_names(&self.series(columns)?, &first_columns);
        // The row of each cell, column after column.
        let mut chosen: Vec<Option<pl::IdxSize>> = vec![None; first_rows.len() * first_columns.len()];
        let mut steps = Steps::default();
        for (row, (line, place)) in lines.into_iter().zip(places).enumerate() {
            steps.step()?;
            let cell = &mut chosen[place as usize * first_rows.len() + line as usize];
            if let Some(first) = cell.replace(row as pl::IdxSize) {
                let pair = format!("{}, {}", self.cell(row, rows)?.show(UnitSystem::AsWritten), heads[place as usize]);
                let (rows, columns, first) = (rows.to_string(), columns.to_string(), first as usize);
                return Err(TableError::SeveralValues { values: pair, rows, columns, first, second: row });
            }
        }
        let source = self.series(values)?;
        let wide = heads.into_iter().zip(chosen.chunks(first_rows.len().max(1))).map(|(head, rows)| Ok((head, source.at(rows)?)));
        let wide = wide.collect::<Result<Vec<_>, TableError>>()?;
        self.select(&[rows])?.rows_at(&first_rows)?.with_all(wide)
    }
}

/// Names for the values of a column at these rows: as shown, with more digits where two would look alike.
fn column_names(column: &TableColumn, rows: &[usize]) -> Vec<String> {
    let shown: Vec<String> = rows.iter().map(|row| column.cell(*row).show(UnitSystem::AsWritten)).collect();
    if shown.iter().collect::<HashSet<_>>().len() == shown.len() {
        return shown;
    }
    let kind: ColumnKind = column.kind();
    let full = |row: &usize| match column.cell(*row) {
        Cell::Quantity(quantity) => {
            let number = show_number_with(kind.shown_value(quantity.si, UnitSystem::AsWritten), 12);
            kind.unit_text(UnitSystem::AsWritten).map_or_else(|| number.clone(), |unit| format!("{number} {unit}"))
        }
        other => other.show(UnitSystem::AsWritten),
    };
    rows.iter().map(full).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Preference, dim};
    use crate::table::Column;
    use crate::table::samples::{sweep, unit};

    #[test]
    fn a_long_table_becomes_a_wide_one() {
        let wide = sweep().pivot("feed.length", "feed.diameter", "berry.pressure").expect("a table");
        let expected = Table::new(vec![
            Column::written("feed.length", [50.0, 100.0, 150.0], unit("ft")),
            Column::quantities("3/4 in", [3.1e5, 2.62e5, 2.204e5].map(Some), dim::PRESSURE, Preference::Usual),
            Column::quantities("5/8 in", [Some(2.9e5), Some(1.95e5), None], dim::PRESSURE, Preference::Usual),
        ])
        .expect("a table");
        assert_eq!(wide, expected);
    }

    #[test]
    fn a_pair_that_occurs_twice_is_refused() {
        let error =
            sweep().append(&sweep().tail(1)).expect("a table").pivot("feed.length", "feed.diameter", "remark").unwrap_err();
        assert_eq!(error.to_string(), "rows 5 and 6 both give '150 ft, 5/8 in' for feed.length and feed.diameter");
    }

    #[test]
    fn values_that_look_alike_are_named_in_full() {
        let table = Table::new(vec![
            Column::texts("zone", ["a", "a"]),
            Column::numbers("x", [1.00001, 1.00002]),
            Column::flags("ok", [true, false]),
        ])
        .expect("a table");
        assert_eq!(table.pivot("zone", "x", "ok").expect("a table").names(), ["zone", "1.00001", "1.00002"]);
    }
}
