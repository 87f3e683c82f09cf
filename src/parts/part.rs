//! The part itself: a kind, its numbers, a name, and for a booster its curve.

use super::booster::{Curve, CurveError};
use super::flow_table::{FlowTable, TableError};
use super::number::{Number, Rule};
use super::{booster, hose, inline, outlets, soaker, source, storage};
use crate::laws::friction::PipeFriction;
use crate::laws::hazen_williams::HazenWilliams;
use crate::nearest::did_you_mean;
use crate::quantity::{Preference, Quantity, find_unit};
use crate::water::Water;
use std::sync::Arc;
use thiserror::Error;

/// The kinds of parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Supply,
    OpenTank,
    Hose,
    Pipe,
    Fitting,
    Filter,
    Meter,
    Washer,
    Climb,
    Valve,
    CheckValve,
    Regulator,
    Relief,
    Booster,
    PressureSwitch,
    PressureTank,
    Head,
    Emitter,
    Soaker,
    Draw,
    Leak,
    Backflow,
    Point,
}

/// How a part sits in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// It starts a line: water comes from it.
    Source,
    /// Water flows through it.
    Inline,
    /// Water leaves the garden by it; the line may go on past it.
    Outlet,
    /// It sits at a point of the line and takes no water in a steady state.
    AtPoint,
}

/// What a kind is: one constant in its file, the only home of these facts.
pub struct Spec {
    /// The word for it in scripts, names and messages.
    pub word: &'static str,
    pub about: &'static str,
    pub placing: Placing,
    pub numbers: &'static [Number],
    /// Checks that concern more than one number.
    pub check: fn(&Part) -> Result<(), PartError>,
    /// The law in numbers, for water and surroundings as given.
    pub law: fn(&Part, &Around) -> Law,
}

/// What a law needs to know of the surroundings of its part.
#[derive(Clone, Copy, Debug)]
pub struct Around {
    pub water: Water,
    /// Bore of the nearest hose, for parts that do not say their own.
    pub bore_m: f64,
}

/// The law of a part with its numbers filled in. Pressures in Pa, flows in m3/s.
#[derive(Clone, Debug)]
pub enum Law {
    /// No loss.
    Free,
    /// Pipe friction and a minor loss: dp = friction(q) + resistance q|q|.
    Friction { pipe: PipeFriction, resistance: f64 },
    /// Hazen-Williams friction and a minor loss.
    HazenWilliams { pipe: HazenWilliams, resistance: f64 },
    /// dp = resistance q|q|.
    Quadratic { resistance: f64 },
    /// dp = rise_pa, whatever the flow.
    Climb { rise_pa: f64 },
    /// As quadratic, but never backwards, and only above the cracking pressure.
    OneWay { resistance: f64, cracking_pa: f64 },
    /// Holds `set_pa` behind it, or is wide open with the quadratic loss, or shut.
    Regulator { resistance: f64, set_pa: f64 },
    /// Adds the rise of its curve while it runs, flows through freely otherwise.
    Booster { curve: Arc<Curve> },
    /// Gives pressure_pa - resistance q|q| at its outlet.
    Source { pressure_pa: f64, resistance: f64 },
    /// Discharges with P = resistance q^2, dry at or below zero.
    Orifice { resistance: f64 },
    /// A nozzle behind a regulator of its own: what it feels is held at `set_pa`.
    RegulatedOrifice { resistance: f64, set_pa: f64 },
    /// Discharges by points of pressure and flow, dry at or below zero.
    Tabulated { table: Arc<FlowTable> },
    /// Discharges q = coefficient P^exponent, dry at or below zero.
    Power { coefficient: f64, exponent: f64 },
    /// Discharges (P - set_pa) / resistance above its setting, exactly nothing below.
    Relief { set_pa: f64, resistance: f64 },
    /// Takes a given flow.
    Demand { flow_m3_per_s: f64 },
    /// Lets nothing through.
    Shut,
}

/// Characters of the name of a part.
const LONGEST_NAME: usize = 100;

