//! `check`: the mistakes of a study and what to mind in it, without writing a file.

use super::input::study_text;
use super::status::{Status, status_of};
use crate::findings::{Finding, FindingGroup, grouped, of_zones};
use crate::lines::broken_between_words;
use crate::notebook::workbook::Workbook;
use crate::quantity::UnitSystem;
use crate::report::json;
use crate::script::diagnostic::Color;
use crate::script::present::Shown;
use crate::shell::paint::Paint;
use crate::shell::terminal;
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

/// Runs a study without writing anything and reports its errors and findings.
pub fn check(file: &Path, mut book: Workbook, form: Form) -> io::Result<Status> {
    let Some((_, source)) = study_text(file)? else { return Ok(Status::FileProblem) };
    book.renew(&source, &mut |_, _, _| {});
    let findings = findings(&book);
    let errors: Vec<_> = book.statements().iter().filter_map(|statement| statement.result.error.as_ref()).collect();
    let status = errors.iter().map(|error| status_of(error)).fold(Status::Fine, Status::graver);
    let mut out = io::stdout().lock();
    if form == Form::Json {
        let skipped: Vec<_> = book
            .statements()
            .iter()
            .filter_map(|statement| {
                statement.result.skipped.as_ref().map(|reason| json!({ "line": statement.lines.0, "reason": reason }))
            })
            .collect();
        let findings: Vec<_> = findings.iter().map(as_json).collect();
        let answer =
            json!({ "errors": errors, "skipped": skipped, "findings": findings, "cautions": json::cautions(book.cautions()) })
                .to_string();
        writeln!(out, "{}", visible_json(&answer))?;
        return Ok(status);
    }
    for error in &errors {
        writeln!(out, "{}\n", error.render(Color::No))?;
    }
    let (width, paint) = (terminal::columns_of_output().unwrap_or(usize::MAX), Paint::of_output());
    for Found { line, gardens, units, finding } in &findings {
        let line = line.map(|line| format!("line {line}"));
        let place: Vec<&str> = line.iter().chain(gardens).map(String::as_str).collect();
        let place = if place.is_empty() { String::new() } else { format!("{}: ", place.join(", ")) };
        let below = finding.accepted().map_or_else(|| finding.action(*units), |reason| format!("accepted: {reason}"));
        let names = finding.all_names().map(|names| format!("all of them: {names}"));
        let told =
            broken_between_words(&visible(&format!("{place}{}: {}", finding.heading(), finding.what(*units))), width, "    ");
        writeln!(out, "{}", paint.finding(&told.join("\n")))?;
        for line in names.iter().chain([&below]).flat_map(|text| broken_between_words(&visible(text), width.max(30) - 4, "  ")) {
            writeln!(out, "  {line}")?;
        }
    }
    if !book.cautions().is_empty() {
        writeln!(out, "{}", book.cautions().in_short(book.context().width()))?;
    }
    let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let skipped = book.statements().iter().filter(|statement| statement.result.skipped.is_some()).count();
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
    /// What the study calls the gardens that it is about.
    gardens: Vec<String>,
    /// The units in which it is put into words.
    units: UnitSystem,
    finding: FindingGroup,
}

/// Findings that the study shows, with their line, and those of its gardens at rest; no finding stands twice.
fn findings(book: &Workbook) -> Vec<Found> {
    let mut found: Vec<Found> = Vec::new();
    let mut shown_of: Vec<(String, Finding)> = Vec::new();
    for statement in book.statements() {
        let (line, units) = (Some(statement.lines.0), statement.result.units);
        for shown in &statement.result.shown {
            let Shown::Findings(list) = shown else { continue };
            let name = book.garden_of(statement, list.garden());
            for group in list.list() {
                shown_of.extend(name.iter().flat_map(|name| group.findings().map(|one| (name.clone(), one.clone()))));
                found.push(Found { line, gardens: name.iter().cloned().collect(), units, finding: group.clone() });
            }
        }
    }
    let units = book.context().units();
    let mut gardens = book.gardens();
    gardens.sort_by(|(a, _), (b, _)| a.cmp(b));
    for (name, garden) in gardens {
        let is_shown = |one: &Finding| shown_of.iter().any(|(other, known)| *other == name && known.says_the_same(one));
        let new: Vec<Finding> = of_zones(&garden).into_iter().filter(|one| !is_shown(one)).collect();
        let groups = grouped(&new, garden.accepted()).into_iter();
        found.extend(groups.map(|finding| Found { line: None, gardens: vec![name.clone()], units, finding }));
    }
    let mut once: Vec<Found> = Vec::new();
    for one in found {
        match once.iter_mut().find(|known| known.finding.says_the_same(&one.finding)) {
            Some(known) => {
                let new: Vec<String> = one.gardens.into_iter().filter(|name| !known.gardens.contains(name)).collect();
                known.gardens.extend(new);
            }
            None => once.push(one),
        }
    }
    // What is alike stands together: by level, then by code in the order in which the codes first appear.
    let codes: Vec<&str> = once.iter().map(|found| found.finding.code()).collect();
    let first = |code: &str| codes.iter().position(|known| *known == code);
    let mut order: Vec<usize> = (0..once.len()).collect();
    order.sort_by_key(|at| {
        let finding = &once[*at].finding;
        (finding.accepted().is_some(), finding.level(), first(finding.code()))
    });
    let mut once: Vec<Option<Found>> = once.into_iter().map(Some).collect();
    order.into_iter().filter_map(|at| once[at].take()).collect()
}

fn as_json(found: &Found) -> serde_json::Value {
    let mut object = json::finding(&found.finding, found.units);
    object["line"] = json!(found.line);
    object["gardens"] = json!(found.gardens);
    object
}
