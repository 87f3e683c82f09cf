//! The loss of a link: the laws of its parts added up into one rising curve of loss over flow.
//!
//! Knows laws, not parts. Flow is positive from the `from` end to the `to` end.

use super::structure::Link;
use crate::laws::friction::{Memory, PipeFriction};
use crate::laws::hazen_williams::HazenWilliams;
use crate::laws::outlet_line::OutletLine;
use crate::laws::vessel::Store;
use crate::parts::{Curve, FlowTable, Law};
use smallvec::SmallVec;
use std::sync::Arc;

/// Laws that are rare enough to be kept apart.
#[derive(Clone, Debug)]
enum Extra {
    /// A running booster that pushes forward or, turned round, backward.
    Booster { curve: Arc<Curve>, forward: bool },
    /// Friction by Hazen-Williams.
    HazenWilliams(HazenWilliams),
    /// An outlet by points of pressure and flow.
    Tabulated(Arc<FlowTable>),
    /// A soaker.
    Soaker(Arc<OutletLine>),
    /// An outlet with an exponent of its own: P = (q / coefficient)^(1 / exponent).
    Power { coefficient: f64, exponent: f64 },
    /// Water in store that flows out forward or, turned round, in.
    Stored { store: Arc<Store>, from_m3: f64, span_s: f64, forward: bool },
}

impl Extra {
    fn is_steep(&self) -> bool {
        match self {
            Extra::Power { .. } | Extra::Tabulated(_) | Extra::Soaker(_) => true,
            Extra::Stored { store, .. } => store.has_edges(),
            Extra::Booster { .. } | Extra::HazenWilliams(_) => false,
        }
    }
}

/// A stretch of a link with its laws added up: h(q) = offset + linear q + quadratic q|q| + pipes + extras.
#[derive(Clone, Debug, Default)]
struct Stretch {
    offset_pa: f64,
    linear: f64,
    quadratic: f64,
    first_pipe: usize,
    first_extra: usize,
}

/// The loss of a link.
#[derive(Clone, Debug, Default)]
pub struct LinkLaw {
    whole: Stretch,
    /// What lies behind each of its regulators, and its setting.
    held: Vec<(Stretch, f64)>,
    /// Its pipes, each with what the last evaluation left behind.
    pipes: SmallVec<[(PipeFriction, Memory); 1]>,
    extras: Vec<Extra>,
    /// Flow cannot be negative.
    pub one_way: bool,
    /// A law of it bends so much that its tangents mislead far from the answer: a power of its own, a store with an edge.
    pub steep: bool,
    /// It begins or ends in a store.
    stored: bool,
    /// Nothing can flow at all: its one-way parts oppose each other, or a part is shut.
    pub blocked: bool,
}

/// Loss in Pa and slope in Pa s/m3 at one flow.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    pub loss_pa: f64,
    pub slope: f64,
}

/// The flow between two pressures.
#[derive(Clone, Copy, Debug)]
pub struct Flow {
    pub flow_m3_per_s: f64,
    /// The regulator of the link that holds its setting.
    pub holding: Option<usize>,
}

/// Flows below this are taken for nothing when a start value is needed, m3/s.
const SMALL_FLOW: f64 = 1e-7;
/// How pressure falls with flow in what feeds an outlet, roughly: 100 kPa at 0.1 L/s. Pa s/m3.
const FEED_SLOPE: f64 = 1e9;
/// Slope that stands in for none, so that a step can be taken; it does not touch the answer. Pa s/m3.
pub const LEAST_SLOPE: f64 = 1e3;

