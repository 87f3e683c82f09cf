//! What a short-cycling switch makes of a steady state: the booster stops before the pressures of that state are reached.

use crate::garden::walk::{Way, reached};
use crate::hydraulics::{Solution, Verdict};
use crate::parts::Id;

/// How far pressures lie above what stands there when switches stop their boosters.
pub(super) struct Overshoot<'a> {
    solution: &'a Solution,
    /// For each node, Pa; empty where no switch short-cycles.
    node_pa: Vec<f64>,
}

impl Overshoot<'_> {
    pub fn of(solution: &Solution) -> Overshoot<'_> {
        let garden = &solution.garden;
        let places = &garden.layout().places;
        let mut node_pa: Vec<f64> = Vec::new();
        for switch in solution.switches.iter().filter(|switch| switch.verdict == Verdict::ShortCycles) {
            let Some(cut_out_pa) = garden.parts()[switch.place].si(Id::CutOut) else { continue };
            let down = |part: usize, way: Way| way == Way::Down && part != switch.booster && solution.open[part];
            let downstream = reached(garden, places[switch.booster].to, down);
            node_pa.resize(downstream.len(), 0.0);
            for (most_pa, _) in node_pa.iter_mut().zip(downstream).filter(|(_, downstream)| *downstream) {
                *most_pa = most_pa.max(switch.at_pa - cut_out_pa);
            }
        }
        Overshoot { solution, node_pa }
    }

    /// How far the pressure at a part lies above what stands there when the switch stops the booster, Pa; zero where no
    /// switch short-cycles upstream. Good to the friction that changes in between.
    pub fn at_place(&self, place: usize) -> f64 {
        let joint = &self.solution.garden.layout().places[place];
        self.at_node(joint.from).max(self.at_node(joint.to))
    }

    /// The same at a node.
    pub fn at_node(&self, node: usize) -> f64 {
        self.node_pa.get(node).copied().unwrap_or(0.0)
    }
}
