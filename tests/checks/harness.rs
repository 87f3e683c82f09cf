//! Reads a file of check values, has each row computed, and reports every row that does not agree.
//!
//! It knows the columns that all files share and the units of results; what a quantity means is told by the test.

use hosewright::quantity::{Quantity, find_unit};
use std::collections::HashMap;
use std::fmt;

/// One case: a row of a file of check values.
pub struct Row {
    cells: HashMap<String, String>,
}

/// What was computed for a row.
pub enum Found {
    /// A number in SI.
    Si(f64),
    /// A number in the unit of the row already.
    InUnitOfRow(f64),
    /// A word.
    Word(String),
}

/// Why a row does not pass.
#[derive(Debug)]
pub struct Failure {
    pub case: String,
    pub what: String,
    pub source: String,
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}\n    source: {}", self.case, self.what, self.source)
    }
}

/// A row left out on purpose, and why.
pub struct Skip {
    pub case: &'static str,
    pub because: &'static str,
}

/// The result of one row, or nothing when the test does not know how to compute it.
pub type Answer = Option<Result<Found, String>>;

impl Row {
    /// The text of a column, empty when the cell is.
    pub fn text(&self, column: &str) -> &str {
        self.cells.get(column).unwrap_or_else(|| panic!("the file has no column '{column}'"))
    }

    /// The number of a column, nothing when the cell is empty.
    pub fn number(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| text.parse().unwrap_or_else(|_| panic!("{}: '{text}' in {column}", self.case())))
    }

    /// The number of a column that must be filled.
    pub fn need(&self, column: &str) -> f64 {
        self.number(column).unwrap_or_else(|| panic!("{}: {column} is empty", self.case()))
    }

    /// A number in SI, from the first of these columns that is filled; each column stands with its unit.
    pub fn si(&self, columns: &[(&str, &str)]) -> Option<f64> {
        columns.iter().find_map(|(column, unit)| self.number(column).map(|value| to_si(value, unit)))
    }

    /// The same for a number that must be there.
    pub fn need_si(&self, columns: &[(&str, &str)]) -> f64 {
        self.si(columns).unwrap_or_else(|| panic!("{}: none of {columns:?} is filled", self.case()))
    }

    pub fn case(&self) -> &str {
        self.text("case_id")
    }

    pub fn quantity(&self) -> &str {
        self.text("quantity")
    }

    /// Nothing when the row passes.
    fn judge(&self, answer: Answer) -> Option<Failure> {
        let fail = |what: String| {
            Some(Failure { case: self.case().into(), what, source: format!("{} ({})", self.text("source"), self.text("kind")) })
        };
        let unit = self.text("expected_unit");
        let found = match answer {
            None => return fail(format!("nobody computes the quantity '{}'", self.quantity())),
            Some(Err(error)) => return fail(format!("refused: {error}")),
            Some(Ok(Found::Word(word))) if word == self.text("expected") => return None,
            Some(Ok(Found::Word(word))) => return fail(format!("expected {}, found {word}", self.text("expected"))),
            Some(Ok(Found::InUnitOfRow(value))) => value,
            Some(Ok(Found::Si(si))) => from_si(si, unit),
        };
        let expected = self.need("expected");
        let relative = self.number("tol_rel").unwrap_or(0.0) * expected.abs();
        let tolerance = self.number("tol_abs").unwrap_or(0.0).max(relative);
        // Written so that a value that is not a number fails.
        if (found - expected).abs() <= tolerance {
            return None;
        }
        fail(format!("expected {expected} {unit}, found {found}, tolerance {tolerance}"))
    }
}

/// Checks all rows of a file and panics with all failures.
///
/// `rows` is how many there must be, skipped ones counted, so that none is lost silently.
pub fn check(file: &str, rows: usize, skips: &[Skip], compute: impl Fn(&Row) -> Answer) {
    let path = format!("{}/tests/checks/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let (count, failures) = failures(&text, skips, compute);
    let report: Vec<String> = failures.iter().map(Failure::to_string).collect();
    assert!(report.is_empty(), "{} of {count} rows of {file} fail:\n{}", report.len(), report.join("\n"));
    assert_eq!(count, rows, "rows of {file}: change the number in the test when rows were added or taken away on purpose");
}

/// The number of rows and the failures of a text of check values.
fn failures(text: &str, skips: &[Skip], compute: impl Fn(&Row) -> Answer) -> (usize, Vec<Failure>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<Row> = reader.deserialize().map(|row| Row { cells: row.expect("a readable row") }).collect();
    for skip in skips {
        assert!(rows.iter().any(|row| row.case() == skip.case), "{} is skipped ({}) but not there", skip.case, skip.because);
    }
    let taken = rows.iter().filter(|row| skips.iter().all(|skip| skip.case != row.case()));
    let failures = taken.filter_map(|row| row.judge(compute(row))).collect();
    (rows.len(), failures)
}

/// A value in a unit, in SI.
pub fn to_si(value: f64, unit: &str) -> f64 {
    Quantity::written(value, find_unit(unit).unwrap_or_else(|| panic!("no unit {unit}"))).si
}

/// An SI value in a unit of the program or of the files.
fn from_si(si: f64, unit: &str) -> f64 {
    // Units that nobody writes in a garden, so that the program does not know them.
    match unit {
        "-" | "x fT" | "kg/m3" => si,
        "mPa.s" => si * 1e3,
        "mm2/s" => si * 1e6,
        "GPa" => si / 1e9,
        _ => find_unit(unit).unwrap_or_else(|| panic!("no unit {unit}")).from_si(si),
    }
}

const EXAMPLE: &str = "case_id,quantity,expected,expected_unit,tol_rel,tol_abs,kind,source\n\
    A,length,1,ft,0.01,,published,a book\n\
    B,length,2,ft,,0.1,published,a book\n\
    C,mood,good,,,,published,a book\n";

fn example_failures(skips: &[Skip], length: f64) -> Vec<String> {
    let compute = |row: &Row| (row.quantity() == "length").then_some(Ok(Found::Si(length)));
    let (count, failures) = failures(EXAMPLE, skips, compute);
    assert_eq!(count, 3);
    failures.iter().map(Failure::to_string).collect()
}

#[test]
fn the_harness_reports_what_is_outside_the_tolerance_and_what_nobody_computes() {
    let failures = example_failures(&[], 0.3048 * 1.009);
    assert_eq!(failures.len(), 2, "{failures:?}");
    assert!(failures[0].starts_with("B: expected 2 ft, found 1.009"), "{failures:?}");
    assert!(failures[1].contains("nobody computes the quantity 'mood'"), "{failures:?}");
    assert!(failures[1].ends_with("source: a book (published)"), "{failures:?}");
}

#[test]
fn the_harness_fails_a_value_that_is_not_a_number() {
    assert_eq!(example_failures(&[Skip { case: "C", because: "shows a skip" }], f64::NAN).len(), 2);
}
