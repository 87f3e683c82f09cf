//! One thread's networks, and the columns that it fills.

use super::axis_columns::axis_plans;
use super::native::{BLOCK, CaseWorker};
use super::plan::SweepPlan;
use super::side_by_side::SideBySide;
use crate::garden::GardenError;
use crate::hydraulics::{Lanes, Network, ProbeKind, SolveError, Verdict};
use crate::limits;
use crate::quantity::dim;
use crate::table::{Cells, Column, ColumnPlan, Piece, TableError};
use std::ops::Range;

/// What lanes begin afresh is what a sweep promises to.
const _: () = assert!(BLOCK == Lanes::BLOCK);
/// An index that no axis has, for "not set yet" and "refused".
const NOT_SET: usize = usize::MAX;

/// One thread's networks.
pub struct Worker<'a> {
    plan: &'a SweepPlan<'a>,
    /// Solves cases side by side, where lanes hold the garden.
    side_by_side: Option<SideBySide>,
    /// Solve cases one by one.
    networks: Vec<Network>,
    /// For each network the index of each axis that is set in it.
    present: Vec<Vec<usize>>,
    zones_axis: Option<usize>,
    indices: Vec<usize>,
    /// For each axis of numbers its value in the case, SI, and which value that is.
    numbers: Vec<(usize, f64)>,
}

impl<'a> Worker<'a> {
    pub(super) fn new(plan: &'a SweepPlan<'a>) -> Worker<'a> {
        let n = plan.axes.axes().len();
        Worker {
            plan,
            side_by_side: SideBySide::of(plan),
            networks: plan.starts.clone(),
            present: vec![vec![NOT_SET; n]; plan.starts.len()],
            zones_axis: plan.axes.zones(),
            indices: vec![0; n],
            numbers: vec![(NOT_SET, f64::NAN); n],
        }
    }
}

impl CaseWorker for Worker<'_> {
    fn fill(&mut self, cases: Range<usize>, piece: &mut Piece) {
        for first in cases.clone().step_by(BLOCK) {
            let (block, first_row) = (first..(first + BLOCK).min(cases.end), first - cases.start);
            match self.side_by_side.take() {
                Some(mut lanes) => {
                    self.block_side_by_side(&mut lanes, block, first_row, piece);
                    self.side_by_side = Some(lanes);
                }
                None => self.block(block, first_row, piece),
            }
            if limits::ended() {
                return;
            }
        }
    }
}

