//! Writing tables to files, with the unit of each column in its heading and the values in that unit.
//!
//! A value too large for a number in its unit is written as missing.

use super::csv_text::field_text;
use super::guess::{Guess, ending, guess};
use super::heading::{heading, hours};
use super::{Cell, Column, ColumnKind, FileModel, Origin, Table, TableError, TableFile, Values};
use crate::clock;
use crate::files::{Place, write_atomically};
use crate::limits::{self, Ended, Steps};
use crate::quantity::{Unit, UnitSystem};
use polars::prelude as pl;
use polars::prelude::{ChunkApply, IntoColumn, IntoSeries, NamedFrom, NewChunkedArray};

impl Table {
    /// The table as comma-separated text: a line of headings such as `feed.length [ft]`, then the rows with all digits.
    /// A missing value is an empty field, an empty text is `""`, a flag is `true` or `false`.
    ///
    /// Errors: none but faults of the table library.
    pub fn to_csv(&self, system: UnitSystem) -> Result<String, TableError> {
        let columns = self.columns()?;
        let headings = columns.iter().map(|column| field_text(&heading(&column.name, column.kind(), is_marked(column), system)));
        let mut text = headings.collect::<Vec<_>>().join(",") + "\n";
        for row in 0..self.rows() {
            for (place, column) in columns.iter().enumerate() {
                let field = match column.cell(row) {
                    Cell::Missing => String::new(),
                    Cell::Quantity(time) if column.kind().is_clock() => clock::full_text(time.si).unwrap_or_default(),
                    Cell::Quantity(quantity) => number_text(column.kind().shown_value(quantity.si, system)).unwrap_or_default(),
                    Cell::Text(text) => field_text(&text),
                    Cell::Flag(flag) => flag.to_string(),
                    Cell::Date(date) => date.to_string(),
                };
                text += if place > 0 { "," } else { "" };
                grow(&mut text, &field)?;
            }
            text.push('\n');
        }
        Ok(text)
    }

    /// The table as JSON: a list with an object for each row, its keys the headings such as `feed.length [ft]`.
    ///
    /// Errors: none but faults of the table library.
    pub fn to_json(&self, system: UnitSystem) -> Result<String, TableError> {
        let columns = self.columns()?;
        let keys: Vec<String> = columns
            .iter()
            .map(|column| json_text(&heading(&column.name, column.kind(), is_marked_in_json(column), system)))
            .collect();
        let mut text = String::from("[");
        for row in 0..self.rows() {
            text += if row > 0 { ",\n  {" } else { "\n  {" };
            for (place, (column, key)) in columns.iter().zip(&keys).enumerate() {
                let value = match column.cell(row) {
                    Cell::Missing => None,
                    Cell::Quantity(time) if column.kind().is_clock() => clock::full_text(time.si).map(|text| json_text(&text)),
                    Cell::Quantity(quantity) => number_text(column.kind().shown_value(quantity.si, system)),
                    Cell::Text(text) => Some(json_text(&text)),
                    Cell::Flag(flag) => Some(flag.to_string()),
                    Cell::Date(date) => Some(json_text(&date.to_string())),
                };
                text += if place > 0 { ", " } else { "" };
                text += key;
                text += ": ";
                grow(&mut text, value.as_deref().unwrap_or("null"))?;
            }
            text.push('}');
        }
        text += if self.rows() > 0 { "\n]\n" } else { "]\n" };
        Ok(text)
    }

    /// For each column whether it holds times of the day, and none before or after it.
    pub(super) fn times_of_day(&self) -> Result<Vec<bool>, TableError> {
        let one = |place: usize| -> Result<bool, TableError> {
            let column = self.column_in(place);
            Ok(column.kind().is_clock() && column.values().f64()?.iter().flatten().all(clock::is_of_day))
        };
        (0..self.kinds.len()).map(one).collect()
    }

