//! The function `zones_for`: which heads run on which valve.
//!
//! The division is in `crate::study::zoning`, table and words in `crate::report`.

use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::{Quantity, dim};
use crate::report::zones as report;
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{describe, expect_number, expect_quantity, only_keys};
use crate::study::zoning::{Asked, Zones, zones_for as divide};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, Map};

/// Registers these functions; they belong to the topic of gardens.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Zones>("zones");
    engine.register_get("table", |found: &mut Zones| -> Answer<Table> { report::table(found).map_err(raise) });
    engine.register_get("words", |found: &mut Zones| report::in_words(found));
    engine.register_get("garden", |found: &mut Zones| found.garden.clone());
    engine.register_get("len", |found: &mut Zones| found.zones.len() as INT);
    engine.register_get("solved", |found: &mut Zones| found.solved as INT);
    engine.register_get("zones", |found: &mut Zones| -> Array {
        let names = |heads: &[usize]| heads.iter().map(|&head| found.heads[head].clone().into()).collect::<Array>();
        found.zones.iter().map(|zone| names(&zone.heads).into()).collect()
    });
    engine.register_fn("to_debug", |call: NativeCallContext, found: Zones| -> Answer<String> {
        report::text(&found, look_of(&call)?).map_err(raise)
    });
    engine.register_fn("to_string", |found: Zones| report::in_words(&found));
    engine.register_global_module(exported_module!(functions).into());
}

const KEYS: &[&str] = &["lateral", "valve", "manifold", "velocity", "reserve", "variation", "matched", "most_heads"];

const EXAMPLE: &str = "write #{ lateral: pipe({100.ft, (3/4).inch|30.m, 20.mm}), reserve: {3.psi|0.2.bar} }";

/// A part, or a line of a single part.
fn part_of(value: &Dynamic) -> Option<Part> {
    if let Some(part) = value.read_lock::<Part>() {
        return Some(part.clone());
    }
    let garden = value.read_lock::<Garden>()?;
    match garden.parts() {
        [only] => Some((**only).clone()),
        _ => None,
    }
}

fn wrong(what: String) -> ScriptError {
    ScriptError::new(format!("zones_for: {what}")).with_hint(EXAMPLE)
}

fn asked(call: &NativeCallContext, options: &Map) -> Answer<Asked> {
    only_keys(options, KEYS, |other| format!("zones_for: there is no '{other}'"), EXAMPLE)?;
    let part = |key: &str| {
        let given = options.get(key);
        given
            .map(|value| part_of(value).ok_or_else(|| wrong(format!("{key} must be a part, found {}", describe(value)))))
            .transpose()
    };
    let quantity = |key: &str, dimension| {
        let given = options.get(key);
        given.map(|value| expect_quantity(value, dimension, &format!("zones_for: {key}"))).transpose()
    };
    let above = |key: &str, si: f64| {
        if si >= 0.0 { Ok(si) } else { Err(wrong(format!("{key} must not be negative, found {}", Quantity::number(si)))) }
    };
    let percent = |key: &str| -> Answer<Option<f64>> {
        let Some(value) = options.get(key) else { return Ok(None) };
        Ok(Some(above(key, expect_number(value, &format!("zones_for: {key}"))?)? / 100.0))
    };
    let lateral =
        part("lateral")?.ok_or_else(|| wrong("'lateral' is missing, the pipe or hose from which laterals are cut".into()))?;
    let mut asked = Asked::of(lateral);
    if let Some(valve) = part("valve")? {
        asked.valve = valve;
    }
    if let Some(value) = options.get("manifold") {
        let at = value.read_lock::<Array>().map(|at| at.clone()).filter(|at| at.len() == 2);
        let at = at.ok_or_else(|| {
            let error = ScriptError::new(format!("zones_for: manifold must be a place, found {}", describe(value)));
            error.with_hint("write manifold: [{10.ft, 0.ft|3.m, 0.m}]")
        })?;
        let meters = |value: &Dynamic| expect_quantity(value, dim::LENGTH, "zones_for: manifold");
        asked.manifold_m = (meters(&at[0])?, meters(&at[1])?);
    }
    asked.velocity_m_per_s = quantity("velocity", dim::SPEED)?;
    if let Some(reserve_pa) = quantity("reserve", dim::PRESSURE)? {
        asked.reserve_pa = above("reserve", reserve_pa)?;
    }
    asked.variation = percent("variation")?.unwrap_or(asked.variation);
    asked.matched = percent("matched")?.unwrap_or(asked.matched);
    if let Some(value) = options.get("most_heads") {
        let most = value.as_int().ok().filter(|most| *most > 0);
        asked.most_heads =
            Some(most.ok_or_else(|| wrong(format!("most_heads must be a whole number above zero, found {}", describe(value))))?
                as usize);
    }
    asked.threads = context_of(call)?.threads();
    Ok(asked)
}

