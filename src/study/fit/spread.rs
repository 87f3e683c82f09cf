//! How sure fitted parameters are: standard errors, correlations, and what the readings cannot determine.
//!
//! Source: the covariance of weighted least squares is the inverse of J^T J, as in W. H. Press et al., Numerical Recipes,
//! chapter 15, with errors of readings as given and not scaled by the chi_square.

use super::marquardt::normal_matrix;
use crate::numeric::eigen;
use crate::study::compare::listed;

/// Correlations beyond this are reported in the notes.
const CLOSELY: f64 = 0.98;
/// A combination of unknowns that moves the readings by less than this share of what each of them does is not seen at all.
const UNSEEN: f64 = 1e-9;
/// An unknown whose doubling moves no reading by this share of its error has no effect.
const NO_EFFECT: f64 = 1e-6;
/// Numbers with at least this share in an unseen combination belong to it.
const BELONGS: f64 = 0.1;

pub(super) struct Spread {
    /// Standard errors in the units of the unknowns of the search.
    pub errors: Vec<Option<f64>>,
    pub correlation: Vec<Vec<Option<f64>>>,
    pub notes: Vec<String>,
}

/// Errors and correlations from derivatives of residuals in standard errors, for unknowns that no bound holds.
pub(super) fn spread(jacobian: &[Vec<f64>], bound: &[bool], names: &[String]) -> Spread {
    let n = names.len();
    let mut spread = Spread { errors: vec![None; n], correlation: vec![vec![None; n]; n], notes: Vec::new() };
    let normal = normal_matrix(jacobian, n);
    let size = |index: usize| normal[index][index].sqrt();
    let idle: Vec<usize> = (0..n).filter(|&index| !bound[index] && size(index) < NO_EFFECT).collect();
    for &index in &idle {
        spread.notes.push(format!("no reading depends on {}: it keeps its value", names[index]));
    }
    let seen: Vec<usize> = (0..n).filter(|&index| !bound[index] && !idle.contains(&index)).collect();
    let scaled: Vec<Vec<f64>> =
        seen.iter().map(|&i| seen.iter().map(|&j| normal[i][j] / (size(i) * size(j))).collect()).collect();
    let pairs = eigen(&scaled);
    let mut unclear = vec![false; seen.len()];
    for (value, vector) in &pairs {
        if *value > UNSEEN {
            continue;
        }
        let unseen: Vec<usize> = (0..seen.len()).filter(|&index| vector[index].abs() > BELONGS).collect();
        unseen.iter().for_each(|&index| unclear[index] = true);
        let members: Vec<&str> = unseen.iter().map(|&index| names[seen[index]].as_str()).collect();
        spread.notes.push(format!(
            "the readings do not determine {} separately: fix one of them, or take a reading at another place or zone",
            listed(&members)
        ));
    }
    let covariance = |a: usize, b: usize| -> f64 {
        pairs.iter().filter(|(value, _)| *value > UNSEEN).map(|(value, vector)| vector[a] * vector[b] / value).sum()
    };
    for a in (0..seen.len()).filter(|&a| !unclear[a]) {
        let deviation = covariance(a, a).sqrt();
        spread.errors[seen[a]] = Some(deviation / size(seen[a]));
        for b in (0..seen.len()).filter(|&b| !unclear[b]) {
            let correlation = if a == b { 1.0 } else { covariance(a, b) / (deviation * covariance(b, b).sqrt()) };
            spread.correlation[seen[a]][seen[b]] = Some(correlation);
            if a < b && correlation.abs() > CLOSELY {
                spread.notes.push(format!(
                    "{} and {} are correlated ({correlation:.3}): the readings hardly determine them separately",
                    names[seen[a]], names[seen[b]]
                ));
            }
        }
    }
    spread
}
