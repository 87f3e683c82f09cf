//! Studies divided into several runs: the run of one part of a sweep, and joining the parts.
//!
//! The files are in `crate::study`.

use crate::limits;
use crate::quantity::with_commas;
use crate::script::language::calling::context_of;
use crate::script::language::calls::call_once;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, raise};
use crate::study::{
    Demand, Gathering, Joint, NativeStudy, PartError, PartOfSweep, SweepError, SweepOptions, Written, notes_as_read,
};
use crate::table::{REASON, Table};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, INT};
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
    run: impl FnOnce(&dyn Fn(&SweepOptions) -> Result<Written, SweepError>) -> Answer<Written>,
) -> Answer<Table> {
    let range = part.range(crate::study::BLOCK);
    if !part.is_finished() {
        let began = Instant::now();
        let place = part.table_place().map_err(raise)?;
        let written = run(&|options| plan.write(range.clone(), &place, context.units(), options))?;
        part.finish(written, began.elapsed().as_secs_f64()).map_err(raise)?;
    }
    report(context, part, &range);
    Ok(read_back(part, &range))
}

/// The table of this run's part of a closure sweep, made now or by an earlier run.
pub fn closure_part(context: &Context, part: &PartOfSweep, make: impl FnOnce(Range<usize>) -> Answer<Table>) -> Answer<Table> {
    let range = part.range(1);
    if !part.is_finished() {
        let began = Instant::now();
        let table = make(range.clone())?;
        table.write(&part.table_place().map_err(raise)?, context.units(), &context.origin()).map_err(raise)?;
        let written = Written { cases: table.rows(), failed: failed(&table)? };
        part.finish(written, began.elapsed().as_secs_f64()).map_err(raise)?;
    }
    report(context, part, &range);
    Ok(read_back(part, &range))
}

/// The table of a part that is finished; it is read when the script asks for more than its rows.
fn read_back(part: &PartOfSweep, range: &Range<usize>) -> Table {
    Table::read_later(part.table_path(), range.len())
}

/// The cases that have a reason why there is no answer.
fn failed(table: &Table) -> Answer<usize> {
    if table.names().iter().all(|name| name != REASON) {
        return Ok(0);
    }
    Ok(table.series(REASON).map_err(raise)?.n_values())
}

fn report(context: &Context, part: &PartOfSweep, range: &Range<usize>) {
    let PartOfSweep { sweep, part, parts, cases, .. } = part;
    let (n, cases) = (with_commas(range.len()), with_commas(*cases));
    context.note(format!("sweep {sweep}: part {part} of {parts}, {n} of {cases} cases"));
}

/// Joins the parts in a folder, and notes that this run reads them.
fn join<T>(call: &NativeCallContext, parts: &str, join: impl FnOnce(Joint) -> Result<T, PartError>) -> Answer<T> {
    note_parts(call, parts)?;
    join(Joint { folder: &context_of(call)?.folder, parts }).map_err(raise)
}

/// Notes that this run reads the parts in a folder.
fn note_parts(call: &NativeCallContext, parts: &str) -> Answer<()> {
    let context = context_of(call)?;
    for (name, bytes) in notes_as_read(&Joint { folder: &context.folder, parts }).map_err(raise)? {
        context.note_input(&name, &bytes).map_err(raise)?;
    }
    Ok(())
}

/// What a closure answers to the table of each part.
fn each_part(call: &NativeCallContext, parts: &str, sweep: Option<usize>, closure: &FnPtr) -> Answer<Dynamic> {
    note_parts(call, parts)?;
    let context = context_of(call)?;
    let gathering = Gathering::of(Joint { folder: &context.folder, parts }, sweep).map_err(raise)?;
    gathering.complete(&[]).map_err(raise)?;
    let mut answers = Array::with_capacity(gathering.noted());
    for place in 0..gathering.noted() {
        limits::go_on()?;
        match gathering.table(place).map_err(raise)? {
            Some(table) => answers.push(call_once(call, closure, Dynamic::from(table))?),
            None => gathering.complete(&[place]).map_err(raise)?,
        }
    }
    Ok(answers.into())
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

    /// Calls a closure with the table of each part of a divided study, in order, and gives its answers as a list. Only one part is in the
    /// memory at a time. With several sweeps, a number chooses one. A missing part is an error before anything is called.
    ///
    /// ```hw
    /// gather_each("../parts", |part| part["berry.pressure"].min()).min()   // => error: '../parts' leaves the folder of the script
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gather_each(call: NativeCallContext, parts: &str, closure: FnPtr) -> Result<Dynamic, Box<EvalAltResult>> {
        each_part(&call, parts, None, &closure)
    }

    #[rhai_fn(name = "gather_each", return_raw)]
    pub fn gather_each_of(
        call: NativeCallContext,
        parts: &str,
        sweep: INT,
        closure: FnPtr,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        each_part(&call, parts, sweep_number(sweep), &closure)
    }

    /// The state of each part of a divided study: done, failed with its reason, or missing; cases, failed cases, seconds.
    ///
    /// ```hw
    /// gather_report("../parts")   // => error: '../parts' leaves the folder of the script
    /// ```
    #[rhai_fn(return_raw)]
    pub fn gather_report(call: NativeCallContext, parts: &str) -> Result<Table, Box<EvalAltResult>> {
        join(&call, parts, |joint| crate::study::report(&joint))
    }
}
