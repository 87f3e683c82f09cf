//! How far a head throws over its pressure, and what a row of cans from the head caught.

use crate::told::Told;
use crate::unit_system::example;
use std::f64::consts::TAU;
use thiserror::Error;

/// Why measured throws or catches say nothing.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum ThrowError {
    /// No pair of pressure and throw.
    #[error("throws: there is no pair of pressure and radius")]
    NoPairs,
    /// A pressure or radius that is zero, below it, infinite or not a number.
    #[error("throws: pair {pair} must have a pressure and a radius above zero")]
    NotPositive {
        /// The first such pair, counted from 1.
        pair: usize,
    },
    /// Pressures out of order, or the same twice.
    #[error("throws: the pressure does not rise from pair {pair} to the next")]
    PressureNotRising {
        /// The earlier one, counted from 1.
        pair: usize,
    },
    /// A single can has no shape.
    #[error("radial_profile: a row of cans needs two cans at least, found {found}")]
    FewCans {
        /// How many there are.
        found: usize,
    },
    /// A distance or rate below zero, infinite or not a number.
    #[error("radial_profile: can {can} has a distance or rate below zero")]
    BelowZero {
        /// The first such can, counted from 1.
        can: usize,
    },
    /// Distances out of order, or the same twice.
    #[error("radial_profile: the distance does not rise from can {can} to the next")]
    DistanceNotRising {
        /// The earlier one, counted from 1.
        can: usize,
    },
    /// All cans are dry.
    #[error("radial_profile: all cans are dry")]
    Dry,
}

impl Told for ThrowError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            ThrowError::NoPairs | ThrowError::NotPositive { .. } | ThrowError::PressureNotRising { .. } => example(
                "give pairs in the order of rising pressure, as in .throws([[20.psi, 13.ft], [30.psi, 15.ft]])",
                "give pairs in the order of rising pressure, as in .throws([[1.4.bar, 4.m], [2.bar, 4.6.m]])",
            ),
            _ => example(
                "give distance and rate of each can from the head outward, as in \
                 .radial_profile([[0.ft, 0.9.in_per_h], [5.ft, 0.7.in_per_h], [12.ft, 0.in_per_h]])",
                "give distance and rate of each can from the head outward, as in \
                 .radial_profile([[0.m, 20.mm_per_h], [2.m, 16.mm_per_h], [4.m, 0.mm_per_h]])",
            ),
        })
    }
}

/// Throw over pressure by measured pairs, as shares of the last pair.
#[derive(Clone, Debug, PartialEq)]
pub struct ThrowTable {
    pairs: Vec<(f64, f64)>,
}

impl ThrowTable {
    /// Pairs of gauge pressure (Pa) and radius (m), the pressure rising.
    ///
    /// Errors: no pair, a value that is not above zero, pressures out of order.
    pub fn new(pairs: &[(f64, f64)]) -> Result<ThrowTable, ThrowError> {
        let sound = |value: f64| value.is_finite() && value > 0.0;
        let &(last_pa, last_m) = pairs.last().ok_or(ThrowError::NoPairs)?;
        if let Some(index) = pairs.iter().position(|&(pressure, radius)| !sound(pressure) || !sound(radius)) {
            return Err(ThrowError::NotPositive { pair: index + 1 });
        }
        if let Some(index) = pairs.windows(2).position(|pair| pair[1].0 <= pair[0].0) {
            return Err(ThrowError::PressureNotRising { pair: index + 1 });
        }
        Ok(ThrowTable { pairs: pairs.iter().map(|&(pressure, radius)| (pressure / last_pa, radius / last_m)).collect() })
    }

    /// The least measured pressure as a share of the last one.
    pub fn first_share(&self) -> f64 {
        self.pairs[0].0
    }

