//! The axes of a study: which numbers or parts vary, and through which values. Several axes make a grid.

use crate::parts::Part;
use crate::quantity::{Dimension, Preference, Quantity};
use thiserror::Error;

/// The values of an axis.
#[derive(Clone, Debug)]
pub enum AxisValues {
    /// Values of a number, SI, all of one dimension.
    Quantities { si: Vec<f64>, dimension: Dimension, preference: Preference },
    /// Parts that take turns in one place.
    Parts(Vec<Part>),
    /// Texts, for axes of a closure.
    Texts(Vec<String>),
}

/// Something that varies.
#[derive(Clone, Debug)]
pub struct Axis {
    /// The path of a number such as `feed.length`, the name of a part, or a free name.
    pub name: String,
    pub values: AxisValues,
}

/// Axes that together make a grid; the last one runs fastest.
#[derive(Clone, Debug, Default)]
pub struct Axes {
    axes: Vec<Axis>,
}

/// What can be wrong with an axis.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum AxisError {
    #[error("the axis '{name}' has no values")]
    Empty { name: String },
    #[error("the axis '{name}' mixes {first} and {other}")]
    Mixed { name: String, first: String, other: String },
    #[error("the axis '{name}' has a value that is not finite")]
    NotFinite { name: String },
    #[error("two axes are called '{name}'")]
    Twice { name: String },
    #[error("the grid has {cases} cases; at most {most} fit")]
    TooMany { cases: String, most: usize },
    #[error("steps from {from} to {to} by {by} never arrive")]
    NeverArrives { from: String, to: String, by: String },
    #[error("steps from {from} to {to} by {by} make {count} values; at most {most} fit")]
    TooManySteps { from: String, to: String, by: String, count: String, most: usize },
    #[error("steps need three quantities of one dimension, found {found}")]
    StepDimensions { found: String },
}

impl AxisError {
    /// What to do about it.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            AxisError::Empty { .. } => Some("give a list of values, or steps(25.ft, 300.ft, 25.ft)"),
            AxisError::Twice { .. } => Some("a number can vary along one axis only"),
            AxisError::TooMany { .. } | AxisError::TooManySteps { .. } => Some("take larger steps or fewer axes"),
            AxisError::NeverArrives { .. } => Some("the step must be above zero and lead from the first value towards the last"),
            _ => None,
        }
    }
}

/// The largest grid, in cases.
const MOST_CASES: usize = 100_000_000;
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

    pub fn len(&self) -> usize {
        match &self.values {
            AxisValues::Quantities { si, .. } => si.len(),
            AxisValues::Parts(parts) => parts.len(),
            AxisValues::Texts(texts) => texts.len(),
        }
    }

    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// A value as a quantity, for axes of quantities.
    pub fn quantity(&self, index: usize) -> Option<Quantity> {
        match &self.values {
            AxisValues::Quantities { si, dimension, preference } => {
                Some(Quantity { si: si[index], dimension: *dimension, preference: *preference })
            }
            _ => None,
        }
    }

    /// How a value is called in a table: parts by their names or else their number.
    pub fn label(&self, index: usize) -> String {
        match &self.values {
            AxisValues::Parts(parts) => {
                parts[index].name().map_or_else(|| format!("{} {}", parts[index].spec().word, index + 1), str::to_string)
            }
            AxisValues::Texts(texts) => texts[index].clone(),
            AxisValues::Quantities { .. } => self.quantity(index).map_or_else(String::new, |quantity| quantity.to_string()),
        }
    }
}

impl Axes {
    /// These axes and one more. Errors: a name that stands twice, or a grid that is too large.
    pub fn and(mut self, axis: Axis) -> Result<Axes, AxisError> {
        if self.axes.iter().any(|known| known.name == axis.name) {
            return Err(AxisError::Twice { name: axis.name });
        }
        self.axes.push(axis);
        let cases: f64 = self.axes.iter().map(|axis| axis.len() as f64).product();
        if cases > MOST_CASES as f64 {
            return Err(AxisError::TooMany { cases: format!("{cases:.0}"), most: MOST_CASES });
        }
        Ok(self)
    }

    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// The number of cases of the grid.
    pub fn cases(&self) -> usize {
        self.axes.iter().map(Axis::len).product()
    }

    /// Which value each axis has in a case; the last axis runs fastest.
    pub fn indices(&self, case: usize, indices: &mut [usize]) {
        let mut rest = case;
        for (axis, index) in self.axes.iter().zip(indices.iter_mut()).rev() {
            *index = rest % axis.len();
            rest /= axis.len();
        }
    }
}

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
    if count > MOST_STEPS as f64 {
        let (from, to, by) = words();
        return Err(AxisError::TooManySteps { from, to, by, count: format!("{count:.0}"), most: MOST_STEPS });
    }
    let last = (count + 1e-6).floor() as usize;
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
        assert!(matches!(steps(ft(0.0), ft(1.0), ft(1e-9)), Err(AxisError::TooManySteps { .. })));
    }

    #[test]
    fn the_last_axis_runs_fastest() {
        let axis = |name: &str, n: usize| Axis::of_quantities(name, &vec![ft(1.0); n]).expect("an axis");
        let axes = Axes::default().and(axis("a", 2)).and_then(|axes| axes.and(axis("b", 3))).expect("axes");
        let mut indices = [0, 0];
        axes.indices(4, &mut indices);
        assert_eq!((axes.cases(), indices), (6, [1, 1]));
        assert_eq!(axes.and(axis("a", 1)).unwrap_err(), AxisError::Twice { name: "a".into() });
    }
}
