//! Values in order, for the quantiles of [`Figures`](super::Figures).

use crate::limits::{self, Ended};
pub(super) use crate::numeric::quantile;

/// Finite numbers in rising order. Errors: the evaluation is to end.
pub(super) fn in_order(numbers: Vec<f64>) -> Result<Vec<f64>, Ended> {
    limits::sorted(numbers, f64::total_cmp)
}
