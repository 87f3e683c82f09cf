//! The functions for pages: named results, and controls on the live page.
//!
//! In the shell and in a plain run a control has its start value; `controls.rs` keeps how controls are set.

use crate::moment::Moment;
use crate::quantity::{Quantity, UnitSystem, close};
use crate::script::language::calling::{context_of, look_of};
use crate::script::language::controls::{Control, ControlKind, Given, RangeForm, yes_or_no};
use crate::script::language::error::{Answer, ScriptError};
use crate::script::language::values::{as_quantity, describe, value_of};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`hosewright run FILE --report` writes a study as a page next to it, `hosewright live FILE` shows it in a browser and reruns it
whenever the file is saved. There a control can be set: `slider`, `number_field`, `choice` and `checkbox`. Everywhere else a control has
its start value, or what `hosewright run FILE --set "feed length=150 ft"` gives it. The live page can write the values that are set into the study.

```hw
let length = slider("feed length", 25.ft, 300.ft, 100.ft);
let diameter = choice("feed diameter", [(1/2).inch, (5/8).inch, (3/4).inch], (5/8).inch);
length     // => 100 ft
diameter   // => 5/8 in
```
"#;

/// Most options of a choice: beyond that nobody finds one in a list.
const MOST_OPTIONS: usize = 200;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<NamedResult>("a named result");
    engine
        .register_fn("to_debug", |call: NativeCallContext, named: NamedResult| -> Answer<String> {
            Ok(named.in_words(look_of(&call)?.system))
        })
        .register_fn("to_string", |named: NamedResult| named.in_words(Default::default()));
    engine.register_global_module(exported_module!(functions).into());
}

/// A result with the name that the study gives it.
#[derive(Clone, Debug)]
pub struct NamedResult {
    /// What it is.
    pub name: String,
    value: NamedValue,
}

#[derive(Clone, Debug)]
enum NamedValue {
    Quantity(Quantity),
    Text(String),
}

impl NamedResult {
    /// The value, in words.
    pub fn value_in_words(&self, system: UnitSystem) -> String {
        match &self.value {
            NamedValue::Quantity(quantity) => quantity.show(system),
            NamedValue::Text(text) => text.clone(),
        }
    }

    fn in_words(&self, system: UnitSystem) -> String {
        format!("{}: {}", self.name, self.value_in_words(system))
    }
}

/// A value between two ends: both and the start are checked.
fn range(word: &str, form: RangeForm, low: &Dynamic, high: &Dynamic, start: &Dynamic) -> Answer<ControlKind> {
    let one = |value: &Dynamic, which: &str| {
        as_quantity(value).ok_or_else(|| {
            ScriptError::new(format!("{word}: the {which} must be a number or quantity, found {}", describe(value)))
        })
    };
    let (low, high, start) = (one(low, "low end")?, one(high, "high end")?, one(start, "start")?);
    for (other, which) in [(high, "high end"), (start, "start")] {
        if other.dimension != low.dimension {
            let what = format!("{word}: the low end is {}, the {which} is {}", low.described(), other.described());
            return Err(ScriptError::new(what).with_hint("give all three in units of one kind").into());
        }
    }
    let form_of_call = || format!("write {word}(name, low, high, start)");
    if low.si >= high.si {
        let what = format!("{word}: the low end {low} is not below the high end {high}");
        return Err(ScriptError::new(what).with_hint(form_of_call()).into());
    }
    if !(low.si..=high.si).contains(&start.si) {
        let what = format!("{word}: the start {start} is not between {low} and {high}");
        return Err(ScriptError::new(what).with_hint(form_of_call()).into());
    }
    Ok(ControlKind::Range { form, low, high, start, value: start })
}