impl LinkLaw {
    /// Adds up the laws of a link. `runs` tells for a place whether its booster runs.
    pub fn rebuild(&mut self, link: &Link, laws: &[Law], runs: &[bool]) {
        let mut number_of_pipes = 0;
        self.extras.clear();
        self.whole = Stretch::default();
        self.held.clear();
        // The structure has turned the link so that its gates point forward where they can: one that points backward stands
        // against another, or before an outlet, and nothing flows.
        let (mut forward_only, mut backward_only, mut shut) = (false, false, false);
        for step in &link.steps {
            let sign = if step.forward { 1.0 } else { -1.0 };
            let mut add = |linear: f64, quadratic: f64, offset: f64| {
                self.whole.linear += linear;
                self.whole.quadratic += quadratic;
                self.whole.offset_pa += offset;
                for (stretch, _) in &mut self.held {
                    stretch.linear += linear;
                    stretch.quadratic += quadratic;
                    stretch.offset_pa += offset;
                }
            };
            let mut only = |forward: bool| {
                if forward {
                    forward_only = true;
                } else {
                    backward_only = true;
                }
            };
            match &laws[step.place] {
                Law::Free => {}
                Law::Friction { pipe, resistance } => {
                    match self.pipes.get_mut(number_of_pipes) {
                        Some((known, memory)) => {
                            if !known.has_the_walls_of(pipe) {
                                memory.forget();
                            }
                            *known = *pipe;
                        }
                        None => self.pipes.push((*pipe, Memory::default())),
                    }
                    number_of_pipes += 1;
                    add(0.0, *resistance, 0.0);
                }
                Law::HazenWilliams { pipe, resistance } => {
                    self.extras.push(Extra::HazenWilliams(*pipe));
                    add(0.0, *resistance, 0.0);
                }
                Law::Quadratic { resistance } => add(0.0, *resistance, 0.0),
                Law::Climb { rise_pa } => add(0.0, 0.0, sign * rise_pa),
                Law::OneWay { resistance, cracking_pa } => {
                    add(0.0, *resistance, sign * cracking_pa);
                    only(step.forward);
                }
                Law::Regulator { resistance, set_pa } => {
                    add(0.0, *resistance, 0.0);
                    only(step.forward);
                    if step.forward {
                        let behind =
                            Stretch { first_pipe: number_of_pipes, first_extra: self.extras.len(), ..Stretch::default() };
                        self.held.push((behind, *set_pa));
                    }
                }
                Law::Booster { curve } => {
                    if runs[step.place] {
                        self.extras.push(Extra::Booster { curve: Arc::clone(curve), forward: step.forward });
                    }
                }
                Law::Source { pressure_pa, resistance } => add(0.0, *resistance, -sign * pressure_pa),
                Law::Orifice { resistance } => {
                    add(0.0, *resistance, 0.0);
                    only(true);
                }
                Law::RegulatedOrifice { resistance, set_pa } => {
                    let (first_pipe, first_extra) = (number_of_pipes, self.extras.len());
                    add(0.0, *resistance, 0.0);
                    let behind = Stretch { first_pipe, first_extra, quadratic: *resistance, ..Stretch::default() };
                    self.held.push((behind, *set_pa));
                    only(true);
                }
                Law::Tabulated { table } => {
                    self.extras.push(Extra::Tabulated(Arc::clone(table)));
                    only(true);
                }
                Law::Soaker { line } => {
                    self.extras.push(Extra::Soaker(Arc::clone(line)));
                    only(true);
                }
                Law::Power { coefficient, exponent } => {
                    self.extras.push(Extra::Power { coefficient: *coefficient, exponent: *exponent });
                    only(true);
                }
                Law::Relief { set_pa, resistance } => {
                    add(*resistance, 0.0, *set_pa);
                    only(true);
                }
                Law::Stored { store, from_m3, span_s } => self.extras.push(Extra::Stored {
                    store: Arc::clone(store),
                    from_m3: *from_m3,
                    span_s: *span_s,
                    forward: step.forward,
                }),
                Law::Demand { .. } | Law::UpTo { .. } | Law::Shut => shut = true,
            }
        }
        self.pipes.truncate(number_of_pipes);
        self.one_way = forward_only;
        self.blocked = shut || backward_only;
        self.steep = self.extras.iter().any(Extra::is_steep);
        self.stored = self.extras.iter().any(|extra| matches!(extra, Extra::Stored { .. }));
    }

