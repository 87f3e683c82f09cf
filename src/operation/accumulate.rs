//! What is added up along a run: water, energy, highest and lowest pressures, time below need.
//!
//! A run adds up each day by itself and then the days, so that a day which repeats another counts as that one did, to the last bit.

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
    /// For each place: how long a booster ran against a closed line.
    pub dead_head: Vec<Lasting>,
    /// For each place: how long a booster ran without any water, s.
    pub dry_s: Vec<f64>,
    /// Water that came into open tanks by itself, m3.
    pub inflow_m3: f64,
}

/// How long something lasts without a break, s.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lasting {
    /// From the beginning to the first break.
    first_s: f64,
    /// From the last break on.
    now_s: f64,
    pub longest_s: f64,
    breaks: bool,
}

impl Lasting {
    /// Goes on for a time, or has ended where that is nothing.
    fn last(&mut self, time_s: f64) {
        if time_s <= 0.0 {
            return self.end();
        }
        self.now_s += time_s;
        self.longest_s = self.longest_s.max(self.now_s);
        if !self.breaks {
            self.first_s = self.now_s;
        }
    }

    fn end(&mut self) {
        (self.now_s, self.breaks) = (0.0, true);
    }

    /// Adds what comes right after it.
    fn go_on(&mut self, after: &Lasting) {
        let through_s = self.now_s + after.first_s;
        self.longest_s = self.longest_s.max(through_s).max(after.longest_s);
        if !self.breaks {
            self.first_s = through_s;
        }
        self.now_s = if after.breaks { after.now_s } else { through_s };
        self.breaks |= after.breaks;
    }
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
            dead_head: vec![Lasting::default(); places],
            dry_s: vec![0.0; places],
            inflow_m3: 0.0,
        }
    }

    /// Nothing is added up any more.
    pub fn clear(&mut self) {
        let sums = [&mut self.integrals, &mut self.open_s, &mut self.below_s, &mut self.tap_low_s, &mut self.dry_s];
        sums.into_iter().for_each(|sums| sums.fill(0.0));
        self.highest.fill(None);
        self.lowest.fill(None);
        self.dead_head.fill(Lasting::default());
        self.inflow_m3 = 0.0;
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
                What::DeadHead => self.dead_head[gauge.place].last(raised_s),
                _ => {}
            }
        }
        for storage in &plant.storages {
            self.inflow_m3 += storage.inflow_m3_per_s() * leg.time_s;
        }
    }

    /// A booster starts: it has not yet run against a closed line.
    pub fn pump_starts(&mut self, booster: usize) {
        self.dead_head[booster].end();
    }

    /// Adds the sums of a day that begins at a time since the start, s.
    pub fn add_day(&mut self, day: &Sums, from_s: f64) {
        let lists = [
            (&mut self.integrals, &day.integrals),
            (&mut self.open_s, &day.open_s),
            (&mut self.below_s, &day.below_s),
            (&mut self.tap_low_s, &day.tap_low_s),
            (&mut self.dry_s, &day.dry_s),
        ];
        for (sums, parts) in lists {
            sums.iter_mut().zip(parts).for_each(|(sum, part)| *sum += part);
        }
        self.inflow_m3 += day.inflow_m3;
        self.dead_head.iter_mut().zip(&day.dead_head).for_each(|(sum, part)| sum.go_on(part));
        let later = |extreme: &Extreme| Extreme { time_s: from_s + extreme.time_s, ..*extreme };
        for (node, extreme) in day.highest.iter().enumerate() {
            extreme.iter().for_each(|extreme| self.see_high(node, later(extreme)));
        }
        for (node, extreme) in day.lowest.iter().enumerate() {
            extreme.iter().for_each(|extreme| self.see_low(node, later(extreme)));
        }
    }

    fn see(&mut self, node_pa: &[f64], time_s: f64) {
        for (node, &pressure_pa) in node_pa.iter().enumerate().filter(|(_, pressure_pa)| !pressure_pa.is_nan()) {
            self.see_high(node, Extreme { pressure_pa, time_s });
            self.see_low(node, Extreme { pressure_pa, time_s });
        }
    }

    fn see_high(&mut self, node: usize, here: Extreme) {
        let highest = &mut self.highest[node];
        if highest.is_none_or(|known| here.pressure_pa > known.pressure_pa + ALIKE_WITHIN_PA) {
            *highest = Some(here);
        }
    }

    fn see_low(&mut self, node: usize, here: Extreme) {
        let lowest = &mut self.lowest[node];
        if lowest.is_none_or(|known| here.pressure_pa < known.pressure_pa - ALIKE_WITHIN_PA) {
            *lowest = Some(here);
        }
    }

    /// Roughly what they take in memory, bytes.
    pub fn bytes(&self) -> usize {
        8 * self.integrals.len() + 48 * self.highest.len() + 72 * self.open_s.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_lasts_is_the_same_whole_and_day_by_day(
            times in prop::collection::vec(prop_oneof![2 => (1u32..9).prop_map(f64::from), 1 => Just(0.0)], 0..20), cuts in prop::collection::vec(0usize..20, 0..4),
        ) {
            let lasting = |times: &[f64]| {
                let mut lasting = Lasting::default();
                times.iter().for_each(|&time_s| lasting.last(time_s));
                lasting
            };
            let (mut sum, mut begun) = (Lasting::default(), 0);
            let mut cuts: Vec<usize> = cuts.into_iter().map(|cut| cut.min(times.len())).collect();
            cuts.sort_unstable();
            for end in cuts.into_iter().chain([times.len()]) {
                sum.go_on(&lasting(&times[begun..end]));
                begun = end;
            }
            let whole = lasting(&times);
            prop_assert_eq!((sum.longest_s, sum.now_s, sum.first_s), (whole.longest_s, whole.now_s, whole.first_s));
        }
    }
}
