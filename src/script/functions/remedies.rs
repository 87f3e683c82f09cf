//! The function `remedies`: the cheapest change that cures the findings of a garden.
//!
//! The search is in `crate::study::remedy`, the table in `crate::report`.

use crate::garden::Garden;
use crate::parts::Part;
use crate::quantity::Dimension;
use crate::report::remedies as report;
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, as_quantity, describe, only_keys};
use crate::study::remedy::{Asked, Remedies, remedies as find};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, Map};

/// The remedies of a garden.
#[derive(Clone, Debug)]
pub struct Found {
    garden: Garden,
    remedies: Remedies,
}

/// Registers these functions; they belong to the topic of findings.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Found>("remedies");
    engine.register_get("table", |found: &mut Found| -> Answer<Table> {
        report::table(&found.garden, &found.remedies).map_err(raise)
    });
    engine.register_get("words", |found: &mut Found| report::in_words(&found.remedies));
    engine.register_get("tried", |found: &mut Found| found.remedies.tried as rhai::INT);
    engine.register_get("garden", |found: &mut Found| -> Answer<Garden> {
        let first = found.remedies.remedies.first();
        first.map(|first| first.garden.clone()).ok_or_else(|| {
            ScriptError::new("there is no remedy").with_hint("give more parts to choose from, or a larger budget").into()
        })
    });
    engine.register_fn("to_debug", |call: NativeCallContext, found: Found| -> Answer<String> {
        let words = report::in_words(&found.remedies);
        if found.remedies.remedies.is_empty() {
            return Ok(words);
        }
        let table = report::table(&found.garden, &found.remedies).map_err(raise)?;
        let shown = table.select(&["remedy", "cost", "cures", "before", "after"]).map_err(raise)?;
        Ok(format!("{}\n\n{words}", shown.show_on(&look_of(&call)?.sheet())))
    });
    engine.register_fn("to_string", |found: Found| report::in_words(&found.remedies));
    engine.register_global_module(exported_module!(functions).into());
}

/// Remedies of which the cautions are noted.
const SHOWN: usize = 20;

const KEYS: &[&str] = &["budget", "keep", "zones"];

fn search(call: &NativeCallContext, garden: &Garden, stock: &Array, options: &Map) -> Answer<Found> {
    const EXAMPLE: &str = "write #{ budget: 80.USD, keep: [\"feed\"], zones: [\"beds\", \"berries\"] }";
    only_keys(options, KEYS, |other| format!("remedies: there is no '{other}'"), EXAMPLE)?;
    let part = |value: &Dynamic| {
        value.read_lock::<Part>().map(|part| part.clone()).ok_or_else(|| {
            ScriptError::new(format!("remedies: the stock is a list of parts, found {}", describe(value)))
                .with_hint("write [hose({100.ft, (3/4).inch|30.m, 19.mm}).price(60.USD)]")
        })
    };
    let stock: Vec<Part> = stock.iter().map(part).collect::<Result<_, _>>()?;
    let budget = match options.get("budget") {
        None => None,
        Some(value) => Some(as_quantity(value).filter(|budget| is_money(budget.dimension)).ok_or_else(|| {
            ScriptError::new(format!("remedies: budget must be an amount of money, found {}", describe(value))).with_hint(EXAMPLE)
        })?),
    };
    let keep = options.get("keep").map_or(Ok(Vec::new()), |keep| as_names(keep, "remedies: keep"))?;
    let zones = match options.get("zones") {
        None => None,
        // Each item is a set of zones that are open together.
        Some(value) => match value.read_lock::<Array>() {
            Some(sets) => Some(sets.iter().map(|set| as_names(set, "remedies: zones")).collect::<Answer<Vec<_>>>()?),
            None => Some(vec![as_names(value, "remedies: zones")?]),
        },
    };
    let asked = Asked { budget, keep, zones, threads: context_of(call)?.threads() };
    let remedies = find(garden, &stock, &asked).map_err(raise)?;
    // Whoever reads of a pump on the main reads what to mind with it.
    let context = context_of(call)?;
    remedies.remedies.iter().take(SHOWN).for_each(|remedy| context.made(&remedy.garden));
    Ok(Found { garden: garden.clone(), remedies })
}

fn is_money(dimension: Dimension) -> bool {
    Dimension { currency: crate::quantity::Currency::NONE, ..dimension } == crate::quantity::dim::MONEY
}

