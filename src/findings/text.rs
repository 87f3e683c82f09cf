//! Findings as calm plain text, one paragraph each. Colors and pages are for others.

use super::cautions::CautionSet;
use super::group::{FindingGroup, not_found};
use crate::garden::{Accepted, Garden};
use crate::lines::broken_between_words;
use crate::quantity::UnitSystem;

/// Text is not made narrower than this, in characters.
const LEAST_WIDTH: usize = 30;
/// What is shown where there is no finding.
pub const NOTHING: &str = "No findings. Cautions still apply.";

/// Findings as text of at most `width` characters a line, one paragraph a finding: level, where and how much, why, what
/// to do, source. No line end at the end.
pub fn show(findings: &[FindingGroup], system: UnitSystem, width: usize) -> String {
    if findings.is_empty() {
        return NOTHING.into();
    }
    let paragraphs: Vec<String> = findings.iter().map(|finding| wrap(&paragraph(finding, system), width)).collect();
    paragraphs.join("\n\n")
}

/// Findings as [`show`] gives them, and below them in short the cautions that apply to the garden.
pub fn report(garden: &Garden, findings: &[FindingGroup], system: UnitSystem, width: usize) -> String {
    let mut text = show(findings, system, width);
    if let Some(unmet) = unmet(findings, garden.accepted()) {
        text.push_str(&format!("\n\n{}", wrap(&unmet, width)));
    }
    let cautions = CautionSet::of(garden);
    if !cautions.is_empty() {
        text.push_str(&format!("\n\n{}", cautions.in_short(width)));
    }
    text
}

/// The accepted codes that were not found, in a sentence; nothing when all were.
pub fn unmet(findings: &[FindingGroup], accepted: &Accepted) -> Option<String> {
    let unmet: Vec<String> = not_found(findings, accepted).iter().map(|(code, reason)| format!("{code} ({reason})")).collect();
    (!unmet.is_empty()).then(|| format!("Accepted, but not found here: {}.", unmet.join(", ")))
}

fn paragraph(finding: &FindingGroup, system: UnitSystem) -> String {
    let (heading, source) = (finding.heading(), finding.source(system));
    let (what, why, action) = (finding.what(system), finding.why(system), finding.action(system));
    let all = finding.all_names().map_or(String::new(), |names| format!(" All of them: {names}."));
    match finding.accepted() {
        None => format!("{heading}: {what}.{all} Why: {why}. What to do: {action}. ({source})"),
        Some(reason) => format!("{heading}: {what}.{all} Accepted: {reason}. Why it is named: {why}. ({source})"),
    }
}

/// Breaks a text at blanks; lines after the first are indented.
fn wrap(text: &str, width: usize) -> String {
    broken_between_words(text, width.max(LEAST_WIDTH), "  ").join("\n")
}
