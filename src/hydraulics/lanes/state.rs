//! The steps of Newton's method for some chains side by side: those of `solve::newton`, lane by lane.
//!
//! A lane that has arrived stands still, so that what its neighbors still have to do does not touch its bits.

use super::course::Course;
use super::model::{Held, LINK, LaneModel, PIPE, Span};
use crate::hydraulics::tolerances::{
    CLOSES_BELOW, CLOSES_TO, FEED_SLOPE, FIRST_FLOW, FLOWS_TO, LEAST_SCALE_PA, RESTS_BELOW, SMALL_FLOW, SUSPECT_PA,
};
use crate::laws::friction::{Pipes, Remembered};
use crate::numeric::lanes::{Apart, F, Mask, Vector};
use crate::numeric::{exps, lns};

/// Steps after which a case is left to the methods for one case: in gardens that arrive at all most take four, hardly one ten.
const MOST_ROUNDS: usize = 20;
/// A misfit of pressures up to this share of the highest may be foreseen to close: what the tangents of pipes are off, a share of 1e-4, leaves less than
/// rounding of it.
const CLOSING_AT: f64 = 1e-8;
/// What is foreseen to be left of it at most, as a share of the highest pressure: rounding.
const CLOSING_TO: f64 = 1e-12;
/// Steps by which the flow of a steep outlet comes near to the pressures around it.
const STEEP_STEPS: usize = 4;
/// Logarithm of the largest growth of a flow in one of them.
const MOST_GROWTH: f64 = 20.0;
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
    /// Which boosters run.
    runs: Vec<Mask<S, W>>,
    /// In which links a regulator holds; nothing where none can.
    held: Vec<Mask<S, W>>,
    pub pressures: Vec<F<S, W>>,
    memory: Vec<Remembered<F<S, W>>>,
    course: Course<S, W>,
    /// Flows after the first half of a step, how they follow the pressures, and which links stay closed.
    next: Vec<(F<S, W>, F<S, W>, Mask<S, W>)>,
    diagonal: Vec<F<S, W>>,
    upper: Vec<F<S, W>>,
    /// Below the diagonal, where a regulator may hold somewhere; else nothing.
    lower: Vec<F<S, W>>,
    right: Vec<F<S, W>>,
    sums: Vec<F<S, W>>,
    wet: Vec<Mask<S, W>>,
}

/// The steps of networks with more than straight lines, squares and pipes.
struct Rich<'s, 'm, S: Vector, const W: usize> {
    state: &'s mut State<'m, S, W>,
    lanes: Mask<S, W>,
}

impl<S: Vector, const W: usize> Apart for Rich<'_, '_, S, W> {
    type Output = Mask<S, W>;

    #[inline(always)]
    fn work(self) -> Mask<S, W> {
        self.state.iterate::<true>(self.lanes)
    }
}

/// A loss in such networks.
struct Lost<'s, 'm, S: Vector, const W: usize> {
    state: &'s mut State<'m, S, W>,
    span: &'s Span,
    flow: F<S, W>,
    live: Mask<S, W>,
}

impl<S: Vector, const W: usize> Apart for Lost<'_, '_, S, W> {
    type Output = (F<S, W>, F<S, W>);

    #[inline(always)]
    fn work(self) -> (F<S, W>, F<S, W>) {
        self.state.lost_here::<true>(self.span, self.flow, self.live)
    }
}