    /// The columns as they stand in a file: headings with units, values in them. Those that are to be times of the day are times, others
    /// of this kind hours.
    ///
    /// Errors: a time before or after the day that is to be one.
    pub(super) fn file_frame(&self, system: UnitSystem, times: &[bool]) -> Result<pl::DataFrame, TableError> {
        let stored = |(place, is_time): (usize, &bool)| -> Result<pl::Column, TableError> {
            let column = &self.frame.columns()[place];
            limits::room_for(column.len().saturating_mul(size_of::<f64>()))?;
            let kind = if self.kinds[place].is_clock() && !is_time { hours() } else { self.kinds[place] };
            let name = pl::PlSmallStr::from_string(heading(column.name(), kind, false, system));
            let series = match kind {
                _ if *is_time => time_series(column)?,
                ColumnKind::Quantity { .. } => shown(column.f64()?, kind.shown_unit(system)).into_series(),
                // Texts are copied, since a slice of a column holds all texts of the column.
                ColumnKind::Text => copied(column.str()?)?.into_series(),
                ColumnKind::Flag => column.as_materialized_series().clone(),
                ColumnKind::Date { clock } => {
                    let dates = column.as_materialized_series().clone().into_datetime(pl::TimeUnit::Milliseconds, None);
                    if clock { dates } else { dates.cast(&pl::DataType::Date)? }
                }
            };
            Ok(series.with_name(name).into_column())
        };
        let columns = times.iter().enumerate().map(stored);
        Ok(pl::DataFrame::new(self.rows(), columns.collect::<Result<_, _>>()?)?)
    }

    /// Writes a `.csv` file, whole or not at all. Errors: the file cannot be written.
    pub fn write_csv(&self, place: &Place, system: UnitSystem) -> Result<(), TableError> {
        Ok(write_atomically(place, self.to_csv(system)?.as_bytes())?)
    }

    /// Writes a `.json` file, whole or not at all. Errors: the file cannot be written.
    pub fn write_json(&self, place: &Place, system: UnitSystem) -> Result<(), TableError> {
        Ok(write_atomically(place, self.to_json(system)?.as_bytes())?)
    }

    /// Writes a `.parquet` file, whole or not at all. Errors: the file cannot be written.
    pub fn write_parquet(&self, place: &Place, system: UnitSystem, origin: &Origin) -> Result<(), TableError> {
        let model = FileModel::of(self, system, &[])?;
        let mut file = TableFile::create(place, &model, origin)?;
        for first in (0..self.rows()).step_by(GROUP_ROWS) {
            let slice = self.frame.slice(first as i64, GROUP_ROWS);
            file.append(&model.group(&Table::made(slice, self.kinds.clone()))?)?;
        }
        file.finish()
    }

    /// Writes a file of the kind its name ends with: `.csv`, `.parquet`, `.json` or `.md`, whole or not at all.
    ///
    /// Errors: another ending, the file cannot be written.
    pub fn write(&self, place: &Place, system: UnitSystem, origin: &Origin) -> Result<(), TableError> {
        match ending(place.path()).as_str() {
            "csv" => self.write_csv(place, system),
            "parquet" => self.write_parquet(place, system, origin),
            "json" => self.write_json(place, system),
            "md" => Ok(write_atomically(place, self.show_markdown(system)?.as_bytes())?),
            _ => Err(TableError::UnknownFile { path: place.path().display().to_string() }),
        }
    }
}

/// SI numbers in a unit. One too large for a number there is missing.
fn shown(numbers: &pl::Float64Chunked, unit: Option<&Unit>) -> pl::Float64Chunked {
    let Some(unit) = unit else { return numbers.clone() };
    let shown = numbers.apply_values(|si| unit.from_si(si));
    if shown.downcast_iter().all(|values| values.values().iter().fold(true, |all, value| all & value.is_finite())) {
        return shown;
    }
    let finite = shown.iter().map(|value| value.filter(|value| value.is_finite()));
    pl::Float64Chunked::from_iter_options(numbers.name().clone(), finite)
}

/// The texts alone. Errors: the evaluation is to end.
fn copied(texts: &pl::StringChunked) -> Result<pl::StringChunked, Ended> {
    let mut column = pl::StringChunkedBuilder::new(texts.name().clone(), texts.len());
    let mut steps = Steps::default();
    for text in texts.iter() {
        steps.weigh(text.map_or(0, str::len))?;
        column.append_option(text);
    }
    Ok(column.finish())
}

/// Seconds as times of the day. Errors: one before or after the day.
fn time_series(column: &pl::Column) -> Result<pl::Series, TableError> {
    let one = |time: Option<f64>| match time {
        Some(time) if clock::is_of_day(time) => Ok(clock::ns_of(time)),
        Some(time) => {
            let found = clock::text(time).unwrap_or_default();
            Err(TableError::NotOfDay { column: column.name().to_string(), found })
        }
        None => Ok(None),
    };
    let ns = column.f64()?.iter().map(one).collect::<Result<Vec<_>, _>>()?;
    Ok(pl::Series::new(column.name().clone(), ns).into_time())
}

