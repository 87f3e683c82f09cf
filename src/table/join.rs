//! Joining two tables on a column that both have.

use super::group::{Key, keys};
use super::{ColumnKind, Table, TableError, check_size};
use crate::limits::{self, Steps};
use std::collections::HashMap;

/// Which rows a join keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Join {
    /// Rows that have a partner in the other table.
    Inner,
    /// All rows of the left table; without a partner the columns of the other table are missing.
    Left,
}

impl Table {
    /// Each row of this table beside each row of the other that has the same value in the column `on`.
    ///
    /// Rows come in the order of this table, then in that of the other. Numbers match when they agree in twelve digits,
    /// missing values never match. A column of the other table whose name is taken is called `name (2)`.
    /// Errors: unknown column in either table, another dimension on the other side.
    pub fn join(&self, other: &Table, on: &str, join: Join) -> Result<Table, TableError> {
        let (left, right) = (self.kind(on)?, other.kind(on)?);
        if !left.fits(right) {
            return Err(TableError::DifferentKinds { column: on.to_string(), left: left.to_string(), right: right.to_string() });
        }
        let mut partners: HashMap<Key, Vec<usize>> = HashMap::new();
        for (row, key) in keys(&other.column(on)?)?.into_iter().enumerate() {
            partners.entry(key).or_default().push(row);
        }
        let own = keys(&self.column(on)?)?;
        let partners_of = |key: &Key| if *key == Key::Missing { None } else { partners.get(key) };
        let rows = own.iter().map(|key| partners_of(key).map_or(usize::from(join == Join::Left), Vec::len));
        let rows = rows.fold(0, usize::saturating_add);
        check_size(rows, self.names().len() + other.names().len())?;
        limits::room_for(rows.saturating_mul(2 * size_of::<Option<usize>>()))?;
        let mut steps = Steps::default();
        let (mut left_rows, mut right_rows) = (Vec::new(), Vec::new());
        for (row, key) in own.into_iter().enumerate() {
            steps.step()?;
            match partners_of(&key) {
                Some(found) => found.iter().for_each(|partner| {
                    left_rows.push(Some(row));
                    right_rows.push(Some(*partner));
                }),
                None if join == Join::Left => {
                    left_rows.push(Some(row));
                    right_rows.push(None);
                }
                None => {}
            }
        }
        self.beside(other, on.trim(), self.take(&left_rows)?, other.take(&right_rows)?)
    }

