//! Blocks of cases whose garden lanes hold: solved side by side, and those that do not arrive there one by one.

use super::plan::SweepPlan;
use crate::hydraulics::{Cases, Given, Lanes};

/// One thread's lanes: for each set of zones those of its network.
pub(super) struct SideBySide {
    sets: Vec<Set>,
    /// For each axis which of its values each case of the block has.
    which: Vec<Vec<usize>>,
    /// For each switch its verdict in each case of the block, by its place among all verdicts.
    verdicts: Vec<Vec<f64>>,
}

/// One set of zones.
struct Set {
    lanes: Lanes,
    room: Cases,
}

/// What became of the cases of a block that have no answer yet, by their numbers there, ascending.
#[derive(Default)]
pub(super) struct Rest {
    /// A part refuses its value, and why.
    pub refused: Vec<(usize, String)>,
    /// To be solved one by one.
    pub left: Vec<usize>,
}

impl SideBySide {
    /// The lanes of a plan, if it has them.
    pub fn of(plan: &SweepPlan) -> Option<SideBySide> {
        let axes = plan.axes.axes().len();
        let set = |lanes: &Lanes| Set { lanes: lanes.clone(), room: lanes.cases() };
        let sets: Vec<Set> = plan.lanes.iter().map(set).collect();
        let verdicts = vec![vec![0.0; Lanes::BLOCK]; plan.switches.len()];
        (!sets.is_empty()).then(|| SideBySide { sets, which: vec![vec![0; Lanes::BLOCK]; axes], verdicts })
    }

    /// Where the values of an axis in the cases of a block go, by their numbers.
    pub fn which(&mut self, axis: usize, cases: usize) -> &mut [usize] {
        &mut self.which[axis][..cases]
    }

    /// Which value an axis has in a case of the block.
    pub fn index(&self, axis: usize, case: usize) -> usize {
        self.which[axis][case]
    }

    /// The verdict of a switch in a case of the block that has been solved, by its place among all verdicts.
    pub fn verdict(&self, switch: usize, case: usize) -> u32 {
        self.verdicts[switch][case] as u32
    }

    /// Solves the cases of a block. `numbers` gives the values of the axes of numbers in SI, none for others; the answers go to `out`.
    pub fn solve<'a>(
        &'a mut self,
        zones: Option<usize>,
        cases: usize,
        numbers: &[Option<&[f64]>],
        mut out: Vec<&'a mut [f64]>,
    ) -> Rest {
        let SideBySide { sets, which, verdicts } = self;
        out.extend(verdicts.iter_mut().map(|verdicts| &mut verdicts[..cases]));
        let mut rest = Rest::default();
        let given = Given { numbers, which: &which[..] };
        for (number, Set { lanes, room }) in sets.iter_mut().enumerate() {
            let members = (0..cases).filter(|&case| zones.is_none_or(|axis| which[axis][case] == number));
            let refused = lanes.add(members, &given, room);
            rest.refused.extend(refused.into_iter().map(|(case, error)| (case, error.to_string())));
            rest.left.append(lanes.solve(room, &mut out));
        }
        rest.refused.sort_unstable_by_key(|(case, _)| *case);
        rest.left.sort_unstable();
        rest
    }
}
