//! `talk`: requests of another program, one JSON object a line, each answered by one JSON object in a line. Variables stay from one
//! request to the next.
//!
//! A request may have `reset` (true: forget all before), `set` (values of controls by name), `text` or `file` (what is evaluated), `get`
//! (names or expressions whose values are wanted) and `id`, which the answer repeats. An answer has `id`, `cells` (each statement that
//! shows something), `values` (of what `get` names), `error` (or null) and `cautions`. docs/programs.md explains them.

use super::answers::cells;
use super::choices::{Choices, session};
use super::settings::set_controls;
use super::status::Status;
use crate::report::json::cautions;
use crate::script::{Session, json};
use crate::told::Told;
use crate::visible::visible_json;
use serde_json::{Map, Value, json};
use std::io::{self, BufRead, Write};
use std::path::Path;

/// What a request may have.
const KEYS: &[&str] = &["id", "reset", "set", "text", "file", "get"];

/// Answers requests until the input ends.
pub fn talk(folder: &Path, choices: Choices) -> io::Result<Status> {
    let mut session = session(folder, choices);
    for line in io::stdin().lock().lines() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        let answer = answer(&mut session, &line);
        let mut out = io::stdout().lock();
        writeln!(out, "{}", visible_json(&answer.to_string()))?;
        out.flush()?;
    }
    Ok(Status::Fine)
}

/// The answer to a request; one that cannot be read has an error of the kind `request`.
fn answer(session: &mut Session, line: &str) -> Value {
    let request: Map<String, Value> = match serde_json::from_str(line) {
        Ok(request) => request,
        Err(error) => return refused(&Value::Null, &format!("a request is one JSON object in a line: {error}")),
    };
    let id = request.get("id").cloned().unwrap_or(Value::Null);
    match obey(session, &request) {
        Ok(mut answer) => {
            answer["id"] = id;
            answer
        }
        Err(error) => refused(&id, &error),
    }
}

fn refused(id: &Value, message: &str) -> Value {
    json!({ "id": id, "cells": [], "values": {}, "error": { "kind": "request", "message": message }, "cautions": null })
}

/// Does what a request says. Errors: a request that is none, before anything is done.
fn obey(session: &mut Session, request: &Map<String, Value>) -> Result<Value, String> {
    if let Some(key) = request.keys().find(|key| !KEYS.contains(&key.as_str())) {
        return Err(format!("'{key}' is unknown; a request has {}", KEYS.join(", ")));
    }
    let text_of = |key: &str| match request.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::String(text)) => Ok(Some(text.as_str())),
        Some(_) => Err(format!("'{key}' must be a string")),
    };
    let (text, file) = (text_of("text")?, text_of("file")?);
    let get = names(request.get("get"))?;
    let set = settings(request.get("set"))?;
    let source = match (text, file) {
        (Some(_), Some(_)) => return Err("give text or file, not both".into()),
        (Some(text), None) => Some(("request".to_string(), text.to_string())),
        (None, Some(file)) => {
            let read = session.context().folder.read_text(file);
            let read = read.map_err(|error| error.hint().map_or(error.to_string(), |hint| format!("{error}; {hint}")));
            Some((file.to_string(), read?))
        }
        (None, None) => None,
    };
    if request.get("reset").is_some_and(|reset| *reset == Value::Bool(true)) {
        *session = Session::with_context(session.context().clone());
        session.context().controls.forget();
    }
    set_controls(session.context(), &set)?;
    let (told, mut failed) = source.map_or((Vec::new(), None), |(name, source)| cells(session, &name, &source));
    let mut values = Map::new();
    for name in &get {
        if failed.is_some() {
            break;
        }
        let outcome = session.evaluate(name);
        let system = session.context().units();
        let value = outcome.cells.iter().rev().find_map(|cell| cell.value.as_ref());
        values.insert(name.clone(), value.map_or(Value::Null, |value| json::of(value, system)));
        failed = outcome.error().cloned();
    }
    let (unknown, known) = session.context().controls.unknown();
    let error = match (&failed, unknown.first()) {
        (None, Some(name)) => {
            json!({ "kind": "request", "message": format!("there is no control '{name}'; the controls are {}", known.join(", ")) })
        }
        (failed, _) => json!(failed),
    };
    Ok(
        json!({ "id": null, "cells": told, "values": values, "error": error, "cautions": cautions(session.context().take_cautions()) }),
    )
}

/// Names that are asked for. Errors: neither a string nor a list of strings.
fn names(get: Option<&Value>) -> Result<Vec<String>, String> {
    let wrong = || "'get' must be a string or a list of strings".to_string();
    match get {
        None | Some(Value::Null) => Ok(Vec::new()),
        Some(Value::String(name)) => Ok(vec![name.clone()]),
        Some(Value::Array(names)) => names.iter().map(|name| name.as_str().map(String::from).ok_or_else(wrong)).collect(),
        Some(_) => Err(wrong()),
    }
}

/// Values of controls as the command line takes them. Errors: no object of strings, numbers and true or false.
fn settings(set: Option<&Value>) -> Result<Vec<String>, String> {
    let wrong = || "'set' must be an object of strings, numbers and true or false".to_string();
    let one = |(name, value): (&String, &Value)| match value {
        Value::String(value) => Ok(format!("{name}={value}")),
        Value::Number(value) => Ok(format!("{name}={value}")),
        Value::Bool(value) => Ok(format!("{name}={value}")),
        _ => Err(wrong()),
    };
    match set {
        None | Some(Value::Null) => Ok(Vec::new()),
        Some(Value::Object(set)) => set.iter().map(one).collect(),
        Some(_) => Err(wrong()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;

    #[test]
    fn variables_stay_until_a_reset_and_a_wrong_request_changes_nothing() {
        let mut session = Session::new(Folder::new("."));
        let mut say = |line: &str| answer(&mut session, line);
        let first = say(r#"{"id": 7, "text": "let feed = 100.ft; feed;", "get": ["feed", "feed * 2"]}"#);
        assert_eq!((&first["id"], &first["error"]), (&json!(7), &Value::Null));
        assert_eq!(first["values"]["feed * 2"]["value"], json!(200.0));
        assert_eq!(first["cells"][0]["shown"], json!(["100 ft"]));
        for wrong in ["[]", "{", r#"{"txt": "1"}"#, r#"{"text": 1}"#, r#"{"reset": true, "get": 3}"#, r#"{"set": {"a": []}}"#] {
            assert_eq!(say(wrong)["error"]["kind"], json!("request"), "{wrong}");
        }
        assert_eq!(say(r#"{"get": "feed"}"#)["values"]["feed"]["unit"], json!("ft"));
        let failed = say(r#"{"text": "feed + 1.psi", "get": ["feed"]}"#);
        assert_eq!((failed["error"]["kind"].as_str(), &failed["values"]), (Some("value"), &json!({})));
        let set = r#"{"set": {"len": "150 ft"}, "text": "let l = slider(\"len\", 25.ft, 300.ft, 100.ft);", "get": "l"}"#;
        assert_eq!(say(set)["values"]["l"]["value"], json!(150.0));
        assert!(
            say(r#"{"set": {"width": 3}, "text": "1"}"#)["error"]["message"]
                .as_str()
                .is_some_and(|text| text.contains("'width'"))
        );
        assert_eq!(say(r#"{"reset": true, "get": "feed"}"#)["error"]["kind"], json!("name"));
    }
}
