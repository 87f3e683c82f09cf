//! The native sweep: one garden, many cases, solved one after another without any script.
//!
//! The structure is worked out once. Cases are solved in blocks of fixed size, each beginning afresh and going on from its
//! neighbor, so that the answers depend neither on the threads that share the blocks nor on the parts of a divided study.
//!
//! - `plan`: what varies and what is asked, checked against the garden
//! - `worker`: one thread's network, and the table of the cases it solved

mod plan;
mod worker;

use super::axes::Axes;
use super::thread_pool::{ThreadPool, cores, in_order};
use crate::files::Place;
use crate::garden::Garden;
use crate::limits;
use crate::quantity::UnitSystem;
use crate::table::{Origin, Table, TableError, TableFile};
use std::ops::{ControlFlow, Range};

pub use plan::{SweepError, SweepPlan, check_size, solution_column};
pub use worker::{BLOCK, axis_columns};

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

/// Solves every case with these zones open.
///
/// The table has a column for each axis, then pressure and flow of every supply, booster and outlet that is fed. A case that
/// the garden refuses or that has no steady state stays in the table, with its reason in the last column.
///
/// Errors: unknown paths or zones, values of a wrong dimension, or a stop.
pub fn sweep(garden: &Garden, axes: &Axes, zones: &[&str], options: &SweepOptions) -> Result<Table, SweepError> {
    let plan = SweepPlan::new(garden, axes, Some(zones))?;
    Ok(plan.run(0..plan.cases(), &SweepOptions { keep_what_is_done: false, ..*options })?.table)
}

/// Solves every case into a parquet file, in bounded memory; gives the number of cases written.
///
/// The table is that of [`sweep`], with a `reason` column in any case. The file is there whole or not at all; a stop by the
/// user leaves none. Errors: as [`sweep`], and the file cannot be written.
pub fn sweep_to(
    place: &Place,
    system: UnitSystem,
    garden: &Garden,
    axes: &Axes,
    zones: &[&str],
    options: &SweepOptions,
) -> Result<usize, SweepError> {
    let plan = SweepPlan::new(garden, axes, Some(zones))?;
    plan.write(0..plan.cases(), place, system, options)
}

/// The cases of all tables, with their reasons where one failed.
fn joined(tables: &[Table]) -> Result<Table, TableError> {
    let table = Table::stacked(tables)?;
    if table.is_all_missing("reason")? { table.without(&["reason"]) } else { Ok(table) }
}

impl SweepPlan<'_> {
    /// Solves a range of the cases. Errors: a stop, unless what is done is to be kept and anything is.
    ///
    /// The range begins at a multiple of [`BLOCK`], so that the answers do not depend on it.
    pub fn run(&self, cases: Range<usize>, options: &SweepOptions) -> Result<Swept, SweepError> {
        check_size(cases.len())?;
        let threads = options.threads.unwrap_or_else(cores);
        let blocks = cases.len().div_ceil(BLOCK);
        let chunk = (blocks / (4 * threads)).clamp(1, GROUP_BLOCKS);
        let mut tables = Vec::new();
        self.each_chunk(cases.clone(), chunk, options, |table| {
            tables.push(table);
            Ok(())
        })?;
        let keeps = options.keep_what_is_done && !tables.is_empty();
        if limits::ended() && !keeps {
            return Err(SweepError::Stopped);
        }
        if tables.is_empty() {
            tables.push(worker::Worker::new(self).table(cases.start..cases.start)?);
        }
        let table = if limits::ended() { limits::unasked(|| joined(&tables)) } else { joined(&tables) }?;
        Ok(Swept { table, cases: cases.len() })
    }

    /// Solves a range of the cases into a parquet file; see [`sweep_to`].
    pub fn write(
        &self,
        cases: Range<usize>,
        place: &Place,
        system: UnitSystem,
        options: &SweepOptions,
    ) -> Result<usize, SweepError> {
        let mut file = TableFile::create(place, system, options.origin.unwrap_or(&Origin::default()))?;
        self.each_chunk(cases.clone(), GROUP_BLOCKS, options, |table| file.push(&table))?;
        if cases.is_empty() {
            file.push(&worker::Worker::new(self).table(cases.start..cases.start)?)?;
        }
        if limits::ended() {
            return Err(SweepError::Stopped);
        }
        file.finish()?;
        Ok(cases.len())
    }

    /// Solves the cases in chunks of `blocks` blocks and passes on the table of each, in order.
    fn each_chunk(
        &self,
        cases: Range<usize>,
        blocks: usize,
        options: &SweepOptions,
        mut take: impl FnMut(Table) -> Result<(), TableError>,
    ) -> Result<(), SweepError> {
        let size = blocks * BLOCK;
        let thread_pool = ThreadPool { threads: options.threads.unwrap_or_else(cores), stack_bytes: None };
        let (mut result, mut done) = (Ok(()), 0);
        let make = || {
            let (mut worker, cases) = (worker::Worker::new(self), cases.clone());
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
}
