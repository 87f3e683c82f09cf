//! Several variables, the valley: differential evolution, scheme best/1 and rand/1 in turn, binomial crossing.
//!
//! Source: R. Storn and K. Price, Differential Evolution, Journal of Global Optimization 11 (1997).

use super::worth::{Judge, Worth};
use crate::study::random::{Samples, Spreading};

/// Rounds of a close look and of a glance.
pub const ROUNDS: usize = 60;
pub const GLANCE: usize = 6;

/// Settings kept, for each variable.
const CROWD: usize = 10;
const STEP: f64 = 0.6;
const CROSSING: f64 = 0.9;
const SEED: u64 = 1;

/// The best setting after some rounds, each variable between 0 and 1.
pub fn search<E>(n: usize, rounds: usize, judge: &mut Judge<E>) -> Result<Vec<f64>, E> {
    let crowd = CROWD * n;
    let spread = Samples { n: crowd, seed: SEED, spreading: Spreading::Even };
    let mut settings: Vec<Vec<f64>> =
        (0..crowd).map(|one| (0..n).map(|variable| spread.uniform(one, variable)).collect()).collect();
    let mut worths: Vec<Worth> = Vec::with_capacity(crowd);
    for setting in &settings {
        worths.push(judge(setting)?);
    }
    let random = Samples { n: 0, seed: SEED, spreading: Spreading::Independent };
    for round in 0..rounds {
        for one in 0..crowd {
            let draw = |axis: usize| random.uniform(round * crowd + one, axis);
            let pick = |axis: usize| (draw(axis) * crowd as f64) as usize;
            let base = if round.is_multiple_of(2) { pick(0) } else { best(&worths) };
            let (plus, minus) = (pick(1), pick(2));
            let forced = (draw(3) * n as f64) as usize;
            let trial: Vec<f64> = (0..n)
                .map(|variable| {
                    let crossed = variable == forced || draw(4 + variable) < CROSSING;
                    let moved = settings[base][variable] + STEP * (settings[plus][variable] - settings[minus][variable]);
                    if crossed { moved.clamp(0.0, 1.0) } else { settings[one][variable] }
                })
                .collect();
            let worth = judge(&trial)?;
            if !worths[one].beats(&worth) {
                (settings[one], worths[one]) = (trial, worth);
            }
        }
    }
    Ok(settings.swap_remove(best(&worths)))
}

fn best(worths: &[Worth]) -> usize {
    let mut best = 0;
    for (place, worth) in worths.iter().enumerate() {
        if worth.beats(&worths[best]) {
            best = place;
        }
    }
    best
}
