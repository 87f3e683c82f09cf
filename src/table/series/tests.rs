//! Columns that calculate, against the same calculation cell by cell.

use super::*;
use crate::quantity::{Preference, QuantityError, dim};
use crate::table::samples::{psi, q, sweep, unit};
use approx::assert_relative_eq;
use proptest::prelude::*;

fn column(table: &Table, name: &str) -> Operand {
    Operand::Column(table.series(name).expect("a column"))
}

fn shown(series: &TableColumn) -> Vec<String> {
    series.cells().map(|cell| cell.show(Default::default())).collect()
}

fn numbers(name: &str, values: &[Option<f64>]) -> TableColumn {
    TableColumn::of_column(&Column::quantities(name, values.iter().copied(), dim::NUMBER, Preference::Usual)).expect("a column")
}

fn written(values: &[f64], name: &str) -> TableColumn {
    TableColumn::of_column(&Column::written("x", values.iter().copied(), unit(name))).expect("a column")
}

#[test]
fn arithmetic_keeps_units_and_missing_cells() {
    let table = sweep();
    let margin = TableColumn::calculate(Arithmetic::Minus, &column(&table, "berry.pressure"), &Operand::Value(psi(30.0)))
        .expect("a column");
    assert_eq!(shown(&margin), ["15 psi", "8 psi", "2 psi", "12.1 psi", "-1.7 psi", "-"]);
    let area = TableColumn::calculate(Arithmetic::Times, &column(&table, "feed.length"), &column(&table, "feed.diameter"))
        .expect("a column");
    assert_eq!(shown(&area)[0], "3.1 ft2");
    let half = TableColumn::calculate(Arithmetic::Over, &column(&table, "feed.length"), &Operand::Value(Cell::number(2.0)))
        .expect("a column");
    assert_eq!(shown(&half)[2], "75 ft");
    let whole = table.with_series(" margin ", &margin).expect("a table");
    assert_eq!(whole.names()[5], "margin");
    assert_eq!(whole.with_series("margin", &area).expect("a table").names(), whole.names());
}

#[test]
fn a_value_may_stand_on_the_left_and_names_come_from_the_column() {
    let below = TableColumn::calculate(Arithmetic::Minus, &Operand::Value(psi(50.0)), &column(&sweep(), "berry.pressure"))
        .expect("a column");
    assert_eq!((below.name(), below.len()), ("berry.pressure", 6));
    assert_eq!(shown(&below)[0], "5 psi");
}

#[test]
fn a_quotient_by_zero_is_missing() {
    let zeros = numbers("a", &[Some(1.0), Some(0.0), None, Some(1e308)]);
    let by = numbers("b", &[Some(0.0), Some(0.0), Some(1.0), Some(1e-10)]);
    let ratio = TableColumn::calculate(Arithmetic::Over, &Operand::Column(zeros), &Operand::Column(by)).expect("a column");
    assert_eq!(shown(&ratio), ["-", "-", "-", "-"]);
}

#[test]
fn what_does_not_go_together_is_refused_with_both_sides() {
    let table = sweep();
    let error = |a: &str, b: Operand| TableColumn::calculate(Arithmetic::Plus, &column(&table, a), &b).unwrap_err().to_string();
    assert_eq!(
        error("berry.pressure", column(&table, "feed.length")),
        "cannot add column 'berry.pressure' (a pressure) and column 'feed.length' (a length)"
    );
    assert_eq!(error("remark", Operand::Value(psi(1.0))), "cannot add column 'remark' (strings) and 1 psi (a pressure)");
    assert_eq!(error("enough", Operand::Value(Cell::Missing)), "cannot add column 'enough' (booleans) and a missing value");
    let short = Operand::Column(sweep().head(2).series("feed.length").expect("a column"));
    assert_eq!(
        error("feed.length", short),
        "column 'feed.length' (a length) has 6 rows, but column 'feed.length' (a length) has 2"
    );
    let warm = Operand::Column(written(&[15.0, 20.0], "degC"));
    let refused = TableColumn::calculate(Arithmetic::Plus, &warm, &warm).unwrap_err();
    assert!(matches!(refused, TableError::Quantity(QuantityError::TwoTemperatures { .. })));
    assert!(matches!(sweep().filter_by(&sweep().series("remark").expect("a column")), Err(TableError::NoFlags { .. })));
}

#[test]
fn comparisons_agree_with_those_of_single_quantities() {
    let lengths = Operand::Column(written(&[12.0, 11.999, 12.001], "inch"));
    let foot = Operand::Value(q(1.0, "ft"));
    let flags = |comparison| shown(&TableColumn::compare(comparison, &lengths, &foot).expect("flags"));
    assert_eq!(flags(Comparison::Equal), ["yes", "no", "no"]);
    assert_eq!(flags(Comparison::NotEqual), ["no", "yes", "yes"]);
    assert_eq!(flags(Comparison::LessOrEqual), ["yes", "yes", "no"]);
    assert_eq!(flags(Comparison::Less), ["no", "yes", "no"]);
    assert_eq!(flags(Comparison::Greater), ["no", "no", "yes"]);
    assert_eq!(flags(Comparison::GreaterOrEqual), ["yes", "no", "yes"]);
}