    /// The columns of the right frame but `on` set beside those of the left one.
    fn beside(
        &self,
        other: &Table,
        on: &str,
        mut left: polars::prelude::DataFrame,
        right: polars::prelude::DataFrame,
    ) -> Result<Table, TableError> {
        let mut kinds: Vec<ColumnKind> = self.kinds.clone();
        for (column, kind) in right.columns().iter().zip(&other.kinds).filter(|(column, _)| column.name() != on) {
            let name = column.name().as_str();
            let taken = |name: &str| left.get_column_index(name).is_some();
            // A numbered name must not be one that the other table brings itself.
            let is_free = |name: &String| !taken(name) && other.place(name).is_err();
            let free = if taken(name) { (2..).map(|n| format!("{name} ({n})")).find(is_free) } else { None };
            let free = free.unwrap_or_else(|| name.to_string());
            let mut column = column.clone();
            column.rename(free.into());
            left.with_column(column)?;
            kinds.push(*kind);
        }
        Ok(Table { frame: left, kinds })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::unit;
    use crate::table::{Cell, Column, Values};
    use polars::prelude::{DataFrameJoinOps, JoinArgs, JoinType};
    use proptest::prelude::*;

    fn table(name: &str, keys: &[&str], values: &[f64]) -> Table {
        Table::new(vec![Column::texts("zone", keys.to_vec()), Column::numbers(name, values.iter().copied())]).expect("a table")
    }

    fn shown(table: &Table) -> Vec<String> {
        let line = |row| table.row(row).expect("a row").iter().map(|(_, cell)| cell.show(Default::default())).collect::<Vec<_>>();
        (0..table.rows()).map(|row| line(row).join(" ")).collect()
    }

    #[test]
    fn an_inner_join_keeps_partners_and_a_left_join_keeps_all() {
        let left = table("flow", &["beds", "berries", "lawn"], &[1.0, 2.0, 3.0]);
        let right = table("price", &["berries", "beds", "beds"], &[7.0, 8.0, 9.0]);
        assert_eq!(shown(&left.join(&right, "zone", Join::Inner).expect("a table")), ["beds 1 8", "beds 1 9", "berries 2 7"]);
        let all = left.join(&right, "zone", Join::Left).expect("a table");
        assert_eq!(shown(&all), ["beds 1 8", "beds 1 9", "berries 2 7", "lawn 3 -"]);
    }

    #[test]
    fn lengths_match_across_units_and_missing_matches_nothing() {
        let left = Column::written("l", [100.0, f64::NAN], unit("ft"));
        let right = Column::written("l", [30.48, f64::NAN], unit("m"));
        let left = Table::new(vec![left, Column::texts("t", ["a", "b"])]).expect("a table");
        let right = Table::new(vec![right, Column::texts("t", ["c", "d"])]).expect("a table");
        let joined = left.join(&right, "l", Join::Inner).expect("a table");
        assert_eq!(joined.names(), ["l", "t", "t (2)"]);
        assert_eq!(shown(&joined), ["100 ft a c"]);
        let left = left.join(&right, "l", Join::Left).expect("a table");
        assert_eq!(left.cell(1, "t (2)").expect("a cell"), Cell::Missing);
    }

    #[test]
    fn a_numbered_name_does_not_hit_one_that_exists() {
        let base = Table::new(vec![Column::texts("k", ["x"]), Column::texts("a", ["1"])]).expect("a table");
        let other = base.with(Column::texts("a (2)", ["2"])).expect("a table");
        assert_eq!(base.join(&other, "k", Join::Inner).expect("a table").names(), ["k", "a", "a (3)", "a (2)"]);
    }

    #[test]
    fn columns_of_other_dimension_do_not_join() {
        let left = Table::new(vec![Column::written("x", [1.0], unit("ft"))]).expect("a table");
        let right = Table::new(vec![Column::texts("x", ["1 ft"])]).expect("a table");
        let error = left.join(&right, "x", Join::Inner).unwrap_err();
        assert_eq!(error.to_string(), "column 'x' holds a length in one table and a string in the other");
    }

    #[test]
    fn an_empty_table_on_either_side_joins() {
        let full = table("flow", &["beds"], &[1.0]);
        let empty = table("price", &[], &[]);
        assert_eq!(shown(&full.join(&empty, "zone", Join::Left).expect("a table")), ["beds 1 -"]);
        assert_eq!(full.join(&empty, "zone", Join::Inner).expect("a table").rows(), 0);
        assert_eq!(empty.join(&full, "zone", Join::Left).expect("a table").names(), ["zone", "price", "flow"]);
    }

    proptest! {
        #[test]
        fn a_join_finds_the_pairs_that_the_table_library_finds(
            left in proptest::collection::vec(proptest::option::of("[abc]"), 0..12),
            right in proptest::collection::vec(proptest::option::of("[abc]"), 0..12),
        ) {
            let table = |name: &str, keys: &[Option<String>]| {
                let zone = Column { name: "zone".into(), values: Values::Texts(keys.to_vec()) };
                Table::new(vec![zone, Column::numbers(name, (0..keys.len()).map(|row| row as f64))]).expect("a table")
            };
            let (left, right) = (table("a", &left), table("b", &right));
            for (join, theirs) in [(Join::Inner, JoinType::Inner), (Join::Left, JoinType::Left)] {
                let expected = left.frame.join(&right.frame, ["zone"], ["zone"], JoinArgs::new(theirs), None).expect("a frame");
                let ours = left.join(&right, "zone", join).expect("a table");
                let mut expected = shown(&Table { frame: expected, kinds: ours.kinds.clone() });
                let mut found = shown(&ours);
                expected.sort();
                found.sort();
                prop_assert_eq!(found, expected);
            }
        }
    }
}