/// What can be wrong with a part.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum PartError {
    #[error("{part}: {number} must be {rule}, found {found}")]
    OutOfRange { part: String, number: &'static str, rule: &'static str, found: String },
    #[error("{part}: {number} must be {expected}, found {found}")]
    WrongDimension { part: String, number: &'static str, expected: String, found: String, inverse: bool },
    #[error("the name '{begin}...' is too long; at most {most} signs fit")]
    LongName { begin: String, most: usize },
    #[error("{part} has no number '{number}'")]
    UnknownNumber { part: String, number: String, known: Vec<&'static str> },
    #[error("{part}: {number} is not given")]
    NotGiven { part: String, number: &'static str },
    #[error("{part}: {what}")]
    Contradiction { part: String, what: String, hint: String },
    #[error("{part}: {error}")]
    Curve { part: String, error: CurveError },
    #[error("{part}: {error}")]
    Table { part: String, error: TableError },
    #[error("the name '{name}' cannot be used")]
    BadName { name: String },
}

impl PartError {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            PartError::LongName { .. } => Some("choose a short name, such as \"feed\"".into()),
            PartError::OutOfRange { .. } => None,
            PartError::WrongDimension { inverse: true, .. } => {
                Some("in 5/8.inch the unit binds to the 8 alone; write (5/8).inch".into())
            }
            PartError::WrongDimension { found, .. } if found.contains("plain number") => {
                Some("give it a unit, such as 100.ft, 44.psi or 6.gpm".into())
            }
            PartError::WrongDimension { .. } => None,
            PartError::UnknownNumber { number, known, .. } => {
                let names = known.join(", ");
                Some(did_you_mean(number, known.iter().copied()).unwrap_or_else(|| format!("its numbers are {names}")))
            }
            PartError::NotGiven { number, .. } => Some(format!("say it first, as in .{number} = ...")),
            PartError::Contradiction { hint, .. } => Some(hint.clone()),
            PartError::Curve { error, .. } => Some(error.hint().into()),
            PartError::Table { error, .. } => Some(error.hint().into()),
            PartError::BadName { .. } => {
                Some("a name has at least one character and no dot: dots separate a part from its number".into())
            }
        }
    }
}