    /// Forgets what earlier evaluations left behind.
    pub fn forget(&mut self) {
        self.pipes.iter_mut().for_each(|(_, memory)| *memory = Memory::default());
    }

    /// True when a regulator sits in the link.
    pub fn regulates(&self) -> bool {
        !self.held.is_empty()
    }

    /// True when what rules the flow, the link wide open or the stretch behind the regulator that holds, loses nothing more
    /// with more flow.
    pub fn is_rigid(&self, holding: Option<usize>, flow: f64) -> bool {
        let stretch = holding.map_or(&self.whole, |regulator| &self.held[regulator].0);
        let level = |extra: &Extra| match extra {
            Extra::Booster { curve, forward } => curve.rise(if *forward { flow } else { -flow }).1 == 0.0,
            _ => false,
        };
        stretch.linear == 0.0
            && stretch.quadratic == 0.0
            && self.pipes.len() <= stretch.first_pipe
            && self.extras[stretch.first_extra..].iter().all(level)
    }

    /// The pressure at the far end at which the last drop comes through.
    pub fn fills_to(&mut self, from_pa: f64) -> f64 {
        let open_pa = from_pa - self.open(0.0).loss_pa;
        (0..self.held.len()).fold(open_pa, |least, regulator| least.min(-self.held(regulator, 0.0).loss_pa))
    }

    /// Loss of the whole link with its regulators wide open.
    #[inline]
    pub fn open(&mut self, flow: f64) -> Point {
        evaluate(&self.whole, &mut self.pipes, &self.extras, flow)
    }

    /// Loss behind one of the regulators less its setting: what the pressure at the far end must make up for.
    #[inline]
    pub fn held(&mut self, regulator: usize, flow: f64) -> Point {
        let (stretch, set_pa) = &self.held[regulator];
        let point = evaluate(stretch, &mut self.pipes, &self.extras, flow);
        Point { loss_pa: point.loss_pa - set_pa, ..point }
    }

    /// The law that rules at a flow between two pressures: the one that is furthest from letting this flow through.
    ///
    /// Gives the regulator that holds, if one does, and by how much the flow is too large for it, with the slope.
    #[inline]
    pub fn ruler(&mut self, from_pa: f64, to_pa: f64, flow: f64) -> (Option<usize>, Point) {
        let open = self.open(flow);
        let mut rules = (None, Point { loss_pa: open.loss_pa - (from_pa - to_pa), ..open });
        for regulator in 0..self.held.len() {
            let held = self.held(regulator, flow);
            if held.loss_pa + to_pa > rules.1.loss_pa {
                rules = (Some(regulator), Point { loss_pa: held.loss_pa + to_pa, ..held });
            }
        }
        rules
    }

    /// By how much a flow is too large for one of the laws of the link: that of a regulator, or the link wide open.
    pub fn excess(&mut self, regulator: Option<usize>, from_pa: f64, to_pa: f64, flow: f64) -> Point {
        match regulator {
            None => {
                let open = self.open(flow);
                Point { loss_pa: open.loss_pa - (from_pa - to_pa), ..open }
            }
            Some(regulator) => {
                let held = self.held(regulator, flow);
                Point { loss_pa: held.loss_pa + to_pa, ..held }
            }
        }
    }

    /// The flow between two pressures, found by Newton's method inside a bracket; `start` is a guess.
    ///
    /// Links without any resistance get the least slope, so that there is always one answer.
    pub fn flow_between(&mut self, from_pa: f64, to_pa: f64, start: f64) -> Flow {
        if self.blocked {
            return Flow { flow_m3_per_s: 0.0, holding: None };
        }
        let mut found = Flow { flow_m3_per_s: self.open_flow(from_pa, to_pa, start), holding: None };
        for regulator in 0..self.held.len() {
            let held = root(|flow| self.held(regulator, flow).softened(flow), -to_pa, start, true);
            if held < found.flow_m3_per_s {
                found = Flow { flow_m3_per_s: held, holding: Some(regulator) };
            }
        }
        found
    }

