//! Solution tables from JSON: a list of objects, one a row, whose keys are headings such as `length [ft]`.
//!
//! Lists inside objects and objects inside objects are no tables and are refused.

use super::guess::Writing;
use super::heading::{CLOCKS, Head, Says, read_heading, unlike};
use super::read::{clock_in, number_in};
use super::{Column, ColumnKind, Table, TableError, Values, check_size};
use crate::limits::{self, Steps};
use crate::moment::{DateOrder, Moment};
use crate::quantity::{Preference, dim};
use serde::de::{Deserialize, DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::HashMap;
use std::fmt;

/// A value of a row.
#[derive(Clone, Debug, PartialEq)]
enum Member {
    Missing,
    Number(f64),
    Text(String),
    Flag(bool),
    /// A list or an object, which no table holds.
    Nested(&'static str),
}

impl fmt::Display for Member {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Member::Missing => f.write_str("null"),
            Member::Number(number) => write!(f, "{number}"),
            Member::Text(text) => write!(f, "{text:?}"),
            Member::Flag(flag) => write!(f, "{flag}"),
            Member::Nested(what) => f.write_str(what),
        }
    }
}

impl<'de> Deserialize<'de> for Member {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Member, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = Member;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a number, a string, true, false or null")
            }

            fn visit_unit<E>(self) -> Result<Member, E> {
                Ok(Member::Missing)
            }

            fn visit_bool<E>(self, flag: bool) -> Result<Member, E> {
                Ok(Member::Flag(flag))
            }

            fn visit_i64<E>(self, number: i64) -> Result<Member, E> {
                Ok(Member::Number(number as f64))
            }

            fn visit_u64<E>(self, number: u64) -> Result<Member, E> {
                Ok(Member::Number(number as f64))
            }

            fn visit_f64<E>(self, number: f64) -> Result<Member, E> {
                Ok(Member::Number(number))
            }

            fn visit_str<E>(self, text: &str) -> Result<Member, E> {
                Ok(Member::Text(text.to_string()))
            }

            fn visit_seq<S: SeqAccess<'de>>(self, mut items: S) -> Result<Member, S::Error> {
                while items.next_element::<IgnoredAny>()?.is_some() {
                    limits::go_on().map_err(S::Error::custom)?;
                }
                Ok(Member::Nested("a list"))
            }

            fn visit_map<M: MapAccess<'de>>(self, mut members: M) -> Result<Member, M::Error> {
                while members.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {
                    limits::go_on().map_err(M::Error::custom)?;
                }
                Ok(Member::Nested("an object"))
            }
        }
        deserializer.deserialize_any(Any)
    }
}

/// Columns in the making: their headings with the values of the rows read; rows after the last value are missing.
#[derive(Default)]
struct Rows {
    rows: usize,
    places: HashMap<String, usize>,
    columns: Vec<(String, Vec<Member>)>,
}

impl Rows {
    fn set(&mut self, key: String, value: Member) {
        let columns = &mut self.columns;
        let place = *self.places.entry(key).or_insert_with_key(|key| {
            columns.push((key.clone(), Vec::new()));
            columns.len() - 1
        });
        let values = &mut columns[place].1;
        // Of a key that an object gives twice the last value counts.
        values.truncate(self.rows);
        values.resize(self.rows, Member::Missing);
        values.push(value);
    }
}

/// The rows of a list of objects.
impl<'de> Visitor<'de> for &mut Rows {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of objects, one for each row")
    }

    fn visit_seq<S: SeqAccess<'de>>(self, mut rows: S) -> Result<(), S::Error> {
        while rows.next_element_seed(Row(self))?.is_some() {
            limits::go_on().map_err(S::Error::custom)?;
            self.rows += 1;
        }
        Ok(())
    }
}

/// One row, an object.
struct Row<'a>(&'a mut Rows);

impl<'de> DeserializeSeed<'de> for Row<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Row<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object for each row")
    }

    fn visit_map<M: MapAccess<'de>>(self, mut members: M) -> Result<(), M::Error> {
        let Row(rows) = self;
        while let Some((key, value)) = members.next_entry()? {
            limits::go_on().map_err(M::Error::custom)?;
            rows.set(key, value);
        }
        Ok(())
    }
}

