//! Solution tables from files; the unit of a column stands in its heading.

use super::csv_text::{Field, Record, read_records};
use super::guess::{Guess, ending, finite, guess, plain_number};
use super::heading::{Says, read_heading};
use super::{Column, ColumnKind, Table, TableError, Values};
use crate::files::{read_bytes, text_of};
use crate::limits::{self, Steps};
use crate::quantity::{Preference, dim, read_quantity};
use std::path::Path;

impl Table {
    /// Reads a file of the kind its name ends with, `.csv`, `.parquet` or `.json`. Errors: another ending, and those of the three.
    pub fn read(path: &Path) -> Result<Table, TableError> {
        Table::check_ending(path)?;
        Table::from_bytes(path, read_bytes(path)?)
    }

    /// The table that these bytes of a file are. Errors: those of [`Table::read`].
    pub fn from_bytes(path: &Path, bytes: Vec<u8>) -> Result<Table, TableError> {
        Table::check_ending(path)?;
        match ending(path).as_str() {
            "csv" => Table::from_csv(&text_of(bytes, path)?),
            "json" => Table::from_json(&text_of(bytes, path)?),
            _ => Table::from_parquet(path, bytes),
        }
    }

    /// Errors: a file that is no table by its ending.
    pub fn check_ending(path: &Path) -> Result<(), TableError> {
        let known = matches!(ending(path).as_str(), "csv" | "json" | "parquet");
        if known { Ok(()) } else { Err(TableError::UnknownFile { path: path.display().to_string() }) }
    }

    /// Reads comma-separated text: a line of headings, then the rows.
    ///
    /// `pressure [psi]` is a column of pressures; its fields hold a number, a fraction such as `5/8`, or a quantity of that
    /// dimension in another unit. Without a unit, a column of numbers holds plain numbers, one of `true` and `false` flags,
    /// and any other texts. An empty field is missing, an empty line is passed over unless there is only one column.
    ///
    /// Errors: an unknown unit or a bad value (with column, line and the text found), a line with more or fewer fields
    /// than the heading, another separator than a comma, no heading.
    pub fn from_csv(text: &str) -> Result<Table, TableError> {
        let mut records = read_records(text)?.into_iter().skip_while(Record::is_blank);
        let Some(head) = records.next() else { return Err(TableError::NoHeading) };
        let n_columns = head.fields.len();
        if let [Field { text, quoted: false }] = head.fields.as_slice() {
            let separators = [(';', "semicolons"), ('\t', "tabs")];
            if let Some((_, separator)) = separators.into_iter().find(|(separator, _)| text.trim().contains(*separator)) {
                return Err(TableError::OtherSeparator { separator });
            }
        }
        let rows: Vec<Record> = records.filter(|record| n_columns == 1 || !record.is_blank()).collect();
        if let Some(bad) = rows.iter().find(|record| record.fields.len() != n_columns) {
            return Err(TableError::RaggedLine { line: bad.line, found: bad.fields.len(), expected: n_columns });
        }
        let columns = head.fields.iter().enumerate().map(|(place, field)| {
            let (name, says) = read_heading(&field.text, place + 1)?;
            read_column(name, says, &rows, place)
        });
        Table::new(columns.collect::<Result<_, _>>()?)
    }
}

fn read_column(name: String, says: Says, rows: &[Record], place: usize) -> Result<Column, TableError> {
    limits::room_for(rows.len().saturating_mul(size_of::<Option<String>>()))?;
    let mut steps = Steps::default();
    let fields = || rows.iter().map(|record| (record.line, &record.fields[place]));
    let kind = says.kind().unwrap_or_else(|| match guess(fields().map(|(_, field)| field.text.as_str())) {
        Guess::Numbers => ColumnKind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual },
        Guess::Flags => ColumnKind::Flag,
        Guess::Texts => ColumnKind::Text,
    });
    let bad = |line: usize, field: &Field| TableError::BadValue {
        column: name.clone(),
        line,
        expected: match says {
            Says::Unit(unit) => format!("a number of {}", unit.symbol),
            Says::Flag => "true or false".into(),
            _ => "a number".into(),
        },
        found: field.text.clone(),
    };
    let values = match kind {
        ColumnKind::Quantity { dimension, preference } => {
            let si = fields().map(|(line, field)| {
                steps.step()?;
                match field.text.trim() {
                    "" => Ok(None),
                    text => number_in(text, says).map(Some).ok_or_else(|| bad(line, field)),
                }
            });
            Values::Quantities { si: si.collect::<Result<_, _>>()?, dimension, preference }
        }
        ColumnKind::Flag => {
            let flags = fields().map(|(line, field)| {
                steps.step()?;
                match field.text.trim().to_lowercase().as_str() {
                    "" => Ok(None),
                    "true" | "yes" => Ok(Some(true)),
                    "false" | "no" => Ok(Some(false)),
                    _ => Err(bad(line, field)),
                }
            });
            Values::Flags(flags.collect::<Result<_, _>>()?)
        }
        ColumnKind::Text => {
            let texts = fields().map(|(_, field)| {
                steps.weigh(field.text.len())?;
                Ok((!field.is_missing()).then(|| field.text.clone()))
            });
            Values::Texts(texts.collect::<Result<_, TableError>>()?)
        }
    };
    Ok(Column { name, values })
}