#[export_module]
mod functions {
    /// What is the cheapest cure? Tries every single change and every pair of changes with parts of a stock, each with a price, and lists those that
    /// remove findings, the cheapest cure first: other hoses in the place of old ones or parallel to them, other heads, one or all of a zone, pumps,
    /// regulators, check and relief valves where they make sense, with a valve in the stock zones split into two (their common way in hoses of
    /// the stock), and settings of regulators and of the pressure switch. The options are a `budget`, names in `keep` of parts that stay, and
    /// `zones` with the sets of zones to judge; by default each zone by itself. `.table` has for each remedy the findings that it removes and
    /// brings, pressures before and after, and in `script` the line that makes the change; `.garden` is the garden with the first remedy.
    ///
    /// ```hw
    /// let garden = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(200.ft, (1/2).inch).named("feed") >> head("berry", (5/32).inch).operating_range(30.psi, 60.psi);
    /// let stock = [hose(100.ft, (3/4).inch).named("wide hose").price(45.USD), hose(100.ft, (5/8).inch).named("plain hose").price(25.USD)];
    /// let found = garden.remedies(stock, #{ budget: 60.USD });
    /// found.words   // => to cure: below-range berry
    /// // => the cheapest cure is hose 'plain hose' in the place of feed, for $50.00
    /// // => garden.replace("feed", stock[1]).with("feed.length", garden["feed.length"])
    /// found.table.select(["cost", "cures", "before", "after"])   // => cost   cures   before   after
    /// // =>  ($)            (psi)   (psi)
    /// // => -----------------------------
    /// // =>   50   yes       24.2    36.4
    /// // =>   50   yes       24.2    40.1
    /// found.garden.run().pressure("berry")   // => 36.4 psi
    /// ```
    #[rhai_fn(name = "remedies", return_raw)]
    pub fn remedies_within(
        call: NativeCallContext,
        garden: Garden,
        stock: Array,
        options: Map,
    ) -> Result<Found, Box<EvalAltResult>> {
        search(&call, &garden, &stock, &options)
    }

    #[rhai_fn(name = "remedies", return_raw)]
    pub fn remedies(call: NativeCallContext, garden: Garden, stock: Array) -> Result<Found, Box<EvalAltResult>> {
        search(&call, &garden, &stock, &Map::new())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::script::Session;

    /// Every line that is told makes the garden that was judged.
    #[test]
    fn each_line_of_script_runs_and_makes_the_same_garden() {
        let stock = "let stock = [valve(\"spare\").price(20.USD), hose(100.ft, (3/4).inch).price(45.USD), head(\"small\", (3/32).inch)\
            .operating_range(30.psi, 60.psi).price(6.USD), regulator(40.psi).price(15.USD)];";
        let tap = "let ranged = |name, nozzle| head(name, nozzle).operating_range(30.psi, 45.psi);
            let garden = supply(70.psi).measured(40.psi, 8.gpm) >> backflow_preventer() >> hose(60.ft, (5/8).inch).named(\"feed\")";
        let gardens = [
            ">> valve(\"beds\") >> [hose(20.ft, (1/2).inch) >> ranged.call(\"a\", (1/8).inch),
                hose(30.ft, (1/2).inch) >> ranged.call(\"b\", (5/32).inch) >> hose(9.ft, (1/2).inch) >> ranged.call(\"c\", (1/8).inch)]",
            ">> [valve(\"lawn\") >> regulator(25.psi).named(\"keeper\") >> ranged.call(\"d\", (1/8).inch), valve(\"beds\")
                >> hose(50.ft, (1/2).inch).named(\"way\") >> uphill(3.ft) >> [ranged.call(\"a\", (1/8).inch),
                hose(30.ft, (1/2).inch) >> [ranged.call(\"b\", (5/32).inch), hose(5.ft, (1/2).inch) >> ranged.call(\"c\", (1/8).inch)]]]",
        ];
        for rest in gardens {
            let mut session = Session::new(Folder::new("."));
            let outcome = session.evaluate(&format!("{stock} {tap} {rest}; garden.remedies(stock)"));
            assert_eq!(outcome.error(), None);
            let value = outcome.cells.last().and_then(|cell| cell.value.clone()).expect("a value");
            let found = value.read_lock::<Found>().expect("remedies").remedies.remedies.clone();
            for word in ["split:", "in the place of"] {
                assert!(found.iter().any(|remedy| remedy.words.contains(word)), "{word}");
            }
            for remedy in &found {
                let outcome = session.evaluate(&remedy.script);
                assert_eq!(outcome.error(), None, "{}", remedy.script);
                let value = outcome.cells.last().and_then(|cell| cell.value.clone()).expect("a value");
                assert_eq!(*value.read_lock::<Garden>().expect("a garden"), remedy.garden, "{}", remedy.script);
            }
        }
    }
}
