//! What can be wrong with a part, and what to do about it.

use super::curve::CurveError;
use super::flow_table::TableError;
use super::id::Id;
use super::throw::ThrowError;
use crate::nearest::did_you_mean;
use crate::quantity::{Dimension, Quantity, unit_for};
use crate::told::Told;
use crate::unit_system::{chosen, example, units_of_texts};
use std::borrow::Cow;
use std::fmt;
use thiserror::Error;

/// What can be wrong with a part.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum PartError {
    /// A value outside the range of its parameter.
    #[error("{part}: {parameter} must be {rule}, found {}", found.show(units_of_texts()))]
    OutOfRange {
        /// Title of the part: its kind and its name.
        part: String,
        /// The parameter.
        parameter: Id,
        /// The range, to follow "must be".
        rule: &'static str,
        /// The value, in the unit in which it was given.
        found: Quantity,
    },
    /// A value that measures something else than its parameter.
    #[error("{part}: {parameter} must be {}, found {}", parameter.dimension(), found.described())]
    WrongDimension {
        /// Title of the part: its kind and its name.
        part: String,
        /// The parameter, which knows the dimension expected.
        parameter: Id,
        /// The value.
        found: Quantity,
    },
    /// A name with too many characters.
    #[error("the name '{begin}...' is too long; at most {most} characters are allowed")]
    LongName {
        /// The first characters of the name.
        begin: String,
        /// The most characters that a name may have.
        most: usize,
    },
    /// The kind of part has no parameter with that name.
    #[error("{part} has no parameter '{parameter}'")]
    UnknownParameter {
        /// Title of the part: its kind and its name.
        part: String,
        /// The name that was asked for.
        parameter: String,
        /// All parameters of the kind.
        known: Vec<&'static str>,
    },
    /// A parameter without a default is read before it is set.
    #[error("{part}: {parameter} is not given")]
    NotGiven {
        /// Title of the part: its kind and its name.
        part: String,
        /// The parameter.
        parameter: Id,
    },
    /// Values that are each in range, but not together.
    #[error("{part}: {what}")]
    Contradiction {
        /// Title of the part: its kind and its name.
        part: String,
        /// What contradicts what, with the values.
        what: Contradiction,
        /// What to write instead, with parts for both systems of units.
        hint: &'static str,
    },
    /// Points that make no pump curve.
    #[error("{part}: {error}")]
    Curve {
        /// Title of the part: its kind and its name.
        part: String,
        /// What is wrong, and at which point.
        error: CurveError,
    },
    /// Measured throws or catches of a head that say nothing.
    #[error("{part}: {error}")]
    Throw {
        /// Title of the part: its kind and its name.
        part: String,
        /// What is wrong with them.
        error: ThrowError,
    },
    /// Points that make no performance table.
    #[error("{part}: {error}")]
    Table {
        /// Title of the part: its kind and its name.
        part: String,
        /// What is wrong, and at which point.
        error: TableError,
    },
    /// A name that is empty, or has the dot that separates a part from its parameter in paths.
    #[error("the name '{name}' cannot be used")]
    BadName {
        /// The name as given.
        name: String,
    },
    /// A name with a character that nobody can see, which would make names differ that look alike.
    #[error("the name '{name}' contains an invisible character, U+{:04X}", u32::from(*sign))]
    InvisibleSign {
        /// The first characters of the name, with code points in place of what is invisible.
        name: String,
        /// The first invisible character.
        sign: char,
    },
}

/// What parameters of a part make impossible together, with those that say so.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradiction {
    /// A text in which `{}` stands for each value.
    pattern: Cow<'static, str>,
    values: Vec<Quantity>,
}

impl Contradiction {
    pub(super) fn of(pattern: &'static str, values: &[Quantity]) -> Contradiction {
        Contradiction { pattern: pattern.into(), values: values.to_vec() }
    }
}

impl From<&'static str> for Contradiction {
    fn from(text: &'static str) -> Contradiction {
        Contradiction::of(text, &[])
    }
}

impl From<String> for Contradiction {
    fn from(text: String) -> Contradiction {
        Contradiction { pattern: text.into(), values: Vec::new() }
    }
}

impl fmt::Display for Contradiction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut values = self.values.iter();
        for (number, piece) in self.pattern.split("{}").enumerate() {
            if let Some(value) = (number > 0).then(|| values.next()).flatten() {
                f.write_str(&value.show(units_of_texts()))?;
            }
            f.write_str(piece)?;
        }
        Ok(())
    }
}