impl Kind {
    /// All kinds, in the order of the reference.
    pub const ALL: &'static [Kind] = &[
        Kind::Supply,
        Kind::OpenTank,
        Kind::Hose,
        Kind::Pipe,
        Kind::Fitting,
        Kind::Filter,
        Kind::Meter,
        Kind::Washer,
        Kind::Climb,
        Kind::Valve,
        Kind::CheckValve,
        Kind::Backflow,
        Kind::Regulator,
        Kind::Relief,
        Kind::Booster,
        Kind::PressureSwitch,
        Kind::PressureTank,
        Kind::Head,
        Kind::Emitter,
        Kind::Soaker,
        Kind::Draw,
        Kind::Leak,
        Kind::Point,
    ];

    pub fn spec(self) -> &'static Spec {
        match self {
            Kind::Supply => &source::SUPPLY,
            Kind::OpenTank => &source::OPEN_TANK,
            Kind::Hose => &hose::HOSE,
            Kind::Pipe => &hose::PIPE,
            Kind::Fitting => &inline::FITTING,
            Kind::Filter => &inline::FILTER,
            Kind::Meter => &inline::METER,
            Kind::Washer => &inline::WASHER,
            Kind::Climb => &inline::CLIMB,
            Kind::Valve => &inline::VALVE,
            Kind::CheckValve => &inline::CHECK_VALVE,
            Kind::Backflow => &inline::BACKFLOW_PREVENTER,
            Kind::Regulator => &inline::REGULATOR,
            Kind::Relief => &outlets::RELIEF,
            Kind::Booster => &booster::BOOSTER,
            Kind::PressureSwitch => &storage::PRESSURE_SWITCH,
            Kind::PressureTank => &storage::PRESSURE_TANK,
            Kind::Head => &outlets::HEAD,
            Kind::Emitter => &outlets::EMITTER,
            Kind::Soaker => &soaker::SOAKER,
            Kind::Draw => &outlets::DRAW,
            Kind::Leak => &outlets::LEAK,
            Kind::Point => &storage::POINT,
        }
    }
}

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
    pub fn build(kind: Kind, name: Option<&str>, numbers: &[(&str, Quantity)]) -> Result<Part, PartError> {
        let mut part = Part::new(kind);
        if let Some(name) = name {
            part = part.named(name)?;
        }
        for (number, value) in numbers {
            part.put(number, *value)?;
        }
        (kind.spec().check)(&part)?;
        Ok(part)
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

    /// The same part under a name. Errors: an empty name, a long one or one with a dot is refused.
    pub fn named(mut self, name: &str) -> Result<Part, PartError> {
        if name.trim().is_empty() || name.contains('.') || name.chars().any(char::is_control) {
            return Err(PartError::BadName { name: name.to_string() });
        }
        if name.chars().count() > LONGEST_NAME {
            let begin: String = name.chars().take(20).collect();
            return Err(PartError::LongName { begin, most: LONGEST_NAME });
        }
        self.name = Some(name.trim().into());
        Ok(self)
    }

    /// Where a number stands in the list of the spec. Errors: an unknown name lists the known ones.
    pub fn number_index(&self, name: &str) -> Result<usize, PartError> {
        let numbers = self.spec().numbers;
        numbers.iter().position(|number| number.name == name).ok_or_else(|| PartError::UnknownNumber {
            part: self.title(),
            number: name.to_string(),
            known: numbers.iter().map(|number| number.name).collect(),
        })
    }

    /// The SI value of a number by its place in the spec; NaN when it is not given.
    #[inline]
    pub fn value(&self, index: usize) -> f64 {
        self.values[index]
    }

    /// The SI value of a number, if it is given.
    pub fn si(&self, name: &str) -> Option<f64> {
        let index = self.spec().numbers.iter().position(|number| number.name == name)?;
        let value = self.values[index];
        (!value.is_nan()).then_some(value)
    }

    /// A number as a quantity. Errors: unknown or not given.
    pub fn get(&self, name: &str) -> Result<Quantity, PartError> {
        let index = self.number_index(name)?;
        self.quantity(index).ok_or_else(|| PartError::NotGiven { part: self.title(), number: self.spec().numbers[index].name })
    }

    /// A number by its place in the spec, if it is given.
    pub fn quantity(&self, index: usize) -> Option<Quantity> {
        let value = self.values[index];
        let dimension = self.spec().numbers[index].dimension;
        (!value.is_nan()).then_some(Quantity { si: value, dimension, preference: self.preferences[index] })
    }

    /// Sets a number and checks the part as a whole; the part is unchanged after an error.
    pub fn set(&mut self, name: &str, value: Quantity) -> Result<(), PartError> {
        let before = self.clone();
        let result = self.put(name, value).and_then(|()| (self.spec().check)(self));
        if result.is_err() {
            *self = before;
        }
        result
    }

    /// Sets several numbers at once, for pairs that only make sense together.
    pub fn with(mut self, numbers: &[(&str, Quantity)]) -> Result<Part, PartError> {
        for (name, value) in numbers {
            self.put(name, *value)?;
        }
        (self.spec().check)(&self)?;
        Ok(self)
    }

    /// Sets a number by its place in the spec, in SI, and checks range and part; for sweeps. After an error the part keeps
    /// the refused value: set another before using it.
    pub fn set_si(&mut self, index: usize, si: f64) -> Result<(), PartError> {
        let number = &self.spec().numbers[index];
        self.values[index] = si;
        if !number.rule.allows(si) {
            return Err(
                self.out_of_range(index, Quantity { si, dimension: number.dimension, preference: self.preferences[index] })
            );
        }
        (self.spec().check)(self)
    }

    /// The curve of a booster.
    pub fn curve(&self) -> Option<&Arc<Curve>> {
        self.curve.as_ref()
    }

    /// The same part with a curve; the points are pairs of flow (m3/s) and rise (Pa).
    pub fn with_curve(mut self, points: &[(f64, f64)]) -> Result<Part, PartError> {
        let curve = Curve::new(points).map_err(|error| PartError::Curve { part: self.title(), error })?;
        self.curve = Some(Arc::new(curve));
        Ok(self)
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
            soaker::along(self, &around, end_pa).inlet_pa - end_pa
        })
    }

    /// The law of this part among its surroundings.
    pub fn law(&self, around: &Around) -> Law {
        (self.spec().law)(self, around)
    }

    /// Its numbers that are given, with their specs.
    pub fn given(&self) -> impl Iterator<Item = (&'static Number, Quantity)> + '_ {
        self.spec().numbers.iter().enumerate().filter_map(|(index, number)| Some((number, self.quantity(index)?)))
    }

    fn put(&mut self, name: &str, value: Quantity) -> Result<(), PartError> {
        let index = self.number_index(name)?;
        let number = &self.spec().numbers[index];
        if value.dimension != number.dimension {
            return Err(PartError::WrongDimension {
                part: self.title(),
                number: number.name,
                expected: number.dimension.to_string(),
                found: value.described(),
                inverse: !number.dimension.is_number() && value.dimension == number.dimension.power(-1),
            });
        }
        if !number.rule.allows(value.si) {
            return Err(self.out_of_range(index, value));
        }
        self.values[index] = value.si;
        if value.preference != Preference::Usual {
            self.preferences[index] = value.preference;
        }
        Ok(())
    }

    fn out_of_range(&self, index: usize, found: Quantity) -> PartError {
        let number = &self.spec().numbers[index];
        PartError::OutOfRange { part: self.title(), number: number.name, rule: number.rule.words(), found: found.to_string() }
    }
}

/// A check for parts whose numbers stand alone.
pub(super) fn no_check(_: &Part) -> Result<(), PartError> {
    Ok(())
}

/// The error for two numbers that contradict each other.
pub(super) fn contradiction(part: &Part, what: String, hint: &str) -> PartError {
    PartError::Contradiction { part: part.title(), what, hint: hint.to_string() }
}

/// Shorthand for the specs.
pub(super) const ANY: Rule = Rule::Any;
pub(super) const POSITIVE: Rule = Rule::Positive;
pub(super) const OF_BORE: Rule = Rule::Bore;
pub(super) const NOT_NEGATIVE: Rule = Rule::NotNegative;
