//! Sentences with named places for values, put into words in the units that are asked for.
//!
//! `{margin}` is a named place; `{15 ft|4.5 m}` reads one way in US units and the other in metric ones. What stands in square brackets is left out where one of its places has no value:
//! `no check valve before {part}[; {check} is not an approved one]`. It knows quantities, and neither gardens nor findings.

use crate::quantity::{Quantity, UnitSystem, find_unit, show_number};

/// What stands in a named place.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Shown in the unit it was given in, or in the usual one of the system.
    Quantity(Quantity),
    /// A threshold of a source or of the trade.
    Limit(Limit),
    /// A text that reads one way in US units and another in metric ones.
    Either {
        /// In US units.
        us: String,
        /// In metric units.
        metric: String,
    },
    /// A plain number with this many decimals.
    Number {
        /// The number, in the unit that the sentence names after it.
        value: f64,
        /// How many decimals are shown.
        decimals: usize,
    },
    /// A number of things: `1 start`, `3 starts`.
    Count {
        /// How many things.
        number: usize,
        /// What one of them is called; an `s` makes it several.
        word: &'static str,
    },
    /// A name, a clock time: it reads the same in all units.
    Text(String),
    /// The least and the most of several quantities, numbers or counts: `12 to 15 psi`.
    Span(Box<(Value, Value)>),
    /// A part of a sentence that has values of its own.
    Phrase(Phrase),
    /// Several, one after another.
    List {
        /// The values, in the order in which they are read.
        items: Vec<Value>,
        /// What stands between two of them, such as a comma and a blank.
        between: &'static str,
    },
}

impl Value {
    /// A share as percent without decimals; the sign of percent stands in the sentence.
    pub fn percent(share: f64) -> Value {
        Value::Number { value: 100.0 * share, decimals: 0 }
    }

    fn show(&self, system: UnitSystem) -> String {
        match self {
            Value::Quantity(quantity) => quantity.show(system),
            Value::Limit(limit) => limit.show(system),
            Value::Either { us, metric } => system.pick(us, metric).clone(),
            Value::Number { value, decimals } => format!("{value:.decimals$}"),
            Value::Count { number, word } => counted(*number, word),
            Value::Text(text) => text.clone(),
            Value::Span(ends) => span(&ends.0.show(system), &ends.1.show(system)),
            Value::Phrase(phrase) => phrase.show(system),
            Value::List { items, between } => items.iter().map(|item| item.show(system)).collect::<Vec<_>>().join(between),
        }
    }

    /// What values of several findings must have in common to be reported as one: what kind of number they are, or their whole text.
    pub(super) fn likeness(&self) -> String {
        match self {
            Value::Quantity(quantity) => format!("a quantity: {}", quantity.dimension),
            Value::Number { decimals, .. } => format!("a number to {decimals}"),
            Value::Count { word, .. } => format!("a count: {word}"),
            other => other.show(UnitSystem::AsWritten),
        }
    }

    /// Values of one likeness as one: the value itself where all are shown alike, else from the least to the most.
    pub(super) fn joined<'a>(values: impl IntoIterator<Item = &'a Value>) -> Option<Value> {
        let mut values = values.into_iter();
        let first = values.next()?;
        let (mut least, mut most) = (first, first);
        for value in values {
            if value.size() < least.size() {
                least = value;
            }
            if value.size() > most.size() {
                most = value;
            }
        }
        Some(if least.size() == most.size() { first.clone() } else { Value::Span(Box::new((least.clone(), most.clone()))) })
    }

    /// What it is sorted by; zero for what has no size.
    fn size(&self) -> f64 {
        match self {
            Value::Quantity(quantity) => quantity.si,
            Value::Number { value, .. } => *value,
            Value::Count { number, .. } => *number as f64,
            _ => 0.0,
        }
    }

    fn faults(&self) -> Vec<String> {
        match self {
            Value::Phrase(phrase) => phrase.faults(),
            Value::List { items, .. } => items.iter().flat_map(Value::faults).collect(),
            _ => Vec::new(),
        }
    }
}

/// A threshold with the unit in which its source has it. In another unit it shows round, since nobody who writes 25 psi means 1.724 bar;
/// where the source is a document, what that says follows in brackets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    value: Quantity,
    own: &'static str,
    is_published: bool,
    is_least: bool,
}

