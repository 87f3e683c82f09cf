//! The function `compare`: options side by side.
//!
//! The conclusion is drawn in `crate::study`.

use crate::garden::Garden;
use crate::hydraulics::run;
use crate::parts::Part;
use crate::quantity::UnitSystem;
use crate::report::solution as report;
use crate::script::functions::tables::{as_written, map_row, value_cell};
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::calls::call_each;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::key_order::Written;
use crate::script::language::values::{as_names, as_quantity, describe, only_keys};
use crate::study::{Compared, Limit, Need, Wanted, compared};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, Map};

/// Registers the functions of this file; they belong to the topic of studies.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Compared>("a comparison");
    engine.register_get("table", |compared: &mut Compared| compared.table.clone());
    engine.register_get("words", |compared: &mut Compared| -> Array {
        compared.words.iter().map(|sentence| sentence.clone().into()).collect()
    });
    engine.register_fn("to_debug", |call: NativeCallContext, compared: Compared| -> Answer<String> {
        let lines: Vec<String> = compared.words.iter().map(|sentence| format!("- {sentence}")).collect();
        Ok(format!("{}\n\n{}", compared.table.show_on(&look_of(&call)?.sheet()), lines.join("\n")))
    });
    engine.register_fn("to_string", |compared: Compared| compared.words.join(". "));
    engine.register_global_module(exported_module!(functions).into());
}

/// How an option of a comparison is called.
fn option_name(option: &Dynamic, index: usize, system: UnitSystem) -> String {
    if let Some(part) = option.read_lock::<Part>()
        && let Some(name) = part.name()
    {
        return name.to_string();
    }
    if let Ok(text) = option.as_immutable_string_ref() {
        return text.to_string();
    }
    if let Some(quantity) = as_quantity(option) {
        return quantity.show(system);
    }
    if let Some(name) = option.read_lock::<Map>().and_then(|map| map.get("name").map(ToString::to_string)) {
        return name;
    }
    format!("option {}", index + 1)
}

/// The options of a list with what each is called.
fn listed(call: &NativeCallContext, options: Array) -> Answer<Vec<(String, Dynamic)>> {
    let system = context_of(call)?.units();
    Ok(options.into_iter().enumerate().map(|(index, option)| (option_name(&option, index, system), option)).collect())
}

/// The options of a map, in the order in which the script writes them.
fn named(call: &NativeCallContext, options: Map) -> Answer<Vec<(String, Dynamic)>> {
    as_written(call, options)
}

fn side_by_side(call: &NativeCallContext, options: Vec<(String, Dynamic)>, closure: &FnPtr) -> Answer<Table> {
    let answers = call_each(call, closure, options.iter().map(|(_, option)| Ok(option.clone())))?;
    let written = Written::in_closure(closure, call.global_runtime_state());
    let mut rows = Vec::with_capacity(options.len());
    for ((name, _), answer) in options.iter().zip(answers) {
        let mut row = vec![("option".to_string(), value_cell(&name.clone().into(), "compare", "option")?)];
        row.extend(map_row(&answer, "compare", &written)?.into_iter().filter(|(name, _)| name != "option"));
        rows.push(row);
    }
    if rows.is_empty() {
        return Err(no_options().into());
    }
    Table::from_rows(rows).map_err(raise)
}

fn no_options() -> ScriptError {
    ScriptError::new("compare: the list of options is empty").with_hint("give at least one option")
}

/// The gardens of a map with the same zones on.
fn gardens_in(call: &NativeCallContext, options: Map, zones: &[String]) -> Answer<Table> {
    if options.is_empty() {
        return Err(no_options().into());
    }
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    let mut results = Vec::with_capacity(options.len());
    for (name, option) in named(call, options)? {
        let garden = option.read_lock::<Garden>().ok_or_else(|| {
            let error = ScriptError::new(format!("compare: '{name}' must be a garden, found {}", describe(&option)));
            error.with_hint("without a closure all options are gardens, as in compare(#{ now: g, longer: h }, \"beds\")")
        })?;
        results.push((name, run(&garden, &zones).map_err(raise)?));
    }
    report::side_by_side(&results).map_err(raise)
}

/// What the last argument may say.
const KEYS: &[&str] = &["needs", "cost", "gain"];

