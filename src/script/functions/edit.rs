//! Gardens edited: without parts, with parts put in, one zone alone; lists of names; what differs between two.
//!
//! The work is in `crate::garden`; the tables are made in `crate::report`.

use crate::garden::{Garden, Side};
use crate::hydraulics::Solution;
use crate::parts::{Part, Spec};
use crate::report::solution as report;
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, describe};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Registers these functions; they belong to the topic of gardens.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// A part or line as a line.
pub fn as_line(value: &Dynamic, word: &str) -> Answer<Garden> {
    if let Some(garden) = value.read_lock::<Garden>() {
        return Ok(garden.clone());
    }
    if let Some(part) = value.read_lock::<Part>() {
        return Ok(Garden::of(part.clone()));
    }
    let error = ScriptError::new(format!("{word} connects parts and lines, found {}", describe(value)));
    Err(error
        .with_hint(
            "give a part or a line, such as valve(\"beds\"), regulator({30.psi|2.bar}) or hose({40.ft, (1/2).inch|12.m, 13.mm})",
        )
        .into())
}

/// A garden that the script has made; it is judged by the thresholds of the session, and its cautions are noted. Every function that joins parts or changes a garden ends here.
pub fn made(call: &NativeCallContext, garden: Garden) -> Answer<Garden> {
    let context = context_of(call)?;
    let garden = garden.judged_by(&context.thresholds());
    context.made(&garden);
    Ok(garden)
}

fn borrowed(names: &[String]) -> Vec<&str> {
    names.iter().map(String::as_str).collect()
}

/// Names of the parts of a sort; with zones, those that one of them serves.
fn names_of(garden: &Garden, sort: impl Fn(&Spec) -> bool, zones: Option<&Dynamic>, word: &str) -> Answer<Array> {
    let open = match zones {
        Some(zones) => {
            let names = as_names(zones, word)?;
            Some(names.iter().map(|name| garden.valve(name).map_err(raise)).collect::<Answer<Vec<usize>>>()?)
        }
        None => None,
    };
    let zones_of = open.as_ref().map(|_| garden.zones_of_places());
    let serves = |place: &usize| match (&open, &zones_of) {
        (Some(open), Some(zones)) => zones[*place].iter().any(|valve| open.contains(valve)),
        _ => true,
    };
    Ok(garden.of_spec(sort).filter(serves).map(|place| garden.name(place).to_string().into()).collect())
}

#[export_module]
mod functions {
    /// The same garden without some parts: a name, a list of names, or a pattern with `*`. A part in line is bridged, so that the line continues
    /// past it; one side of a loop is taken out; a branch without any outlet left goes too. The other parts keep their names.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> filter(2.psi, 5.gpm).named("screen")
    ///     >> [ valve("beds") >> hose(40.ft, (1/2).inch) >> head("bed", (1/8).inch),
    ///          valve("berries") >> hose(60.ft, (5/8).inch) >> head("berry", (5/32).inch) ];
    /// plot.without("screen").run("berries").pressure("berry")   // => 41.4 psi
    /// plot.without("bed").names()                                // => ["supply", "feed", "screen", "berries", "hose2", "berry"]
    /// plot.without("be*")                                        // => error: without 'be*' no head or other outlet is left
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn without(call: NativeCallContext, garden: &mut Garden, names: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        let names = as_names(&names, "without")?;
        made(&call, garden.without(&borrowed(&names)).map_err(raise)?)
    }

