//! What a parameter of a part is: its name, range and meaning.

use super::id::Id;
use crate::quantity::{Dimension, Preference};

/// The range of a parameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rule {
    /// Any finite value.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// Above zero, at most one.
    Share,
    /// Above zero, at most ten: a number times another.
    Ratio,
    /// From a thousandth of a millimeter to a meter: what water runs through. Wider ones are mistakes of the unit.
    Diameter,
}

/// The narrowest and the widest diameter of a part, m.
const NARROWEST_BORE_M: f64 = 1e-6;
const WIDEST_BORE_M: f64 = 1.0;

/// Sizes, in SI units, with which the laws of parts stay finite: far beyond any garden.
const SMALLEST: f64 = 1e-30;
const LARGEST: f64 = 1e15;

impl Rule {
    /// True when the value keeps the rule; never for NaN, infinity, and sizes beyond any calculation.
    pub fn allows(self, value: f64) -> bool {
        self.allows_all(&[value])
    }

    /// True when all of the values keep the rule.
    pub fn allows_all(self, values: &[f64]) -> bool {
        let least = match self {
            Rule::Any => -LARGEST,
            Rule::NotNegative => 0.0,
            Rule::Positive | Rule::Share | Rule::Ratio => SMALLEST,
            Rule::Diameter => NARROWEST_BORE_M,
        };
        let most = self.most();
        // Without a branch, many are looked at side by side.
        values.iter().fold(true, |all, &value| all & (value >= least) & (value <= most) & is_of_this_world(value))
    }

    /// The value that diameters must have at least, m; zero for every other rule, which itself breaks some of them.
    pub fn least(self) -> f64 {
        if self == Rule::Diameter { NARROWEST_BORE_M } else { 0.0 }
    }

    /// The largest value that keeps the rule, SI: for most rules a bound that only keeps laws finite.
    pub fn most(self) -> f64 {
        match self {
            Rule::Any | Rule::Positive | Rule::NotNegative => LARGEST,
            Rule::Share => 1.0,
            Rule::Ratio => 10.0,
            Rule::Diameter => WIDEST_BORE_M,
        }
    }

    /// The rule in words, to follow "must be".
    pub fn words(self) -> &'static str {
        match self {
            Rule::Any => "a finite number",
            Rule::Positive => "above zero",
            Rule::NotNegative => "zero or above",
            Rule::Share => "above 0 and at most 1",
            Rule::Ratio => "above 0 and at most 10",
            Rule::Diameter => "from 0.001 mm to 1 m (39 in)",
        }
    }

    /// What a value that breaks the rule must be, to follow "must be".
    pub fn words_for(self, value: f64) -> &'static str {
        let beyond = !is_of_this_world(value) && value.is_finite();
        if beyond && self != Rule::Diameter { "within the range of calculation" } else { self.words() }
    }
}

fn is_of_this_world(value: f64) -> bool {
    (value == 0.0) | ((value.abs() >= SMALLEST) & (value.abs() <= LARGEST))
}

/// Where a part stands in the plan, for parts that are seen from above.
pub(super) const PLACE_X: Parameter = Parameter::new(Id::X, "ft", Rule::Any, "position in the plan, to the right");
pub(super) const PLACE_Y: Parameter = Parameter::new(Id::Y, "ft", Rule::Any, "position in the plan, upward");

/// A parameter of a kind of part.
#[derive(Clone, Copy, Debug)]
pub struct Parameter {
    /// Its name, which brings its dimension.
    pub id: Id,
    /// The unit it is shown in when nobody wrote one.
    pub unit: &'static str,
    /// The range that SI values must keep.
    pub rule: Rule,
    /// The SI value where none is given; without one the parameter stays "not given".
    pub default: Option<f64>,
    /// What it is, in one line.
    pub help: &'static str,
}

impl Parameter {
    /// A parameter without a default.
    pub const fn new(id: Id, unit: &'static str, rule: Rule, help: &'static str) -> Parameter {
        Parameter { id, unit, rule, default: None, help }
    }

    /// The same parameter with a default, in SI.
    pub const fn or(self, default_si: f64) -> Parameter {
        Parameter { default: Some(default_si), ..self }
    }

    /// The name by which scripts read and set it.
    pub const fn name(&self) -> &'static str {
        self.id.word()
    }

    /// The unit in which it is shown where nobody gave one.
    pub fn preference(&self) -> Preference {
        Preference::written_in(self.unit)
    }

    /// What it measures; the same in every kind of part.
    pub const fn dimension(&self) -> Dimension {
        self.id.dimension()
    }
}

/// Shorthand for the specs.
pub(super) const ANY: Rule = Rule::Any;
pub(super) const POSITIVE: Rule = Rule::Positive;
pub(super) const OF_DIAMETER: Rule = Rule::Diameter;
pub(super) const NOT_NEGATIVE: Rule = Rule::NotNegative;

/// The parameters of a kind of part, each found without a search.
#[derive(Clone, Copy, Debug)]
pub struct Parameters {
    list: &'static [Parameter],
    places: Places,
}

impl Parameters {
    /// Parameters in the order in which they are shown. A list that names one twice does not compile.
    pub const fn of(list: &'static [Parameter]) -> Parameters {
        Parameters { list, places: Places::of(list) }
    }

    /// Where a parameter stands in the list, if the kind has it.
    #[inline]
    pub fn place_of(&self, id: Id) -> Option<usize> {
        self.places.find(id)
    }
}

impl std::ops::Deref for Parameters {
    type Target = [Parameter];

    fn deref(&self) -> &[Parameter] {
        self.list
    }
}

/// Stands in a table of places for a parameter that a kind does not have.
const ABSENT: u8 = u8::MAX;

/// Where each parameter is in the list of a kind, so that it is found without a search.
#[derive(Clone, Copy, Debug)]
struct Places([u8; Id::ALL.len()]);

impl Places {
    /// The places in a list. A list that names a parameter twice does not compile.
    const fn of(parameters: &[Parameter]) -> Places {
        let mut places = [ABSENT; Id::ALL.len()];
        let mut index = 0;
        while index < parameters.len() {
            let id = parameters[index].id as usize;
            assert!(places[id] == ABSENT, "a parameter occurs twice in the list of a part");
            places[id] = index as u8;
            index += 1;
        }
        Places(places)
    }

    #[inline]
    fn find(&self, id: Id) -> Option<usize> {
        let place = self.0[id as usize];
        (place != ABSENT).then_some(place as usize)
    }
}
