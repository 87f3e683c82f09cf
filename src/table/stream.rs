//! A parquet file written in row groups, so that no more than a few of them are in memory.
//!
//! Its columns are packed by zstd, group by group, in the threads that made the rows; the file takes up the packed groups in their order.
//! Beside the headings it holds, as JSON under the key `hosewright`, the unit and the SI factor of each column, and the study that made it;
//! Python has it as `pyarrow.parquet.read_metadata(FILE).metadata[b"hosewright"]`.

use super::heading::{heading, hours};
use super::{ColumnKind, Table, TableError};
use crate::files::{FileError, Place, Unfinished, plain_reason};
use crate::limits;
use crate::quantity::UnitSystem;
use polars::prelude as pl;
use polars::prelude::SchemaExt;
use polars_io::parquet::write::{BatchedWriter, KeyValueMetadata, ParquetCompression, ParquetWriter};
use polars_parquet::read::ParquetError;
use polars_parquet::write::{
    CompressedPage, CompressionOptions, Compressor, Encoding, SchemaDescriptor, StatisticsOptions, Version, WriteOptions,
    array_to_columns, get_dtype_encoding, to_parquet_schema,
};
use serde_json::json;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

/// What all row groups of a file have in common; threads share it.
pub struct FileModel {
    /// Names and kinds of the columns.
    columns: Vec<(String, ColumnKind)>,
    /// Which columns are stored as times of the day.
    times: Vec<bool>,
    system: UnitSystem,
    schema: pl::SchemaRef,
    types: SchemaDescriptor,
    /// How each column is encoded.
    encodings: Vec<Vec<Encoding>>,
}

/// Rows as they stand in a file.
pub struct RowGroup {
    rows: usize,
    /// The pages of each column.
    columns: Vec<Vec<CompressedPage>>,
}

/// A parquet file that grows by row groups; it is in its place once it is finished.
pub struct TableFile {
    path: PathBuf,
    sink: Sink,
    writer: BatchedWriter<Sink>,
    rows: usize,
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

/// How pages are packed.
fn options() -> WriteOptions {
    WriteOptions {
        statistics: StatisticsOptions::default(),
        compression: CompressionOptions::Zstd(None),
        version: Version::V1,
        data_page_size: None,
    }
}

impl FileModel {
    /// The model of files with the columns of this table. Times of the day are stored as such where all in the table are of the day and
    /// the column is not named among `hours`; others are hours.
    ///
    /// Errors: none but faults of the table library.
    pub fn of(table: &Table, system: UnitSystem, hours: &[&str]) -> Result<FileModel, TableError> {
        let columns: Vec<(String, ColumnKind)> = table.names().into_iter().zip(table.kinds.iter().copied()).collect();
        let mut times = table.times_of_day()?;
        times.iter_mut().zip(&columns).for_each(|(is_time, (name, _))| *is_time &= !hours.contains(&name.as_str()));
        let schema = table.head(0).file_frame(system, &times)?.schema().clone();
        let arrow = schema.to_arrow(pl::CompatLevel::newest());
        let types = to_parquet_schema(&arrow)?;
        let encodings = arrow.iter_values().map(|field| get_dtype_encoding(&field.dtype)).collect();
        Ok(FileModel { columns, times, system, schema, types, encodings })
    }