/// The SI value of a field below a heading: a number, or a text such as `5/8` or `12 ft` of the dimension of the heading.
pub(super) fn number_in(text: &str, says: Says) -> Option<f64> {
    if let Some(value) = plain_number(text) {
        return finite(says.to_si(value));
    }
    let Says::Unit(unit) = says else { return None };
    let quantity = read_quantity(text).ok()?;
    if quantity.dimension.is_number() {
        return finite(unit.to_si(quantity.si));
    }
    (quantity.dimension == unit.dimension).then_some(quantity.si)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Cell;
    use crate::table::samples::{psi, q};

    fn message(text: &str) -> String {
        Table::from_csv(text).unwrap_err().to_string()
    }

    #[test]
    fn headings_give_units_and_values_give_the_rest() {
        let table = Table::from_csv("zone, p [psi] ,n,ok,mixed\r\nbeds,30,1,true,1\r\n\r\n,,,,x\r\n").expect("a table");
        assert_eq!(table.names(), ["zone", "p", "n", "ok", "mixed"]);
        let row = |row| table.row(row).expect("a row").into_iter().map(|(_, cell)| cell).collect::<Vec<_>>();
        assert_eq!(row(0), ["beds".into(), psi(30.0), Cell::number(1.0), true.into(), "1".into()]);
        assert_eq!(row(1), [Cell::Missing, Cell::Missing, Cell::Missing, Cell::Missing, "x".into()]);
    }

    #[test]
    fn a_unit_column_takes_fractions_and_quantities_of_its_dimension() {
        let table = Table::from_csv("diameter [in]\n5/8\n1 1/2\n2 cm\n").expect("a table");
        let cells: Vec<Cell> = table.column("diameter").expect("a column").cells().collect();
        assert_eq!(cells, [q(0.625, "inch"), q(1.5, "inch"), q(2.0, "cm")]);
        assert!(Table::from_csv("diameter [in]\n2 psi\n").is_err());
    }

    #[test]
    fn bad_files_are_refused_with_place_and_found_text() {
        assert_eq!(message("a,p [psi]\nx,30\ny,low\n"), "line 3: column 'p' expects a number of psi, found 'low'");
        assert_eq!(message("p [psi]\nnan\n"), "line 2: column 'p' expects a number of psi, found 'nan'");
        assert_eq!(message("p [psi]\n1e999\n"), "line 2: column 'p' expects a number of psi, found '1e999'");
        assert_eq!(message("a [yes/no]\nmaybe\n"), "line 2: column 'a' expects true or false, found 'maybe'");
        assert_eq!(message("p [pis]\n1\n"), "column 1, 'p', has the unknown unit 'pis'");
        assert_eq!(message("a,b\n1,2\n1,2,3\n"), "line 3 has 3 fields, but the heading has 2");
        assert_eq!(message("a,\"b\n1,2"), "the quotation mark opened in line 1 is never closed");
        assert_eq!(message("\n\n"), "the file holds no table: it has no line of column names");
        assert_eq!(message("a,,b\n"), "column 2 of the table has no name");
        assert_eq!(message("a;b\n1;2\n"), "the fields of the file seem to be separated by semicolons, not by commas");
        assert_eq!(message("a,a\n"), "two columns are named 'a'");
    }

    #[test]
    fn files_that_are_missing_damaged_or_of_another_kind_are_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let path = |name: &str| home.path().join(name);
        assert!(matches!(Table::read(&path("no.csv")), Err(TableError::File(_))));
        assert!(matches!(Table::read(&path("no.parquet")), Err(TableError::File(_))));
        assert!(matches!(Table::read(&path("no.xyz")), Err(TableError::UnknownFile { .. })));
        std::fs::write(path("bad.parquet"), b"PAR1 is not enough PAR1").expect("written");
        assert!(matches!(Table::read(&path("bad.parquet")), Err(TableError::Unreadable { .. })));
        std::fs::write(path("bad.parquet"), b"a,b").expect("written");
        assert!(matches!(Table::read(&path("bad.parquet")), Err(TableError::Unreadable { .. })));
    }
}
