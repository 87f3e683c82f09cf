//! The native sweep: one garden, a grid of cases, solved one after another without any script.
//!
//! The structure is worked out once. Cases are solved in blocks of fixed size, each beginning afresh and going on from its
//! neighbour, so that the answers do not depend on how many threads share the blocks.

use super::axes::{Axes, AxisValues};
use crate::garden::{Garden, GardenError, NumberPath};
use crate::hydraulics::{Network, Probe, ProbeKind, Switches, Verdict};
use crate::parts::{Kind, Part, Placing};
use crate::quantity::{Preference, dim};
use crate::table::{Column, Table, TableError, Values};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use thiserror::Error;

/// Cases that are solved one after another, each from the last.
const BLOCK: usize = 512;

/// How a sweep is carried out.
#[derive(Clone, Copy, Debug, Default)]
pub struct SweepOptions<'a> {
    /// Threads that share the work; all cores unless said.
    pub threads: Option<usize>,
    /// Set by others to end the sweep early.
    pub stop: Option<&'a AtomicBool>,
}

/// Why a sweep could not be made.
#[derive(Debug, Error)]
pub enum SweepError {
    #[error(transparent)]
    Garden(#[from] GardenError),
    #[error("the axis '{axis}' varies a part, but {what}")]
    PartAxis { axis: String, what: String },
    #[error("the axis '{axis}' must be {expected}, found {found}")]
    Dimension { axis: String, expected: String, found: String },
    #[error(transparent)]
    Table(#[from] TableError),
    #[error("stopped")]
    Stopped,
}

impl SweepError {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            SweepError::Garden(error) => error.hint(),
            SweepError::PartAxis { .. } => {
                Some("vary_part(\"booster\", [b1, b2]) takes parts of the kind that sits there".into())
            }
            SweepError::Dimension { .. } => Some("give values of the right dimension, as in [50.ft, 100.ft]".into()),
            SweepError::Table(error) => error.hint(),
            SweepError::Stopped => None,
        }
    }
}

/// What an axis changes.
enum Target {
    Number { path: NumberPath, si: Vec<f64> },
    Part { place: usize, parts: Vec<Arc<Part>> },
}

/// A column of answers.
struct Output {
    name: String,
    probe: Probe,
}

/// Solves every case of the grid with these zones open.
///
/// The table has a column for each axis, then pressure and flow of every supply, booster and outlet that is fed. A case that
/// the garden refuses or that has no steady state stays in the table, with its reason in the last column.
///
/// Errors: unknown paths or zones, values of a wrong dimension, or a stop by the user.
pub fn sweep(garden: &Garden, axes: &Axes, zones: &[&str], options: &SweepOptions) -> Result<Table, SweepError> {
    let open = garden.opened(zones)?;
    let targets = targets(garden, axes)?;
    let switches = Switches::of(garden);
    let start = Network::new(garden, &open)?;
    let outputs = outputs(garden, &start);
    let cases = axes.cases();
    let mut answers = Answers::new(outputs.len(), cases, &switches);
    let blocks = cases.div_ceil(BLOCK);
    let threads =
        options.threads.unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from)).clamp(1, blocks.max(1));
    let next = AtomicUsize::new(0);
    let stopped = || options.stop.is_some_and(|stop| stop.load(Ordering::Relaxed));
    let work = |send: mpsc::Sender<Block>| {
        let mut worker = Worker::new(&start, &targets, &outputs, &switches, axes, garden);
        loop {
            let block = next.fetch_add(1, Ordering::Relaxed);
            if block >= blocks || stopped() {
                break;
            }
            let first = block * BLOCK;
            if send.send(worker.solve(first, BLOCK.min(cases - first))).is_err() {
                break;
            }
        }
    };
    let (send, receive) = mpsc::channel::<Block>();
    if threads == 1 {
        work(send);
        receive.into_iter().for_each(|block| answers.take(block));
    } else {
        std::thread::scope(|scope| {
            for _ in 0..threads {
                let (send, work) = (send.clone(), &work);
                scope.spawn(move || work(send));
            }
            drop(send);
            receive.into_iter().for_each(|block| answers.take(block));
        });
    }
    if stopped() {
        return Err(SweepError::Stopped);
    }
    answers.table(garden, axes, &outputs, &switches)
}

