//! Blocks of cases: their chains side by side, one step of each after another.

use super::bends::Bent;
use super::changes::Changes;
use super::model::LaneModel;
use super::read::read;
use super::readings::Reading;
use super::renewal::{Given, Renewal, Renewed, Seat, Table};
use super::starting::{Starting, Switching, settle};
use super::state::State;
use crate::hydraulics::answer::probe::Probe;
use crate::hydraulics::network::Network;
use crate::hydraulics::setting::Change;
use crate::hydraulics::switch::Switches;
use crate::hydraulics::tolerances::MANY_LINKS;
use crate::limits;
use crate::numeric::lanes::{F, Instructions, Laned, Mask, Vector};
use crate::parts::{Around, Part, PartError};
use std::sync::Arc;

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
    renewal: Renewal,
    readings: Vec<Reading>,
    starting: Vec<Starting>,
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
    /// Where the cases that are being added go, and what becomes of each.
    seats: Vec<Seat>,
    fates: Vec<Renewed>,
}

impl Lanes {
    /// Cases of one block. A block is solved as if it were the only one.
    pub const BLOCK: usize = CHAIN * CHAINS;

    /// A network made ready for changes by some axes and for these readings, all of whose boosters run that do; none where lanes cannot hold a law of
    /// it, or read one of the probes.
    pub fn of(network: &Network, changes: &[Change], probes: &[Probe]) -> Option<Lanes> {
        Lanes::with_switches(network, changes, probes, &Switches::default())
    }

    /// The same with boosters that switches start from rest. What is read are the probes, then for each switch its verdict, by its place in
    /// [`Verdict::ALL`](crate::hydraulics::Verdict::ALL).
    pub fn with_switches(network: &Network, changes: &[Change], probes: &[Probe], switches: &Switches) -> Option<Lanes> {
        let mut network = network.clone();
        switches.rest(&mut network);
        network.start_afresh();
        if network.solve().is_err() {
            network.start_afresh();
        }
        let circuit = network.circuit();
        let mut model = LaneModel::of(circuit, |place| most_pieces(&network, changes, place))?;
        let mut readings = Vec::with_capacity(probes.len());
        for probe in probes {
            let node = network.node_downstream(probe.place);
            readings.push(Reading::of(probe, node, circuit, &mut model)?);
        }
        let starting = switches.starters().iter().map(|starter| Starting::of(starter, &network, &mut model));
        let starting = starting.collect::<Option<Vec<Starting>>>()?;
        let changes = Changes::of(&network, &model, changes)?;
        let renewal = Renewal::of(&changes, Lanes::BLOCK);
        Some(Lanes { model, changes, renewal, readings, starting, instructions: Instructions::widest() })
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
            seats: Vec::with_capacity(Self::BLOCK),
            fates: Vec::with_capacity(Self::BLOCK),
        }
    }

    /// Adds cases of a block, by their numbers there, ascending, with the values of all axes. Gives those that a part refuses, and why.
    pub fn add(&mut self, members: impl Iterator<Item = usize>, given: &Given, cases: &mut Cases) -> Vec<(usize, PartError)> {
        // Cases of a chain follow each other in time, chains lie beside each other.
        let Cases { columns, case: places, solved, length, left, seats, fates } = cases;
        seats.clear();
        seats.extend(members.map(|case| {
            let chain = case / CHAIN;
            let at = length[chain] * CHAINS + chain;
            length[chain] += 1;
            places[at] = case as u32;
            Seat { case, at }
        }));
        self.renewal.write(&self.changes, given, &mut Table { seats, columns, length: COLUMN }, fates);
        let mut refused = Vec::new();
        for (seat, fate) in seats.iter().zip(fates.drain(..)) {
            match fate {
                Renewed::Whole => solved[seat.at] = 1.0,
                Renewed::Unheld => left.push(seat.case),
                Renewed::Refused(_, error) => refused.push((seat.case, error)),
            }
        }
        refused
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

/// The most pieces that a bent term of a part has which an axis puts in a place.
fn most_pieces(network: &Network, changes: &[Change], place: usize) -> usize {
    let around = Around { water: *network.water(), diameter_m: f64::NAN };
    let pieces = |part: &Arc<Part>| Bent::of(&part.law(&around)).map_or(0, |bent| bent.pieces());
    let of_place = |change: &Change| match change {
        Change::Part(at, parts) if *at == place => parts.iter().map(pieces).max(),
        _ => None,
    };
    changes.iter().filter_map(of_place).max().unwrap_or(0)
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
        let Run { lanes: Lanes { model, changes, readings, starting, .. }, cases, out } = self;
        let wide = F::<S, W>::LANES;
        let mut state = State::<S, W>::new(model, simd);
        let mut switches = vec![Switching::<S, W>::new(simd); starting.len()];
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
                state.look_ahead(active);
                let mut fine = settle(starting, &mut state, active, &mut switches, simd);
                let solved = fine;
                let places = &cases.case[at..at + wide];
                let (answers, of_switches) = out.split_at_mut(readings.len());
                let keep = |out: &mut [f64], value: F<S, W>| {
                    for (value, case) in value.lanes().iter().zip(places) {
                        if let Some(place) = out.get_mut(*case as usize) {
                            *place = *value;
                        }
                    }
                };
                for (reading, out) in readings.iter().zip(answers) {
                    let (value, known) = read(reading, &mut state, solved, simd);
                    fine = fine & known;
                    keep(out, value);
                }
                for (switch, out) in switches.iter().zip(of_switches) {
                    keep(out, switch.verdict);
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
