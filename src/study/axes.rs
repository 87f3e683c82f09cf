//! The axes of a study together: a grid of all combinations.
//!
//! Axes make a grid; paired axes run together as one; drawn axes take a sample each and run together as the fastest one.

use super::axis::{Axis, AxisError, AxisValues};
use super::random::{Distribution, Samples, Spreading};
use std::ops::Range;
use std::sync::Arc;

/// The axes of a study.
#[derive(Clone, Debug, Default)]
pub struct Axes {
    axes: Vec<Axis>,
    /// For each axis the group it belongs to; axes of a group run together.
    group_of: Vec<usize>,
    /// The number of values of each group, the slowest first.
    groups: Vec<usize>,
    /// The group of all drawn axes.
    drawn: Option<usize>,
    /// How the drawn axes are sampled.
    samples: Samples,
    /// The cases of the grid that are kept, where some are not.
    kept: Option<Arc<[usize]>>,
}

/// The largest grid, in cases; that many fit into files, not into a table.
const MOST_CASES: usize = 100_000_000_000;
impl Axes {
    /// These axes and one more. Errors: a name that stands twice, a grid that is too large, or cases already left out.
    pub fn and(self, axis: Axis) -> Result<Axes, AxisError> {
        self.and_paired(vec![axis])
    }

    /// These axes and some that run together as one more. Errors: lists of different length, and as [`Axes::and`].
    pub fn and_paired(mut self, axes: Vec<Axis>) -> Result<Axes, AxisError> {
        let Some(first) = axes.first() else { return Ok(self) };
        let (first, n) = (first.name.clone(), first.len());
        self.groups.push(n);
        let group = self.groups.len() - 1;
        for axis in axes {
            if axis.len() != n {
                return Err(AxisError::Unpaired { name: axis.name.clone(), found: axis.len(), first, expected: n });
            }
            self.put(axis, group)?;
        }
        self.measured()
    }

    /// These axes and a number drawn from a distribution; all drawn ones are sampled together and run fastest.
    pub fn and_drawn(mut self, name: &str, distribution: Distribution) -> Result<Axes, AxisError> {
        let group = *self.drawn.get_or_insert_with(|| {
            self.groups.push(self.samples.n);
            self.groups.len() - 1
        });
        let stream = self.group_of.iter().filter(|of| **of == group).count();
        let values = AxisValues::Drawn { distribution, samples: self.samples, stream };
        self.put(Axis { name: name.to_string(), values }, group)?;
        self.measured()
    }

    /// The same axes with the drawn ones sampled like this. Errors: nothing is drawn, no sample, too many cases.
    pub fn sampled(mut self, samples: Samples) -> Result<Axes, AxisError> {
        let Some(group) = self.drawn else { return Err(AxisError::NothingDrawn) };
        if self.kept.is_some() {
            return Err(AxisError::AlreadyChosen);
        }
        self.samples = samples;
        self.groups[group] = samples.n;
        for axis in &mut self.axes {
            if let AxisValues::Drawn { samples: old, .. } = &mut axis.values {
                *old = samples;
            }
        }
        self.measured()
    }

    /// Only the cases for which the answer is true. Errors: not an answer for each case, or no case is left.
    pub fn filter(mut self, answers: &[bool]) -> Result<Axes, AxisError> {
        if answers.len() != self.cases() {
            return Err(AxisError::Answers { answers: answers.len(), cases: self.cases() });
        }
        let kept: Arc<[usize]> = (0..answers.len()).filter(|case| answers[*case]).map(|case| self.place(case)).collect();
        if kept.is_empty() {
            return Err(AxisError::NoneLeft);
        }
        self.kept = Some(kept);
        Ok(self)
    }

    /// The axes, in the order in which they were added.
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// A copy whose parts share nothing with these, for another thread.
    pub fn detached(&self) -> Axes {
        let mut copy = self.clone();
        for axis in &mut copy.axes {
            if let AxisValues::Parts(parts) = &mut axis.values {
                parts.iter_mut().for_each(|part| *part = part.detached());
            }
        }
        copy
    }

    /// The axis of zones, if there is one.
    pub fn zones(&self) -> Option<usize> {
        self.axes.iter().position(|axis| matches!(axis.values, AxisValues::Zones(_)))
    }