fn targets(garden: &Garden, axes: &Axes) -> Result<Vec<Target>, SweepError> {
    let mut targets = Vec::with_capacity(axes.axes().len());
    for axis in axes.axes() {
        targets.push(match &axis.values {
            AxisValues::Quantities { si, dimension, .. } => {
                let path = garden.number_path(&axis.name)?;
                let expected = garden.dimension_of(path);
                if expected != *dimension {
                    let found = axis.quantity(0).map_or_else(String::new, |quantity| quantity.described());
                    return Err(SweepError::Dimension { axis: axis.name.clone(), expected: expected.to_string(), found });
                }
                Target::Number { path, si: si.clone() }
            }
            AxisValues::Parts(parts) => {
                let place = garden.find(&axis.name)?;
                let kind = garden.parts()[place].kind();
                if let Some(other) = parts.iter().find(|part| part.kind() != kind) {
                    let what = format!("a {} sits there and a {} is among the choices", kind.spec().word, other.spec().word);
                    return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
                }
                Target::Part { place, parts: parts.iter().cloned().map(Arc::new).collect() }
            }
            AxisValues::Texts(_) => {
                let what = "its values are texts".to_string();
                return Err(SweepError::PartAxis { axis: axis.name.clone(), what });
            }
        });
    }
    Ok(targets)
}

/// Pressure and flow of everything that is fed and worth a column.
fn outputs(garden: &Garden, network: &Network) -> Vec<Output> {
    let mut outputs = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        let worth = match part.spec().placing {
            Placing::Source | Placing::Outlet => true,
            Placing::Inline => part.kind() == Kind::Booster,
            Placing::AtPoint => true,
        };
        if !worth || !network.is_fed(place) {
            continue;
        }
        let name = garden.name(place);
        outputs.push(Output { name: format!("{name}.pressure"), probe: Probe { place, kind: ProbeKind::Pressure } });
        if part.spec().placing != Placing::AtPoint {
            outputs.push(Output { name: format!("{name}.flow"), probe: Probe { place, kind: ProbeKind::Flow } });
        }
    }
    outputs
}

/// The answers of some cases: values by case and output, verdicts by case and switch, failures.
struct Block {
    first: usize,
    cases: usize,
    values: Vec<f64>,
    verdicts: Vec<Verdict>,
    failures: Vec<(usize, String)>,
}

/// One thread's network and what it must do with it.
struct Worker<'a> {
    network: Network,
    targets: &'a [Target],
    outputs: &'a [Output],
    switches: &'a Switches,
    axes: &'a Axes,
    garden: &'a Garden,
    indices: Vec<usize>,
    present: Vec<usize>,
}

/// An index that no axis has, for "not set yet" and "refused".
const NOT_SET: usize = usize::MAX;

