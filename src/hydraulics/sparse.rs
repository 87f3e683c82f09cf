//! Elimination on a fixed sparse pattern: the order and the places of all fill are found once, then factored many times.
//!
//! The pattern is symmetric; the values need not be. Pivots are taken as they come, which is stable for the matrices of
//! networks: their diagonals are positive and at least as large as the rest of the column.

use std::collections::BTreeSet;

/// The order of elimination and where its numbers go.
#[derive(Debug, Clone, Default)]
pub struct Pattern {
    n: usize,
    /// Position in the order of elimination, for each unknown.
    position: Vec<u32>,
    /// Unknown at each position.
    unknown: Vec<u32>,
    /// Later neighbours of each position: `start[k]..start[k + 1]` in `neighbours`.
    start: Vec<u32>,
    neighbours: Vec<u32>,
    /// For each position, for each pair of its later neighbours, the slot of that pair; in order of elimination.
    targets: Vec<u32>,
}

/// The numbers of a matrix on a pattern.
#[derive(Debug, Clone, Default)]
pub struct Matrix {
    diagonal: Vec<f64>,
    upper: Vec<f64>,
    lower: Vec<f64>,
}

/// What stands in for a pivot where nothing ties an unknown to the rest: it moves freely in the way it is pushed.
const LOOSE: f64 = 1e-11;
/// A pivot this small against its entry before elimination counts as zero.
const NO_PIVOT: f64 = 1e-13;

impl Pattern {
    /// The pattern of `n` unknowns, coupled in pairs; eliminated in the order of least degree.
    pub fn new(n: usize, couples: impl IntoIterator<Item = (usize, usize)>) -> Pattern {
        let mut adjacent: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); n];
        for (a, b) in couples {
            if a != b {
                adjacent[a].insert(b);
                adjacent[b].insert(a);
            }
        }
        let mut waiting: BTreeSet<(usize, usize)> = (0..n).map(|node| (adjacent[node].len(), node)).collect();
        let mut unknown = Vec::with_capacity(n);
        let mut position = vec![0u32; n];
        let mut later: Vec<Vec<usize>> = Vec::with_capacity(n);
        while let Some((_, node)) = waiting.pop_first() {
            position[node] = unknown.len() as u32;
            unknown.push(node as u32);
            let around: Vec<usize> = std::mem::take(&mut adjacent[node]).into_iter().collect();
            for &a in &around {
                waiting.remove(&(adjacent[a].len(), a));
                adjacent[a].remove(&node);
                adjacent[a].extend(around.iter().copied().filter(|&b| b != a));
                waiting.insert((adjacent[a].len(), a));
            }
            later.push(around);
        }
        let mut pattern = Pattern { n, position, unknown, start: vec![0], neighbours: Vec::new(), targets: Vec::new() };
        for around in &later {
            let mut positions: Vec<u32> = around.iter().map(|&node| pattern.position[node]).collect();
            positions.sort_unstable();
            pattern.neighbours.extend(positions);
            pattern.start.push(pattern.neighbours.len() as u32);
        }
        for k in 0..n {
            let around = pattern.around(k);
            for first in around.clone() {
                for second in first + 1..around.end {
                    let (a, b) = (pattern.neighbours[first], pattern.neighbours[second]);
                    let slot = pattern.slot_of_positions(a as usize, b);
                    pattern.targets.push(slot as u32);
                }
            }
        }
        pattern
    }

    /// The slot of a coupled pair of unknowns.
    pub fn slot(&self, a: usize, b: usize) -> usize {
        let (a, b) = (self.position[a], self.position[b]);
        self.slot_of_positions(a.min(b) as usize, a.max(b))
    }

    /// A matrix of zeros on this pattern.
    pub fn matrix(&self) -> Matrix {
        let couples = self.neighbours.len();
        Matrix { diagonal: vec![0.0; self.n], upper: vec![0.0; couples], lower: vec![0.0; couples] }
    }

    fn around(&self, k: usize) -> std::ops::Range<usize> {
        self.start[k] as usize..self.start[k + 1] as usize
    }

    fn slot_of_positions(&self, first: usize, second: u32) -> usize {
        let around = self.around(first);
        around.start + self.neighbours[around].partition_point(|&position| position < second)
    }
}

impl Matrix {
    pub fn clear(&mut self) {
        self.diagonal.fill(0.0);
        self.upper.fill(0.0);
        self.lower.fill(0.0);
    }

    /// Adds to the diagonal entry of an unknown.
    #[inline]
    pub fn add_diagonal(&mut self, pattern: &Pattern, unknown: usize, value: f64) {
        self.diagonal[pattern.position[unknown] as usize] += value;
    }

    /// Adds the same value to both entries of a coupled pair.
    #[inline]
    pub fn add_pair(&mut self, slot: usize, value: f64) {
        self.upper[slot] += value;
        self.lower[slot] += value;
    }

    /// Adds to the entry in the row of one unknown and the column of another.
    #[inline]
    pub fn add_entry(&mut self, pattern: &Pattern, slot: usize, row: usize, column: usize, value: f64) {
        if pattern.position[row] < pattern.position[column] {
            self.upper[slot] += value;
        } else {
            self.lower[slot] += value;
        }
    }

