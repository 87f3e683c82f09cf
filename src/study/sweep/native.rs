//! How the cases of a native study are shared among threads, joined and written.

use super::plan::{SweepError, check_size};
use crate::files::Place;
use crate::limits;
use crate::quantity::UnitSystem;
use crate::study::axes::Axes;
use crate::study::thread_pool::{ThreadPool, cores, in_order};
use crate::table::{Origin, Table, TableError, TableFile};
use std::ops::{ControlFlow, Range};

/// Cases that are solved one after another, each from the last.
pub const BLOCK: usize = 512;
/// Blocks that make a row group of a file.
const GROUP_BLOCKS: usize = 32;

/// Hears how many cases are done, in the thread that called.
pub type OnProgress<'a> = &'a dyn Fn(usize);

/// How a sweep is carried out.
#[derive(Clone, Copy, Default)]
pub struct SweepOptions<'a> {
    /// Threads that share the work; default all cores.
    pub threads: Option<usize>,
    /// True where a sweep that is stopped leaves a table of what is done.
    pub keep_what_is_done: bool,
    /// Called now and then.
    pub progress: Option<OnProgress<'a>>,
    /// What made the cases, for those who find a file of them.
    pub origin: Option<&'a Origin>,
}

/// The cases of a sweep that are solved.
#[derive(Clone, Debug)]
pub struct Swept {
    /// A row for each case that was solved or has no answer, in the order of the cases.
    pub table: Table,
    /// Cases that were asked for; fewer are in the table when somebody stopped it.
    pub cases: usize,
}

/// The cases of all tables, with their reasons where one failed.
fn joined(tables: &[Table], threads: usize) -> Result<Table, TableError> {
    let table = Table::stacked_by(tables, threads)?;
    if table.is_all_missing("reason")? { table.without(&["reason"]) } else { Ok(table) }
}

/// One thread's part of a native study.
pub trait CaseWorker {
    /// Solves a range of cases that begins with a block: a row each.
    fn table(&mut self, cases: Range<usize>) -> Result<Table, TableError>;
}

/// A study whose cases are solved without any script.
pub trait NativeStudy: Sync {
    /// What a thread solves its cases with.
    type Worker<'w>: CaseWorker
    where
        Self: 'w;

    /// What varies.
    fn axes(&self) -> &Axes;

    /// What another thread solves its cases with.
    fn worker(&self) -> Self::Worker<'_>;

    /// The number of cases.
    fn cases(&self) -> usize {
        self.axes().cases()
    }

    /// Solves a range of the cases. Errors: a stop, unless what is done is to be kept and anything is.
    ///
    /// The range begins at a multiple of [`BLOCK`], so that the answers do not depend on it.
    fn run(&self, cases: Range<usize>, options: &SweepOptions) -> Result<Swept, SweepError> {
        check_size(cases.len())?;
        let threads = options.threads.unwrap_or_else(cores);
        let blocks = cases.len().div_ceil(BLOCK);
        let chunk = (blocks / (4 * threads)).clamp(1, GROUP_BLOCKS);
        let mut tables = Vec::new();
        each_chunk(self, cases.clone(), chunk, options, |table| {
            tables.push(table);
            Ok(())
        })?;
        let keeps = options.keep_what_is_done && !tables.is_empty();
        if limits::ended() && !keeps {
            return Err(SweepError::Stopped);
        }
        if tables.is_empty() {
            tables.push(self.worker().table(cases.start..cases.start)?);
        }
        let table = if limits::ended() { limits::unasked(|| joined(&tables, threads)) } else { joined(&tables, threads) }?;
        Ok(Swept { table, cases: cases.len() })
    }

    /// Solves a range of the cases into a parquet file; see [`sweep_to`](super::sweep_to).
    fn write(&self, cases: Range<usize>, place: &Place, system: UnitSystem, options: &SweepOptions) -> Result<usize, SweepError> {
        let mut file = TableFile::create(place, system, options.origin.unwrap_or(&Origin::default()))?;
        each_chunk(self, cases.clone(), GROUP_BLOCKS, options, |table| file.push(&table))?;
        if cases.is_empty() {
            file.push(&self.worker().table(cases.start..cases.start)?)?;
        }
        if limits::ended() {
            return Err(SweepError::Stopped);
        }
        file.finish()?;
        Ok(cases.len())
    }
}

/// Solves the cases in chunks of `blocks` blocks and passes on the table of each, in order.
fn each_chunk<S: NativeStudy + ?Sized>(
    study: &S,
    cases: Range<usize>,
    blocks: usize,
    options: &SweepOptions,
    mut take: impl FnMut(Table) -> Result<(), TableError>,
) -> Result<(), SweepError> {
    let size = blocks * BLOCK;
    let thread_pool = ThreadPool { threads: options.threads.unwrap_or_else(cores), stack_bytes: None };
    let (mut result, mut done) = (Ok(()), 0);
    let make = || {
        let (mut worker, cases) = (study.worker(), cases.clone());
        move |chunk: usize| {
            let first = cases.start + chunk * size;
            let table = worker.table(first..(first + size).min(cases.end));
            (!limits::ended()).then_some(table)
        }
    };
    in_order(0..cases.len().div_ceil(size), &thread_pool, make, |table| {
        let taken = table.map_err(SweepError::from).and_then(|table| {
            done += table.rows();
            Ok(take(table)?)
        });
        if let Some(progress) = options.progress {
            progress(done);
        }
        match taken {
            Ok(()) => ControlFlow::Continue(()),
            Err(error) => {
                result = Err(error);
                ControlFlow::Break(())
            }
        }
    });
    result
}
