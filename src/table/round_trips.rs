//! Tests: what is written to a file comes back with the same names, kinds and values.

use super::{Column, ColumnKind, Origin, Table, Values};
use crate::files::Place;
use crate::moment::DAY_MS;
use crate::quantity::{Preference, UNITS, UnitSystem, dim};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

const NAME: &str = "#?[a-c.,;\"\\[\\]() _#\u{e9}\n]{1,8}(_m| \\(m\\))?";
const TEXT: &str = "(true|12|NA|-9999|2026-07-01|05:30|[a-c,\"\r\n \u{e9}]{0,5})";

fn values(n_rows: usize) -> impl Strategy<Value = Values> {
    let number = prop_oneof![-1e6..1e6, -1.0..1.0, Just(0.0), -1e-12..1e-12, Just(4e15)];
    let unit = (0..UNITS.len()).prop_map(|index| &UNITS[index]);
    let written = (unit, vec(option::of(number.clone()), n_rows), any::<bool>()).prop_map(|(unit, values, usual)| {
        let si = values.into_iter().map(|value| value.map(|value| unit.to_si(value))).collect();
        let preference = if usual { Preference::Usual } else { Preference::Written(unit) };
        Values::Quantities { si, dimension: unit.dimension, preference }
    });
    let plain = (vec(option::of(number), n_rows), any::<bool>()).prop_map(|(si, odd)| Values::Quantities {
        si,
        dimension: if odd { dim::MASS.over(dim::LENGTH.power(2)) } else { dim::NUMBER },
        preference: Preference::Usual,
    });
    let texts = vec(option::of(TEXT), n_rows).prop_map(Values::Texts);
    let flags = vec(option::of(any::<bool>()), n_rows).prop_map(Values::Flags);
    let dates =
        (vec(option::of(-60_000_000_000..60_000_000_000i64), n_rows), any::<bool>()).prop_map(|(ms, clock)| Values::Dates {
            ms: ms.into_iter().map(|ms| ms.map(|ms| if clock { ms } else { ms.div_euclid(DAY_MS) * DAY_MS })).collect(),
            clock,
        });
    let times = prop_oneof![
        vec(option::of(0i64..86_400_000_000_000), n_rows),
        vec(option::of((0i64..1440).prop_map(|minutes| minutes * 60_000_000_000)), n_rows),
        vec(option::of(-200_000_000_000_000i64..200_000_000_000_000), n_rows),
    ];
    let clocks = times.prop_map(|ns| Values::Quantities {
        si: ns.into_iter().map(|ns| ns.map(crate::clock::seconds_of)).collect(),
        dimension: dim::TIME,
        preference: Preference::Clock,
    });
    prop_oneof![written, plain, texts, flags, dates, clocks]
}

fn tables() -> impl Strategy<Value = Table> {
    (0usize..8).prop_flat_map(|n_rows| vec((NAME, values(n_rows)), 1..5)).prop_filter_map("names must be good", |columns| {
        Table::new(columns.into_iter().map(|(name, values)| Column { name, values }).collect()).ok()
    })
}

fn systems() -> impl Strategy<Value = UnitSystem> {
    prop_oneof![Just(UnitSystem::AsWritten), Just(UnitSystem::Us), Just(UnitSystem::Metric)]
}

/// Says where two tables differ; numbers may differ by 1e-12 of their size.
fn difference(before: &Table, after: &Table) -> Option<String> {
    if (before.names(), before.rows()) != (after.names(), after.rows()) {
        return Some(format!("{:?} x {} became {:?} x {}", before.names(), before.rows(), after.names(), after.rows()));
    }
    let (old, new) = (before.columns().expect("columns"), after.columns().expect("columns"));
    old.iter().zip(&new).find(|(a, b)| !alike(a, b)).map(|(a, b)| format!("{a:?} became {b:?}"))
}

fn alike(a: &Column, b: &Column) -> bool {
    // Below 1e-9 K the zero of the scale swallows digits; such temperatures do not occur.
    let floor = if matches!(a.kind(), ColumnKind::Quantity { dimension, .. } if dimension.absolute) { 1e-9 } else { 0.0 };
    match (&a.values, &b.values) {
        (Values::Quantities { si: x, .. }, Values::Quantities { si: y, .. }) => {
            a.kind().fits(b.kind())
                && x.iter().zip(y).all(|(x, y)| match (x, y) {
                    (Some(x), Some(y)) => (x - y).abs() <= 1e-12 * x.abs() + floor,
                    (x, y) => x == y,
                })
        }
        (x, y) => x == y,
    }
}

