//! Elimination on a fixed sparse pattern: the order and the places of all fill are found once, then factored many times.
//!
//! The pattern is symmetric; the values need not be. Pivots are taken as they come, which is stable for the matrices of
//! networks: their diagonals are positive and at least as large as the rest of the column.

use crate::hydraulics::tolerances::{LOOSE_PIVOT, NO_PIVOT};
use crate::numeric::lanes::{F, Vector};
use std::collections::BTreeSet;

/// Where the numbers of a matrix go whose unknowns are eliminated in their order.
#[derive(Debug, Clone, Default)]
pub struct Pattern {
    n: usize,
    /// Later neighbors of each unknown: `start[k]..start[k + 1]` in `neighbors`.
    start: Vec<u32>,
    pub(super) neighbors: Vec<u32>,
    /// For each unknown, for each pair of its later neighbors, the slot of that pair; in order of elimination.
    pub(super) targets: Vec<u32>,
}

/// The numbers of a matrix on a pattern.
#[derive(Debug, Clone, Default)]
pub struct Matrix {
    diagonal: Vec<f64>,
    pub(super) upper: Vec<f64>,
    pub(super) lower: Vec<f64>,
}

/// A good order of elimination for `n` unknowns, coupled in pairs: least degree first, then arranged so that each unknown
/// stands close before the one it is eliminated into, which changes no fill and keeps neighbors close in memory. Those that are
/// `fed` count as coupled to one more, which comes last: so a tree is eliminated from its far ends to its source.
pub fn order(n: usize, couples: impl IntoIterator<Item = (usize, usize)>, fed: impl IntoIterator<Item = usize>) -> Vec<usize> {
    let mut adjacent: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); n];
    for node in fed {
        adjacent[node].insert(n);
    }
    for (a, b) in couples {
        if a != b {
            adjacent[a].insert(b);
            adjacent[b].insert(a);
        }
    }
    let mut waiting: BTreeSet<(usize, usize)> = (0..n).map(|node| (adjacent[node].len(), node)).collect();
    let mut chosen = Vec::with_capacity(n);
    let mut position = vec![0; n];
    let mut later: Vec<Vec<usize>> = Vec::with_capacity(n);
    while let Some((_, node)) = waiting.pop_first() {
        position[node] = chosen.len();
        chosen.push(node);
        let around: Vec<usize> = std::mem::take(&mut adjacent[node]).into_iter().collect();
        for &a in around.iter().filter(|&&a| a < n) {
            waiting.remove(&(adjacent[a].len(), a));
            adjacent[a].remove(&node);
            adjacent[a].extend(around.iter().copied().filter(|&b| b != a));
            waiting.insert((adjacent[a].len(), a));
        }
        later.push(around);
    }
    // The tree of elimination: each unknown hangs under the first of its later neighbors. Roots last, children before.
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); n];
    let mut roots = Vec::new();
    for (k, around) in later.iter().enumerate() {
        match around.iter().filter(|&&node| node < n).map(|&node| position[node]).min() {
            Some(parent) => children[parent].push(k),
            None => roots.push(k),
        }
    }
    let mut arranged = Vec::with_capacity(n);
    let mut stack = roots;
    while let Some(k) = stack.pop() {
        arranged.push(chosen[k]);
        stack.append(&mut children[k]);
    }
    arranged.reverse();
    arranged
}

impl Pattern {
    /// The pattern of `n` unknowns, coupled in pairs, eliminated in the order 0 to n; see [`order`].
    pub fn new(n: usize, couples: impl IntoIterator<Item = (usize, usize)>) -> Pattern {
        let mut later: Vec<Vec<u32>> = vec![Vec::new(); n];
        for (a, b) in couples {
            if a != b {
                later[a.min(b)].push(a.max(b) as u32);
            }
        }
        let mut pattern = Pattern { n, start: vec![0], ..Pattern::default() };
        for k in 0..n {
            let mut around = std::mem::take(&mut later[k]);
            around.sort_unstable();
            around.dedup();
            // Elimination couples the first of the later neighbors with the others.
            if let Some((&first, others)) = around.split_first() {
                later[first as usize].extend(others);
            }
            pattern.neighbors.extend(around);
            pattern.start.push(pattern.neighbors.len() as u32);
        }
        for k in 0..n {
            let around = pattern.around(k);
            for first in around.clone() {
                for second in first + 1..around.end {
                    let (a, b) = (pattern.neighbors[first] as usize, pattern.neighbors[second] as usize);
                    pattern.targets.push(pattern.slot(a, b) as u32);
                }
            }
        }
        pattern
    }

