//! Pressures of a network as if every loss went with the square of its flow, from one elimination: a guess for the solve.
//!
//! A link has a conductance C, in m3/s/Pa^0.5: it carries C sqrt(dp). In a row 1/C^2 adds up, side by side C does, so a tree with outlets is
//! reduced exactly from its far ends to its source. Where more ends meet in a node, links between each two of them take its place, as in
//! the star-mesh transformation of linear networks (A. Rosen, J. Inst. Electr. Eng. 62 (1924), from memory): C_ij = w_i w_j with
//! w_i = C_i / (C_i^2 + (S - C_i)^2)^(1/4), S being the sum of all C. What outlets of the node take, C N / sqrt(C^2 + N^2) of its N other ends
//! together, goes to these by the squares of their C, as a little more taken from a flow does. That is our choice: exact for two ends.

use super::sparse::{Matrix, Pattern};
use crate::hydraulics::tolerances::{LEVELS_WITHIN, MOST_LEVEL_STEPS};
use std::ops::Range;

/// What a node exchanges with sources and the air, beside its links.
#[derive(Clone, Copy, Debug, Default)]
pub struct Own {
    /// What demands take, m3/s; not below zero.
    pub demand: f64,
    /// Outlets, which only take.
    pub outlets: Way,
    /// Sources, which give and take.
    pub sources: Way,
}

/// Ways out of a node, side by side.
#[derive(Clone, Copy, Debug, Default)]
pub struct Way {
    /// m3/s/Pa^0.5.
    conductance: f64,
    /// The pressure of the node at which nothing flows, Pa.
    still_at_pa: f64,
}

impl Way {
    /// Puts another one beside it; the pressure at rest becomes the mean of both, by their conductances.
    #[inline]
    pub fn add(&mut self, conductance: f64, still_at_pa: f64) {
        if conductance > 0.0 {
            self.conductance += conductance;
            self.still_at_pa += (still_at_pa - self.still_at_pa) * (conductance / self.conductance);
        }
    }
}

/// The weight of one end of a node in the links that take its place; `sum` is that of all conductances.
#[inline]
fn weight(conductance: f64, sum: f64) -> f64 {
    let others = sum - conductance;
    if conductance > 0.0 { conductance / (conductance * conductance + others * others).sqrt().sqrt() } else { 0.0 }
}

impl Matrix {
    /// Adds a link between two unknowns: from the one that is eliminated first to the other it carries C sqrt(p - p' - rise).
    ///
    /// Until a node is eliminated its slots hold sums of C and of C times the rise: links side by side have the mean of their rises.
    #[inline]
    pub fn add_square(&mut self, slot: usize, conductance: f64, rise_pa: f64) {
        self.upper[slot] += conductance;
        self.lower[slot] += conductance * rise_pa;
    }

    /// Puts the pressures of all unknowns into `pressures_pa`. The matrix and `own` are used up; `weights` has room for a number of each unknown.
    pub fn solve_squares(&mut self, pattern: &Pattern, own: &mut [Own], weights: &mut [f64], pressures_pa: &mut [f64]) {
        let mut target = 0;
        for k in 0..own.len() {
            let (around, here) = (pattern.around(k), own[k]);
            let links = self.upper[around.clone()].iter();
            let sum = links.fold(here.outlets.conductance + here.sources.conductance, |sum, conductance| sum + conductance);
            if sum <= 0.0 {
                target += around.len() * around.len().saturating_sub(1) / 2;
                continue;
            }
            for (weight_of, slot) in weights.iter_mut().zip(around.clone()) {
                let conductance = self.upper[slot];
                *weight_of = weight(conductance, sum);
                if conductance > 0.0 {
                    self.lower[slot] /= conductance;
                }
            }
            // Outlets take from what flows past, whose slopes go with 1/C^2.
            let taking = here.outlets.conductance;
            let ends = sum - taking;
            let squares = self.upper[around.clone()].iter().fold(here.sources.conductance.powi(2), |sum, c| sum + c * c);
            let outlets = taking * ends / ((taking * taking + ends * ends).sqrt() * squares);
            let sources = weight(here.sources.conductance, sum);
            for (first, slot) in around.clone().enumerate() {
                let (conductance, own_weight, rise_pa) = (self.upper[slot], weights[first], self.lower[slot]);
                let there = &mut own[pattern.neighbors[slot] as usize];
                there.demand += here.demand * (conductance / sum);
                there.outlets.add(conductance * conductance * outlets, here.outlets.still_at_pa - rise_pa);
                there.sources.add(own_weight * sources, here.sources.still_at_pa - rise_pa);
                for (other, other_weight) in (slot + 1..around.end).zip(&weights[first + 1..]) {
                    let rise_pa = self.lower[other] - rise_pa;
                    self.add_square(pattern.targets[target] as usize, own_weight * other_weight, rise_pa);
                    target += 1;
                }
            }
        }
        for k in (0..own.len()).rev() {
            pressures_pa[k] = self.level(pattern, pattern.around(k), &own[k], pressures_pa);
        }
    }

