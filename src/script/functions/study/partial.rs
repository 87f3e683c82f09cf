//! What the shell keeps of a sweep that was stopped, and the word for it.

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

/// Registers the words of this file; they belong to the area of studies.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(words).into());
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
