//! What can be wrong with a table, in words for people.

use crate::files::FileError;
use crate::limits::Ended;
use crate::moment::WEEKDAYS;
use crate::nearest::did_you_mean;
use crate::quantity::QuantityError;
use crate::told::Told;
use crate::unit_system::chosen;
use polars::prelude::PolarsError;
use thiserror::Error;

/// Why a table could not be made, asked, written or read. Rows are numbered from 0, lines of a file from 1.
#[derive(Debug, Error)]
pub enum TableError {
    /// A table was to be made of no columns.
    #[error("a table needs at least one column")]
    NoColumns,
    /// A column has an empty name.
    #[error("column {position} of the table has no name")]
    NoName {
        /// Which column, counted from 1.
        position: usize,
    },
    /// Two columns have the same name.
    #[error("two columns are named '{name}'")]
    RepeatedName {
        /// The name that both have.
        name: String,
    },
    /// The columns of a table have different numbers of rows.
    #[error("column '{name}' has {found} rows, but column '{first}' has {expected}")]
    UnequalLength {
        /// Name of the column that differs.
        name: String,
        /// How many rows it has.
        found: usize,
        /// Name of the first column.
        first: String,
        /// How many rows that one has.
        expected: usize,
    },
    /// The table has no column of that name.
    #[error("no column '{name}' in this table")]
    UnknownColumn {
        /// The name that was asked for.
        name: String,
        /// Names of all its columns.
        known: Vec<String>,
    },
    /// Tables were to be joined on a column that one of them does not have.
    #[error("join: the {place} table has no column '{name}'")]
    NotInBoth {
        /// The name that was asked for.
        name: String,
        /// Which of them lacks it.
        place: &'static str,
        /// Names of all its columns.
        known: Vec<String>,
    },
    /// The table has fewer rows than that.
    #[error("no row {row} in this table of {rows} rows")]
    NoRow {
        /// The row that was asked for.
        row: usize,
        /// How many there are.
        rows: usize,
    },
    /// A row gives a column a value of another kind or dimension than those before.
    #[error("column '{column}' holds {expected}, but row {row} gives {found}")]
    MixedColumn {
        /// Name of the column.
        column: String,
        /// The row.
        row: usize,
        /// What the column holds, in words.
        expected: String,
        /// What the row gives, in words.
        found: String,
    },
    /// A row gives one column two values.
    #[error("row {row} gives column '{column}' twice")]
    RepeatedCell {
        /// Name of the column.
        column: String,
        /// The row.
        row: usize,
    },
    /// Rows were to be kept by a list that has not one answer for each.
    #[error("{found} answers for {expected} rows")]
    MaskLength {
        /// How many answers the list has.
        found: usize,
        /// How many rows there are.
        expected: usize,
    },
    /// What was asked of a column needs other values than it holds.
    #[error("cannot {action} by column '{column}', which holds {found}")]
    NotNumeric {
        /// What was asked, such as `sort`.
        action: &'static str,
        /// Name of the column.
        column: String,
        /// What it holds, in words.
        found: String,
    },
    /// Two values do not go together in a calculation with columns.
    #[error("cannot {operation} {left} and {right}")]
    Operands {
        /// What was tried, such as `add`.
        operation: &'static str,
        /// The first column or value, in words.
        left: String,
        /// The second column or value, in words.
        right: String,
    },
    /// Two columns of a calculation have different numbers of rows.
    #[error("{left} has {left_rows} rows, but {right} has {right_rows}")]
    UnequalColumns {
        /// The first column, in words.
        left: String,
        /// How many rows it has.
        left_rows: usize,
        /// The second column, in words.
        right: String,
        /// How many rows it has.
        right_rows: usize,
    },
    /// A column of flags was needed.
    #[error("a column of true and false is needed, found {found}")]
    NoFlags {
        /// The column, in words.
        found: String,
    },
    /// A column has no such aggregate.
    #[error("there is no {aggregate} of {found}")]
    NoAggregate {
        /// The name of the aggregate.
        aggregate: String,
        /// The column, in words.
        found: String,
    },
    /// No aggregate has that name.
    #[error("there is no aggregate \"{name}\"")]
    UnknownAggregate {
        /// The name that was asked for.
        name: String,
        /// What to choose instead.
        advice: String,
    },
    /// A quantile was asked for at a fraction that is none.
    #[error("the fraction of a quantile is from 0 to 1, found {fraction}")]
    BadFraction {
        /// The fraction that was asked for.
        fraction: f64,
    },
    /// A moving mean was asked for over no rows.
    #[error("a moving mean needs at least one row")]
    NoWindow,
    /// The law of quantities refused a calculation.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The best row or the spread of a column was asked for, and it has no value in any row.
    #[error("column '{column}' has no value to choose from: all {rows} rows are missing")]
    AllMissing {
        /// Name of the column.
        column: String,
        /// How many rows there are.
        rows: usize,
    },
    /// Tables were to be put one under the other and have not the same columns.
    #[error("the tables differ: column '{column}' is only in the {place} one")]
    DifferentColumns {
        /// Name of a column that only one has.
        column: String,
        /// Which of them has it, such as `second`.
        place: &'static str,
    },
    /// A column of texts is needed.
    #[error("{found} has no texts")]
    NoTexts {
        /// The column in words.
        found: String,
    },
    /// A column is compared with a text that none of its cells has, though one nearly does.
    #[error("no cell of {column} is \"{text}\"")]
    NearlyEqual {
        /// The column in words.
        column: String,
        /// The text it was compared with.
        text: String,
        /// A cell that is nearly that text.
        near: String,
    },
    /// A text that is to be a time of the day is none.
    #[error("row {row}: '{text}' is not a time of day")]
    NoClock {
        /// Number of the row, from 0.
        row: usize,
        /// The text.
        text: String,
    },
    /// A file has a column of times of the day, and a later row brings a time before or after the day.
    #[error("column '{column}' of the file holds times of the day, and {found} is none")]
    NotOfDay {
        /// Name of the column.
        column: String,
        /// The time.
        found: String,
    },
    /// A column holds one kind in one table and another in the other.
    #[error("column '{column}' holds {left} in one table and {right} in the other")]
    DifferentKinds {
        /// Name of the column.
        column: String,
        /// What it holds in the first table, in words.
        left: String,
        /// What it holds in the second table, in words.
        right: String,
    },
    /// Two rows of a table give a value for the same cell of the table that was to be made.
    #[error("rows {first} and {second} both give '{values}' for {rows} and {columns}")]
    SeveralValues {
        /// Row and column of that cell, in words.
        values: String,
        /// Name of the column whose values name the rows.
        rows: String,
        /// Name of the column whose values name the columns.
        columns: String,
        /// The row that gave it first.
        first: usize,
        /// The row that gave it again.
        second: usize,
    },
    /// A column was to be read in a unit that is none.
    #[error("unknown unit '{unit}' for column '{column}'")]
    UnknownUnit {
        /// Name of the column.
        column: String,
        /// The unit as it was given.
        unit: String,
        /// Units that are spelt almost like it; empty where none is near.
        nearest: Vec<&'static str>,
    },
    /// A field of a file is not of the kind of its column.
    #[error("line {line}: column '{column}' expects {expected}, found '{found}'")]
    BadValue {
        /// Name of the column.
        column: String,
        /// The line of the file, counted from 1.
        line: usize,
        /// What the column holds, in words.
        expected: String,
        /// What the field holds.
        found: String,
    },
    /// A line of a file has more or fewer fields than its heading.
    #[error("line {line} has {found} fields, but the heading has {expected}")]
    RaggedLine {
        /// The line of the file, counted from 1.
        line: usize,
        /// How many fields it has.
        found: usize,
        /// How many the heading has.
        expected: usize,
    },
    /// A file ends inside a text in quotation marks.
    #[error("the quotation mark opened in line {line} is never closed")]
    OpenQuote {
        /// The line in which the text begins, counted from 1.
        line: usize,
    },
    /// A file is empty or has no line of names.
    #[error("the file holds no table: it has no line of column names")]
    NoHeading,
    /// Options of text files were given for another file.
    #[error("'{path}' is not a text file: it says itself how it is to be read")]
    OptionsOfText {
        /// Path of the file.
        path: String,
    },
    /// The end of a file's name does not say how to read or write it.
    #[error("the kind of table file '{path}' cannot be determined")]
    UnknownFile {
        /// Path of the file.
        path: String,
    },
    /// A column of a parquet file has a type that no column of a table has.
    #[error("column '{column}' holds {found}, which is not a number, a string, a date or a boolean")]
    ForeignColumn {
        /// Name of the column.
        column: String,
        /// What it holds, in words.
        found: String,
    },
    /// A text is not a table in JSON.
    #[error("the file is not a JSON table: {reason}")]
    BadJson {
        /// What is wrong with it, and where.
        reason: String,
    },
    /// A file is no parquet file, or a damaged one.
    #[error("'{path}' is not a readable parquet file: {reason}")]
    Unreadable {
        /// Path of the file.
        path: String,
        /// What is wrong with it, in words.
        reason: String,
    },
    /// Somebody or a limit stopped it.
    #[error(transparent)]
    Ended(#[from] Ended),
    /// A table has more cells than one may have.
    #[error("a table of {rows} rows and {columns} columns is too large: at most {most} cells fit")]
    TooLarge {
        /// How many rows it has.
        rows: usize,
        /// How many columns it has.
        columns: usize,
        /// How many cells a table may have.
        most: usize,
    },
    /// A file could not be read or written.
    #[error(transparent)]
    File(#[from] FileError),
    /// The table library refused what should not fail; this is a fault of hosewright.
    #[error("the table could not be processed: {reason}")]
    Frame {
        /// What the library said.
        reason: String,
    },
}

impl Told for TableError {
    fn hint(&self) -> Option<String> {
        let text = match self {
            TableError::Ended(_) => return None,
            TableError::NoColumns => "give at least one row or column",
            TableError::NoName { .. } => "name every column in its heading",
            TableError::RepeatedName { .. } => "rename one of the two",
            TableError::UnequalLength { .. } => "give every column a value in each row; a missing one is allowed",
            TableError::UnknownColumn { name, known } if known.iter().any(|own| is_end(own, name)) => {
                let ends: Vec<&str> = known.iter().map(String::as_str).filter(|own| is_end(own, name)).take(3).collect();
                return Some(format!("did you mean {}?", ends.join(" or ")));
            }
            TableError::UnknownColumn { name, .. } if matches!(name.as_str(), "len" | "length" | "size" | "count" | "height") => {
                "the number of rows is table.rows"
            }
            TableError::UnknownColumn { name, known } if matches!(name.as_str(), "columns" | "cols" | "headers") => {
                return Some(format!("table.names lists the columns: {}", listed(known)));
            }
            TableError::UnknownColumn { name, known } => {
                let all = || format!("the columns are {}", listed(known));
                return Some(did_you_mean(name, known.iter().map(String::as_str)).unwrap_or_else(all));
            }
            TableError::NotInBoth { name, known, .. } => {
                let nearest = did_you_mean(name, known.iter().map(String::as_str));
                let own = nearest.unwrap_or_else(|| format!("its columns are {}", listed(known)));
                return Some(format!("{}; rename(from, \"{name}\") gives its column that name", own.trim_end_matches('?')));
            }
            TableError::NoRow { rows: 0, .. } => "the table is empty; check the filter it came from",
            TableError::NoRow { rows, .. } => return Some(format!("rows are numbered from 0 to {}", rows - 1)),
            TableError::MixedColumn { .. } => "give the column one dimension; a plain number needs a unit, as in {30.psi|2.bar}",
            TableError::RepeatedCell { .. } => "give each column once per row",
            TableError::MaskLength { .. } => "give one true or false for each row",
            TableError::NotNumeric { .. } => "choose a column of numbers",
            TableError::Operands { operation: "combine", .. } => {
                "combine columns of true and false, as in t[\"p\"] > {30.psi|2.bar} & t[\"zone\"] == \"beds\""
            }
            TableError::Operands { .. } => "give both the same dimension; a plain number needs a unit, as in {30.psi|2.bar}",
            TableError::UnequalColumns { .. } => "take both columns from the same table",
            TableError::NoFlags { .. } => "compare a column, as in t[\"p\"] > {30.psi|2.bar}",
            TableError::NoAggregate { aggregate, .. } if aggregate == DATE_PART => {
                "choose a column of dates; a time of the day belongs to no day"
            }
            TableError::NoAggregate { .. } => "choose a column of numbers, or count, first or last",
            TableError::UnknownAggregate { advice, .. } => return Some(advice.clone()),
            TableError::BadFraction { .. } => "write 0.9 for the value that 90 % of the rows are below",
            TableError::NoWindow => "give the number of rows to take the mean of, as in rolling_mean(7)",
            TableError::Quantity(error) => return error.hint(),
            TableError::AllMissing { .. } => "choose another column, or check why no value was computed",
            TableError::NearlyEqual { text, near, .. } if !near.trim().eq_ignore_ascii_case(text.trim()) => {
                return Some(format!("write \"{near}\": weekdays are {}", WEEKDAYS.join(", ")));
            }
            TableError::NearlyEqual { near, .. } => {
                return Some(format!(
                    "a cell is \"{near}\": capital letters and blanks count; to_lower() writes a column in small letters"
                ));
            }
            TableError::NoTexts { .. } => "choose a column of strings",
            TableError::NoClock { .. } => "write hours and minutes, as in \"05:30\" or \"5:30 PM\"",
            TableError::NotOfDay { .. } => "write t.with(\"start\", t[\"start\"].clock) to keep the time of the day alone",
            TableError::DifferentColumns { .. } => "first select the columns that both tables have",
            TableError::DifferentKinds { .. } => "rename or leave out one of the two columns",
            TableError::SeveralValues { .. } => "filter first, so that each pair has one row",
            TableError::UnknownUnit { nearest, .. } if !nearest.is_empty() => {
                return Some(format!("did you mean {}?", nearest.join(" or ")));
            }
            TableError::UnknownUnit { .. } => "help(\"units\") lists all units; \"\" stands for a plain number",
            TableError::BadValue { .. } => "correct the file, or leave the field empty if the value is unknown",
            TableError::RaggedLine { .. } => "put a field that holds a comma between quotation marks",
            TableError::OpenQuote { .. } => "close it; a quotation mark inside a quoted field is written twice",
            TableError::NoHeading => "begin with a line such as  zone,pressure [{psi|bar}]",
            TableError::OptionsOfText { .. } => "leave out the options",
            TableError::UnknownFile { path }
                if [".xlsx", ".xls", ".ods"].iter().any(|end| path.to_lowercase().ends_with(end)) =>
            {
                "use a .csv file: spreadsheet programs save a sheet as CSV and open such files"
            }
            TableError::UnknownFile { .. } => {
                "use a name that ends with .csv, .parquet or .json; .tsv and .txt can only be read, .md can only be written"
            }
            TableError::ForeignColumn { .. } => "write the file again with that column as string or number",
            TableError::BadJson { .. } => "a table is a list of objects, as in [{\"length [ft]\": 50, \"zone\": \"beds\"}]",
            TableError::Unreadable { .. } => "check that the file is whole, or use a .csv file",
            TableError::TooLarge { .. } => {
                "filter the rows or select the columns first; check for an endless loop that adds to it"
            }
            TableError::File(error) => return error.hint(),
            TableError::Frame { .. } => return None,
        };
        Some(chosen(text))
    }
}

impl From<PolarsError> for TableError {
    fn from(error: PolarsError) -> TableError {
        TableError::Frame { reason: error.to_string() }
    }
}

/// What a part of a date is called among aggregates.
pub(super) const DATE_PART: &str = "part of a date";

/// True for a name such as `feed.length` of which only the end was given.
fn is_end(own: &str, name: &str) -> bool {
    own.strip_suffix(name).is_some_and(|before| before.ends_with('.'))
}

/// The first names of a list that may be long.
fn listed(names: &[String]) -> String {
    const MOST: usize = 40;
    let more = names.len().saturating_sub(MOST);
    let first = names[..names.len() - more].join(", ");
    if more == 0 { first } else { format!("{first} and {more} more") }
}