impl<'a> Worker<'a> {
    fn new(
        start: &Network,
        targets: &'a [Target],
        outputs: &'a [Output],
        switches: &'a Switches,
        axes: &'a Axes,
        garden: &'a Garden,
    ) -> Worker<'a> {
        let n = targets.len();
        Worker {
            network: start.clone(),
            targets,
            outputs,
            switches,
            axes,
            garden,
            indices: vec![0; n],
            present: vec![NOT_SET; n],
        }
    }

    fn solve(&mut self, first: usize, cases: usize) -> Block {
        let mut block = Block {
            first,
            cases,
            values: Vec::with_capacity(cases * self.outputs.len()),
            verdicts: Vec::with_capacity(cases * self.switches.len()),
            failures: Vec::new(),
        };
        let mut afresh = true;
        for case in first..first + cases {
            self.axes.indices(case, &mut self.indices);
            let outcome = self.set().map_err(|error| error.to_string()).and_then(|()| {
                if afresh {
                    self.network.start_afresh();
                }
                let named = |error: crate::hydraulics::SolveError| error.named(self.garden).to_string();
                self.switches.settle(&mut self.network).map_err(named)
            });
            match outcome {
                Ok((states, _)) => {
                    block.values.extend(self.outputs.iter().map(|output| self.network.probe(&output.probe)));
                    block.verdicts.extend(states.iter().map(|state| state.verdict));
                    afresh = false;
                }
                Err(reason) => {
                    block.failures.push((case, reason));
                    block.values.extend(std::iter::repeat_n(f64::NAN, self.outputs.len()));
                    block.verdicts.extend(std::iter::repeat_n(Verdict::Sleeps, self.switches.len()));
                    afresh = true;
                }
            }
        }
        block
    }

    /// Sets what differs from the last case.
    fn set(&mut self) -> Result<(), GardenError> {
        for (axis, target) in self.targets.iter().enumerate() {
            let index = self.indices[axis];
            if self.present[axis] == index {
                continue;
            }
            self.present[axis] = NOT_SET;
            match target {
                Target::Number { path, si } => self.network.set(path.place, path.number, si[index])?,
                Target::Part { place, parts } => self.network.replace(*place, Arc::clone(&parts[index])),
            }
            self.present[axis] = index;
        }
        Ok(())
    }
}

/// All answers, by output.
struct Answers {
    columns: Vec<Vec<Option<f64>>>,
    verdicts: Vec<Vec<Verdict>>,
    failures: Vec<(usize, String)>,
}

impl Answers {
    fn new(outputs: usize, cases: usize, switches: &Switches) -> Answers {
        Answers {
            columns: vec![vec![None; cases]; outputs],
            verdicts: vec![vec![Verdict::Sleeps; cases]; switches.len()],
            failures: Vec::new(),
        }
    }

    fn take(&mut self, block: Block) {
        let outputs = self.columns.len();
        let switches = self.verdicts.len();
        for case in 0..block.cases {
            for (output, column) in self.columns.iter_mut().enumerate() {
                let value = block.values[case * outputs + output];
                column[block.first + case] = value.is_finite().then_some(value);
            }
            for (switch, column) in self.verdicts.iter_mut().enumerate() {
                column[block.first + case] = block.verdicts[case * switches + switch];
            }
        }
        self.failures.extend(block.failures);
    }

    fn table(mut self, garden: &Garden, axes: &Axes, outputs: &[Output], switches: &Switches) -> Result<Table, SweepError> {
        let cases = axes.cases();
        let mut columns = Vec::new();
        let mut indices = vec![0; axes.axes().len()];
        for (position, axis) in axes.axes().iter().enumerate() {
            let mut of_case = |case: usize| {
                axes.indices(case, &mut indices);
                indices[position]
            };
            columns.push(match &axis.values {
                AxisValues::Quantities { si, dimension, preference } => {
                    let values: Vec<Option<f64>> = (0..cases).map(|case| Some(si[of_case(case)])).collect();
                    Column::quantities(&axis.name, values, *dimension, *preference)
                }
                _ => Column::texts(&axis.name, (0..cases).map(|case| axis.label(of_case(case)))),
            });
        }
        let failed: std::collections::HashSet<usize> = self.failures.iter().map(|(case, _)| *case).collect();
        for (output, values) in outputs.iter().zip(std::mem::take(&mut self.columns)) {
            let dimension = if output.probe.kind == ProbeKind::Flow { dim::FLOW } else { dim::PRESSURE };
            columns.push(Column::quantities(&output.name, values, dimension, Preference::Usual));
        }
        for (verdicts, place) in self.verdicts.iter().zip(switches.places()) {
            let words =
                verdicts.iter().enumerate().map(|(case, verdict)| (!failed.contains(&case)).then(|| verdict.word().to_string()));
            columns.push(Column { name: format!("{}.state", garden.name(place)), values: Values::Texts(words.collect()) });
        }
        if !self.failures.is_empty() {
            let mut reasons = vec![None; cases];
            for (case, reason) in self.failures {
                reasons[case] = Some(reason);
            }
            columns.push(Column { name: "reason".into(), values: Values::Texts(reasons) });
        }
        Ok(Table::new(columns)?)
    }
}