    /// Throw at a pressure, both as shares of the last pair: straight between pairs, held above the last, below the first with the
    /// square root of the pressure.
    pub fn at(&self, pressure_share: f64) -> f64 {
        match self.pairs.partition_point(|pair| pair.0 <= pressure_share) {
            0 => self.pairs[0].1 * (pressure_share / self.pairs[0].0).max(0.0).sqrt(),
            next if next == self.pairs.len() => self.pairs[next - 1].1,
            next => {
                let ((from, low), (to, high)) = (self.pairs[next - 1], self.pairs[next]);
                low + (high - low) * (pressure_share - from) / (to - from)
            }
        }
    }
}

/// What a row of cans from a head outward caught: straight lines between the cans, zero beyond the last.
#[derive(Clone, Debug, PartialEq)]
pub struct RadialProfile {
    /// Distance from the head, m, and rate, m/s; the first is that of the head itself.
    points: Vec<(f64, f64)>,
}

/// A part of a profile whose water falls as a cone, or the same everywhere, up to a distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// How far it goes, as a share of the reach of the profile.
    pub reach: f64,
    /// Share of all water; below zero where the profile is hollow.
    pub share: f64,
    /// The same rate everywhere, where the last can still caught water; otherwise a cone.
    pub flat: bool,
}

impl RadialProfile {
    /// Pairs of distance from the head (m) and rate (m/s), the distance rising. A first can away from the head holds up to the head; dry
    /// cans beyond the first of them at the end are left out.
    ///
    /// Errors: fewer than two cans, values below zero, distances out of order, no water.
    pub fn new(cans: &[(f64, f64)]) -> Result<RadialProfile, ThrowError> {
        if cans.len() < 2 {
            return Err(ThrowError::FewCans { found: cans.len() });
        }
        let sound = |value: f64| value.is_finite() && value >= 0.0;
        if let Some(index) = cans.iter().position(|&(distance, rate)| !sound(distance) || !sound(rate)) {
            return Err(ThrowError::BelowZero { can: index + 1 });
        }
        if let Some(index) = cans.windows(2).position(|pair| pair[1].0 <= pair[0].0) {
            return Err(ThrowError::DistanceNotRising { can: index + 1 });
        }
        let last_wet = cans.iter().rposition(|can| can.1 > 0.0).ok_or(ThrowError::Dry)?;
        let mut points = cans[..(last_wet + 2).min(cans.len())].to_vec();
        if points[0].0 > 0.0 {
            points.insert(0, (0.0, points[0].1));
        }
        // Water at the head alone would cover no ground.
        if points.len() < 2 { Err(ThrowError::Dry) } else { Ok(RadialProfile { points }) }
    }

