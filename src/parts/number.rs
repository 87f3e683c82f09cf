//! What a number of a part is: its name, dimension, range and meaning.

use crate::quantity::Dimension;

/// The range a number must keep.
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
    /// Above zero, at most a metre: what water runs through. Wider ones are slips of the unit.
    Bore,
}

/// The widest bore of a part, m.
const WIDEST_BORE_M: f64 = 1.0;

impl Rule {
    /// True when the value keeps the rule; never for NaN or infinity.
    pub fn allows(self, value: f64) -> bool {
        value.is_finite()
            && match self {
                Rule::Any => true,
                Rule::Positive => value > 0.0,
                Rule::NotNegative => value >= 0.0,
                Rule::Share | Rule::Bore => value > 0.0 && value <= self.most(),
            }
    }

    /// The largest value that keeps the rule.
    pub fn most(self) -> f64 {
        match self {
            Rule::Any | Rule::Positive | Rule::NotNegative => f64::INFINITY,
            Rule::Share => 1.0,
            Rule::Bore => WIDEST_BORE_M,
        }
    }

    /// The rule in words, to follow "must be".
    pub fn words(self) -> &'static str {
        match self {
            Rule::Any => "a finite number",
            Rule::Positive => "above zero",
            Rule::NotNegative => "zero or above",
            Rule::Share => "above 0 and at most 1",
            Rule::Bore => "above zero and at most 1 m (39 in)",
        }
    }
}

/// Where a part stands in the plan, for parts that are seen from above.
pub(super) const PLACE_X: Number =
    Number::new("x", crate::quantity::dim::LENGTH, "ft", Rule::Any, "place in the plan, to the right");
pub(super) const PLACE_Y: Number = Number::new("y", crate::quantity::dim::LENGTH, "ft", Rule::Any, "place in the plan, upwards");

/// A number of a part.
#[derive(Clone, Copy, Debug)]
pub struct Number {
    /// The name by which scripts read and set it.
    pub name: &'static str,
    pub dimension: Dimension,
    /// The unit it is shown in when nobody wrote one.
    pub unit: &'static str,
    pub rule: Rule,
    /// The SI value when nothing is said; nothing means "not given".
    pub default: Option<f64>,
    /// One line for help and reference.
    pub about: &'static str,
}

impl Number {
    /// A number that is not given unless somebody says so.
    pub const fn new(name: &'static str, dimension: Dimension, unit: &'static str, rule: Rule, about: &'static str) -> Number {
        Number { name, dimension, unit, rule, default: None, about }
    }

    /// The same number with a default, in SI.
    pub const fn or(self, default_si: f64) -> Number {
        Number { default: Some(default_si), ..self }
    }
}

/// Shorthand for the specs.
pub(super) const ANY: Rule = Rule::Any;
pub(super) const POSITIVE: Rule = Rule::Positive;
pub(super) const OF_BORE: Rule = Rule::Bore;
pub(super) const NOT_NEGATIVE: Rule = Rule::NotNegative;