impl Limit {
    /// A rule of the trade, with the symbol of the unit in which it is passed on.
    pub fn of_practice(value: Quantity, own: &'static str) -> Limit {
        Limit { value, own, is_published: false, is_least: false }
    }

    /// A limit of a document, with the symbol of the unit in which that gives it.
    pub fn published(value: Quantity, own: &'static str) -> Limit {
        Limit { is_published: true, ..Limit::of_practice(value, own) }
    }

    /// The same as the least that is enough, which is never rounded down: what falls short of it falls short of what is shown.
    pub fn as_least(self) -> Limit {
        Limit { is_least: true, ..self }
    }

    /// The same in the unit of the quantity it is compared with.
    pub fn like(self, model: Quantity) -> Limit {
        Limit { value: Quantity { si: self.value.si, ..model }, ..self }
    }

    /// The limit in words.
    pub fn show(&self, system: UnitSystem) -> String {
        let Some(unit) = self.value.shown_unit(system).filter(|unit| unit.symbol != self.own) else {
            return self.value.show(system);
        };
        let round = format!("{} {}", show_number(self.rounded(unit.from_si(self.value.si))), unit.symbol);
        match find_unit(self.own).filter(|_| self.is_published) {
            Some(own) => format!("{round} ({} {})", show_number(own.from_si(self.value.si)), own.symbol),
            None => round,
        }
    }

    /// One significant digit where that is within a twentieth of the value, else two.
    fn rounded(&self, value: f64) -> f64 {
        /// How far a round number may be from what it stands for.
        const NEAR: f64 = 0.05;
        if value == 0.0 || !value.is_finite() {
            return value;
        }
        let unit = |digits: i32| 10f64.powi(value.abs().log10().floor() as i32 - digits + 1);
        let nearest = |digits| (value / unit(digits)).round() * unit(digits);
        let round = if (nearest(1) - value).abs() <= NEAR * value.abs() { nearest(1) } else { nearest(2) };
        if self.is_least && round < value { (value / unit(2)).ceil() * unit(2) } else { round }
    }
}

impl From<Limit> for Value {
    fn from(limit: Limit) -> Value {
        Value::Limit(limit)
    }
}

impl From<Quantity> for Value {
    fn from(quantity: Quantity) -> Value {
        Value::Quantity(quantity)
    }
}

