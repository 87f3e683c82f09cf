//! What the shell keeps of a sweep that was stopped, and its function.

use crate::limits;
use crate::limits::Ended;
use crate::quantity::with_commas;
use crate::script::language::calling::context_of;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::study::Swept;
use crate::table::{Column, Table};
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult};

/// Registers the functions of this file; they belong to the topic of studies.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
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
        context.note(format!("sweep: stopped after {told}; partial_table() gives them"));
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
mod functions {
    /// The finished cases of the last stopped sweep in this shell, stopped by Ctrl-C or by a limit. The last column marks every row
    /// as partial, wherever the table is shown or saved.
    ///
    /// ```hw
    /// partial_table()   // => error: no sweep was stopped in this shell
    /// ```
    #[rhai_fn(return_raw)]
    pub fn partial_table(call: NativeCallContext) -> Result<Table, Box<EvalAltResult>> {
        let kept = context_of(&call)?.partial_table();
        let hint = "only the shell keeps the finished cases of a stopped sweep";
        kept.ok_or_else(|| ScriptError::new("no sweep was stopped in this shell").with_hint(hint).into())
    }
}
