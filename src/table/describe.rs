//! A summary of each column: how many values, how large, how spread.

use super::group::value_numbers;
use super::quantile::{in_order, quantile};
use super::{Cell, Column, ColumnKind, Table, TableColumn, TableError, Values, twelve_digits};
use crate::limits::Steps;
use crate::quantity::{Quantity, UnitSystem, dim};

/// The summary of one column.
#[derive(Clone, Debug)]
pub struct Description {
    /// Name of the column.
    pub name: String,
    /// Number of values that are there.
    pub n_values: usize,
    /// Number of rows without a value.
    pub n_missing: usize,
    /// Number of different values that are there.
    pub n_different: usize,
    /// For columns of numbers with at least one value.
    pub figures: Option<Figures>,
}

/// Mean, spread and order statistics of a column of numbers, missing values passed over.
#[derive(Clone, Copy, Debug)]
pub struct Figures {
    /// Arithmetic mean of the values.
    pub mean: Quantity,
    /// Sample standard deviation (divided by n - 1); nothing for a single value. For temperatures it is a difference.
    pub standard_deviation: Option<Quantity>,
    /// The smallest value.
    pub lowest: Quantity,
    /// Quartiles by straight lines between the ordered values, position 1 + p (n - 1).
    /// Source: Hyndman and Fan, Sample Quantiles in Statistical Packages, The American Statistician 50 (1996), definition 7.
    pub lower_quartile: Quantity,
    /// Half of the values lie below it: the quartile in the middle.
    pub median: Quantity,
    /// Three quarters of the values lie below it.
    pub upper_quartile: Quantity,
    /// The largest value.
    pub highest: Quantity,
}

impl Table {
    /// The summary of every column, in order.
    pub fn describe(&self) -> Result<Vec<Description>, TableError> {
        (0..self.kinds.len()).map(|place| describe(&self.column_in(place))).collect()
    }

    /// The same as a table of texts, for people: a row for each column, since their units differ.
    /// What a narrow page can do without stands in the middle.
    pub fn describe_table(&self, system: UnitSystem) -> Result<Table, TableError> {
        let all = self.describe()?;
        let count = |name: &str, of: fn(&Description) -> usize| Column::numbers(name, all.iter().map(|d| of(d) as f64));
        let text = |name: &str, of: fn(&Figures) -> Option<Quantity>| Column {
            name: name.into(),
            values: Values::Texts(
                all.iter().map(|d| d.figures.as_ref().and_then(of).map(|quantity| Cell::from(quantity).show(system))).collect(),
            ),
        };
        Table::new(vec![
            Column::texts("column", all.iter().map(|d| d.name.clone())),
            text("lowest", |f| Some(f.lowest)),
            text("median", |f| Some(f.median)),
            text("highest", |f| Some(f.highest)),
            text("lower quartile", |f| Some(f.lower_quartile)),
            text("upper quartile", |f| Some(f.upper_quartile)),
            count("different", |d| d.n_different),
            count("values", |d| d.n_values),
            count("missing", |d| d.n_missing),
            text("mean", |f| Some(f.mean)),
            text("deviation", |f| f.standard_deviation),
        ])
    }
}

fn describe(column: &TableColumn) -> Result<Description, TableError> {
    let n_missing = column.values().null_count();
    let summary = |n_different, figures| Description {
        name: column.name().to_string(),
        n_values: column.len() - n_missing,
        n_missing,
        n_different,
        figures,
    };
    if let ColumnKind::Quantity { .. } = column.kind() {
        let sorted = in_order(column.values().f64()?.iter().flatten().collect())?;
        return Ok(summary(n_different(&sorted)?, figures(&sorted, column.kind())));
    }
    // Different values are numbered from 1.
    let values = value_numbers(std::slice::from_ref(column))?;
    Ok(summary(values.into_iter().max().unwrap_or(0) as usize, None))
}

