//! A parquet file written table by table, so that no more than one of them is in memory.
//!
//! Its columns are packed by zstd. Beside the headings it holds, as JSON under the key `hosewright`, the unit and the SI factor of each
//! column, and the study that made it; Python has it as `pyarrow.parquet.read_metadata(FILE).metadata[b"hosewright"]`.

use super::heading::{heading, hours};
use super::{ColumnKind, Table, TableError};
use crate::files::{FileError, Place, Unfinished, plain_reason};
use crate::quantity::UnitSystem;
use polars::io::parquet::write::BatchedWriter;
use polars::prelude as pl;
use serde_json::json;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

/// A parquet file that grows by a row group for each table; it is in its place once it is finished.
pub struct TableFile {
    path: PathBuf,
    sink: Sink,
    writer: Option<BatchedWriter<Sink>>,
    /// Names and kinds of the first table; all others have the same.
    model: Vec<(String, ColumnKind)>,
    /// Which columns are stored as times of the day; those of the first table unless known before.
    pub(super) times: Option<Vec<bool>>,
    system: UnitSystem,
    rows: usize,
    origin: Origin,
}

/// What made a table, for those who find its file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// File of the study.
    pub study: Option<String>,
    /// Seeds of the samples that were drawn.
    pub seeds: Vec<u64>,
}

/// The file, shared with the writer of the table library, which never gives it back.
#[derive(Clone)]
struct Sink(Arc<Mutex<BufWriter<Unfinished>>>);

const BUFFER_BYTES: usize = 1 << 20;

impl TableFile {
    /// Begins a file. Errors: the folder cannot be written.
    pub fn create(place: &Place, system: UnitSystem, origin: &Origin) -> Result<TableFile, TableError> {
        let file = BufWriter::with_capacity(BUFFER_BYTES, Unfinished::begin(place)?);
        let sink = Sink(Arc::new(Mutex::new(file)));
        let (path, origin) = (place.path().to_path_buf(), origin.clone());
        Ok(TableFile { path, sink, writer: None, model: Vec::new(), times: None, system, rows: 0, origin })
    }

    /// Rows written up to now.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Adds the rows of a table. Errors: other columns than the first table had, the file cannot be written.
    pub fn push(&mut self, table: &Table) -> Result<(), TableError> {
        let model: Vec<(String, ColumnKind)> = table.names().into_iter().zip(table.kinds.iter().copied()).collect();
        let times = match self.times.take() {
            Some(times) => times,
            None => table.times_of_day()?,
        };
        if times.len() != table.kinds.len() {
            let extra = model.into_iter().nth(times.len()).map(|(name, _)| name).unwrap_or_default();
            return Err(TableError::DifferentColumns { column: extra, place: "later" });
        }
        let frame = table.file_frame(self.system, &times)?;
        if self.writer.is_none() {
            let writer = pl::ParquetWriter::new(self.sink.clone())
                .with_compression(pl::ParquetCompression::Zstd(None))
                .with_key_value_metadata(Some(pl::KeyValueMetadata::from_static(self.notes(&model, &times))));
            self.writer = Some(writer.batched(frame.schema())?);
            self.model = model;
        } else if let Some((name, _)) = model.iter().zip(&self.model).find(|(a, b)| a != b).map(|(a, _)| a.clone()) {
            return Err(TableError::DifferentColumns { column: name, place: "later" });
        }
        self.times = Some(times);
        self.rows += table.rows();
        if let Some(writer) = &mut self.writer {
            writer.write_batch(&frame)?;
        }
        Ok(())
    }

    /// What the file says of itself, by key.
    fn notes(&self, model: &[(String, ColumnKind)], times: &[bool]) -> Vec<(String, String)> {
        let column = |((name, kind), is_time): (&(String, ColumnKind), &bool)| {
            let kind = if kind.is_clock() && !is_time { &hours() } else { kind };
            let unit = kind.unit_text(self.system);
            let factor = |kind: &ColumnKind| kind.shown_unit(self.system).map_or(1.0, |unit| unit.to_si(1.0) - unit.to_si(0.0));
            let offset = |kind: &ColumnKind| kind.shown_unit(self.system).map_or(0.0, |unit| unit.to_si(0.0));
            let heading = heading(name, *kind, false, self.system);
            match unit {
                Some(unit) => {
                    json!({ "column": heading, "name": name, "unit": unit, "si_factor": factor(kind), "si_offset": offset(kind) })
                }
                None => json!({ "column": heading, "name": name }),
            }
        };
        let notes = json!({
            "version": env!("CARGO_PKG_VERSION"),
            "study": self.origin.study,
            "seeds": self.origin.seeds,
            "columns": model.iter().zip(times).map(column).collect::<Vec<_>>(),
        });
        vec![("hosewright".to_string(), notes.to_string())]
    }

    /// Ends the file and puts it in its place. Errors: no table was added, the file cannot be written.
    pub fn finish(self) -> Result<(), TableError> {
        let TableFile { path, sink, writer, .. } = self;
        writer.ok_or(TableError::NoColumns)?.finish()?;
        // The writer is gone, so nobody else holds the file.
        let file = Arc::into_inner(sink.0).ok_or(TableError::NoColumns)?.into_inner().unwrap_or_else(PoisonError::into_inner);
        let failed = |error: &io::Error| FileError::Failed {
            action: "write",
            path: path.display().to_string(),
            reason: plain_reason(error),
        };
        Ok(file.into_inner().map_err(|error| failed(error.error()))?.finish()?)
    }
}

impl Write for Sink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::samples::sweep;

    #[test]
    fn a_file_written_in_pieces_reads_as_one_table() {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("pieces.parquet");
        let mut file =
            TableFile::create(&Place::at(&path).expect("a place"), UnitSystem::AsWritten, &Origin::default()).expect("a file");
        file.push(&sweep().head(2)).expect("the first rows");
        assert!(!path.exists());
        file.push(&sweep().tail(4)).expect("the others");
        assert_eq!(file.rows(), 6);
        file.finish().expect("written");
        let read = Table::read(&path).expect("a table");
        assert_eq!(read.names(), sweep().names());
        assert_eq!(read.column("remark").expect("texts"), sweep().column("remark").expect("texts"));
    }

    #[test]
    fn an_unfinished_file_leaves_nothing_and_other_columns_are_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let place = Place::at(&home.path().join("x.parquet")).expect("a place");
        let mut file = TableFile::create(&place, UnitSystem::Us, &Origin::default()).expect("a file");
        file.push(&sweep()).expect("rows");
        assert!(file.push(&sweep().renamed("remark", "note").expect("a table")).is_err());
        drop(file);
        assert_eq!(std::fs::read_dir(home.path()).expect("a folder").count(), 0);
    }
}