/// The start that the command line gave in place of that of the study. Errors: what is no quantity.
fn given_start(word: &str, start: &Dynamic, given: &Given) -> Answer<Dynamic> {
    let Some(quantity) = given.quantity else {
        let what = format!("{word}: '{}' is no value", given.text);
        return Err(ScriptError::new(what).with_hint("give a number, or a quantity such as 150 ft").into());
    };
    // A number alone has the unit of the start.
    let unit = as_quantity(start).and_then(|start| start.shown_unit(UnitSystem::AsWritten));
    let unit = unit.filter(|_| quantity.dimension.is_number());
    Ok(Dynamic::from(unit.map_or(quantity, |unit| Quantity::written(quantity.si, unit))))
}

fn met_range(call: &NativeCallContext, word: &str, form: RangeForm, name: &str, ends: [Dynamic; 3]) -> Answer<Dynamic> {
    let [low, high, start] = ends;
    let controls = &context_of(call)?.controls;
    let mut kind = range(word, form, &low, &high, &start)?;
    if let Some(given) = controls.given(name) {
        kind = range(word, form, &low, &high, &given_start(word, &start, &given)?)?;
    }
    match controls.meet(Control { name: name.into(), kind }).kind {
        ControlKind::Range { value, .. } => value_of(value),
        _ => Ok(start),
    }
}

/// An option as people read it. Errors: what is neither a string nor a number or quantity.
fn label(option: &Dynamic) -> Answer<String> {
    if let Ok(text) = option.as_immutable_string_ref() {
        return Ok(text.to_string());
    }
    let shown = as_quantity(option).map(|quantity| quantity.show(UnitSystem::AsWritten));
    shown.ok_or_else(|| {
        let what = format!("choice: an option must be a string, a number or a quantity, found {}", describe(option));
        ScriptError::new(what).with_hint("write choice(name, [first, second], start)").into()
    })
}

/// The options as people read them. Errors: fewer than two, too many, two that read alike.
fn labels(options: &Array) -> Answer<Vec<String>> {
    if !(2..=MOST_OPTIONS).contains(&options.len()) {
        let what = format!("choice: there must be 2 to {MOST_OPTIONS} options, found {}", options.len());
        return Err(ScriptError::new(what).with_hint("write choice(name, [first, second], start)").into());
    }
    let labels = options.iter().map(label).collect::<Answer<Vec<String>>>()?;
    if let Some(twice) = labels.iter().enumerate().find_map(|(at, label)| labels[..at].contains(label).then_some(label)) {
        let what = format!("choice: two options are '{twice}'");
        return Err(ScriptError::new(what).with_hint("give each option once").into());
    }
    Ok(labels)
}

/// Which option somebody names. Errors: none of them.
fn option_named(labels: &[String], named: &str) -> Answer<usize> {
    labels.iter().position(|label| label == named).ok_or_else(|| {
        let what = format!("choice: '{named}' is none of the options");
        ScriptError::new(what).with_hint(format!("the options are {}", labels.join(", "))).into()
    })
}

/// A flag as people write it. Errors: neither yes nor no.
fn flag(text: &str) -> Answer<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "true" | "on" | "1" => Ok(true),
        "no" | "false" | "off" | "0" => Ok(false),
        _ => Err(ScriptError::new(format!("checkbox: '{text}' is neither yes nor no")).into()),
    }
}

#[export_module]
mod functions {
    /// A result with its name: the page of the study begins with all of these, each on a card of its own. The value is a number, a quantity,
    /// a string, a date, or true or false.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> hose(100.ft, (5/8).inch) >> head("berry", (5/32).inch);
    /// answer("Pressure at the berries", plot.run().pressure("berry"))   // => Pressure at the berries: 49.3 psi
    /// answer("Berries", [1, 2])   // => error: answer: a value must be a number, a quantity, a string, a date, or true or false, found a list
    /// ```
    #[rhai_fn(return_raw)]
    pub fn answer(name: &str, value: Dynamic) -> Result<NamedResult, Box<EvalAltResult>> {
        let text = || {
            let date = value.read_lock::<Moment>().map(|date| date.to_string());
            date.or_else(|| value.as_immutable_string_ref().ok().map(|text| text.to_string()))
                .or_else(|| value.as_bool().ok().map(|flag| yes_or_no(flag).to_string()))
        };
        let value = match as_quantity(&value) {
            Some(quantity) => NamedValue::Quantity(quantity),
            None => NamedValue::Text(text().ok_or_else(|| {
                let what = "answer: a value must be a number, a quantity, a string, a date, or true or false";
                ScriptError::new(format!("{what}, found {}", describe(&value)))
            })?),
        };
        Ok(NamedResult { name: name.into(), value })
    }

