//! The word `best`: knobs and limits of a script, and the setting that was found.
//!
//! The search is in `crate::study`.

use crate::limits;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, UnitSystem};
use crate::script::language::calling::context_of;
use crate::script::language::calls::{Caller, ends_the_script};
use crate::script::language::error::{Answer, ScriptError};
use crate::script::language::values::{as_quantity, describe, value_of};
use crate::study::{Distribution, Knob, OptimumError, Worth, optimum};
use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Map, NativeCallContext};

/// A value and what it must be.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    pub value: Option<Quantity>,
    pub low: Option<Quantity>,
    pub high: Option<Quantity>,
}

/// The best setting found.
#[derive(Clone, Debug)]
pub struct Best {
    /// `highest` or `lowest`.
    goal: &'static str,
    knobs: Vec<(String, Dynamic)>,
    pub value: Quantity,
    limits: Vec<(String, Limit)>,
    /// What stands on a limit, at an end, or cannot be kept.
    pub notes: Vec<String>,
    pub tried: usize,
}

/// Parts of a limit within which a value stands on it.
const ON_LIMIT: f64 = 1e-4;
/// Parts of a range within which a knob stands at its end.
const AT_END: f64 = 1e-6;

impl Limit {
    /// A limit from script values. Errors: values that are no quantities, or of two dimensions.
    pub fn new(value: Option<&Dynamic>, low: Option<&Dynamic>, high: Option<&Dynamic>) -> Answer<Limit> {
        let word = if low.is_some() { "at_least" } else { "at_most" };
        let read = |value: Option<&Dynamic>| -> Answer<Option<Quantity>> {
            let Some(value) = value else { return Ok(None) };
            let quantity = as_quantity(value)
                .ok_or_else(|| ScriptError::new(format!("{word} needs a number or quantity, found {}", describe(value))))?;
            Ok(Some(quantity))
        };
        let limit = Limit { value: read(value)?, low: read(low)?, high: read(high)? };
        if let (Some(value), Some(bound)) = (limit.value, limit.low.or(limit.high))
            && value.dimension != bound.dimension
        {
            let what = format!("{word}: {} and {} do not go together", value.described(), bound.described());
            return Err(ScriptError::new(what).into());
        }
        Ok(limit)
    }

    /// Such as `44 psi, at least 30 psi`.
    pub fn in_words(&self, system: UnitSystem) -> String {
        let value = self.value.map(|value| value.show(system));
        let parts = [value, Some(self.rule(system))];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    fn rule(&self, system: UnitSystem) -> String {
        let low = self.low.map(|low| format!("at least {}", low.show(system)));
        let high = self.high.map(|high| format!("at most {}", high.show(system)));
        [low, high].into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }

    /// By how much the value breaks the limit, in parts of the limit; below zero where there is room.
    fn broken(&self) -> f64 {
        let Some(value) = self.value else { return f64::INFINITY };
        let scale = |bound: f64| if bound == 0.0 { value.si.abs().max(f64::MIN_POSITIVE) } else { bound.abs() };
        let low = self.low.map_or(f64::NEG_INFINITY, |low| (low.si - value.si) / scale(low.si));
        let high = self.high.map_or(f64::NEG_INFINITY, |high| (value.si - high.si) / scale(high.si));
        low.max(high)
    }
}

impl Best {
    /// The setting of a knob. Errors: an unknown name.
    pub fn knob(&self, name: &str) -> Answer<Dynamic> {
        let found = self.knobs.iter().find(|(knob, _)| knob == name);
        found.map(|(_, value)| value.clone()).ok_or_else(|| {
            let known: Vec<&str> = self.knobs.iter().map(|(knob, _)| knob.as_str()).collect();
            let hint = did_you_mean(name, known.iter().copied()).unwrap_or_else(|| format!("the knobs are {}", known.join(", ")));
            ScriptError::new(format!("best: there is no knob '{name}'")).with_hint(hint).into()
        })
    }

