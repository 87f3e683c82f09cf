//! Solution tables from parquet files. The headers are looked at first, in `footer`.

use super::footer::{self, FooterError};
use super::foreign::{Meaning, as_read, half};
use super::heading::{Says, read_heading, unlike};
use super::zones::Zone;
use super::{Column, ColumnKind, Table, TableError, Values};
use crate::clock;
use crate::limits::{self, Ended, Steps};
use crate::moment::DAY_MS;
use crate::quantity::{Preference, dim};
use polars::prelude as pl;
use polars::prelude::{IntoColumn, IntoSeries, NewChunkedArray};
use polars_io::SerReader;
use polars_io::parquet::read::{ParallelStrategy, ParquetReader};
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::path::Path;
use std::sync::{Arc, Once};

/// Whole numbers up to this one are exact in a table.
const EXACT: f64 = 9_007_199_254_740_992.0;

impl Table {
    /// Reads the bytes of a parquet file; headings are those of [`Table::from_csv`], and numbers of any width are taken, decimals, categories,
    /// dates, times and spans of time. With the table comes what was found out about the file, in words: columns that are left out since no
    /// table holds what they have, time zones, whole numbers that had to be rounded. Times of a zone are the local ones.
    ///
    /// Errors: it is damaged, a table larger than may be, no column that a table can hold.
    pub fn from_parquet(path: &Path, bytes: Vec<u8>) -> Result<(Table, Vec<String>), TableError> {
        let unreadable = |reason: String| TableError::Unreadable { path: path.display().to_string(), reason };
        footer::check(&bytes).map_err(|error| match error {
            FooterError::Damaged(reason) => unreadable(reason.into()),
            FooterError::Table(error) => error,
        })?;
        let read = limits::aside(move || quietly(|| frame_of(bytes)))?;
        let read = read.ok_or_else(|| unreadable("it is damaged".into()))?.map_err(|error| unreadable(error.to_string()))?;
        let Read { frame, meanings, mut left_out } = read;
        let mut columns = Vec::with_capacity(frame.width());
        let mut found = Vec::new();
        for (column, meaning) in frame.columns().iter().zip(&meanings) {
            match plain_column(column, meaning, &mut found)? {
                Some(plain) => columns.push((plain, matches!(meaning, Meaning::Spans { .. }))),
                None => left_out.push((column.name().to_string(), "bytes")),
            }
        }
        if let ([], [(column, what), ..]) = (columns.as_slice(), left_out.as_slice()) {
            return Err(TableError::ForeignColumn { column: column.clone(), found: what.to_string() });
        }
        if !left_out.is_empty() {
            let names = left_out.iter().map(|(name, what)| format!("{name} ({what})")).collect::<Vec<_>>();
            found.insert(0, format!("left out {}", names.join(", ")));
        }
        let mut heads = Vec::with_capacity(columns.len());
        for (place, (column, are_spans)) in columns.iter().enumerate() {
            let head = read_heading(column.name(), place + 1)?;
            let fits = match head.says {
                Says::Unit(unit) if *are_spans => unit.dimension == dim::TIME,
                _ => is_number(column.dtype()),
            };
            heads.push(if fits { head } else { head.without_unit() });
        }
        unlike(heads.iter_mut().collect())?;
        let columns = columns.iter().zip(heads).map(|((column, are_spans), head)| {
            let values = if *are_spans { spans(column, head.says)? } else { None };
            let values = values.map_or_else(|| foreign_values(column, head.says, &head.name), Ok)?;
            Ok(Column { values, name: head.name })
        });
        Ok((Table::new(columns.collect::<Result<_, TableError>>()?)?, found))
    }
}

