//! Findings as scripts see them: a list with text, counts and a table.
//!
//! `crate::findings` decides what is reported.

use crate::coverage::{CatchCans, Coverage, Depth};
use crate::findings::{Level, limits, of_cans, of_coverage, of_depth, of_run, of_zones};
use crate::garden::{Accepted, Garden};
use crate::hydraulics::Solution;
use crate::nearest::did_you_mean;
use crate::report::{FindingList, findings as report};
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, describe, expect_quantity};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult, INT, Map};

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

/// A garden, judged by the thresholds of the session.
pub fn judged(call: &NativeCallContext, garden: &Garden) -> Answer<Garden> {
    Ok(garden.judged_by(&context_of(call)?.thresholds()))
}

fn set_thresholds(context: &Context, asked: &Map) -> Answer<()> {
    let mut thresholds = (*context.thresholds()).clone();
    for (name, value) in asked {
        let Some(known) = limits::ALL.iter().find(|known| known.name == name.as_str()) else {
            let hint = did_you_mean(name, limits::ALL.iter().map(|known| known.name));
            let error = ScriptError::new(format!("judgment has no threshold '{name}'"));
            return Err(error
                .with_hint(hint.unwrap_or_else(|| "judgment() lists all of them".into()))
                .about("thresholds")
                .into());
        };
        let what = format!("judgment: {name}");
        let si = expect_quantity(value, known.dimension, &what)?;
        if known.usual > 0.0 && si <= 0.0 {
            let found = as_quantity(value).map_or_else(|| describe(value), |quantity| quantity.to_string());
            let error = ScriptError::new(format!("{what} must be above zero, found {found}"));
            return Err(error.with_hint(format!("the usual value is {}", report::usual(known).show(context.units()))).into());
        }
        thresholds.insert(known.name, si);
        context.note(report::changed(known, as_quantity(value).unwrap_or(report::usual(known)), context.units()));
    }
    context.set_thresholds(thresholds.into());
    Ok(())
}

#[export_module]
mod functions {
    /// Problems and what to do about them: of a result, or of a garden's layout, without flow and with each
    /// zone open alone; of a coverage or depths: overspray, uneven water, wind, heads out of their range; of a catch-can test.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch).operating_range(20.psi, 60.psi);
    /// line.run().findings().count   // => 0
    /// findings(line).dangers        // => 0
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).findings().table()["code"]   // => ["overspray"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn findings(call: NativeCallContext, solution: Solution) -> Result<FindingList, Box<EvalAltResult>> {
        let solution = Solution { garden: judged(&call, &solution.garden)?, ..solution };
        let found = of_run(&solution);
        Ok(FindingList::of(solution.garden, &found))
    }

    #[rhai_fn(name = "findings", return_raw)]
    pub fn findings_of_garden(call: NativeCallContext, garden: Garden) -> Result<FindingList, Box<EvalAltResult>> {
        let garden = judged(&call, &garden)?;
        let found = of_zones(&garden);
        Ok(FindingList::of(garden, &found))
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_rain(rain: Coverage) -> FindingList {
        FindingList::of_ground(&rain.accepted, &of_coverage(&rain))
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_depths(found: Depth) -> FindingList {
        FindingList::of_ground(&found.accepted, &of_depth(&found))
    }

    #[rhai_fn(name = "findings")]
    pub fn findings_of_cans(cans: CatchCans) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_cans(&cans))
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

    /// Sets thresholds of findings for the rest of the session or study; without them, the table of all thresholds with their usual
    /// values, what is judged by each, and its source. What is changed is printed, and so stands in the report of a study,
    /// and the source of each finding that such a threshold decides says what was set and what is usual.
    ///
    /// The house: `house_pressure`, `low_static_pressure`, `high_static_pressure`, `bucket_test`, `bucket_tests_apart`, `meter_flow`,
    /// `preventer_loss`, `hose_breaker_height`. Pumps: `low_suction_cutoff`, `lowest_inlet`, `npsh_margin`, `shut_off_margin`,
    /// `gauge_margin`, `relief_margin`, `precharge_low`, `starts_per_hour`, `most_starts_per_hour`, `starts_per_day`, `shortest_run`.
    /// Lines: `hose_velocity`, `pipe_velocity`, `excessive_velocity`, `hose_friction`, `hose_rating`, `pipe_rating`, `hose_left`,
    /// `timer_rating`. Zones: `near_range`, `drip_pressure`, `drip_mesh`, `zone_variation`, `regulator_flow`, `drainage_height`,
    /// `fill_times`, `weak_line`. Coverage: `overspray`, `least_du`, `blown_off`, `ring`, `head_to_head`, `unmatched`.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> double_check() >> pipe(50.ft, "3/4 in sch 40") >> head("spray", (5/32).inch);
    /// line.run().findings().count             // => 0
    /// judgment(#{ house_pressure: 45.psi });
    /// line.run().findings().table()["code"]   // => ["low-tap-pressure", "cautions"]
    /// judgment()["set"][0]                   // => 45 psi
    /// judgment(#{ house_presure: 25.psi })   // => error: judgment has no threshold 'house_presure'
    /// judgment(#{ zone_variation: -1 })      // => error: judgment: zone_variation must be above zero, found -1
    /// ```
    #[rhai_fn(name = "judgment", return_raw)]
    pub fn judgment_of(call: NativeCallContext, thresholds: Map) -> Result<(), Box<EvalAltResult>> {
        set_thresholds(&*context_of(&call)?, &thresholds)
    }

    #[rhai_fn(name = "judgment", return_raw)]
    pub fn judgment(call: NativeCallContext) -> Result<Table, Box<EvalAltResult>> {
        report::thresholds(&context_of(&call)?.thresholds()).map_err(raise)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_help_on_judgment_names_every_threshold() {
        let own = include_str!("findings.rs");
        for threshold in limits::ALL {
            assert!(own.contains(&format!("`{}`", threshold.name)), "{}", threshold.name);
        }
    }
}
