//! Answers as one JSON object, for other programs; docs/tour.md lists the keys.

use super::choices::{Choices, session};
use super::input::study_text;
use super::settings::{all_are_taken, set_controls};
use super::status::{Status, status_of};
use crate::report::json::cautions;
use crate::script::{Diagnostic, Session, json};
use crate::visible::visible_json;
use serde_json::{Value, json};
use std::io::{self, Write};
use std::num::NonZeroUsize;
use std::path::Path;

/// Evaluates expressions: their values, the texts shown, and the error or null.
pub fn eval_json(expressions: &[String], choices: Choices) -> io::Result<Status> {
    let mut session = session(".", choices);
    let (mut values, mut shown, mut failed) = (Vec::new(), Vec::new(), None);
    for text in expressions {
        let outcome = session.evaluate(text);
        let system = session.context().units();
        values.extend(outcome.cells.iter().filter_map(|cell| cell.value.as_ref()).map(|value| json::of(value, system)));
        shown.extend(outcome.shown().into_iter().map(String::from));
        failed = outcome.error().cloned();
        if failed.is_some() {
            break;
        }
    }
    let cautions = cautions(session.context().take_cautions());
    let answer = json!({ "values": values, "shown": shown, "error": failed, "cautions": cautions });
    writeln!(io::stdout(), "{}", visible_json(&answer.to_string()))?;
    Ok(failed.map_or(Status::Fine, |error| status_of(&error)))
}

/// Runs a study: each statement that shows something, with its lines, texts and value, and the error or null.
pub fn run_json(file: &Path, choices: Choices, set: &[String], threads: Option<NonZeroUsize>) -> io::Result<Status> {
    let Some((name, source)) = study_text(file)? else { return Ok(Status::FileProblem) };
    let mut session = session(file.parent().unwrap_or(Path::new(".")), choices);
    session.context().set_threads(threads.map(NonZeroUsize::get));
    drop(set_controls(session.context(), set)); // They were looked at before.
    let (cells, failed) = cells(&mut session, &name, &source);
    let answer = json!({ "cells": cells, "error": failed, "cautions": cautions(session.context().take_cautions()) });
    writeln!(io::stdout(), "{}", visible_json(&answer.to_string()))?;
    let status = failed.map_or(Status::Fine, |error| status_of(&error));
    Ok(if all_are_taken(session.context()) { status } else { status.graver(Status::Usage) })
}

/// Evaluates a text: each statement that shows something, with its lines, texts and value, and the error.
pub fn cells(session: &mut Session, name: &str, source: &str) -> (Vec<Value>, Option<Diagnostic>) {
    let context = session.context().clone();
    let (mut cells, mut failed) = (Vec::new(), None);
    session.evaluate_each(name, source, &mut |cell| {
        let value = cell.value.as_ref().map(|value| json::of(value, context.units()));
        if value.is_some() || !cell.shown.is_empty() {
            cells.push(json!({ "lines": [cell.lines.0, cell.lines.1], "shown": cell.shown, "value": value }));
        }
        failed = failed.take().or(cell.error);
    });
    (cells, failed)
}
