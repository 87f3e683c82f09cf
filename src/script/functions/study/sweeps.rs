//! Words that solve all cases of the axes: natively, with a closure, into a table or into a file.
//!
//! Divided runs are joined in `gather.rs`.

use super::cases::sweep_cases;
use super::gather::{closure_part, native_part};
use super::look::{look_at_closure, look_at_native};
use super::partial::whole;
use crate::garden::Garden;
use crate::limits;
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise_as};
use crate::script::language::progress::Progress;
use crate::script::language::share::Turn;
use crate::script::language::values::as_names;
use crate::study::{Axes, NativeStudy, SweepError, SweepOptions, SweepPlan};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult, FnPtr};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Solves all cases of the axes (a parameter sweep). With a garden and its zones, the table has pressure and flow of
    /// every supply, booster and outlet; if an axis has the name of one of them, such as `drip.flow`, the result is
    /// `drip.running_flow`. A garden with valves needs the zones to open; `[]` keeps all valves closed. With a closure, the columns
    /// are those of the map it returns for each case.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// sweep(line, vary("feed.length", [50.ft, 100.ft]))["spray.pressure"]   // => [48.1 psi, 46.2 psi]
    /// sweep(vary("x", [1, 2, 3]), |case| #{ square: case.x * case.x })["square"]   // => [1, 4, 9]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep(call: NativeCallContext, garden: Garden, axes: Axes, zones: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        sweep_garden(&call, &garden, &axes, Some(&as_names(&zones, "sweep")?))
    }

    #[rhai_fn(name = "sweep", return_raw)]
    pub fn sweep_without_zones(call: NativeCallContext, garden: Garden, axes: Axes) -> Result<Table, Box<EvalAltResult>> {
        sweep_garden(&call, &garden, &axes, None)
    }

    #[rhai_fn(name = "sweep", return_raw)]
    pub fn sweep_closure(call: NativeCallContext, axes: Axes, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        match context.next_turn(axes.cases()) {
            Some(Turn::Part(part)) => closure_part(&context, &part, |range| {
                let swept = sweep_cases(&call, &axes, &closure, range)?;
                limits::go_on()?;
                Ok(swept.table)
            }),
            Some(Turn::Look) => look_at_closure(&context, &call, &axes, &closure),
            None => whole(&context, sweep_cases(&call, &axes, &closure, 0..axes.cases())?),
        }
    }

    /// Solves all cases of the axes into a parquet file in the folder of the script, with little memory for any number of cases, and gives
    /// their number. The last column, `reason`, holds the errors of failed cases. For millions of cases; for fewer use `sweep`.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// sweep_to("cases.parquet", line, vary("feed.length", steps(50.ft, 100.ft, 0.5.ft)))   // => saved cases.parquet: 101 cases
    /// read_table("cases.parquet").rows   // => 101
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep_to(
        call: NativeCallContext,
        file: &str,
        garden: Garden,
        axes: Axes,
        zones: Dynamic,
    ) -> Result<Saved, Box<EvalAltResult>> {
        sweep_into(&call, file, &garden, &axes, Some(&as_names(&zones, "sweep_to")?))
    }

    #[rhai_fn(name = "sweep_to", return_raw)]
    pub fn sweep_to_without_zones(
        call: NativeCallContext,
        file: &str,
        garden: Garden,
        axes: Axes,
    ) -> Result<Saved, Box<EvalAltResult>> {
        sweep_into(&call, file, &garden, &axes, None)
    }
}

/// The table of a native sweep of a garden, or of its part of a divided run.
pub fn sweep_garden(call: &NativeCallContext, garden: &Garden, axes: &Axes, zones: Option<&[String]>) -> Answer<Table> {
    let names = names(zones);
    sweep_native(call, &SweepPlan::new(garden, axes, names.as_deref()).map_err(raise_as("sweep"))?)
}

/// The table of a native sweep, or of its part of a divided run.
pub fn sweep_native(call: &NativeCallContext, study: &impl NativeStudy) -> Answer<Table> {
    let context = context_of(call)?;
    context.note_samples(study.axes().samples());
    let cases = study.cases();
    match context.next_turn(cases) {
        Some(Turn::Part(part)) => native_part(&context, &part, study, |write| with_options(&context, cases, write)),
        Some(Turn::Look) => look_at_native(&context, study),
        None => whole(&context, with_options(&context, cases, |options| study.run(0..cases, options))?),
    }
}

fn names(zones: Option<&[String]>) -> Option<Vec<&str>> {
    Some(zones?.iter().map(String::as_str).collect())
}

/// Runs a native sweep with progress and the threads of the context.
fn with_options<T>(context: &Context, cases: usize, run: impl FnOnce(&SweepOptions) -> Result<T, SweepError>) -> Answer<T> {
    let progress = Progress::new(context, cases);
    let report = |done: usize| progress.report(done);
    let keep_what_is_done = context.keeps_partial_tables();
    let origin = context.origin();
    let options = SweepOptions { threads: context.threads(), keep_what_is_done, progress: Some(&report), origin: Some(&origin) };
    run(&options).map_err(raise_as("sweep"))
}

fn sweep_into(call: &NativeCallContext, file: &str, garden: &Garden, axes: &Axes, zones: Option<&[String]>) -> Answer<Saved> {
    let names = names(zones);
    sweep_native_into(call, file, &SweepPlan::new(garden, axes, names.as_deref()).map_err(raise_as("sweep_to"))?)
}

/// The cases of a native sweep in a parquet file, or its part of a divided run.
pub fn sweep_native_into(call: &NativeCallContext, file: &str, study: &impl NativeStudy) -> Answer<Saved> {
    let context = context_of(call)?;
    context.note_samples(study.axes().samples());
    let place = context.place_to_save(file)?;
    if place.path().extension().is_none_or(|ending| ending != "parquet") {
        let error = ScriptError::new(format!("sweep_to: '{file}' is not the name of a parquet file"));
        return Err(error.with_hint("give a name such as \"cases.parquet\"").into());
    }
    let cases = study.cases();
    match context.next_turn(cases) {
        Some(Turn::Part(part)) => {
            native_part(&context, &part, study, |write| with_options(&context, cases, write))?;
            return Ok(Saved::LeftOut { file: file.into(), part: part.part, parts: part.parts });
        }
        Some(Turn::Look) => {
            let cases = look_at_native(&context, study)?.rows();
            return Ok(Saved::Cases { file: file.into(), cases });
        }
        None => {}
    }
    let written = with_options(&context, cases, |options| study.write(0..cases, &place, context.units(), options))?;
    Ok(Saved::Cases { file: file.into(), cases: written.cases })
}
