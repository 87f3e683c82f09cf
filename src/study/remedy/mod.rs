//! What cures the findings of a garden for the least money: single changes and pairs of them, from a stock of parts with prices.
//!
//! Each change is made and the garden judged anew, on all cores; nothing is guessed. The changes that are tried are in `moves`, what is
//! judged is in `judged`. It knows no script beyond the text of the line that makes a change.

mod judged;
mod made;
mod moves;
mod split;
#[cfg(test)]
mod tests;

use crate::garden::{Garden, GardenError};
use crate::hydraulics::RunError;
use crate::parts::{Id, Part};
use crate::quantity::{Dimension, Quantity};
use crate::thread_pool::all_of;
use crate::told::Told;
use judged::Judged;
use moves::{Move, moves};
use std::collections::HashSet;
use thiserror::Error;

pub use judged::{Problem, WeakHead};

/// The most gardens that are tried.
pub const MOST_TRIALS: usize = 20_000;

/// What a search may do.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// The most that a remedy may cost.
    pub budget: Option<Quantity>,
    /// Names of parts that stay as they are, with nothing put in beside them; names or patterns.
    pub keep: Vec<String>,
    /// The sets of zones that are judged, each open together; none for each zone by itself.
    pub zones: Option<Vec<Vec<String>>>,
    /// Threads that work; none for all cores.
    pub threads: Option<usize>,
}

/// One change or two, and what comes of them.
#[derive(Clone, Debug)]
pub struct Remedy {
    /// The change in words.
    pub words: String,
    /// The change as a line of script, with `garden` and `stock` for what was given.
    pub script: String,
    /// What the parts from the stock cost; the price of what is taken out is not given back.
    pub cost: f64,
    /// Problems that are gone.
    pub removes: Vec<Problem>,
    /// Problems that there were not before.
    pub brings: Vec<Problem>,
    /// Problems that stay.
    pub stays: usize,
    /// The head with the least margin after the change.
    pub weakest: Option<WeakHead>,
    /// The pressure at the head that had the least margin before the change; none where it is gone.
    pub there_pa: Option<f64>,
    /// The garden with the change.
    pub garden: Garden,
}

