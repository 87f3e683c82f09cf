//! Quantiles by straight lines between ordered values: definition 7 of Hyndman and Fan, as in [`Figures`](super::Figures).

use crate::limits::{self, Ended};

/// Finite numbers in rising order. Errors: the evaluation is to end.
pub(super) fn in_order(numbers: Vec<f64>) -> Result<Vec<f64>, Ended> {
    limits::sorted(numbers, f64::total_cmp)
}

/// The value at a fraction of an ordered list that is not empty.
pub(super) fn quantile(sorted: &[f64], fraction: f64) -> f64 {
    let position = fraction * (sorted.len() - 1) as f64;
    let below = position.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (sorted[above] - sorted[below]) * (position - below as f64)
}
