//! One thread's networks, and the table of the cases it solved.

use super::native::{BLOCK, CaseWorker};
use super::plan::{SweepPlan, Target};
use crate::garden::GardenError;
use crate::hydraulics::{Network, ProbeKind, SolveError};
use crate::limits;
use crate::quantity::{Preference, dim};
use crate::study::{Axes, Axis, AxisValues};
use crate::table::{Column, Made, Table, TableError, Values};
use std::ops::Range;
use std::sync::Arc;

/// An index that no axis has, for "not set yet" and "refused".
const NOT_SET: usize = usize::MAX;

/// One thread's networks.
pub struct Worker<'a> {
    plan: &'a SweepPlan<'a>,
    networks: Vec<Network>,
    /// For each network the index of each axis that is set in it.
    present: Vec<Vec<usize>>,
    zones_axis: Option<usize>,
    indices: Vec<usize>,
    /// For each axis of numbers its value in the case, SI, and which value that is.
    numbers: Vec<(usize, f64)>,
}

/// The answers of a range of cases, by column; what is missing is not a number.
struct Answers {
    axes: Vec<Vec<f64>>,
    values: Vec<Vec<f64>>,
    verdicts: Vec<Vec<Option<String>>>,
    /// Why cases failed, by their rows.
    reasons: Vec<(usize, String)>,
    rows: usize,
}

impl<'a> Worker<'a> {
    pub(super) fn new(plan: &'a SweepPlan<'a>) -> Worker<'a> {
        let n = plan.targets.len();
        Worker {
            plan,
            networks: plan.starts.clone(),
            present: vec![vec![NOT_SET; n]; plan.starts.len()],
            zones_axis: plan.axes.zones(),
            indices: vec![0; n],
            numbers: vec![(NOT_SET, f64::NAN); n],
        }
    }
}

impl CaseWorker for Worker<'_> {
    fn table(&mut self, cases: Range<usize>) -> Result<Table, TableError> {
        let n = cases.len();
        let mut answers = Answers {
            axes: self
                .plan
                .axes
                .axes()
                .iter()
                .map(|axis| Vec::with_capacity(if axis.kind().is_some() { n } else { 0 }))
                .collect(),
            values: vec![Vec::with_capacity(n); self.plan.outputs.len()],
            verdicts: vec![Vec::with_capacity(n); self.plan.switches.len()],
            reasons: Vec::new(),
            rows: 0,
        };
        let mut first = cases.start;
        while first < cases.end {
            let end = (first + BLOCK).min(cases.end);
            self.block(first..end, &mut answers);
            limits::go_on()?;
            first = end;
        }
        self.columns(cases, answers)
    }
}