    /// The slot of a coupled pair of unknowns.
    pub fn slot(&self, a: usize, b: usize) -> usize {
        let around = self.around(a.min(b));
        around.start + self.neighbors[around].partition_point(|&neighbor| (neighbor as usize) < a.max(b))
    }

    /// A matrix of zeros on this pattern.
    pub fn matrix(&self) -> Matrix {
        let couples = self.neighbors.len();
        Matrix { diagonal: vec![0.0; self.n], upper: vec![0.0; couples], lower: vec![0.0; couples] }
    }

    /// The number of coupled pairs, those that elimination adds included.
    pub fn couples(&self) -> usize {
        self.neighbors.len()
    }

    /// Solves systems of several cases side by side in place, as [`Matrix::solve`] does for one; matrices are used up, and `right` goes out as the
    /// solutions. Symmetric systems have nothing in `lower`.
    #[inline(always)]
    pub fn eliminate<S: Vector, const W: usize, const GENERAL: bool>(
        &self,
        diagonal: &mut [F<S, W>],
        upper: &mut [F<S, W>],
        lower: &mut [F<S, W>],
        right: &mut [F<S, W>],
    ) {
        let mut target = 0;
        for k in 0..self.n {
            let (pivot, zero) = (diagonal[k], diagonal[k].like(0.0));
            let sound = pivot.gt(zero);
            let inverse = 1.0 / pivot;
            // What nothing ties eliminates nothing, and moves far in the way it is pushed.
            let (eliminates, own) = (sound.keep(inverse), right[k]);
            diagonal[k] = sound.choose(inverse, zero.like(1.0 / LOOSE_PIVOT));
            let around = self.around(k);
            for first in around.clone() {
                let a = self.neighbors[first] as usize;
                let factor = if GENERAL { lower[first] } else { upper[first] } * eliminates;
                let before = diagonal[a];
                let after = before - factor * upper[first];
                diagonal[a] = after.lt(NO_PIVOT * before).choose(zero, after);
                right[a] = right[a] - factor * own;
                for second in first + 1..around.end {
                    let slot = self.targets[target] as usize;
                    upper[slot] = upper[slot] - factor * upper[second];
                    if GENERAL {
                        lower[slot] = lower[slot] - lower[second] * eliminates * upper[first];
                    }
                    target += 1;
                }
            }
        }
        for k in (0..self.n).rev() {
            let mut sum = right[k];
            for slot in self.around(k) {
                sum = sum - upper[slot] * right[self.neighbors[slot] as usize];
            }
            right[k] = sum * diagonal[k];
        }
    }

