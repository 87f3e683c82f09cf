//! Eigenvalues of small symmetric matrices by Jacobi's rotations.
//!
//! Source: the cyclic Jacobi method as in G. H. Golub and C. F. Van Loan, Matrix Computations, section 8.5.

/// Eigenvalues and, in the same order, unit eigenvectors of a symmetric matrix given by rows.
pub fn eigen(matrix: &[Vec<f64>]) -> Vec<(f64, Vec<f64>)> {
    let n = matrix.len();
    let mut a = matrix.to_vec();
    let mut vectors: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    // Convergence is quadratic; 60 sweeps are far more than any small matrix takes.
    for _ in 0..60 {
        let off: f64 = (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| a[i][j] * a[i][j]).sum();
        let on: f64 = (0..n).map(|i| a[i][i] * a[i][i]).sum();
        if off <= 1e-32 * on {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                if a[p][q] != 0.0 {
                    rotate(&mut a, &mut vectors, p, q);
                }
            }
        }
    }
    (0..n).map(|k| (a[k][k], (0..n).map(|i| vectors[i][k]).collect())).collect()
}

/// Turns the plane of two axes so that their entry becomes zero.
fn rotate(a: &mut [Vec<f64>], vectors: &mut [Vec<f64>], p: usize, q: usize) {
    let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
    let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
    let t = if theta == 0.0 { 1.0 } else { t };
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    for row in a.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
    let (upper, lower) = (a[p].clone(), a[q].clone());
    for (k, (x, y)) in upper.iter().zip(&lower).enumerate() {
        (a[p][k], a[q][k]) = (c * x - s * y, s * x + c * y);
    }
    for row in vectors.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vectors_and_values_put_the_matrix_together_again() {
        let matrix = vec![vec![4.0, 1.0, -2.0], vec![1.0, 3.0, 0.5], vec![-2.0, 0.5, 1.0]];
        let pairs = eigen(&matrix);
        for i in 0..3 {
            for j in 0..3 {
                let sum: f64 = pairs.iter().map(|(value, vector)| value * vector[i] * vector[j]).sum();
                assert!((sum - matrix[i][j]).abs() < 1e-13, "{sum} at {i}, {j}");
            }
        }
    }

    #[test]
    fn a_singular_matrix_has_a_value_of_zero() {
        let pairs = eigen(&[vec![1.0, 1.0], vec![1.0, 1.0]]);
        let mut values: Vec<f64> = pairs.iter().map(|pair| pair.0).collect();
        values.sort_by(f64::total_cmp);
        assert!(values[0].abs() < 1e-15 && (values[1] - 2.0).abs() < 1e-15, "{values:?}");
    }
}
