//! The part itself: a kind, its numbers, a name, and for a booster its curve.

use super::booster::Curve;
use super::error::{PartError, contradiction};
use super::flow_table::FlowTable;
use super::id::Id;
use super::kind::{Around, Kind, Spec};
use super::law::Law;
use super::number::Number;
use super::soaker;
use crate::quantity::{Preference, Quantity, find_unit};
use crate::visible;
use crate::water::Water;
use std::sync::Arc;

/// Characters of the name of a part.
const LONGEST_NAME: usize = 100;
/// Characters of a refused name that a message repeats.
const SHOWN_OF_A_NAME: usize = 20;

/// A part with its numbers.
#[derive(Clone, Debug)]
pub struct Part {
    kind: Kind,
    name: Option<Arc<str>>,
    /// SI values in the order of the spec; NaN stands for "not given".
    values: Vec<f64>,
    preferences: Vec<Preference>,
    curve: Option<Arc<Curve>>,
    table: Option<Arc<FlowTable>>,
}

impl Part {
    /// A part of a kind with its defaults; numbers without one are not given yet.
    pub fn new(kind: Kind) -> Part {
        let numbers = kind.spec().numbers;
        Part {
            kind,
            name: None,
            values: numbers.iter().map(|number| number.default.unwrap_or(f64::NAN)).collect(),
            preferences: numbers
                .iter()
                .map(|number| find_unit(number.unit).map_or(Preference::Usual, Preference::Written))
                .collect(),
            curve: None,
            table: None,
        }
    }

    /// A part of a kind with some of its numbers given, checked as a whole.
    ///
    /// Errors: [`PartError`] names the number that is out of range, of the wrong dimension, or contradicts another.
    pub fn build(kind: Kind, name: Option<&str>, numbers: &[(Id, Quantity)]) -> Result<Part, PartError> {
        let mut part = Part::new(kind);
        if let Some(name) = name {
            part = part.named(name)?;
        }
        for (id, value) in numbers {
            part.put(*id, *value)?;
        }
        (kind.spec().check)(&part)?;
        Ok(part)
    }

    /// As [`Part::build`], with numbers by their words, as texts give them. Errors: also a word that the kind has no number for.
    pub fn of_words(kind: Kind, name: Option<&str>, numbers: &[(&str, Quantity)]) -> Result<Part, PartError> {
        let part = Part::new(kind);
        let ids = numbers.iter().map(|(word, value)| Ok((part.id_of(word)?, *value)));
        Part::build(kind, name, &ids.collect::<Result<Vec<_>, PartError>>()?)
    }

    /// A copy that shares nothing with this part, for another thread.
    pub fn detached(&self) -> Part {
        Part {
            name: self.name.as_deref().map(Arc::from),
            curve: self.curve.as_deref().map(|curve| Arc::new(curve.clone())),
            table: self.table.as_deref().map(|table| Arc::new(table.clone())),
            ..self.clone()
        }
    }

    pub fn kind(&self) -> Kind {
        self.kind
    }

