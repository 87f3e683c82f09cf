//! Words of the engine that make large values of small ones, done here within the limits and stoppable.
//!
//! The engine measures a value when it is made already. These functions do what the engine documents.

use super::error::Answer;
use super::sizes::{MAX_LIST_ITEMS, MAX_TEXT_BYTES};
use crate::limits;
use crate::limits::Steps;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, ImmutableString, Map, NativeCallContext, Position};

/// Registers these functions in place of the engine's own.
pub fn register(engine: &mut Engine) {
    engine
        .register_fn("replace", |text: &mut ImmutableString, old: &str, new: &str| replace(text, old, new))
        .register_fn("replace", |text: &mut ImmutableString, old: &str, new: char| replace(text, old, &new.to_string()))
        .register_fn("replace", |text: &mut ImmutableString, old: char, new: &str| replace(text, &old.to_string(), new))
        .register_fn("replace", |text: &mut ImmutableString, old: char, new: char| {
            replace(text, &old.to_string(), &new.to_string())
        });
    engine
        .register_fn("to_chars", |text: &str| list(text.chars()))
        .register_fn("split", |text: &mut ImmutableString| list(text.split_whitespace()))
        .register_fn("split", |text: &mut ImmutableString, between: &str| list(text.split(between)))
        .register_fn("split", |text: &mut ImmutableString, between: char| list(text.split(between)))
        .register_fn("split", |text: &mut ImmutableString, between: &str, n: INT| list(text.splitn(pieces(n), between)))
        .register_fn("split", |text: &mut ImmutableString, between: char, n: INT| list(text.splitn(pieces(n), between)))
        .register_fn("split_rev", |text: &mut ImmutableString, between: &str| list(text.rsplit(between)))
        .register_fn("split_rev", |text: &mut ImmutableString, between: char| list(text.rsplit(between)))
        .register_fn("split_rev", |text: &mut ImmutableString, between: &str, n: INT| list(text.rsplitn(pieces(n), between)))
        .register_fn("split_rev", |text: &mut ImmutableString, between: char, n: INT| list(text.rsplitn(pieces(n), between)));
    for word in ["print", "debug", "to_string", "to_debug"] {
        engine.register_fn(word, show_list).register_fn(word, show_map);
    }
}

/// At least one piece is given whatever is asked for.
fn pieces(n: INT) -> usize {
    usize::try_from(n).unwrap_or(0).max(1)
}

fn too_large(what: &str) -> Box<EvalAltResult> {
    EvalAltResult::ErrorDataTooLarge(what.into(), Position::NONE).into()
}

/// Errors: the text would be longer than a text may be.
fn replace(text: &mut ImmutableString, old: &str, new: &str) -> Answer<()> {
    if new.len() > old.len() {
        let more = text.matches(old).count().saturating_mul(new.len() - old.len());
        if text.len().saturating_add(more) > MAX_TEXT_BYTES {
            return Err(too_large("string"));
        }
    }
    *text = text.replace(old, new).into();
    Ok(())
}

/// Errors: more items than a list may have; a stop.
fn list<T: Into<Dynamic>>(items: impl Iterator<Item = T>) -> Answer<Array> {
    let mut list = Array::new();
    let mut steps = Steps::default();
    for item in items {
        steps.step()?;
        if list.len() == MAX_LIST_ITEMS {
            return Err(too_large("array"));
        }
        list.push(item.into());
    }
    Ok(list)
}

/// Adds how a value in a list or a map shows. Errors: a text that is too long; a stop.
fn add_shown(shown: &mut String, call: &NativeCallContext, value: &mut Dynamic) -> Answer<()> {
    limits::go_on()?;
    let text = call.call_native_fn_raw("to_debug", true, &mut [value])?;
    match text.as_immutable_string_ref() {
        Ok(text) => shown.push_str(text.as_str()),
        Err(_) => shown.push_str(value.type_name()),
    }
    if shown.len() > MAX_TEXT_BYTES { Err(too_large("string")) } else { Ok(()) }
}

fn show_list(call: NativeCallContext, items: &mut Array) -> Answer<ImmutableString> {
    let mut shown = String::from("[");
    for (place, item) in items.iter_mut().enumerate() {
        shown.push_str(if place > 0 { ", " } else { "" });
        add_shown(&mut shown, &call, item)?;
    }
    Ok((shown + "]").into())
}

fn show_map(call: NativeCallContext, map: &mut Map) -> Answer<ImmutableString> {
    let mut shown = String::from("#{");
    for (place, (name, value)) in map.iter_mut().enumerate() {
        shown.push_str(if place > 0 { ", " } else { "" });
        shown.push_str(&format!("{name:?}: "));
        add_shown(&mut shown, &call, value)?;
    }
    Ok((shown + "}").into())
}
