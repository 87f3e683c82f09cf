//! The trace: pressures and flows at moments of a run, worked out again from what the log has kept.

use super::frame::Frame;
use super::log::Log;
use crate::hydraulics::SolveError;
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

impl Log {
    /// The states between two times: at the beginning and end of each leg, so that jumps stand upright, and at `between`
    /// moments inside each, and at the two times. At most some `most` moments; long runs are thinned out. Errors: a state that has no solution.
    pub fn trace(&self, from_s: f64, to_s: f64, between: usize, most: usize) -> Result<Vec<Moment>, SolveError> {
        // Every moment is worked out from what the log has kept, whatever a call that broke off has left in the machine.
        let mut machine = self.machine.lock().unwrap_or_else(PoisonError::into_inner);
        let n = machine.plant.storages.len();
        let marks = &self.record.marks;
        let end_of = |index: usize| marks.get(index + 1).map_or(self.duration_s(), |next| next.time_s);
        let state_of = |index: usize| match index < marks.len() {
            true => &self.record.marked_pa[index * n..(index + 1) * n],
            false => &self.record.end_pa[..],
        };
        let within: Vec<usize> = (0..marks.len())
            .filter(|&index| end_of(index) > marks[index].time_s && end_of(index) >= from_s && marks[index].time_s <= to_s)
            .collect();
        let stride = (within.len() * (2 + between)).div_ceil(most.max(2)).max(1);
        let mut moments = Vec::new();
        let mut frame = Frame::default();
        let thinned = within.iter().step_by(stride);
        // The last leg holds the second time.
        let last = within.last().filter(|_| !(within.len().max(1) - 1).is_multiple_of(stride));
        for &index in thinned.chain(last) {
            let (start_s, end_s) = (marks[index].time_s, end_of(index));
            let config = marks[index].config as usize;
            let start = state_of(index).to_vec();
            // Denser at the beginning, where pressures move fastest.
            let shares = (0..=between + 1).map(|step| (step as f64 / (between + 1) as f64).powi(3));
            let share_at = |time_s: f64| (time_s - start_s) / (end_s - start_s);
            let ends = [from_s, to_s]
                .into_iter()
                .filter(|&time_s| start_s < time_s && time_s < end_s)
                .map(|time_s| (share_at(time_s), time_s));
            let mut steps: Vec<(f64, f64)> =
                shares.map(|share| (share, start_s + share * (end_s - start_s))).chain(ends).collect();
            steps.retain(|(_, time_s)| (from_s..=to_s).contains(time_s));
            steps.sort_by(|a, b| a.1.total_cmp(&b.1));
            steps.dedup_by(|a, b| a.1 == b.1 && a.0 != 0.0 && b.0 != 1.0);
            for (share, time_s) in steps {
                let stored = match share {
                    0.0 => start.clone(),
                    1.0 => state_of(index + 1).to_vec(),
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
        }
        Ok(moments)
    }

    /// Pressure downstream of a part at the end of the run, Pa; none where no supply reaches then.
    pub fn last_pa(&self, place: usize) -> Option<f64> {
        let end_s = self.duration_s();
        let last = self.trace(end_s, end_s, 0, 2).ok()?.pop()?;
        Some(last.pressure_pa[place]).filter(|pressure_pa| pressure_pa.is_finite())
    }
}