impl Table {
    /// Reads JSON text: a list of objects, one a row. Columns stand in the order in which their keys first appear; a key that
    /// an object lacks, or whose value is null, is missing there.
    ///
    /// Errors: no list of objects, an unknown unit, a value that does not fit its heading or the others of its column.
    pub fn from_json(text: &str) -> Result<Table, TableError> {
        let mut rows = Rows::default();
        let mut reader = serde_json::Deserializer::from_str(text);
        let read = reader.deserialize_seq(&mut rows).and_then(|()| reader.end());
        limits::go_on()?;
        read.map_err(|error| TableError::BadJson { reason: error.to_string() })?;
        let Rows { rows, columns, .. } = rows;
        if columns.is_empty() {
            return Err(TableError::NoHeading);
        }
        check_size(rows, columns.len())?;
        let mut heads = Vec::with_capacity(columns.len());
        for (place, (key, values)) in columns.iter().enumerate() {
            let head = read_heading(key, place + 1)?;
            let kind = kind_of(values);
            heads.push(if kind.is_numeric() && !kind.is_clock() { head } else { head.without_unit() });
        }
        unlike(heads.iter_mut().collect())?;
        let read = |((_, mut values), head): ((String, Vec<Member>), Head)| {
            limits::room_for(rows.saturating_mul(2 * size_of::<Member>()))?;
            values.resize(rows, Member::Missing);
            Ok(Column { values: values_of(&head.name, head.says, values)?, name: head.name })
        };
        Table::new(columns.into_iter().zip(heads).map(read).collect::<Result<_, TableError>>()?)
    }
}

/// What a column without a unit holds: what its first value is.
fn kind_of(values: &[Member]) -> ColumnKind {
    match values.iter().find(|value| **value != Member::Missing) {
        Some(Member::Text(_)) => match dates_of(values.iter()) {
            Some(clock) => ColumnKind::Date { clock },
            None if are_clocks(values) => CLOCKS,
            None => ColumnKind::Text,
        },
        Some(Member::Flag(_)) => ColumnKind::Flag,
        _ => ColumnKind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual },
    }
}

/// Whether all texts are dates, and if so whether one has a time of the day.
fn dates_of<'v>(values: impl Iterator<Item = &'v Member>) -> Option<bool> {
    let mut dates = values.filter_map(|value| match value {
        Member::Missing => None,
        Member::Text(text) => Some(Moment::read(text, DateOrder::YearMonthDay)),
        _ => Some(None),
    });
    dates.try_fold(false, |clock, date| Some(clock | date?.has_clock()))
}

/// True where all values are texts of times of the day.
fn are_clocks(values: &[Member]) -> bool {
    values.iter().all(|value| match value {
        Member::Missing => true,
        Member::Text(text) => clock_in(text, Says::Nothing).is_some(),
        _ => false,
    })
}

