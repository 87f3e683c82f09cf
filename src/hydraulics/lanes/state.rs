//! The steps of Newton's method for some chains side by side: those of `solve::newton`, lane by lane.
//!
//! A lane that has arrived stands still, so that what its neighbors still have to do does not touch its bits.

use super::model::{LINK, LaneModel, PIPE};
use crate::hydraulics::tolerances::{CLOSES_BELOW, CLOSES_TO, FIRST_FLOW, FLOWS_TO, LEAST_SCALE_PA, RESTS_BELOW, SUSPECT_PA};
use crate::laws::friction::{Pipes, Remembered};
use crate::numeric::lanes::{F, Mask, Vector};
use std::ops::Range;

/// Steps after which a case is left to the methods for one case: in gardens that arrive at all most take four, hardly one ten.
const MOST_ROUNDS: usize = 20;
/// Water this far above the pressure of its vapor does not part for sure, Pa.
const SURELY_WHOLE_PA: f64 = 1.0;

/// The state of some chains side by side, and the working memory of a step.
pub struct State<'m, S: Vector, const W: usize> {
    model: &'m LaneModel,
    simd: S,
    /// The numbers of the laws in the cases at hand.
    pub numbers: Vec<F<S, W>>,
    pub flows: Vec<F<S, W>>,
    closed: Vec<Mask<S, W>>,
    pub pressures: Vec<F<S, W>>,
    memory: Vec<Remembered<F<S, W>>>,
    /// Flows after the first half of a step, how they follow the pressures, and which links stay closed.
    next: Vec<(F<S, W>, F<S, W>, Mask<S, W>)>,
    diagonal: Vec<F<S, W>>,
    upper: Vec<F<S, W>>,
    right: Vec<F<S, W>>,
    sums: Vec<F<S, W>>,
    wet: Vec<Mask<S, W>>,
}

impl<'m, S: Vector, const W: usize> State<'m, S, W> {
    /// The state from which every chain begins.
    pub fn new(model: &'m LaneModel, simd: S) -> Self {
        let zero = F::splat(simd, 0.0);
        let no = Mask::splat(simd, false);
        let splat = |numbers: &[f64]| numbers.iter().map(|&number| F::splat(simd, number)).collect::<Vec<_>>();
        let (links, unknowns) = (model.links.len(), model.structure.unknowns.len());
        State {
            model,
            simd,
            numbers: splat(&model.numbers),
            flows: splat(&model.beginning.flows),
            closed: model.beginning.closed.iter().map(|&closed| Mask::splat(simd, closed)).collect(),
            pressures: splat(&model.beginning.pressures_pa),
            memory: vec![Remembered::guess(zero, 0.0); model.number_of_pipes],
            next: vec![(zero, zero, no); links],
            diagonal: vec![zero; unknowns],
            upper: vec![zero; model.structure.pattern.couples()],
            right: vec![zero; unknowns],
            sums: vec![zero; unknowns],
            wet: vec![no; unknowns],
        }
    }

    /// Begins the chains in these lanes again.
    #[inline(always)]
    pub fn begin_again(&mut self, lanes: Mask<S, W>) {
        let beginning = &self.model.beginning;
        for (flow, first) in self.flows.iter_mut().zip(&beginning.flows) {
            *flow = lanes.choose(flow.like(*first), *flow);
        }
        for (closed, first) in self.closed.iter_mut().zip(&beginning.closed) {
            *closed = (*closed & !lanes) | (lanes & Mask::splat(self.simd, *first));
        }
        for (pressure, first) in self.pressures.iter_mut().zip(&beginning.pressures_pa) {
            *pressure = lanes.choose(pressure.like(*first), *pressure);
        }
        self.memory.iter_mut().for_each(|memory| memory.begin_again(lanes));
    }

    /// Puts another number in some lanes; what is remembered of a pipe with other walls is forgotten.
    #[inline(always)]
    pub fn put(&mut self, number: usize, value: F<S, W>, lanes: Mask<S, W>) {
        let before = self.numbers[number];
        self.numbers[number] = lanes.choose(value, before);
        let first_pipe = self.model.of_pipe(0);
        if number >= first_pipe && number < self.model.of_demand(0) && (number - first_pipe).is_multiple_of(PIPE) {
            self.memory[(number - first_pipe) / PIPE].forget(lanes & !value.same(before));
        }
    }

