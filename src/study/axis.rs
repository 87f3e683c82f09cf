//! One axis of a study: a number, a part or zones, and the values it runs through.

use super::random::{Distribution, Samples};
use crate::moment::Moment;
use crate::parts::Part;
use crate::quantity::{Dimension, Preference, Quantity};
use crate::told::Told;
use crate::unit_system::{chosen, example};
use std::ops::Range;
use thiserror::Error;

/// The values of an axis.
#[derive(Clone, Debug)]
pub enum AxisValues {
    /// Values of a number, SI, all of one dimension.
    Quantities {
        /// The values, SI.
        si: Vec<f64>,
        /// What they are.
        dimension: Dimension,
        /// The unit in which they are shown.
        preference: Preference,
    },
    /// Parts that take turns in one place.
    Parts(Vec<Part>),
    /// Texts, for axes of a closure and for names of soils and crops.
    Texts(Vec<String>),
    /// Days and moments.
    Dates(Vec<Moment>),
    /// Zones that run together, taking turns.
    Zones(Vec<Vec<String>>),
    /// Samples of a distribution, computed when they are asked for.
    Drawn {
        /// What the samples are drawn from.
        distribution: Distribution,
        /// How many are drawn, from which seed, spread how.
        samples: Samples,
        /// Which of the axes that are drawn it is, counted from 0: each draws numbers of its own.
        stream: usize,
    },
}

/// Something that varies.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The path of a number such as `feed.length`, the name of a part, or a free name.
    pub name: String,
    /// What it takes one after another.
    pub values: AxisValues,
}

/// What can be wrong with an axis.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum AxisError {
    /// An axis was given an empty list.
    #[error("the axis '{name}' has no values")]
    Empty {
        /// Name of the axis.
        name: String,
    },
    /// An axis has values of two dimensions.
    #[error("the axis '{name}' mixes {first} and {other}")]
    Mixed {
        /// Name of the axis.
        name: String,
        /// Its first value, in words.
        first: String,
        /// The value that does not go with it, in words.
        other: String,
    },
    /// An axis has a value that is infinite or not a number.
    #[error("the axis '{name}' has a value that is not finite")]
    NotFinite {
        /// Name of the axis.
        name: String,
    },
    /// Two axes of one grid have the same name.
    #[error("two axes are called '{name}'")]
    Twice {
        /// The name that both have.
        name: String,
    },
    /// The axes make more cases than a grid may have.
    #[error("the grid has {cases} cases; at most {most} fit")]
    TooMany {
        /// How many they make, in words.
        cases: String,
        /// How many it may have.
        most: usize,
    },
    /// Axes that go in step have different numbers of values.
    #[error("zipped axes need the same number of values: '{name}' has {found}, '{first}' has {expected}")]
    Unpaired {
        /// Name of the axis that differs.
        name: String,
        /// How many values it has.
        found: usize,
        /// Name of the first of the axes.
        first: String,
        /// How many values that one has.
        expected: usize,
    },
    /// An axis was to be added after cases had been left out.
    #[error("the cases are already filtered, so no further axis can be added")]
    AlreadyChosen,
    /// All cases of a grid were left out.
    #[error("no case is left")]
    NoneLeft,
    /// Cases were to be kept by a list that has not one answer for each.
    #[error("{answers} answers for {cases} cases")]
    Answers {
        /// How many answers the list has.
        answers: usize,
        /// How many cases there are.
        cases: usize,
    },
    /// Samples were asked for, and no axis has a distribution.
    #[error("samples: no axis has a distribution")]
    NothingDrawn,
    /// Fewer than one sample was asked for.
    #[error("samples: there must be at least one, found {found}")]
    NoSamples {
        /// How many were asked for.
        found: i64,
    },
    /// Two axes both name the zones that run.
    #[error("the zones vary along one axis only")]
    ZonesTwice,
    /// A step is not above zero, or no finite number of steps leads to the end.
    #[error("steps from {from} to {to}: the step {by} does not reach the end")]
    NeverArrives {
        /// The first value, with its unit.
        from: String,
        /// The last value, with its unit.
        to: String,
        /// The step, with its unit.
        by: String,
    },
    /// The steps are so small that there are more values than an axis may have.
    #[error("steps from {from} to {to} by {by} make {count} values; at most {most} fit")]
    TooManySteps {
        /// The first value, with its unit.
        from: String,
        /// The last value, with its unit.
        to: String,
        /// The step, with its unit.
        by: String,
        /// How many values they make, in words.
        count: String,
        /// How many an axis may have.
        most: usize,
    },
    /// First value, last value and step are not of one dimension.
    #[error("steps need three quantities of one dimension, found {found}")]
    StepDimensions {
        /// The three, in words.
        found: String,
    },
}

