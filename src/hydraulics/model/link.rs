//! The loss of a link: the laws of its parts added up into one rising curve of loss over flow.
//!
//! Knows laws, not parts. Flow is positive from the `from` end to the `to` end.

use super::structure::Link;
use crate::hydraulics::tolerances::{
    FEED_SLOPE, FINEST_ROOT, LEAST_SLOPE, LINKS_GIVE_WAY_PA, MOST_ROOT_STEPS, NEAR_LAW, NEWTON_ROOT_STEPS, ROOT_ROUNDING,
    ROUNDING_PA, SMALL_FLOW,
};
use crate::laws::friction::{Loss, Memory, PipeFriction};
use crate::laws::vessel::Store;
use crate::parts::{Curved, Law};
use smallvec::SmallVec;
use std::ops::Range;
use std::sync::Arc;

/// A term that is rare enough to be kept apart, of a part that points forward or is turned round.
#[derive(Clone, Debug)]
struct Extra {
    curved: Curved,
    forward: bool,
}

impl Extra {
    /// Loss and slope at a flow in the direction of the link.
    #[inline]
    fn loss(&self, flow: f64) -> Loss {
        if self.forward {
            return self.curved.loss(flow);
        }
        let own = self.curved.loss(-flow);
        Loss { loss_pa: -own.loss_pa, ..own }
    }
}

/// A stretch of a link with its laws added up: h(q) = offset + linear q + quadratic q|q| + pipes + extras.
#[derive(Clone, Debug)]
struct Stretch {
    offset_pa: f64,
    linear: f64,
    quadratic: f64,
    /// Few bytes a stretch keep the links of a large garden together.
    first_pipe: u32,
    first_extra: u32,
    /// The first pipe and extra that it does not hold; far above all for a stretch that goes on to the end.
    end_pipe: u32,
    end_extra: u32,
}

impl Stretch {
    /// A stretch that begins after n pipes and extras and goes on to the end of the link.
    fn after(first_pipe: usize, first_extra: usize) -> Stretch {
        let (first_pipe, first_extra) = (first_pipe as u32, first_extra as u32);
        let (end_pipe, end_extra) = (u32::MAX, u32::MAX);
        Stretch { offset_pa: 0.0, linear: 0.0, quadratic: 0.0, first_pipe, first_extra, end_pipe, end_extra }
    }

    /// The same up to n pipes and extras.
    fn up_to(&self, end_pipe: usize, end_extra: usize) -> Stretch {
        Stretch { end_pipe: end_pipe as u32, end_extra: end_extra as u32, ..self.clone() }
    }

    /// The pipes that it holds, of all.
    #[inline]
    fn pipes(&self, all: usize) -> Range<usize> {
        self.first_pipe as usize..(self.end_pipe as usize).min(all)
    }

    /// The extras that it holds, of all.
    #[inline]
    fn extras(&self, all: usize) -> Range<usize> {
        self.first_extra as usize..(self.end_extra as usize).min(all)
    }

    fn add(&mut self, linear: f64, quadratic: f64, offset_pa: f64) {
        self.linear += linear;
        self.quadratic += quadratic;
        self.offset_pa += offset_pa;
    }
}

/// A place of a link where the water column may separate: downstream the pressure rises again in the direction of the flow, because a pump
/// pulls there or the way goes downhill.
#[derive(Clone, Debug)]
struct Gap {
    /// The step that the water enters there.
    step: usize,
    /// Whether it parts water that flows forward; else water that flows backward.
    forward: bool,
    /// The regulator that holds upstream of it; none where the pressure at the end of the link drives the water to it.
    regulator: Option<usize>,
    /// What lies upstream of it: from the `from` end or from downstream of the regulator up to the step, or from downstream of the step to the
    /// `to` end.
    upstream: Stretch,
}

/// What rules the flow of a link in place of its whole loss.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// A regulator or drive of the link holds its setting: only what lies downstream of it counts.
    Regulator(usize),
    /// Water parts in the link: only what lies upstream of that place counts, and where a regulator holds on the way there, only
    /// what lies between the two.
    Parted(usize),
}

