//! Looks at a parquet file before the table library does: how large the table is, and whether its headers hold together.
//!
//! The library takes memory for what headers promise, and a damaged one may promise anything. Knows nothing of values.
//! Source: Apache Parquet format, parquet.thrift (numbers of fields) and the layout of files.

use super::thrift::{Value, read_struct};
use super::{TableError, check_size};
use crate::limits::{self, Steps};

/// What every such file begins and ends with.
const MARK: &[u8] = b"PAR1";
/// Bytes after the footer: its length and the mark.
const END_BYTES: usize = 8;
/// Memory for each value while it is read: as the library holds it, as a column of ours, and in the table.
const BYTES_OF_A_VALUE: usize = 40;
/// Memory for each byte of a footer.
const BYTES_OF_A_FOOTER: usize = 64;
/// Groups of columns lie at most so deep in each other; a table of ours has none.
const DEEPEST: usize = 32;

/// What is wrong with the headers.
type Problem = &'static str;

/// Rows that the footer promises.
pub(super) fn check(bytes: &[u8]) -> Result<usize, FooterError> {
    let whole = bytes.len() >= MARK.len() + END_BYTES && bytes.starts_with(MARK) && bytes.ends_with(MARK);
    let footer = whole.then(|| footer(bytes)).flatten().ok_or("it does not begin and end as such a file does")?;
    limits::room_for(footer.len().saturating_mul(BYTES_OF_A_FOOTER)).map_err(TableError::from)?;
    let (head, _) = read_struct(footer).ok_or("its footer cannot be read")?;
    let rows = count(head.whole(3)).ok_or("its footer has no number of rows")?;
    let columns = columns(head.items(2))?;
    check_size(rows, columns)?;
    limits::room_for(rows.saturating_mul(columns).saturating_mul(BYTES_OF_A_VALUE)).map_err(TableError::from)?;
    let mut seen = 0usize;
    for group in head.items(4) {
        let rows = count(group.whole(3)).ok_or("a row group has no number of rows")?;
        seen = seen.checked_add(rows).ok_or("its row groups have too many rows")?;
        for chunk in group.items(1) {
            check_chunk(bytes, chunk, rows)?;
        }
    }
    if seen != rows { Err("its row groups have another number of rows than its footer".into()) } else { Ok(rows) }
}

/// Why a file is not read.
pub(super) enum FooterError {
    Damaged(Problem),
    /// It is too large, or the evaluation is to end.
    Table(TableError),
}

impl From<Problem> for FooterError {
    fn from(problem: Problem) -> Self {
        FooterError::Damaged(problem)
    }
}

impl From<TableError> for FooterError {
    fn from(error: TableError) -> Self {
        FooterError::Table(error)
    }
}

fn footer(bytes: &[u8]) -> Option<&[u8]> {
    let end = bytes.len().checked_sub(END_BYTES)?;
    let length = u32::from_le_bytes(bytes.get(end..end + 4)?.try_into().ok()?);
    let start = end.checked_sub(usize::try_from(length).ok()?)?;
    bytes.get(start..end)
}

fn count(whole: Option<i64>) -> Option<usize> {
    whole.and_then(|whole| usize::try_from(whole).ok())
}

/// The number of columns of a schema, a list in which groups stand before what they hold.
fn columns(schema: &[Value]) -> Result<usize, Problem> {
    let mut open: Vec<usize> = Vec::new();
    let mut columns = 0;
    for (place, element) in schema.iter().enumerate() {
        while open.last() == Some(&0) {
            open.pop();
        }
        match open.last_mut() {
            Some(left) => *left -= 1,
            None if place > 0 => return Err("its schema has more columns than declared"),
            None => {}
        }
        match count(element.whole(5)).unwrap_or(0) {
            0 => columns += 1,
            children => open.push(children),
        }
        if open.len() > DEEPEST {
            return Err("its schema is nested too deeply");
        }
    }
    if open.iter().any(|left| *left > 0) { Err("its schema has fewer columns than declared") } else { Ok(columns) }
}

/// Looks at the pages of a column of one row group.
fn check_chunk(bytes: &[u8], chunk: &Value, rows: usize) -> Result<(), FooterError> {
    let column = chunk.field(3).ok_or("a column has no description")?;
    let values = count(column.whole(5)).ok_or("a column has no number of values")?;
    let length = count(column.whole(7)).ok_or("a column has no size")?;
    let first = [column.whole(9), column.whole(11)].into_iter().flatten().filter(|place| *place > 0).min();
    let start = count(first).ok_or("a column has no offset")?;
    let pages = start.checked_add(length).and_then(|end| bytes.get(start..end)).ok_or("a column lies outside of the file")?;
    if values < rows {
        return Err("a column has fewer values than there are rows".into());
    }
    check_size(values, 1)?;
    let is_plain = column.whole(4) == Some(0);
    let (mut at, mut seen, mut steps) = (0usize, 0usize, Steps::default());
    while at < pages.len() && seen < values {
        steps.step().map_err(TableError::from)?;
        let (page, head) = read_struct(&pages[at..]).ok_or("a page has no header")?;
        let stored = count(page.whole(3)).ok_or("a page has no size")?;
        let unpacked = count(page.whole(2)).ok_or("a page has no size")?;
        at = at.saturating_add(head).saturating_add(stored);
        if at > pages.len() || (is_plain && stored != unpacked) {
            return Err("a page lies outside of its column".into());
        }
        limits::room_for(unpacked).map_err(TableError::from)?;
        let data = [page.field(5), page.field(8)].into_iter().flatten().next();
        let inside = data.or(page.field(7)).map(|described| count(described.whole(1)).ok_or("a page has no number of values"));
        let inside = inside.transpose()?.unwrap_or(0);
        check_size(inside, 1)?;
        seen = seen.saturating_add(if data.is_some() { inside } else { 0 });
    }
    if seen != values { Err("the pages of a column have another number of values than declared".into()) } else { Ok(()) }
}