impl Worker<'_> {
    fn block(&mut self, cases: Range<usize>, answers: &mut Answers) {
        // A network remembers more than its last state, such as the friction it found: every block begins with new ones.
        self.networks.clone_from(&self.plan.starts);
        self.present.iter_mut().for_each(|present| present.fill(NOT_SET));
        let mut afresh = vec![true; self.networks.len()];
        for case in cases {
            if limits::ended() {
                return;
            }
            self.plan.axes.indices(case, &mut self.indices);
            self.numbers_of_case(&mut answers.axes);
            let which = self.zones_axis.map_or(0, |axis| self.indices[axis]);
            let set = self.set(which);
            let network = &mut self.networks[which];
            let outcome = set.map_err(|error| error.to_string()).and_then(|()| {
                if afresh[which] {
                    network.start_afresh();
                }
                let named = |error: SolveError| error.named(self.plan.garden).to_string();
                self.plan.switches.settle(network).map_err(named)
            });
            afresh[which] = outcome.is_err();
            match outcome {
                Ok((states, _)) => {
                    for (output, values) in self.plan.outputs.iter().zip(&mut answers.values) {
                        values.push(network.probe(&output.probe));
                    }
                    for (state, words) in states.iter().zip(&mut answers.verdicts) {
                        words.push(Some(state.verdict.word().to_string()));
                    }
                }
                Err(reason) => {
                    answers.values.iter_mut().for_each(|values| values.push(f64::NAN));
                    answers.verdicts.iter_mut().for_each(|words| words.push(None));
                    answers.reasons.push((answers.rows, reason));
                }
            }
            answers.rows += 1;
        }
    }

    /// Notes the value of each axis of numbers; one that is drawn is worked out once.
    fn numbers_of_case(&mut self, columns: &mut [Vec<f64>]) {
        for (place, axis) in self.plan.axes.axes().iter().enumerate() {
            let (index, known) = (self.indices[place], &mut self.numbers[place]);
            if known.0 != index {
                *known = (index, axis.si(index).unwrap_or(f64::NAN));
            }
            if axis.kind().is_some() {
                columns[place].push(known.1);
            }
        }
    }

    /// Sets what differs from the last case of this network.
    fn set(&mut self, which: usize) -> Result<(), GardenError> {
        let (network, present) = (&mut self.networks[which], &mut self.present[which]);
        for (axis, target) in self.plan.targets.iter().enumerate() {
            let index = self.indices[axis];
            if present[axis] == index {
                continue;
            }
            present[axis] = NOT_SET;
            match target {
                Target::Parameter(path) => {
                    network.set(path.place, path.parameter, self.numbers[axis].1)?;
                }
                Target::Part { place, parts } => network.replace(*place, Arc::clone(&parts[index]))?,
                Target::Zones => {}
            }
            present[axis] = index;
        }
        Ok(())
    }

    fn columns(&mut self, cases: Range<usize>, answers: Answers) -> Result<Table, TableError> {
        let units = self.plan.garden.units();
        let axes = self.plan.axes.axes();
        // Axes of parts, zones and the like are texts; those of numbers are there already.
        let others = if axes.iter().all(|axis| axis.kind().is_some()) { Vec::new() } else { axis_columns(self.plan.axes, cases) };
        let mut others: Vec<Option<Column>> = others.into_iter().map(Some).collect();
        let mut columns = Vec::new();
        for (place, (axis, si)) in axes.iter().zip(answers.axes).enumerate() {
            columns.push(match (axis.kind(), others.get_mut(place).and_then(Option::take)) {
                (None, Some(column)) => Made::Column(column),
                (kind, _) => {
                    let (dimension, preference) = kind.unwrap_or((dim::NUMBER, Preference::Usual));
                    Made::Filled { name: axis.name.clone(), si, dimension, preference }
                }
            });
        }
        for (output, si) in self.plan.outputs.iter().zip(answers.values) {
            let dimension = if output.probe.kind == ProbeKind::Flow { dim::FLOW } else { dim::PRESSURE };
            columns.push(Made::Filled { name: output.name.clone(), si, dimension, preference: units.preference(dimension) });
        }
        for (words, place) in answers.verdicts.into_iter().zip(self.plan.switches.places()) {
            let name = format!("{}.state", self.plan.garden.name(place));
            columns.push(Made::Column(Column { name, values: Values::Texts(words) }));
        }
        let name = "reason".to_string();
        columns.push(if answers.reasons.is_empty() {
            Made::NoTexts { name, rows: answers.rows }
        } else {
            let mut reasons = vec![None; answers.rows];
            answers.reasons.into_iter().for_each(|(row, reason)| reasons[row] = Some(reason));
            Made::Column(Column { name, values: Values::Texts(reasons) })
        });
        Table::of(columns)
    }
}

/// The columns of the axes for a range of cases.
pub fn axis_columns(axes: &Axes, cases: impl Iterator<Item = usize>) -> Vec<Column> {
    let n = axes.axes().len();
    let mut indices = vec![0; n];
    let mut of_axis: Vec<Vec<usize>> = vec![Vec::with_capacity(cases.size_hint().0); n];
    for case in cases {
        axes.indices(case, &mut indices);
        of_axis.iter_mut().zip(&indices).for_each(|(list, index)| list.push(*index));
    }
    let column = |(axis, list): (&Axis, Vec<usize>)| match (&axis.values, axis.kind()) {
        (AxisValues::Quantities { si, dimension, preference }, _) => {
            Column::quantities(&axis.name, list.iter().map(|index| Some(si[*index])), *dimension, *preference)
        }
        (_, Some((dimension, preference))) => {
            Column::quantities(&axis.name, list.iter().map(|index| axis.si(*index)), dimension, preference)
        }
        (AxisValues::Dates(dates), None) => {
            let ms = list.iter().map(|index| Some(dates[*index].ms())).collect();
            Column { name: axis.name.clone(), values: Values::Dates { ms, clock: dates.iter().any(|date| date.has_clock()) } }
        }
        _ => Column::texts(&axis.name, list.iter().map(|index| axis.label(*index))),
    };
    axes.axes().iter().zip(of_axis).map(column).collect()
}