impl Told for AxisError {
    fn hint(&self) -> Option<String> {
        match self {
            AxisError::Empty { .. } => Some(chosen("give a list of values, or steps({25.ft, 300.ft, 25.ft|10.m, 100.m, 10.m})")),
            AxisError::Unpaired { .. } => Some("give every list the same length".into()),
            AxisError::AlreadyChosen => Some("call filter(...) last, after all axes".into()),
            AxisError::NoneLeft => Some("let the closure of filter(...) give true for at least one case".into()),
            AxisError::NothingDrawn => Some("vary a parameter by normal(...), between(...) or triangular(...) first".into()),
            AxisError::Twice { .. } => Some("a parameter can vary along one axis only".into()),
            AxisError::StepDimensions { .. } => Some(example(
                "give each a unit, as in steps(50.ft, 300.ft, 50.ft)",
                "give each a unit, as in steps(10.m, 100.m, 10.m)",
            )),
            AxisError::TooMany { .. } | AxisError::TooManySteps { .. } => Some("use larger steps or fewer axes".into()),
            AxisError::NeverArrives { .. } => Some("the step must lead from the first value to the last".into()),
            _ => None,
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            AxisError::NeverArrives { .. } => Some("by".into()),
            AxisError::NoSamples { .. } => Some("n".into()),
            _ => None,
        }
    }
}

/// The longest list of steps.
const MOST_STEPS: usize = 1_000_000;

impl Axis {
    /// An axis of quantities. Errors: no values, mixed dimensions, or a value that is not finite.
    pub fn of_quantities(name: &str, values: &[Quantity]) -> Result<Axis, AxisError> {
        let name = name.to_string();
        let Some(first) = values.first() else { return Err(AxisError::Empty { name }) };
        for value in values {
            if value.dimension != first.dimension {
                return Err(AxisError::Mixed { name, first: first.described(), other: value.described() });
            }
            if !value.si.is_finite() {
                return Err(AxisError::NotFinite { name });
            }
        }
        let si = values.iter().map(|value| value.si).collect();
        Ok(Axis { name, values: AxisValues::Quantities { si, dimension: first.dimension, preference: first.preference } })
    }

    /// An axis of parts. Errors: no values.
    pub fn of_parts(name: &str, parts: Vec<Part>) -> Result<Axis, AxisError> {
        if parts.is_empty() {
            return Err(AxisError::Empty { name: name.to_string() });
        }
        Ok(Axis { name: name.to_string(), values: AxisValues::Parts(parts) })
    }

    /// An axis of zones that take turns. Errors: none at all.
    pub fn of_zones(zones: Vec<Vec<String>>) -> Result<Axis, AxisError> {
        let name = ZONES.to_string();
        if zones.is_empty() {
            return Err(AxisError::Empty { name });
        }
        Ok(Axis { name, values: AxisValues::Zones(zones) })
    }

    /// How many values it has.
    pub fn len(&self) -> usize {
        match &self.values {
            AxisValues::Zones(zones) => zones.len(),
            AxisValues::Drawn { samples, .. } => samples.n,
            AxisValues::Quantities { si, .. } => si.len(),
            AxisValues::Parts(parts) => parts.len(),
            AxisValues::Texts(texts) => texts.len(),
            AxisValues::Dates(dates) => dates.len(),
        }
    }

    /// True where it has no values, which no axis of a grid may have.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// A value in SI, for axes of quantities.
    pub fn si(&self, index: usize) -> Option<f64> {
        match &self.values {
            AxisValues::Quantities { si, .. } => Some(si[index]),
            AxisValues::Drawn { distribution, samples, stream } => Some(distribution.quantile(samples.uniform(index, *stream))),
            _ => None,
        }
    }

    /// Some values that follow each other, SI, for axes of quantities; `out` has as many places, and keeps what it has for other axes.
    pub fn si_of(&self, indices: Range<usize>, out: &mut [f64]) {
        match &self.values {
            AxisValues::Quantities { si, .. } => out.copy_from_slice(&si[indices]),
            AxisValues::Drawn { distribution, samples, stream } => samples.values(distribution, indices, *stream, out),
            _ => {}
        }
    }