    /// A slider on the live page, for a value between two ends; elsewhere it is its start value, the last argument.
    ///
    /// ```hw
    /// slider("feed length", 25.ft, 300.ft, 100.ft)   // => 100 ft
    /// slider("heads", 1, 8, 4)                       // => 4
    /// slider("feed length", 25.ft, 300.ft, 10.psi)   // => error: slider: the low end is 25 ft (a length), the start is 10 psi (a pressure)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn slider(
        call: NativeCallContext,
        name: &str,
        low: Dynamic,
        high: Dynamic,
        start: Dynamic,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        met_range(&call, "slider", RangeForm::Slider, name, [low, high, start])
    }

    /// A field on the live page for an exact value between two ends; elsewhere it is its start value, the last argument.
    ///
    /// ```hw
    /// number_field("price of the pump", 0.USD, 900.USD, 180.USD)   // => $180.00
    /// number_field("heads", 9, 1, 4)   // => error: number_field: the low end 9 is not below the high end 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn number_field(
        call: NativeCallContext,
        name: &str,
        low: Dynamic,
        high: Dynamic,
        start: Dynamic,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        met_range(&call, "number_field", RangeForm::Field, name, [low, high, start])
    }

    /// A choice of one option on the live page; elsewhere it is its start value, the last argument. Options are strings, numbers or quantities.
    ///
    /// ```hw
    /// choice("hose", [(1/2).inch, (5/8).inch], (5/8).inch)   // => 5/8 in
    /// choice("zone", ["beds", "berries"], "berries")         // => berries
    /// choice("zone", ["beds", "berries"], "lawn")            // => error: choice: 'lawn' is none of the options
    /// ```
    #[rhai_fn(return_raw)]
    pub fn choice(call: NativeCallContext, name: &str, options: Array, start: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let labels = labels(&options)?;
        let controls = &context_of(&call)?.controls;
        let named = match controls.given(name) {
            None => label(&start)?,
            Some(given) => match given.quantity {
                // The option that is written another way, as 0.625 in for 5/8 in.
                Some(quantity) => {
                    let same = |option: &Dynamic| {
                        as_quantity(option)
                            .is_some_and(|option| option.dimension == quantity.dimension && close(option.si, quantity.si))
                    };
                    options.iter().position(same).map_or(given.text, |at| labels[at].clone())
                }
                None => given.text,
            },
        };
        let start = option_named(&labels, &named)?;
        let kind = ControlKind::Choice { options: labels, start, value: start };
        let chosen = controls.meet(Control { name: name.into(), kind }).setting() as usize;
        Ok(options.get(chosen).cloned().unwrap_or(Dynamic::UNIT))
    }

    /// A checkbox on the live page, true or false; elsewhere it is its start value, the last argument.
    ///
    /// ```hw
    /// checkbox("with the booster", true)   // => true
    /// ```
    #[rhai_fn(return_raw)]
    pub fn checkbox(call: NativeCallContext, name: &str, start: bool) -> Result<Dynamic, Box<EvalAltResult>> {
        let controls = &context_of(&call)?.controls;
        let start = controls.given(name).map_or(Ok(start), |given| flag(&given.text))?;
        let kind = ControlKind::Check { start, value: start };
        Ok((controls.meet(Control { name: name.into(), kind }).setting() == 1.0).into())
    }
}
