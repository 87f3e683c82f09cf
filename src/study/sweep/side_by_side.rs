//! Blocks of cases whose garden lanes hold: solved side by side, and those that do not arrive there one by one.

use super::plan::SweepPlan;
use crate::hydraulics::{Cases, Lanes};

/// An index that no axis has, for "not set yet" and "refused".
const NOT_SET: usize = usize::MAX;

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
    /// The index of each axis that is set.
    present: Vec<usize>,
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
        let set = |lanes: &Lanes| Set { lanes: lanes.clone(), room: lanes.cases(), present: vec![NOT_SET; axes] };
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
        for case in 0..cases {
            let Set { lanes, room, present } = &mut sets[zones.map_or(0, |axis| which[axis][case])];
            let mut refused = None;
            for (axis, present) in present.iter_mut().enumerate() {
                let index = which[axis][case];
                if *present == index {
                    continue;
                }
                *present = NOT_SET;
                if let Err(error) =
                    lanes.take(axis, numbers[axis].and_then(|si| si.get(case)).copied().unwrap_or(f64::NAN), index)
                {
                    refused = Some(error);
                    break;
                }
                *present = index;
            }
            match refused {
                None => lanes.add(case, room),
                Some(error) => rest.refused.push((case, error.to_string())),
            }
        }
        for Set { lanes, room, .. } in sets {
            rest.left.append(lanes.solve(room, &mut out));
        }
        rest.left.sort_unstable();
        rest
    }
}