    /// Steps until all of these lanes have arrived or their steps run out; gives those that have arrived.
    #[inline(always)]
    pub fn solve(&mut self, lanes: Mask<S, W>) -> Mask<S, W> {
        let mut live = lanes;
        for round in 0..MOST_ROUNDS {
            let settled = self.round(live);
            if round > 0 {
                live = live & !settled;
                if !live.any() {
                    break;
                }
            }
        }
        lanes & !live
    }

    /// A step; gives the lanes in which pressures closed before it, and nodes balance and flows have come to rest after it.
    #[inline(always)]
    fn round(&mut self, live: Mask<S, W>) -> Mask<S, W> {
        let mut scale = F::splat(self.simd, LEAST_SCALE_PA);
        for pressure in &self.pressures {
            scale = pressure.abs().or_greater(scale);
        }
        let (misfit, moved) = self.linearize(live);
        self.model.structure.pattern.eliminate(&mut self.diagonal, &mut self.upper, &mut self.right);
        for (pressure, change) in self.pressures.iter_mut().zip(&self.right) {
            *pressure = live.choose(*pressure + *change, *pressure);
        }
        misfit.le(CLOSES_TO * scale) & self.step(live, moved)
    }

    /// The pressures at the ends of a link.
    #[inline(always)]
    fn ends_pa(&self, link: usize) -> (F<S, W>, F<S, W>) {
        let air = F::splat(self.simd, 0.0);
        let ends = self.model.links[link].ends;
        (ends.from().map_or(air, |node| self.pressures[node]), ends.to().map_or(air, |node| self.pressures[node]))
    }

    /// The pressure inside a link, downstream of its first pipes and what else belongs to these terms.
    #[inline(always)]
    pub fn along(&mut self, link: usize, terms: usize, pipes: usize, arrived: Mask<S, W>) -> F<S, W> {
        let (from_pa, _) = self.ends_pa(link);
        let first = self.model.links[link].pipes.start;
        let (loss, _) = self.lost(terms, first..first + pipes, self.flows[link], arrived);
        from_pa - loss
    }

    /// Loss of a link at a flow, with its slope.
    #[inline(always)]
    fn loss(&mut self, link: usize, flow: F<S, W>, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        self.lost(LINK * link, self.model.links[link].pipes.clone(), flow, live)
    }

    /// Loss by terms and pipes at a flow, with its slope.
    #[inline(always)]
    fn lost(&mut self, first: usize, pipes: Range<usize>, flow: F<S, W>, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        let (offset, linear, quadratic) = (self.numbers[first], self.numbers[first + 1], self.numbers[first + 2]);
        let size = flow.abs();
        let mut loss = offset + (linear + quadratic * size) * flow;
        let mut slope = linear + 2.0 * quadratic * size;
        for pipe in pipes {
            let first = self.model.of_pipe(pipe);
            let pipes = Pipes {
                walls: self.numbers[first],
                reynolds_per_flow: self.numbers[first + 1],
                loss_per_factor: self.numbers[first + 2],
            };
            let (lost, steep) = pipes.loss(flow, &mut self.memory[pipe], live);
            loss = loss + lost;
            slope = slope + steep;
        }
        (loss, slope)
    }

