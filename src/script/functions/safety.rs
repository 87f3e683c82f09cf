//! Cautions as scripts see them: a table.
//!
//! Their texts, and when each applies, stand in `crate::findings`.

use crate::findings::CautionSet;
use crate::garden::Garden;
use crate::report::cautions as report;
use crate::script::language::error::raise;
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
Cautions hold whatever the results are. Those that apply to the gardens of a study are shown below its results: by `hosewright run`,
`check`, reports and the live page, as JSON, with findings, and in the descriptions of plans. All of them:
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// The cautions that apply to a garden: id, subject, text and source.
    ///
    /// ```hw
    /// let barrel = open_tank(4.ft) >> hose(50.ft, (5/8).inch) >> emitter("drip", 1.gph, 15.psi);
    /// barrel.cautions()["id"][0]   // => stored-water
    /// ```
    #[rhai_fn(return_raw)]
    pub fn cautions(garden: Garden) -> Result<Table, Box<EvalAltResult>> {
        report::table(CautionSet::of(&garden)).map_err(raise)
    }
}
