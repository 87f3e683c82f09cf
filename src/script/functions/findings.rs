//! Findings as scripts see them: a list with text, counts and a table.
//!
//! `crate::findings` decides what is reported.

use crate::coverage::Coverage;
use crate::findings::{Level, of_coverage, of_run, of_zones};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::report::FindingList;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult, INT};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
Findings are problems that an experienced installer would report: danger, warning or note, each with place and values, why it
matters, what to do, and its source. The same finding about several parts of a kind is one finding with all their names.
`findings.count` is their number, `findings.dangers`, `findings.warnings` and `findings.notes` the number of each level,
`findings.accepted` the number of those that you have accepted, which count in no level. A result shows its findings in short.

```hw
let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(300.ft, (1/2).inch) >> head("spray", (1/8).inch).operating_range(30.psi, 60.psi);
line.run().findings().warnings   // => 2
line.accept("no-backflow-preventer", "our own well, no drinking water").run().findings().warnings   // => 1
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<FindingList>("findings");
    engine.register_get("count", |findings: &mut FindingList| findings.list().len() as INT);
    for (name, level) in [("dangers", Level::Danger), ("warnings", Level::Warning), ("notes", Level::Note)] {
        engine.register_get(name, move |findings: &mut FindingList| findings.count(level) as INT);
    }
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, findings: FindingList| -> Answer<String> {
            Ok(findings.in_words(look_of(&call)?))
        });
    }
    engine.register_get("accepted", |findings: &mut FindingList| findings.accepted() as INT);
    engine.register_global_module(exported_module!(functions).into());
    super::remedies::register(engine);
}

#[export_module]
mod functions {
    /// Problems and what to do about them: of a result, or of a garden's layout, without flow and with each
    /// zone open alone; of a coverage: overspray, heads out of their range.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch).operating_range(20.psi, 60.psi);
    /// line.run().findings().count   // => 0
    /// findings(line).dangers        // => 0
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).findings().table()["code"]   // => ["overspray"]
    /// ```
    pub fn findings(solution: Solution) -> FindingList {
        let found = of_run(&solution);
        FindingList::of(solution.garden, &found)
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_garden(garden: Garden) -> FindingList {
        let found = of_zones(&garden);
        FindingList::of(garden, &found)
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_rain(rain: Coverage) -> FindingList {
        FindingList::of_ground(&rain.accepted, &of_coverage(&rain))
    }

    /// The garden with a finding accepted, given its code and the reason. Findings of this garden, and of any garden made from it,
    /// then show it last, with the reason. A danger cannot be accepted.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// let own_well = line.accept("no-backflow-preventer", "our own well, no drinking water");
    /// own_well.run().findings().table()["accepted"]   // => ["our own well, no drinking water", ()]
    /// own_well.run().findings().warnings              // => 0
    /// line.accept("no-backflow", "our own well")      // => error: there is no finding with the code 'no-backflow'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn accept(garden: Garden, code: &str, reason: &str) -> Result<Garden, Box<EvalAltResult>> {
        crate::findings::accept(&garden, code, reason).map_err(raise)
    }

    /// Findings as a table: level, code, parts, what, what to do, and the reason if it is accepted.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.run().findings().table()["code"]   // => ["no-backflow-preventer", "cautions"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_findings(call: NativeCallContext, findings: FindingList) -> Result<Table, Box<EvalAltResult>> {
        findings.table(look_of(&call)?.system).map_err(raise)
    }
}
