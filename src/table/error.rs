//! What can be wrong with a table, in words for people.

use crate::files::FileError;
use crate::limits::Ended;
use crate::nearest::did_you_mean;
use crate::told::Told;
use polars::prelude::PolarsError;
use thiserror::Error;

/// Why a table could not be made, asked, written or read. Rows are numbered from 0, lines of a file from 1.
#[derive(Debug, Error)]
pub enum TableError {
    #[error("a table needs at least one column")]
    NoColumns,
    #[error("column {position} of the table has no name")]
    NoName { position: usize },
    #[error("two columns are named '{name}'")]
    RepeatedName { name: String },
    #[error("column '{name}' has {found} rows, but column '{first}' has {expected}")]
    UnequalLength { name: String, found: usize, first: String, expected: usize },
    #[error("no column '{name}' in this table")]
    UnknownColumn { name: String, known: Vec<String> },
    #[error("no row {row} in this table of {rows} rows")]
    NoRow { row: usize, rows: usize },
    #[error("column '{column}' holds {expected}, but row {row} gives {found}")]
    MixedColumn { column: String, row: usize, expected: String, found: String },
    #[error("row {row} gives column '{column}' twice")]
    RepeatedCell { column: String, row: usize },
    #[error("{found} answers for {expected} rows")]
    MaskLength { found: usize, expected: usize },
    #[error("cannot {action} by column '{column}', which holds {found}")]
    NotNumeric { action: &'static str, column: String, found: String },
    #[error("column '{column}' has no value to choose from: all {rows} rows are missing")]
    AllMissing { column: String, rows: usize },
    #[error("the tables differ: column '{column}' is only in the {place} one")]
    DifferentColumns { column: String, place: &'static str },
    #[error("column '{column}' holds {left} in one table and {right} in the other")]
    DifferentKinds { column: String, left: String, right: String },
    #[error("rows {first} and {second} both give '{values}' for {rows} and {columns}")]
    SeveralValues { values: String, rows: String, columns: String, first: usize, second: usize },
    #[error("column {position}, '{column}', has the unknown unit '{unit}'")]
    UnknownUnit { column: String, position: usize, unit: String, nearest: Vec<&'static str> },
    #[error("line {line}: column '{column}' expects {expected}, found '{found}'")]
    BadValue { column: String, line: usize, expected: String, found: String },
    #[error("line {line} has {found} fields, but the heading has {expected}")]
    RaggedLine { line: usize, found: usize, expected: usize },
    #[error("the quotation mark opened in line {line} is never closed")]
    OpenQuote { line: usize },
    #[error("the file holds no table: it has no line of column names")]
    NoHeading,
    #[error("the fields of the file seem to be separated by {separator}, not by commas")]
    OtherSeparator { separator: &'static str },
    #[error("cannot tell what kind of table file '{path}' is")]
    UnknownFile { path: String },
    #[error("column '{column}' holds {found}, which is not a number, a text or a yes or no")]
    ForeignColumn { column: String, found: String },
    #[error("the file is no table in JSON: {reason}")]
    BadJson { reason: String },
    #[error("'{path}' is not a readable parquet file: {reason}")]
    Unreadable { path: String, reason: String },
    #[error(transparent)]
    Ended(#[from] Ended),
    #[error("a table of {rows} rows and {columns} columns is too large: at most {most} cells fit")]
    TooLarge { rows: usize, columns: usize, most: usize },
    #[error(transparent)]
    File(#[from] FileError),
    /// The table library refused what should not fail; this is a fault of hosewright.
    #[error("the table could not be worked on: {reason}")]
    Frame { reason: String },
}

impl Told for TableError {
    fn hint(&self) -> Option<String> {
        let text = match self {
            TableError::Ended(_) => return None,
            TableError::NoColumns => "give at least one row or column",
            TableError::NoName { .. } => "name every column in its heading",
            TableError::RepeatedName { .. } => "rename one of the two",
            TableError::UnequalLength { .. } => "give every column a value in each row; a missing one is allowed",
            TableError::UnknownColumn { name, known } => {
                let all = || format!("the columns are {}", listed(known));
                return Some(did_you_mean(name, known.iter().map(String::as_str)).unwrap_or_else(all));
            }
            TableError::NoRow { rows: 0, .. } => "the table is empty; check the filter it came from",
            TableError::NoRow { rows, .. } => return Some(format!("rows are numbered from 0 to {}", rows - 1)),
            TableError::MixedColumn { .. } => "give the column one dimension; a plain number needs a unit, as in 30.psi",
            TableError::RepeatedCell { .. } => "give each column once a row",
            TableError::MaskLength { .. } => "give one true or false for each row",
            TableError::NotNumeric { .. } => "choose a column of numbers",
            TableError::AllMissing { .. } => "choose another column, or look why nothing was computed",
            TableError::DifferentColumns { .. } => "select the columns that both tables have first",
            TableError::DifferentKinds { .. } => "rename or leave out one of the two columns",
            TableError::SeveralValues { .. } => "filter first, so that one row is left for each pair",
            TableError::UnknownUnit { nearest, .. } if !nearest.is_empty() => {
                return Some(format!(
                    "did you mean {}? where the bracket belongs to the name, write [] behind it",
                    nearest.join(" or ")
                ));
            }
            TableError::UnknownUnit { .. } => {
                "help(\"units\") lists all units; where the bracket belongs to the name, write [] behind it"
            }
            TableError::BadValue { .. } => "correct the file, or leave the field empty where nothing is known",
            TableError::RaggedLine { .. } => "put a field that holds a comma between quotation marks",
            TableError::OpenQuote { .. } => "close it; a quotation mark inside a quoted field is written twice",
            TableError::NoHeading => "begin with a line such as  zone,pressure [psi]",
            TableError::OtherSeparator { .. } => "save it with commas between the fields and points in the numbers",
            TableError::UnknownFile { .. } => "use a name that ends with .csv, .parquet or .json; .md can only be written",
            TableError::ForeignColumn { .. } => "write the file again with that column as text or number",
            TableError::BadJson { .. } => "a table is a list of objects, as in [{\"length [ft]\": 50, \"zone\": \"beds\"}]",
            TableError::Unreadable { .. } => "check that the file is whole, or use a .csv file",
            TableError::TooLarge { .. } => "filter the rows or select the columns first; does a loop add to it without end?",
            TableError::File(error) => return error.hint(),
            TableError::Frame { .. } => return None,
        };
        Some(text.to_string())
    }
}

impl From<PolarsError> for TableError {
    fn from(error: PolarsError) -> TableError {
        TableError::Frame { reason: error.to_string() }
    }
}

/// The first names of a list that may be long.
fn listed(names: &[String]) -> String {
    const MOST: usize = 40;
    let more = names.len().saturating_sub(MOST);
    let first = names[..names.len() - more].join(", ");
    if more == 0 { first } else { format!("{first} and {more} more") }
}