    /// The rows of a table, packed. Errors: other columns than those of the model, a time before or after the day among times of the day.
    pub fn group(&self, table: &Table) -> Result<RowGroup, TableError> {
        let (names, ours) = (table.names(), self.columns.len());
        let same = |place: usize| names[place] == self.columns[place].0 && table.kinds[place] == self.columns[place].1;
        let other =
            (0..names.len().min(ours)).find(|place| !same(*place)).or((names.len() != ours).then_some(ours.min(names.len())));
        if let Some(place) = other {
            let column = names.get(place).or(self.columns.get(place).map(|(name, _)| name)).cloned().unwrap_or_default();
            return Err(TableError::DifferentColumns { column, place: "later" });
        }
        let frame = table.file_frame(self.system, &self.times)?;
        let mut columns = Vec::with_capacity(ours);
        for ((column, kind), encoding) in frame.columns().iter().zip(self.types.fields()).zip(&self.encodings) {
            limits::go_on()?;
            let array = column.as_materialized_series().rechunk().to_arrow(0, pl::CompatLevel::newest());
            for pages in array_to_columns(array, kind.clone(), options(), encoding)? {
                let pages = pages.map(|page| page.map_err(|error| ParquetError::OutOfSpec(error.to_string())));
                let packed = Compressor::new(pages, options().compression, Vec::new());
                columns.push(packed.collect::<Result<Vec<_>, _>>().map_err(pl::PolarsError::from)?);
            }
        }
        Ok(RowGroup { rows: table.rows(), columns })
    }

    /// What a file says of itself, by key.
    fn notes(&self, origin: &Origin) -> Vec<(String, String)> {
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
            "study": origin.study,
            "seeds": origin.seeds,
            "columns": self.columns.iter().zip(&self.times).map(column).collect::<Vec<_>>(),
        });
        vec![("hosewright".to_string(), notes.to_string())]
    }
}

impl RowGroup {
    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }
}

impl TableFile {
    /// Begins a file. Errors: the folder cannot be written.
    pub fn create(place: &Place, model: &FileModel, origin: &Origin) -> Result<TableFile, TableError> {
        let file = BufWriter::with_capacity(BUFFER_BYTES, Unfinished::begin(place)?);
        let sink = Sink(Arc::new(Mutex::new(file)));
        let writer = ParquetWriter::new(sink.clone())
            .with_compression(ParquetCompression::Zstd(None))
            .with_key_value_metadata(Some(KeyValueMetadata::from_static(model.notes(origin))))
            .batched(&model.schema)?;
        Ok(TableFile { path: place.path().to_path_buf(), sink, writer, rows: 0 })
    }

    /// Rows written up to now.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Adds rows that were packed by the model of the file. Errors: the file cannot be written.
    pub fn append(&mut self, group: &RowGroup) -> Result<(), TableError> {
        if group.rows > 0 {
            self.writer.write_row_group(group.rows as u64, &group.columns)?;
        }
        self.rows += group.rows;
        Ok(())
    }

    /// Ends the file and puts it in its place. Errors: the file cannot be written.
    pub fn finish(self) -> Result<(), TableError> {
        let TableFile { path, sink, writer, .. } = self;
        writer.finish()?;
        drop(writer);
        let failed = |error: &io::Error| FileError::Failed {
            action: "write",
            path: path.display().to_string(),
            reason: plain_reason(error),
        };
        // The writer is gone, so nobody else holds the file.
        let file = Arc::into_inner(sink.0).ok_or_else(|| failed(&io::Error::other("it is still open")))?;
        let file = file.into_inner().unwrap_or_else(PoisonError::into_inner);
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
        let model = FileModel::of(&sweep(), UnitSystem::AsWritten, &[]).expect("a model");
        let mut file = TableFile::create(&Place::at(&path).expect("a place"), &model, &Origin::default()).expect("a file");
        let mut add = |table: Table| file.append(&model.group(&table).expect("rows")).expect("written");
        add(sweep().head(2));
        assert!(!path.exists());
        add(sweep().tail(4));
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
        let model = FileModel::of(&sweep(), UnitSystem::Us, &[]).expect("a model");
        let mut file = TableFile::create(&place, &model, &Origin::default()).expect("a file");
        file.append(&model.group(&sweep()).expect("rows")).expect("written");
        assert!(model.group(&sweep().renamed("remark", "note").expect("a table")).is_err());
        assert!(model.group(&sweep().without(&["remark"]).expect("a table")).is_err());
        drop(file);
        assert_eq!(std::fs::read_dir(home.path()).expect("a folder").count(), 0);
    }
}