/// What the library reads of a file.
struct Read {
    frame: pl::DataFrame,
    /// What the columns of the frame mean.
    meanings: Vec<Meaning>,
    /// Columns that it does not read, and what they hold.
    left_out: Vec<(String, &'static str)>,
}

/// In this thread alone, so that a panic of the library stays here.
fn frame_of(bytes: Vec<u8>) -> pl::PolarsResult<Read> {
    let mut reader = ParquetReader::new(std::io::Cursor::new(bytes)).read_parallel(ParallelStrategy::None);
    let (metadata, meanings) = as_read(reader.get_metadata()?);
    let name = |place: usize| metadata.schema_descr.fields()[place].name().to_string();
    let (mut kept, mut left_out) = (Vec::new(), Vec::new());
    for (place, meaning) in meanings.iter().enumerate() {
        match meaning {
            Meaning::Unknown(what) => left_out.push((name(place), *what)),
            _ => kept.push(place),
        }
    }
    let names = kept.iter().map(|place| name(*place)).collect();
    let meanings = kept.into_iter().map(|place| meanings[place].clone()).collect();
    reader.set_metadata(Arc::new(metadata));
    Ok(Read { frame: reader.with_columns(Some(names)).finish()?, meanings, left_out })
}

/// A column of one of the kinds that a table holds, by what it means; none for bytes that are no texts. Adds what was found out about it.
fn plain_column(column: &pl::Column, meaning: &Meaning, found: &mut Vec<String>) -> Result<Option<pl::Column>, TableError> {
    limits::room_for(column.len().saturating_mul(size_of::<Option<String>>()))?;
    let name = column.name().clone();
    if let Meaning::Zone(zone) = meaning {
        let known = Zone::of_name(zone);
        match known {
            Some(known) if known.is_utc() => found.push(format!("{name} in UTC")),
            Some(_) => found.push(format!("{name} in local time of {zone}")),
            None => found.push(format!("{name} in UTC, since there is no time zone '{zone}'")),
        }
        let ms = moments(column)?.unwrap_or_default().into_iter();
        let local = ms.map(|ms| known.map_or(ms, |zone| ms.and_then(|ms| zone.local_ms(ms))));
        let local = pl::Int64Chunked::from_iter_options(name, local).into_series();
        return Ok(Some(local.into_datetime(pl::TimeUnit::Milliseconds, None).into_column()));
    }
    if let (Meaning::HalfFloats, Ok(bytes)) = (meaning, column.binary()) {
        let number = |bytes: &[u8]| Some(half(bytes.try_into().ok()?));
        let numbers = bytes.iter().map(|bytes| bytes.and_then(number));
        return Ok(Some(pl::Float64Chunked::from_iter_options(name, numbers).into_series().into_column()));
    }
    if let Meaning::Spans { seconds } = meaning {
        let spans = column.cast(&pl::DataType::Float64)?;
        let spans = spans.f64()?.iter().map(|span| span.map(|span| span * seconds));
        return Ok(Some(pl::Float64Chunked::from_iter_options(name, spans).into_series().into_column()));
    }
    if let Ok(bytes) = column.binary() {
        let texts: Option<Vec<Option<&str>>> =
            bytes.iter().map(|bytes| bytes.map_or(Some(None), |bytes| std::str::from_utf8(bytes).ok().map(Some))).collect();
        return Ok(texts.map(|texts| pl::StringChunked::from_slice_options(name, &texts).into_series().into_column()));
    }
    if matches!(column.dtype(), pl::DataType::Int64 | pl::DataType::UInt64) {
        let numbers = column.cast(&pl::DataType::Float64)?;
        if numbers.f64()?.iter().flatten().any(|number| number.abs() > EXACT) {
            found.push(format!("{name} has whole numbers beyond 2^53, which are rounded"));
        }
    }
    Ok(Some(column.clone()))
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

/// Seconds as the heading wants them shown, else in minutes; none where it says that they are something else.
fn spans(column: &pl::Column, says: Says) -> Result<Option<Values>, TableError> {
    let preference = match says {
        Says::Nothing => Preference::written_in("min"),
        Says::Unit(unit) if unit.dimension == dim::TIME => Preference::Written(unit),
        _ => return Ok(None),
    };
    Ok(Some(Values::Quantities { si: column.f64()?.iter().collect(), dimension: dim::TIME, preference }))
}

/// Milliseconds since 1970 began of a column of dates or moments; none of others.
fn moments(column: &pl::Column) -> Result<Option<Vec<Option<i64>>>, TableError> {
    let (times, per_ms) = match column.dtype() {
        pl::DataType::Date => (DAY_MS, 1),
        pl::DataType::Datetime(pl::TimeUnit::Nanoseconds, _) => (1, 1_000_000),
        pl::DataType::Datetime(pl::TimeUnit::Microseconds, _) => (1, 1000),
        pl::DataType::Datetime(pl::TimeUnit::Milliseconds, _) => (1, 1),
        _ => return Ok(None),
    };
    let whole = column.to_physical_repr().cast(&pl::DataType::Int64)?;
    let ms = whole.i64()?.iter().map(|time| time.and_then(|time: i64| time.div_euclid(per_ms).checked_mul(times)));
    Ok(Some(ms.collect()))
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
        (pl::DataType::Date | pl::DataType::Datetime(..), None | Some(ColumnKind::Date { .. })) => {
            let clock = matches!(dtype, pl::DataType::Datetime(..));
            return Ok(Values::Dates { ms: moments(column)?.ok_or_else(foreign)?, clock });
        }
        (pl::DataType::Time, kind) if kind.is_none_or(ColumnKind::is_clock) => {
            let times = whole(column)?;
            let si = times.i64()?.iter().map(|ns| ns.map(clock::seconds_of)).collect();
            return Ok(Values::Quantities { si, dimension: dim::TIME, preference: Preference::Clock });
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
    use polars::prelude::NamedFrom;

    fn written(column: pl::Column, name: &str) -> tempfile::TempDir {
        let home = tempfile::tempdir().expect("a folder");
        let mut frame = pl::DataFrame::new(column.len(), vec![column]).expect("a frame");
        let file = std::fs::File::create(home.path().join(name)).expect("a file");
        polars_io::parquet::write::ParquetWriter::new(file).finish(&mut frame).expect("written");
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
