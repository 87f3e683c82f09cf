//! Places where hoses meet: the balance of flows with the characteristics that arrive there, and the parts without length
//! between such places (fittings, check valves, pumps, taps, outlets).
//!
//! The balance is solved by Newton's method on the flows through those parts, with the pressures eliminated; parts that let
//! water through one way only open and close in turns until none wants to change.

use crate::laws::vessel::Held;
use crate::numeric::solve_positive;
use crate::parts::Terms;

/// A part without length between two places, or between a place and the outside.
#[derive(Clone, Debug)]
pub struct Element {
    pub place: usize,
    /// The place it takes water from, and by how much its pressure lies above that of the place; outside: a fixed pressure.
    pub from: End,
    pub to: End,
    /// Its loss over its flow.
    pub loss: Terms,
    pub one_way: bool,
    pub open: bool,
    /// It opens again when pressure pushes it.
    pub can_open: bool,
    pub flow: f64,
    /// Mass of the water in it over the square of its area, Pa s2/m3; nothing but for hoses taken as a lump.
    pub inertia: f64,
    /// Its flow before the step that is being taken.
    pub before: f64,
}

impl Element {
    /// Loss and its slope at the flow it has, with what it takes to change that flow within a step.
    fn loss(&self, step_s: f64) -> (f64, f64) {
        let own = self.loss.loss(self.flow);
        let push = self.inertia / step_s;
        (own.loss_pa + push * (self.flow - self.before), own.slope_pa_s_per_m3 + push)
    }
}

#[derive(Clone, Copy, Debug)]
pub enum End {
    Node { index: usize, higher_pa: f64 },
    Outside { pressure_pa: f64 },
}

/// A place where hoses meet.
#[derive(Clone, Debug, Default)]
pub struct Node {
    pub pressure_pa: f64,
    /// Its pressure before the step that is being taken.
    pub before_pa: f64,
    /// What leaves it whatever the pressure, m3/s.
    pub taken: f64,
    /// Tanks with an air cushion that stand there.
    pub tanks: Vec<Held>,
    /// Water that lumps take in there for each rise of pressure, m3/Pa.
    pub m3_per_pa: f64,
    /// Sum of 1/B of the hoses that end here, and sum of C/B of their characteristics.
    pub conductance: f64,
    pub inflow: f64,
    /// Its number in the group of places it is solved with.
    pub slot: usize,
}

/// Places that are joined by parts without length, solved together.
#[derive(Clone, Debug)]
pub struct Group {
    pub nodes: Vec<usize>,
    pub elements: Vec<usize>,
    matrix: Vec<f64>,
    right: Vec<f64>,
}

const MOST_STEPS: usize = 60;
const MOST_CHANGES: usize = 12;

impl Group {
    pub fn new(nodes: Vec<usize>, elements: Vec<usize>) -> Group {
        let n = nodes.len();
        Group { nodes, elements, matrix: vec![0.0; n * n], right: vec![0.0; n] }
    }

    /// What a step of the group costs, in points of a hose worked out: some elimination of a table of its places.
    pub fn work(&self) -> f64 {
        3.0 * (self.nodes.len() * self.nodes.len()) as f64
    }

    /// Solves the balances of the group one time step on. `floor` is a small slope, Pa s/m3, and `small` a small flow, m3/s.
    pub fn solve(&mut self, nodes: &mut [Node], elements: &mut [Element], step_s: f64, floor: f64, small: f64) {
        if self.elements.is_empty() && self.nodes.len() == 1 {
            let node = &mut nodes[self.nodes[0]];
            if node.tanks.is_empty() && node.m3_per_pa == 0.0 && node.conductance > 0.0 {
                node.pressure_pa = (node.inflow - node.taken) / node.conductance;
                return;
            }
        }
        for _ in 0..MOST_CHANGES {
            self.settle(nodes, elements, step_s, floor, small);
            let mut changed = false;
            for &index in &self.elements {
                let element = &mut elements[index];
                if !element.one_way {
                    continue;
                }
                if element.open && element.flow < 0.0 {
                    (element.open, element.flow, changed) = (false, 0.0, true);
                } else if !element.open && element.can_open && drive(element, nodes) > element.loss.loss(0.0).loss_pa + OPENS_PA {
                    (element.open, changed) = (true, true);
                }
            }
            if !changed {
                return;
            }
        }
    }

