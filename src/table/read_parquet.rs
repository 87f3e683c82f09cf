//! Solution tables from parquet files. The headers are looked at first, in `footer`.

use super::footer::{self, FooterError};
use super::heading::{Says, read_heading, unlike};
use super::{Column, ColumnKind, Table, TableError, Values};
use crate::limits::{self, Ended, Steps};
use crate::moment::DAY_MS;
use crate::quantity::{Preference, dim};
use polars::prelude as pl;
use polars::prelude::SerReader;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::path::Path;
use std::sync::Once;

impl Table {
    /// Reads the bytes of a parquet file; headings are those of [`Table::from_csv`], and numbers of any width are taken, dates and dates
    /// with times, whose time zone is dropped: they are as in that of the file.
    ///
    /// Errors: it is damaged, a table larger than may be, a column of lists or of structures.
    pub fn from_parquet(path: &Path, bytes: Vec<u8>) -> Result<Table, TableError> {
        let unreadable = |reason: String| TableError::Unreadable { path: path.display().to_string(), reason };
        footer::check(&bytes).map_err(|error| match error {
            FooterError::Damaged(reason) => unreadable(reason.into()),
            FooterError::Table(error) => error,
        })?;
        let read = limits::aside(move || quietly(|| frame_of(bytes)))?;
        let frame = read.ok_or_else(|| unreadable("it is damaged".into()))?.map_err(|error| unreadable(error.to_string()))?;
        let mut heads = Vec::with_capacity(frame.width());
        for (place, column) in frame.columns().iter().enumerate() {
            let head = read_heading(column.name(), place + 1)?;
            heads.push(if is_number(column.dtype()) { head } else { head.without_unit() });
        }
        unlike(heads.iter_mut().collect())?;
        let columns = frame
            .columns()
            .iter()
            .zip(heads)
            .map(|(column, head)| Ok(Column { values: foreign_values(column, head.says, &head.name)?, name: head.name }));
        Table::new(columns.collect::<Result<_, TableError>>()?)
    }
}

/// In this thread alone, so that a panic of the library stays here.
fn frame_of(bytes: Vec<u8>) -> pl::PolarsResult<pl::DataFrame> {
    pl::ParquetReader::new(std::io::Cursor::new(bytes)).read_parallel(pl::ParallelStrategy::None).finish()
}

thread_local! {
    static IS_QUIET: Cell<bool> = const { Cell::new(false) };
}

/// What the work gives; `None` where it panics, as the library may over a damaged file, without a report.
fn quietly<T>(work: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = take_hook();
        set_hook(Box::new(move |panic| {
            if !IS_QUIET.get() {
                usual(panic);
            }
        }));
    });
    IS_QUIET.set(true);
    let done = catch_unwind(AssertUnwindSafe(work));
    IS_QUIET.set(false);
    done.ok()
}

fn is_number(dtype: &pl::DataType) -> bool {
    dtype.is_primitive_numeric() || dtype.is_decimal()
}

/// The values of a column of a parquet file.
fn foreign_values(column: &pl::Column, says: Says, name: &str) -> Result<Values, TableError> {
    let foreign = || TableError::ForeignColumn { column: name.to_string(), found: format!("values of type {}", column.dtype()) };
    let kind = says.kind();
    let dtype = column.dtype();
    limits::room_for(column.len().saturating_mul(size_of::<Option<String>>()))?;
    if is_number(dtype) && kind.is_none_or(ColumnKind::is_numeric) {
        let number = ColumnKind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual };
        let ColumnKind::Quantity { dimension, preference } = kind.unwrap_or(number) else { return Err(foreign()) };
        let numbers = column.cast(&pl::DataType::Float64).map_err(|_| foreign())?;
        let si = numbers.f64()?.iter().map(|value| value.map(|value| says.to_si(value))).collect();
        return Ok(Values::Quantities { si, dimension, preference });
    }
    let whole = |column: &pl::Column| column.to_physical_repr().cast(&pl::DataType::Int64).map_err(|_| foreign());
    match (dtype, kind) {
        (pl::DataType::Date, None | Some(ColumnKind::Date { .. })) => {
            let days = whole(column)?;
            let ms = days.i64()?.iter().map(|days| days.and_then(|days| days.checked_mul(DAY_MS)));
            return Ok(Values::Dates { ms: ms.collect(), clock: false });
        }
        (pl::DataType::Datetime(unit, _), None | Some(ColumnKind::Date { .. })) => {
            let per_ms = match unit {
                pl::TimeUnit::Nanoseconds => 1_000_000,
                pl::TimeUnit::Microseconds => 1000,
                pl::TimeUnit::Milliseconds => 1,
            };
            let times = whole(column)?;
            let ms = times.i64()?.iter().map(|time| time.map(|time: i64| time.div_euclid(per_ms)));
            return Ok(Values::Dates { ms: ms.collect(), clock: true });
        }
        (pl::DataType::Time, None) => {
            let times = whole(column)?;
            let si = times.i64()?.iter().map(|ns| ns.map(|ns: i64| ns as f64 / 1e9)).collect();
            let preference = Preference::written_in("h");
            return Ok(Values::Quantities { si, dimension: dim::TIME, preference });
        }
        _ => {}
    }
    match (dtype, kind) {
        (pl::DataType::String, None | Some(ColumnKind::Text)) => {
            let mut steps = Steps::default();
            let copied = column.str()?.iter().map(|text| {
                steps.weigh(text.map_or(0, str::len))?;
                Ok(text.map(str::to_string))
            });
            Ok(Values::Texts(copied.collect::<Result<_, Ended>>()?))
        }
        (pl::DataType::Boolean, None | Some(ColumnKind::Flag)) => Ok(Values::Flags(column.bool()?.iter().collect())),
        _ => Err(foreign()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::psi;
    use polars::prelude::{IntoColumn, NamedFrom};

    fn written(column: pl::Column, name: &str) -> tempfile::TempDir {
        let home = tempfile::tempdir().expect("a folder");
        let mut frame = pl::DataFrame::new(column.len(), vec![column]).expect("a frame");
        let file = std::fs::File::create(home.path().join(name)).expect("a file");
        pl::ParquetWriter::new(file).finish(&mut frame).expect("written");
        home
    }

    #[test]
    fn parquet_files_of_others_may_hold_whole_numbers() {
        let home = written(pl::Series::new("p [psi]".into(), [30i64, 31]).into_column(), "t.parquet");
        let table = Table::read(&home.path().join("t.parquet")).expect("a table");
        assert_eq!(table.cell(1, "p").expect("a cell"), psi(31.0));
    }

    #[test]
    fn a_small_file_of_very_many_zeros_is_refused_before_they_are_made() {
        let zeros = pl::Series::new("x".into(), vec![false; 260_000_000]).into_column();
        let home = written(zeros, "zeros.parquet");
        let path = home.path().join("zeros.parquet");
        assert!(std::fs::metadata(&path).expect("a file").len() < 1_000_000);
        assert!(matches!(Table::read(&path), Err(TableError::TooLarge { rows: 260_000_000, .. })));
    }

    #[test]
    fn a_panic_of_the_library_gives_nothing() {
        assert_eq!(quietly(|| 5), Some(5));
        assert_eq!(quietly(|| *[1, 2, 3].get(7).expect("out of range")), None);
    }
}
