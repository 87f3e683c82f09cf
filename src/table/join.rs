//! Joining two tables on columns that both have.

use super::group::group_numbers;
use super::{ColumnKind, Operand, Table, TableColumn, TableError, check_size};
use crate::limits::{self, Steps};
use polars::prelude as pl;
use std::collections::{HashMap, HashSet};

/// Which rows a join keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Join {
    /// Rows that have a partner in the other table.
    Inner,
    /// All rows of the left table; without a partner the columns of the other table are missing.
    Left,
    /// All rows of both tables: those of the right one without a partner come last.
    Outer,
    /// The rows of the left table that have no partner, without the columns of the other table.
    Anti,
}

impl Table {
    /// Each row of this table beside each row of the other that has the same values in the columns `on`.
    ///
    /// Rows come in the order of this table, then in that of the other. Numbers match when they agree in twelve digits,
    /// missing values never match. A column of the other table whose name is taken is called `name (2)`.
    /// Errors: unknown column in either table, another dimension on the other side.
    pub fn join(&self, other: &Table, on: &[&str], join: Join) -> Result<Table, TableError> {
        for (table, place) in [(self, "first"), (other, "second")] {
            let known = table.names();
            if let Some(name) = on.iter().find(|name| !known.iter().any(|own| own == *name)) {
                return Err(TableError::NotInBoth { name: name.to_string(), place, known });
            }
        }
        let groups = group_numbers(&[self, other], on)?;
        let (own, theirs) = groups.split_at(self.rows());
        let (own_given, their_given) = (self.given(on)?, other.given(on)?);
        let mut partners: HashMap<u32, Vec<usize>> = HashMap::new();
        for (row, group) in theirs.iter().enumerate().filter(|(row, _)| their_given[*row]) {
            partners.entry(*group).or_default().push(row);
        }
        let partners_of = |row: usize| if own_given[row] { partners.get(&own[row]) } else { None };
        if join == Join::Anti {
            return self.filter(&(0..self.rows()).map(|row| partners_of(row).is_none()).collect::<Vec<_>>());
        }
        let keeps_left = usize::from(join != Join::Inner);
        let rows = (0..self.rows()).map(|row| partners_of(row).map_or(keeps_left, Vec::len));
        let rows = rows.fold(if join == Join::Outer { other.rows() } else { 0 }, usize::saturating_add);
        check_size(rows, self.names().len() + other.names().len())?;
        limits::room_for(rows.saturating_mul(2 * size_of::<Option<usize>>()))?;
        let mut steps = Steps::default();
        let (mut left_rows, mut right_rows) = (Vec::new(), Vec::new());
        for row in 0..self.rows() {
            steps.step()?;
            match partners_of(row) {
                Some(found) => found.iter().for_each(|partner| {
                    left_rows.push(Some(row));
                    right_rows.push(Some(*partner));
                }),
                None if keeps_left == 1 => {
                    left_rows.push(Some(row));
                    right_rows.push(None);
                }
                None => {}
            }
        }
        if join == Join::Outer {
            let found: HashSet<u32> = (0..self.rows()).filter(|row| own_given[*row]).map(|row| own[row]).collect();
            let alone = (0..other.rows()).filter(|row| !their_given[*row] || !found.contains(&theirs[*row]));
            right_rows.extend(alone.map(Some));
            left_rows.resize(right_rows.len(), None);
        }
        let on: Vec<&str> = on.iter().map(|name| name.trim()).collect();
        let right = Table::made(other.take(&right_rows)?, other.kinds.clone());
        let joined = self.widened(&right, &on, self.take(&left_rows)?)?;
        if join != Join::Outer {
            return Ok(joined);
        }
        on.iter().try_fold(joined, |joined, name| {
            let filled: TableColumn = joined.series(name)?.fill(&Operand::Column(right.series(name)?))?;
            joined.with_series(name, &filled)
        })
    }

    /// Which rows have a value in all of these columns.
    fn given(&self, names: &[&str]) -> Result<Vec<bool>, TableError> {
        let mut given = vec![true; self.rows()];
        for name in names {
            let there = self.series(name)?.values().is_not_null();
            given.iter_mut().zip(there.iter()).for_each(|(given, there)| *given &= there == Some(true));
        }
        Ok(given)
    }

