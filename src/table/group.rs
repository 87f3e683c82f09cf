//! Grouping rows by the values of columns.
//!
//! Written here since the grouping of the table library has no fixed order and distinguishes numbers that differ in the last bit.

use super::twelve_digits;
use super::{Aggregate, Cell, ColumnKind, Table, TableColumn, TableError};
use crate::limits::{self, Steps};
use foldhash::fast::RandomState;
use std::collections::HashMap;

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
        let mut table = self.select(by)?.rows_at(&first_rows)?.with_keys(by.iter().copied());
        let order: Vec<Option<usize>> = groups.iter().flatten().map(|row| Some(*row)).collect();
        for (name, column, aggregate) in wanted {
            if table.place(name).is_ok() {
                return Err(TableError::RepeatedName { name: name.to_string() });
            }
            let only = self.select(&[column])?;
            let sorted = Table::made(only.take(&order)?, only.kinds.clone()).column_in(0);
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
        self.rows_at(&first_of_each(&group_numbers(&[self], names)?))
    }

    /// The rows of each group, in the order in which the groups first appear.
    pub(super) fn group_rows(&self, names: &[&str]) -> Result<Vec<Vec<usize>>, TableError> {
        let numbers = group_numbers(&[self], names)?;
        let mut sizes: Vec<usize> = Vec::new();
        for group in &numbers {
            match sizes.get_mut(*group as usize) {
                Some(size) => *size += 1,
                None => sizes.push(1),
            }
        }
        limits::room_for(self.rows().saturating_mul(size_of::<usize>()))?;
        let mut groups: Vec<Vec<usize>> = sizes.into_iter().map(Vec::with_capacity).collect();
        let mut steps = Steps::default();
        for (row, group) in numbers.into_iter().enumerate() {
            steps.step()?;
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
    let mut n_groups = 1;
    let mut steps = Steps::default();
    for name in names {
        let parts = tables.iter().map(|table| table.series(name)).collect::<Result<Vec<_>, _>>()?;
        let values = value_numbers(&parts)?;
        let n_values = values.iter().max().map_or(1, |most| *most as usize + 1);
        let mut numbers = Numbers::of(n_groups, n_values, rows)?;
        for (group, value) in groups.iter_mut().zip(values) {
            steps.step()?;
            *group = numbers.number(*group as usize * n_values + value as usize);
        }
        n_groups = numbers.next as usize;
    }
    Ok(groups)
}

/// The first row of each group, from the numbers of the groups of all rows.
pub(super) fn first_of_each(groups: &[u32]) -> Vec<usize> {
    let mut next = 0;
    let is_new = |group: u32| {
        let new = group == next;
        next += u32::from(new);
        new
    };
    groups.iter().copied().map(is_new).enumerate().filter_map(|(row, new)| new.then_some(row)).collect()
}

/// Numbers pairs of a group and a value in the order in which they first appear.
struct Numbers {
    /// For each pair its number and one, where there are few pairs.
    dense: Vec<u32>,
    sparse: HashMap<usize, u32, RandomState>,
    next: u32,
}

/// Pairs for each row that are worth a place each.
const PLACES_OF_A_ROW: usize = 4;
/// Pairs that are in any case.
const FEW_PAIRS: usize = 1024;

impl Numbers {
    fn of(groups: usize, values: usize, rows: usize) -> Result<Numbers, TableError> {
        let pairs = groups.saturating_mul(values);
        let places = if pairs <= rows.saturating_mul(PLACES_OF_A_ROW).max(FEW_PAIRS) { pairs } else { 0 };
        limits::room_for(places.saturating_mul(size_of::<u32>()))?;
        Ok(Numbers { dense: vec![0; places], sparse: HashMap::default(), next: 0 })
    }

    fn number(&mut self, pair: usize) -> u32 {
        let next = &mut self.next;
        let mut new = || {
            *next += 1;
            *next
        };
        match self.dense.get_mut(pair) {
            Some(0) => {
                self.dense[pair] = new();
                self.dense[pair] - 1
            }
            Some(number) => *number - 1,
            None => *self.sparse.entry(pair).or_insert_with(|| new() - 1),
        }
    }
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
    let mut digits: HashMap<u64, u32, RandomState> = HashMap::default();
    let mut texts: HashMap<&str, u32, RandomState> = HashMap::default();
    let mut dates: HashMap<i64, u32, RandomState> = HashMap::default();
    let mut of_number = |value: f64| {
        let next = digits.len() as u32 + 1;
        // 0.1 + 0.2 and 0.3 are the same.
        *digits.entry(twelve_digits::key(value)).or_insert(next)
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
