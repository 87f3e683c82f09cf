//! The best setting of a few variables: a number as low as can be while limits hold.
//!
//! Variables run between two ends or choose from a list. Choices are tried one after another when they are few. For one running
//! variable the range is scanned and the best piece narrowed by golden section; for more, differential evolution finds the
//! valley and simplex searches with restarts find its bottom. All random numbers are counted from one seed, so the answer
//! is always the same. It knows nothing of gardens and scripts; what is judged comes in as a function.

mod evolution;
mod golden;
mod simplex;
mod worth;

pub use worth::Worth;

use thiserror::Error;

/// A number that may be set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Variable {
    /// Any number within a range.
    Between {
        /// The least it may be.
        low: f64,
        /// The greatest it may be.
        high: f64,
    },
    /// One of `n` choices, counted from 0.
    Choice {
        /// How many choices there are.
        n: usize,
    },
}

/// The best setting found.
#[derive(Clone, Debug, PartialEq)]
pub struct Optimum {
    /// The variables; a choice is its number.
    pub at: Vec<f64>,
    /// What that setting is worth.
    pub worth: Worth,
    /// How many settings were tried.
    pub evaluations: usize,
}

/// Why there is no best setting.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum OptimumError<E> {
    /// There is no number that may be set.
    #[error("there is no variable")]
    NoKnobs,
    /// More numbers may be set than can be searched.
    #[error("{found} variables are too many; the maximum is {most}")]
    TooManyKnobs {
        /// How many may be set.
        found: usize,
        /// How many can be.
        most: usize,
    },
    /// The choices can be combined in more ways than can be tried.
    #[error("{found} combinations of choices are too many; the maximum is {most}")]
    TooManyChoices {
        /// How many ways there are.
        found: usize,
        /// How many can be tried.
        most: usize,
    },
    /// Not one of the settings that were tried could be judged.
    #[error("no setting could be evaluated")]
    NothingJudged,
    /// The function itself failed for good.
    #[error("{0}")]
    Failed(E),
}

/// The most variables.
pub const MOST_KNOBS: usize = 6;
/// The most combinations of choices.
pub const MOST_CHOICES: usize = 5_000;
/// Combinations of choices that are looked at closely when there are many.
const CLOSE_LOOKS: usize = 12;

/// Turns the variables until the value is as low as it gets while no limit is broken.
///
/// When no setting keeps the limits, the one that breaks them least is given, with `broken` above 0.
/// Errors: no variables or too many, nothing could be judged, or the function failed.
pub fn optimum<E>(variables: &[Variable], mut judge: impl FnMut(&[f64]) -> Result<Worth, E>) -> Result<Optimum, OptimumError<E>> {
    if variables.is_empty() {
        return Err(OptimumError::NoKnobs);
    }
    if variables.len() > MOST_KNOBS {
        return Err(OptimumError::TooManyKnobs { found: variables.len(), most: MOST_KNOBS });
    }
    let choices = combinations(variables)?;
    let running: Vec<usize> =
        (0..variables.len()).filter(|place| matches!(variables[*place], Variable::Between { .. })).collect();
    let mut evaluations = 0;
    let mut best: Option<(Vec<f64>, Worth)> = None;
    let mut look = |choice: &[f64], effort: Effort, best: &mut Option<(Vec<f64>, Worth)>| -> Result<Worth, E> {
        let mut at = choice.to_vec();
        let mut found = Worth::NONE;
        let mut one = |unit: &[f64]| -> Result<Worth, E> {
            for (place, u) in running.iter().zip(unit) {
                if let Variable::Between { low, high } = variables[*place] {
                    at[*place] = if *u >= 1.0 { high } else { low + u * (high - low) };
                }
            }
            evaluations += 1;
            let worth = judge(&at)?;
            let worth = if worth.value.is_nan() || worth.broken.is_nan() { Worth::NONE } else { worth };
            if worth.beats(&found) {
                found = worth;
            }
            if best.as_ref().is_none_or(|(_, held)| worth.beats(held)) {
                *best = Some((at.clone(), worth));
            }
            Ok(worth)
        };
        match (running.len(), effort) {
            (0, _) => one(&[]).map(|_| ())?,
            (1, Effort::Close) => golden::search(&mut one)?,
            (n, Effort::Close) => {
                let start = evolution::search(n, evolution::ROUNDS, &mut one)?;
                simplex::search(&start, &mut one)?;
            }
            (n, Effort::Glance) => evolution::search(n, evolution::GLANCE, &mut one).map(|_| ())?,
        }
        Ok(found)
    };
    if running.is_empty() || choices.len() <= CLOSE_LOOKS {
        for choice in &choices {
            look(choice, Effort::Close, &mut best).map_err(OptimumError::Failed)?;
        }
    } else {
        let mut glances = Vec::with_capacity(choices.len());
        for choice in &choices {
            glances.push((look(choice, Effort::Glance, &mut best).map_err(OptimumError::Failed)?, choice));
        }
        // Stable, so that equals keep the order in which they were given.
        glances.sort_by(|(a, _), (b, _)| a.broken.total_cmp(&b.broken).then(a.value.total_cmp(&b.value)));
        for (_, choice) in glances.into_iter().take(CLOSE_LOOKS) {
            look(choice, Effort::Close, &mut best).map_err(OptimumError::Failed)?;
        }
    }
    match best {
        Some((at, worth)) if worth.value.is_finite() => Ok(Optimum { at, worth, evaluations }),
        _ => Err(OptimumError::NothingJudged),
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Effort {
    Close,
    Glance,
}

/// All combinations of choices; running variables are at their low ends.
fn combinations<E>(variables: &[Variable]) -> Result<Vec<Vec<f64>>, OptimumError<E>> {
    let mut all = vec![Vec::new()];
    for variable in variables {
        all = match variable {
            Variable::Between { low, .. } => all.into_iter().map(|at: Vec<f64>| [at, vec![*low]].concat()).collect(),
            Variable::Choice { n } => {
                if all.len() * n > MOST_CHOICES {
                    return Err(OptimumError::TooManyChoices { found: all.len() * n, most: MOST_CHOICES });
                }
                all.iter().flat_map(|at| (0..*n).map(move |choice| [at.as_slice(), &[choice as f64]].concat())).collect()
            }
        };
    }
    Ok(all)
}

#[cfg(test)]
mod tests;