    /// How drawn axes are sampled, if there are any.
    pub fn samples(&self) -> Option<Samples> {
        self.drawn.map(|_| self.samples)
    }

    /// The number of cases.
    pub fn cases(&self) -> usize {
        self.kept.as_ref().map_or_else(|| self.grid(), |kept| kept.len())
    }

    /// Which value each axis has in a case: drawn axes run fastest, then the last axis.
    pub fn indices(&self, case: usize, indices: &mut [usize]) {
        let mut rest = self.place(case);
        let mut take = |group: usize| {
            let index = rest % self.groups[group];
            rest /= self.groups[group];
            for (of, place) in self.group_of.iter().zip(indices.iter_mut()) {
                if *of == group {
                    *place = index;
                }
            }
        };
        self.drawn.into_iter().for_each(&mut take);
        (0..self.groups.len()).rev().filter(|group| Some(*group) != self.drawn).for_each(take);
    }

    /// The values of an axis of quantities in some cases that follow each other, SI, and which of its values each is; `out` and `which` have as
    /// many places. Of other axes only the second.
    pub fn values(&self, axis: usize, cases: Range<usize>, out: &mut [f64], which: &mut [usize]) {
        let group = self.group_of[axis];
        let of = &self.axes[axis];
        // How many cases the faster groups make together: the drawn group is the fastest, then the last.
        let faster = |other: usize| Some(group) != self.drawn && (other > group || Some(other) == self.drawn);
        let stride: usize = (0..self.groups.len()).filter(|&other| faster(other)).map(|other| self.groups[other]).product();
        let n = self.groups[group];
        if self.kept.is_some() {
            for ((case, out), which) in cases.zip(out).zip(which) {
                *which = self.place(case) / stride % n;
                *out = of.si(*which).unwrap_or(f64::NAN);
            }
            return;
        }
        let (mut case, mut at) = (cases.start, 0);
        while case < cases.end {
            let index = case / stride % n;
            if stride == 1 {
                // The values themselves follow each other, up to the last.
                let count = (n - index).min(cases.end - case);
                of.si_of(index..index + count, &mut out[at..at + count]);
                (index..).zip(&mut which[at..at + count]).for_each(|(index, which)| *which = index);
                (case, at) = (case + count, at + count);
            } else {
                let count = (stride - case % stride).min(cases.end - case);
                out[at..at + count].fill(of.si(index).unwrap_or(f64::NAN));
                which[at..at + count].fill(index);
                (case, at) = (case + count, at + count);
            }
        }
    }

    /// The case in the whole grid.
    fn place(&self, case: usize) -> usize {
        self.kept.as_ref().map_or(case, |kept| kept[case])
    }

    fn grid(&self) -> usize {
        self.groups.iter().product()
    }

    fn put(&mut self, axis: Axis, group: usize) -> Result<(), AxisError> {
        if self.kept.is_some() {
            return Err(AxisError::AlreadyChosen);
        }
        let is_zones = matches!(axis.values, AxisValues::Zones(_));
        if is_zones && self.zones().is_some() {
            return Err(AxisError::ZonesTwice);
        }
        if self.axes.iter().any(|known| known.name == axis.name) {
            return Err(AxisError::Twice { name: axis.name });
        }
        self.axes.push(axis);
        self.group_of.push(group);
        Ok(())
    }

    fn measured(self) -> Result<Axes, AxisError> {
        let cases: f64 = self.groups.iter().map(|n| *n as f64).product();
        if cases > MOST_CASES as f64 {
            return Err(AxisError::TooMany { cases: format!("{cases:.0}"), most: MOST_CASES });
        }
        Ok(self)
    }
}