impl Remedy {
    /// True when no problem stays and none is new.
    pub fn cures(&self) -> bool {
        self.stays == 0 && self.brings.is_empty()
    }
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Remedies {
    /// What is wrong with the garden as it is: its findings above a note that were not accepted.
    pub problems: Vec<Problem>,
    /// The head with the least margin as it is.
    pub weakest: Option<WeakHead>,
    /// Those that remove a problem: first what cures all, then by the number of problems that are left, each by cost.
    pub remedies: Vec<Remedy>,
    /// The dimension of the costs: money of a currency.
    pub currency: Dimension,
    /// How many gardens were judged.
    pub tried: usize,
    /// How many pairs were not tried, since they would have been too many: the most expensive ones.
    pub left_out: usize,
}

/// Why remedies cannot be looked for.
#[derive(Debug, Error)]
pub enum RemedyError {
    /// A part of the stock has no price.
    #[error("{part} of the stock has no price")]
    NoPrice {
        /// The part, as messages call it.
        part: String,
    },
    /// Prices or budget are in several currencies.
    #[error("the prices are in several currencies: {one} and {other}")]
    Currencies {
        /// A price.
        one: Quantity,
        /// Another one.
        other: Quantity,
    },
    /// A name is unknown, or the line has no supply.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The garden as it is has no steady state.
    #[error(transparent)]
    Run(#[from] RunError),
}

impl Told for RemedyError {
    fn hint(&self) -> Option<String> {
        match self {
            RemedyError::NoPrice { .. } => Some("give it one, as in .price(30.USD); what is at hand costs 0.USD".into()),
            RemedyError::Currencies { .. } => Some("convert them first".into()),
            RemedyError::Garden(error) => error.hint(),
            RemedyError::Run(error) => error.hint(),
        }
    }
}

/// Tries all single changes and pairs of changes from a stock of parts.
///
/// A pair is reported where it leaves fewer problems than either of its changes alone. Errors: a part of the stock without a price, several
/// currencies, a name in `keep` or a zone that is unknown, or a garden without a steady state.
pub fn remedies(garden: &Garden, stock: &[Part], asked: &Asked) -> Result<Remedies, RemedyError> {
    let (prices, currency) = prices(stock, asked.budget)?;
    let mut kept = Vec::new();
    for name in &asked.keep {
        kept.extend(garden.named_like(name)?);
    }
    let base = Judged::of(garden, asked.zones.as_deref())?;
    let most = asked.budget.map_or(f64::INFINITY, |budget| budget.si);
    let within = |cost: f64| cost <= most * (1.0 + 1e-12);
    let singles: Vec<(Move, f64)> = moves(garden, stock, &kept)
        .into_iter()
        .map(|step| (step.cost(garden, stock, &prices), step))
        .filter(|(cost, _)| within(*cost))
        .map(|(cost, step)| (step, cost))
        .collect();
    let judge = |steps: &[&Move], cost: f64| -> Option<Remedy> {
        let mut changed = garden.clone();
        let (mut script, mut words) = (String::from("garden"), Vec::new());
        let mut zones = asked.zones.clone();
        for step in steps {
            let made = step.made(&changed, stock)?;
            changed = made.garden;
            script += &made.script;
            words.push(made.words);
            if let (Some(zones), Some((valve, new))) = (&mut zones, made.twin) {
                *zones = with_twin(zones, &valve, &new);
            }
        }
        let now = Judged::of(&changed, zones.as_deref()).ok()?;
        let missing = |of: &Judged, from: &Judged| -> Vec<Problem> {
            of.problems.iter().filter(|problem| !from.problems.iter().any(|other| other.is_like(problem))).cloned().collect()
        };
        let removes = missing(&base, &now);
        let there_pa = base.weakest.as_ref().and_then(|weak| now.pressure_at(weak));
        Some(Remedy {
            words: words.join(" and "),
            script,
            cost,
            stays: base.problems.len() - removes.len(),
            removes,
            brings: missing(&now, &base),
            weakest: now.weakest.clone(),
            there_pa,
            garden: changed,
        })
    };
    let alone = all_of(asked.threads, singles.len(), |index| judge(&[&singles[index].0], singles[index].1));
    let mut pairs: Vec<(usize, usize, f64)> = Vec::new();
    for first in 0..singles.len() {
        for second in 0..singles.len() {
            let cost = singles[first].1 + singles[second].1;
            if singles[first].0.goes_before(&singles[second].0, first < second) && within(cost) {
                pairs.push((first, second, cost));
            }
        }
    }
    pairs.sort_by(|a, b| a.2.total_cmp(&b.2));
    let room = MOST_TRIALS.saturating_sub(singles.len());
    let left_out = pairs.len().saturating_sub(room);
    pairs.truncate(room);
    let left = |remedy: &Option<Remedy>| remedy.as_ref().map_or(usize::MAX, |remedy| remedy.stays + remedy.brings.len());
    let together = all_of(asked.threads, pairs.len(), |index| {
        let (first, second, cost) = pairs[index];
        let remedy = judge(&[&singles[first].0, &singles[second].0], cost);
        let better = left(&remedy) < left(&alone[first]).min(left(&alone[second])).min(base.problems.len());
        remedy.filter(|_| better)
    });
    let tried = alone.len() + together.len();
    let alone = alone.into_iter().zip(&singles).map(|(remedy, (step, _))| (remedy, step.family()));
    let family = |first: usize, second: usize| format!("{}, {}", singles[first].0.family(), singles[second].0.family());
    let together = together.into_iter().zip(&pairs).map(|(remedy, &(first, second, _))| (remedy, family(first, second)));
    let found = alone.chain(together).filter_map(|(remedy, family)| Some((remedy?, family)));
    let mut found: Vec<(Remedy, String)> = found.filter(|(remedy, _)| !remedy.removes.is_empty()).collect();
    let rank = |remedy: &Remedy| remedy.stays + remedy.brings.len();
    found.sort_by(|(a, _), (b, _)| rank(a).cmp(&rank(b)).then(a.cost.total_cmp(&b.cost)));
    // Of changes that differ by a setting alone, the best and nearest one.
    let mut told = HashSet::new();
    found.retain(|(_, family)| told.insert(family.clone()));
    let remedies = found.into_iter().map(|(remedy, _)| remedy).collect();
    Ok(Remedies { problems: base.problems, weakest: base.weakest, remedies, currency, tried, left_out })
}

/// The sets of zones when a zone has become two: each set with it, and again with its twin.
fn with_twin(sets: &[Vec<String>], valve: &str, twin: &str) -> Vec<Vec<String>> {
    let mut all = Vec::with_capacity(sets.len() + 1);
    for set in sets {
        all.push(set.clone());
        if set.iter().any(|name| name == valve) {
            all.push(set.iter().map(|name| if name == valve { twin.to_string() } else { name.clone() }).collect());
        }
    }
    all
}

/// The prices of the stock, and their currency.
fn prices(stock: &[Part], budget: Option<Quantity>) -> Result<(Vec<f64>, Dimension), RemedyError> {
    let mut first = budget;
    let mut prices = Vec::with_capacity(stock.len());
    for part in stock {
        let price = part.quantity(Id::Price).ok_or_else(|| RemedyError::NoPrice { part: part.title() })?;
        let known = *first.get_or_insert(price);
        if known.dimension != price.dimension {
            return Err(RemedyError::Currencies { one: known, other: price });
        }
        prices.push(price.si);
    }
    Ok((prices, first.map_or(Id::Price.dimension(), |price| price.dimension)))
}