fn wanted(map: &Map) -> Answer<Wanted> {
    const EXAMPLE: &str = "write #{ needs: #{ berry: at_least(30.psi) }, cost: \"price\", gain: \"berry\" }";
    only_keys(map, KEYS, |other| format!("compare: there is no '{other}'"), EXAMPLE)?;
    let name = |key: &str| -> Answer<Option<String>> {
        let Some(value) = map.get(key) else { return Ok(None) };
        let text = value.as_immutable_string_ref().map(|text| text.to_string()).map_err(|_| {
            ScriptError::new(format!("compare: '{key}' names a column, found {}", describe(value))).with_hint(EXAMPLE)
        });
        Ok(Some(text?))
    };
    let mut needs = Vec::new();
    if let Some(value) = map.get("needs") {
        let list = value.read_lock::<Map>().ok_or_else(|| {
            ScriptError::new(format!("compare: needs must be a map, found {}", describe(value))).with_hint(EXAMPLE)
        })?;
        for (column, value) in list.iter() {
            needs.push(need(column, value)?);
        }
    }
    Ok(Wanted { needs, cost: name("cost")?, gain: name("gain")? })
}

fn need(column: &str, value: &Dynamic) -> Answer<Need> {
    if let Some(limit) = value.read_lock::<Limit>() {
        return Ok(Need { column: column.into(), low: limit.low, high: limit.high });
    }
    let pair = value.read_lock::<Array>().and_then(|list| match list.as_slice() {
        [low, high] => Some((as_quantity(low)?, as_quantity(high)?)),
        _ => None,
    });
    let (low, high) = pair.ok_or_else(|| {
        let error = ScriptError::new(format!("compare: the need of '{column}' cannot be {}", describe(value)));
        error.with_hint("a need is at_least(30.psi), at_most(60.psi), or both as [30.psi, 60.psi]")
    })?;
    Ok(Need { column: column.into(), low: Some(low), high: Some(high) })
}

#[export_module]
mod functions {
    /// Compares options: a table with one row per option, from the map that a closure gives for it. The name of an option is that of the part, the
    /// `name` in its map, or its number; of options in a map it is their name there. Gardens in a map need no closure: with the zones to run, or
    /// none, the columns are price, flow and the pressure at each head. With a map of `needs`, `cost` and `gain` as last argument, the table also has the
    /// differences to the first option, whether each need is met and the cost of the gain, followed by a conclusion;
    /// `.table` and `.words` give the two.
    ///
    /// ```hw
    /// let heads = [head("small", (3/32).inch), head("large", (1/8).inch)];
    /// compare(heads, |h| #{ flow: h.flow_at(40.psi) })   // => option    flow
    /// // =>          (gpm)
    /// // => --------------
    /// // => small     1.59
    /// // => large     2.83
    /// let plot = supply(50.psi) >> hose(100.ft, (5/8).inch).named("feed").price(30.USD) >> valve("beds") >> head("bed", (5/32).inch);
    /// compare(#{ now: plot, "short feed": plot.with(#{ "feed.length": 50.ft, "feed.price": 20.USD }) }, "beds")   // => option       price    flow     bed
    /// // =>                ($)   (gpm)   (psi)
    /// // => ----------------------------------
    /// // => now             30    4.54    42.1
    /// // => short feed      20    4.72    45.6
    /// compare(heads, |h| #{ flow: h.flow_at(40.psi) }, #{ needs: #{ flow: at_least(2.gpm) } }).words[0]   // => only large meets every need
    /// ```
    #[rhai_fn(return_raw)]
    pub fn compare(call: NativeCallContext, options: Array, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        side_by_side(&call, listed(&call, options)?, &closure)
    }

    #[rhai_fn(name = "compare", return_raw)]
    pub fn compare_map(call: NativeCallContext, options: Map, closure: FnPtr) -> Result<Table, Box<EvalAltResult>> {
        side_by_side(&call, named(&call, options)?, &closure)
    }

    #[rhai_fn(name = "compare", return_raw)]
    pub fn compare_gardens(call: NativeCallContext, options: Map, zones: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        gardens_in(&call, options, &as_names(&zones, "compare")?)
    }

    #[rhai_fn(name = "compare", return_raw)]
    pub fn compare_gardens_open(call: NativeCallContext, options: Map) -> Result<Table, Box<EvalAltResult>> {
        gardens_in(&call, options, &[])
    }

    #[rhai_fn(name = "compare", return_raw)]
    pub fn compare_map_with(
        call: NativeCallContext,
        options: Map,
        closure: FnPtr,
        wanted: Map,
    ) -> Result<Compared, Box<EvalAltResult>> {
        let wanted = super::wanted(&wanted)?;
        let table = side_by_side(&call, named(&call, options)?, &closure)?;
        compared(&table, &wanted, context_of(&call)?.units()).map_err(raise)
    }

    #[rhai_fn(name = "compare", return_raw)]
    pub fn compare_with(
        call: NativeCallContext,
        options: Array,
        closure: FnPtr,
        wanted: Map,
    ) -> Result<Compared, Box<EvalAltResult>> {
        let wanted = super::wanted(&wanted)?;
        let table = side_by_side(&call, listed(&call, options)?, &closure)?;
        compared(&table, &wanted, context_of(&call)?.units()).map_err(raise)
    }
}