    /// The point of the law that lies nearest to a flow and the pressures at the ends, which need not belong together.
    ///
    /// Where a law rises steeply its tangent misleads, be it taken at the flow or at the pressures. Between the two lies
    /// the point where a line of slope -[`FEED_SLOPE`] through flow and pressures meets the law.
    pub fn nearest(&mut self, from_pa: f64, to_pa: f64, flow: f64) -> f64 {
        let one_way = self.one_way;
        let tied = |flow: f64| {
            let (_, excess) = self.ruler(from_pa, to_pa, flow);
            Point { loss_pa: excess.loss_pa + FEED_SLOPE * flow, slope: excess.slope + FEED_SLOPE }
        };
        root(tied, FEED_SLOPE * flow, flow, one_way)
    }

    /// Roughly the flow that a loss drives through the link wide open, as if loss went with the square of flow.
    pub fn rough_flow(&mut self, loss_pa: f64, start: f64) -> f64 {
        let at_rest = self.open(0.0).loss_pa;
        let drop = loss_pa - at_rest;
        let share = drop / (self.open(start).loss_pa - at_rest);
        if drop > 0.0 && share.is_finite() && share > 0.0 { start * share.sqrt() } else { 0.0 }
    }

    /// The slope from no flow to the flow at which the losses that go with its square make up for a misfit, Pa s/m3.
    pub fn chord_slope(&self, misfit_pa: f64) -> f64 {
        (self.whole.quadratic * misfit_pa.abs()).sqrt()
    }

    /// Derivative of the flow to the pressure difference at a flow, wide open.
    pub fn open_conductance(&mut self, flow: f64) -> f64 {
        1.0 / self.open(flow).softened(flow).slope
    }

    /// Derivative of the flow to the fall of the pressure behind a regulator that holds.
    pub fn held_conductance(&mut self, regulator: usize, flow: f64) -> f64 {
        1.0 / self.held(regulator, flow).softened(flow).slope
    }

    /// The flow between two pressures with any regulator wide open.
    pub fn open_flow(&mut self, from_pa: f64, to_pa: f64, start: f64) -> f64 {
        let one_way = self.one_way;
        if self.stored {
            // A store has a slope of its own, be it ever so small.
            return root_above(|flow| self.open(flow), from_pa - to_pa, start, one_way, f64::MIN_POSITIVE);
        }
        root(|flow| self.open(flow).softened(flow), from_pa - to_pa, start, one_way)
    }
}

impl Point {
    /// The point with the least slope added where the link has hardly any of its own.
    fn softened(self, flow: f64) -> Point {
        if self.slope >= LEAST_SLOPE {
            return self;
        }
        Point { loss_pa: self.loss_pa + LEAST_SLOPE * flow, slope: self.slope + LEAST_SLOPE }
    }
}

