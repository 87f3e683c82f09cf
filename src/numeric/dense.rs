//! Small systems of linear equations with a symmetric, positive matrix.

/// Solves in place by elimination without pivots; the answer is in `right`. Only the upper triangle of `matrix`, given by rows,
/// is read. Zeros are passed over, so that an order in which nothing fills in costs little.
///
/// False, with `right` undone, where the matrix is not positive.
///
/// Source: the factors L D L^T as in G. H. Golub and C. F. Van Loan, Matrix Computations, section 4.1.
#[must_use]
pub fn solve_positive(matrix: &mut [f64], right: &mut [f64]) -> bool {
    let n = right.len();
    for pivot in 0..n {
        let (above, below) = matrix.split_at_mut((pivot + 1) * n);
        let pivots = &above[pivot * n..];
        if pivots[pivot].is_nan() || pivots[pivot] <= 0.0 {
            return false;
        }
        for (row, entries) in (pivot + 1..n).zip(below.chunks_exact_mut(n)) {
            let factor = pivots[row] / pivots[pivot];
            if factor != 0.0 {
                entries[row..].iter_mut().zip(&pivots[row..]).for_each(|(entry, above)| *entry -= factor * above);
                right[row] -= factor * right[pivot];
            }
        }
    }
    for row in (0..n).rev() {
        let entries = &matrix[row * n..(row + 1) * n];
        let known: f64 = entries[row + 1..].iter().zip(&right[row + 1..]).map(|(entry, x)| entry * x).sum();
        right[row] = (right[row] - known) / entries[row];
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_known_inverse_is_found_column_by_column() {
        // The inverse of second differences of four points: min(i, j) (5 - max(i, j)) / 5.
        for column in 1..=4usize {
            let mut matrix = vec![2.0, -1.0, 0.0, 0.0, -1.0, 2.0, -1.0, 0.0, 0.0, -1.0, 2.0, -1.0, 0.0, 0.0, -1.0, 2.0];
            let mut right: Vec<f64> = (1..=4).map(|row| f64::from(u8::from(row == column))).collect();
            assert!(solve_positive(&mut matrix, &mut right));
            for (row, found) in (1..=4usize).zip(right) {
                let expected = (row.min(column) * (5 - row.max(column))) as f64 / 5.0;
                assert!((found - expected).abs() < 1e-15, "{found} and {expected}");
            }
        }
    }

    #[test]
    fn the_hilbert_matrix_has_an_inverse_of_whole_numbers() {
        // From memory: the first column of the inverse for four rows.
        let mut matrix: Vec<f64> = (0..16).map(|index| 1.0 / (index / 4 + index % 4 + 1) as f64).collect();
        let mut right = vec![1.0, 0.0, 0.0, 0.0];
        assert!(solve_positive(&mut matrix, &mut right));
        for (found, expected) in right.iter().zip([16.0, -120.0, 240.0, -140.0]) {
            assert!((found - expected).abs() < 1e-9, "{found} and {expected}");
        }
    }

    #[test]
    fn what_is_not_positive_is_refused() {
        for matrix in [[0.0, 1.0, 1.0, 0.0], [1.0, 2.0, 2.0, 4.0], [1.0, 3.0, 3.0, 1.0], [f64::NAN, 0.0, 0.0, 1.0]] {
            assert!(!solve_positive(&mut matrix.clone(), &mut [1.0, 1.0]), "{matrix:?}");
        }
        assert!(solve_positive(&mut [], &mut []));
    }

    proptest! {
        #[test]
        fn the_answer_solves_the_system(n in 1usize..9, entries in prop::collection::vec(-1.0f64..1.0, 81), x in prop::collection::vec(-1.0f64..1.0, 9)) {
            // A A^T + I is positive whatever A is, and not far from even.
            let entry = |i: usize, j: usize| (0..n).map(|k| entries[9 * i + k] * entries[9 * j + k]).sum::<f64>() + f64::from(u8::from(i == j));
            let mut matrix: Vec<f64> = (0..n * n).map(|index| entry(index / n, index % n)).collect();
            let mut right: Vec<f64> = (0..n).map(|i| (0..n).map(|j| entry(i, j) * x[j]).sum()).collect();
            prop_assert!(solve_positive(&mut matrix, &mut right));
            for (found, expected) in right.iter().zip(&x) {
                prop_assert!((found - expected).abs() < 1e-12, "{} and {}", found, expected);
            }
        }
    }
}