/// The ends of a link whose pressures its flow follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Follows {
    Both,
    From,
    To,
    /// A regulator holds upstream of a place where water parts: nothing outside the two moves the flow.
    Neither,
}

impl Follows {
    /// Whether the pressure at the `from` end counts.
    pub fn from(self) -> bool {
        matches!(self, Follows::Both | Follows::From)
    }

    /// Whether the pressure at the `to` end counts.
    pub fn to(self) -> bool {
        matches!(self, Follows::Both | Follows::To)
    }
}

/// The loss of a link.
#[derive(Clone, Debug)]
pub struct LinkLaw {
    whole: Stretch,
    /// What is downstream of each of its regulators, and its setting; a booster with a drive counts as one.
    held: Vec<(Stretch, f64)>,
    /// Its pipes, each with what the last evaluation left.
    pipes: SmallVec<[(PipeFriction, Memory); 1]>,
    extras: Vec<Extra>,
    /// Where its water may part.
    gaps: Vec<Gap>,
    /// Gauge pressure at which water parts, Pa.
    pub vapor_pa: f64,
    /// Places where water may part are looked at; without it the link is taken to hold any suction.
    pub parts: bool,
    /// Flow cannot be negative.
    pub one_way: bool,
    /// A law of it bends enough that its tangents mislead far from the answer: a power of its own, a store with an edge.
    pub steep: bool,
    /// It begins or ends in a store.
    stored: bool,
    /// Nothing can flow at all: its one-way parts oppose each other, or a part is closed.
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
    /// What rules it, if not the whole loss.
    pub holding: Option<Rule>,
}

impl LinkLaw {
    /// A link whose water parts at this gauge pressure; its laws are added up by [`LinkLaw::rebuild`].
    pub fn new(vapor_pa: f64) -> LinkLaw {
        LinkLaw {
            whole: Stretch::after(0, 0),
            held: Vec::new(),
            pipes: SmallVec::new(),
            extras: Vec::new(),
            gaps: Vec::new(),
            vapor_pa,
            parts: false,
            stored: false,
            one_way: false,
            steep: false,
            blocked: false,
        }
    }

    /// Adds up the laws of a link. `runs` says for a place whether its booster runs.
    pub fn rebuild(&mut self, link: &Link, laws: &[Law], runs: &[bool]) {
        let mut number_of_pipes = 0;
        self.extras.clear();
        self.whole = Stretch::after(0, 0);
        self.held.clear();
        self.gaps.clear();
        // The structure has turned the link so that its gates point forward where they can: one that points backward stands
        // against another, or before an outlet, and nothing flows.
        let (mut forward_only, mut backward_only, mut shut) = (false, false, false);
        for (index, step) in link.steps.iter().enumerate() {
            let raises = raises(&laws[step.place], runs[step.place], step.forward);
            if raises == Some(true) {
                let up_to_here = |stretch: &Stretch| stretch.up_to(number_of_pipes, self.extras.len());
                let gap = |regulator, upstream| Gap { step: index, forward: true, regulator, upstream };
                self.gaps.push(gap(None, up_to_here(&self.whole)));
                let held = self.held.iter().enumerate();
                self.gaps.extend(held.map(|(regulator, (downstream, _))| gap(Some(regulator), up_to_here(downstream))));
            }
            let mut add = |linear: f64, quadratic: f64, offset: f64| {
                self.whole.add(linear, quadratic, offset);
                self.held.iter_mut().for_each(|(stretch, _)| stretch.add(linear, quadratic, offset));
                let backward = self.gaps.iter_mut().filter(|gap| !gap.forward);
                backward.for_each(|gap| gap.upstream.add(linear, quadratic, offset));
            };
            let law = &laws[step.place];
            let Some(terms) = law.terms(runs[step.place]) else {
                shut = true;
                continue;
            };
            // An outlet ends its link, whichever way that was turned.
            let forward = step.forward || law.discharges();
            add(terms.linear, terms.quadratic, if forward { terms.offset_pa } else { -terms.offset_pa });
            forward_only |= law.is_one_way() && forward;
            backward_only |= law.is_one_way() && !forward;
            match terms.curved {
                None => {}
                Some(Curved::Pipe(pipe)) => {
                    match self.pipes.get_mut(number_of_pipes) {
                        Some((known, memory)) => {
                            if !known.has_the_walls_of(&pipe) {
                                memory.forget();
                            }
                            *known = pipe;
                        }
                        None => self.pipes.push((pipe, Memory::default())),
                    }
                    number_of_pipes += 1;
                }
                Some(curved) => self.extras.push(Extra { curved, forward }),
            }
            if let Some(set_pa) = law.holds_pa().filter(|_| forward) {
                // The nozzle of a head with a regulator inside is downstream of that, what a booster adds is upstream of what its drive holds.
                let quadratic = if law.discharges() { terms.quadratic } else { 0.0 };
                self.held.push((Stretch { quadratic, ..Stretch::after(number_of_pipes, self.extras.len()) }, set_pa));
            }
            if raises == Some(false) {
                let upstream = Stretch::after(number_of_pipes, self.extras.len());
                self.gaps.push(Gap { step: index, forward: false, regulator: None, upstream });
            }
        }
        if forward_only {
            self.gaps.retain(|gap| gap.forward);
        }
        self.pipes.truncate(number_of_pipes);
        self.one_way = forward_only;
        self.blocked = shut || backward_only;
        self.steep = self.extras.iter().any(|extra| extra.curved.is_steep());
        self.stored = self.extras.iter().any(|extra| matches!(extra.curved, Curved::Stored { .. }));
    }

