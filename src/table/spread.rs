//! What a column of samples says: percentiles, and how likely a value lies below or above a limit.

use super::quantile::{in_order, quantile};
use super::{Column, ColumnKind, Table, TableError};
use crate::quantity::Quantity;

/// How likely something is, from samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Part of the samples.
    pub chance: f64,
    /// Its standard error for independent samples; evenly spread ones do better.
    /// Source: binomial proportion, sqrt(p (1 - p) / n).
    pub error: f64,
    /// Samples with a value, which are counted.
    pub n: usize,
    /// Samples without a value, which are not counted.
    pub n_missing: usize,
}

/// The percentiles of [`Table::spread`].
const PERCENTS: [f64; 9] = [1.0, 5.0, 10.0, 25.0, 50.0, 75.0, 90.0, 95.0, 99.0];

impl Table {
    /// Mean, standard deviation and percentiles of a column, a row each; percentiles as in [`Table::describe`].
    ///
    /// Errors: unknown column, not numeric, all missing.
    pub fn spread(&self, name: &str) -> Result<Table, TableError> {
        let sorted = self.sorted_numbers(name)?;
        let ColumnKind::Quantity { dimension, preference } = self.kind(name)? else { return Err(TableError::NoColumns) };
        let n = sorted.len() as f64;
        let mean = sorted.iter().sum::<f64>() / n;
        let mut words = vec!["mean".to_string()];
        let mut values = vec![Some(mean)];
        if !dimension.absolute {
            words.push("deviation".into());
            let squares = sorted.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
            values.push((sorted.len() > 1).then(|| (squares / (n - 1.0)).sqrt()));
        }
        for percent in PERCENTS {
            words.push(format!("{percent} % are below"));
            values.push(Some(quantile(&sorted, percent / 100.0)));
        }
        Table::new(vec![Column::texts("of the samples", words), Column::quantities(name, values, dimension, preference)])
    }

    /// How likely a value of the column lies below a limit. Errors: unknown column, another dimension, all missing.
    pub fn chance_below(&self, name: &str, limit: Quantity) -> Result<Chance, TableError> {
        self.chance(name, limit, |value, limit| value < limit)
    }

    /// How likely a value of the column lies above a limit. Errors: unknown column, another dimension, all missing.
    pub fn chance_above(&self, name: &str, limit: Quantity) -> Result<Chance, TableError> {
        self.chance(name, limit, |value, limit| value > limit)
    }

    fn chance(&self, name: &str, limit: Quantity, counts: fn(f64, f64) -> bool) -> Result<Chance, TableError> {
        let sorted = self.sorted_numbers(name)?;
        let kind = self.kind(name)?;
        let asked = ColumnKind::Quantity { dimension: limit.dimension, preference: limit.preference };
        if !kind.fits(asked) {
            let expected = kind.to_string();
            return Err(TableError::MixedColumn { column: name.into(), row: 0, expected, found: limit.described() });
        }
        let n = sorted.len();
        let chance = sorted.iter().filter(|value| counts(**value, limit.si)).count() as f64 / n as f64;
        Ok(Chance { chance, error: (chance * (1.0 - chance) / n as f64).sqrt(), n, n_missing: self.rows() - n })
    }

    fn sorted_numbers(&self, name: &str) -> Result<Vec<f64>, TableError> {
        let sorted: Vec<f64> = self.parameters_of(name, "look at the spread")?.into_iter().flatten().collect();
        if sorted.is_empty() {
            return Err(TableError::AllMissing { column: name.to_string(), rows: self.rows() });
        }
        Ok(in_order(sorted)?)
    }
}

impl Chance {
    /// The chance as a table of one row.
    pub fn table(&self) -> Result<Table, TableError> {
        Table::new(vec![
            Column::numbers("chance", [self.chance]),
            Column::numbers("plus_minus", [self.error]),
            Column::numbers("samples", [self.n as f64]),
            Column::numbers("without_value", [self.n_missing as f64]),
        ])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::unit;

    #[test]
    fn percentiles_of_a_hundred_and_one_values_are_the_values() {
        let t = Table::new(vec![Column::written("p", (0..=100).map(f64::from), unit("psi"))]).expect("a table");
        let spread = t.spread("p").expect("a spread");
        let shown: Vec<String> =
            spread.column("p").expect("a column").cells().map(|cell| cell.show(Default::default())).collect();
        // The standard deviation of 0..=100: sqrt(101 (101 + 1) / 12) = 29.30.
        let expected =
            ["50 psi", "29.3 psi", "1 psi", "5 psi", "10 psi", "25 psi", "50 psi", "75 psi", "90 psi", "95 psi", "99 psi"];
        assert_eq!(shown, expected);
    }

    #[test]
    fn a_chance_comes_with_its_standard_error_and_passes_over_missing() {
        let values = (0..100).map(f64::from).chain([f64::NAN]);
        let t = Table::new(vec![Column::written("p", values, unit("psi"))]).expect("a table");
        let below = t.chance_below("p", Quantity::written(20.0, unit("psi"))).expect("a chance");
        assert_eq!((below.chance, below.n, below.n_missing), (0.2, 100, 1));
        assert!((below.error - 0.04).abs() < 1e-12);
        assert_eq!(t.chance_above("p", Quantity::written(98.0, unit("psi"))).expect("a chance").chance, 0.01);
        let wrong = t.chance_below("p", Quantity::written(20.0, unit("ft"))).unwrap_err();
        assert!(wrong.to_string().contains("20 ft (a length)"), "{wrong}");
    }
}