    /// The setting for people.
    pub fn in_words(&self, system: UnitSystem) -> String {
        let knobs = self.knobs.iter().map(|(name, value)| (name, setting(value, system)));
        let limits = self.limits.iter().map(|(name, limit)| (name, limit.in_words(system)));
        let lines: Vec<(&String, String)> = knobs.chain(limits).collect();
        let width = lines.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
        let mut text = format!("{}: {}", self.goal, self.value.show(system));
        for (name, line) in lines {
            text += &format!("\n  {name:width$}   {line}");
        }
        for note in &self.notes {
            text += &format!("\n{note}");
        }
        text += &format!("\n{} settings were tried", crate::quantity::with_commas(self.tried));
        text
    }
}

/// A knob's setting in words.
fn setting(value: &Dynamic, system: UnitSystem) -> String {
    if let Some(part) = value.read_lock::<crate::parts::Part>() {
        return part.title();
    }
    as_quantity(value).map_or_else(|| value.to_string(), |quantity| quantity.show_size(system))
}

/// What a script says may be turned.
enum Turn {
    Range(Distribution),
    List(Array),
}

/// What the closure said of a setting.
struct Said {
    goal: &'static str,
    value: Quantity,
    limits: Vec<(String, Limit)>,
}

/// Finds the best setting of the knobs.
///
/// Errors: knobs that are neither ranges nor lists, a closure that gives no goal, no setting that can be judged.
pub fn best_setting(call: &NativeCallContext, knobs: &Map, closure: &FnPtr) -> Answer<Best> {
    let context = context_of(call)?;
    let turns: Vec<(String, Turn)> =
        knobs.iter().map(|(name, value)| Ok((name.to_string(), turn(name, value)?))).collect::<Answer<_>>()?;
    let kinds: Vec<Knob> = turns.iter().map(|(_, turn)| knob(turn)).collect();
    let mut caller = Caller::of_call(call, closure)?;
    let mut first_error: Option<Box<EvalAltResult>> = None;
    let mut ask = |at: &[f64]| -> Answer<Said> {
        let mut map = Map::new();
        for ((name, turn), x) in turns.iter().zip(at) {
            map.insert(name.as_str().into(), value_at(turn, *x)?);
        }
        let mut called = caller.call(vec![Dynamic::from_map(map)]);
        match (called.answers.pop(), called.error) {
            (Some(answer), None) => said(&answer),
            (_, Some(error)) => Err(error),
            (None, None) => Err(ScriptError::new("best: the closure gave nothing").into()),
        }
    };
    let found = optimum(&kinds, |at| -> Answer<Worth> {
        limits::go_on()?;
        match ask(at) {
            Ok(said) => {
                let sign = if said.goal == "lowest" { 1.0 } else { -1.0 };
                let broken = said.limits.iter().map(|(_, limit)| limit.broken().max(0.0)).sum();
                Ok(Worth { value: sign * said.value.si, broken })
            }
            Err(error) if ends_the_script(&error) => Err(error),
            Err(error) => {
                first_error.get_or_insert(error);
                Ok(Worth::NONE)
            }
        }
    });
    let found = found.map_err(|error| match error {
        OptimumError::Failed(error) => error,
        OptimumError::NothingJudged if first_error.is_some() => first_error.take().unwrap_or_else(|| ScriptError::new("").into()),
        OptimumError::NoKnobs => ScriptError::new("best: there is no knob to turn")
            .with_hint("give a map such as #{ length: between(50.ft, 300.ft) }")
            .into(),
        other @ OptimumError::TooManyKnobs { .. } => ScriptError::new(format!("best: {other}")).about("knobs").into(),
        other => ScriptError::new(format!("best: {other}")).into(),
    })?;
    let said = ask(&found.at)?;
    let system = context.units();
    let mut notes = Vec::new();
    for (name, limit) in &said.limits {
        let broken = limit.broken();
        if broken > ON_LIMIT {
            notes.push(format!("{name} cannot be kept: {}", limit.in_words(system)));
        } else if broken > -ON_LIMIT {
            notes.push(format!("{name} is on its limit, {}", limit.rule(system)));
        }
    }
    let mut settings = Vec::with_capacity(turns.len());
    for ((name, turn), x) in turns.iter().zip(&found.at) {
        if let Turn::Range(range) = turn
            && let Some((low, high)) = range.ends()
        {
            for (end, word) in [(low, "lower"), (high, "upper")] {
                if (x - end).abs() <= AT_END * (high - low).abs() {
                    notes.push(format!("{name} stands at its {word} end, {}", range.quantity(end).show(system)));
                    break;
                }
            }
        }
        settings.push((name.clone(), value_at(turn, *x)?));
    }
    Ok(Best { goal: said.goal, knobs: settings, value: said.value, limits: said.limits, notes, tried: found.evaluations })
}

fn turn(name: &str, value: &Dynamic) -> Answer<Turn> {
    if let Some(range) = value.read_lock::<Distribution>()
        && range.ends().is_some()
    {
        return Ok(Turn::Range(range.clone()));
    }
    if let Some(list) = value.read_lock::<Array>()
        && !list.is_empty()
    {
        return Ok(Turn::List(list.clone()));
    }
    let error = ScriptError::new(format!("best: the knob '{name}' cannot be {}", describe(value)));
    Err(error.with_hint("a knob is between(low, high) or a list to choose from").into())
}

fn knob(turn: &Turn) -> Knob {
    match turn {
        Turn::Range(range) => {
            let (low, high) = range.ends().unwrap_or((0.0, 0.0));
            Knob::Between { low, high }
        }
        Turn::List(list) => Knob::Choice { n: list.len() },
    }
}

fn value_at(turn: &Turn, x: f64) -> Answer<Dynamic> {
    match turn {
        Turn::Range(range) => value_of(range.quantity(x)),
        Turn::List(list) => Ok(list.get(x as usize).cloned().unwrap_or(Dynamic::UNIT)),
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
        (Some(value), None) => ("lowest", value),
        (None, Some(value)) => ("highest", value),
        _ => return Err(wrong("best: the closure must say either what shall be lowest or what shall be highest".into())),
    };
    let quantity =
        as_quantity(value).ok_or_else(|| wrong(format!("best: '{goal}' must be a number, found {}", describe(value))))?;
    let mut limits = Vec::new();
    if let Some(list) = map.get("limits") {
        let Some(list) = list.read_lock::<Map>() else {
            return Err(wrong(format!("best: limits must be a map, found {}", describe(list))));
        };
        for (name, limit) in list.iter() {
            let found = limit.read_lock::<Limit>().map(|limit| *limit).filter(|limit| limit.value.is_some());
            let found = found.ok_or_else(|| wrong(format!("best: the limit '{name}' needs a value and a bound")))?;
            limits.push((name.to_string(), found));
        }
    }
    Ok(Said { goal, value: quantity, limits })
}