    /// Solves in place; `right` comes in as the right side and goes out as the solution, both by unknown.
    ///
    /// The matrix is used up. An unknown without a pivot (nothing ties it to the rest) moves far
    /// in the way it is pushed, and not at all when nothing pushes it.
    /// `scratch` has room for all unknowns. `symmetric` says that upper and lower are equal, which halves the work.
    pub fn solve(&mut self, pattern: &Pattern, symmetric: Symmetry, right: &mut [f64], scratch: &mut [f64]) {
        let n = pattern.n;
        if n == 1 {
            right[0] /= if self.diagonal[0] > 0.0 { self.diagonal[0] } else { LOOSE };
            return;
        }
        for k in 0..n {
            scratch[k] = right[pattern.unknown[k] as usize];
        }
        let mut target = 0;
        for k in 0..n {
            let around = pattern.around(k);
            let pivot = self.diagonal[k];
            if pivot <= 0.0 {
                let count = around.len();
                target += count * count.saturating_sub(1) / 2;
                self.diagonal[k] = LOOSE;
                continue;
            }
            for first in around.clone() {
                let a = pattern.neighbours[first] as usize;
                let below = match symmetric {
                    Symmetry::Symmetric => self.upper[first],
                    Symmetry::General => self.lower[first],
                };
                let factor = below / pivot;
                let before = self.diagonal[a];
                let after = before - factor * self.upper[first];
                // What is left of a cancelled diagonal is rounding, not a pivot.
                self.diagonal[a] = if after < NO_PIVOT * before { 0.0 } else { after };
                scratch[a] -= factor * scratch[k];
                match symmetric {
                    Symmetry::Symmetric => {
                        for second in first + 1..around.end {
                            self.upper[pattern.targets[target] as usize] -= factor * self.upper[second];
                            target += 1;
                        }
                    }
                    Symmetry::General => {
                        for second in first + 1..around.end {
                            let slot = pattern.targets[target] as usize;
                            self.upper[slot] -= factor * self.upper[second];
                            self.lower[slot] -= self.lower[second] / pivot * self.upper[first];
                            target += 1;
                        }
                    }
                }
            }
        }
        for k in (0..n).rev() {
            let mut sum = scratch[k];
            for slot in pattern.around(k) {
                sum -= self.upper[slot] * scratch[pattern.neighbours[slot] as usize];
            }
            scratch[k] = sum / self.diagonal[k];
        }
        for k in 0..n {
            right[pattern.unknown[k] as usize] = scratch[k];
        }
    }
}

/// Whether the values above and below the diagonal are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symmetry {
    Symmetric,
    General,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Multiplies a dense copy and solves sparsely; the result must come back.
    fn there_and_back(n: usize, edges: &[(usize, usize, f64, f64)], symmetry: Symmetry) -> Result<(), TestCaseError> {
        let pattern = Pattern::new(n, edges.iter().map(|&(a, b, _, _)| (a, b)));
        let mut matrix = pattern.matrix();
        let mut dense = vec![vec![0.0; n]; n];
        for (node, row) in dense.iter_mut().enumerate() {
            matrix.add_diagonal(&pattern, node, 0.5);
            row[node] += 0.5;
        }
        for &(a, b, out, back) in edges.iter().filter(|(a, b, ..)| a != b) {
            let back = if symmetry == Symmetry::Symmetric { out } else { back };
            let slot = pattern.slot(a, b);
            for (row, column, value) in [(a, b, out), (b, a, back)] {
                matrix.add_diagonal(&pattern, column, value);
                matrix.add_entry(&pattern, slot, row, column, -value);
                dense[column][column] += value;
                dense[row][column] -= value;
            }
        }
        let x: Vec<f64> = (0..n).map(|i| (i as f64 * 1.7).sin() + 2.0).collect();
        let mut right: Vec<f64> = dense.iter().map(|row| row.iter().zip(&x).map(|(a, b)| a * b).sum()).collect();
        matrix.solve(&pattern, symmetry, &mut right, &mut vec![0.0; n]);
        for (found, expected) in right.iter().zip(&x) {
            prop_assert!((found - expected).abs() < 1e-9, "{found} instead of {expected}");
        }
        Ok(())
    }

    proptest! {
        #[test]
        fn solving_undoes_multiplying(
            n in 1usize..30,
            raw in prop::collection::vec((0usize..30, 0usize..30, 0.1f64..10.0, 0.1f64..10.0), 0..60),
            symmetric in prop::bool::ANY,
        ) {
            let edges: Vec<_> = raw.into_iter().map(|(a, b, out, back)| (a % n, b % n, out, back)).collect();
            let symmetry = if symmetric { Symmetry::Symmetric } else { Symmetry::General };
            there_and_back(n, &edges, symmetry)?;
        }
    }

    #[test]
    fn an_unknown_that_nothing_ties_moves_only_when_pushed() {
        let pattern = Pattern::new(3, [(0, 1)]);
        let mut matrix = pattern.matrix();
        for node in [0, 1] {
            matrix.add_diagonal(&pattern, node, 2.0);
        }
        matrix.add_pair(pattern.slot(0, 1), -1.0);
        let mut right = [1.0, 1.0, 0.0];
        matrix.clone().solve(&pattern, Symmetry::Symmetric, &mut right, &mut [0.0; 3]);
        assert_eq!(right, [1.0, 1.0, 0.0]);
        let mut pushed = [1.0, 1.0, -5.0];
        matrix.solve(&pattern, Symmetry::Symmetric, &mut pushed, &mut [0.0; 3]);
        assert!(pushed[2] < -1e6);
    }
}
