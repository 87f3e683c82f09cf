//! Variables and limits of a script, the judgment of its closure, and the best setting as a value.
//!
//! The search, and what is to be said of what it found, is in `crate::study`.

use crate::limits;
use crate::nearest::did_you_mean;
use crate::parts::Part;
use crate::quantity::UnitSystem;
use crate::report::setting as report;
use crate::script::language::calling::context_of;
use crate::script::language::calls::{Caller, ends_the_script};
use crate::script::language::error::{Answer, ScriptError, raise_as};
use crate::script::language::values::{as_quantity, describe, value_of};
use crate::study::{Distribution, Goal, Limit, OptimumError, Said, Setting, Turn, Unjudged};
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Map, NativeCallContext};

/// The best setting found.
#[derive(Clone, Debug)]
pub struct Best {
    variables: Vec<(String, Dynamic)>,
    pub found: Setting,
}

/// A limit from values of a script. Errors: values that are no quantities, or of two dimensions.
pub fn limit(value: Option<&Dynamic>, low: Option<&Dynamic>, high: Option<&Dynamic>) -> Answer<Limit> {
    let word = if low.is_some() { "at_least" } else { "at_most" };
    let read = |value: Option<&Dynamic>| {
        let no_quantity = |value| ScriptError::new(format!("{word} needs a number or quantity, found {}", describe(value)));
        value.map(|value| as_quantity(value).ok_or_else(|| no_quantity(value))).transpose()
    };
    Limit::new(read(value)?, read(low)?, read(high)?).map_err(raise_as(word))
}

impl Best {
    /// The setting of a variable. Errors: an unknown name.
    pub fn variable(&self, name: &str) -> Answer<Dynamic> {
        let found = self.variables.iter().find(|(variable, _)| variable == name);
        found.map(|(_, value)| value.clone()).ok_or_else(|| {
            let known: Vec<&str> = self.variables.iter().map(|(variable, _)| variable.as_str()).collect();
            let hint =
                did_you_mean(name, known.iter().copied()).unwrap_or_else(|| format!("the variables are {}", known.join(", ")));
            ScriptError::new(format!("best: there is no variable '{name}'")).with_hint(hint).into()
        })
    }

    /// The setting for people.
    pub fn in_words(&self, system: UnitSystem) -> String {
        let variables = self.variables.iter().map(|(name, value)| (name.as_str(), setting_in_words(value, system)));
        report::in_words(&self.found, variables.collect(), system)
    }
}

/// A variable's setting in words.
fn setting_in_words(value: &Dynamic, system: UnitSystem) -> String {
    if let Some(part) = value.read_lock::<Part>() {
        return part.title();
    }
    as_quantity(value).map_or_else(|| value.to_string(), |quantity| quantity.show(system))
}

/// A variable as a script gives it: a range, or a list to choose from.
struct Variable {
    turn: Turn,
    list: Array,
}

impl Variable {
    /// Errors: neither a range with ends nor a list with values.
    fn of(name: &str, value: &Dynamic) -> Answer<Variable> {
        if let Some(range) = value.read_lock::<Distribution>().filter(|range| range.ends().is_some()) {
            return Ok(Variable { turn: Turn::Range(range.clone()), list: Array::new() });
        }
        if let Some(list) = value.read_lock::<Array>().filter(|list| !list.is_empty()) {
            return Ok(Variable { turn: Turn::Choice { n: list.len() }, list: list.clone() });
        }
        let error = ScriptError::new(format!("best: the variable '{name}' cannot be {}", describe(value)));
        Err(error.with_hint("a variable is between(low, high) or a list to choose from").into())
    }

    fn value_at(&self, x: f64) -> Answer<Dynamic> {
        match &self.turn {
            Turn::Range(range) => value_of(range.quantity(x)),
            Turn::Choice { .. } => Ok(self.list.get(x as usize).cloned().unwrap_or(Dynamic::UNIT)),
        }
    }
}

