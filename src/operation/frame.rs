//! What rooms of a run hand to each other: a state worked out, what stands how, a way of the state and the question for it.

use super::plant::Plant;

/// A state worked out: what is added up over time, gauges, pressures.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// Net inflow of each storage, what runs over from each, tracked flows, power of each booster.
    pub integrands: Vec<f64>,
    pub gauges: Vec<f64>,
    pub raised: Vec<bool>,
    pub node_pa: Vec<f64>,
    /// Pressures of the storages.
    pub stored_pa: Vec<f64>,
    /// How many of the integrands are powers.
    pub powers: usize,
}

/// What stands how.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Setting {
    /// Which places of the garden that is solved are open.
    pub open: Vec<bool>,
    /// Which boosters run, by place in the garden.
    pub runs: Vec<bool>,
    /// Which faults are there.
    pub faults: Vec<bool>,
    /// For each supply with a pressure by the clock which of its levels it has.
    pub mains: Vec<usize>,
}

/// A way of the state in one setting.
#[derive(Clone, Debug)]
pub struct Leg {
    pub start_pa: Vec<f64>,
    pub end_pa: Vec<f64>,
    pub time_s: f64,
    pub integrals: Vec<f64>,
    /// How long each gauge was raised, s.
    pub raised_s: Vec<f64>,
    /// The gauges at its end.
    pub raised: Vec<bool>,
    /// Pressures at all nodes at its start and end.
    pub start_node_pa: Vec<f64>,
    pub end_node_pa: Vec<f64>,
    pub event: bool,
}

/// What is asked of a leg: how far the state goes from here until a watched gauge changes or the time is over.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    pub plant: &'a Plant,
    /// Pressures of all storages at the start.
    pub stored_pa: &'a [f64],
    /// The gauges as they were known at the start.
    pub raised: &'a [bool],
    pub most_s: f64,
    pub watches: &'a [Watch],
    pub tolerance: Tolerance,
}

/// Error that is let pass: of a panel of a curve as a share of its flows, or in seconds; of a step as a share of the usual one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    pub share: f64,
    pub time_s: f64,
}

impl Tolerance {
    pub const USUAL: Tolerance = Tolerance { share: 1e-10, time_s: 1e-7 };

    /// The same tolerance, wider by a factor.
    pub fn times(self, factor: f64) -> Tolerance {
        Tolerance { share: self.share * factor, time_s: self.time_s * factor }
    }
}

/// When a change of a gauge ends a leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Watch {
    Never,
    Rise,
    Fall,
    Both,
}

impl Watch {
    pub fn sees(self, before: bool, after: bool) -> bool {
        match self {
            Watch::Never => false,
            Watch::Rise => !before && after,
            Watch::Fall => before && !after,
            Watch::Both => before != after,
        }
    }
}
