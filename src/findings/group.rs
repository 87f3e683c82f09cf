//! Findings as they are reported: like findings of like parts as one with all their names, those that the owner accepted last.
//!
//! Judges give a finding for each part; here nothing is judged.

use super::catalog::Level;
use super::deciding;
use super::finding::Finding;
use super::limits::Threshold;
use super::phrase::{Value, Values, fill};
use crate::garden::Accepted;
use crate::quantity::UnitSystem;
use std::collections::HashMap;

/// At most this many names appear in a sentence; of more, the first two and the number of the others.
const MOST_NAMES: usize = 3;

/// What is said of one part, or the same of several parts of a kind; and the reason, if the owner has accepted it.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingGroup {
    first: Finding,
    others: Vec<Finding>,
    accepted: Option<String>,
    /// The thresholds that decided it and are not the usual ones, with their values, SI.
    set: Vec<(Threshold, f64)>,
}

/// Findings as they are reported: the most severe first, those of one code together, and those last that were accepted.
///
/// Findings of one entry about parts of one kind become one, unless they differ in a text, such as the name of another part.
/// A danger stays what it is: no acceptance holds for it.
pub fn grouped(findings: &[Finding], accepted: &Accepted) -> Vec<FindingGroup> {
    let mut groups: Vec<FindingGroup> = Vec::new();
    let mut by_likeness: HashMap<String, usize> = HashMap::new();
    for finding in findings {
        let known = likeness(finding).map(|likeness| *by_likeness.entry(likeness).or_insert(groups.len()));
        match known.and_then(|place| groups.get_mut(place)) {
            Some(group) => group.others.push(finding.clone()),
            None => {
                let reason = accepted.reason(finding.code()).filter(|_| finding.level() != Level::Danger);
                let (accepted, set) = (reason.map(String::from), deciding::set_for(finding.entry, accepted));
                groups.push(FindingGroup { first: finding.clone(), others: Vec::new(), accepted, set });
            }
        }
    }
    let mut first_of: HashMap<&'static str, usize> = HashMap::new();
    for (at, group) in groups.iter().enumerate() {
        first_of.entry(group.code()).or_insert(at);
    }
    groups.sort_by_key(|group| (group.accepted.is_some(), group.level(), first_of.get(group.code()).copied()));
    groups
}

/// The accepted codes that no finding has, with their reasons.
pub fn not_found<'a>(groups: &[FindingGroup], accepted: &'a Accepted) -> Vec<(&'a str, &'a str)> {
    accepted.iter().filter(|(code, _)| !groups.iter().any(|group| group.code() == *code)).collect()
}

/// What two findings must have in common to be reported as one; `None` for one about the whole.
fn likeness(finding: &Finding) -> Option<String> {
    let (word, entry) = (finding.word?, finding.entry);
    let mut text =
        format!("{}\n{:?}\n{}\n{}\n{word}\n{}", entry.code, entry.level, entry.what, entry.action, finding.zone.is_some());
    if [entry.what, entry.action].iter().any(|pattern| pattern.contains("{name}")) {
        text.push_str(&format!("\n{}", finding.name));
    }
    for (place, value) in &finding.values {
        text.push_str(&format!("\n{place} {}", value.likeness()));
    }
    Some(text)
}

impl FindingGroup {
    /// The findings in it: one for each part.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        std::iter::once(&self.first).chain(&self.others)
    }

    /// How severe it is.
    pub fn level(&self) -> Level {
        self.first.level()
    }

    /// The code of its entry in the catalog.
    pub fn code(&self) -> &'static str {
        self.first.code()
    }

    /// Where the judgment comes from, in words; where its owner set the threshold, with that and the usual one.
    pub fn source(&self, system: UnitSystem) -> String {
        let source = self.first.source().words();
        match deciding::in_words(&self.set, system.or_own(self.first.units)) {
            Some(set) => format!("{source}; {set}"),
            None => source,
        }
    }

    /// Why it matters.
    pub fn why(&self, system: UnitSystem) -> String {
        self.first.why(system)
    }

    /// The reason for which the owner of the garden accepts it.
    pub fn accepted(&self) -> Option<&str> {
        self.accepted.as_deref()
    }

    /// The names of all parts it is about; empty when it is about the whole.
    pub fn names(&self) -> Vec<&str> {
        self.findings().map(|finding| finding.name.as_str()).filter(|name| !name.is_empty()).collect()
    }

    /// All names, where they are too many for [`FindingGroup::what`].
    pub fn all_names(&self) -> Option<String> {
        let names = self.names();
        (names.len() > MOST_NAMES).then(|| names.iter().map(|name| format!("'{name}'")).collect::<Vec<_>>().join(", "))
    }

    /// Where and how much, one sentence; of several parts from the least to the most.
    pub fn what(&self, system: UnitSystem) -> String {
        if self.others.is_empty() {
            return self.first.what(system);
        }
        let what = fill(self.first.entry.what, &self.values(), system.or_own(self.first.units));
        let mut zones: Vec<&str> = Vec::new();
        for zone in self.findings().filter_map(|finding| finding.zone.as_deref()) {
            if !zones.contains(&zone) {
                zones.push(zone);
            }
        }
        match zones[..] {
            [] => what,
            [zone] => format!("with '{zone}' open, {what}"),
            _ => format!("with zones {} open one at a time, {what}", listed(&zones)),
        }
    }

    /// What to do.
    pub fn action(&self, system: UnitSystem) -> String {
        if self.others.is_empty() {
            return self.first.action(system);
        }
        fill(self.first.entry.action, &self.values(), system.or_own(self.first.units))
    }

    /// What is shown for its level: `Warning`, or `Accepted warning`.
    pub fn heading(&self) -> String {
        match self.accepted {
            None => self.level().word().into(),
            Some(_) => format!("Accepted {}", self.level().word().to_lowercase()),
        }
    }

    /// True when both say the same of parts of the same names.
    pub fn says_the_same(&self, other: &FindingGroup) -> bool {
        self.accepted == other.accepted
            && self.others.len() == other.others.len()
            && self.findings().zip(other.findings()).all(|(one, other)| one.says_the_same(other))
    }

    /// The values of all its findings as those of one.
    fn values(&self) -> Values {
        let parts = match self.first.word {
            Some(word) => format!("each of the {} {}", several(&word.replace('_', " ")), listed(&self.names())),
            None => String::new(),
        };
        let own = [("part", Value::from(parts)), ("name", self.first.name.as_str().into())];
        let joined = self.first.values.iter().filter_map(|(place, _)| {
            let same = |finding: &'_ Finding| finding.values.iter().position(|(other, _)| other == place);
            let values = self.findings().filter_map(|finding| same(finding).map(|at| &finding.values[at].1));
            Some((*place, Value::joined(values)?))
        });
        own.into_iter().chain(joined).collect()
    }
}

/// Names in quotes: `'a', 'b' and 'c'`, or `'a', 'b' and 7 more`.
fn listed(names: &[&str]) -> String {
    let quoted = |names: &[&str]| names.iter().map(|name| format!("'{name}'")).collect::<Vec<_>>().join(", ");
    match names {
        [] => String::new(),
        [only] => quoted(&[only]),
        [first @ .., last] if names.len() <= MOST_NAMES => format!("{} and '{last}'", quoted(first)),
        _ => format!("{} and {} more", quoted(&names[..2]), names.len() - 2),
    }
}

/// The plural of the name of a kind of part.
fn several(word: &str) -> String {
    match word.strip_suffix('y') {
        Some(stem) => format!("{stem}ies"),
        None => format!("{word}s"),
    }
}
