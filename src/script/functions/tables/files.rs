//! Words that show, save and read a table.
//!
//! The formats are the work of `crate::table`.

use super::cells::WholeTable;
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::error::raise;
use crate::table::Table;
use rhai::EvalAltResult;
use rhai::plugin::*;

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Shows a table with all its rows and columns.
    ///
    /// ```hw
    /// show(table([#{ p: 40.psi }]))   // =>     p
    /// // => (psi)
    /// // => -----
    /// // =>    40
    /// ```
    #[rhai_fn(name = "show")]
    pub fn show_whole(table: Table) -> WholeTable {
        WholeTable(table)
    }

    /// A table in Markdown with all its rows, for a report.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).markdown()   // => | p (psi) |
    /// // => | ---: |
    /// // => | 40 |
    /// ```
    #[rhai_fn(return_raw)]
    pub fn markdown(call: NativeCallContext, table: Table) -> Result<String, Box<EvalAltResult>> {
        table.show_markdown(context_of(&call)?.units()).map_err(raise)
    }

    /// Saves a table in the folder of the script as .csv, .parquet, .json or .md, with the units in the column names.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv")   // => saved pressures.csv
    /// ```
    #[rhai_fn(return_raw)]
    pub fn save(call: NativeCallContext, table: Table, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        if let Some(left_out) = context.leaves_out(file) {
            return Ok(left_out);
        }
        let place = context.folder.place(file).map_err(raise)?;
        table.write(&place, context.units()).map_err(raise)?;
        Ok(Saved::File(file.into()))
    }

    /// Reads a table from a .csv, .parquet or .json file in the folder of the script; a column name such as `length [ft]` gives the unit.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv");
    /// read_table("pressures.csv")["p"]   // => [40 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn read_table(call: NativeCallContext, file: &str) -> Result<Table, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let path = context.folder.file(file).map_err(raise)?;
        Table::check_ending(&path).map_err(raise)?;
        let bytes = context.folder.read(file).map_err(raise)?;
        context.note_input(file, &bytes).map_err(raise)?;
        Table::from_bytes(&path, bytes).map_err(raise)
    }
}
