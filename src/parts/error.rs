//! What can be wrong with a part, and what to do about it.

use super::curve::CurveError;
use super::flow_table::TableError;
use super::id::Id;
use crate::nearest::did_you_mean;
use crate::quantity::{Dimension, Quantity};
use crate::told::Told;
use thiserror::Error;

/// What can be wrong with a part.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum PartError {
    #[error("{part}: {number} must be {rule}, found {found}")]
    OutOfRange { part: String, number: Id, rule: &'static str, found: String },
    #[error("{part}: {number} must be {}, found {}", number.dimension(), found.described())]
    WrongDimension { part: String, number: Id, found: Quantity },
    #[error("the name '{begin}...' is too long; at most {most} signs fit")]
    LongName { begin: String, most: usize },
    #[error("{part} has no number '{number}'")]
    UnknownNumber { part: String, number: String, known: Vec<&'static str> },
    #[error("{part}: {number} is not given")]
    NotGiven { part: String, number: Id },
    #[error("{part}: {what}")]
    Contradiction { part: String, what: String, hint: String },
    #[error("{part}: {error}")]
    Curve { part: String, error: CurveError },
    #[error("{part}: {error}")]
    Table { part: String, error: TableError },
    #[error("the name '{name}' cannot be used")]
    BadName { name: String },
    #[error("the name '{name}' holds a sign that cannot be seen, U+{:04X}", u32::from(*sign))]
    InvisibleSign { name: String, sign: char },
}

impl Told for PartError {
    fn hint(&self) -> Option<String> {
        match self {
            PartError::LongName { .. } => Some("choose a short name, such as \"feed\"".into()),
            PartError::InvisibleSign { .. } => Some("write the name anew; such signs come along with text that is copied".into()),
            PartError::OutOfRange { .. } => None,
            PartError::WrongDimension { number, found, .. } if is_inverse(number.dimension(), found.dimension) => {
                Some("in 5/8.inch the unit binds to the 8 alone; write (5/8).inch".into())
            }
            PartError::WrongDimension { found, .. } if found.dimension.is_number() => {
                Some("give it a unit, such as 100.ft, 44.psi or 6.gpm".into())
            }
            PartError::WrongDimension { .. } => None,
            PartError::UnknownNumber { number, known, .. } => {
                let names = known.join(", ");
                Some(did_you_mean(number, known.iter().copied()).unwrap_or_else(|| format!("its numbers are {names}")))
            }
            PartError::NotGiven { number, .. } => Some(format!("say it first, as in .{number} = ...")),
            PartError::Contradiction { hint, .. } => Some(hint.clone()),
            PartError::Curve { error, .. } => error.hint(),
            PartError::Table { error, .. } => error.hint(),
            PartError::BadName { .. } => {
                Some("a name has at least one character and no dot: dots separate a part from its number".into())
            }
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            PartError::OutOfRange { number, .. } | PartError::WrongDimension { number, .. } => Some(number.word().into()),
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