    /// Dimension and unit, for axes of quantities.
    pub fn kind(&self) -> Option<(Dimension, Preference)> {
        match &self.values {
            AxisValues::Quantities { dimension, preference, .. } => Some((*dimension, *preference)),
            AxisValues::Drawn { distribution, .. } => Some((distribution.dimension, distribution.preference)),
            _ => None,
        }
    }

    /// A value as a quantity, for axes of quantities.
    pub fn quantity(&self, index: usize) -> Option<Quantity> {
        let (dimension, preference) = self.kind()?;
        Some(Quantity { si: self.si(index)?, dimension, preference })
    }

    /// How a value is called in a table: parts by their names or else their number, zones joined by a plus.
    pub fn label(&self, index: usize) -> String {
        match &self.values {
            AxisValues::Parts(parts) => {
                parts[index].name().map_or_else(|| format!("{} {}", parts[index].spec().word, index + 1), str::to_string)
            }
            AxisValues::Texts(texts) => texts[index].clone(),
            AxisValues::Dates(dates) => dates[index].to_string(),
            AxisValues::Zones(zones) => zones[index].join(" + "),
            AxisValues::Quantities { .. } | AxisValues::Drawn { .. } => {
                self.quantity(index).map_or_else(String::new, |quantity| quantity.to_string())
            }
        }
    }

    /// The axis in a line, for people.
    pub fn in_words(&self) -> String {
        match &self.values {
            AxisValues::Drawn { distribution, .. } => format!("{}: {distribution}", self.name),
            _ if self.len() == 1 => format!("{}: {}", self.name, self.label(0)),
            _ => format!("{}: {} values from {} to {}", self.name, self.len(), self.label(0), self.label(self.len() - 1)),
        }
    }
}

/// The name of the axis of zones.
pub const ZONES: &str = "zones";

/// Values from `from` to `to`, both included where the step meets the end to a millionth of itself.
///
/// Errors: mixed dimensions, a step that leads away, or too many values.
pub fn steps(from: Quantity, to: Quantity, by: Quantity) -> Result<Vec<Quantity>, AxisError> {
    let absolute = from.dimension.absolute;
    let by_fits = by.dimension == from.dimension || (absolute && by.dimension == crate::quantity::dim::TEMPERATURE_DIFFERENCE);
    if from.dimension != to.dimension || !by_fits {
        return Err(AxisError::StepDimensions {
            found: format!("{}, {} and {}", from.described(), to.described(), by.described()),
        });
    }
    let words = || (from.to_string(), to.to_string(), by.to_string());
    let step = by.si.abs() * if to.si >= from.si { 1.0 } else { -1.0 };
    let count = (to.si - from.si) / step;
    if by.si <= 0.0 || !count.is_finite() {
        let (from, to, by) = words();
        return Err(AxisError::NeverArrives { from, to, by });
    }
    let last = (count + 1e-6).floor();
    if last + 1.0 > MOST_STEPS as f64 {
        let (from, to, by) = words();
        return Err(AxisError::TooManySteps { from, to, by, count: format!("{}", last + 1.0), most: MOST_STEPS });
    }
    let last = last as usize;
    Ok((0..=last).map(|index| Quantity { si: from.si + index as f64 * step, ..from }).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::find_unit;

    fn ft(value: f64) -> Quantity {
        Quantity::written(value, find_unit("ft").expect("ft"))
    }

    #[test]
    fn steps_include_both_ends_and_go_down_as_well() {
        let up: Vec<String> = steps(ft(25.0), ft(100.0), ft(25.0)).expect("steps").iter().map(Quantity::to_string).collect();
        assert_eq!(up, ["25 ft", "50 ft", "75 ft", "100 ft"]);
        assert_eq!(steps(ft(1.0), ft(0.0), ft(0.1)).expect("steps").len(), 11);
        assert_eq!(steps(ft(1.0), ft(1.0), ft(0.1)).expect("steps").len(), 1);
        assert!(matches!(steps(ft(0.0), ft(1.0), ft(0.0)), Err(AxisError::NeverArrives { .. })));
        assert!(matches!(steps(ft(0.0), ft(1.0), ft(-0.1)), Err(AxisError::NeverArrives { .. })));
        // A list holds a million values: both ends count.
        assert_eq!(steps(ft(1.0), ft(1e6), ft(1.0)).map(|values| values.len()).ok(), Some(1_000_000));
        assert!(matches!(steps(ft(0.0), ft(1e6), ft(1.0)), Err(AxisError::TooManySteps { count, .. }) if count == "1000001"));
        assert!(matches!(steps(ft(0.0), ft(1.0), ft(1e-9)), Err(AxisError::TooManySteps { .. })));
    }
}
