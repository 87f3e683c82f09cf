//! The trace: pressures and flows at moments of a run, worked out again from what the log has kept.

use super::frame::Frame;
use super::log::Log;
use super::machine::Machine;
use crate::hydraulics::SolveError;
use crate::quantity::DAY_S;
use std::sync::PoisonError;

/// The state of a garden at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// Seconds after midnight of the first day.
    pub time_s: f64,
    /// For each place whether a booster runs.
    pub runs: Vec<bool>,
    /// For each place whether it stands open.
    pub open: Vec<bool>,
    /// Pressure downstream of each place, before an outlet; NaN where no supply reaches, Pa.
    pub pressure_pa: Vec<f64>,
    /// Flow through each place, m3/s.
    pub flow_m3_per_s: Vec<f64>,
}

/// When a share of a leg has passed: its end to the last bit where all has.
pub(super) fn time_at((start_s, end_s): (f64, f64), share: f64) -> f64 {
    if share == 1.0 { end_s } else { start_s + share * (end_s - start_s) }
}

impl Log {
    /// The states between two times: at the beginning and end of each leg, so that jumps stand upright, and at `between`
    /// moments inside each, and at the two times. At most some `most` moments; long runs are thinned out. Errors: a state that has no solution.
    pub fn trace(&self, from_s: f64, to_s: f64, between: usize, most: usize) -> Result<Vec<Moment>, SolveError> {
        // Every moment is worked out from what the log has kept, whatever a call that broke off has left in the machine.
        let mut machine = self.machine.lock().unwrap_or_else(PoisonError::into_inner);
        let within = || self.legs_between(from_s, to_s);
        let number = within().count();
        // Odd, so that of legs that alternate, as of a pump that starts and stops, both kinds stay.
        let stride = (number * (2 + between)).div_ceil(most.max(2)).max(1) | 1;
        let mut moments = Vec::new();
        // The last leg holds the second time.
        let thinned = within().enumerate().filter(|(index, _)| index.is_multiple_of(stride) || index + 1 == number);
        for (_, leg) in thinned {
            self.follow(&mut machine, leg, (from_s, to_s), between, &mut moments)?;
        }
        Ok(moments)
    }

    /// Adds the states of a leg, by its day and its number on it, that lie between two times. Errors: a state that has no solution.
    pub(super) fn follow(
        &self,
        machine: &mut Machine,
        (day, index): (usize, usize),
        (from_s, to_s): (f64, f64),
        between: usize,
        moments: &mut Vec<Moment>,
    ) -> Result<(), SolveError> {
        let mut frame = Frame::default();
        let (start_s, end_s) = self.span_s(day, index);
        let config = self.record.days[day].marks[index].config as usize;
        let [start, end] = self.ends_pa(day, index).map(<[f64]>::to_vec);
        // Denser at the beginning, where pressures move fastest.
        let shares = (0..=between + 1).map(|step| (step as f64 / (between + 1) as f64).powi(3));
        let share_at = |time_s: f64| (time_s - start_s) / (end_s - start_s);
        let ends = [from_s, to_s]
            .into_iter()
            .filter(|&time_s| start_s < time_s && time_s < end_s)
            .map(|time_s| (share_at(time_s), time_s));
        let mut steps: Vec<(f64, f64)> = shares.map(|share| (share, time_at((start_s, end_s), share))).chain(ends).collect();
        steps.retain(|(_, time_s)| (from_s..=to_s).contains(time_s));
        steps.sort_by(|a, b| a.1.total_cmp(&b.1));
        steps.dedup_by(|a, b| a.1 == b.1 && a.0 != 0.0 && b.0 != 1.0);
        for (share, time_s) in steps {
            let stored = match share {
                0.0 => start.clone(),
                1.0 => end.clone(),
                _ => machine.after(config, &start, time_s - start_s)?,
            };
            machine.evaluate(config, &stored, &mut frame)?;
            let plant = &machine.plant;
            let places = &plant.garden.layout().places;
            let setting = &machine.configs[config].state.setting;
            moments.push(Moment {
                time_s,
                runs: setting.runs.clone(),
                open: setting.open[..places.len()].to_vec(),
                pressure_pa: places.iter().map(|place| frame.node_pa[place.to]).collect(),
                flow_m3_per_s: machine.flows(config),
            });
        }
        Ok(())
    }

    /// The pressures of all storages at the beginning and at the end of a leg, Pa.
    pub(super) fn ends_pa(&self, day: usize, index: usize) -> [&[f64]; 2] {
        let day = &self.record.days[day];
        let n = day.end_pa.len();
        [index, index + 1]
            .map(|index| if index < day.marks.len() { &day.marked_pa[index * n..(index + 1) * n] } else { &day.end_pa[..] })
    }

    /// When a leg, by its day and its number on it, begins and ends, s.
    pub(super) fn span_s(&self, day: usize, index: usize) -> (f64, f64) {
        let (midnight_s, marks) = (DAY_S * day as f64, &self.record.days[day].marks);
        let end_s = marks.get(index + 1).map_or((midnight_s + DAY_S).min(self.duration_s()), |next| midnight_s + next.time_s);
        (midnight_s + marks[index].time_s, end_s)
    }

    /// The legs that take time and are not over before the first time or begin after the second one, by day and number.
    pub(super) fn legs_between(&self, from_s: f64, to_s: f64) -> impl Iterator<Item = (usize, usize)> + '_ {
        let number = |time_s: f64| ((time_s / DAY_S).floor().max(0.0) as usize).min(self.record.days.len());
        // A leg may end right at the midnight at which the first time is.
        let days = number(from_s).saturating_sub(1)..(number(to_s) + 1).min(self.record.days.len());
        days.flat_map(move |day| {
            let (midnight_s, marks) = (DAY_S * day as f64, &self.record.days[day].marks);
            let before = |time_s: f64| marks.partition_point(|mark| midnight_s + mark.time_s <= time_s);
            let first = marks.partition_point(|mark| midnight_s + mark.time_s < from_s).saturating_sub(1);
            (first..before(to_s)).map(move |index| (day, index))
        })
        .filter(move |&(day, index)| {
            let (start_s, end_s) = self.span_s(day, index);
            end_s > start_s && end_s >= from_s
        })
    }

    /// Pressure downstream of a part at the end of the run, Pa; none where no supply reaches then.
    pub fn last_pa(&self, place: usize) -> Option<f64> {
        let end_s = self.duration_s();
        let last = self.trace(end_s, end_s, 0, 2).ok()?.pop()?;
        Some(last.pressure_pa[place]).filter(|pressure_pa| pressure_pa.is_finite())
    }
}