/// The names of the units, US and metric, in which a parameter is usually given.
fn units_of(number: Id) -> [&'static str; 2] {
    let name = |metric| unit_for(number.dimension(), metric).and_then(|unit| unit.names.first().copied());
    match number {
        Id::Diameter | Id::Nozzle | Id::Bore => ["inch", "mm"],
        Id::Roughness => ["mm", "mm"],
        _ => [name(false).unwrap_or("USD"), name(true).unwrap_or("EUR")],
    }
}

impl Told for PartError {
    fn hint(&self) -> Option<String> {
        match self {
            PartError::LongName { .. } => Some("choose a short name, such as \"feed\"".into()),
            PartError::InvisibleSign { .. } => Some("type the name again; copied text may contain such characters".into()),
            PartError::OutOfRange { parameter: Id::Diameter, found, .. } if found.si > 1.0 => Some(example(
                "the length comes first and the diameter second, as in hose(100.ft, (5/8).inch)",
                "the length comes first and the diameter second, as in hose(30.m, 19.mm)",
            )),
            PartError::OutOfRange { parameter: Id::Efficiency, found, .. } if (1.0..=100.0).contains(&found.si) => {
                Some(format!("write a share, as in {} for {} %", found.si / 100.0, found.si))
            }
            PartError::OutOfRange { parameter: Id::Wear, .. } => {
                Some("write 1.2 for a nozzle that is worn so that 20 % more water flows".into())
            }
            PartError::OutOfRange { parameter: Id::Length, found, .. } if found.si < 0.0 => Some(example(
                "give the length of the part itself; uphill(10.ft) and downhill(10.ft) change the height",
                "give the length of the part itself; uphill(3.m) and downhill(3.m) change the height",
            )),
            PartError::OutOfRange { found, .. } if found.si < 0.0 => Some("check its sign".into()),
            PartError::OutOfRange { .. } => None,
            PartError::WrongDimension { parameter, found, .. } if is_inverse(parameter.dimension(), found.dimension) => {
                Some("in 5/8.inch the unit belongs to the 8 alone; write (5/8).inch".into())
            }
            PartError::WrongDimension { parameter, found, .. } if found.dimension.is_number() => {
                let value = if found.si.fract() == 0.0 { found.to_string() } else { format!("({found})") };
                let [us, metric] = units_of(*parameter);
                Some(example(&format!("give it a unit, as in {value}.{us}"), &format!("give it a unit, as in {value}.{metric}")))
            }
            PartError::WrongDimension { parameter, .. } if parameter.dimension().is_number() => {
                Some("give a number without a unit".into())
            }
            PartError::WrongDimension { parameter: Id::MeasuredPressure, found, .. }
                if found.dimension == crate::quantity::dim::FLOW =>
            {
                Some(example(
                    "the pressure comes first, then the flow, as in .measured(44.psi, 6.gpm)",
                    "the pressure comes first, then the flow, as in .measured(3.bar, 23.lpm)",
                ))
            }
            PartError::WrongDimension { parameter: Id::Nozzle, found, .. } if found.dimension == crate::quantity::dim::FLOW => {
                Some(example(
                    "give its diameter, or the flow at a pressure: head(name).rated_flow(2.gpm, 40.psi)",
                    "give its diameter, or the flow at a pressure: head(name).rated_flow(8.lpm, 2.bar)",
                ))
            }
            PartError::WrongDimension { parameter, .. } => {
                let ([us, metric], what) = (units_of(*parameter), parameter.dimension());
                Some(example(&format!("give {what}, as in 30.{us}"), &format!("give {what}, as in 30.{metric}")))
            }
            PartError::UnknownParameter { parameter, known, .. } => {
                let names = known.join(", ");
                Some(did_you_mean(parameter, known.iter().copied()).unwrap_or_else(|| format!("its parameters are {names}")))
            }
            PartError::NotGiven { parameter, .. } => Some(format!("give it first, as in .{parameter} = ...")),
            PartError::Contradiction { hint, .. } => Some(chosen(hint)),
            PartError::Curve { error, .. } => error.hint(),
            PartError::Table { error, .. } => error.hint(),
            PartError::Throw { error, .. } => error.hint(),
            PartError::BadName { .. } => {
                Some("a name has at least one character and no dot: a dot separates a part from its parameter".into())
            }
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            PartError::OutOfRange { parameter, .. } | PartError::WrongDimension { parameter, .. } => {
                Some(parameter.word().into())
            }
            PartError::LongName { .. } | PartError::BadName { .. } | PartError::InvisibleSign { .. } => Some("name".into()),
            PartError::Curve { .. } => Some("points".into()),
            _ => None,
        }
    }
}

/// True for what comes of a unit that bound to the number below a stroke.
fn is_inverse(wanted: Dimension, found: Dimension) -> bool {
    !wanted.is_number() && found == wanted.power(-1)
}