#[test]
fn a_filter_leaves_out_what_cannot_be_compared() {
    let table = sweep();
    let high =
        TableColumn::compare(Comparison::Greater, &column(&table, "berry.pressure"), &Operand::Value(psi(35.0))).expect("flags");
    assert_eq!(shown(&high), ["yes", "yes", "no", "yes", "no", "-"]);
    assert_eq!(table.filter_by(&high).expect("a table").rows(), 3);
    assert_eq!(table.filter_by(&high.negation().expect("flags")).expect("a table").rows(), 2);
    let wide = TableColumn::compare(Comparison::Equal, &column(&table, "feed.diameter"), &Operand::Value(q(0.75, "inch")))
        .expect("flags");
    let both =
        |logic| TableColumn::combine(logic, &Operand::Column(high.clone()), &Operand::Column(wide.clone())).expect("flags");
    assert_eq!(shown(&both(Logic::And)), ["yes", "yes", "no", "no", "no", "no"]);
    assert_eq!(shown(&both(Logic::Or)), ["yes", "yes", "yes", "yes", "no", "-"]);
    let weak = TableColumn::compare(Comparison::Equal, &column(&table, "remark"), &Operand::Value("weak".into())).expect("flags");
    assert_eq!(shown(&weak), ["-", "no", "yes", "-", "yes", "no"]);
    let error = TableColumn::compare(Comparison::Less, &column(&table, "remark"), &Operand::Value(psi(1.0))).unwrap_err();
    assert_eq!(error.to_string(), "cannot compare column 'remark' (strings) and 1 psi (a pressure)");
}

#[test]
fn aggregates_pass_over_missing_cells() {
    let pressure = sweep().series("berry.pressure").expect("a column");
    let of = |series: &TableColumn, what| series.aggregate(what).expect("a value").show(Default::default());
    assert_eq!(of(&pressure, Aggregate::Count), "5");
    assert_eq!(of(&pressure, Aggregate::Min), "28.3 psi");
    assert_eq!(of(&pressure, Aggregate::Max), "45 psi");
    assert_eq!(of(&pressure, Aggregate::Last), "28.3 psi");
    let five = numbers("n", &[Some(4.0), Some(1.0), None, Some(2.0), Some(3.0), Some(10.0)]);
    // Mean 20/5; deviations squared 0 + 9 + 4 + 1 + 36 = 50, over 4.
    for (what, expected) in [
        (Aggregate::Sum, 20.0),
        (Aggregate::Mean, 4.0),
        (Aggregate::Median, 3.0),
        (Aggregate::Quantile(0.75), 4.0),
        (Aggregate::StandardDeviation, 12.5f64.sqrt()),
        (Aggregate::First, 4.0),
    ] {
        let Cell::Quantity(found) = five.aggregate(what).expect("a value") else { panic!("a number") };
        assert_relative_eq!(found.si, expected, max_relative = 1e-14);
    }
    let enough = sweep().series("enough").expect("a column");
    assert_eq!((of(&enough, Aggregate::Sum).as_str(), of(&enough, Aggregate::Mean).as_str()), ("4", "0.6667"));
    let none = numbers("n", &[None, None]);
    assert_eq!((of(&none, Aggregate::Sum).as_str(), of(&none, Aggregate::Mean).as_str()), ("0", "-"));
    assert_eq!(of(&written(&[15.0, 25.0], "degC"), Aggregate::StandardDeviation), "7.1 degC difference");
    assert!(written(&[15.0, 25.0], "degC").aggregate(Aggregate::Sum).is_err());
    assert!(five.aggregate(Aggregate::Quantile(1.5)).is_err());
    let error = sweep().series("remark").expect("a column").aggregate(Aggregate::Mean).unwrap_err();
    assert_eq!(error.to_string(), "there is no mean of column 'remark' (strings)");
}

