//! A best setting in words.

use crate::quantity::{UnitSystem, with_commas};
use crate::study::Setting;

/// The setting for people; `variables` are names with what they are set to.
pub fn in_words(found: &Setting, variables: Vec<(&str, String)>, system: UnitSystem) -> String {
    let limits = found.said.limits.iter().map(|(name, limit)| (name.as_str(), limit.in_words(system)));
    let lines: Vec<(&str, String)> = variables.into_iter().chain(limits).collect();
    let width = lines.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let mut text = format!("{}: {}", found.said.goal.word(), found.said.value.show(system));
    for (name, line) in lines {
        text += &format!("\n  {name:width$}   {line}");
    }
    for note in &found.notes {
        text += &format!("\n{note}");
    }
    text += &format!("\n{} settings were tried", with_commas(found.tried));
    text
}
