//! Turning a long table into a wide one: one line for each value of a column, one column for each value of another.

use super::group::group_numbers;
use super::{Cell, Column, ColumnKind, Table, TableError, Values, check_size};
use crate::limits;
use crate::quantity::{UnitSystem, show_number_with};
use std::collections::HashSet;

/// What a cell takes while a column is made: the row chosen for it, its value, and its place in the table.
const BYTES_OF_A_CELL: usize = 40;

impl Table {
    /// A wide table: a row for each value of the column `rows`, a column for each value of the column `columns`, and in it
    /// the value of the column `values`; missing where the pair does not occur.
    ///
    /// Rows and columns come in the order of first appearance. The new columns are named by their value as shown, such as
    /// `0.625 in`; the value of a flag is shown as yes or no, and missing as `-`.
    /// Errors: unknown column, a pair that occurs twice, a value whose name is blank or taken by the column `rows`.
    pub fn pivot(&self, rows: &str, columns: &str, values: &str) -> Result<Table, TableError> {
        let row_groups = self.group_rows(&[rows])?;
        let column_groups = self.group_rows(&[columns])?;
        let lines = group_numbers(&[self], &[rows])?;
        let source = self.column(values)?;
        check_size(row_groups.len(), column_groups.len() + 1)?;
        let heads = column_names(&self.column(columns)?, &column_groups.iter().map(|held| held[0]).collect::<Vec<_>>());

        let first_rows: Vec<usize> = row_groups.iter().map(|held| held[0]).collect();
        let names = self.select(&[rows])?.rows_at(&first_rows)?;
        let mut wide = Vec::with_capacity(column_groups.len());
        for (held, head) in column_groups.iter().zip(heads) {
            limits::room_for(row_groups.len().saturating_mul(BYTES_OF_A_CELL))?;
            let mut chosen: Vec<Option<usize>> = vec![None; row_groups.len()];
            for row in held.iter().copied() {
                let line = lines[row] as usize;
                if let Some(first) = chosen[line].replace(row) {
                    let pair = format!("{}, {head}", self.cell(row, rows)?.show(UnitSystem::AsWritten));
                    let (rows, columns) = (rows.to_string(), columns.to_string());
                    return Err(TableError::SeveralValues { values: pair, rows, columns, first, second: row });
                }
            }
            wide.push(Column { name: head, values: source.values.at(&chosen) });
        }
        names.with_all(wide)
    }
}

impl Values {
    /// The values at these rows; nothing gives a missing value.
    fn at(&self, rows: &[Option<usize>]) -> Values {
        fn pick<T: Clone>(values: &[Option<T>], rows: &[Option<usize>]) -> Vec<Option<T>> {
            rows.iter().map(|row| row.and_then(|row| values.get(row).cloned().flatten())).collect()
        }
        match self {
            Values::Quantities { si, dimension, preference } => {
                Values::Quantities { si: pick(si, rows), dimension: *dimension, preference: *preference }
            }
            Values::Texts(texts) => Values::Texts(pick(texts, rows)),
            Values::Flags(flags) => Values::Flags(pick(flags, rows)),
            Values::Dates { ms, clock } => Values::Dates { ms: pick(ms, rows), clock: *clock },
        }
    }
}

/// Names for the values of a column at these rows: as shown, with more digits where two would look alike.
fn column_names(column: &Column, rows: &[usize]) -> Vec<String> {
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
    use crate::table::samples::{sweep, unit};

    #[test]
    fn a_long_table_becomes_a_wide_one() {
        let wide = sweep().pivot("feed.length", "feed.diameter", "berry.pressure").expect("a table");
        let expected = Table::new(vec![
            Column::written("feed.length", [50.0, 100.0, 150.0], unit("ft")),
            Column::quantities("0.75 in", [3.1e5, 2.62e5, 2.204e5].map(Some), dim::PRESSURE, Preference::Usual),
            Column::quantities("0.625 in", [Some(2.9e5), Some(1.95e5), None], dim::PRESSURE, Preference::Usual),
        ])
        .expect("a table");
        assert_eq!(wide, expected);
    }

    #[test]
    fn a_pair_that_occurs_twice_is_refused() {
        let error =
            sweep().append(&sweep().tail(1)).expect("a table").pivot("feed.length", "feed.diameter", "remark").unwrap_err();
        assert_eq!(error.to_string(), "rows 5 and 6 both give '150 ft, 0.625 in' for feed.length and feed.diameter");
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
