//! `check`: the mistakes of a study and what to mind in it, without writing a file.

use super::input::read_study;
use super::status::{Status, status_of};
use crate::findings::{Finding, of_zones};
use crate::notebook::workbook::Workbook;
use crate::quantity::UnitSystem;
use crate::report::json;
use crate::script::diagnostic::Colour;
use crate::script::present::Shown;
use crate::visible::{visible, visible_json};
use serde_json::json;
use std::io::{self, Write};
use std::path::Path;

/// How the answer is given.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Form {
    Text,
    Json,
}

/// Runs a study without writing anything and tells its mistakes and findings.
pub fn check(file: &Path, mut book: Workbook, form: Form) -> io::Result<Status> {
    let Some(source) = read_study(file) else { return Ok(Status::FileProblem) };
    book.renew(&source, &mut |_, _, _| {});
    let findings = findings(&book);
    let errors: Vec<_> = book.steps().iter().filter_map(|step| step.result.error.as_ref()).collect();
    let status = errors.iter().map(|error| status_of(error)).fold(Status::Fine, Status::graver);
    let mut out = io::stdout().lock();
    if form == Form::Json {
        let skipped: Vec<_> = book
            .steps()
            .iter()
            .filter_map(|step| step.result.skipped.as_ref().map(|reason| json!({ "line": step.lines.0, "reason": reason })))
            .collect();
        let findings: Vec<_> = findings.iter().map(as_json).collect();
        let answer = json!({ "errors": errors, "skipped": skipped, "findings": findings }).to_string();
        writeln!(out, "{}", visible_json(&answer))?;
        return Ok(status);
    }
    for error in &errors {
        writeln!(out, "{}\n", error.render(Colour::No))?;
    }
    for Found { line, units, finding } in &findings {
        let place = line.map_or(String::new(), |line| format!("line {line}: "));
        let (what, action) = (finding.what(*units), finding.action(*units));
        let told = format!("{place}{}: {what}\n  {action}", finding.level().word());
        writeln!(out, "{}", visible(&told))?;
    }
    let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let skipped = book.steps().iter().filter(|step| step.result.skipped.is_some()).count();
    writeln!(
        out,
        "{}: {}, {}, {} not run; no file was written",
        visible(book.name()),
        count(errors.len(), "mistake"),
        count(findings.len(), "finding"),
        count(skipped, "statement")
    )?;
    Ok(status)
}

/// A finding of a study.
struct Found {
    /// The line that shows it; none for a garden at rest.
    line: Option<usize>,
    /// The units in which it is put into words.
    units: UnitSystem,
    finding: Finding,
}

/// Findings that the study shows, with their line, and those of its gardens at rest; no finding stands twice.
fn findings(book: &Workbook) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    for step in book.steps() {
        let (line, units) = (Some(step.lines.0), step.result.units);
        for shown in &step.result.shown {
            if let Shown::Findings(list) = shown {
                found.extend(list.iter().map(|finding| Found { line, units, finding: finding.clone() }));
            }
        }
    }
    let units = book.context().units();
    let at_rest = book.gardens().into_iter().flat_map(|garden| of_zones(&garden));
    found.extend(at_rest.map(|finding| Found { line: None, units, finding }));
    let mut once: Vec<Found> = Vec::new();
    for one in found {
        if !once.iter().any(|known| known.finding.says_the_same(&one.finding)) {
            once.push(one);
        }
    }
    once.sort_by_key(|found| found.finding.level());
    once
}

fn as_json(found: &Found) -> serde_json::Value {
    let mut object = json::finding(&found.finding, found.units);
    object["line"] = json!(found.line);
    object
}