    pub fn spec(&self) -> &'static Spec {
        self.kind.spec()
    }

    /// The name somebody gave it.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// The part as messages call it: its word and name.
    pub fn title(&self) -> String {
        match &self.name {
            Some(name) => format!("{} '{name}'", self.spec().word),
            None => self.spec().word.to_string(),
        }
    }

    /// The same part under a name. Errors: an empty name, a long one, one with a dot or with an invisible sign is refused.
    pub fn named(mut self, name: &str) -> Result<Part, PartError> {
        if let Some(sign) = visible::first_unseen(name) {
            let begin: String = name.chars().take(SHOWN_OF_A_NAME).collect();
            return Err(PartError::InvisibleSign { name: visible::written_out(&begin), sign });
        }
        if name.trim().is_empty() || name.contains('.') {
            return Err(PartError::BadName { name: name.to_string() });
        }
        if name.chars().count() > LONGEST_NAME {
            let begin: String = name.chars().take(SHOWN_OF_A_NAME).collect();
            return Err(PartError::LongName { begin, most: LONGEST_NAME });
        }
        self.name = Some(name.trim().into());
        Ok(self)
    }

    /// The name of the number of this part that a word stands for. Errors: an unknown word lists the known ones.
    pub fn id_of(&self, word: &str) -> Result<Id, PartError> {
        Id::of(word).filter(|id| self.spec().has(*id)).ok_or_else(|| self.unknown(word))
    }

    /// The SI value of a number; NaN when it is not given, or the part has no such number.
    #[inline]
    pub fn value(&self, id: Id) -> f64 {
        self.kind.place_of(id).map_or(f64::NAN, |place| self.values[place])
    }

    /// The SI value of a number, if it is given.
    pub fn si(&self, id: Id) -> Option<f64> {
        Some(self.value(id)).filter(|value| !value.is_nan())
    }

    /// A number as a quantity. Errors: the part has no such number, or it is not given.
    pub fn get(&self, id: Id) -> Result<Quantity, PartError> {
        self.place_of(id)?;
        self.quantity(id).ok_or_else(|| PartError::NotGiven { part: self.title(), number: id })
    }

    /// A number as a quantity, if it is given.
    pub fn quantity(&self, id: Id) -> Option<Quantity> {
        let place = self.kind.place_of(id)?;
        let value = self.values[place];
        (!value.is_nan()).then_some(Quantity { si: value, dimension: id.dimension(), preference: self.preferences[place] })
    }

    /// Sets a number and checks the part as a whole; the part is unchanged after an error.
    pub fn set(&mut self, id: Id, value: Quantity) -> Result<(), PartError> {
        let before = self.clone();
        let result = self.put(id, value).and_then(|()| (self.spec().check)(self));
        if result.is_err() {
            *self = before;
        }
        result
    }

    /// Sets several numbers at once, for pairs that only make sense together.
    pub fn with(mut self, numbers: &[(Id, Quantity)]) -> Result<Part, PartError> {
        for (id, value) in numbers {
            self.put(*id, *value)?;
        }
        (self.spec().check)(&self)?;
        Ok(self)
    }

    /// Sets a number in SI, and checks range and part; for sweeps. After an error the part keeps the refused value: set another
    /// before using it.
    ///
    /// Errors: the part has no such number, or refuses the value.
    pub fn set_si(&mut self, id: Id, si: f64) -> Result<(), PartError> {
        let place = self.place_of(id)?;
        self.values[place] = si;
        if !self.spec().numbers[place].rule.allows(si) {
            return Err(self.out_of_range(place, Quantity { si, dimension: id.dimension(), preference: self.preferences[place] }));
        }
        (self.spec().check)(self)
    }

    /// The curve of a booster.
    pub fn curve(&self) -> Option<&Arc<Curve>> {
        self.curve.as_ref()
    }

    /// The same part with a curve; the points are pairs of flow (m3/s) and rise (Pa).
    pub fn with_curve(self, points: &[(f64, f64)]) -> Result<Part, PartError> {
        let curve = Curve::new(points).map_err(|error| PartError::Curve { part: self.title(), error })?;
        Ok(self.running_on(curve))
    }

    /// The same part with a curve that is there already.
    pub fn running_on(self, curve: Curve) -> Part {
        Part { curve: Some(Arc::new(curve)), ..self }
    }

    /// The rated table of a head.
    pub fn table(&self) -> Option<&Arc<FlowTable>> {
        self.table.as_ref()
    }

    /// The same part with a rated table; the points are pairs of pressure (Pa) and flow (m3/s).
    pub fn with_table(mut self, points: &[(f64, f64)]) -> Result<Part, PartError> {
        if self.kind != Kind::Head {
            let what = "a table of pressure and flow belongs to a head".to_string();
            return Err(contradiction(&self, what, "give a booster its points in booster([[flow, rise], ...])"));
        }
        let table = FlowTable::new(points).map_err(|error| PartError::Table { part: self.title(), error })?;
        self.table = Some(Arc::new(table));
        Ok(self)
    }

    /// What a soaker loses from its start to its last outlet, Pa, for a pressure there, in water of 15 degC.
    pub fn soaker_loss_pa(&self, end_pa: f64) -> Option<f64> {
        (self.kind == Kind::Soaker).then(|| {
            let around = Around { water: Water::default(), bore_m: f64::NAN };
            soaker::line(self, &around).from_end(end_pa).0 - end_pa
        })
    }

    /// The law of this part among its surroundings.
    pub fn law(&self, around: &Around) -> Law {
        (self.spec().law)(self, around)
    }

    /// Its numbers that are given, with their specs.
    pub fn given(&self) -> impl Iterator<Item = (&'static Number, Quantity)> + '_ {
        self.spec().numbers.iter().filter_map(|number| Some((number, self.quantity(number.id)?)))
    }

    fn put(&mut self, id: Id, value: Quantity) -> Result<(), PartError> {
        let place = self.place_of(id)?;
        let dimension = id.dimension();
        if value.dimension != dimension {
            return Err(PartError::WrongDimension { part: self.title(), number: id, found: value });
        }
        if !self.spec().numbers[place].rule.allows(value.si) {
            return Err(self.out_of_range(place, value));
        }
        self.values[place] = value.si;
        if value.preference != Preference::Usual {
            self.preferences[place] = value.preference;
        }
        Ok(())
    }

    /// Where a number stands. Errors: the part has none of this name.
    fn place_of(&self, id: Id) -> Result<usize, PartError> {
        self.kind.place_of(id).ok_or_else(|| self.unknown(id.word()))
    }

    fn unknown(&self, word: &str) -> PartError {
        let known = self.spec().numbers.iter().map(Number::name).collect();
        PartError::UnknownNumber { part: self.title(), number: word.to_string(), known }
    }

    fn out_of_range(&self, place: usize, found: Quantity) -> PartError {
        let number = &self.spec().numbers[place];
        PartError::OutOfRange {
            part: self.title(),
            number: number.id,
            rule: number.rule.words_for(found.si),
            found: found.to_string(),
        }
    }
}

/// A check for parts whose numbers stand alone.
pub(super) fn no_check(_: &Part) -> Result<(), PartError> {
    Ok(())
}