    /// Where the water ends, m.
    pub fn reach_m(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// Rate at a distance, m/s.
    pub fn at(&self, distance_m: f64) -> f64 {
        match self.points.partition_point(|point| point.0 <= distance_m) {
            next if next == self.points.len() => {
                let last = self.points[next - 1];
                if distance_m > last.0 { 0.0 } else { last.1 }
            }
            next => {
                let ((from, low), (to, high)) = (self.points[next - 1], self.points[next]);
                low + (high - low) * (distance_m - from) / (to - from)
            }
        }
    }

    /// Water within a distance over a full circle, m3/s.
    pub fn within(&self, distance_m: f64) -> f64 {
        let pieces = self.points.windows(2).map(|pair| {
            let ((from, low), (to, high)) = (pair[0], pair[1]);
            let end = distance_m.clamp(from, to);
            let slope = (high - low) / (to - from);
            let level = low - slope * from;
            TAU * (0.5 * level * (end * end - from * from) + slope / 3.0 * (end.powi(3) - from.powi(3)))
        });
        pieces.sum()
    }

    /// Flow of a head that waters an arc so, m3/s.
    pub fn flow_m3_per_s(&self, arc_deg: f64) -> f64 {
        self.within(self.reach_m()) * arc_deg / 360.0
    }

    /// The profile as cones of several reaches on top of each other, and a disc where the last can caught water: where the slope
    /// changes by k at a distance d, a cone k (d - r) ends.
    pub fn layers(&self) -> Vec<Layer> {
        let (reach_m, all) = (self.reach_m(), self.within(self.reach_m()));
        let slope = |index: usize| {
            let pair = self.points.get(index..index + 2);
            pair.map_or(0.0, |pair| (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0))
        };
        let cones = (1..self.points.len()).map(|index| {
            let (distance, bend) = (self.points[index].0, slope(index) - slope(index - 1));
            Layer { reach: distance / reach_m, share: TAU / 6.0 * bend * distance.powi(3) / all, flat: false }
        });
        let rest = self.points[self.points.len() - 1].1;
        let disc = Layer { reach: 1.0, share: 0.5 * TAU * reach_m * reach_m * rest / all, flat: true };
        cones.chain([disc]).filter(|layer| layer.share != 0.0).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn throw_is_straight_between_pairs_held_above_and_a_square_root_below() {
        let table = ThrowTable::new(&[(1e5, 4.0), (2e5, 6.0), (4e5, 5.0)]).expect("pairs");
        let throw = |pressure: f64| 5.0 * table.at(pressure / 4e5);
        for (pressure, expected) in [(0.0, 0.0), (0.25e5, 2.0), (1e5, 4.0), (1.5e5, 5.0), (3e5, 5.5), (4e5, 5.0), (9e5, 5.0)] {
            assert!((throw(pressure) - expected).abs() < 1e-12, "{pressure}: {}", throw(pressure));
        }
        assert_eq!(ThrowTable::new(&[]), Err(ThrowError::NoPairs));
        assert_eq!(ThrowTable::new(&[(1e5, 4.0), (1e5, 5.0)]), Err(ThrowError::PressureNotRising { pair: 1 }));
        assert_eq!(ThrowTable::new(&[(1e5, 4.0), (2e5, 0.0)]), Err(ThrowError::NotPositive { pair: 2 }));
    }

    #[test]
    fn layers_are_the_profile_again() {
        for last in [0.0, 0.4] {
            let profile = RadialProfile::new(&[(0.0, 3.0), (1.0, 2.0), (2.5, 2.2), (4.0, 5.0), (6.0, last)]).expect("a profile");
            let (reach, all) = (profile.reach_m(), profile.flow_m3_per_s(360.0));
            let layers = profile.layers();
            assert!((layers.iter().map(|layer| layer.share).sum::<f64>() - 1.0).abs() < 1e-12);
            for distance in [0.0, 0.3, 1.0, 2.0, 3.7, 5.9] {
                let sum: f64 = layers
                    .iter()
                    .map(|layer| {
                        let end = layer.reach * reach;
                        let ground = 0.5 * TAU * end * end;
                        let shape = if layer.flat { 1.0 } else { 3.0 * (1.0 - distance / end).max(0.0) };
                        layer.share * all / ground * shape
                    })
                    .sum();
                assert!((sum - profile.at(distance)).abs() < 1e-12, "{distance}: {sum} {}", profile.at(distance));
            }
        }
    }

    #[test]
    fn cans_that_say_nothing_are_refused() {
        assert_eq!(RadialProfile::new(&[(0.0, 1.0)]), Err(ThrowError::FewCans { found: 1 }));
        assert_eq!(RadialProfile::new(&[(0.0, 1.0), (1.0, -1.0)]), Err(ThrowError::BelowZero { can: 2 }));
        assert_eq!(RadialProfile::new(&[(1.0, 1.0), (1.0, 1.0)]), Err(ThrowError::DistanceNotRising { can: 1 }));
        assert_eq!(RadialProfile::new(&[(0.0, 0.0), (1.0, 0.0)]), Err(ThrowError::Dry));
        let early = RadialProfile::new(&[(1.0, 2.0), (2.0, 0.0), (3.0, 0.0)]).expect("a profile");
        assert_eq!((early.reach_m(), early.at(0.5), early.at(2.5)), (2.0, 2.0, 0.0));
    }
}
