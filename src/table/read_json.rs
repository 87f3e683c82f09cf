//! Reading tables from JSON: a list of objects, one a row, whose keys are headings such as `length [ft]`.
//!
//! Lists inside objects and objects inside objects are no tables and are refused.

use super::heading::{Says, read_heading};
use super::read::number_in;
use super::{Column, Kind, Table, TableError, Values};
use crate::files::read_text;
use crate::quantity::{Preference, dim};
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::Value;
use std::collections::HashMap;
use std::fmt;
use std::path::Path;

/// An object with its members in the order of the text.
struct Members(Vec<(String, Value)>);

impl<'de> Deserialize<'de> for Members {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Members, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Members;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object for each row")
            }

            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Members, M::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(InOrder)
    }
}

impl Table {
    /// Reads a JSON file. Errors: it cannot be read, and those of [`Table::from_json`].
    pub fn read_json(path: &Path) -> Result<Table, TableError> {
        Table::from_json(&read_text(path)?)
    }

    /// Reads JSON text: a list of objects, one a row. Columns stand in the order in which their keys first appear; a key that
    /// an object lacks, or whose value is null, is missing there.
    ///
    /// Errors: no list of objects, an unknown unit, a value that does not fit its heading or the others of its column.
    pub fn from_json(text: &str) -> Result<Table, TableError> {
        let no_table = |reason: String| TableError::BadJson { reason };
        let rows: Vec<Members> = serde_json::from_str(text).map_err(|error| no_table(error.to_string()))?;
        let n_rows = rows.len();
        let mut places: HashMap<String, usize> = HashMap::new();
        let mut columns: Vec<(String, Vec<Value>)> = Vec::new();
        for (row, Members(members)) in rows.into_iter().enumerate() {
            for (key, value) in members {
                let place = *places.entry(key).or_insert_with_key(|key| {
                    columns.push((key.clone(), vec![Value::Null; n_rows]));
                    columns.len() - 1
                });
                columns[place].1[row] = value;
            }
        }
        if columns.is_empty() {
            return Err(TableError::NoHeading);
        }
        let read = |(place, (key, values)): (usize, (String, Vec<Value>))| {
            let (name, says) = read_heading(&key, place + 1)?;
            Ok(Column { values: values_of(&name, says, &values)?, name })
        };
        Table::new(columns.into_iter().enumerate().map(read).collect::<Result<_, TableError>>()?)
    }
}

/// What a column without a unit holds: what its first value is.
fn kind_of(values: &[Value]) -> Kind {
    match values.iter().find(|value| !value.is_null()) {
        Some(Value::String(_)) => Kind::Text,
        Some(Value::Bool(_)) => Kind::Flag,
        _ => Kind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual },
    }
}

fn values_of(name: &str, says: Says, values: &[Value]) -> Result<Values, TableError> {
    let kind = says.kind().unwrap_or_else(|| kind_of(values));
    let bad = |row: usize, value: &Value| {
        let expected = match (kind, says) {
            (Kind::Text, _) => "a text".to_string(),
            (Kind::Flag, _) => "true or false".to_string(),
            (_, Says::Unit(unit)) => format!("a number of {}", unit.symbol),
            _ => "a number".to_string(),
        };
        TableError::BadJson { reason: format!("row {}: column '{name}' expects {expected}, found {value}", row + 1) }
    };
    Ok(match kind {
        Kind::Quantity { dimension, preference } => {
            let si = values.iter().enumerate().map(|(row, value)| {
                let number = match value {
                    Value::Null => return Ok(None),
                    Value::Number(number) => number.as_f64().map(|number| says.to_si(number)).filter(|si| si.is_finite()),
                    Value::String(text) if says != Says::Nothing => number_in(text, says),
                    _ => None,
                };
                number.map(Some).ok_or_else(|| bad(row, value))
            });
            Values::Quantities { si: si.collect::<Result<_, _>>()?, dimension, preference }
        }
        Kind::Text => {
            let texts = values.iter().enumerate().map(|(row, value)| match value {
                Value::Null => Ok(None),
                Value::String(text) => Ok(Some(text.clone())),
                other => Err(bad(row, other)),
            });
            Values::Texts(texts.collect::<Result<_, _>>()?)
        }
        Kind::Flag => {
            let flags = values.iter().enumerate().map(|(row, value)| match value {
                Value::Null => Ok(None),
                Value::Bool(flag) => Ok(Some(*flag)),
                other => Err(bad(row, other)),
            });
            Values::Flags(flags.collect::<Result<_, _>>()?)
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
        let table = Table::from_json(r#"[{"p [psi]": 30, "zone": "12"}, {"zone": "b", "bore [in]": "5/8"}]"#).expect("a table");
        assert_eq!(table.names(), ["p", "zone", "bore"]);
        assert_eq!(table.cell(0, "p").expect("a cell"), psi(30.0));
        assert_eq!(table.cell(0, "zone").expect("a cell"), "12".into());
        assert!(table.cell(1, "p").expect("a cell").is_missing());
        assert_eq!(table.cell(1, "bore").expect("a cell"), q(0.625, "inch"));
    }

    #[test]
    fn what_is_no_table_is_refused() {
        let message = |text: &str| Table::from_json(text).expect_err("refused").to_string();
        assert_eq!(
            message(r#"[{"p [psi]": 30}, {"p [psi]": "4 ft"}]"#),
            "the file is no table in JSON: row 2: column 'p' expects a number of psi, found \"4 ft\""
        );
        assert_eq!(
            message(r#"[{"a": 1}, {"a": "x"}]"#),
            "the file is no table in JSON: row 2: column 'a' expects a number, found \"x\""
        );
        assert_eq!(message(r#"[{"p [pis]": 30}]"#), "column 1, 'p', has the unknown unit 'pis'");
        assert!(message(r#"{"a": 1}"#).starts_with("the file is no table in JSON: "));
        assert!(message(r#"[{"a": [1]}]"#).ends_with("column 'a' expects a number, found [1]"));
        assert_eq!(message("[]"), "the file holds no table: it has no line of column names");
    }
}