    /// Puts the tangents of all links together; gives the largest misfit of pressure along a link, and the largest change of a flow.
    #[inline(always)]
    fn linearize(&mut self, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        let zero = F::splat(self.simd, 0.0);
        let least_slope = F::splat(self.simd, self.model.least_slope);
        self.diagonal.fill(zero);
        self.upper.fill(zero);
        for (node, right) in self.right.iter_mut().enumerate() {
            *right = -self.numbers[self.model.of_demand(node)];
        }
        let (mut misfit, mut moved) = (zero, zero);
        for index in 0..self.model.links.len() {
            let link = &self.model.links[index];
            let (ends, one_way) = (link.ends, link.one_way);
            let (from_pa, to_pa) = self.ends_pa(index);
            let flow = self.flows[index];
            let (loss, mut slope) = self.loss(index, flow, live);
            let excess = loss - (from_pa - to_pa);
            let mut open = Mask::splat(self.simd, true);
            if one_way {
                open = !self.closed[index];
                let closed = self.closed[index] & live;
                if closed.any() {
                    let least = from_pa.abs().or_greater(to_pa.abs()).or_greater(zero.like(LEAST_SCALE_PA));
                    let opens = closed & excess.lt(-(CLOSES_TO * least));
                    if opens.any() {
                        // By the chord from no flow to about that of the pressures: the tangent at rest is so flat that a step would overshoot.
                        slope = opens.choose(-excess / self.rough_flow(index, -excess, opens), slope);
                        open = open | opens;
                    }
                }
            }
            let conductance = open.keep(1.0 / slope.or_greater(least_slope));
            let change = conductance * excess;
            let next = flow - change;
            misfit = open.keep(excess.abs()).or_greater(misfit);
            moved = change.abs().or_greater(moved);
            self.next[index] = (next, conductance, !open);
            if let Some(from) = ends.from() {
                self.right[from] = self.right[from] - next;
            }
            if let Some(to) = ends.to() {
                self.right[to] = self.right[to] + next;
            }
            // What flows round a ring leaves its one node as it came.
            if ends.is_ring() {
                continue;
            }
            if let Some(from) = ends.from() {
                self.diagonal[from] = self.diagonal[from] + conductance;
            }
            if let Some(to) = ends.to() {
                self.diagonal[to] = self.diagonal[to] + conductance;
            }
            if let Some(slot) = ends.slot() {
                self.upper[slot] = self.upper[slot] - conductance;
            }
        }
        (misfit, moved)
    }

    /// About the flow that a loss above that at rest drives through a link, as if loss went with the square of flow.
    #[inline(always)]
    fn rough_flow(&mut self, link: usize, push: F<S, W>, lanes: Mask<S, W>) -> F<S, W> {
        let mut flow = push.like(FIRST_FLOW);
        for _ in 0..2 {
            let (loss, _) = self.loss(link, flow, lanes);
            flow = flow * (push / (loss - self.numbers[LINK * link])).sqrt();
        }
        flow
    }

    /// The second half of a step: flows follow the pressures, and links that would run backward close. Gives the lanes in which nodes balance
    /// and flows have come to rest.
    #[inline(always)]
    fn step(&mut self, live: Mask<S, W>, mut moved: F<S, W>) -> Mask<S, W> {
        let zero = F::splat(self.simd, 0.0);
        for (node, sum) in self.sums.iter_mut().enumerate() {
            *sum = self.numbers[self.model.of_demand(node)];
        }
        let (mut largest, mut total) = (zero, zero);
        for (index, link) in self.model.links.iter().enumerate() {
            let (from, to) = (link.ends.from(), link.ends.to());
            let (next, conductance, shut) = self.next[index];
            let from_change = from.map_or(zero, |node| self.right[node]);
            let to_change = to.map_or(zero, |node| self.right[node]);
            let change = conductance * (from_change - to_change);
            moved = change.abs().or_greater(moved);
            let mut flow = next + change;
            if link.one_way {
                let turned = flow.lt(zero.like(CLOSES_BELOW)) & !shut;
                // A zero flow leaves it open: what is downstream may be about to open too.
                let shuts = turned & flow.abs().gt(zero.like(CLOSES_BELOW));
                flow = turned.choose(zero, flow);
                let closed = shut | shuts;
                self.closed[index] = (live & closed) | (self.closed[index] & !live);
            }
            flow = live.choose(flow, self.flows[index]);
            self.flows[index] = flow;
            largest = flow.abs().or_greater(largest);
            total = total + flow;
            if let Some(from) = from {
                self.sums[from] = self.sums[from] + flow;
            }
            if let Some(to) = to {
                self.sums[to] = self.sums[to] - flow;
            }
        }
        // A flow that is not a number leaves no sum that is one.
        let mut settled = moved.le(FLOWS_TO * largest + self.model.rests_within) & total.same(total);
        let allowed = CLOSES_TO * largest + 2.0 * CLOSES_BELOW;
        for sum in &self.sums {
            settled = settled & sum.abs().le(allowed);
        }
        settled
    }

