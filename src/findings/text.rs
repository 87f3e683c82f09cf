//! Findings as calm plain text, one paragraph each. Colours and pages are for others.

use super::cautions::cautions;
use super::finding::Finding;
use crate::garden::Garden;
use crate::quantity::UnitSystem;

/// Text is not made narrower than this, in characters.
const LEAST_WIDTH: usize = 30;
pub const NOTHING: &str = "Nothing to warn of was found.";

/// Findings as text of at most `width` characters a line, one paragraph a finding: level, where and how much, why, what
/// to do, source. No line end at the end.
pub fn show(findings: &[Finding], system: UnitSystem, width: usize) -> String {
    if findings.is_empty() {
        return NOTHING.into();
    }
    let paragraphs: Vec<String> = findings.iter().map(|finding| wrap(&paragraph(finding, system), width)).collect();
    paragraphs.join("\n\n")
}

/// Findings as [`show`] gives them, and below them once the standing cautions of the garden.
pub fn report(garden: &Garden, findings: &[Finding], system: UnitSystem, width: usize) -> String {
    let cautions = cautions(garden);
    if cautions.is_empty() {
        return show(findings, system, width);
    }
    format!("{}\n\n{}", show(findings, system, width), wrap(&format!("Keep in mind: {}", cautions.join(" ")), width))
}

fn paragraph(finding: &Finding, system: UnitSystem) -> String {
    let (level, source) = (finding.level().word(), finding.source().words());
    let (what, why, action) = (finding.what(system), finding.why(), finding.action(system));
    format!("{level}: {what}. Why: {why}. What to do: {action}. ({source})")
}

/// Breaks a text at blanks, but not between a number and its unit; lines after the first are indented. Words longer than a
/// line stand alone.
fn wrap(text: &str, width: usize) -> String {
    let width = width.max(LEAST_WIDTH);
    let mut lines: Vec<String> = Vec::new();
    for word in unbroken(text) {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(&word);
            }
            Some(_) => lines.push(format!("  {word}")),
            None => lines.push(word),
        }
    }
    lines.join("\n")
}

/// The words of a text, each number together with the word behind it.
fn unbroken(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(last) if last.parse::<f64>().is_ok() => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}
