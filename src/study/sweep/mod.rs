//! The native sweep: one garden, many cases, solved one after another without any script.
//!
//! The structure is worked out once. Cases are solved in blocks of fixed size, each beginning afresh and going on from its
//! neighbor, several side by side where the garden allows it. So the answers depend neither on the threads that share the blocks
//! nor on the parts of a divided study.
//!
//! - `native`: how the cases of any native study are shared among threads and written, whatever solves them
//! - `plan`: what varies and what is asked, checked against the garden
//! - `worker`: one thread's networks, and the columns that it fills
//! - `axis_columns`: the values of the axes in each case
//! - `side_by_side`: blocks of cases in the lanes of registers, for gardens that lanes hold
//! - `season`: seasons of beds in place of a garden

mod axis_columns;
mod native;
mod plan;
mod season;
mod side_by_side;
mod worker;

use super::axes::Axes;
use crate::files::Place;
use crate::garden::Garden;
use crate::quantity::UnitSystem;
use crate::table::{ColumnPlan, Table, TableError};

pub use axis_columns::{axis_columns, axis_table};
pub use native::{BLOCK, CaseWorker, NativeStudy, SweepOptions, Swept, Written};
pub use plan::{SweepError, SweepPlan, check_size, solution_column};
pub use season::{SeasonSweep, season_columns};

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
    Ok(plan.write(0..plan.cases(), place, system, options)?.cases)
}

impl NativeStudy for SweepPlan<'_> {
    type Worker<'w>
        = worker::Worker<'w>
    where
        Self: 'w;

    fn axes(&self) -> &Axes {
        self.axes
    }

    fn columns(&self) -> Result<Vec<ColumnPlan>, TableError> {
        worker::columns(self)
    }

    fn worker(&self) -> worker::Worker<'_> {
        worker::Worker::new(self)
    }
}