impl std::fmt::Display for Axes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for axis in &self.axes {
            writeln!(f, "{}", axis.in_words())?;
        }
        if let Some(Samples { n, seed, spreading }) = self.samples() {
            let how = if spreading == Spreading::Even { " (Sobol)" } else { "" };
            writeln!(f, "{n} samples{how} from the seed {seed}")?;
        }
        match self.kept {
            Some(_) => write!(f, "{} cases of {}", self.cases(), self.grid()),
            None => write!(f, "{} cases", self.cases()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Quantity, find_unit};

    fn ft(value: f64) -> Quantity {
        Quantity::written(value, find_unit("ft").expect("ft"))
    }

    #[test]
    fn the_last_axis_runs_fastest() {
        let axis = |name: &str, n: usize| Axis::of_quantities(name, &vec![ft(1.0); n]).expect("an axis");
        let axes = Axes::default().and(axis("a", 2)).and_then(|axes| axes.and(axis("b", 3))).expect("axes");
        let mut indices = [0, 0];
        axes.indices(4, &mut indices);
        assert_eq!((axes.cases(), indices), (6, [1, 1]));
        assert_eq!(axes.and(axis("a", 1)).unwrap_err(), AxisError::Twice { name: "a".into() });
    }

    #[test]
    fn paired_axes_run_together_and_drawn_ones_run_fastest() {
        let axis = |name: &str, n: usize| {
            let values: Vec<Quantity> = (0..n).map(|value| ft(value as f64)).collect();
            Axis::of_quantities(name, &values).expect("an axis")
        };
        let drawn = Distribution::between(ft(0.0), ft(1.0)).expect("a distribution");
        let axes = Axes::default()
            .and_drawn("r", drawn.clone())
            .and_then(|axes| axes.and_paired(vec![axis("a", 3), axis("b", 3)]))
            .and_then(|axes| axes.and_drawn("s", drawn))
            .and_then(|axes| axes.sampled(Samples { n: 5, seed: 2, spreading: Spreading::Independent }))
            .expect("axes");
        let mut indices = [0; 4];
        axes.indices(7, &mut indices);
        assert_eq!((axes.cases(), indices), (15, [2, 1, 1, 2]));
        assert_ne!(axes.axes()[0].si(2), axes.axes()[3].si(2));
        let unequal = axes.and_paired(vec![axis("c", 2), axis("d", 3)]).unwrap_err();
        assert_eq!(unequal.to_string(), "zipped axes need the same number of values: 'd' has 3, 'c' has 2");
    }

    #[test]
    fn the_values_of_many_cases_are_those_of_one_after_another() {
        let axis = |name: &str, n: usize| {
            let values: Vec<Quantity> = (0..n).map(|value| ft(value as f64)).collect();
            Axis::of_quantities(name, &values).expect("an axis")
        };
        let drawn = Distribution::between(ft(0.0), ft(1.0)).expect("a distribution");
        let axes = Axes::default()
            .and(axis("a", 3))
            .and_then(|axes| axes.and_drawn("r", drawn))
            .and_then(|axes| axes.and_paired(vec![axis("b", 4), axis("c", 4)]))
            .and_then(|axes| axes.sampled(Samples { n: 5, seed: 2, spreading: Spreading::Independent }))
            .expect("axes");
        let some = axes.clone().filter(&(0..60).map(|case| case % 7 != 2).collect::<Vec<_>>()).expect("some are left");
        for axes in [axes, some] {
            let cases = 3..axes.cases() - 1;
            for place in 0..4 {
                let (mut out, mut which) = (vec![0.0; cases.len()], vec![0; cases.len()]);
                axes.values(place, cases.clone(), &mut out, &mut which);
                let mut indices = [0; 4];
                for (at, case) in cases.clone().enumerate() {
                    axes.indices(case, &mut indices);
                    assert_eq!((which[at], Some(out[at])), (indices[place], axes.axes()[place].si(indices[place])));
                }
            }
        }
    }

    #[test]
    fn cases_left_out_are_jumped_over() {
        let axis = Axis::of_quantities("a", &[ft(0.0), ft(1.0), ft(2.0), ft(3.0)]).expect("an axis");
        let axes = Axes::default().and(axis.clone()).expect("axes");
        let some = axes.clone().filter(&[false, true, false, true]).expect("two are left");
        let mut indices = [0];
        some.indices(1, &mut indices);
        assert_eq!((some.cases(), indices), (2, [3]));
        assert_eq!(some.clone().filter(&[true, false]).expect("one is left").cases(), 1);
        let other = Axis { name: "b".into(), ..axis };
        assert_eq!(some.and(other).unwrap_err(), AxisError::AlreadyChosen);
        assert_eq!(axes.filter(&[false; 4]).unwrap_err(), AxisError::NoneLeft);
    }
}