proptest! {
    #[test]
    fn comma_separated_text_keeps_the_table(table in tables(), system in systems()) {
        let text = table.to_csv(system).expect("a text");
        let back = Table::from_csv(&text).map_err(|error| TestCaseError::fail(format!("{error}: {text}")))?;
        prop_assert_eq!(difference(&table, &back), None, "{}", text);
        // What was read is written with the same headings again.
        let again = back.to_csv(UnitSystem::AsWritten).expect("a text");
        prop_assert_eq!(difference(&back, &Table::from_csv(&again).expect("a table")), None, "{}", again);
    }

    #[test]
    fn any_text_gives_a_table_or_an_error(text in "[a-b0-9,.;#|\t\"\r\n\\[\\](_) mt/-]*") {
        if let Ok(table) = Table::from_csv(&text) {
            prop_assert!(!table.show(UnitSystem::Us, Some(30)).is_empty());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn parquet_keeps_the_table(table in tables(), system in systems()) {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("t.parquet");
        table.write(&Place::at(&path).expect("a place"), system, &Origin::default()).expect("written");
        let back = Table::read(&path).map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!(difference(&table, &back), None);
    }
}

#[test]
fn times_of_the_day_stay_what_they_are_in_every_file() {
    let column = |seconds: [Option<f64>; 3]| Column {
        name: "start_h".into(),
        values: Values::Quantities { si: seconds.to_vec(), dimension: dim::TIME, preference: Preference::Clock },
    };
    let of_day = column([Some(19_800.0), None, Some(86_399.25)]);
    let beyond = column([Some(-600.0), None, Some(87_000.0)]);
    let home = tempfile::tempdir().expect("a folder");
    for ending in ["csv", "json", "parquet"] {
        for (of_the_day, column) in [(true, &of_day), (false, &beyond)] {
            let path = home.path().join(format!("t.{ending}"));
            let table = Table::new(vec![column.clone()]).expect("a table");
            table.write(&Place::at(&path).expect("a place"), UnitSystem::Us, &Origin::default()).expect("written");
            let back = Table::read(&path).expect("a table");
            assert_eq!(difference(&table, &back), None);
            // A parquet file has no times before and after the day; they are hours there.
            let is_clock = back.kind("start_h").expect("a column").is_clock();
            assert_eq!(is_clock, of_the_day || ending != "parquet", "{ending}");
        }
    }
    let model = super::FileModel::of(&Table::new(vec![of_day]).expect("a table"), UnitSystem::Us, &[]).expect("a model");
    let error = model.group(&Table::new(vec![beyond]).expect("a table")).err().expect("none is a time of the day");
    assert_eq!(error.to_string(), "column 'start_h' of the file holds times of the day, and -00:10 is none");
}

#[test]
fn a_damaged_parquet_file_gives_a_table_or_an_error() {
    let home = tempfile::tempdir().expect("a folder");
    let path = home.path().join("t.parquet");
    super::samples::sweep()
        .write_parquet(&Place::at(&path).expect("a place"), UnitSystem::Us, &Origin::default())
        .expect("written");
    let whole = std::fs::read(&path).expect("bytes");
    let mut n_refused = 0;
    for place in 4..whole.len() - 4 {
        let mut bytes = whole.clone();
        bytes[place] ^= 0xFF;
        std::fs::write(&path, bytes).expect("written");
        n_refused += usize::from(Table::read(&path).is_err());
        let cut = [&whole[..place], b"PAR1"].concat();
        std::fs::write(&path, cut).expect("written");
        assert!(Table::read(&path).is_err(), "cut at {place}");
    }
    assert!(n_refused > 0);
}

#[test]
fn every_operation_works_on_a_table_without_rows() {
    use super::{Join, Order};
    let none = super::samples::sweep().head(0);
    let some = super::samples::sweep();
    assert_eq!(none.sort_by("feed.length", Order::Falling).expect("a table"), none);
    assert_eq!(none.filter(&[]).expect("a table"), none);
    assert_eq!(none.append(&some).expect("a table"), some);
    assert_eq!(some.append(&none).expect("a table"), some);
    assert_eq!(none.pivot("feed.length", "feed.diameter", "remark").expect("a table").names(), ["feed.length"]);
    assert_eq!(none.join(&some, &["remark"], Join::Inner).expect("a table").rows(), 0);
    assert_eq!(none.rows_at(&[]).expect("a table"), none);
    let summary = none.describe().expect("a summary");
    assert!(summary.iter().all(|column| column.n_values == 0 && column.figures.is_none()));
    assert!(none.distinct(&["remark"]).expect("a table").rows() == 0);
    assert_eq!(none.row(0).unwrap_err().to_string(), "no row 0 in this table of 0 rows");
}