    /// The pressure at which a node balances whose later neighbors have theirs, Pa.
    fn level(&self, pattern: &Pattern, around: Range<usize>, own: &Own, pressures_pa: &[f64]) -> f64 {
        let links = around.map(|slot| (self.upper[slot], pressures_pa[pattern.neighbors[slot] as usize] + self.lower[slot]));
        let ends =
            links.chain([(own.sources.conductance, own.sources.still_at_pa)]).filter(|(conductance, _)| *conductance > 0.0);
        let (mut squares, mut sum, mut low, mut high, mut count) = (0.0, 0.0, f64::INFINITY, f64::NEG_INFINITY, 0);
        for (conductance, at_pa) in ends.clone() {
            let square = conductance * conductance;
            (squares, sum, count) = (squares + square, sum + square * at_pa, count + 1);
            (low, high) = (at_pa.min(low), at_pa.max(high));
        }
        let outlets = (own.outlets.conductance, own.outlets.still_at_pa);
        if count == 0 {
            return outlets.1;
        }
        if outlets.0 > 0.0 && high > outlets.1 {
            let square = outlets.0 * outlets.0;
            (squares, sum, count) = (squares + square, sum + square * outlets.1, count + 1);
            low = low.min(outlets.1);
        }
        let mean = sum / squares;
        // What flows from one end to the other goes by the mean of the squares, and so does what one end gives.
        if count == 1 || (count == 2 && own.demand == 0.0) {
            return mean - own.demand * own.demand / squares;
        }
        // Newton's method inside a bracket.
        low -= own.demand * own.demand / squares;
        let (range, mut pressure) = (high - low, mean);
        let least_root = (LEVELS_WITHIN * range).sqrt() * LEVELS_WITHIN;
        for _ in 0..MOST_LEVEL_STEPS {
            let (mut excess, mut slope) = (own.demand, 0.0);
            let mut flows = |(conductance, at_pa): (f64, f64)| {
                let over_pa = pressure - at_pa;
                let root = over_pa.abs().sqrt().max(least_root);
                excess += (conductance * root).copysign(over_pa);
                slope += conductance / root;
            };
            ends.clone().for_each(&mut flows);
            if outlets.0 > 0.0 && pressure > outlets.1 {
                flows(outlets);
            }
            if excess > 0.0 {
                high = pressure;
            } else {
                low = pressure;
            }
            let next = pressure - 2.0 * excess / slope;
            let next = if next > low && next < high { next } else { 0.5 * (low + high) };
            let step = (next - pressure).abs();
            pressure = next;
            if step <= LEVELS_WITHIN * range {
                break;
            }
        }
        pressure
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hydraulics::model::sparse::order;
    use proptest::prelude::*;

    const SOURCE_PA: f64 = 4e5;

    /// Links with their conductances and rises, and outlets, of a network fed at node 0 by a source with a conductance of its own.
    struct Network {
        links: Vec<(usize, usize, f64, f64)>,
        outlets: Vec<(usize, f64)>,
        source: f64,
    }

    impl Network {
        /// Pressures of the nodes.
        fn pressures_pa(&self, n: usize) -> Vec<f64> {
            let couples = || self.links.iter().map(|&(a, b, ..)| (a, b));
            let order = order(n, couples(), [0]);
            let mut place = vec![0; n];
            order.iter().enumerate().for_each(|(position, &node)| place[node] = position);
            let pattern = Pattern::new(n, couples().map(|(a, b)| (place[a], place[b])));
            let (mut matrix, mut own) = (pattern.matrix(), vec![Own::default(); n]);
            for &(a, b, conductance, rise_pa) in &self.links {
                let rise_pa = if place[a] < place[b] { rise_pa } else { -rise_pa };
                matrix.add_square(pattern.slot(place[a], place[b]), conductance, rise_pa);
            }
            self.outlets.iter().for_each(|&(node, conductance)| own[place[node]].outlets.add(conductance, 0.0));
            own[place[0]].sources.add(self.source, SOURCE_PA);
            let mut found = vec![f64::NAN; n];
            matrix.solve_squares(&pattern, &mut own, &mut vec![0.0; n], &mut found);
            (0..n).map(|node| found[place[node]]).collect()
        }
    }

    fn flow(conductance: f64, over_pa: f64) -> f64 {
        conductance * over_pa.abs().sqrt().copysign(over_pa)
    }

    proptest! {
        #[test]
        fn in_a_tree_every_node_balances(
            raw in prop::collection::vec((0usize..1000, -7.0f64..-3.0, prop::option::of(-8.0f64..-5.0)), 1..60),
            source in -6.0f64..-3.0,
        ) {
            let n = raw.len() + 1;
            let ten = |power: f64| 10f64.powf(power);
            let links: Vec<_> = raw.iter().enumerate().map(|(node, &(to, c, _))| (to % (node + 1), node + 1, ten(c), 0.0)).collect();
            let outlets = raw.iter().enumerate().filter_map(|(node, &(.., c))| Some((node + 1, ten(c?)))).collect();
            let network = Network { links, outlets, source: ten(source) };
            let pressures_pa = network.pressures_pa(n);
            let mut sums = vec![0.0; n];
            sums[0] = flow(network.source, SOURCE_PA - pressures_pa[0]);
            let given = sums[0];
            for &(a, b, conductance, _) in &network.links {
                let flow = flow(conductance, pressures_pa[a] - pressures_pa[b]);
                sums[a] -= flow;
                sums[b] += flow;
            }
            network.outlets.iter().for_each(|&(node, conductance)| sums[node] -= flow(conductance, pressures_pa[node]));
            // The root of a difference that is rounding is as large as the root of the rounding.
            let allowed = 1e-6 * given + 1e-7;
            prop_assert!(sums.iter().all(|sum| sum.abs() <= allowed), "{given}: {sums:?}");
        }

        #[test]
        fn pressures_lie_between_those_of_the_air_and_of_the_source(
            n in 2usize..30,
            raw in prop::collection::vec((0usize..30, 0usize..30, -7.0f64..-3.0), 1..60),
            outlets in prop::collection::vec((0usize..30, -8.0f64..-5.0), 1..10),
        ) {
            let ten = |power: f64| 10f64.powf(power);
            let chain = (1..n).map(|node| (node - 1, node, 1e-5, 0.0));
            let more = raw.into_iter().map(|(a, b, c)| (a % n, b % n, ten(c), 0.0)).filter(|(a, b, ..)| a != b);
            let outlets = outlets.into_iter().map(|(node, c)| (node % n, ten(c))).collect();
            let network = Network { links: chain.chain(more).collect(), outlets, source: 1e-4 };
            for pressure_pa in network.pressures_pa(n) {
                prop_assert!((-1e-6..=SOURCE_PA * (1.0 + 1e-12)).contains(&pressure_pa), "{pressure_pa}");
            }
        }

        #[test]
        fn water_at_rest_stands_by_its_heights(heights_m in prop::collection::vec(-5.0f64..5.0, 2..20), back in 1usize..5) {
            let n = heights_m.len();
            let up_pa = |a: usize, b: usize| 1e4 * (heights_m[b] - heights_m[a]);
            let loops = (back..n).map(|node| (node - back, node));
            let links = (1..n).map(|node| (node - 1, node)).chain(loops).map(|(a, b)| (a, b, 1e-5, up_pa(a, b))).collect();
            let network = Network { links, outlets: Vec::new(), source: 1e-4 };
            for (node, pressure_pa) in network.pressures_pa(n).into_iter().enumerate() {
                let expected = SOURCE_PA - up_pa(0, node);
                prop_assert!((pressure_pa - expected).abs() < 1e-6 * SOURCE_PA, "{pressure_pa} instead of {expected}");
            }
        }
    }
}