    /// The same garden with a part or line put in directly downstream of the named part.
    ///
    /// ```hw
    /// let line = supply(70.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.insert_after("supply", regulator(45.psi)).run().pressure("spray")   // => 43.2 psi
    /// line.insert_after("spray", hose(20.ft, (1/2).inch) >> head("second", (1/8).inch)).names()   // => ["supply", "feed", "spray", "hose", "second"]
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn insert_after(
        call: NativeCallContext,
        garden: &mut Garden,
        name: &str,
        line: Dynamic,
    ) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.insert(Side::After, name, &as_line(&line, "insert_after")?).map_err(raise)?)
    }

    /// The same garden with a part or line put in directly upstream of the named part; upstream of a head it feeds that head alone.
    ///
    /// ```hw
    /// let line = supply(70.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// line.insert_before("spray", regulator(30.psi)).run().pressure("spray")   // => 30 psi
    /// line.insert_before("supply", filter(2.psi, 5.gpm))   // => error: a supply starts a line; no part can be connected upstream of 'supply'
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn insert_before(
        call: NativeCallContext,
        garden: &mut Garden,
        name: &str,
        line: Dynamic,
    ) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.insert(Side::Before, name, &as_line(&line, "insert_before")?).map_err(raise)?)
    }

    /// The same garden with a second hose or line in parallel to the named part, from where it begins to where it ends.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(100.ft, (1/2).inch).named("feed") >> head("gun", (3/16).inch);
    /// line.run().pressure("gun")                                                                   // => 24.3 psi
    /// line.parallel("feed", hose(100.ft, (5/8).inch).named("second feed")).run().pressure("gun")   // => 43.2 psi
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn parallel(
        call: NativeCallContext,
        garden: &mut Garden,
        name: &str,
        line: Dynamic,
    ) -> Result<Garden, Box<EvalAltResult>> {
        made(&call, garden.parallel(name, &as_line(&line, "parallel")?).map_err(raise)?)
    }

    /// One zone of a garden, or several in a list, as a garden: the supply, the way from there and what else runs with it; other zones
    /// are left out. To remove a zone instead, write `without(g.heads("beds"))`.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed")
    ///     >> [ valve("beds") >> hose(40.ft, (1/2).inch) >> head("bed", (1/8).inch),
    ///          valve("berries") >> hose(60.ft, (5/8).inch) >> head("berry", (5/32).inch) ];
    /// plot.zone("berries").names()                          // => ["supply", "feed", "berries", "hose2", "berry"]
    /// plot.without(plot.heads("berries")).names()           // => ["supply", "feed", "beds", "hose", "bed"]
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn zone(call: NativeCallContext, garden: &mut Garden, zones: Dynamic) -> Result<Garden, Box<EvalAltResult>> {
        let zones = as_names(&zones, "zone")?;
        made(&call, garden.zone(&borrowed(&zones)).map_err(raise)?)
    }

    /// The names of all heads, emitters and soaker hoses of a garden, or of those of a zone. Of a result: a table of them with zone,
    /// pressure, flow and operating range; `state` is in range, below range, above range or no flow.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch)
    ///     >> [ valve("beds") >> head("bed", (1/8).inch).operating_range(30.psi, 60.psi), valve("berries") >> head("berry", (5/32).inch) ];
    /// plot.heads()            // => ["bed", "berry"]
    /// plot.heads("berries")   // => ["berry"]
    /// plot.run("beds").heads().first_rows(1)   // => head   zone   pressure    flow   range_low   range_high   state
    /// // =>                  (psi)   (gpm)       (psi)        (psi)
    /// // => ------------------------------------------------------------------
    /// // => bed    beds       47.9    3.10          30           60   in range
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn heads(garden: &mut Garden) -> Result<Array, Box<EvalAltResult>> {
        names_of(garden, |spec| spec.traits.waters, None, "heads")
    }

    #[rhai_fn(name = "heads", pure, return_raw)]
    pub fn heads_of(garden: &mut Garden, zones: Dynamic) -> Result<Array, Box<EvalAltResult>> {
        names_of(garden, |spec| spec.traits.waters, Some(&zones), "heads")
    }

    #[rhai_fn(name = "heads", pure, return_raw)]
    pub fn heads_in_result(solution: &mut Solution) -> Result<Table, Box<EvalAltResult>> {
        report::heads(solution).map_err(raise)
    }

    /// The names of all zone valves of a garden.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> [valve("beds") >> head("bed", (1/8).inch), valve("berries") >> head("berry", (5/32).inch)];
    /// plot.valves()   // => ["beds", "berries"]
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn valves(garden: &mut Garden) -> Result<Array, Box<EvalAltResult>> {
        names_of(garden, |spec| spec.traits.opens, None, "valves")
    }

    /// The names of all hoses and pipes of a garden, or of those of a zone.
    ///
    /// ```hw
    /// let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> valve("beds") >> hose(20.ft, (1/2).inch) >> head("bed", (1/8).inch);
    /// plot.hoses()         // => ["feed", "hose"]
    /// plot.hoses("beds")   // => ["hose"]
    /// ```
    #[rhai_fn(pure, return_raw)]
    pub fn hoses(garden: &mut Garden) -> Result<Array, Box<EvalAltResult>> {
        names_of(garden, Spec::is_line, None, "hoses")
    }

    #[rhai_fn(name = "hoses", pure, return_raw)]
    pub fn hoses_of(garden: &mut Garden, zones: Dynamic) -> Result<Array, Box<EvalAltResult>> {
        names_of(garden, Spec::is_line, Some(&zones), "hoses")
    }

    /// A table of what differs between two gardens: parts added, removed, replaced or moved, and parameters before and after.
    ///
    /// ```hw
    /// let old = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
    /// let new = old.with("feed.length", 80.ft).insert_after("supply", regulator(45.psi));
    /// changes(old, new)   // => part        change    parameter   before   after
    /// // => ----------------------------------------------------------------
    /// // => feed        changed   length      50 ft    80 ft
    /// // => regulator   added     -           -        regulator, set 45 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn changes(call: NativeCallContext, before: Garden, after: Garden) -> Result<Table, Box<EvalAltResult>> {
        report::changes(&before, &after, look_of(&call)?.system).map_err(raise)
    }
}