    /// Of lanes that have arrived those whose state is an answer beyond doubt: every node has water, nowhere does it come near the pressure at
    /// which it parts, and no pressure is higher than any garden has.
    #[inline(always)]
    pub fn certain(&mut self, arrived: Mask<S, W>) -> Mask<S, W> {
        let mut fine = arrived;
        let whole_pa = F::splat(self.simd, self.model.vapor_pa + SURELY_WHOLE_PA);
        for pressure in &self.pressures {
            fine = fine & pressure.lt(whole_pa.like(SUSPECT_PA));
        }
        for &(node, _) in &self.model.structure.demands {
            fine = fine & self.pressures[node].gt(whole_pa);
        }
        let mut traps = !Mask::splat(self.simd, true);
        for index in 0..self.model.links.len() {
            let link = &self.model.links[index];
            let still = self.flows[index].same(whole_pa.like(0.0)) & if link.one_way { arrived } else { self.closed[index] };
            if link.joins {
                traps = traps | still;
            }
            if let Some(crests) = link.crests {
                // Walking back against the flow from the far end, without the friction on the way: water stands no lower at a crest.
                let (from_pa, to_pa) = self.ends_pa(index);
                let offset = self.numbers[LINK * index];
                let (forward, backward) = (to_pa + offset - self.numbers[crests], from_pa - offset + self.numbers[crests + 1]);
                fine = fine & forward.gt(whole_pa) & backward.gt(whole_pa);
            }
        }
        if (traps & fine).any() { fine & self.watered() } else { fine }
    }

    /// True where a pressure is far enough above that of vapor that water does not part there.
    #[inline(always)]
    pub fn is_whole(&self, pressure: F<S, W>) -> Mask<S, W> {
        pressure.gt(pressure.like(self.model.vapor_pa + SURELY_WHOLE_PA))
    }

    /// The pressure before the outlet that ends a link in which nothing flows, whose own offset is given, and the lanes in which water stands
    /// there without doubt.
    #[inline(always)]
    pub fn standing(&self, link: usize, own: F<S, W>) -> (F<S, W>, Mask<S, W>) {
        let (from_pa, _) = self.ends_pa(link);
        let stands = from_pa - (self.numbers[LINK * link] - own);
        let whole = self.is_whole(from_pa) & self.is_whole(stands);
        match self.model.links[link].crests {
            Some(crests) => (stands, whole & self.numbers[crests].same(stands.like(f64::NEG_INFINITY))),
            None => (stands, whole),
        }
    }

    /// The lanes in which water comes to every node from a source, through links that are not closed.
    #[inline(always)]
    fn watered(&mut self) -> Mask<S, W> {
        let yes = Mask::splat(self.simd, true);
        self.wet.fill(!yes);
        let mut spreads = true;
        while spreads {
            spreads = false;
            for (index, link) in self.model.links.iter().enumerate() {
                let flow = self.flows[index];
                let mut passes = !self.closed[index];
                if link.one_way {
                    passes = passes & !flow.same(flow.like(0.0));
                }
                let (from, to) = (link.ends.from(), link.ends.to());
                let from_wet = from.map_or(yes, |node| self.wet[node]);
                let to_wet = to.map_or(if link.joins { yes } else { !yes }, |node| self.wet[node]);
                if let Some(to) = to {
                    let new = passes & from_wet & !self.wet[to] & flow.like(-RESTS_BELOW).le(flow);
                    self.wet[to] = self.wet[to] | new;
                    spreads |= new.any();
                }
                if let Some(from) = from {
                    let new = passes & to_wet & !self.wet[from] & flow.le(flow.like(RESTS_BELOW));
                    self.wet[from] = self.wet[from] | new;
                    spreads |= new.any();
                }
            }
        }
        self.wet.iter().fold(yes, |all, wet| all & *wet)
    }
}