impl<'m, S: Vector, const W: usize> State<'m, S, W> {
    /// The state from which every chain begins.
    pub fn new(model: &'m LaneModel, simd: S) -> Self {
        let zero = F::splat(simd, 0.0);
        let no = Mask::splat(simd, false);
        let splat = |numbers: &[f64]| numbers.iter().map(|&number| F::splat(simd, number)).collect::<Vec<_>>();
        let (links, unknowns) = (model.links.len(), model.structure.unknowns.len());
        let couples = model.structure.pattern.couples();
        let general = |size: usize| if model.regulates() { size } else { 0 };
        State {
            model,
            simd,
            numbers: splat(&model.numbers),
            flows: splat(&model.beginning.flows),
            closed: model.beginning.closed.iter().map(|&closed| Mask::splat(simd, closed)).collect(),
            runs: model.runs.iter().map(|&runs| Mask::splat(simd, runs)).collect(),
            held: vec![no; general(links)],
            pressures: splat(&model.beginning.pressures_pa),
            memory: vec![Remembered::guess(zero, 0.0); model.number_of_pipes],
            course: Course::new(links, model.numbers.len(), simd),
            next: vec![(zero, zero, no); links],
            diagonal: vec![zero; unknowns],
            upper: vec![zero; couples],
            lower: vec![zero; general(couples)],
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
        self.course.forget(lanes);
    }

    /// Puts another number in some lanes; what is remembered of a pipe with other walls is forgotten.
    #[inline(always)]
    pub fn put(&mut self, number: usize, value: F<S, W>, lanes: Mask<S, W>) {
        let before = self.numbers[number];
        self.numbers[number] = lanes.choose(value, before);
        self.course.note(number, self.numbers[number] - before);
        let first_pipe = self.model.of_pipe(0);
        if number >= first_pipe && number < self.model.of_demand(0) && (number - first_pipe).is_multiple_of(PIPE) {
            self.memory[(number - first_pipe) / PIPE].forget(lanes & !value.same(before));
        }
    }

    /// Once all numbers of a case are put: begins from where the flows of these lanes are heading.
    #[inline(always)]
    pub fn look_ahead(&mut self, lanes: Mask<S, W>) {
        self.course.follow(&mut self.flows, lanes);
    }

    /// Starts or stops a booster in some lanes.
    #[inline(always)]
    pub fn run(&mut self, booster: usize, runs: Mask<S, W>, lanes: Mask<S, W>) {
        self.runs[booster] = (runs & lanes) | (self.runs[booster] & !lanes);
    }

    /// Steps until all of these lanes have arrived or their steps run out; gives those that have arrived.
    #[inline(always)]
    pub fn solve(&mut self, lanes: Mask<S, W>) -> Mask<S, W> {
        let simd = self.simd;
        if self.model.is_plain() { self.iterate::<false>(lanes) } else { Rich { state: self, lanes }.with(simd) }
    }

    /// The same; `RICH` says that there may be more than straight lines, squares and pipes. Plain networks are spared the way round the rest.
    #[inline(always)]
    fn iterate<const RICH: bool>(&mut self, lanes: Mask<S, W>) -> Mask<S, W> {
        let mut live = lanes;
        let mut misfit = F::splat(self.simd, 0.0);
        for round in 0..MOST_ROUNDS {
            let settled = self.round::<RICH>(live, &mut misfit);
            if round > 0 {
                live = live & !settled;
                if !live.any() {
                    break;
                }
            }
        }
        lanes & !live
    }

    /// A step; gives the lanes in which pressures closed before it, or will after it, and nodes balance and flows have come to rest after it.
    /// `misfit` is the largest misfit of pressure along a link before the last step, and then before this one.
    #[inline(always)]
    fn round<const RICH: bool>(&mut self, live: Mask<S, W>, misfit: &mut F<S, W>) -> Mask<S, W> {
        let mut scale = F::splat(self.simd, LEAST_SCALE_PA);
        for pressure in &self.pressures {
            scale = pressure.abs().or_greater(scale);
        }
        let before = *misfit;
        let (now, moved, opened) = self.linearize::<RICH>(live);
        *misfit = now;
        let pattern = &self.model.structure.pattern;
        let (diagonal, upper, lower, right) = (&mut self.diagonal, &mut self.upper, &mut self.lower, &mut self.right);
        if RICH && self.model.regulates() {
            pattern.eliminate::<S, W, true>(diagonal, upper, lower, right);
        } else {
            pattern.eliminate::<S, W, false>(diagonal, upper, lower, right);
        }
        for (pressure, change) in self.pressures.iter_mut().zip(&self.right) {
            *pressure = live.choose(*pressure + *change, *pressure);
        }
        // A step leaves of a small misfit at most the share that the one before has left, unless a link has just opened.
        let closing = now.le(CLOSING_AT * scale) & (now * now).le(CLOSING_TO * scale * before) & !opened;
        (now.le(CLOSES_TO * scale) | closing) & self.step::<RICH>(live, moved)
    }

    /// The pressures at the ends of a link.
    #[inline(always)]
    fn ends_pa(&self, link: usize) -> (F<S, W>, F<S, W>) {
        let air = F::splat(self.simd, 0.0);
        let ends = self.model.links[link].ends;
        (ends.from().map_or(air, |node| self.pressures[node]), ends.to().map_or(air, |node| self.pressures[node]))
    }

    /// The pressure inside a link, downstream of a stretch that begins where the link does.
    #[inline(always)]
    pub fn along(&mut self, stretch: usize, arrived: Mask<S, W>) -> F<S, W> {
        let of = &self.model.stretches[stretch];
        let (from_pa, _) = self.ends_pa(of.link);
        let flow = self.flows[of.link];
        let (loss, _) = self.lost_along(stretch, flow, arrived);
        let mut pressure = from_pa - loss;
        for &Held { set, stretch } in &self.model.held[of.held.clone()] {
            let (loss, _) = self.lost_along(stretch, flow, arrived);
            let held = self.numbers[set] - loss;
            pressure = held.lt(pressure).choose(held, pressure);
        }
        pressure
    }

    /// The flow of the link of a stretch.
    #[inline(always)]
    pub fn flow_along(&self, stretch: usize) -> F<S, W> {
        self.flows[self.model.stretches[stretch].link]
    }

    /// Loss of a stretch at a flow, with its slope.
    #[inline(always)]
    fn lost_along(&mut self, stretch: usize, flow: F<S, W>, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        self.lost::<true>(&self.model.stretches[stretch].span, flow, live)
    }

    /// Loss of a link or of some steps of it at a flow, with its slope.
    #[inline(always)]
    fn lost<const RICH: bool>(&mut self, span: &Span, flow: F<S, W>, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        let simd = self.simd;
        if RICH { Lost { state: self, span, flow, live }.with(simd) } else { self.lost_here::<false>(span, flow, live) }
    }

    /// The same within the function that asks for it.
    #[inline(always)]
    fn lost_here<const RICH: bool>(&mut self, span: &Span, flow: F<S, W>, live: Mask<S, W>) -> (F<S, W>, F<S, W>) {
        let first = span.terms;
        let (offset, linear, quadratic) = (self.numbers[first], self.numbers[first + 1], self.numbers[first + 2]);
        let size = flow.abs();
        let mut loss = offset + (linear + quadratic * size) * flow;
        let mut slope = linear + 2.0 * quadratic * size;
        for pipe in span.pipes.clone() {
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
        if RICH {
            for bend in &self.model.bends[span.bends.clone()] {
                let (lost, steep) = bend.loss(&self.numbers, &self.runs, flow);
                loss = loss + lost;
                slope = slope + steep;
            }
        }
        (loss, slope)
    }

    /// Puts the tangents of all links together; gives the largest misfit of pressure along a link, the largest change of a flow, and the lanes in which
    /// a link has opened.
    #[inline(always)]
    fn linearize<const RICH: bool>(&mut self, live: Mask<S, W>) -> (F<S, W>, F<S, W>, Mask<S, W>) {
        let zero = F::splat(self.simd, 0.0);
        let least_slope = F::splat(self.simd, self.model.least_slope);
        self.diagonal.fill(zero);
        self.upper.fill(zero);
        if RICH {
            self.lower.fill(zero);
        }
        for (node, right) in self.right.iter_mut().enumerate() {
            *right = -self.numbers[self.model.of_demand(node)];
        }
        let (mut misfit, mut moved, mut opened) = (zero, zero, Mask::splat(self.simd, false));
        for index in 0..self.model.links.len() {
            let link = &self.model.links[index];
            let (ends, one_way) = (link.ends, link.one_way);
            let (from_pa, to_pa) = self.ends_pa(index);
            let mut flow = self.flows[index];
            if RICH && link.steep {
                flow = self.nearest(index, live);
                moved = (flow - self.flows[index]).abs().or_greater(moved);
            }
            let (loss, mut slope) = self.lost::<RICH>(&link.span, flow, live);
            let mut excess = loss - (from_pa - to_pa);
            let mut open = Mask::splat(self.simd, true);
            let regulates = RICH && link.regulates();
            let (mut held, whole) = (!open, excess);
            if regulates {
                // What is furthest from letting this flow through rules.
                for &Held { set, stretch } in &self.model.held[link.held.clone()] {
                    let (loss, steep) = self.lost_along(stretch, flow, live);
                    let over = loss - self.numbers[set] + to_pa;
                    let rules = excess.lt(over);
                    (excess, slope, held) = (rules.choose(over, excess), rules.choose(steep, slope), held | rules);
                }
            }
            if one_way {
                open = !self.closed[index];
                let closed = self.closed[index] & live;
                if closed.any() {
                    let least = from_pa.abs().or_greater(to_pa.abs()).or_greater(zero.like(LEAST_SCALE_PA));
                    let opens = closed & excess.lt(-(CLOSES_TO * least));
                    if opens.any() {
                        // By the chord from no flow to about that of the pressures: the tangent at rest is so flat that a step would overshoot.
                        let (mut push, mut rough) = (-whole, self.rough_flow(&link.span, -whole, loss, opens));
                        if regulates {
                            // Of the link wide open and what regulators hold the one that lets least through.
                            held = held & !opens;
                            for &Held { set, stretch } in &self.model.held[link.held.clone()] {
                                let span = &self.model.stretches[stretch].span;
                                let (at_rest, _) = self.lost::<RICH>(span, flow, opens);
                                let own_push = self.numbers[set] - at_rest - to_pa;
                                let own = self.rough_flow(span, own_push, at_rest, opens);
                                let less = opens & own.lt(rough);
                                (push, rough, held) = (less.choose(own_push, push), less.choose(own, rough), held | less);
                            }
                            excess = opens.choose(-push, excess);
                        }
                        slope = opens.choose(push / rough, slope);
                        (open, opened) = (open | opens, opened | opens);
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
            let mut of_from = conductance;
            if regulates {
                // A link whose regulator holds follows the pressure downstream alone.
                self.held[index] = (held & live) | (self.held[index] & !live);
                of_from = held.choose(zero, conductance);
            }
            // What flows round a ring leaves its one node as it came.
            if ends.is_ring() {
                continue;
            }
            if let Some(from) = ends.from() {
                self.diagonal[from] = self.diagonal[from] + of_from;
            }
            if let Some(to) = ends.to() {
                self.diagonal[to] = self.diagonal[to] + conductance;
            }
            if let Some(slot) = ends.slot() {
                // The balance of an end stands in its row, what it takes from the pressure of the other in the column of that.
                let (mut above, mut below) = (conductance, of_from);
                if RICH && ends.from() > ends.to() {
                    (above, below) = (below, above);
                }
                self.upper[slot] = self.upper[slot] - above;
                if RICH && self.model.regulates() {
                    self.lower[slot] = self.lower[slot] - below;
                }
            }
        }
        (misfit, moved, opened)
    }

    /// About the flow that a loss above that at rest drives through some steps, as if loss went with the square of flow.
    #[inline(always)]
    fn rough_flow(&mut self, span: &Span, push: F<S, W>, at_rest: F<S, W>, lanes: Mask<S, W>) -> F<S, W> {
        let mut flow = push.like(FIRST_FLOW);
        for _ in 0..2 {
            // Links open rarely: inlined here too, friction would be compiled once more for plain networks.
            let (loss, _) = self.lost::<true>(span, flow, lanes);
            flow = flow * (push / (loss - at_rest)).sqrt();
        }
        flow
    }

    /// The flow of a link near the last one and the pressures at its ends, which need not belong together, in the lanes whose law rises so
    /// steeply that its tangent misleads; in the others the last one.
    #[inline(always)]
    fn nearest(&mut self, link: usize, live: Mask<S, W>) -> F<S, W> {
        let of = &self.model.links[link];
        let last = self.flows[link];
        let flows = live & !self.closed[link] & last.gt(last.like(0.0));
        let mut steep = flows & !flows;
        for bend in &self.model.bends[of.span.bends.clone()] {
            steep = steep | bend.is_steep(&self.numbers, flows);
        }
        if !steep.any() {
            return last;
        }
        let (from_pa, to_pa) = self.ends_pa(link);
        let mut nearest = self.near(&of.span, from_pa - to_pa, last, steep);
        for &Held { set, stretch } in &self.model.held[of.held.clone()] {
            let held = self.near(&self.model.stretches[stretch].span, self.numbers[set] - to_pa, last, steep);
            nearest = held.lt(nearest).choose(held, nearest);
        }
        steep.choose(nearest, last)
    }

    /// Where a line of slope -[`FEED_SLOPE`] through a flow and a push meets the law of some steps.
    ///
    /// The logarithm of a power over that of the flow is straight, and steps go along the tangents of these.
    #[inline(always)]
    fn near(&mut self, span: &Span, push: F<S, W>, last: F<S, W>, mut lanes: Mask<S, W>) -> F<S, W> {
        let zero = push.like(0.0);
        let at_rest = self.numbers[span.terms];
        let target = push - at_rest + FEED_SLOPE * last;
        let mut flow = last.or_greater(last.like(SMALL_FLOW));
        for _ in 0..STEEP_STEPS {
            let (loss, slope) = self.lost::<true>(span, flow, lanes);
            let lost = (loss - at_rest) + FEED_SLOPE * flow;
            lanes = lanes & target.gt(zero) & lost.gt(zero);
            let least = zero.like(f64::MIN_POSITIVE);
            let growth = lns(target.or_greater(least)) - lns(lost.or_greater(least));
            let step = growth * lost / (flow * (slope + FEED_SLOPE));
            let most = zero.like(MOST_GROWTH);
            let step = -(-step.or_greater(-most)).or_greater(-most);
            flow = lanes.choose(flow * exps(step), flow);
        }
        flow
    }

    /// The second half of a step: flows follow the pressures, and links that would run backward close. Gives the lanes in which nodes balance
    /// and flows have come to rest.
    #[inline(always)]
    fn step<const RICH: bool>(&mut self, live: Mask<S, W>, mut moved: F<S, W>) -> Mask<S, W> {
        let zero = F::splat(self.simd, 0.0);
        for (node, sum) in self.sums.iter_mut().enumerate() {
            *sum = self.numbers[self.model.of_demand(node)];
        }
        let (mut largest, mut total) = (zero, zero);
        let mut shuts_any = Mask::splat(self.simd, false);
        for (index, link) in self.model.links.iter().enumerate() {
            let (from, to) = (link.ends.from(), link.ends.to());
            let (next, conductance, shut) = self.next[index];
            let regulates = RICH && link.regulates();
            let mut from_change = from.map_or(zero, |node| self.right[node]);
            if regulates {
                from_change = self.held[index].choose(zero, from_change);
            }
            let to_change = to.map_or(zero, |node| self.right[node]);
            let change = conductance * (from_change - to_change);
            moved = change.abs().or_greater(moved);
            let mut flow = next + change;
            if link.one_way {
                let mut turned = flow.lt(zero.like(CLOSES_BELOW)) & !shut;
                if regulates {
                    turned = turned & !self.held[index];
                }
                // A zero flow leaves it open: what is downstream may be about to open too.
                let shuts = turned & flow.abs().gt(zero.like(CLOSES_BELOW));
                if RICH {
                    shuts_any = shuts_any | shuts;
                }
                flow = turned.choose(zero, flow);
                let closed = shut | shuts;
                self.closed[index] = (live & closed) | (self.closed[index] & !live);
            }
            flow = live.choose(flow, self.flows[index]);
            self.flows[index] = flow;
            if regulates {
                continue;
            }
            largest = flow.abs().or_greater(largest);
            total = total + flow;
            if let Some(from) = from {
                self.sums[from] = self.sums[from] + flow;
            }
            if let Some(to) = to {
                self.sums[to] = self.sums[to] - flow;
            }
        }
        if RICH {
            for index in 0..self.model.links.len() {
                let link = &self.model.links[index];
                if !link.regulates() {
                    continue;
                }
                // A regulator closes last: what drove the water back through it may just have closed itself.
                let flow = self.flows[index];
                let turned = live & self.held[index] & !self.closed[index] & flow.lt(zero.like(CLOSES_BELOW));
                self.closed[index] = self.closed[index] | (turned & flow.lt(zero.like(-CLOSES_BELOW)) & !shuts_any);
                let flow = turned.choose(zero, flow);
                self.flows[index] = flow;
                largest = flow.abs().or_greater(largest);
                total = total + flow;
                if let Some(from) = link.ends.from() {
                    self.sums[from] = self.sums[from] + flow;
                }
                if let Some(to) = link.ends.to() {
                    self.sums[to] = self.sums[to] - flow;
                }
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
            for gap in link.gaps.clone() {
                let pressure = self.along(self.model.gaps[gap], arrived);
                fine = fine & self.is_whole(pressure);
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

    /// The lanes in which water stands without doubt at a pressure downstream of a stretch in which nothing flows.
    #[inline(always)]
    pub fn stands(&self, stretch: usize, stands: F<S, W>) -> Mask<S, W> {
        let link = self.model.stretches[stretch].link;
        let whole = self.is_whole(self.ends_pa(link).0) & self.is_whole(stands);
        match self.model.links[link].crests {
            Some(crests) => whole & self.numbers[crests].same(stands.like(f64::NEG_INFINITY)),
            None => whole,
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
                    // Nothing comes back through a regulator that holds.
                    let back = if link.regulates() { passes & !self.held[index] } else { passes };
                    let new = back & to_wet & !self.wet[from] & flow.le(flow.like(RESTS_BELOW));
                    self.wet[from] = self.wet[from] | new;
                    spreads |= new.any();
                }
            }
        }
        self.wet.iter().fold(yes, |all, wet| all & *wet)
    }
}