    pub(super) fn around(&self, k: usize) -> std::ops::Range<usize> {
        self.start[k] as usize..self.start[k + 1] as usize
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
    pub fn add_diagonal(&mut self, unknown: usize, value: f64) {
        self.diagonal[unknown] += value;
    }

    /// Adds the same value to both entries of a coupled pair.
    #[inline]
    pub fn add_pair(&mut self, slot: usize, value: f64) {
        self.upper[slot] += value;
        self.lower[slot] += value;
    }

    /// Adds to the entry in the row of one unknown and the column of another.
    #[inline]
    pub fn add_entry(&mut self, slot: usize, row: usize, column: usize, value: f64) {
        if row < column {
            self.upper[slot] += value;
        } else {
            self.lower[slot] += value;
        }
    }

    /// Solves in place; `right` comes in as the right side and goes out as the solution.
    ///
    /// The matrix is used up. An unknown without a pivot (nothing ties it to the rest) moves far
    /// in the way it is pushed, and not at all when nothing pushes it.
    /// `symmetric` says that upper and lower are equal, which halves the work.
    pub fn solve(&mut self, pattern: &Pattern, symmetric: Symmetry, right: &mut [f64]) {
        let n = pattern.n;
        let mut target = 0;
        for k in 0..n {
            let around = pattern.around(k);
            let pivot = self.diagonal[k];
            if pivot <= 0.0 {
                let count = around.len();
                target += count * count.saturating_sub(1) / 2;
                self.diagonal[k] = LOOSE_PIVOT;
                continue;
            }
            for first in around.clone() {
                let a = pattern.neighbors[first] as usize;
                let below = match symmetric {
                    Symmetry::Symmetric => self.upper[first],
                    Symmetry::General => self.lower[first],
                };
                let factor = below / pivot;
                let before = self.diagonal[a];
                let after = before - factor * self.upper[first];
                // What is left of a canceled diagonal is rounding, not a pivot.
                self.diagonal[a] = if after < NO_PIVOT * before { 0.0 } else { after };
                right[a] -= factor * right[k];
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
            let mut sum = right[k];
            for slot in pattern.around(k) {
                sum -= self.upper[slot] * right[pattern.neighbors[slot] as usize];
            }
            right[k] = sum / self.diagonal[k];
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

    /// Where each unknown went in an order, which holds each of them once.
    fn places(order: &[usize]) -> Vec<usize> {
        let mut place = vec![usize::MAX; order.len()];
        order.iter().enumerate().for_each(|(position, &unknown)| place[unknown] = position);
        assert!(place.iter().all(|&position| position < order.len()));
        place
    }

    /// Multiplies a dense copy and solves sparsely; the result must come back.
    fn there_and_back(n: usize, edges: &[(usize, usize, f64, f64)], symmetry: Symmetry) -> Result<(), TestCaseError> {
        let couples = || edges.iter().map(|&(a, b, _, _)| (a, b));
        let place = places(&order(n, couples(), []));
        let edges: Vec<_> = edges.iter().map(|&(a, b, out, back)| (place[a], place[b], out, back)).collect();
        let pattern = Pattern::new(n, edges.iter().map(|&(a, b, _, _)| (a, b)));
        prop_assert!(pattern.neighbors.len() <= Pattern::new(n, couples()).neighbors.len() + n);
        let mut matrix = pattern.matrix();
        let mut dense = vec![vec![0.0; n]; n];
        for (node, row) in dense.iter_mut().enumerate() {
            matrix.add_diagonal(node, 0.5);
            row[node] += 0.5;
        }
        for &(a, b, out, back) in edges.iter().filter(|(a, b, ..)| a != b) {
            let back = if symmetry == Symmetry::Symmetric { out } else { back };
            let slot = pattern.slot(a, b);
            for (row, column, value) in [(a, b, out), (b, a, back)] {
                matrix.add_diagonal(column, value);
                matrix.add_entry(slot, row, column, -value);
                dense[column][column] += value;
                dense[row][column] -= value;
            }
        }
        let x: Vec<f64> = (0..n).map(|i| (i as f64 * 1.7).sin() + 2.0).collect();
        let mut right: Vec<f64> = dense.iter().map(|row| row.iter().zip(&x).map(|(a, b)| a * b).sum()).collect();
        matrix.solve(&pattern, symmetry, &mut right);
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
            matrix.add_diagonal(node, 2.0);
        }
        matrix.add_pair(pattern.slot(0, 1), -1.0);
        let mut right = [1.0, 1.0, 0.0];
        matrix.clone().solve(&pattern, Symmetry::Symmetric, &mut right);
        assert_eq!(right, [1.0, 1.0, 0.0]);
        let mut pushed = [1.0, 1.0, -5.0];
        matrix.solve(&pattern, Symmetry::Symmetric, &mut pushed);
        assert!(pushed[2] < -1e6);
    }
}
