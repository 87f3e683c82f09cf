//! What can go wrong when a garden is built or changed.

use crate::nearest::did_you_mean;
use crate::parts::PartError;
use crate::quantity::Quantity;
use crate::told::Told;
use crate::unit_system::example;
use thiserror::Error;

/// Why parts cannot be joined to a garden, or why something is not found in one.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum GardenError {
    /// No part of the garden has that name.
    #[error("there is no part called '{name}' in this garden")]
    UnknownName {
        /// The name that was asked for.
        name: String,
        /// Names of all its parts.
        known: Vec<String>,
    },
    /// A zone was named, and no part of the garden has that name.
    #[error("there is no valve called '{name}' in this garden")]
    UnknownZone {
        /// The name that was asked for.
        name: String,
        /// Names of all its valves.
        valves: Vec<String>,
    },
    /// A zone was named by a part that is no valve.
    #[error("'{name}' is a {what}, not a valve")]
    NotAValve {
        /// Name of the part.
        name: String,
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Names of all valves of the garden.
        valves: Vec<String>,
    },
    /// Two parts were given the same name.
    #[error("two parts are called '{name}'")]
    TwoOfAName {
        /// The name that both have.
        name: String,
    },
    /// A line was to branch into no lines at all.
    #[error("the branch list is empty")]
    NoBranches,
    /// A line that begins with a source was put downstream of something.
    #[error("a {what} starts a line; no part can be connected upstream of '{name}'")]
    NothingBefore {
        /// What it begins with: the function that makes such a part.
        what: &'static str,
        /// Name of the source.
        name: String,
    },
    /// A line was to go on from outlets only.
    #[error("the line has no open end to continue from")]
    NoOpenEnd,
    /// A text has no dot between a part and a parameter of it.
    #[error("'{path}' is not the path of a parameter")]
    NotAPath {
        /// The text as it was given.
        path: String,
        /// Paths of all parameters of the garden.
        known: Vec<String>,
    },
    /// A pattern matches no part that has the parameter.
    #[error("no part called '{pattern}' has a parameter '{parameter}'")]
    NoMatch {
        /// The pattern for names.
        pattern: String,
        /// The parameter.
        parameter: String,
        /// Names of the parts that have it.
        known: Vec<String>,
    },
    /// A pattern for names matches no part.
    #[error("no part is called '{pattern}'")]
    NoNameMatches {
        /// The pattern.
        pattern: String,
        /// Names of all parts.
        known: Vec<String>,
    },
    /// Parts were taken out, and no source is left.
    #[error("without {} no source is left", quoted(taken))]
    NoSourceLeft {
        /// What was taken out, as it was named.
        taken: Vec<String>,
    },
    /// Parts were taken out, and nothing is left that gives water.
    #[error("without {} no head or other outlet is left", quoted(taken))]
    NoOutletLeft {
        /// What was taken out, as it was named.
        taken: Vec<String>,
    },
    /// No source is connected to a zone.
    #[error("no source is connected to zone '{zone}'")]
    ZoneNotFed {
        /// The name of its valve.
        zone: String,
    },
    /// A line was to lie in parallel to a part that has no two ends.
    #[error("a {what} has no two ends, so no line can be parallel to '{name}'")]
    NotInLine {
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Name of the part.
        name: String,
    },
    /// A parallel line consists of parts at a point.
    #[error("the parallel line has no part that water flows through")]
    NoLength,
    /// A line without any source was to be solved.
    #[error("this line has no supply")]
    NotFed,
    /// A head has neither a nozzle nor a rated flow nor a performance table.
    #[error("head '{name}' has neither a nozzle nor a rated flow")]
    NoNozzle {
        /// Name of the head.
        name: String,
    },
    /// A part has no diameter of its own and no hose whose diameter it could take.
    #[error("{what} '{name}' has no diameter and no adjacent hose to take one from")]
    NoBore {
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Name of the part.
        name: String,
    },
    /// A part has a diameter of its own, but loses by the diameter of a hose, and there is none beside it.
    #[error("{what} '{name}' has no adjacent hose, and its loss depends on the diameter of one")]
    NoHose {
        /// What it is: the function that makes such a part.
        what: &'static str,
        /// Name of the part.
        name: String,
    },
    /// The elevation changes around a loop do not sum to zero.
    #[error("elevations do not close around the loop through '{name}': they are off by {by}")]
    CrookedLoop {
        /// Name of a part in the loop.
        name: String,
        /// The height by which it misses.
        by: Quantity,
    },
    /// The garden has more parts than are solved.
    #[error("a garden of {found} parts is too large: at most {most} are allowed")]
    TooManyParts {
        /// How many it has.
        found: usize,
        /// How many it may have.
        most: usize,
    },
    /// A parameter of a part makes no sense.
    #[error(transparent)]
    Part(#[from] PartError),
}