    /// Gives a store of the link another content and span.
    pub fn refill(&mut self, of: &Arc<Store>, new_from_m3: f64, new_span_s: f64) {
        for extra in &mut self.extras {
            if let Curved::Stored { store, from_m3, span_s } = &mut extra.curved
                && Arc::ptr_eq(store, of)
            {
                (*from_m3, *span_s) = (new_from_m3, new_span_s);
            }
        }
    }

    /// True where its loss goes with the square of the flow, more or less, and nothing but its loss rules it.
    pub fn goes_by_square(&self) -> bool {
        self.held.is_empty() && self.whole.linear == 0.0 && !self.steep && !self.stored && !self.blocked
    }

    /// Forgets what earlier evaluations left.
    pub fn forget(&mut self) {
        self.pipes.iter_mut().for_each(|(_, memory)| *memory = Memory::default());
    }

    /// Makes the next evaluation exact: what is remembered stays a guess.
    pub fn work_out_anew(&mut self) {
        self.pipes.iter_mut().for_each(|(_, memory)| memory.forget());
    }

    /// True when a regulator sits in the link.
    pub fn regulates(&self) -> bool {
        !self.held.is_empty()
    }

    /// What rules the flow: the link wide open, the stretch downstream of the regulator that holds or upstream of where water parts.
    fn ruling(&self, rule: Option<Rule>) -> &Stretch {
        match rule {
            None => &self.whole,
            Some(Rule::Regulator(regulator)) => &self.held[regulator].0,
            Some(Rule::Parted(gap)) => self.gaps.get(gap).map_or(&self.whole, |gap| &gap.upstream),
        }
    }

    /// True when what rules the flow loses nothing more with more flow.
    pub fn is_rigid(&self, rule: Option<Rule>, flow: f64) -> bool {
        let stretch = self.ruling(rule);
        let level = |extra: &Extra| matches!(extra.curved, Curved::Pump(_)) && extra.loss(flow).slope_pa_s_per_m3 == 0.0;
        stretch.linear == 0.0
            && stretch.quadratic == 0.0
            && stretch.pipes(self.pipes.len()).is_empty()
            && self.extras[stretch.extras(self.extras.len())].iter().all(level)
    }

