//! The best setting of named variables while limits hold, and what is to be said of it. Who judges a setting is handed in.

use super::limit::Limit;
use super::optimum::{OptimumError, Variable, Worth, optimum};
use super::random::Distribution;
use crate::quantity::{Quantity, UnitSystem};

/// Parts of a limit within which a value stands on it.
const ON_LIMIT: f64 = 1e-4;
/// Share of a range within which a variable is at its end.
const AT_END: f64 = 1e-6;

/// What may be turned.
#[derive(Clone, Debug)]
pub enum Turn {
    /// A number between the ends of a range.
    Range(Distribution),
    /// One of several choices, counted from 0.
    Choice {
        /// How many choices there are.
        n: usize,
    },
}

/// What shall be as it is best.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Goal {
    /// The lower the better.
    Lowest,
    /// The higher the better.
    Highest,
}

impl Goal {
    /// The key by which a judge in a script names it, and the word for it in reports.
    pub fn word(self) -> &'static str {
        match self {
            Goal::Lowest => "lowest",
            Goal::Highest => "highest",
        }
    }
}

/// What a judge says of a setting.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// Whether low or high values are better.
    pub goal: Goal,
    /// What is to be as low or high as it gets.
    pub value: Quantity,
    /// What must hold, by name.
    pub limits: Vec<(String, Limit)>,
}

impl Said {
    fn worth(&self) -> Worth {
        let sign = if self.goal == Goal::Lowest { 1.0 } else { -1.0 };
        Worth { value: sign * self.value.si, broken: self.limits.iter().map(|(_, limit)| limit.broken().max(0.0)).sum() }
    }
}

/// The best setting found.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// The variables; a choice is its number.
    pub at: Vec<f64>,
    /// What the judge says of it.
    pub said: Said,
    /// What stands on a limit, at an end, or cannot be kept.
    pub notes: Vec<String>,
    /// How many settings were tried.
    pub tried: usize,
}

/// Why a setting has no judgment.
pub enum Unjudged<E> {
    /// It cannot be judged, others may be.
    This(E),
    /// The search is to end.
    All(E),
}

/// Turns the variables until what is said of them is as low or high as it gets while all limits hold; notes are in these units.
///
/// Errors: as [`optimum`]; where no setting could be judged, why the first one could not.
pub fn best_setting<E>(
    variables: &[(String, Turn)],
    system: UnitSystem,
    mut judge: impl FnMut(&[f64]) -> Result<Said, Unjudged<E>>,
) -> Result<Setting, OptimumError<E>> {
    let mut first_error = None;
    let plain: Vec<Variable> = variables.iter().map(|(_, turn)| variable(turn)).collect();
    let found = optimum(&plain, |at| match judge(at) {
        Ok(said) => Ok(said.worth()),
        Err(Unjudged::All(error)) => Err(error),
        Err(Unjudged::This(error)) => {
            first_error.get_or_insert(error);
            Ok(Worth::NONE)
        }
    });
    let found = match (found, first_error) {
        (Err(OptimumError::NothingJudged), Some(error)) => return Err(OptimumError::Failed(error)),
        (found, _) => found?,
    };
    let said = judge(&found.at).map_err(|(Unjudged::This(error) | Unjudged::All(error))| OptimumError::Failed(error))?;
    let notes = about_limits(&said, system).chain(about_ends(variables, &found.at, system)).collect();
    Ok(Setting { at: found.at, said, notes, tried: found.evaluations })
}

fn variable(turn: &Turn) -> Variable {
    match turn {
        Turn::Range(range) => {
            let (low, high) = range.ends().unwrap_or((0.0, 0.0));
            Variable::Between { low, high }
        }
        Turn::Choice { n } => Variable::Choice { n: *n },
    }
}

fn about_limits(said: &Said, system: UnitSystem) -> impl Iterator<Item = String> {
    said.limits.iter().filter_map(move |(name, limit)| match limit.broken() {
        broken if broken > ON_LIMIT => Some(format!("{name} cannot be met: {}", limit.in_words(system))),
        broken if broken > -ON_LIMIT => Some(format!("{name} is at its limit, {}", limit.rule(system))),
        _ => None,
    })
}

fn about_ends(variables: &[(String, Turn)], at: &[f64], system: UnitSystem) -> impl Iterator<Item = String> {
    variables.iter().zip(at).filter_map(move |((name, turn), x)| {
        let Turn::Range(range) = turn else { return None };
        let (low, high) = range.ends()?;
        let stands = |end: f64| (x - end).abs() <= AT_END * (high - low).abs();
        let (end, word) = [(low, "lower"), (high, "upper")].into_iter().find(|(end, _)| stands(*end))?;
        Some(format!("{name} is at its {word} end, {}", range.quantity(end).show(system)))
    })
}
