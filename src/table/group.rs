//! Grouping rows by the values of columns.
//!
//! Written here since the grouping of the table library has no fixed order and distinguishes numbers that differ in the last bit.

use super::{Aggregate, Cell, ColumnKind, Table, TableColumn, TableError};
use crate::limits::{self, Steps};
use std::collections::HashMap;

/// The number with twelve significant digits.
fn twelve_digits(value: f64) -> f64 {
    // Adding zero turns -0 into 0.
    format!("{:.11e}", value + 0.0).parse().unwrap_or(value)
}

/// A column of a grouped table: its name, the column it comes from, and what is asked of that.
pub type Wanted<'a> = (&'a str, &'a str, Aggregate);

impl Table {
    /// One table for each value of a column, in the order in which the values first appear; rows keep their order.
    ///
    /// Numbers that agree in twelve digits belong together, and so do rows without a value. Errors: unknown column.
    pub fn group_by(&self, name: &str) -> Result<Vec<(Cell, Table)>, TableError> {
        self.groups(&[name])?.into_iter().map(|group| Ok((group.cell(0, name)?, group))).collect()
    }

    /// One table for each different set of values of some columns, as in [`Table::group_by`]. Errors: unknown column, no column.
    pub fn groups(&self, names: &[&str]) -> Result<Vec<Table>, TableError> {
        let group = |rows: Vec<usize>| {
            limits::go_on()?;
            self.rows_at(&rows)
        };
        self.group_rows(names)?.into_iter().map(group).collect()
    }

    /// A row for each different set of values of some columns, as in [`Table::group_by`], with aggregates of the rows that have it.
    ///
    /// Errors: unknown column, a name twice, an aggregate that the column has not.
    pub fn aggregated(&self, by: &[&str], wanted: &[Wanted]) -> Result<Table, TableError> {
        let groups = self.group_rows(by)?;
        let first_rows: Vec<usize> = groups.iter().map(|rows| rows[0]).collect();
        let mut table = self.select(by)?.rows_at(&first_rows)?;
        let order: Vec<Option<usize>> = groups.iter().flatten().map(|row| Some(*row)).collect();
        for (name, column, aggregate) in wanted {
            if table.place(name).is_ok() {
                return Err(TableError::RepeatedName { name: name.to_string() });
            }
            let only = self.select(&[column])?;
            let sorted = Table { frame: only.take(&order)?, kinds: only.kinds }.column_in(0);
            let mut start = 0;
            let cells = groups.iter().map(|rows| {
                limits::go_on()?;
                start += rows.len();
                sorted.part(start - rows.len(), rows.len()).aggregate(*aggregate)
            });
            let cells: Vec<Cell> = cells.collect::<Result<_, TableError>>()?;
            table = table.with_series(name, &TableColumn::of_cells_like(name, cells, &sorted)?)?;
        }
        Ok(table)
    }

    /// The first row of each different set of values of some columns, as in [`Table::group_by`]. Errors: unknown column.
    pub fn distinct(&self, names: &[&str]) -> Result<Table, TableError> {
        let first_rows: Vec<usize> = self.group_rows(names)?.iter().map(|rows| rows[0]).collect();
        self.rows_at(&first_rows)
    }

    /// The row numbers of each group, never empty, in the order of first appearance.
    pub(super) fn group_rows(&self, names: &[&str]) -> Result<Vec<Vec<usize>>, TableError> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut steps = Steps::default();
        for (row, group) in group_numbers(&[self], names)?.into_iter().enumerate() {
            steps.step()?;
            if group as usize == groups.len() {
                groups.push(Vec::new());
            }
            groups[group as usize].push(row);
        }
        Ok(groups)
    }
}

/// The number of the group of each row of all tables, one table after the other; groups are numbered in the order of first appearance.
///
/// Errors: unknown column, a column of two dimensions or kinds.
pub(super) fn group_numbers(tables: &[&Table], names: &[&str]) -> Result<Vec<u32>, TableError> {
    if names.is_empty() {
        return Err(TableError::NoColumns);
    }
    let rows = tables.iter().map(|table| table.rows()).sum();
    limits::room_for(usize::saturating_mul(rows, 2 * size_of::<u32>()))?;
    let mut groups: Vec<u32> = vec![0; rows];
    let mut steps = Steps::default();
    for name in names {
        let parts = tables.iter().map(|table| table.series(name)).collect::<Result<Vec<_>, _>>()?;
        let mut seen: HashMap<(u32, u32), u32> = HashMap::new();
        for (group, value) in groups.iter_mut().zip(value_numbers(&parts)?) {
            steps.step()?;
            let next = seen.len() as u32;
            *group = *seen.entry((*group, value)).or_insert(next);
        }
    }
    Ok(groups)
}