/// Adds to a text that may become long. Errors: the evaluation is to end.
fn grow(text: &mut String, more: &str) -> Result<(), Ended> {
    if text.capacity() - text.len() < more.len() {
        // It grows to twice its length, and the old one is there until it is copied.
        limits::room_for(text.len().saturating_mul(2).saturating_add(more.len()))?;
    }
    text.push_str(more);
    limits::go_on()
}

/// Rows of a row group of a parquet file.
const GROUP_ROWS: usize = 1 << 16;

/// True when texts or flags would be taken for something else without a mark in the heading.
fn is_marked(column: &Column) -> bool {
    match &column.values {
        Values::Quantities { si, .. } if column.kind().is_clock() => {
            si.iter().all(Option::is_none) || !si.iter().flatten().all(|time| clock::is_of_day(*time))
        }
        Values::Quantities { .. } => false,
        Values::Dates { ms, .. } => ms.iter().all(Option::is_none),
        Values::Texts(texts) => guess(texts.iter().flatten().map(String::as_str)) != Guess::Texts,
        Values::Flags(flags) => flags.iter().all(Option::is_none),
    }
}

/// True for texts that would be taken for dates or times of the day, and for those where they would not.
fn is_marked_in_json(column: &Column) -> bool {
    match &column.values {
        Values::Texts(texts) => {
            matches!(guess(texts.iter().flatten().map(String::as_str)), Guess::Dates { .. } | Guess::Clocks)
        }
        Values::Dates { .. } | Values::Quantities { .. } => is_marked(column),
        _ => false,
    }
}

/// A number with all its digits; nothing when it is not finite.
///
/// A number that is a short one but for the rounding of a unit conversion is written as the short one: 0.75 and not
/// 0.7499999999999999.
fn number_text(value: f64) -> Option<String> {
    let rounded = format!("{value:.14e}").parse().unwrap_or(value);
    let is_short = format!("{rounded:e}").split('e').next().is_some_and(|digits| digits.len() <= 13);
    let value = if is_short { rounded } else { value };
    let plain = value == 0.0 || (1e-5..1e16).contains(&value.abs());
    value.is_finite().then(|| if plain { format!("{}", value + 0.0) } else { format!("{value:e}") })
}

fn json_text(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::{sweep, unit};

    #[test]
    fn files_are_texts_with_units_in_the_heading() {
        insta::assert_snapshot!("csv", sweep().to_csv(UnitSystem::Metric).expect("a text"));
        insta::assert_snapshot!("json", sweep().to_json(UnitSystem::Us).expect("a text"));
    }

    #[test]
    fn json_is_read_by_any_reader() {
        let table =
            Table::new(vec![Column::texts("a \"b\"\n", ["\u{1}x"]), Column::written("l", [1e-9], unit("m"))]).expect("a table");
        let value: serde_json::Value =
            serde_json::from_str(&table.to_json(UnitSystem::AsWritten).expect("a text")).expect("json");
        assert_eq!(value[0]["a \"b\""], "\u{1}x");
        assert_eq!(value[0]["l [m]"], 1e-9);
        let none = sweep().head(0).to_json(UnitSystem::Us).expect("a text");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&none).expect("json"), serde_json::json!([]));
    }

    #[test]
    fn numbers_keep_all_digits() {
        for value in [2.0 / 7.0, -1.0 / 3.0, 1e-300, 1.5e300, 123_456_789.123_456_78, 0.0] {
            assert_eq!(number_text(value).expect("finite").parse::<f64>(), Ok(value));
        }
        assert_eq!(number_text(0.749_999_999_999_999_9).as_deref(), Some("0.75"));
        assert_eq!(number_text(-0.0).as_deref(), Some("0"));
        assert_eq!(number_text(f64::INFINITY), None);
    }

    #[test]
    fn the_ending_chooses_the_kind_of_file() {
        let home = tempfile::tempdir().expect("a folder");
        let place = |name: &str| Place::at(&home.path().join(name));
        for name in ["t.csv", "t.parquet", "t.json", "t.md", "T.CSV"] {
            sweep().write(&place(name).expect(name), UnitSystem::Us, &Origin::default()).expect(name);
        }
        let error = sweep().write(&place("t.xls").expect("a place"), UnitSystem::Us, &Origin::default()).unwrap_err();
        assert!(error.to_string().starts_with("the kind of table file"), "{error}");
        assert!(place("none/t.csv").is_err());
    }
}
