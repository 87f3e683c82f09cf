//! What can go wrong when a garden is built or changed.

use crate::nearest::did_you_mean;
use crate::parts::PartError;
use crate::told::Told;
use thiserror::Error;

#[derive(Debug, Error, Clone, PartialEq)]
pub enum GardenError {
    #[error("there is no part called '{name}' in this garden")]
    UnknownName { name: String, known: Vec<String> },
    #[error("there is no valve called '{name}' in this garden")]
    UnknownZone { name: String, valves: Vec<String> },
    #[error("'{name}' is a {word}, not a valve")]
    NotAValve { name: String, word: &'static str, valves: Vec<String> },
    #[error("two parts are called '{name}'")]
    TwoOfAName { name: String },
    #[error("the branch list is empty")]
    NoBranches,
    #[error("a {word} starts a line; nothing can be joined in front of '{name}'")]
    NothingBefore { word: &'static str, name: String },
    #[error("there is no open end to go on from")]
    NoOpenEnd,
    #[error("'{path}' is not the path of a number")]
    NotAPath { path: String, known: Vec<String> },
    #[error("nothing feeds this line")]
    NotFed,
    #[error("{what} '{name}' has no bore, and no hose beside it to take one from")]
    NoBore { what: &'static str, name: String },
    #[error("{what} '{name}' has no hose beside it, and what it loses depends on the bore of one")]
    NoHose { what: &'static str, name: String },
    #[error("the loop through '{name}' does not come back to its height: it is off by {by}")]
    CrookedLoop { name: String, by: String },
    #[error("a garden of {found} parts is too large: at most {most} fit")]
    TooManyParts { found: usize, most: usize },
    #[error(transparent)]
    Part(#[from] PartError),
}

impl Told for GardenError {
    fn hint(&self) -> Option<String> {
        let list = |what: &str, names: &[String]| {
            if names.is_empty() { format!("there are no {what}") } else { format!("the {what} are {}", names.join(", ")) }
        };
        match self {
            GardenError::UnknownName { name, known } => {
                did_you_mean(name, known.iter().map(String::as_str)).or_else(|| Some(list("parts", known)))
            }
            GardenError::UnknownZone { name, valves } | GardenError::NotAValve { name, valves, .. } => {
                did_you_mean(name, valves.iter().map(String::as_str)).or_else(|| Some(list("valves", valves)))
            }
            GardenError::TwoOfAName { .. } => Some("give each part a name of its own with .named(\"...\")".into()),
            GardenError::NoBranches => {
                Some("write at least one branch, as in [valve(\"beds\") >> head(\"bed\", (1/8).inch)]".into())
            }
            GardenError::NothingBefore { .. } => {
                Some("put the supply first; a second source joins with garden.feed(\"name of a part\", line)".into())
            }
            GardenError::NoOpenEnd => {
                Some("every branch ends in an outlet; go on inside a branch, or join two places with garden.join(..)".into())
            }
            GardenError::NotAPath { path, known } => did_you_mean(path, known.iter().map(String::as_str))
                .or_else(|| Some("a path is a part's name, a dot and a number of it, such as \"feed.length\"".into())),
            GardenError::NotFed => Some("begin with supply(58.psi).measured(44.psi, 6.gpm) or open_tank(5.ft)".into()),
            GardenError::NoBore { .. } => Some("set its bore, as in .bore = (3/4).inch".into()),
            GardenError::NoHose { .. } => {
                Some("join it to the hose that it narrows, as in hose(20.ft, (1/2).inch) >> washer(...)".into())
            }
            GardenError::CrookedLoop { .. } => {
                Some("the climbs around a loop must add up to nothing; correct one of them".into())
            }
            GardenError::TooManyParts { .. } => Some("leave parts out; does a loop add to it without end?".into()),
            GardenError::Part(error) => error.hint(),
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            GardenError::NoBore { .. } | GardenError::NoHose { .. } | GardenError::CrookedLoop { .. } => Some("garden".into()),
            GardenError::Part(error) => error.about(),
            _ => None,
        }
    }
}
