//! The rows that no other row beats in every respect: cost against performance.

use super::{Best, Order, Table, TableError};
use crate::limits::{self, Steps};

/// What comparing two rows weighs.
const BYTES_OF_A_COMPARISON: usize = 64;

impl Table {
    /// The rows for which no other is at least as good in every wish and better in one, ordered by the first wish, the best
    /// first. Of equal rows the first is kept; a row without a value in one of the columns is left out.
    ///
    /// Errors: no wish, unknown columns, columns without numbers.
    pub fn pareto(&self, wishes: &[(&str, Best)]) -> Result<Table, TableError> {
        let Some((first, best)) = wishes.first() else { return Err(TableError::NoColumns) };
        let mut columns = Vec::with_capacity(wishes.len());
        for (name, best) in wishes {
            let sign = if *best == Best::Lowest { 1.0 } else { -1.0 };
            columns.push(
                self.parameters_of(name, "trade off")?.into_iter().map(|value| value.map(|v| sign * v)).collect::<Vec<_>>(),
            );
        }
        limits::room_for(self.rows().saturating_mul(BYTES_OF_A_COMPARISON))?;
        let row = |place: usize| columns.iter().map(|column| column[place]).collect::<Option<Vec<f64>>>();
        let mut rows: Vec<(usize, Vec<f64>)> = (0..self.rows()).filter_map(|place| Some((place, row(place)?))).collect();
        // Whoever beats a row stands before it in this order, so each is compared with those that are kept only.
        rows = limits::aside(move || {
            rows.sort_by(|(_, a), (_, b)| {
                a.iter().zip(b).map(|(a, b)| a.total_cmp(b)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
            });
            rows
        })?;
        let mut steps = Steps::default();
        let mut kept: Vec<(usize, Vec<f64>)> = Vec::new();
        for (place, wishes) in rows {
            steps.weigh(kept.len().saturating_mul(BYTES_OF_A_COMPARISON))?;
            let beaten = match wishes.len() {
                2 => kept.last().is_some_and(|(_, last)| last[1] <= wishes[1]),
                _ => kept.iter().any(|(_, other)| other.iter().zip(&wishes).all(|(a, b)| a <= b)),
            };
            if !beaten {
                kept.push((place, wishes));
            }
        }
        let mut places: Vec<usize> = kept.into_iter().map(|(place, _)| place).collect();
        places.sort_unstable();
        let order = if *best == Best::Lowest { Order::Rising } else { Order::Falling };
        self.rows_at(&places)?.sort_by(first, order)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Column;
    use proptest::prelude::*;

    fn table(columns: &[Vec<f64>]) -> Table {
        let column = |(place, values): (usize, &Vec<f64>)| Column::numbers(format!("c{place}"), values.iter().copied());
        Table::new(columns.iter().enumerate().map(column).collect()).expect("a table")
    }

    #[test]
    fn the_front_of_a_short_list_is_the_one_seen_by_eye() {
        // price and pressure: (1, 5) (2, 4) beaten, (3, 9), (3, 8) beaten, (7, 9) beaten, (8, 10); one without a pressure.
        let t = table(&[vec![1.0, 2.0, 3.0, 3.0, 7.0, 8.0, 0.5], vec![5.0, 4.0, 9.0, 8.0, 9.0, 10.0, f64::NAN]]);
        let front = t.pareto(&[("c0", Best::Lowest), ("c1", Best::Highest)]).expect("a front");
        assert_eq!(front, table(&[vec![1.0, 3.0, 8.0], vec![5.0, 9.0, 10.0]]));
        assert!(t.pareto(&[]).is_err());
    }

    proptest! {
        #[test]
        fn the_front_holds_exactly_the_rows_that_nobody_beats(
            rows in proptest::collection::vec(proptest::array::uniform3(0u8..5), 1..40),
            three in any::<bool>(),
        ) {
            let n = if three { 3 } else { 2 };
            let columns: Vec<Vec<f64>> = (0..n).map(|c| rows.iter().map(|row| f64::from(row[c])).collect()).collect();
            let names = ["c0", "c1", "c2"];
            let wishes: Vec<(&str, Best)> = (0..n).map(|c| (names[c], Best::Lowest)).collect();
            let front = table(&columns).pareto(&wishes).expect("a front");
            let mut found: Vec<Vec<String>> = (0..front.rows())
                .map(|row| front.row(row).expect("a row").into_iter().map(|(_, cell)| cell.show(Default::default())).collect())
                .collect();
            found.sort();
            let beaten = |a: &[u8; 3]| rows.iter().any(|b| (0..n).all(|c| b[c] <= a[c]) && (0..n).any(|c| b[c] < a[c]));
            let mut expected: Vec<Vec<String>> =
                rows.iter().filter(|row| !beaten(row)).map(|row| row[..n].iter().map(u8::to_string).collect()).collect();
            expected.sort();
            expected.dedup();
            prop_assert_eq!(found, expected);
        }
    }
}
