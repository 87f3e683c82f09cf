//! How much of the spread of an answer comes from each parameter that is not known exactly: Sobol indices.
//!
//! The design asks for n (k + 2) cases; their answers give for every parameter its first-order index and its total index with everything
//! it acts together with. It knows nothing of what answers.

use super::axes::Axes;
use super::axis::{Axis, AxisError, AxisValues};
use super::random::{Distribution, Samples, Spreading};
use crate::limits::{self, Ended, Steps};
use crate::quantity::Quantity;
use crate::told::Told;
use thiserror::Error;

/// The Sobol indices of one parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct SobolIndex {
    /// Name of the axis on which the parameter varies.
    pub name: String,
    /// Part of the variance that would go if the parameter were known.
    pub first_order: f64,
    /// Standard error of `first_order`.
    pub first_order_error: f64,
    /// Part of the variance that would be left if all others were known.
    pub total: f64,
    /// Standard error of `total`.
    pub total_error: f64,
}

/// Why there are no Sobol indices.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum SobolError {
    /// No axis has a distribution.
    #[error("sobol_indices: no parameter has a distribution")]
    NothingDrawn,
    /// An axis has fixed values, whose share of a variance means nothing.
    #[error("sobol_indices: '{axis}' has no distribution")]
    NotDrawn {
        /// Name of the axis.
        axis: String,
    },
    /// The answer is the same in all cases, so that there is no variance to share.
    #[error("sobol_indices: the result does not change")]
    Still,
    /// Cases without an answer leave gaps that the estimate does not allow.
    #[error("sobol_indices: {failed} of {cases} cases have no result")]
    Failed {
        /// How many have none.
        failed: usize,
        /// How many cases there are.
        cases: usize,
    },
    /// The axes make no sense together.
    #[error(transparent)]
    Axis(#[from] AxisError),
    /// Somebody or a limit stopped it.
    #[error(transparent)]
    Ended(#[from] Ended),
}

impl Told for SobolError {
    fn hint(&self) -> Option<String> {
        Some(
            match self {
                SobolError::NothingDrawn | SobolError::NotDrawn { .. } => {
                    "vary every parameter by normal(...), between(...) or another distribution"
                }
                SobolError::Still => "vary parameters that affect the result",
                SobolError::Failed { .. } => "narrow the distributions to possible values",
                SobolError::Axis(error) => return error.hint(),
                SobolError::Ended(_) => return None,
            }
            .into(),
        )
    }
}

/// What a value of the design takes, while it is made and as part of an axis.
const BYTES_OF_A_VALUE: usize = 2 * size_of::<Quantity>();
/// Resamples for the standard errors.
const RESAMPLES: usize = 200;

/// The cases whose answers give the indices, as paired axes: for each sample the rows A, B and, for each parameter, A with that
/// parameter from B. Samples are spread evenly.
///
/// Errors: an axis that is not drawn, or none at all.
pub fn design(axes: &Axes) -> Result<Axes, SobolError> {
    let samples = axes.samples().ok_or(SobolError::NothingDrawn)?;
    let samples = Samples { spreading: Spreading::Even, ..samples };
    let mut drawn: Vec<(&str, &Distribution)> = Vec::new();
    for axis in axes.axes() {
        match &axis.values {
            AxisValues::Drawn { distribution, .. } => drawn.push((&axis.name, distribution)),
            _ => return Err(SobolError::NotDrawn { axis: axis.name.clone() }),
        }
    }
    let k = drawn.len();
    let cases = samples.n.saturating_mul(k + 2);
    limits::room_for(cases.saturating_mul(k).saturating_mul(BYTES_OF_A_VALUE))?;
    let mut steps = Steps::default();
    let mut zipped = Vec::with_capacity(k);
    for (number, (name, distribution)) in drawn.into_iter().enumerate() {
        let mut values: Vec<Quantity> = Vec::with_capacity(cases);
        for sample in 0..samples.n {
            steps.step()?;
            let of = |stream: usize| distribution.quantity(distribution.quantile(samples.uniform(sample, stream)));
            let (a, b) = (of(number), of(k + number));
            values.extend([a, b]);
            values.extend((0..k).map(|other| if other == number { b } else { a }));
        }
        zipped.push(Axis::of_quantities(name, &values)?);
    }
    Ok(Axes::default().and_paired(zipped)?)
}

/// The indices from the answers to the cases of [`design`], in the order of the axes.
///
/// Alone: A. Saltelli et al., Variance based sensitivity analysis of model output, Computer Physics Communications 181
/// (2010), table 2 (b). Total: M. J. W. Jansen, Analysis of variance designs for model output, the same journal 117 (1999).
/// Errors are standard errors of 200 resamples; for evenly spread samples they are on the safe side.
pub fn sobol_indices(names: &[String], answers: &[Option<f64>]) -> Result<Vec<SobolIndex>, SobolError> {
    let k = names.len();
    limits::room_for(answers.len().saturating_mul(2 * size_of::<f64>()))?;
    let failed = answers.iter().filter(|answer| answer.is_none()).count();
    if failed > 0 {
        return Err(SobolError::Failed { failed, cases: answers.len() });
    }
    let mut values: Vec<f64> = answers.iter().copied().flatten().collect();
    // The estimators lose digits to a large mean.
    let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
    values.iter_mut().for_each(|value| *value -= mean);
    let rows: Vec<&[f64]> = values.chunks_exact(k + 2).collect();
    let whole = estimate(k, rows.iter().copied()).ok_or(SobolError::Still)?;
    let mut sums = vec![[0.0; 4]; k];
    let random = Samples { n: 0, seed: 1, spreading: Spreading::Independent };
    for resample in 0..RESAMPLES {
        let pick = |place: usize| rows[(random.uniform(place, resample) * rows.len() as f64) as usize];
        limits::go_on()?;
        let again = estimate(k, (0..rows.len()).map(pick)).unwrap_or_else(|| whole.clone());
        for (sum, (first_order, total)) in sums.iter_mut().zip(again) {
            let terms = [first_order, first_order * first_order, total, total * total];
            sum.iter_mut().zip(terms).for_each(|(sum, term)| *sum += term);
        }
    }
    let deviation = |sum: f64, squares: f64| {
        let n = RESAMPLES as f64;
        ((squares - sum * sum / n) / (n - 1.0)).max(0.0).sqrt()
    };
    let index = |((name, (first_order, total)), sum): ((&String, (f64, f64)), &[f64; 4])| SobolIndex {
        name: name.clone(),
        first_order,
        first_order_error: deviation(sum[0], sum[1]),
        total,
        total_error: deviation(sum[2], sum[3]),
    };
    Ok(names.iter().zip(whole).zip(&sums).map(index).collect())
}

/// First-order and total index of each parameter; `None` when all answers are the same.
fn estimate<'a>(k: usize, rows: impl Iterator<Item = &'a [f64]>) -> Option<Vec<(f64, f64)>> {
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    let mut products = vec![(0.0, 0.0); k];
    for row in rows {
        if limits::ended() {
            return None;
        }
        let (a, b) = (row[0], row[1]);
        n += 1.0;
        sum += a + b;
        squares += a * a + b * b;
        for (product, mixed) in products.iter_mut().zip(&row[2..]) {
            product.0 += b * (mixed - a);
            product.1 += 0.5 * (a - mixed) * (a - mixed);
        }
    }
    let variance = squares / (2.0 * n) - (sum / (2.0 * n)).powi(2);
    let scale = products.iter().map(|(_, total)| total / n).fold(0.0, f64::max);
    if !(variance > 0.0 && scale > 0.0) {
        return None;
    }
    Some(products.into_iter().map(|(first_order, total)| (first_order / n / variance, total / n / variance)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn drawn(names: &[&str], low: f64, high: f64, n: usize) -> Axes {
        let number = Quantity::number;
        let between = Distribution::between(number(low), number(high)).expect("a distribution");
        let axes = names.iter().try_fold(Axes::default(), |axes, name| axes.and_drawn(name, between.clone()));
        let samples = Samples { n, seed: 4, spreading: Spreading::Even };
        axes.and_then(|axes| axes.sampled(samples)).expect("axes")
    }

    fn answers(axes: &Axes, f: impl Fn(&[f64]) -> f64) -> Vec<Option<f64>> {
        let mut indices = vec![0; axes.axes().len()];
        let answer = |case: usize| {
            axes.indices(case, &mut indices);
            let x: Vec<f64> = axes.axes().iter().zip(&indices).map(|(axis, i)| axis.si(*i).unwrap_or(f64::NAN)).collect();
            Some(f(&x))
        };
        (0..axes.cases()).map(answer).collect()
    }

    #[test]
    fn the_indices_of_ishigamis_function_are_those_of_its_closed_form() {
        // T. Ishigami and T. Homma, An importance quantification technique in uncertainty analysis for computer models (1990);
        // f = sin x1 + a sin2 x2 + b x3^4 sin x1 on (-pi, pi), a = 7, b = 0.1.
        let (a, b) = (7.0, 0.1);
        let v1 = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2);
        let v2 = a * a / 8.0;
        let v13 = b * b * PI.powi(8) * 8.0 / 225.0;
        let v = v1 + v2 + v13;
        let names = ["x1", "x2", "x3"];
        let design = design(&drawn(&names, -PI, PI, 8192)).expect("a design");
        let f = |x: &[f64]| x[0].sin() + a * x[1].sin().powi(2) + b * x[2].powi(4) * x[0].sin();
        let found = sobol_indices(&names.map(String::from), &answers(&design, f)).expect("sobol_indices");
        let expected = [(v1 / v, (v1 + v13) / v), (v2 / v, v2 / v), (0.0, v13 / v)];
        for (index, (first_order, total)) in found.iter().zip(expected) {
            // Evenly spread samples do better than the standard error of independent ones.
            assert!(
                (index.first_order - first_order).abs() < 2.0 * index.first_order_error.max(0.002),
                "{index:?}, expected {first_order}"
            );
            assert!((index.total - total).abs() < 2.0 * index.total_error.max(0.002), "{index:?}, expected {total}");
            assert!(index.first_order_error < 0.03 && index.total_error < 0.03, "{index:?}");
        }
    }

    #[test]
    fn a_sum_gives_every_number_its_own_variance() {
        let names = ["x", "y"];
        let design = design(&drawn(&names, 0.0, 1.0, 2048)).expect("a design");
        // Variances of 3x and y stand as 9 to 1, far from zero on purpose.
        let found =
            sobol_indices(&names.map(String::from), &answers(&design, |x| 1e6 + 3.0 * x[0] + x[1])).expect("sobol_indices");
        for (index, expected) in found.iter().zip([0.9, 0.1]) {
            assert!((index.first_order - expected).abs() < 0.005 && (index.total - expected).abs() < 0.005, "{index:?}");
        }
    }

    #[test]
    fn designs_and_answers_without_a_variance_are_refused() {
        let axes = Axes::default().and(Axis::of_quantities("x", &[Quantity::number(1.0)]).expect("an axis")).expect("axes");
        assert_eq!(design(&axes).unwrap_err(), SobolError::NothingDrawn);
        let names = ["x".to_string()];
        assert_eq!(sobol_indices(&names, &[Some(1.0); 30]), Err(SobolError::Still));
        assert_eq!(sobol_indices(&names, &[Some(1.0), None, Some(2.0)]), Err(SobolError::Failed { failed: 1, cases: 3 }));
    }
}
