//! Water of several zones on the same ground, added up over a schedule.
//!
//! What is open at the same time is solved as a steady state and runs as long as it is open. Filling of lines, and a pump that cycles, are
//! left out; `operation` knows them.

use super::ground::Ground;
use super::map::{Coverage, CoverageError, Grid};
use super::spray::Pattern;
use super::uniformity::Uniformity;
use crate::garden::{Accepted, Garden};
use crate::hydraulics::{RunError, run};
use crate::operation::{Interval, OperationError, Schedule};
use crate::quantity::UnitSystem;
use crate::told::Told;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use thiserror::Error;

/// Why depths cannot be determined.
#[derive(Clone, Debug, Error)]
pub enum DepthError {
    /// Of the schedule.
    #[error("{0}")]
    Schedule(OperationError),
    /// What is open at one time cannot run.
    #[error("{0}")]
    Run(RunError),
    /// The water of that cannot be placed.
    #[error("{0}")]
    Coverage(CoverageError),
    /// The schedule opens no zone with heads in that time.
    #[error("depth_over: no zone with heads in range opens in that time")]
    NothingOpens,
}

impl Told for DepthError {
    fn hint(&self) -> Option<String> {
        match self {
            DepthError::Schedule(error) => error.hint(),
            DepthError::Run(error) => error.hint(),
            DepthError::Coverage(error) => error.hint(),
            DepthError::NothingOpens => Some("give a schedule with the zones of the garden, and a longer time".into()),
        }
    }
}

/// What ran together, and for how long.
#[derive(Clone, Debug, PartialEq)]
pub struct Together {
    /// Names of the open zones, in order.
    pub zones: Vec<String>,
    /// For how long, s.
    pub time_s: f64,
    /// Mean depth on the ground that came from it, m; zero where no head in range ran.
    pub mean_m: f64,
}

/// Depth of water all over ground.
#[derive(Clone, Debug)]
pub struct Depth {
    /// The ground with its cells.
    pub grid: Arc<Grid>,
    /// Mean depth of each cell, m.
    pub depths_m: Vec<f64>,
    /// How even they are.
    pub uniformity: Uniformity,
    /// What ran together, and for how long.
    pub together: Vec<Together>,
    /// The units in which the garden was given.
    pub units: UnitSystem,
    /// Heads that ran below their range and watered nothing.
    pub stalled: BTreeSet<String>,
    /// The findings that the owner of the garden has accepted.
    pub accepted: Accepted,
}

impl Depth {
    /// The depth on ground after a time, under a schedule.
    ///
    /// Errors: those of the schedule and of runs; ground that is none; heads without place or throw; no zone with heads that opens.
    pub fn over(garden: &Garden, schedule: &Schedule, until_s: f64, ground: Ground) -> Result<Depth, DepthError> {
        let intervals = schedule.intervals(until_s).map_err(DepthError::Schedule)?;
        let valves: BTreeSet<&str> = garden.valves().map(|valve| garden.name(valve)).collect();
        // A demand that is opened by hand is no zone: the house is as in the garden.
        let is_demand = |name: &str| garden.find(name).is_ok_and(|place| !garden.spec(place).traits.opens);
        let zones: Vec<&Interval> = intervals.iter().filter(|one| valves.contains(&*one.name) || !is_demand(&one.name)).collect();
        let grid = Arc::new(Grid::usual(ground).map_err(DepthError::Coverage)?);
        let mut depths_m = vec![0.0; grid.columns * grid.rows];
        let (mut together, mut stalled) = (Vec::new(), BTreeSet::new());
        for (zones, time_s) in times_together(&zones, until_s) {
            let names: Vec<&str> = zones.iter().map(String::as_str).collect();
            let solution = run(garden, &names).map_err(DepthError::Run)?;
            let mean_m = match Coverage::on_grid(&solution, grid.clone(), Pattern::default()) {
                Ok(coverage) => {
                    depths_m.iter_mut().zip(&coverage.rates_m_per_s).for_each(|(depth, rate)| *depth += rate * time_s);
                    stalled.extend(coverage.stalled);
                    coverage.uniformity.mean * time_s
                }
                Err(CoverageError::NoHeads | CoverageError::NoWater) => 0.0,
                Err(error) => return Err(DepthError::Coverage(error)),
            };
            together.push(Together { zones, time_s, mean_m });
        }
        let uniformity = grid.uniformity(&depths_m).ok_or(DepthError::NothingOpens)?;
        Ok(Depth { grid, depths_m, uniformity, together, units: garden.units(), stalled, accepted: garden.accepted().clone() })
    }

    /// Number of the driest cell; of equal ones the first.
    pub fn driest(&self) -> usize {
        self.grid.lowest(&self.depths_m)
    }

    /// Share of the ground that gets no water at all.
    pub fn bare_share(&self) -> f64 {
        self.grid.zero_share(&self.depths_m)
    }
}

/// For how long each set of zones is open together before a time, s.
fn times_together(intervals: &[&Interval], until_s: f64) -> BTreeMap<Vec<String>, f64> {
    let mut changes: Vec<(f64, &str, bool)> = intervals
        .iter()
        .flat_map(|one| [(one.from_s, one.name.as_str(), true), (one.to_s.min(until_s), one.name.as_str(), false)])
        .collect();
    changes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut open: BTreeMap<&str, usize> = BTreeMap::new();
    let mut times: BTreeMap<Vec<String>, f64> = BTreeMap::new();
    let mut since_s = 0.0;
    for (time_s, name, opens) in changes {
        if time_s > since_s && !open.is_empty() {
            *times.entry(open.keys().map(|name| name.to_string()).collect()).or_default() += time_s - since_s;
        }
        since_s = time_s;
        let count = open.entry(name).or_default();
        match opens {
            true => *count += 1,
            false if *count > 1 => *count -= 1,
            false => {
                open.remove(name);
            }
        }
    }
    times
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zones_that_overlap_count_together_as_long_as_they_do() {
        let interval = |from_s: f64, to_s: f64, name: &str| Interval { from_s, to_s, name: name.into(), timer: None };
        let intervals =
            [interval(0.0, 100.0, "a"), interval(60.0, 160.0, "b"), interval(300.0, 400.0, "a"), interval(310.0, 320.0, "a")];
        let found = times_together(&intervals.iter().collect::<Vec<_>>(), 350.0);
        let time = |names: &[&str]| found[&names.iter().map(|name| name.to_string()).collect::<Vec<_>>()];
        assert_eq!((time(&["a"]), time(&["b"]), time(&["a", "b"]), found.len()), (110.0, 60.0, 40.0, 3));
    }
}