/// How many different values numbers in rising order have.
fn n_different(sorted: &[f64]) -> Result<usize, TableError> {
    let (mut count, mut before, mut steps) = (0, None, Steps::default());
    for value in sorted {
        steps.step()?;
        let key = Some(twelve_digits::key(*value));
        count += usize::from(key != before);
        before = key;
    }
    Ok(count)
}

/// Mean, spread and quartiles of finite numbers in rising order.
fn figures(sorted: &[f64], kind: ColumnKind) -> Option<Figures> {
    let ColumnKind::Quantity { dimension, preference } = kind else { return None };
    let (&first, &last) = (sorted.first()?, sorted.last()?);
    let count = sorted.len() as f64;
    // Equal values have that mean exactly, and no spread of rounding.
    let mean = if first == last { first } else { sorted.iter().sum::<f64>() / count };
    let variance = sorted.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0);
    let quantity = |si: f64| Quantity { si, dimension, preference };
    let spread = if dimension.absolute {
        Quantity::new(variance.sqrt(), dim::TEMPERATURE_DIFFERENCE)
    } else {
        Quantity { preference: preference.of_length(), ..quantity(variance.sqrt()) }
    };
    Some(Figures {
        mean: quantity(mean),
        standard_deviation: (sorted.len() > 1).then_some(spread),
        lowest: quantity(first),
        lower_quartile: quantity(quantile(sorted, 0.25)),
        median: quantity(quantile(sorted, 0.5)),
        upper_quartile: quantity(quantile(sorted, 0.75)),
        highest: quantity(last),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::{sweep, unit};
    use approx::assert_relative_eq;

    fn only(values: Vec<f64>, name: &str) -> Description {
        Table::new(vec![Column::written("x", values, unit(name))]).expect("a table").describe().expect("a summary").remove(0)
    }

    #[test]
    fn equal_values_have_no_spread() {
        let figures = only(vec![0.1; 12], "m").figures.expect("numbers");
        assert_eq!(figures.standard_deviation.map(|deviation| deviation.si), Some(0.0));
    }

    #[test]
    fn mean_spread_and_quartiles_are_those_worked_by_hand() {
        let summary = only(vec![4.0, 1.0, f64::NAN, 2.0, 3.0, 10.0], "m");
        assert_eq!((summary.n_values, summary.n_missing, summary.n_different), (5, 1, 5));
        let figures = summary.figures.expect("numbers");
        // Mean 20/5; deviations squared 0 + 9 + 4 + 1 + 36 = 50, over 4.
        for (found, expected) in [
            (figures.mean, 4.0),
            (figures.standard_deviation.expect("five values"), 12.5f64.sqrt()),
            (figures.lowest, 1.0),
            (figures.lower_quartile, 2.0),
            (figures.median, 3.0),
            (figures.upper_quartile, 4.0),
            (figures.highest, 10.0),
        ] {
            assert_relative_eq!(found.si, expected, max_relative = 1e-14);
        }
        // Two values: the quartiles lie at a quarter and three quarters of the way.
        let figures = only(vec![1.0, 2.0], "m").figures.expect("numbers");
        assert_relative_eq!(figures.lower_quartile.si, 1.25, max_relative = 1e-14);
    }

    #[test]
    fn the_spread_of_temperatures_is_a_difference() {
        let figures = only(vec![15.0, 25.0], "degC").figures.expect("numbers");
        assert_eq!(figures.mean.show(UnitSystem::AsWritten), "20 degC");
        assert_eq!(figures.standard_deviation.expect("two values").show(UnitSystem::AsWritten), "7.1 K");
        assert!(only(vec![15.0], "degC").figures.expect("numbers").standard_deviation.is_none());
    }

    #[test]
    fn a_summary_is_shown_with_units() {
        insta::assert_snapshot!(sweep().describe_table(UnitSystem::Us).expect("a table").show(UnitSystem::Us, None));
    }
}