/// Finds the best setting of the variables.
///
/// Errors: variables that are neither ranges nor lists, a closure that gives no goal, no setting that can be judged.
pub fn best_setting(call: &NativeCallContext, variables: &Map, closure: &FnPtr) -> Answer<Best> {
    let names: Vec<String> = variables.keys().map(ToString::to_string).collect();
    let variables: Vec<Variable> = variables.iter().map(|(name, value)| Variable::of(name, value)).collect::<Answer<_>>()?;
    let values =
        |at: &[f64]| -> Answer<Vec<Dynamic>> { variables.iter().zip(at).map(|(variable, x)| variable.value_at(*x)).collect() };
    let mut caller = Caller::of_call(call, closure)?;
    let mut ask = |at: &[f64]| -> Answer<Said> {
        let map: Map = names.iter().map(|name| name.as_str().into()).zip(values(at)?).collect();
        let mut called = caller.call(vec![Dynamic::from_map(map)]);
        match (called.answers.pop(), called.error) {
            (Some(answer), None) => said(&answer),
            (_, Some(error)) => Err(error),
            (None, None) => Err(ScriptError::new("best: the closure gave no value").into()),
        }
    };
    let judge = |at: &[f64]| {
        limits::go_on().map_err(|ended| Unjudged::All(ended.into()))?;
        ask(at).map_err(|error| if ends_the_script(&error) { Unjudged::All(error) } else { Unjudged::This(error) })
    };
    let turns: Vec<(String, Turn)> = names.iter().cloned().zip(variables.iter().map(|variable| variable.turn.clone())).collect();
    let found = crate::study::best_setting(&turns, context_of(call)?.units(), judge).map_err(failed)?;
    Ok(Best { variables: names.iter().cloned().zip(values(&found.at)?).collect(), found })
}

fn failed(error: OptimumError<Box<EvalAltResult>>) -> Box<EvalAltResult> {
    match error {
        OptimumError::Failed(error) => error,
        OptimumError::NoKnobs => ScriptError::new("best: there is no variable")
            .with_hint("give a map such as #{ length: between(50.ft, 300.ft) }")
            .into(),
        other @ OptimumError::TooManyKnobs { .. } => ScriptError::new(format!("best: {other}")).about("variables").into(),
        other => ScriptError::new(format!("best: {other}")).into(),
    }
}

/// What the closure's map says.
fn said(answer: &Dynamic) -> Answer<Said> {
    const EXAMPLE: &str = "let the closure end with #{ lowest: price, limits: #{ berry: at_least(pressure, 30.psi) } }";
    let wrong = |what: String| -> Box<EvalAltResult> { ScriptError::new(what).with_hint(EXAMPLE).into() };
    let Some(map) = answer.read_lock::<Map>() else {
        return Err(wrong(format!("best: expected a map from the closure, found {}", describe(answer))));
    };
    let (goal, value) = match (map.get("lowest"), map.get("highest")) {
        (Some(value), None) => (Goal::Lowest, value),
        (None, Some(value)) => (Goal::Highest, value),
        _ => return Err(wrong("best: the closure must give either 'lowest' or 'highest'".into())),
    };
    let quantity = as_quantity(value)
        .ok_or_else(|| wrong(format!("best: '{}' must be a number, found {}", goal.word(), describe(value))))?;
    let mut limits = Vec::new();
    if let Some(list) = map.get("limits") {
        let Some(list) = list.read_lock::<Map>() else {
            return Err(wrong(format!("best: limits must be a map, found {}", describe(list))));
        };
        for (name, limit) in list.iter() {
            let found = limit.read_lock::<Limit>().map(|limit| *limit).filter(|limit| limit.value.is_some());
            let found = found.ok_or_else(|| wrong(format!("best: the limit '{name}' needs a value and a limit")))?;
            limits.push((name.to_string(), found));
        }
    }
    Ok(Said { goal, value: quantity, limits })
}