#[test]
fn along_the_rows_missing_cells_are_passed_over() {
    let meter = numbers("m", &[Some(1.0), Some(3.0), None, Some(10.0), Some(11.0)]);
    assert_eq!(shown(&meter.cumulative_sum().expect("a column")), ["1", "4", "-", "14", "25"]);
    assert_eq!(shown(&meter.difference().expect("a column")), ["-", "2", "-", "-", "1"]);
    assert_eq!(shown(&meter.rolling_mean(2).expect("a column")), ["-", "2", "3", "10", "10.5"]);
    assert!(meter.rolling_mean(0).is_err());
    assert_eq!(shown(&meter.is_missing()), ["no", "no", "yes", "no", "no"]);
    assert_eq!(meter.drop_missing().len(), 4);
    assert_eq!(shown(&meter.fill(&Operand::Value(Cell::number(7.0))).expect("a column"))[2], "7");
    let other = numbers("o", &[Some(0.0), Some(0.0), Some(5.0), None, None]);
    assert_eq!(shown(&meter.fill(&Operand::Column(other)).expect("a column")), ["1", "3", "5", "10", "11"]);
    assert!(meter.fill(&Operand::Value(psi(1.0))).is_err());
    assert_eq!(shown(&numbers("n", &[None]).fill(&Operand::Value(psi(1.0))).expect("a column")), ["1 psi"]);
    assert_eq!(shown(&written(&[15.0, 25.0], "degC").difference().expect("a column")), ["-", "10 degC difference"]);
}

#[test]
fn groups_are_told_apart_by_several_columns() {
    let wanted = [
        ("lowest", "berry.pressure", Aggregate::Min),
        ("n", "berry.pressure", Aggregate::Count),
        ("remark", "remark", Aggregate::Last),
    ];
    let table = sweep().aggregated(&["feed.diameter", "enough"], &wanted).expect("a table");
    assert_eq!(table.names(), ["feed.diameter", "enough", "lowest", "n", "remark"]);
    assert_eq!(shown(&table.series("lowest").expect("a column")), ["32 psi", "42.1 psi", "28.3 psi"]);
    assert_eq!(shown(&table.series("n").expect("a column")), ["3", "1", "1"]);
    assert_eq!(shown(&table.series("remark").expect("a column")), ["weak", "-", "dry"]);
    let none = sweep().tail(1).aggregated(&["enough"], &[("p", "berry.pressure", Aggregate::Mean)]).expect("a table");
    assert_eq!(none.kind("p").expect("a kind"), sweep().kind("berry.pressure").expect("a kind"));
    assert!(sweep().aggregated(&["enough"], &[("enough", "remark", Aggregate::First)]).is_err());
    assert_eq!(
        Aggregate::of_name("medain").map_err(|error| error.to_string()),
        Err("there is no aggregate \"medain\"".to_string())
    );
}

#[test]
fn a_wide_table_becomes_long_and_wide_again() {
    let wide = Table::new(vec![
        Column::texts("month", ["Jun", "Jul"]),
        Column::written("beds", [30.0, 40.0], unit("gal")),
        Column::written("lawn", [80.0, f64::NAN], unit("gal")),
    ])
    .expect("a table");
    let long = wide.unpivot(&["month"], "zone", "water").expect("a table");
    assert_eq!((long.names(), long.rows()), (vec!["month".to_string(), "zone".into(), "water".into()], 4));
    assert_eq!(long.pivot("month", "zone", "water").expect("a table"), wide);
    assert!(wide.unpivot(&["beds"], "zone", "water").is_err());
    assert!(wide.unpivot(&["month", "beds", "lawn"], "zone", "water").is_err());
}

proptest! {
    #[test]
    fn columns_calculate_as_cells_do(
        cells in proptest::collection::vec((proptest::option::of(-1e3..1e3f64), proptest::option::of(-1e3..1e3f64)), 1..40),
        window in 1usize..6,
    ) {
        let (a, b): (Vec<_>, Vec<_>) = cells.iter().copied().unzip();
        let (x, y) = (numbers("a", &a), numbers("b", &b));
        let (left, right) = (Operand::Column(x.clone()), Operand::Column(y));
        for (operation, law) in [
            (Arithmetic::Plus, (|a, b| a + b) as fn(f64, f64) -> f64),
            (Arithmetic::Minus, |a, b| a - b),
            (Arithmetic::Times, |a, b| a * b),
            (Arithmetic::Over, |a, b| a / b),
        ] {
            let found = TableColumn::calculate(operation, &left, &right).expect("a column");
            let expected: Vec<_> =
                cells.iter().map(|(a, b)| a.zip(*b).map(|(a, b)| law(a, b)).filter(|value| value.is_finite())).collect();
            prop_assert_eq!(found.values().f64().expect("numbers").iter().collect::<Vec<_>>(), expected);
        }
        let means = x.rolling_mean(window).expect("a column");
        for (row, found) in means.values().f64().expect("numbers").iter().enumerate() {
            let held: Vec<f64> = if row + 1 < window { vec![] } else { a[row + 1 - window..=row].iter().copied().flatten().collect() };
            match found {
                Some(found) => {
                    let mean = held.iter().sum::<f64>() / held.len() as f64;
                    prop_assert!((found - mean).abs() < 1e-9, "{found} {mean}");
                }
                None => prop_assert!(held.is_empty()),
            }
        }
    }
}