    /// The columns of the right table but `on` set beside those of the left frame.
    fn widened(&self, other: &Table, on: &[&str], mut left: pl::DataFrame) -> Result<Table, TableError> {
        let mut kinds: Vec<ColumnKind> = self.kinds.clone();
        for (column, kind) in other.frame.columns().iter().zip(&other.kinds) {
            let name = column.name().as_str();
            if on.contains(&name) {
                continue;
            }
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
        Ok(Table::made(left, kinds).with_keys(self.keys.clone()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::unit;
    use crate::table::{Cell, Column, Values};
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
        assert_eq!(shown(&left.join(&right, &["zone"], Join::Inner).expect("a table")), ["beds 1 8", "beds 1 9", "berries 2 7"]);
        let all = left.join(&right, &["zone"], Join::Left).expect("a table");
        assert_eq!(shown(&all), ["beds 1 8", "beds 1 9", "berries 2 7", "lawn 3 -"]);
    }

    #[test]
    fn an_outer_join_keeps_both_sides_and_an_anti_join_what_has_no_partner() {
        let left = table("flow", &["beds", "berries", "lawn"], &[1.0, 2.0, 3.0]);
        let right = table("price", &["hedge", "beds"], &[7.0, 8.0]);
        let all = left.join(&right, &["zone"], Join::Outer).expect("a table");
        assert_eq!(shown(&all), ["beds 1 8", "berries 2 -", "lawn 3 -", "hedge - 7"]);
        assert_eq!(shown(&left.join(&right, &["zone"], Join::Anti).expect("a table")), ["berries 2", "lawn 3"]);
    }

    #[test]
    fn several_columns_must_all_agree_and_missing_ones_never_do() {
        let of = |name: &str, keys: &[Option<f64>], values: &[f64]| {
            let keys =
                Column::quantities("k", keys.iter().copied(), crate::quantity::dim::NUMBER, crate::quantity::Preference::Usual);
            Table::new(vec![
                Column::texts("zone", vec!["beds"; values.len()]),
                keys,
                Column::numbers(name, values.iter().copied()),
            ])
            .expect("a table")
        };
        let left = of("a", &[Some(0.1 + 0.2), None], &[1.0, 2.0]);
        let right = of("b", &[None, Some(0.3), Some(4.0)], &[3.0, 4.0, 5.0]);
        assert_eq!(shown(&left.join(&right, &["zone", "k"], Join::Inner).expect("a table")), ["beds 0.3 1 4"]);
        let all = left.join(&right, &["zone", "k"], Join::Outer).expect("a table");
        assert_eq!(shown(&all), ["beds 0.3 1 4", "beds - 2 -", "beds - - 3", "beds 4 - 5"]);
        assert!(left.join(&right, &[], Join::Inner).is_err());
    }

    #[test]
    fn lengths_match_across_units_and_missing_matches_nothing() {
        let left = Column::written("l", [100.0, f64::NAN], unit("ft"));
        let right = Column::written("l", [30.48, f64::NAN], unit("m"));
        let left = Table::new(vec![left, Column::texts("t", ["a", "b"])]).expect("a table");
        let right = Table::new(vec![right, Column::texts("t", ["c", "d"])]).expect("a table");
        let joined = left.join(&right, &["l"], Join::Inner).expect("a table");
        assert_eq!(joined.names(), ["l", "t", "t (2)"]);
        assert_eq!(shown(&joined), ["100 ft a c"]);
        let left = left.join(&right, &["l"], Join::Left).expect("a table");
        assert_eq!(left.cell(1, "t (2)").expect("a cell"), Cell::Missing);
    }

    #[test]
    fn a_numbered_name_does_not_hit_one_that_exists() {
        let base = Table::new(vec![Column::texts("k", ["x"]), Column::texts("a", ["1"])]).expect("a table");
        let other = base.with(Column::texts("a (2)", ["2"])).expect("a table");
        assert_eq!(base.join(&other, &["k"], Join::Inner).expect("a table").names(), ["k", "a", "a (3)", "a (2)"]);
    }

    #[test]
    fn columns_of_other_dimension_do_not_join() {
        let left = Table::new(vec![Column::written("x", [1.0], unit("ft"))]).expect("a table");
        let right = Table::new(vec![Column::texts("x", ["1 ft"])]).expect("a table");
        let error = left.join(&right, &["x"], Join::Inner).unwrap_err();
        assert_eq!(error.to_string(), "column 'x' holds a length in one table and a string in the other");
    }

    #[test]
    fn an_empty_table_on_either_side_joins() {
        let full = table("flow", &["beds"], &[1.0]);
        let empty = table("price", &[], &[]);
        assert_eq!(shown(&full.join(&empty, &["zone"], Join::Left).expect("a table")), ["beds 1 -"]);
        assert_eq!(full.join(&empty, &["zone"], Join::Inner).expect("a table").rows(), 0);
        assert_eq!(empty.join(&full, &["zone"], Join::Left).expect("a table").names(), ["zone", "price", "flow"]);
    }

    proptest! {
        /// By the definition of ISO/IEC 9075-2 (SQL): all pairs of rows with equal keys, of which a missing one equals none; a left join has the
        /// rows without a partner too.
        #[test]
        fn a_join_finds_all_pairs_of_equal_keys(
            left in proptest::collection::vec(proptest::option::of("[abc]"), 0..12),
            right in proptest::collection::vec(proptest::option::of("[abc]"), 0..12),
        ) {
            let table = |name: &str, keys: &[Option<String>]| {
                let zone = Column { name: "zone".into(), values: Values::Texts(keys.to_vec()) };
                Table::new(vec![zone, Column::numbers(name, (0..keys.len()).map(|row| row as f64))]).expect("a table")
            };
            let (first, second) = (table("a", &left), table("b", &right));
            for join in [Join::Inner, Join::Left] {
                let mut expected = Vec::new();
                for (row, key) in left.iter().enumerate() {
                    let partners = (0..right.len()).filter(|&other| key.is_some() && right[other] == *key);
                    let mut lines: Vec<String> =
                        partners.map(|other| format!("{} {row} {other}", key.as_deref().unwrap_or("-"))).collect();
                    if lines.is_empty() && join == Join::Left {
                        lines.push(format!("{} {row} -", key.as_deref().unwrap_or("-")));
                    }
                    expected.append(&mut lines);
                }
                let mut found = shown(&first.join(&second, &["zone"], join).expect("a table"));
                expected.sort();
                found.sort();
                prop_assert_eq!(found, expected);
            }
        }
    }
}
