//! Blocks of cases: their chains side by side, one step of each after another.

use super::changes::{Change, Changes};
use super::model::LaneModel;
use super::readings::Reading;
use super::state::State;
use crate::garden::GardenError;
use crate::hydraulics::answer::probe::Probe;
use crate::hydraulics::network::Network;
use crate::hydraulics::tolerances::MANY_LINKS;
use crate::limits;
use crate::numeric::lanes::{F, Instructions, Laned, Mask, Vector};

/// Cases of a chain: each begins from its neighbor, the first from the state of the garden as it is.
const CHAIN: usize = 32;
/// Chains of a block, as many as the widest registers hold in a pair.
const CHAINS: usize = 16;
/// From one column of numbers to the next: a line of the cache more than a block, or all of them would fall into the same few lines.
const COLUMN: usize = CHAIN * CHAINS + 8;
/// No case stands here.
const EMPTY: u32 = u32::MAX;

/// A network whose cases can be solved side by side.
#[derive(Clone, Debug)]
pub struct Lanes {
    model: LaneModel,
    changes: Changes,
    readings: Vec<Reading>,
    instructions: Instructions,
}

/// The cases of a block, in the order in which they are solved.
#[derive(Clone, Debug)]
pub struct Cases {
    /// Values of the numbers that change, column after column; in each the cases of the first step of all chains, then of the second, and so on.
    columns: Vec<f64>,
    /// Which case stands where.
    case: Vec<u32>,
    /// One where a case is to be solved, zero elsewhere.
    solved: Vec<f64>,
    /// How many cases each chain has.
    length: [usize; CHAINS],
    /// Cases that have to be solved one by one.
    left: Vec<usize>,
}

impl Lanes {
    /// Cases of one block. A block is solved as if it were the only one.
    pub const BLOCK: usize = CHAIN * CHAINS;

    /// A network made ready for changes by some axes and for these readings; none where lanes cannot hold a law of it, or read one of the probes.
    pub fn of(network: &Network, changes: &[Change], probes: &[Probe]) -> Option<Lanes> {
        let mut network = network.clone();
        network.start_afresh();
        if network.solve().is_err() {
            network.start_afresh();
        }
        let circuit = network.circuit();
        let mut model = LaneModel::of(circuit)?;
        let (mut own, mut readings) = (Vec::new(), Vec::with_capacity(probes.len()));
        for probe in probes {
            let node = network.node_downstream(probe.place);
            readings.push(Reading::of(probe, node, circuit, &mut model, &mut own)?);
        }
        let changes = Changes::of(&network, &model, changes, &own)?;
        Some(Lanes { model, changes, readings, instructions: Instructions::widest() })
    }

    /// The same with other instructions.
    pub fn with(self, instructions: Instructions) -> Lanes {
        Lanes { instructions, ..self }
    }

    /// Room for the cases of a block.
    pub fn cases(&self) -> Cases {
        Cases {
            columns: vec![0.0; self.changes.numbers.len() * COLUMN],
            case: vec![EMPTY; Self::BLOCK],
            solved: vec![0.0; Self::BLOCK],
            length: [0; CHAINS],
            left: Vec::new(),
        }
    }

    /// Takes the value of an axis: a number in SI, or which of its parts.
    ///
    /// Errors: the part refuses it.
    pub fn take(&mut self, axis: usize, si: f64, index: usize) -> Result<(), GardenError> {
        self.changes.take(axis, si, index)
    }

    /// Adds the case of a block whose values have been taken, by its number there.
    pub fn add(&mut self, case: usize, cases: &mut Cases) {
        // Cases of a chain follow each other in time, chains lie beside each other.
        let Cases { columns, case: places, solved, length, left } = cases;
        let chain = case / CHAIN;
        let at = length[chain] * CHAINS + chain;
        length[chain] += 1;
        places[at] = case as u32;
        match self.changes.updated(&self.model) {
            Some(numbers) => {
                solved[at] = 1.0;
                numbers.iter().enumerate().for_each(|(column, value)| columns[column * COLUMN + at] = *value);
            }
            None => left.push(case),
        }
    }