/// A number for each cell of some columns, one column after the other: the same for values that count as the same, 0 for missing.
///
/// Errors: columns of two dimensions or kinds.
pub(super) fn value_numbers(parts: &[TableColumn]) -> Result<Vec<u32>, TableError> {
    let mut numbers = Vec::with_capacity(parts.iter().map(TableColumn::len).sum());
    let mut steps = Steps::default();
    if let Some((first, other)) = parts.iter().find_map(|part| (!part.kind().fits(parts[0].kind())).then_some((&parts[0], part)))
    {
        let (left, right) = (first.kind().to_string(), other.kind().to_string());
        return Err(TableError::DifferentKinds { column: first.name().to_string(), left, right });
    }
    // The bits of a number, then those of its twelve digits, so that 0.1 + 0.2 and 0.3 are the same.
    let (mut bits, mut digits) = (HashMap::new(), HashMap::new());
    let (mut texts, mut dates) = (HashMap::new(), HashMap::new());
    let mut of_number = |value: f64| {
        *bits.entry(value.to_bits()).or_insert_with(|| {
            let next = digits.len() as u32 + 1;
            *digits.entry(twelve_digits(value).to_bits()).or_insert(next)
        })
    };
    for part in parts {
        match part.kind() {
            ColumnKind::Quantity { .. } => {
                for value in part.values().f64()?.iter() {
                    steps.step()?;
                    numbers.push(value.map_or(0, &mut of_number));
                }
            }
            ColumnKind::Text => {
                for text in part.values().str()?.iter() {
                    steps.step()?;
                    let next = texts.len() as u32 + 1;
                    numbers.push(text.map_or(0, |text| *texts.entry(text).or_insert(next)));
                }
            }
            ColumnKind::Date { .. } => {
                for ms in part.values().i64()?.iter() {
                    steps.step()?;
                    let next = dates.len() as u32 + 1;
                    numbers.push(ms.map_or(0, |ms| *dates.entry(ms).or_insert(next)));
                }
            }
            ColumnKind::Flag => {
                numbers.extend(part.values().bool()?.iter().map(|flag| flag.map_or(0, |flag| 1 + u32::from(flag))))
            }
        }
    }
    Ok(numbers)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;
    use crate::table::samples::{q, sweep};
    use proptest::prelude::*;

    #[test]
    fn groups_come_in_order_of_appearance_and_keep_row_order() {
        let groups = sweep().group_by("remark").expect("groups");
        let keys: Vec<&Cell> = groups.iter().map(|(key, _)| key).collect();
        assert_eq!(keys, [&Cell::Missing, &"fair".into(), &"weak".into(), &"dry".into()]);
        let weak = groups[2].1.column("feed.diameter").expect("a column");
        assert_eq!(weak.cells().collect::<Vec<_>>(), [q(0.75, "inch"), q(0.625, "inch")]);
    }

    #[test]
    fn zero_and_minus_zero_are_one_group() {
        let table = Table::new(vec![Column::numbers("x", [0.0, -0.0, 1e-9])]).expect("a table");
        assert_eq!(table.group_by("x").expect("groups").len(), 2);
    }

    #[test]
    fn an_empty_table_has_no_groups() {
        assert!(sweep().head(0).group_by("remark").expect("groups").is_empty());
    }

    proptest! {
        #[test]
        fn groups_hold_every_row_once(keys in proptest::collection::vec("[abc]", 0..40)) {
            let numbers = Column::numbers("row", (0..keys.len()).map(|row| row as f64));
            let table = Table::new(vec![Column::texts("key", keys.clone()), numbers]).expect("a table");
            let mut rows: Vec<String> = Vec::new();
            for (key, group) in table.group_by("key").expect("groups") {
                for row in 0..group.rows() {
                    prop_assert_eq!(&group.cell(row, "key").expect("a cell"), &key);
                    rows.push(group.cell(row, "row").expect("a cell").show(Default::default()));
                }
            }
            let mut expected: Vec<String> = (0..keys.len()).map(|row| row.to_string()).collect();
            rows.sort();
            expected.sort();
            prop_assert_eq!(rows, expected);
        }
    }
}
