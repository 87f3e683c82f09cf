//! How the cases of a native study are shared among threads, joined and written.

use super::plan::{SweepError, check_size};
use crate::clock;
use crate::files::Place;
use crate::limits;
use crate::quantity::{Preference, UnitSystem};
use crate::study::{Axes, Axis};
use crate::table::{ColumnPlan, FileModel, Filled, Filling, Origin, Piece, RowGroup, Table, TableError, TableFile};
use crate::thread_pool::{ThreadPool, cores, in_order};
use std::ops::{ControlFlow, Range};
use std::sync::{Mutex, PoisonError};

/// Cases that are solved one after another, each from the last.
pub const BLOCK: usize = 512;
/// Blocks that make a row group of a file.
const GROUP_BLOCKS: usize = 32;
/// Blocks that a thread takes at a time, at most: so few that the last threads end soon after the first.
const CLAIM_BLOCKS: usize = 8;
/// How often a thread takes blocks, at least, where there are enough of them.
const CLAIMS: usize = 16;

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

/// The cases of a sweep that are in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// How many there are.
    pub cases: usize,
    /// How many of them have no answer.
    pub failed: usize,
}

/// One thread's part of a native study.
pub trait CaseWorker {
    /// Solves a range of cases that begins with a block: the first of them is the first row of the piece. One that has no answer is a
    /// [`fail`](Piece::fail) of its row. It may leave off when the evaluation is to end.
    fn fill(&mut self, cases: Range<usize>, piece: &mut Piece);
}

/// A study whose cases are solved without any script.
pub trait NativeStudy: Sync {
    /// What a thread solves its cases with.
    type Worker<'w>: CaseWorker
    where
        Self: 'w;

    /// What varies.
    fn axes(&self) -> &Axes;

    /// The columns that a worker fills: those of the axes as `axis_plans` makes them, then those of the answers.
    fn columns(&self) -> Result<Vec<ColumnPlan>, TableError>;

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
        let claim = (cases.len().div_ceil(BLOCK) / (CLAIMS * threads)).clamp(1, CLAIM_BLOCKS) * BLOCK;
        let mut filling = Filling::new(self.columns()?, cases.len())?;
        let pieces: Vec<_> = filling.pieces(claim).into_iter().map(|piece| Mutex::new(Some(piece))).collect();
        let mut filled = Filled::default();
        let sharing = Sharing { study: self, cases: cases.clone(), size: claim, threads };
        sharing.each(
            options.progress,
            |worker, number, cases| {
                let mut piece = pieces[number].lock().unwrap_or_else(PoisonError::into_inner).take()?;
                worker.fill(cases, &mut piece);
                Some(piece.filled())
            },
            |piece: Filled| {
                let rows = piece.rows;
                filled.add(piece);
                Ok(rows)
            },
        )?;
        drop(pieces);
        let keeps = options.keep_what_is_done && filled.rows > 0;
        if limits::ended() && !keeps {
            return Err(SweepError::Stopped);
        }
        let make = || filling.into_table(filled, false, threads);
        let table = if limits::ended() { limits::unasked(make) } else { make() }?;
        let keys = self.axes().axes().iter().map(|axis| axis.name.clone());
        Ok(Swept { table: table.with_keys(keys), cases: cases.len() })
    }

    /// Solves a range of the cases into a parquet file; see [`sweep_to`](super::sweep_to). Gives how many cases there are and how many failed.
    fn write(
        &self,
        cases: Range<usize>,
        place: &Place,
        system: UnitSystem,
        options: &SweepOptions,
    ) -> Result<Written, SweepError> {
        let threads = options.threads.unwrap_or_else(cores);
        let columns = self.columns()?;
        let none = Filling::new(columns.clone(), 0)?.into_table(Filled::default(), true, 1)?;
        let is_of_day = |axis: &Axis| (0..axis.len()).all(|index| axis.si(index).is_some_and(clock::is_of_day));
        let hours = |axis: &&Axis| matches!(axis.kind(), Some((_, Preference::Clock))) && !is_of_day(axis);
        let hours: Vec<&str> = self.axes().axes().iter().filter(hours).map(|axis| axis.name.as_str()).collect();
        let model = FileModel::of(&none, system, &hours)?;
        let mut file = TableFile::create(place, &model, options.origin.unwrap_or(&Origin::default()))?;
        let size = GROUP_BLOCKS * BLOCK;
        let mut failed = 0;
        let sharing = Sharing { study: self, cases: cases.clone(), size, threads };
        sharing.each(
            options.progress,
            |worker, _, cases| Some(row_group(worker, cases, &columns, &model)),
            |group: Result<(RowGroup, usize), TableError>| {
                let (group, none) = group?;
                failed += none;
                file.append(&group)?;
                Ok(group.rows())
            },
        )?;
        if limits::ended() {
            return Err(SweepError::Stopped);
        }
        file.finish()?;
        Ok(Written { cases: cases.len(), failed })
    }
}

/// The cases of a range, packed for a file, and how many of them failed.
fn row_group(
    worker: &mut impl CaseWorker,
    cases: Range<usize>,
    columns: &[ColumnPlan],
    model: &FileModel,
) -> Result<(RowGroup, usize), TableError> {
    let mut filling = Filling::new(columns.to_vec(), cases.len())?;
    let mut filled = Filled::default();
    for mut piece in filling.pieces(cases.len()) {
        worker.fill(cases.clone(), &mut piece);
        limits::go_on()?;
        filled.add(piece.filled());
    }
    let failed = filled.failed();
    Ok((model.group(&filling.into_table(filled, true, 1)?)?, failed))
}

/// Cases that are shared among threads in ranges of one size.
struct Sharing<'s, S: ?Sized> {
    study: &'s S,
    cases: Range<usize>,
    /// Cases of a range, a multiple of [`BLOCK`].
    size: usize,
    threads: usize,
}

impl<'s, S: NativeStudy + ?Sized> Sharing<'s, S> {
    /// Works on all ranges, each given with its number, and passes on what comes of each, in order, which gives the cases that are done.
    fn each<T: Send>(
        self,
        progress: Option<OnProgress>,
        work: impl Fn(&mut S::Worker<'s>, usize, Range<usize>) -> Option<T> + Sync,
        mut take: impl FnMut(T) -> Result<usize, TableError>,
    ) -> Result<(), SweepError> {
        let Sharing { study, cases, size, threads } = self;
        let (mut result, mut done) = (Ok(()), 0);
        let make = || {
            let (mut worker, work, cases) = (study.worker(), &work, &cases);
            move |number: usize| {
                let first = cases.start + number * size;
                let made = work(&mut worker, number, first..(first + size).min(cases.end));
                made.filter(|_| !limits::ended())
            }
        };
        in_order(0..cases.len().div_ceil(size), &ThreadPool { threads, stack_bytes: None }, make, |made| match take(made) {
            Ok(rows) => {
                done += rows;
                if let Some(progress) = progress {
                    progress(done);
                }
                ControlFlow::Continue(())
            }
            Err(error) => {
                result = Err(error.into());
                ControlFlow::Break(())
            }
        });
        result
    }
}
