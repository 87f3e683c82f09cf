//! Words for whole columns: their texts, whether cells are in a list, one value or another, rounding, units.
//!
//! The work is done in `crate::table`.

use super::calculated::{list_column, operand};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::table::{Table, TableColumn};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// Decimals at most.
const MOST_DECIMALS: INT = 12;

#[export_module]
mod functions {
    /// In which rows of a column the text has another text in it (contains, search).
    ///
    /// ```hw
    /// let t = table(#{ zone: ["beds north", "beds south", "lawn"] });
    /// t.filter(t["zone"].includes("beds")).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn includes(column: TableColumn, text: &str) -> Result<TableColumn, Box<EvalAltResult>> {
        column.ask_texts(|own| own.contains(text)).map_err(raise)
    }

    /// In which rows of a column the text starts with another text.
    ///
    /// ```hw
    /// table(#{ zone: ["beds north", "lawn"] })["zone"].starts_with("beds")   // => [true, false]
    /// ```
    #[rhai_fn(name = "starts_with", return_raw)]
    pub fn column_starts_with(column: TableColumn, text: &str) -> Result<TableColumn, Box<EvalAltResult>> {
        column.ask_texts(|own| own.starts_with(text)).map_err(raise)
    }

    /// In which rows of a column the text ends with another text.
    ///
    /// ```hw
    /// table(#{ zone: ["beds north", "lawn"] })["zone"].ends_with("north")   // => [true, false]
    /// ```
    #[rhai_fn(name = "ends_with", return_raw)]
    pub fn column_ends_with(column: TableColumn, text: &str) -> Result<TableColumn, Box<EvalAltResult>> {
        column.ask_texts(|own| own.ends_with(text)).map_err(raise)
    }

    /// The strings of a column in capital letters.
    ///
    /// ```hw
    /// table(#{ zone: ["beds", "Lawn"] })["zone"].to_upper()   // => ["BEDS", "LAWN"]
    /// ```
    #[rhai_fn(name = "to_upper", return_raw)]
    pub fn column_to_upper(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.each_text(str::to_uppercase).map_err(raise)
    }

    /// The strings of a column in small letters, such as before they are compared.
    ///
    /// ```hw
    /// table(#{ zone: ["beds", "Lawn"] })["zone"].to_lower()   // => ["beds", "lawn"]
    /// ```
    #[rhai_fn(name = "to_lower", return_raw)]
    pub fn column_to_lower(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.each_text(str::to_lowercase).map_err(raise)
    }

    /// Which cells of a column are in a list.
    ///
    /// ```hw
    /// let t = table(#{ zone: ["beds", "lawn", "hedge"] });
    /// t.filter(t["zone"].is_in(["beds", "hedge"])).rows   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn is_in(column: TableColumn, list: Array) -> Result<TableColumn, Box<EvalAltResult>> {
        column.is_among(&list_column("list", &list, "is_in")?).map_err(|error| raise_about(error, "list"))
    }

    #[rhai_fn(name = "is_in", return_raw)]
    pub fn is_in_column(column: TableColumn, list: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.is_among(&list).map_err(|error| raise_about(error, "list"))
    }

    /// One value where a column is true and another where it is false: a column of them. Each may be one value, a column or a list.
    ///
    /// ```hw
    /// let t = table(#{ p: [28.psi, 41.psi] });
    /// if_else(t["p"] < 30.psi, "low", "fine")   // => ["low", "fine"]
    /// if_else(t["p"] < 30.psi, 30.psi, t["p"])  // => [30 psi, 41 psi]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn if_else(condition: TableColumn, yes: Dynamic, no: Dynamic) -> Result<TableColumn, Box<EvalAltResult>> {
        condition.choose(&operand(&yes, "if_else")?, &operand(&no, "if_else")?).map_err(raise)
    }

    /// The numbers of a column rounded, or to some decimals; quantities in the unit in which they are shown.
    ///
    /// ```hw
    /// let t = table(#{ p: [31.37.psi, 28.62.psi] });
    /// t["p"].round()      // => [31 psi, 29 psi]
    /// round(t["p"], 1)    // => [31.4 psi, 28.6 psi]
    /// ```
    #[rhai_fn(name = "round", return_raw)]
    pub fn round_column(call: NativeCallContext, column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.rounded(0, context_of(&call)?.units()).map_err(raise)
    }

    #[rhai_fn(name = "round", return_raw)]
    pub fn round_column_to(
        call: NativeCallContext,
        column: TableColumn,
        decimals: INT,
    ) -> Result<TableColumn, Box<EvalAltResult>> {
        if decimals.abs() > MOST_DECIMALS {
            let what = format!("round: the decimals must be a whole number up to {MOST_DECIMALS}, found {decimals}");
            return Err(ScriptError::new(what).about("decimals").into());
        }
        column.rounded(decimals as i32, context_of(&call)?.units()).map_err(raise)
    }

    /// The numbers of a column without their minus, such as deviations from a goal.
    ///
    /// ```hw
    /// (table(#{ p: [28.psi, 33.psi] })["p"] - 30.psi).abs()   // => [2 psi, 3 psi]
    /// ```
    #[rhai_fn(name = "abs", return_raw)]
    pub fn abs_of_column(column: TableColumn) -> Result<TableColumn, Box<EvalAltResult>> {
        column.absolute().map_err(raise)
    }

    /// The same column in another unit.
    ///
    /// ```hw
    /// table(#{ p: [30.psi] })["p"].to("bar")   // => [2.07 bar]
    /// ```
    #[rhai_fn(name = "to", return_raw)]
    pub fn column_to(column: TableColumn, unit: &str) -> Result<TableColumn, Box<EvalAltResult>> {
        column.in_unit(unit).map_err(|error| raise_about(error, "unit"))
    }

    #[rhai_fn(name = "filter", return_raw)]
    pub fn filter_by_one_answer(_table: Table, keep: bool) -> Result<Table, Box<EvalAltResult>> {
        no_answers(keep)
    }
}

/// The error for one answer in place of one for each row.
fn no_answers(keep: bool) -> Answer<Table> {
    let what = format!("filter: one answer for each row is needed, found {keep}");
    let hint = "compare a column, as in t[\"p\"] > {30.psi|2.bar}; t[\"zone\"].includes(\"bed\") asks for a part of a text";
    Err(ScriptError::new(what).with_hint(hint).about("keep").into())
}