    /// Newton's method for the flows of the open elements.
    fn settle(&mut self, nodes: &mut [Node], elements: &mut [Element], step_s: f64, floor: f64, small: f64) {
        let n = self.nodes.len();
        // Tanks are taken by their slope at the pressure before the step.
        for _ in 0..MOST_STEPS {
            self.matrix.fill(0.0);
            self.right.fill(0.0);
            for (slot, &index) in self.nodes.iter().enumerate() {
                let node = &nodes[index];
                let lumped = node.m3_per_pa / step_s;
                let mut own = node.conductance + lumped;
                let mut inflow = node.inflow - node.taken + lumped * node.before_pa;
                for tank in &node.tanks {
                    let give = tank.m3_per_pa(node.before_pa) / step_s;
                    own += give;
                    inflow += give * node.before_pa;
                }
                self.matrix[slot * n + slot] += own;
                self.right[slot] += inflow;
            }
            for index in 0..self.elements.len() {
                let element = &elements[self.elements[index]];
                if element.open {
                    self.add(element, nodes, step_s, floor, n);
                }
            }
            for slot in 0..n {
                if self.matrix[slot * n + slot] <= 0.0 {
                    // Nothing touches this place: it keeps its pressure.
                    self.matrix[slot * n + slot] = 1.0;
                    self.right[slot] = nodes[self.nodes[slot]].pressure_pa;
                }
            }
            if !solve_positive(&mut self.matrix, &mut self.right) {
                return;
            }
            for (slot, &index) in self.nodes.iter().enumerate() {
                nodes[index].pressure_pa = self.right[slot];
            }
            let mut moved = 0.0f64;
            for &index in &self.elements {
                let element = &elements[index];
                if !element.open {
                    continue;
                }
                let (loss, slope) = element.loss(step_s);
                let change = (drive(element, nodes) - loss) / (slope + floor);
                elements[index].flow += change;
                moved = moved.max(change.abs());
            }
            if moved <= small {
                return;
            }
        }
    }

    /// Adds the tangent of an element: q = q0 + (drive - loss) / (slope + floor).
    fn add(&mut self, element: &Element, nodes: &[Node], step_s: f64, floor: f64, n: usize) {
        let (loss, slope) = element.loss(step_s);
        let give = 1.0 / (slope + floor);
        let mut known = element.flow - give * loss;
        let mut ends = [None, None];
        for (end, (at, sign)) in [(element.from, 1.0), (element.to, -1.0)].into_iter().enumerate() {
            match at {
                End::Node { index, higher_pa } => {
                    known += sign * give * higher_pa;
                    ends[end] = Some(nodes[index].slot);
                }
                End::Outside { pressure_pa } => known += sign * give * pressure_pa,
            }
        }
        let [from, to] = ends;
        if let Some(from) = from {
            self.matrix[from * n + from] += give;
            self.right[from] -= known;
        }
        if let Some(to) = to {
            self.matrix[to * n + to] += give;
            self.right[to] += known;
        }
        if let (Some(from), Some(to)) = (from, to) {
            self.matrix[from * n + to] -= give;
            self.matrix[to * n + from] -= give;
        }
    }
}

/// A closed one-way part opens when pressed by more than this, Pa.
const OPENS_PA: f64 = 1e-3;

fn drive(element: &Element, nodes: &[Node]) -> f64 {
    let pressure = |end: End| match end {
        End::Node { index, higher_pa } => nodes[index].pressure_pa + higher_pa,
        End::Outside { pressure_pa } => pressure_pa,
    };
    pressure(element.from) - pressure(element.to)
}
