//! A finding, which is an entry of the catalogue with its place and its values, and the book in which findings are collected,
//! sorted and kept from standing twice.

use super::catalogue::{Entry, Level, Source};
use super::phrase::{Value, Values, broken, faults, fill};
use crate::garden::Garden;
use crate::quantity::{Quantity, UnitSystem, dim};
use std::collections::HashSet;

/// Something a careful practitioner would warn of.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The part it is about, by its place in the garden; nothing when it is about the whole.
    pub place: Option<usize>,
    /// The name of that part; empty when it is about the whole.
    pub name: String,
    entry: &'static Entry,
    /// The zone that must be open for it, where it was looked for zone by zone.
    zone: Option<String>,
    values: Values,
}

/// The named places that are filled without being given.
const OWN_PLACES: [&str; 2] = ["part", "name"];

impl Finding {
    /// A finding about a part of a garden; its values follow by [`Finding::with`].
    pub fn about(entry: &'static Entry, garden: &Garden, place: usize) -> Finding {
        let name = garden.name(place).to_string();
        let values = vec![("part", title(garden, place).into()), ("name", name.as_str().into())];
        Finding { place: Some(place), name, entry, zone: None, values }
    }

    /// A finding about the whole.
    pub fn of_whole(entry: &'static Entry) -> Finding {
        Finding { place: None, name: String::new(), entry, zone: None, values: Vec::new() }
    }

    /// The same with a value for a named place of its sentences.
    pub fn with(mut self, place: &'static str, value: impl Into<Value>) -> Finding {
        self.values.push((place, value.into()));
        self
    }

    /// The same with a value, where there is one, for a place in square brackets.
    pub fn with_some(self, place: &'static str, value: Option<impl Into<Value>>) -> Finding {
        match value {
            Some(value) => self.with(place, value),
            None => self,
        }
    }

    /// The same, seen with a zone open.
    pub(super) fn in_zone(mut self, zone: &str) -> Finding {
        self.zone = Some(zone.into());
        self
    }

    /// Its entry in the catalogue.
    pub fn entry(&self) -> &'static Entry {
        self.entry
    }

    /// A short stable word for the kind of finding, such as `stalled`.
    pub fn code(&self) -> &'static str {
        self.entry.code
    }

    /// How grave it is.
    pub fn level(&self) -> Level {
        self.entry.level
    }

    /// Where the judgement comes from.
    pub fn source(&self) -> Source {
        self.entry.source
    }

    /// Where and how much, one sentence.
    pub fn what(&self, system: UnitSystem) -> String {
        let what = fill(self.entry.what, &self.values, system);
        match &self.zone {
            Some(zone) => format!("with '{zone}' open, {what}"),
            None => what,
        }
    }

    /// Why it matters.
    pub fn why(&self) -> &'static str {
        self.entry.why
    }

    /// What to do.
    pub fn action(&self, system: UnitSystem) -> String {
        fill(self.entry.action, &self.values, system)
    }

    /// True when both say the same of parts of the same name, wherever in their gardens those stand.
    pub fn says_the_same(&self, other: &Finding) -> bool {
        (self.entry, &self.zone, &self.values) == (other.entry, &other.zone, &other.values)
    }

    /// What is wrong with its making: named places without a value, values that no sentence shows. Empty when it is sound, as
    /// tests ask of every finding they meet.
    pub fn faults(&self) -> Vec<String> {
        let unused = OWN_PLACES.map(|place| format!("no place for {place}"));
        let found = faults(&[self.entry.what, self.entry.action], &self.values);
        found.into_iter().filter(|fault| !unused.contains(fault)).collect()
    }
}

impl Entry {
    /// What is wrong with its patterns, if anything.
    pub fn broken(&self) -> Option<String> {
        [self.what, self.action].into_iter().find_map(broken)
    }
}

/// A part as sentences call it, such as `hose 'feed'`.
pub fn title(garden: &Garden, place: usize) -> String {
    format!("{} '{}'", garden.parts()[place].spec().word.replace('_', " "), garden.name(place))
}

/// Findings in their order: the gravest first, then by place.
pub fn in_order(mut findings: Vec<Finding>) -> Vec<Finding> {
    findings.sort_by_key(|finding| (finding.level(), finding.place));
    findings
}

/// Findings in their order; of those with the same code and place only the first.
pub fn once_in_order(findings: Vec<Finding>) -> Vec<Finding> {
    let mut known = HashSet::new();
    in_order(findings.into_iter().filter(|finding| known.insert((finding.code(), finding.place))).collect())
}

/// Findings in the making.
pub(super) struct Book<'a> {
    pub garden: &'a Garden,
    findings: Vec<Finding>,
}

impl<'a> Book<'a> {
    pub fn new(garden: &'a Garden) -> Book<'a> {
        Book { garden, findings: Vec::new() }
    }

    /// A finding about a part, to be given its values and then to [`Book::add`].
    pub fn about(&self, entry: &'static Entry, place: usize) -> Finding {
        Finding::about(entry, self.garden, place)
    }

    pub fn add(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// The part as sentences call it, such as `hose 'feed'`.
    pub fn title(&self, place: usize) -> String {
        title(self.garden, place)
    }

    /// The findings, once each and in their order.
    pub fn finish(self) -> Vec<Finding> {
        once_in_order(self.findings)
    }
}

pub fn pressure(pressure_pa: f64) -> Quantity {
    Quantity::new(pressure_pa, dim::PRESSURE)
}

pub fn flow(flow_m3_per_s: f64) -> Quantity {
    Quantity::new(flow_m3_per_s, dim::FLOW)
}

pub fn speed(speed_m_per_s: f64) -> Quantity {
    Quantity::new(speed_m_per_s, dim::SPEED)
}

pub fn volume(volume_m3: f64) -> Quantity {
    Quantity::new(volume_m3, dim::VOLUME)
}

/// A computed value in the unit of the quantity it is compared with.
pub fn like(si: f64, model: Quantity) -> Quantity {
    Quantity { si, ..model }
}