/// Names in quotes, joined by "and".
fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("'{name}'")).collect::<Vec<_>>().join(" and ")
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
            GardenError::UnknownZone { name, valves } if name.contains([',', ';', '+', '&']) || name.contains(" and ") => {
                let parts = name.replace(" and ", ",");
                let asked = parts.split([',', ';', '+', '&']).map(str::trim).filter(|zone| !zone.is_empty());
                let list: Vec<String> = asked.map(|zone| format!("\"{zone}\"")).collect();
                Some(format!("several zones are a list: [{}]", list.join(", ")))
            }
            GardenError::UnknownZone { name, valves } if matches!(name.as_str(), "all" | "*") && !valves.is_empty() => {
                let list: Vec<String> = valves.iter().map(|zone| format!("\"{zone}\"")).collect();
                Some(format!("name all valves: [{}]", list.join(", ")))
            }
            GardenError::UnknownZone { name, valves } | GardenError::NotAValve { name, valves, .. } => {
                did_you_mean(name, valves.iter().map(String::as_str)).or_else(|| Some(list("valves", valves)))
            }
            GardenError::TwoOfAName { .. } => Some("give each part its own name with .named(\"...\")".into()),
            GardenError::NoBranches => {
                Some("write at least one branch, as in [valve(\"beds\") >> head(\"bed\", (1/8).inch)]".into())
            }
            GardenError::NothingBefore { .. } => {
                Some("put the supply first; connect a second source with garden.add_source(\"name of a part\", line)".into())
            }
            GardenError::NoOpenEnd => Some(
                "every branch ends in an outlet; continue inside a branch, or connect two places with garden.connect(..)".into(),
            ),
            GardenError::NotAPath { path, known } => did_you_mean(path, known.iter().map(String::as_str))
                .or_else(|| Some("a path is the name of a part, a dot and a parameter, such as \"feed.length\"".into())),
            GardenError::NoMatch { known, .. } if known.is_empty() => Some("no part of this garden has it".into()),
            GardenError::NoMatch { known, .. } => Some(format!("the parts that have it are {}", known.join(", "))),
            GardenError::NoNameMatches { known, .. } => Some(list("parts", known)),
            GardenError::NoSourceLeft { .. } => Some("replace(name, part) puts another part in its place".into()),
            GardenError::NoOutletLeft { .. } => Some("keep a head, or add one first with branch(name, line)".into()),
            GardenError::ZoneNotFed { .. } => {
                Some("connect its line to the supply, as in supply(..) >> hose(..) >> valve(..)".into())
            }
            GardenError::NotInLine { .. } => Some("name a hose or another part in line".into()),
            GardenError::NoLength => Some(example(
                "begin it with a hose, as in hose(100.ft, (5/8).inch)",
                "begin it with a hose, as in hose(30.m, 19.mm)",
            )),
            GardenError::NotFed => Some(example(
                "begin with supply(58.psi).measured(44.psi, 6.gpm) or open_tank(5.ft)",
                "begin with supply(4.bar).measured(3.bar, 23.lpm) or open_tank(1.5.m)",
            )),
            GardenError::NoNozzle { .. } => Some(example(
                "give its nozzle, as in head(\"bed\", (1/8).inch), or .rated_flow(1.5.gpm, 30.psi), or .performance_table(..)",
                "give its nozzle, as in head(\"bed\", 3.mm), or .rated_flow(6.lpm, 2.bar), or .performance_table(..)",
            )),
            GardenError::NoBore { .. } => Some("set its diameter, as in .diameter = (3/4).inch".into()),
            GardenError::NoHose { .. } => Some(example(
                "connect it to the hose that it narrows, as in hose(20.ft, (1/2).inch) >> restrictor(...)",
                "connect it to the hose that it narrows, as in hose(6.m, 13.mm) >> restrictor(...)",
            )),
            GardenError::CrookedLoop { .. } => {
                Some("elevation changes around a loop must sum to zero; correct one of them".into())
            }
            GardenError::TooManyParts { .. } => Some("remove parts; does a loop in the script add parts without end?".into()),
            GardenError::Part(error) => error.hint(),
        }
    }

    fn about(&self) -> Option<String> {
        match self {
            GardenError::NoNozzle { .. }
            | GardenError::NoBore { .. }
            | GardenError::NoHose { .. }
            | GardenError::CrookedLoop { .. } => Some("garden".into()),
            GardenError::Part(error) => error.about(),
            _ => None,
        }
    }
}