    /// The pressure at the far end at which the last drop comes through; none where no water passes a crest of it. Where it
    /// stands right at the pressure at which links part it does not: else rounding would decide.
    pub fn fills_to(&mut self, from_pa: f64) -> Option<f64> {
        for gap in 0..self.gaps.len() {
            if self.gaps[gap].forward && self.upstream(gap, 0.0).loss_pa + LINKS_GIVE_WAY_PA > self.drives_to(gap, from_pa, 0.0) {
                return None;
            }
        }
        let open_pa = from_pa - self.open(0.0).loss_pa;
        Some((0..self.held.len()).fold(open_pa, |least, regulator| least.min(-self.held(regulator, 0.0).loss_pa)))
    }

    /// True when water may part somewhere in the link.
    pub fn may_part(&self) -> bool {
        !self.gaps.is_empty()
    }

    /// True when water may part as it enters a step.
    pub fn may_part_at(&self, step: usize) -> bool {
        self.gaps.iter().any(|gap| gap.step == step)
    }

    /// Where water parts, and whether it flows forward there: the step that it enters.
    pub fn parted_step(&self, rule: Option<Rule>) -> Option<(usize, bool)> {
        match rule {
            Some(Rule::Parted(gap)) => self.gaps.get(gap).map(|gap| (gap.step, gap.forward)),
            _ => None,
        }
    }

    /// The ends whose pressures count under a rule.
    #[inline]
    pub fn follows(&self, rule: Option<Rule>) -> Follows {
        match rule {
            None => Follows::Both,
            Some(Rule::Regulator(_)) => Follows::To,
            Some(Rule::Parted(gap)) => match self.gaps.get(gap) {
                Some(Gap { regulator: Some(_), .. }) => Follows::Neither,
                Some(Gap { forward: true, .. }) => Follows::From,
                _ => Follows::To,
            },
        }
    }

    /// The regulator whose setting counts under a rule, by its number among those of the link.
    pub fn holds(&self, rule: Option<Rule>) -> Option<usize> {
        match rule? {
            Rule::Regulator(regulator) => Some(regulator),
            Rule::Parted(gap) => self.gaps.get(gap)?.regulator,
        }
    }

    /// What drives water to a gap: the pressure at the end or the setting that it comes from, above that at which it parts, Pa.
    fn drives_to(&self, gap: usize, from_pa: f64, to_pa: f64) -> f64 {
        let Gap { forward, regulator, .. } = self.gaps[gap];
        let end_pa = if forward { from_pa } else { to_pa };
        regulator.map_or(end_pa, |regulator| self.held[regulator].1) - self.vapor_pa
    }

    /// The rules that may take the place of the whole loss at a flow of this direction, those of gaps whether looked at or not.
    pub fn rules(&self, forward: bool) -> impl Iterator<Item = Rule> + use<> {
        let gaps: SmallVec<[usize; 4]> = (0..self.gaps.len()).filter(|&gap| self.gaps[gap].forward == forward).collect();
        (0..self.held.len()).map(Rule::Regulator).chain(gaps.into_iter().map(Rule::Parted))
    }

    /// Loss of what lies upstream of a gap.
    fn upstream(&mut self, gap: usize, flow: f64) -> Point {
        evaluate(&self.gaps[gap].upstream, &mut self.pipes, &self.extras, flow)
    }

    /// By how far the pressure lies below that at which water parts, at the worst place, Pa; zero or below where it holds.
    pub fn too_low_pa(&mut self, from_pa: f64, to_pa: f64, flow: f64) -> f64 {
        let mut worst = 0.0f64;
        for gap in 0..self.gaps.len() {
            let forward = self.gaps[gap].forward;
            if flow != 0.0 && forward == (flow > 0.0) {
                let excess_pa = self.excess(Some(Rule::Parted(gap)), from_pa, to_pa, flow).loss_pa;
                worst = worst.max(if forward { excess_pa } else { -excess_pa });
            }
        }
        worst
    }

