//! Studies divided into several runs: the run of one part of a sweep, and joining the parts.
//!
//! The files are in `crate::study`.

use crate::quantity::with_commas;
use crate::script::language::calling::context_of;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, raise};
use crate::study::{Demand, Joint, NativeStudy, PartError, PartOfSweep, SweepOptions, Swept, notes_as_read};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult, INT};
use std::ops::Range;
use std::time::Instant;

/// Registers the functions of this file; they belong to the topic of studies.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// The table of this run's part of a native sweep, made now or by an earlier run.
pub fn native_part(
    context: &Context,
    part: &PartOfSweep,
    plan: &impl NativeStudy,
    run: impl FnOnce(&dyn Fn(&SweepOptions) -> Result<usize, crate::study::SweepError>) -> Answer<usize>,
) -> Answer<Swept> {
    let range = part.range(crate::study::BLOCK);
    if !part.is_finished() {
        let began = Instant::now();
        let place = part.table_place().map_err(raise)?;
        run(&|options| plan.write(range.clone(), &place, context.units(), options))?;
        note_end(part, &read_back(part)?, began)?;
    }
    report(context, part, &range);
    let table = read_back(part)?;
    Ok(Swept { cases: table.rows(), table })
}

/// The table of this run's part of a closure sweep, made now or by an earlier run.
pub fn closure_part(context: &Context, part: &PartOfSweep, make: impl FnOnce(Range<usize>) -> Answer<Table>) -> Answer<Table> {
    let range = part.range(1);
    if !part.is_finished() {
        let began = Instant::now();
        let table = make(range.clone())?;
        table.write(&part.table_place().map_err(raise)?, context.units(), &context.origin()).map_err(raise)?;
        note_end(part, &table, began)?;
    }
    report(context, part, &range);
    read_back(part)
}

fn read_back(part: &PartOfSweep) -> Answer<Table> {
    Table::read(&part.table_path()).map_err(raise)
}

fn note_end(part: &PartOfSweep, table: &Table, began: Instant) -> Answer<()> {
    let failed = if table.names().iter().any(|name| name == "reason") {
        let reasons = table.column("reason").map_err(raise)?;
        reasons.cells().filter(|cell| !cell.is_missing()).count()
    } else {
        0
    };
    part.finish(table.rows(), failed, began.elapsed().as_secs_f64()).map_err(raise)
}

fn report(context: &Context, part: &PartOfSweep, range: &Range<usize>) {
    let PartOfSweep { sweep, part, parts, cases, .. } = part;
    let (n, cases) = (with_commas(range.len()), with_commas(*cases));
    context.note(format!("sweep {sweep}: part {part} of {parts}, {n} of {cases} cases"));
}

/// Joins the parts in a folder, and notes that this run reads them.
fn join<T>(
    call: &NativeCallContext,
    parts: &str,
    join: impl FnOnce(&Joint) -> Result<T, PartError>,
) -> Result<T, Box<EvalAltResult>> {
    let context = context_of(call)?;
    let joint = Joint { folder: &context.folder, parts };
    for (name, bytes) in notes_as_read(&joint).map_err(raise)? {
        context.note_input(&name, &bytes).map_err(raise)?;
    }
    join(&joint).map_err(raise)
}

fn sweep_number(number: INT) -> Option<usize> {
    Some(usize::try_from(number).unwrap_or(0))
}

#[export_module]
mod functions {
    /// Joins the parts of a divided study (`hosewright run STUDY --part 3/7 --out parts`) into the table of its sweep; with
    /// several sweeps, a number chooses one. A missing part is an error that names it.
    ///
    /// ```hw
    /// gather("../parts")   // => error: '../parts' leaves the folder of the script
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gather(call: NativeCallContext, parts: &str) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, |joint| crate::study::gather(joint, None, Demand::AllParts))
    }

    #[rhai_fn(name = "gather", return_raw)]
    pub fn gather_one(call: NativeCallContext, parts: &str, sweep: INT) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, |joint| crate::study::gather(joint, sweep_number(sweep), Demand::AllParts))
    }

    /// As `gather`, but ignores missing parts.
    ///
    /// ```hw
    /// gather_present("../parts")   // => error: '../parts' leaves the folder of the script
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gather_present(call: NativeCallContext, parts: &str) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, |joint| crate::study::gather(joint, None, Demand::WhatIsThere))
    }

    #[rhai_fn(name = "gather_present", return_raw)]
    pub fn gather_present_one(call: NativeCallContext, parts: &str, sweep: INT) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, |joint| crate::study::gather(joint, sweep_number(sweep), Demand::WhatIsThere))
    }

    /// The state of each part of a divided study: done, failed with its reason, or missing; cases, failed cases, seconds.
    ///
    /// ```hw
    /// gather_report("../parts")   // => error: '../parts' leaves the folder of the script
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gather_report(call: NativeCallContext, parts: &str) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, crate::study::report)
    }
}
