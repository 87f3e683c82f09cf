//! The power of the pumps by the time of the day, for prices that depend on it: worked out once for days that are alike.

use super::log::Log;
use super::machine::Machine;
use super::trace::{Moment, time_at};
use crate::hydraulics::SolveError;
use crate::limits;
use crate::parts::{Id, Running};
use crate::quantity::DAY_S;
use std::collections::HashMap;
use std::sync::{Arc, PoisonError};

/// Moments between two states of a run at which the power of a pump is asked for.
const BETWEEN: usize = 4;

/// The powers of a pump over legs, each at a share of the time of its leg, by what makes two legs alike: the setting and the pressures of all
/// storages at both ends, as bits.
type OfLegs = HashMap<(u32, Vec<u64>), Arc<[(f64, f64)]>>;

/// A time in which a power is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Power {
    /// When it begins, seconds after the midnight of its day.
    pub from_s: f64,
    /// When it ends, seconds after that midnight.
    pub to_s: f64,
    /// The mean power, W.
    pub power_w: f64,
}

/// The power of all pumps on days that are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerOfDays {
    /// What is taken on one of them.
    pub powers: Vec<Power>,
    /// How many of them there are on each day of the week, counted from that of the first day of the run.
    pub days: [usize; 7],
}

impl Log {
    /// The power of all pumps over the run, in the order of the first day of each kind, whose energy is that of the log; a pump of unknown power
    /// counts as none. Errors: a state without a solution.
    pub fn powers(&self) -> Result<Vec<PowerOfDays>, SolveError> {
        let kinds = self.kinds_of_days();
        let mut all: Vec<PowerOfDays> = Vec::new();
        // Which kind of day it is that first occurs on a day.
        let mut first_of = HashMap::new();
        for (day, &first) in kinds.iter().enumerate() {
            let kind = *first_of.entry(first).or_insert_with(|| {
                all.push(PowerOfDays { powers: Vec::new(), days: [0; 7] });
                all.len() - 1
            });
            all[kind].days[day % 7] += 1;
        }
        // Every moment is worked out from what the log has kept, whatever a call that broke off has left in the machine.
        let mut machine = self.machine.lock().unwrap_or_else(PoisonError::into_inner);
        for (place, energy_j) in self.energy_j() {
            let mut of_legs = OfLegs::new();
            let before: Vec<usize> = all.iter().map(|of_days| of_days.powers.len()).collect();
            let ends = |run: super::PumpRun| (run.from_s, run.to_s.unwrap_or(self.duration_s()));
            for (from_s, to_s) in limits::while_going_on(self.runs(place).map(ends)) {
                let first = (from_s / DAY_S).floor() as usize;
                for day in (first..kinds.len()).take_while(|&day| DAY_S * day as f64 <= to_s) {
                    if kinds[day] == day {
                        let midnight_s = DAY_S * day as f64;
                        let span_s = (from_s.max(midnight_s), to_s.min(midnight_s + DAY_S));
                        let into = &mut all[first_of[&day]].powers;
                        self.add_powers(&mut machine, &mut of_legs, place, span_s, midnight_s, into)?;
                    }
                }
            }
            let of_day_j = |powers: &[Power]| powers.iter().map(|power| power.power_w * (power.to_s - power.from_s)).sum::<f64>();
            let times = |of_days: &PowerOfDays| of_days.days.iter().sum::<usize>() as f64;
            let found_j: f64 =
                all.iter().zip(&before).map(|(of_days, &before)| times(of_days) * of_day_j(&of_days.powers[before..])).sum();
            let factor = if found_j > 0.0 { energy_j.unwrap_or(0.0) / found_j } else { 1.0 };
            for (of_days, &before) in all.iter_mut().zip(&before) {
                of_days.powers[before..].iter_mut().for_each(|power| power.power_w *= factor);
            }
        }
        Ok(all)
    }

    /// For each day the number of the first one that it is like.
    fn kinds_of_days(&self) -> Vec<usize> {
        let mut firsts = HashMap::new();
        self.record.days.iter().enumerate().map(|(day, what)| *firsts.entry(Arc::as_ptr(what)).or_insert(day)).collect()
    }

    /// Adds the power of a pump over a time in which it runs on a day. Errors: a state without a solution.
    fn add_powers(
        &self,
        machine: &mut Machine,
        of_legs: &mut OfLegs,
        place: usize,
        (from_s, to_s): (f64, f64),
        midnight_s: f64,
        into: &mut Vec<Power>,
    ) -> Result<(), SolveError> {
        let part = &self.garden.parts()[place];
        let drive = self.garden.drive_of(place).map(|drive| &*self.garden.parts()[drive]);
        let mut add = |from_s: f64, to_s: f64, power_w: f64| {
            if to_s > from_s {
                into.push(Power { from_s: from_s - midnight_s, to_s: to_s - midnight_s, power_w });
            }
        };
        if let Some(power_w) = part.si(Id::InputPower).filter(|_| drive.is_none()) {
            add(from_s, to_s, power_w);
            return Ok(());
        }
        let places = &self.garden.layout().places;
        let inlet = places.iter().position(|joint| joint.to == places[place].from);
        let power_w = |moment: &Moment| {
            let flow_m3_per_s = moment.flow_m3_per_s[place];
            let rise_pa = part.curve().map_or(0.0, |curve| curve.rise(flow_m3_per_s).0);
            // With a drive it adds what its outlet has more than its inlet, where the trace shows that.
            let inlet_pa = inlet.map(|before| moment.pressure_pa[before]).filter(|pressure_pa| pressure_pa.is_finite());
            let held_pa = inlet_pa.filter(|_| drive.is_some()).map(|inlet_pa| moment.pressure_pa[place] - inlet_pa);
            let rise_pa = held_pa.unwrap_or(rise_pa);
            part.electric_power_w(Running { flow_m3_per_s, rise_pa, drive }).unwrap_or(0.0)
        };
        for (day, index) in self.legs_between(from_s, to_s) {
            let (start_s, end_s) = self.span_s(day, index);
            let within_s = (from_s.max(start_s), to_s.min(end_s));
            if within_s.0 >= within_s.1 {
                continue;
            }
            let ends = self.ends_pa(day, index).into_iter().flatten().map(|pressure_pa| pressure_pa.to_bits());
            let key: (u32, Vec<u64>) = (self.record.days[day].marks[index].config, ends.collect());
            let is_whole = within_s == (start_s, end_s);
            let known = of_legs.get(&key).filter(|_| is_whole).map(Arc::clone);
            let powers = match known {
                Some(powers) => powers,
                None => {
                    let mut moments = Vec::new();
                    self.follow(machine, (day, index), within_s, BETWEEN, &mut moments)?;
                    let at = |moment: &Moment| ((moment.time_s - start_s) / (end_s - start_s), power_w(moment));
                    let powers: Arc<[(f64, f64)]> = moments.iter().map(at).collect();
                    if is_whole {
                        of_legs.insert(key, Arc::clone(&powers));
                    }
                    powers
                }
            };
            let time_at = |share: f64| time_at((start_s, end_s), share);
            powers.windows(2).for_each(|two| add(time_at(two[0].0), time_at(two[1].0), (two[0].1 + two[1].1) / 2.0));
        }
        Ok(())
    }
}
