//! Quantiles by straight lines between ordered values: definition 7 of Hyndman and Fan, The American Statistician 50 (1996).

/// The value at a fraction of an ordered list that is not empty.
pub fn quantile(sorted: &[f64], fraction: f64) -> f64 {
    let position = fraction * (sorted.len() - 1) as f64;
    let below = position.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (sorted[above] - sorted[below]) * (position - below as f64)
}

/// The lowest and the highest of some values; from positive to negative infinity where there are none.
pub fn lowest_and_highest(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}