#[inline]
fn evaluate(stretch: &Stretch, pipes: &mut [(PipeFriction, Memory)], extras: &[Extra], flow: f64) -> Point {
    let size = flow.abs();
    let mut loss = stretch.offset_pa + (stretch.linear + stretch.quadratic * size) * flow;
    let mut slope = stretch.linear + 2.0 * stretch.quadratic * size;
    for (pipe, memory) in pipes.iter_mut().skip(stretch.first_pipe) {
        let pipe = pipe.loss_near(flow, memory);
        loss += pipe.loss_pa;
        slope += pipe.slope_pa_s_per_m3;
    }
    for extra in extras.iter().skip(stretch.first_extra) {
        match extra {
            Extra::Booster { curve, forward: true } => {
                let (rise, rise_slope) = curve.rise(flow);
                loss -= rise;
                slope -= rise_slope;
            }
            Extra::Booster { curve, forward: false } => {
                let (rise, rise_slope) = curve.rise(-flow);
                loss += rise;
                slope -= rise_slope;
            }
            Extra::HazenWilliams(pipe) => {
                let pipe = pipe.loss(flow);
                loss += pipe.loss_pa;
                slope += pipe.slope_pa_s_per_m3;
            }
            Extra::Tabulated(table) => {
                let (pressure, pressure_slope) = table.pressure(flow);
                loss += pressure;
                slope += pressure_slope;
            }
            Extra::Soaker(line) => {
                let pressure = line.pressure(flow);
                loss += pressure.loss_pa;
                slope += pressure.slope_pa_s_per_m3;
            }
            Extra::Power { coefficient, exponent } => {
                let pressure = (size / coefficient).powf(1.0 / exponent);
                // For a flow that a step has thrown below zero the law goes on as it came.
                loss += pressure.copysign(flow);
                slope += if size > 0.0 { pressure / (exponent * size) } else { 0.0 };
            }
            Extra::Stored { store, from_m3, span_s, forward } => {
                let sign = if *forward { 1.0 } else { -1.0 };
                let stand = store.stand(from_m3 - span_s * sign * flow, *span_s);
                loss -= sign * stand.pressure_pa;
                slope += span_s * stand.pa_per_m3;
            }
        }
    }
    Point { loss_pa: loss, slope }
}

/// Steps in which a root is found at most.
const MOST_STEPS: usize = 300;
/// Steps after which a bracket is narrowed by ratios: Newton's method halves a guess that is far too large, no more.
const NEWTON_STEPS: usize = 25;

/// The flow at which a rising curve reaches `target`; zero where a one-way curve starts above it, not a number where it is
/// not found.
pub fn root(curve: impl FnMut(f64) -> Point, target: f64, start: f64, one_way: bool) -> f64 {
    root_above(curve, target, start, one_way, LEAST_SLOPE)
}

/// As [`root`], by steps with at least a slope.
fn root_above(mut curve: impl FnMut(f64) -> Point, target: f64, start: f64, one_way: bool, least_slope: f64) -> f64 {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    if one_way {
        if curve(0.0).loss_pa >= target {
            return 0.0;
        }
        low = 0.0;
    }
    let mut flow = if one_way {
        start.max(SMALL_FLOW)
    } else if start == 0.0 {
        SMALL_FLOW
    } else {
        start
    };
    for steps in 0..MOST_STEPS {
        let point = curve(flow);
        let excess = point.loss_pa - target;
        if excess == 0.0 {
            return flow;
        }
        if excess > 0.0 {
            high = high.min(flow);
        } else {
            low = low.max(flow);
        }
        let mut next = flow - excess / point.slope.max(least_slope);
        if steps > NEWTON_STEPS && steps % 2 == 0 {
            next = by_ratio(low, high);
        }
        if !(next > low && next < high) {
            next = match (low.is_finite(), high.is_finite()) {
                (true, true) => 0.5 * (low + high),
                (true, false) => 2.0 * low.abs() + low + SMALL_FLOW,
                (false, true) => -2.0 * high.abs() + high - SMALL_FLOW,
                (false, false) => 0.0,
            };
        }
        let step = (next - flow).abs();
        flow = next;
        if step <= 1e-15 * flow.abs() || high - low <= 1e-18 {
            return flow;
        }
    }
    f64::NAN
}

/// A flow between two by their ratio, where both have one sign; else a thousandth of the one that is far from nothing.
fn by_ratio(low: f64, high: f64) -> f64 {
    match (low > 0.0, high < 0.0) {
        (true, _) => low.sqrt() * high.sqrt(),
        (_, true) => -((-low).sqrt() * (-high).sqrt()),
        _ if high.is_finite() && high > SMALL_FLOW => 1e-3 * high,
        _ if low.is_finite() && low < -SMALL_FLOW => 1e-3 * low,
        _ => 0.5 * (low + high),
    }
}