    /// Loss of the whole link with its regulators wide open.
    #[inline]
    pub fn open(&mut self, flow: f64) -> Point {
        evaluate(&self.whole, &mut self.pipes, &self.extras, flow)
    }

    /// Loss of the whole link without flow: elevation changes and cracking pressures, less what sources and pumps give.
    pub fn at_rest_pa(&self) -> f64 {
        let extras = &self.extras[self.whole.extras(self.extras.len())];
        extras.iter().fold(self.whole.offset_pa, |sum, extra| sum + extra.loss(0.0).loss_pa)
    }

    /// Loss downstream of one of the regulators less its setting: what the pressure at the far end must make up for.
    #[inline]
    pub fn held(&mut self, regulator: usize, flow: f64) -> Point {
        let (stretch, set_pa) = &self.held[regulator];
        let point = evaluate(stretch, &mut self.pipes, &self.extras, flow);
        Point { loss_pa: point.loss_pa - set_pa, ..point }
    }

    /// The law that rules at a flow between two pressures: the one that is furthest from letting this flow through.
    ///
    /// Gives what rules in place of the whole loss, if something does, and by how much the flow is too large for it, with
    /// the slope. No flow counts as one forward.
    #[inline(always)]
    pub fn ruler(&mut self, from_pa: f64, to_pa: f64, flow: f64) -> (Option<Rule>, Point) {
        let open = self.open(flow);
        let excess = Point { loss_pa: open.loss_pa - (from_pa - to_pa), ..open };
        // Most links have no rule but their whole loss; in the inner loop these numbers stay out of memory.
        if self.held.is_empty() && !self.parts { (None, excess) } else { self.ruler_among(excess, from_pa, to_pa, flow) }
    }

    /// The ruler where there are regulators or places where water may part; `excess` is that of the whole loss.
    #[inline(never)]
    fn ruler_among(&mut self, excess: Point, from_pa: f64, to_pa: f64, flow: f64) -> (Option<Rule>, Point) {
        let mut rules = (None, excess);
        for regulator in 0..self.held.len() {
            let held = self.held(regulator, flow);
            if held.loss_pa + to_pa > rules.1.loss_pa {
                rules = (Some(Rule::Regulator(regulator)), Point { loss_pa: held.loss_pa + to_pa, ..held });
            }
        }
        if self.parts { self.parting(rules, from_pa, to_pa, flow, flow >= 0.0) } else { rules }
    }

    /// The ruler among a law and the gaps of one direction: what water that flows forward lacks caps its flow, and what
    /// water that flows backward lacks caps that.
    fn parting(
        &mut self,
        mut rules: (Option<Rule>, Point),
        from_pa: f64,
        to_pa: f64,
        flow: f64,
        forward: bool,
    ) -> (Option<Rule>, Point) {
        for gap in 0..self.gaps.len() {
            if self.gaps[gap].forward != forward {
                continue;
            }
            let rule = Some(Rule::Parted(gap));
            let excess = self.excess(rule, from_pa, to_pa, flow);
            if (excess.loss_pa > rules.1.loss_pa) == forward && excess.loss_pa != rules.1.loss_pa {
                rules = (rule, excess);
            }
        }
        rules
    }

    /// The ruler at no flow of water that is about to flow backward.
    pub fn backward_ruler_at_rest(&mut self, from_pa: f64, to_pa: f64) -> (Option<Rule>, Point) {
        let open = self.open(0.0);
        let rules = (None, Point { loss_pa: open.loss_pa - (from_pa - to_pa), ..open });
        if self.parts { self.parting(rules, from_pa, to_pa, 0.0, false) } else { rules }
    }