fn divided(call: &NativeCallContext, source: &Garden, heads: &Array, options: &Map) -> Answer<Zones> {
    let asked = asked(call, options)?;
    let heads: Vec<Part> = heads
        .iter()
        .map(|value| part_of(value).ok_or_else(|| wrong(format!("the heads are a list of parts, found {}", describe(value)))))
        .collect::<Result<_, _>>()?;
    let found = divide(source, &heads, &asked).map_err(raise)?;
    context_of(call)?.made(&found.garden);
    Ok(found)
}

#[export_module]
mod functions {
    /// How many zones, and which heads on which valve? Divides a list of heads into the fewest zones that a source supplies, with the shortest
    /// laterals. Each zone is solved with its valve and its laterals: every head in its operating range with a `reserve` (default 3 psi), velocities below
    /// `velocity` (default 5 ft/s in pipe, 7 ft/s in hose), pressures within `variation` percent of their mean (default 20), 20 psi left at the tap. Heads of several kinds, or with
    /// application rates more than `matched` percent apart (default 15), do not share a valve. `lateral` is the coil from which laterals are cut, straight
    /// from head to head and to the `manifold` (default `[0.ft, 0.ft]`); `valve` is that of each zone, and `most_heads` limits the heads on it.
    /// `.garden` is the answer as a garden, `.zones` lists the names of the heads, and `.table` says for each zone what stands against more heads.
    ///
    /// ```hw
    /// let source = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch).named("feed");
    /// let corner = |name, x, y| head(name, (7/64).inch).operating_range(25.psi, 60.psi).throws(25.ft, 40.psi).arc(90).at(x, y);
    /// let heads = [corner.call("a", 0.ft, 0.ft), corner.call("b", 25.ft, 0.ft), corner.call("c", 50.ft, 0.ft),
    ///              corner.call("d", 0.ft, 25.ft), corner.call("e", 25.ft, 25.ft), corner.call("f", 50.ft, 25.ft)];
    /// let found = zones_for(source, heads, #{ lateral: pipe(100.ft, (3/4).inch).price(40.USD), valve: valve("zone").price(22.USD) });
    /// found.zones   // => [["a", "d", "e", "f"], ["b", "c"]]
    /// found.words   // => 2 zones for 6 heads: at most 4 heads at once
    /// // => what limits zone 1: with b, f gets 22.5 psi, below 28 psi
    /// // => all divisions were compared
    /// found.garden.run("zone 1").pressure("f")   // => 28.6 psi
    /// zones_for(source, heads, #{ lateral: valve("x") })   // => error: a lateral is a hose or a pipe, found valve 'x'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn zones_for(call: NativeCallContext, source: Garden, heads: Array, options: Map) -> Result<Zones, Box<EvalAltResult>> {
        divided(&call, &source, &heads, &options)
    }

    #[rhai_fn(name = "zones_for", return_raw)]
    pub fn zones_for_part(
        call: NativeCallContext,
        source: Part,
        heads: Array,
        options: Map,
    ) -> Result<Zones, Box<EvalAltResult>> {
        divided(&call, &Garden::of(source), &heads, &options)
    }
}