impl Worker<'_> {
    /// Solves a block, whose cases fill the rows from that one on.
    fn block(&mut self, cases: Range<usize>, first_row: usize, piece: &mut Piece) {
        // A network remembers more than its last state, such as the friction it found: every block begins with new ones.
        self.networks.clone_from(&self.plan.starts);
        self.present.iter_mut().for_each(|present| present.fill(NOT_SET));
        let mut afresh = vec![true; self.networks.len()];
        let known = self.plan.axes.axes().len();
        for (row, case) in (first_row..).zip(cases) {
            if limits::ended() {
                return;
            }
            self.plan.axes.indices(case, &mut self.indices);
            self.axes_of_case(row, &mut piece.columns[..known]);
            let which = self.zones_axis.map_or(0, |axis| self.indices[axis]);
            let begin: fn(&mut Network) = if afresh[which] { Network::start_afresh } else { |_| {} };
            afresh[which] = !self.solve(which, row, begin, piece);
        }
    }

    /// Solves a block side by side, and what lanes leave one by one, each case from the beginning.
    fn block_side_by_side(&mut self, lanes: &mut SideBySide, cases: Range<usize>, first_row: usize, piece: &mut Piece) {
        let (known, rows) = (self.plan.axes.axes().len(), first_row..first_row + cases.len());
        let (axes, answers) = piece.columns.split_at_mut(known);
        let mut unused = Vec::new();
        for (axis, cells) in axes.iter_mut().enumerate() {
            let which = lanes.which(axis, cases.len());
            match cells {
                Cells::Numbers(numbers) => self.plan.axes.values(axis, cases.clone(), &mut numbers[rows.clone()], which),
                Cells::OneOf { chosen, .. } => {
                    unused.resize(cases.len(), f64::NAN);
                    self.plan.axes.values(axis, cases.clone(), &mut unused, which);
                    chosen[rows.clone()].iter_mut().zip(which).for_each(|(chosen, index)| *chosen = *index as u32);
                }
            }
        }
        let numbers: Vec<Option<&[f64]>> = axes
            .iter()
            .map(|cells| if let Cells::Numbers(numbers) = cells { Some(&numbers[rows.clone()]) } else { None })
            .collect();
        let out: Vec<&mut [f64]> = answers
            .iter_mut()
            .filter_map(|cells| if let Cells::Numbers(numbers) = cells { Some(&mut numbers[rows.clone()]) } else { None })
            .collect();
        let rest = lanes.solve(self.zones_axis, cases.len(), &numbers, out);
        let of_switches = answers.iter_mut().filter_map(|cells| match cells {
            Cells::OneOf { chosen, .. } => Some(&mut chosen[rows.clone()]),
            Cells::Numbers(_) => None,
        });
        let is_solved = |case: &usize| {
            rest.left.binary_search(case).is_err() && rest.refused.binary_search_by_key(case, |(case, _)| *case).is_err()
        };
        for (switch, chosen) in of_switches.enumerate() {
            (0..cases.len()).filter(is_solved).for_each(|case| chosen[case] = lanes.verdict(switch, case));
        }
        for (case, reason) in rest.refused {
            piece.fail(first_row + case, known, reason);
        }
        for case in rest.left {
            if limits::ended() {
                return;
            }
            for axis in 0..known {
                let index = lanes.index(axis, case);
                let si = if let Cells::Numbers(numbers) = &piece.columns[axis] { numbers[first_row + case] } else { f64::NAN };
                (self.indices[axis], self.numbers[axis]) = (index, (index, si));
            }
            let which = self.zones_axis.map_or(0, |axis| self.indices[axis]);
            self.solve(which, first_row + case, Network::forget, piece);
        }
    }

    /// Solves the case whose values are at hand in one of the networks, which begins in some way, and fills its row; false where there is no answer.
    fn solve(&mut self, which: usize, row: usize, begin: impl FnOnce(&mut Network), piece: &mut Piece) -> bool {
        let set = self.set(which);
        let (network, known) = (&mut self.networks[which], self.plan.axes.axes().len());
        let outcome = set.map_err(|error| error.to_string()).and_then(|()| {
            begin(network);
            let named = |error: SolveError| error.named(self.plan.garden).to_string();
            self.plan.switches.settle(network).map_err(named)
        });
        match outcome {
            Ok((states, _)) => {
                let mut columns = piece.columns[known..].iter_mut();
                for (output, cells) in self.plan.outputs.iter().zip(&mut columns) {
                    if let Cells::Numbers(numbers) = cells {
                        numbers[row] = network.probe(&output.probe);
                    }
                }
                for (state, cells) in states.iter().zip(&mut columns) {
                    if let (Cells::OneOf { chosen, .. }, Some(place)) = (cells, place_of(state.verdict)) {
                        chosen[row] = place;
                    }
                }
                true
            }
            Err(reason) => {
                piece.fail(row, known, reason);
                false
            }
        }
    }

    /// Writes the value of each axis; one that is drawn is worked out once.
    fn axes_of_case(&mut self, row: usize, columns: &mut [Cells]) {
        for (place, (axis, cells)) in self.plan.axes.axes().iter().zip(columns).enumerate() {
            let (index, known) = (self.indices[place], &mut self.numbers[place]);
            if known.0 != index {
                *known = (index, axis.si(index).unwrap_or(f64::NAN));
            }
            match cells {
                Cells::Numbers(numbers) => numbers[row] = known.1,
                Cells::OneOf { chosen, .. } => chosen[row] = index as u32,
            }
        }
    }

    /// Sets what differs from the last case of this network.
    fn set(&mut self, which: usize) -> Result<(), GardenError> {
        let (network, present) = (&mut self.networks[which], &mut self.present[which]);
        for setting in &self.plan.settings {
            if setting.axes().all(|axis| present[axis] == self.indices[axis]) {
                continue;
            }
            setting.axes().for_each(|axis| present[axis] = NOT_SET);
            network.put(setting, |axis| self.numbers[axis].1, |axis| self.indices[axis])?;
            setting.axes().for_each(|axis| present[axis] = self.indices[axis]);
        }
        Ok(())
    }
}

/// Where a verdict stands among the words of its column.
fn place_of(verdict: Verdict) -> Option<u32> {
    Verdict::ALL.iter().position(|other| *other == verdict).map(|place| place as u32)
}

/// The columns of the axes and of the answers.
pub(super) fn columns(plan: &SweepPlan) -> Result<Vec<ColumnPlan>, TableError> {
    let units = plan.garden.units();
    let mut columns = axis_plans(plan.axes)?;
    for output in &plan.outputs {
        let dimension = if output.probe.kind == ProbeKind::Flow { dim::FLOW } else { dim::PRESSURE };
        columns.push(ColumnPlan::numbers(&output.name, dimension, units.preference(dimension)));
    }
    for place in plan.switches.places() {
        let name = format!("{}.state", plan.garden.name(place));
        columns.push(ColumnPlan::one_of(&Column::texts(name, Verdict::ALL.map(Verdict::word)))?);
    }
    Ok(columns)
}
