//! What a finding is, and the book in which findings are collected, sorted and kept from standing twice.

use crate::garden::Garden;
use crate::quantity::{Dimension, Quantity, UnitSystem, dim};
use std::collections::HashSet;

/// How grave a finding is; the gravest comes first in the order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Somebody's drinking water, or something that can burst.
    Danger,
    /// It will not work as meant, or wears out.
    Warning,
    /// Worth knowing.
    Note,
}

impl Level {
    pub fn word(self) -> &'static str {
        match self {
            Level::Danger => "Danger",
            Level::Warning => "Warning",
            Level::Note => "Note",
        }
    }
}

/// Where the judgement of a finding comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A published limit.
    Published(&'static str),
    /// A rule of the trade without a source.
    CommonPractice,
    /// It follows from the laws of the parts and the limits that were given for them.
    Physics,
}

impl Source {
    /// The source in words.
    pub fn words(self) -> &'static str {
        match self {
            Source::Published(document) => document,
            Source::CommonPractice => "common practice",
            Source::Physics => "follows from the numbers given",
        }
    }
}

/// Something a careful practitioner would warn of.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub level: Level,
    /// A short stable word for the kind of finding, such as `stalled`.
    pub code: &'static str,
    /// The part it is about, by its place in the garden; nothing when it is about the whole.
    pub place: Option<usize>,
    /// The name of that part; empty when it is about the whole.
    pub name: String,
    /// Where and how much, one sentence.
    pub what: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub action: String,
    pub source: Source,
}

/// The unchanging side of a kind of finding.
#[derive(Clone, Copy)]
pub(super) struct Cause {
    pub code: &'static str,
    pub level: Level,
    pub why: &'static str,
    pub source: Source,
}

/// Findings in the making, and how they call parts and show quantities.
pub(super) struct Book<'a> {
    pub garden: &'a Garden,
    system: UnitSystem,
    findings: Vec<Finding>,
}

impl<'a> Book<'a> {
    pub fn new(garden: &'a Garden, system: UnitSystem) -> Book<'a> {
        Book { garden, system, findings: Vec::new() }
    }

    pub fn add(&mut self, cause: Cause, place: usize, what: String, action: impl Into<String>) {
        let name = self.garden.name(place).to_string();
        self.push(cause, Some(place), name, what, action.into());
    }

    /// A finding about the whole garden.
    pub fn add_whole(&mut self, cause: Cause, what: String, action: impl Into<String>) {
        self.push(cause, None, String::new(), what, action.into());
    }

    /// The part as sentences call it, such as `hose 'feed'`.
    pub fn title(&self, place: usize) -> String {
        format!("{} '{}'", self.garden.parts()[place].spec().word.replace('_', " "), self.garden.name(place))
    }

    pub fn pressure(&self, pressure_pa: f64) -> String {
        self.computed(pressure_pa, dim::PRESSURE)
    }

    pub fn flow(&self, flow_m3_per_s: f64) -> String {
        self.computed(flow_m3_per_s, dim::FLOW)
    }

    pub fn speed(&self, speed_m_per_s: f64) -> String {
        self.computed(speed_m_per_s, dim::SPEED)
    }

    /// A given quantity.
    pub fn given(&self, quantity: Quantity) -> String {
        quantity.show(self.system)
    }

    /// A computed value in the unit of the quantity it is compared with.
    pub fn like(&self, si: f64, model: Quantity) -> String {
        Quantity { si, ..model }.show(self.system)
    }

    /// The findings, the gravest first, then by place; of two alike only the first.
    pub fn finish(self) -> Vec<Finding> {
        let mut findings: Vec<Finding> = Vec::with_capacity(self.findings.len());
        let mut known = HashSet::new();
        for finding in self.findings {
            if known.insert((finding.code, finding.place)) {
                findings.push(finding);
            }
        }
        findings.sort_by_key(|finding| (finding.level, finding.place));
        findings
    }

    fn computed(&self, si: f64, dimension: Dimension) -> String {
        Quantity::new(si, dimension).show(self.system)
    }

    fn push(&mut self, cause: Cause, place: Option<usize>, name: String, what: String, action: String) {
        let Cause { code, level, why, source } = cause;
        self.findings.push(Finding { level, code, place, name, what, why: why.to_string(), action, source });
    }
}
