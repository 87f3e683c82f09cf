//! A finding, which is an entry of the catalog with its place and its values, and the book in which findings are collected,
//! sorted and kept from standing twice.

use super::catalog::relief::{NEAR_RATING, OVER_RATING};
use super::catalog::{Entry, Level, Source};
use super::phrase::{Limit, Value, Values, broken, faults, fill, names};
use crate::garden::Garden;
use crate::parts::Id;
use crate::quantity::{Quantity, UnitSystem, dim};
use std::cell::OnceCell;

/// Something an experienced installer would warn of.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The part it is about, by its place in the garden; none when it is about the whole.
    pub place: Option<usize>,
    /// The name of that part; empty when it is about the whole.
    pub name: String,
    /// The word for its kind, with which sentences call it; none when it is about the whole.
    pub(super) word: Option<&'static str>,
    pub(super) entry: &'static Entry,
    /// The zone that must be open for it, where it was looked for zone by zone.
    pub(super) zone: Option<String>,
    pub(super) values: Values,
    /// The units in which the garden was given.
    pub(super) units: UnitSystem,
}

/// The named places that are filled without being given.
const OWN_PLACES: [&str; 2] = ["part", "name"];

impl Finding {
    /// A finding about a part of a garden; its values follow by [`Finding::with`].
    pub fn about(entry: &'static Entry, garden: &Garden, place: usize) -> Finding {
        let (name, word) = (garden.name(place).to_string(), Some(garden.spec(place).word));
        Finding { place: Some(place), name, word, entry, zone: None, values: Vec::new(), units: garden.units() }
    }

    /// A finding about the whole.
    pub fn of_whole(entry: &'static Entry) -> Finding {
        let units = UnitSystem::default();
        Finding { place: None, name: String::new(), word: None, entry, zone: None, values: Vec::new(), units }
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

    /// Its entry in the catalog.
    pub fn entry(&self) -> &'static Entry {
        self.entry
    }

    /// A short stable word for the kind of finding, such as `below-range`.
    pub fn code(&self) -> &'static str {
        self.entry.code
    }

    /// How severe it is.
    pub fn level(&self) -> Level {
        self.entry.level
    }

    /// Where the judgment comes from.
    pub fn source(&self) -> Source {
        self.entry.source
    }

    /// Where and how much, one sentence.
    pub fn what(&self, system: UnitSystem) -> String {
        let what = fill(self.entry.what, &self.all_values(), system.or_own(self.units));
        match &self.zone {
            Some(zone) => format!("with '{zone}' open, {what}"),
            None => what,
        }
    }

    /// Why it matters.
    pub fn why(&self, system: UnitSystem) -> String {
        fill(self.entry.why, &Vec::new(), system.or_own(self.units))
    }

    /// What to do.
    pub fn action(&self, system: UnitSystem) -> String {
        fill(self.entry.action, &self.all_values(), system.or_own(self.units))
    }

    /// True when both say the same of parts of the same name, wherever in their gardens those stand.
    pub fn says_the_same(&self, other: &Finding) -> bool {
        (self.entry, &self.zone, &self.values) == (other.entry, &other.zone, &other.values)
            && (self.word, &self.name) == (other.word, &other.name)
    }

    /// Its values with those that are filled without being given.
    fn all_values(&self) -> Values {
        let own = self.word.map(|word| OWN_PLACES.into_iter().zip([called(word, &self.name), self.name.clone()]));
        let own = own.into_iter().flatten().map(|(place, text)| (place, text.into()));
        own.chain(self.values.iter().cloned()).collect()
    }

    /// What is wrong with its making: named places without a value, values that no sentence shows. Empty when it is sound, as
    /// tests ask of every finding they meet.
    pub fn faults(&self) -> Vec<String> {
        let unused = OWN_PLACES.map(|place| format!("no place for {place}"));
        let found = faults(&[self.entry.what, self.entry.action], &self.all_values());
        found.into_iter().filter(|fault| !unused.contains(fault)).collect()
    }
}

impl Entry {
    /// What is wrong with its patterns, if anything.
    pub fn broken(&self) -> Option<String> {
        let values = names(self.why).first().map(|name| format!("its reason has a value, {name}"));
        [self.what, self.action, self.why].into_iter().find_map(broken).or(values)
    }
}

/// A part as sentences call it, such as `hose 'feed'`.
pub fn title(garden: &Garden, place: usize) -> String {
    called(garden.spec(place).word, garden.name(place))
}

fn called(word: &str, name: &str) -> String {
    format!("{} '{name}'", word.replace('_', " "))
}

/// Findings in their order: the most severe first, then by place.
pub fn in_order(mut findings: Vec<Finding>) -> Vec<Finding> {
    findings.sort_by_key(|finding| (finding.level(), finding.place));
    findings
}

/// Findings in their order; of those with the same code and place only the first. What is above its rating in one state need not be
/// near it in another.
pub fn once_in_order(findings: Vec<Finding>) -> Vec<Finding> {
    // Those of one place side by side, in the order in which they came; a place has few codes.
    let mut by_place: Vec<(Option<usize>, usize)> =
        findings.iter().enumerate().map(|(index, finding)| (finding.place, index)).collect();
    by_place.sort_unstable();
    let mut is_new = vec![true; findings.len()];
    let mut codes = Vec::new();
    for here in by_place.chunk_by(|one, next| one.0 == next.0) {
        codes.clear();
        let is_over = here.iter().any(|&(_, index)| findings[index].code() == OVER_RATING.code);
        for &(_, index) in here {
            let code = findings[index].code();
            is_new[index] = !(codes.contains(&code) || is_over && code == NEAR_RATING.code);
            if is_new[index] {
                codes.push(code);
            }
        }
    }
    let mut is_new = is_new.into_iter();
    in_order(findings.into_iter().filter(|_| is_new.next() == Some(true)).collect())
}

/// Findings in the making.
pub(super) struct Book<'a> {
    pub garden: &'a Garden,
    findings: Vec<Finding>,
    rated: OnceCell<Vec<usize>>,
}

impl<'a> Book<'a> {
    pub fn new(garden: &'a Garden) -> Book<'a> {
        Book { garden, findings: Vec::new(), rated: OnceCell::new() }
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

    /// The places of parts with a rating, in order; looked up once.
    pub fn rated(&self) -> &[usize] {
        self.rated.get_or_init(|| {
            let may_be = self.garden.of_spec(|spec| spec.has(Id::PressureRating));
            may_be.filter(|&place| self.garden.parts()[place].si(Id::PressureRating).is_some()).collect()
        })
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

/// A rule of the trade that is passed on in psi.
pub fn rule_pa(pressure_pa: f64) -> Limit {
    Limit::of_practice(pressure(pressure_pa), "psi")
}

/// A rule of the trade that is passed on in gpm.
pub fn rule_flow(flow_m3_per_s: f64) -> Limit {
    Limit::of_practice(flow(flow_m3_per_s), "gpm")
}

/// A computed value in the unit of the quantity it is compared with.
pub fn like(si: f64, model: Quantity) -> Quantity {
    Quantity { si, ..model }
}