fn values_of(name: &str, says: Says, values: Vec<Member>) -> Result<Values, TableError> {
    let kind = says.kind().unwrap_or_else(|| kind_of(&values));
    let bad = |row: usize, value: &Member| {
        let expected = match (kind, says) {
            (ColumnKind::Text, _) => "a string".to_string(),
            (ColumnKind::Flag, _) => "true or false".to_string(),
            (ColumnKind::Date { .. }, _) => "a date".to_string(),
            (kind, _) if kind.is_clock() => "a time of day".to_string(),
            (_, Says::Unit(unit)) => format!("a number of {}", unit.symbol),
            _ => "a number".to_string(),
        };
        TableError::BadJson { reason: format!("row {}: column '{name}' expects {expected}, found {value}", row + 1) }
    };
    let mut steps = Steps::default();
    let rows = values.into_iter().enumerate();
    Ok(match kind {
        ColumnKind::Quantity { dimension, preference } => {
            let si = rows.map(|(row, value)| {
                steps.step()?;
                let number = match &value {
                    Member::Missing => return Ok(None),
                    Member::Text(text) if kind.is_clock() => clock_in(text, says),
                    _ if kind.is_clock() => None,
                    Member::Number(number) => Some(says.to_si(*number)).filter(|si| si.is_finite()),
                    Member::Text(text) if says != Says::Nothing => number_in(text, says, &Writing::default()),
                    _ => None,
                };
                number.map(Some).ok_or_else(|| bad(row, &value))
            });
            Values::Quantities { si: si.collect::<Result<_, TableError>>()?, dimension, preference }
        }
        ColumnKind::Text => {
            let texts = rows.map(|(row, value)| {
                steps.step()?;
                match value {
                    Member::Missing => Ok(None),
                    Member::Text(text) => Ok(Some(text)),
                    other => Err(bad(row, &other)),
                }
            });
            Values::Texts(texts.collect::<Result<_, TableError>>()?)
        }
        ColumnKind::Date { clock } => {
            let ms = rows.map(|(row, value)| {
                steps.step()?;
                match &value {
                    Member::Missing => Ok(None),
                    Member::Text(text) => {
                        Moment::read(text, DateOrder::YearMonthDay).map(|date| Some(date.ms())).ok_or_else(|| bad(row, &value))
                    }
                    _ => Err(bad(row, &value)),
                }
            });
            Values::Dates { ms: ms.collect::<Result<_, TableError>>()?, clock }
        }
        ColumnKind::Flag => {
            let flags = rows.map(|(row, value)| {
                steps.step()?;
                match value {
                    Member::Missing => Ok(None),
                    Member::Flag(flag) => Ok(Some(flag)),
                    other => Err(bad(row, &other)),
                }
            });
            Values::Flags(flags.collect::<Result<_, TableError>>()?)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::UnitSystem;
    use crate::table::samples::{psi, q, sweep};

    #[test]
    fn a_table_that_was_saved_is_read_back() {
        for system in [UnitSystem::AsWritten, UnitSystem::Us] {
            let text = sweep().to_json(system).expect("a text");
            let back = Table::from_json(&text).expect("a table");
            assert_eq!(back.names(), sweep().names());
            assert_eq!(back.show(system, None), sweep().show(system, None));
        }
    }

    #[test]
    fn headings_give_units_and_missing_keys_are_missing() {
        let table =
            Table::from_json(r#"[{"p [psi]": 30, "zone": "12"}, {"zone": "b", "diameter [in]": "5/8"}]"#).expect("a table");
        assert_eq!(table.names(), ["p", "zone", "diameter"]);
        assert_eq!(table.cell(0, "p").expect("a cell"), psi(30.0));
        assert_eq!(table.cell(0, "zone").expect("a cell"), "12".into());
        assert!(table.cell(1, "p").expect("a cell").is_missing());
        assert_eq!(table.cell(1, "diameter").expect("a cell"), q(0.625, "inch"));
    }

    #[test]
    fn dates_are_texts_and_what_is_no_unit_stays_in_the_name() {
        let table = Table::from_json(r#"[{"day": "2026-07-01", "p [pis]": 3, "l_ft": 1, "zone_m": "a"}, {"day": null}]"#)
            .expect("a table");
        assert_eq!(table.names(), ["day", "p [pis]", "l", "zone_m"]);
        assert_eq!(table.kind("day").expect("a kind"), ColumnKind::Date { clock: false });
        assert_eq!(table.cell(0, "l").expect("a cell"), q(1.0, "ft"));
        let text = table.to_json(crate::quantity::UnitSystem::AsWritten).expect("a text");
        assert_eq!(Table::from_json(&text).expect("a table"), table);
    }

    #[test]
    fn what_is_no_table_is_refused() {
        let message = |text: &str| Table::from_json(text).expect_err("refused").to_string();
        assert_eq!(
            message(r#"[{"p [psi]": 30}, {"p [psi]": "4 ft"}]"#),
            "the file is not a JSON table: row 2: column 'p' expects a number of psi, found \"4 ft\""
        );
        assert_eq!(
            message(r#"[{"a": 1}, {"a": "x"}]"#),
            "the file is not a JSON table: row 2: column 'a' expects a number, found \"x\""
        );
        assert!(message(r#"{"a": 1}"#).starts_with("the file is not a JSON table: "));
        assert!(message(r#"[{"a": [1]}]"#).ends_with("column 'a' expects a number, found a list"));
        assert_eq!(message("[]"), "the file holds no table: it has no line of column names");
    }
}
