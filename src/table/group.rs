//! Grouping rows by the values of a column.
//!
//! Written here since the grouping of the table library has no fixed order and distinguishes numbers that differ in the last bit.

use super::{Cell, Column, Table, TableError};
use crate::limits::{self, Ended, Steps};
use std::collections::HashMap;

/// What makes two values of a column the same.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Key {
    Missing,
    /// The bits of the number with twelve significant digits, so that 0.1 + 0.2 and 0.3 are the same.
    Number(u64),
    Text(String),
    Flag(bool),
}

impl Key {
    fn of(cell: Cell) -> Key {
        match cell {
            Cell::Missing => Key::Missing,
            Cell::Quantity(quantity) => Key::Number(twelve_digits(quantity.si).to_bits()),
            Cell::Text(text) => Key::Text(text),
            Cell::Flag(flag) => Key::Flag(flag),
        }
    }
}

/// The number with twelve significant digits.
fn twelve_digits(value: f64) -> f64 {
    // Adding zero turns -0 into 0.
    format!("{:.11e}", value + 0.0).parse().unwrap_or(value)
}

impl Table {
    /// One table for each value of a column, in the order in which the values first appear; rows keep their order.
    ///
    /// Numbers that agree in twelve digits belong together, and so do rows without a value. Errors: unknown column.
    pub fn group_by(&self, name: &str) -> Result<Vec<(Cell, Table)>, TableError> {
        let column = self.column(name)?;
        let groups = self.group_rows(name)?;
        let group = |(_, rows): (Key, Vec<usize>)| {
            limits::go_on()?;
            Ok((column.cell(rows[0]), self.rows_at(&rows)?))
        };
        groups.into_iter().map(group).collect()
    }

    /// The different values of a column in the order of their first appearance, missing among them if there is one.
    ///
    /// Numbers that agree in twelve digits count as the same. Errors: unknown column.
    pub fn unique(&self, name: &str) -> Result<Vec<Cell>, TableError> {
        let groups = self.group_rows(name)?;
        let column = self.column(name)?;
        Ok(groups.iter().map(|(_, rows)| column.cell(rows[0])).collect())
    }

    /// The row numbers of each group, never empty, in the order of first appearance.
    pub(super) fn group_rows(&self, name: &str) -> Result<Vec<(Key, Vec<usize>)>, TableError> {
        let mut groups: Vec<(Key, Vec<usize>)> = Vec::new();
        let mut places: HashMap<Key, usize> = HashMap::new();
        let mut steps = Steps::default();
        for (row, key) in keys(&self.column(name)?)?.into_iter().enumerate() {
            steps.step()?;
            let place = *places.entry(key.clone()).or_insert_with(|| {
                groups.push((key, Vec::new()));
                groups.len() - 1
            });
            groups[place].1.push(row);
        }
        Ok(groups)
    }
}

/// The keys of all rows of a column.
pub(super) fn keys(column: &Column) -> Result<Vec<Key>, Ended> {
    limits::room_for(column.len().saturating_mul(size_of::<Key>()))?;
    let mut steps = Steps::default();
    column.cells().map(|cell| steps.step().map(|()| Key::of(cell))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
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