    /// By how much a flow is too large for one of the laws of the link: that of a rule, or the link wide open.
    pub fn excess(&mut self, rule: Option<Rule>, from_pa: f64, to_pa: f64, flow: f64) -> Point {
        match rule {
            None => {
                let open = self.open(flow);
                Point { loss_pa: open.loss_pa - (from_pa - to_pa), ..open }
            }
            Some(Rule::Regulator(regulator)) => {
                let held = self.held(regulator, flow);
                Point { loss_pa: held.loss_pa + to_pa, ..held }
            }
            Some(Rule::Parted(gap)) => {
                let upstream = self.upstream(gap, flow);
                let way = if self.gaps[gap].forward { 1.0 } else { -1.0 };
                Point { loss_pa: upstream.loss_pa - way * self.drives_to(gap, from_pa, to_pa), ..upstream }
            }
        }
    }

    /// True when the pressures push a closed link open by more than this, forward, or where it is not one-way backward.
    pub fn pushes_open(&mut self, from_pa: f64, to_pa: f64, allowed_pa: f64) -> bool {
        let forward = self.ruler(from_pa, to_pa, 0.0).1.loss_pa < -allowed_pa;
        forward || (!self.one_way && self.backward_ruler_at_rest(from_pa, to_pa).1.loss_pa > allowed_pa)
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
                found = Flow { flow_m3_per_s: held, holding: Some(Rule::Regulator(regulator)) };
            }
        }
        if self.parts { self.parted_flow(found, from_pa, to_pa, start) } else { found }
    }

    /// The flow that is left of one where water parts.
    fn parted_flow(&mut self, mut found: Flow, from_pa: f64, to_pa: f64, start: f64) -> Flow {
        let way = if found.flow_m3_per_s < 0.0 { -1.0 } else { 1.0 };
        let (stored, grain) = (self.stored, self.grain());
        for gap in 0..self.gaps.len() {
            if found.flow_m3_per_s == 0.0 || self.gaps[gap].forward != (way > 0.0) {
                continue;
            }
            let driven_by_pa = self.drives_to(gap, from_pa, to_pa);
            let lost = |size: f64| {
                let point = self.upstream(gap, way * size);
                // A store has a slope of its own, be it ever so small.
                let point = if stored { point } else { point.softened(way * size) };
                Point { loss_pa: way * point.loss_pa, ..point }
            };
            let left = root_to(lost, driven_by_pa, start.abs(), true, grain);
            if left < found.flow_m3_per_s.abs() {
                found = Flow { flow_m3_per_s: way * left, holding: Some(Rule::Parted(gap)) };
            }
        }
        found
    }

    /// The point of the law that lies nearest to a flow and the pressures at the ends, which need not belong together.
    ///
    /// Where a law rises steeply its tangent misleads, be it taken at the flow or at the pressures. Between the two lies
    /// the point where a line of slope -[`FEED_SLOPE`] through flow and pressures meets the law.
    pub fn nearest(&mut self, from_pa: f64, to_pa: f64, flow: f64) -> f64 {
        let (one_way, grain) = (self.one_way, self.grain());
        let tied = |flow: f64| {
            let (_, excess) = self.ruler(from_pa, to_pa, flow);
            Point { loss_pa: excess.loss_pa + FEED_SLOPE * flow, slope: excess.slope + FEED_SLOPE }
        };
        root_to(tied, FEED_SLOPE * flow, flow, one_way, grain)
    }

    /// True where a flow that is too large by an excess lies so near to its law that the tangent there does not mislead.
    pub fn is_near(&self, excess: Point, flow: f64) -> bool {
        excess.loss_pa.abs() <= NEAR_LAW * (excess.slope + FEED_SLOPE) * flow.abs()
    }

    fn grain(&self) -> Grain {
        if self.stored { Grain::Store } else { Grain::Usual }
    }

    /// Roughly the flow that a loss drives through the link wide open, as if loss went with the square of flow.
    pub fn rough_flow(&mut self, loss_pa: f64, start: f64) -> f64 {
        let at_rest = self.open(0.0).loss_pa;
        let drop = loss_pa - at_rest;
        let share = drop / (self.open(start).loss_pa - at_rest);
        if drop > 0.0 && share.is_finite() && share > 0.0 { start * share.sqrt() } else { 0.0 }
    }

    /// The slope from no flow to the flow at which the losses of what rules that go with its square make up for a misfit, Pa s/m3.
    pub fn chord_slope(&self, rule: Option<Rule>, misfit_pa: f64) -> f64 {
        (self.ruling(rule).quadratic * misfit_pa.abs()).sqrt()
    }

    /// Derivative of the flow to the pressures that count under a rule, at a flow.
    pub fn conductance(&mut self, rule: Option<Rule>, flow: f64) -> f64 {
        1.0 / self.excess(rule, 0.0, 0.0, flow).softened(flow).slope
    }

    /// The flow between two pressures with any regulator wide open.
    fn open_flow(&mut self, from_pa: f64, to_pa: f64, start: f64) -> f64 {
        let one_way = self.one_way;
        if self.stored {
            // A store has a slope of its own, be it ever so small.
            return root_to(|flow| self.open(flow), from_pa - to_pa, start, one_way, Grain::Store);
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

/// Whether the pressure may rise along a part in the direction of the flow: some for water that flows forward along its
/// link, or for water that flows backward.
fn raises(law: &Law, runs: bool, forward: bool) -> Option<bool> {
    match law {
        Law::Booster { .. } if runs => Some(forward),
        Law::Climb { rise_pa } if *rise_pa != 0.0 => Some((*rise_pa < 0.0) == forward),
        _ => None,
    }
}

#[inline]
fn evaluate(stretch: &Stretch, pipes: &mut [(PipeFriction, Memory)], extras: &[Extra], flow: f64) -> Point {
    let size = flow.abs();
    let mut loss = stretch.offset_pa + (stretch.linear + stretch.quadratic * size) * flow;
    let mut slope = stretch.linear + 2.0 * stretch.quadratic * size;
    let own_pipes = stretch.pipes(pipes.len());
    for (pipe, memory) in &mut pipes[own_pipes] {
        let pipe = pipe.loss_near(flow, memory);
        loss += pipe.loss_pa;
        slope += pipe.slope_pa_s_per_m3;
    }
    for extra in &extras[stretch.extras(extras.len())] {
        let extra = extra.loss(flow);
        loss += extra.loss_pa;
        slope += extra.slope_pa_s_per_m3;
    }
    Point { loss_pa: loss, slope }
}

/// The flow at which a rising curve reaches `target`; zero where a one-way curve starts above it, not a number where it is
/// not found.
pub fn root(curve: impl FnMut(f64) -> Point, target: f64, start: f64, one_way: bool) -> f64 {
    root_to(curve, target, start, one_way, Grain::Usual)
}

/// How finely a root is determined.
#[derive(Clone, Copy, PartialEq)]
enum Grain {
    /// To 1e-18 m3/s, by steps with at least [`LEAST_SLOPE`].
    Usual,
    /// Also to the rounding of a pressure: over a long time a rigid store hardly takes anything. A store has a slope of its own.
    Store,
}

impl Grain {
    fn least_slope(self) -> f64 {
        if self == Grain::Usual { LEAST_SLOPE } else { f64::MIN_POSITIVE }
    }

    /// The width of a bracket that is narrow enough, m3/s, around a point of a curve.
    fn width(self, point: Point, target: f64) -> f64 {
        match self {
            Grain::Usual => FINEST_ROOT,
            Grain::Store => {
                let rounding_pa = ROUNDING_PA + ROOT_ROUNDING * (point.loss_pa.abs() + target.abs());
                (rounding_pa / point.slope.max(f64::MIN_POSITIVE)).min(FINEST_ROOT)
            }
        }
    }
}

/// As [`root`], to a grain.
fn root_to(mut curve: impl FnMut(f64) -> Point, target: f64, start: f64, one_way: bool, grain: Grain) -> f64 {
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
    for steps in 0..MOST_ROOT_STEPS {
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
        let mut next = flow - excess / point.slope.max(grain.least_slope());
        if steps > NEWTON_ROOT_STEPS && steps % 2 == 0 {
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
        if step <= ROOT_ROUNDING * flow.abs() || high - low <= grain.width(point, target) {
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