    /// Solves the cases that were added, puts what is read from each into the columns of `out`, by the number of the case in its block, and
    /// gives those that have to be solved one by one, ascending. Then there is room for other cases.
    pub fn solve<'a>(&self, cases: &'a mut Cases, out: &mut [&mut [f64]]) -> &'a mut Vec<usize> {
        self.instructions.run(Run { lanes: self, cases, out });
        cases.solved.fill(0.0);
        cases.case.fill(EMPTY);
        cases.length.fill(0);
        cases.left.sort_unstable();
        &mut cases.left
    }
}

/// A block to be solved.
struct Run<'a, 'o> {
    lanes: &'a Lanes,
    cases: &'a mut Cases,
    out: &'a mut [&'o mut [f64]],
}

impl Laned for Run<'_, '_> {
    type Output = ();

    #[inline(always)]
    fn on<S: Vector>(self, simd: S) {
        self.with::<S, 2>(simd);
    }
}

impl Run<'_, '_> {
    #[inline(always)]
    fn with<S: Vector, const W: usize>(self, simd: S) {
        let Run { lanes: Lanes { model, changes, readings, .. }, cases, out } = self;
        let wide = F::<S, W>::LANES;
        let mut state = State::<S, W>::new(model, simd);
        for first in (0..CHAINS).step_by(wide) {
            state.begin_again(Mask::splat(simd, true));
            for step in 0..CHAIN {
                let at = step * CHAINS + first;
                let active = Mask::<S, W>::load(simd, &cases.solved[at..]);
                if !active.any() {
                    continue;
                }
                if model.links.len() >= MANY_LINKS && limits::ended() {
                    return;
                }
                for (column, &number) in changes.numbers.iter().enumerate() {
                    state.put(number, F::load(simd, &cases.columns[column * COLUMN + at..]), active);
                }
                let arrived = state.solve(active);
                let mut fine = state.certain(arrived);
                for (reading, out) in readings.iter().zip(out.iter_mut()) {
                    let (value, known) = read(reading, &mut state, arrived, simd);
                    fine = fine & known;
                    for (lane, value) in value.lanes().iter().enumerate() {
                        if let Some(place) = out.get_mut(cases.case[at + lane] as usize) {
                            *place = *value;
                        }
                    }
                }
                let failed = active & !fine;
                if failed.any() {
                    for (lane, failed) in failed.numbers(1.0, 0.0).lanes().iter().enumerate() {
                        if *failed != 0.0 {
                            cases.left.push(cases.case[at + lane] as usize);
                        }
                    }
                    state.begin_again(failed);
                }
            }
        }
    }
}

/// What is read from a state, and in which lanes it is beyond doubt.
#[inline(always)]
fn read<S: Vector, const W: usize>(
    reading: &Reading,
    state: &mut State<S, W>,
    arrived: Mask<S, W>,
    simd: S,
) -> (F<S, W>, Mask<S, W>) {
    let zero = F::splat(simd, 0.0);
    let always = Mask::splat(simd, true);
    let own =
        |state: &State<S, W>, (link, forward): (usize, bool)| if forward { state.flows[link] } else { zero - state.flows[link] };
    match *reading {
        Reading::Always(number) => (F::splat(simd, number), always),
        Reading::Number(number) => (state.numbers[number], always),
        Reading::Flow { link, forward } => (own(state, (link, forward)), always),
        Reading::Source { flow, pressure, resistance } => {
            let flow = flow.map_or(zero, |flow| own(state, flow));
            (state.numbers[pressure] - state.numbers[resistance] * flow.abs() * flow, always)
        }
        Reading::Outlet { link, terms } => {
            let flow = state.flows[link];
            let flows = flow.gt(zero);
            let offset = state.numbers[terms];
            let given = offset + (state.numbers[terms + 1] + state.numbers[terms + 2] * flow) * flow;
            let dry = !flows;
            if !dry.any() {
                return (given, always);
            }
            // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
            let (stands, whole) = state.standing(link, offset);
            (flows.choose(given, stands.gt(zero).keep(stands)), flows | whole)
        }
        Reading::Along { link, terms, pipes } => {
            let pressure = state.along(link, terms, pipes, arrived);
            // Where nothing flows, water may stand there from the other side.
            let flows = !state.flows[link].same(zero);
            (pressure, flows & state.is_whole(pressure))
        }
        Reading::Node { unknown } => (state.pressures[unknown], state.is_whole(state.pressures[unknown])),
    }
}