impl From<String> for Value {
    fn from(text: String) -> Value {
        Value::Text(text)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Value {
        Value::Text(text.into())
    }
}

impl From<Phrase> for Value {
    fn from(phrase: Phrase) -> Value {
        Value::Phrase(phrase)
    }
}

/// Values by the names of their places.
pub type Values = Vec<(&'static str, Value)>;

/// A sentence, or a part of one, with its values.
#[derive(Clone, Debug, PartialEq)]
pub struct Phrase {
    pattern: &'static str,
    values: Values,
}

impl Phrase {
    /// A phrase without values yet; the pattern has named places in braces and parts that may be left out in square brackets.
    pub fn new(pattern: &'static str) -> Phrase {
        Phrase { pattern, values: Vec::new() }
    }

    /// The same with a value for a named place.
    pub fn with(mut self, place: &'static str, value: impl Into<Value>) -> Phrase {
        self.values.push((place, value.into()));
        self
    }

    /// The phrase in words.
    pub fn show(&self, system: UnitSystem) -> String {
        fill(self.pattern, &self.values, system)
    }

    /// What is wrong with it: places without a value, values without a place.
    fn faults(&self) -> Vec<String> {
        faults(&[self.pattern], &self.values)
    }
}

/// From one value to another; the unit is shown once where both have it.
fn span(least: &str, most: &str) -> String {
    let unit = |text: &str| text.split_once(' ').map(|(_, unit)| unit.to_string());
    match (unit(least), unit(most)) {
        _ if least == most => most.into(),
        (Some(one), Some(other)) if one == other => format!("{} to {most}", least.split(' ').next().unwrap_or(least)),
        _ => format!("{least} to {most}"),
    }
}

/// A number of things in words: `1 start`, `3 starts`.
pub fn counted(number: usize, word: &str) -> String {
    if number == 1 { format!("1 {word}") } else { format!("{number} {word}s") }
}

/// A pattern in words. A place without a value is shown by its name; see [`faults`].
pub(super) fn fill(pattern: &str, values: &Values, system: UnitSystem) -> String {
    let mut text = String::new();
    for (segment, is_optional) in segments(pattern) {
        if is_optional && names(segment).iter().any(|name| find(values, name).is_none()) {
            continue;
        }
        let mut pieces = segment.split('{');
        text.push_str(pieces.next().unwrap_or_default());
        for piece in pieces {
            let (name, rest) = piece.split_once('}').unwrap_or((piece, ""));
            match name.split_once('|') {
                Some((us, metric)) => text.push_str(system.pick(us, metric)),
                None => {
                    text.push_str(&find(values, name).map_or_else(|| name.replace('_', " "), |value| value.show(system)));
                }
            }
            text.push_str(rest);
        }
    }
    text
}

/// What is wrong with patterns that share values: places without a value, values without a place, brackets without a partner.
pub(super) fn faults(patterns: &[&str], values: &Values) -> Vec<String> {
    let mut found: Vec<String> = patterns.iter().filter_map(|pattern| broken(pattern)).collect();
    let segments: Vec<(&str, bool)> = patterns.iter().flat_map(|pattern| segments(pattern)).collect();
    for (segment, _) in segments.iter().filter(|(_, is_optional)| !is_optional) {
        found.extend(
            names(segment).iter().filter(|name| find(values, name).is_none()).map(|name| format!("no value for {{{name}}}")),
        );
    }
    for (index, (place, value)) in values.iter().enumerate() {
        if !segments.iter().any(|(segment, _)| names(segment).contains(place)) {
            found.push(format!("no place for {place}"));
        }
        if values[..index].iter().any(|(other, _)| other == place) {
            found.push(format!("two values for {{{place}}}"));
        }
        found.extend(value.faults());
    }
    found
}

/// What is wrong with a pattern by itself.
pub(super) fn broken(pattern: &str) -> Option<String> {
    let mut open: Option<char> = None;
    let mut in_brackets = false;
    for letter in pattern.chars() {
        open = match (open, letter) {
            (None, '{') => Some('{'),
            (Some('{'), '}') => None,
            (None, '[') if !in_brackets => {
                in_brackets = true;
                None
            }
            (None, ']') if in_brackets => {
                in_brackets = false;
                None
            }
            (_, '{' | '}' | '[' | ']') => return Some(format!("a bracket without its partner in '{pattern}'")),
            (open, _) => open,
        };
    }
    (open.is_some() || in_brackets).then(|| format!("a bracket without its partner in '{pattern}'"))
}

/// The pieces of a pattern between square brackets, and whether they stand inside.
fn segments(pattern: &str) -> Vec<(&str, bool)> {
    pattern.split(['[', ']']).enumerate().map(|(index, segment)| (segment, index % 2 == 1)).collect()
}

/// The named places of a text.
pub(super) fn names(text: &str) -> Vec<&str> {
    let inside = text.split('{').skip(1).filter_map(|piece| piece.split_once('}')).map(|(name, _)| name);
    inside.filter(|name| !name.contains('|')).collect()
}

fn find<'a>(values: &'a Values, name: &str) -> Option<&'a Value> {
    values.iter().find(|(place, _)| *place == name).map(|(_, value)| value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{PSI_PA, Preference, dim};

    fn psi(value: f64) -> Quantity {
        let preference = Preference::Written(find_unit("psi").expect("a unit"));
        Quantity { si: value * PSI_PA, dimension: dim::PRESSURE, preference }
    }

    #[test]
    fn a_value_is_shown_in_the_units_asked_for() {
        let phrase = Phrase::new("{part} is at {has}").with("part", "head 'west'").with("has", psi(40.0));
        assert_eq!(phrase.show(UnitSystem::AsWritten), "head 'west' is at 40 psi");
        assert_eq!(phrase.show(UnitSystem::Metric), "head 'west' is at 2.76 bar");
    }

    #[test]
    fn a_limit_is_round_in_other_units_than_its_own_and_names_what_a_document_says() {
        let rule = |value: f64| Limit::of_practice(Quantity::new(value * PSI_PA, dim::PRESSURE), "psi");
        let published = |value: f64| Limit::published(Quantity::new(value * PSI_PA, dim::PRESSURE), "psi");
        for (limit, us, metric) in [
            (rule(25.0), "25 psi", "1.7 bar"),
            (rule(30.0), "30 psi", "2 bar"),
            (rule(3.0), "3 psi", "0.2 bar"),
            (rule(-7.0), "-7 psi", "-0.5 bar"),
            (published(80.0), "80 psi", "5.5 bar (80 psi)"),
        ] {
            assert_eq!((limit.show(UnitSystem::AsWritten).as_str(), limit.show(UnitSystem::Metric).as_str()), (us, metric));
            assert_eq!(limit.show(UnitSystem::AsWrittenMetric), metric);
        }
        assert_eq!(rule(-7.0).as_least().show(UnitSystem::Metric), "-0.48 bar");
        assert_eq!(rule(20.0).as_least().show(UnitSystem::Metric), "1.4 bar");
        let kilopascal = Quantity::written(100.0, find_unit("kPa").expect("a unit"));
        assert_eq!(rule(10.0).like(kilopascal).show(UnitSystem::AsWritten), "70 kPa");
    }

    #[test]
    fn a_text_may_read_otherwise_in_metric_units() {
        let phrase = Phrase::new("at most {15 ft|4.5 m} above {part}").with("part", "the water");
        assert_eq!(phrase.show(UnitSystem::AsWritten), "at most 15 ft above the water");
        assert_eq!(phrase.show(UnitSystem::AsWrittenMetric), "at most 4.5 m above the water");
        assert!(phrase.faults().is_empty());
    }

    #[test]
    fn what_stands_in_brackets_is_left_out_without_its_value() {
        let pattern = "nothing keeps back[; {check} is not approved][, and {other} leaks]";
        assert_eq!(Phrase::new(pattern).show(UnitSystem::AsWritten), "nothing keeps back");
        let one = Phrase::new(pattern).with("other", "the valve");
        assert_eq!(one.show(UnitSystem::AsWritten), "nothing keeps back, and the valve leaks");
        assert!(one.faults().is_empty());
    }

    #[test]
    fn phrases_and_lists_stand_inside_phrases() {
        let items = vec![Phrase::new("at {p}").with("p", psi(3.0)).into(), Value::Count { number: 2, word: "start" }];
        let phrase = Phrase::new("{all}.").with("all", Value::List { items, between: ", and " });
        assert_eq!(phrase.show(UnitSystem::AsWritten), "at 3 psi, and 2 starts.");
    }

    #[test]
    fn values_of_several_are_told_from_the_least_to_the_most() {
        let shown = |values: &[Value]| Value::joined(values).expect("some").show(UnitSystem::AsWritten);
        assert_eq!(shown(&[psi(14.0).into(), psi(12.0).into(), psi(15.5).into()]), "12 to 15.5 psi");
        assert_eq!(shown(&[psi(14.0).into(), psi(14.00001).into()]), "14 psi");
        let starts = |number| Value::Count { number, word: "start" };
        assert_eq!(shown(&[starts(3), starts(1), starts(7)]), "1 start to 7 starts");
        assert_eq!(shown(&[Value::percent(0.2), Value::percent(0.25)]), "20 to 25");
        assert_eq!(shown(&["west".into(), "west".into()]), "west");
        assert_ne!(Value::from("west").likeness(), Value::from("east").likeness());
        assert_eq!(Value::from(psi(1.0)).likeness(), Value::from(psi(2.0)).likeness());
    }

    #[test]
    fn a_place_without_a_value_and_a_value_without_a_place_are_found_and_shown_without_panic() {
        let phrase = Phrase::new("{part} lacks {cut_in}").with("pump", "p");
        assert_eq!(phrase.faults(), ["no value for {part}", "no value for {cut_in}", "no place for pump"]);
        assert_eq!(phrase.show(UnitSystem::AsWritten), "part lacks cut in");
        let inner = Phrase::new("{all}").with("all", Phrase::new("{x}"));
        assert_eq!(inner.faults(), ["no value for {x}"]);
        assert_eq!(Phrase::new("{x}").with("x", "1").with("x", "2").faults(), ["two values for {x}"]);
    }

    #[test]
    fn brackets_without_a_partner_are_found() {
        for pattern in ["{part", "part}", "[part", "part]", "[[a]]", "{a{b}}", "{[a]}", "[{a]}"] {
            assert!(broken(pattern).is_some(), "{pattern}");
        }
        for pattern in ["", "plain (text)", "{a}[{b}]{c}"] {
            assert_eq!(broken(pattern), None);
        }
    }
}
