//! What is said of an evaluation that was stopped, and what the shell keeps of its sweep.
//!
//! A stop stays until the evaluation is over, and no `try` holds it up. Whatever fails meanwhile, fails for that reason.

use super::Context;
use super::diagnostic::{Diagnostic, Trouble};
use super::engine::context_of;
use super::error::{Answer, ScriptError, raise};
use super::progress::with_commas;
use crate::limits::{self, Ended, Reached, Watch};
use crate::study::Swept;
use crate::table::{Column, Table};
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult};
use std::sync::Arc;

/// Registers the words of this file; they belong to the area of studies.
pub fn register(engine: &mut Engine, _context: &Arc<Context>) {
    engine.register_global_module(exported_module!(words).into());
}

/// Turns what failed while the evaluation was being stopped into the message of the stop, which stands in its place.
pub fn tell_stop(error: &mut Diagnostic, watch: &Watch) {
    if !watch.budget().ended() && error.kind != Trouble::Stopped {
        return;
    }
    let told = of_limit(watch).unwrap_or_else(|| Diagnostic::new(Trouble::Stopped, "the evaluation was stopped"));
    (error.kind, error.message, error.hint) = (told.kind, told.message, told.hint);
}

/// The message when a limit stopped the last evaluation.
fn of_limit(watch: &Watch) -> Option<Diagnostic> {
    let (message, hint) = match watch.reached() {
        Reached::Time => (
            format!("this takes longer than {} s, the time limit", watch.limits().time?.as_secs_f64()),
            "does a loop run without end? give more time with --time-limit, or leave it out",
        ),
        Reached::Memory => (
            format!("this needs more than {} MB of memory, which is the limit", watch.limits().memory_bytes? / 1_000_000),
            "does a loop add without end? a large sweep goes into a file with sweep_to(...); --memory-limit allows more",
        ),
        Reached::Nothing => return None,
    };
    Some(Diagnostic { hint: Some(hint.into()), ..Diagnostic::new(Trouble::Limit, message) })
}

/// The table of a sweep that was not stopped. What is done of one that was is kept where somebody may ask for it.
///
/// Errors: the sweep was stopped.
pub fn whole(context: &Context, swept: Swept) -> Answer<Table> {
    let (done, cases) = (swept.table.rows(), swept.cases);
    if done == cases {
        limits::go_on()?;
        return Ok(swept.table);
    }
    if context.keeps_partial_tables() {
        let told = format!("{} of {} cases", with_commas(done), with_commas(cases));
        let partial = limits::unasked(|| marked(swept.table, &told)).map_err(raise)?;
        context.keep_partial_table(partial);
        context.note(format!("sweep: stopped after {told}; partial_table() gives those"));
    }
    Err(Ended.into())
}

/// The table with a last column that says in each row how much of the sweep it is.
fn marked(table: Table, told: &str) -> Result<Table, crate::table::TableError> {
    let rows = table.rows();
    let taken = table.names();
    let name = ["partial", "partial table"].into_iter().find(|name| !taken.iter().any(|other| other == name)).unwrap_or("!");
    table.with(Column::texts(name, std::iter::repeat_n(told, rows)))
}

#[export_module]
mod words {
    /// What is done of the last sweep that was stopped in this shell, by Ctrl-C or by a limit. Its last column says in every row
    /// that the table is partial, wherever it is shown or saved.
    ///
    /// ```hw
    /// partial_table()   // => error: no sweep was stopped in this shell
    /// ```
    #[rhai_fn(return_raw)]
    pub fn partial_table(call: NativeCallContext) -> Result<Table, Box<EvalAltResult>> {
        let kept = context_of(&call)?.partial_table();
        let hint = "the shell keeps what is done of a sweep that is stopped; elsewhere it is given up";
        kept.ok_or_else(|| ScriptError::new("no sweep was stopped in this shell").with_hint(hint).into())
    }
}
