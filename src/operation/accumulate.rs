//! What is added up along a run: water, energy, pump runs, highest and lowest pressures, time below need.

use super::frame::Leg;
use super::gauge::{Gauge, What};
use super::plant::Plant;
use super::tolerances::ALIKE_WITHIN_PA;

/// An extreme of a pressure and when it was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extreme {
    pub pressure_pa: f64,
    pub time_s: f64,
}

/// Sums of a run up to now.
#[derive(Clone, Debug)]
pub struct Sums {
    pub integrals: Vec<f64>,
    /// Highest and lowest pressure at each node; none where no supply ever reaches.
    pub highest: Vec<Option<Extreme>>,
    pub lowest: Vec<Option<Extreme>>,
    /// For each place: how long an outlet ran, and how long it was below its need while its line was open, s.
    pub open_s: Vec<f64>,
    pub below_s: Vec<f64>,
    /// For each place: how long the house tap at a supply had less than it should, s.
    pub tap_low_s: Vec<f64>,
    /// For each place: how long a booster has now run against a closed line, and the longest time it did, s.
    dead_head_now_s: Vec<f64>,
    pub dead_head_s: Vec<f64>,
    /// For each place: how long a booster ran without any water, s.
    pub dry_s: Vec<f64>,
    /// For each place: starts and stops of a booster.
    pub runs: Vec<Vec<PumpRun>>,
    /// Water that came into open tanks by itself, m3.
    pub inflow_m3: f64,
}

/// A booster from its start to its stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpRun {
    /// When it starts, seconds after midnight of the first day.
    pub from_s: f64,
    /// Nothing while it still runs.
    pub to_s: Option<f64>,
}

impl Sums {
    pub fn new(plant: &Plant) -> Sums {
        let (nodes, places) = (plant.hydraulic.layout().number_of_nodes, plant.garden.parts().len());
        Sums {
            integrals: vec![0.0; plant.integrands()],
            highest: vec![None; nodes],
            lowest: vec![None; nodes],
            open_s: vec![0.0; places],
            below_s: vec![0.0; places],
            tap_low_s: vec![0.0; places],
            dead_head_now_s: vec![0.0; places],
            dead_head_s: vec![0.0; places],
            dry_s: vec![0.0; places],
            runs: vec![Vec::new(); places],
            inflow_m3: 0.0,
        }
    }

    /// Adds a leg that began at a time.
    pub fn add(&mut self, plant: &Plant, gauges: &[Gauge], leg: &Leg, from_s: f64) {
        self.integrals.iter_mut().zip(&leg.integrals).for_each(|(sum, part)| *sum += part);
        self.see(&leg.start_node_pa, from_s);
        self.see(&leg.end_node_pa, from_s + leg.time_s);
        for (gauge, &raised_s) in gauges.iter().zip(&leg.raised_s) {
            match gauge.what {
                What::Needs => {
                    self.open_s[gauge.place] += leg.time_s;
                    self.below_s[gauge.place] += (leg.time_s - raised_s).max(0.0);
                }
                What::NoWater => self.dry_s[gauge.place] += leg.time_s,
                What::Tap => self.tap_low_s[gauge.place] += (leg.time_s - raised_s).max(0.0),
                What::DeadHead => {
                    let now_s = &mut self.dead_head_now_s[gauge.place];
                    *now_s = if raised_s > 0.0 { *now_s + raised_s } else { 0.0 };
                    self.dead_head_s[gauge.place] = self.dead_head_s[gauge.place].max(*now_s);
                }
                _ => {}
            }
        }
        for storage in &plant.storages {
            self.inflow_m3 += storage.inflow_m3_per_s() * leg.time_s;
        }
    }

    /// Begins a run of a booster at a time since the start, s.
    pub fn pump_starts(&mut self, booster: usize, time_s: f64) {
        self.dead_head_now_s[booster] = 0.0;
        self.runs[booster].push(PumpRun { from_s: time_s, to_s: None });
    }

    /// Ends the run that [`pump_starts`](Self::pump_starts) began, at a time since the start, s.
    pub fn pump_stops(&mut self, booster: usize, time_s: f64) {
        if let Some(run) = self.runs[booster].last_mut() {
            run.to_s = Some(time_s);
        }
    }

    fn see(&mut self, node_pa: &[f64], time_s: f64) {
        for ((highest, lowest), &pressure_pa) in self.highest.iter_mut().zip(&mut self.lowest).zip(node_pa) {
            if pressure_pa.is_nan() {
                continue;
            }
            let here = Extreme { pressure_pa, time_s };
            if highest.is_none_or(|known| pressure_pa > known.pressure_pa + ALIKE_WITHIN_PA) {
                *highest = Some(here);
            }
            if lowest.is_none_or(|known| pressure_pa < known.pressure_pa - ALIKE_WITHIN_PA) {
                *lowest = Some(here);
            }
        }
    }
}
