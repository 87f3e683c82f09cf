//! What is fixed for all cases of a network: its links, the place of each number that a law may change, and the state to begin from.

use super::bends::{Bend, Bent, Shape};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::ends::Ends;
use crate::hydraulics::model::structure::{LinkStep, Structure};
use crate::parts::{Curved, Id, Law, Part, Terms};
use std::ops::Range;
use std::sync::Arc;

/// Terms of a law that lanes can hold: offset, factor of the flow, factor of its square, and the numbers of a pipe. What else bends is a
/// [`Bent`] term.
#[derive(Clone, Copy, Debug)]
pub struct Plain {
    pub offset_pa: f64,
    pub linear: f64,
    pub quadratic: f64,
    pub pipe: Option<[f64; PIPE]>,
}

/// How many numbers a link has: offset, factor of the flow, factor of its square.
pub const LINK: usize = 3;
/// How many numbers a pipe has.
pub const PIPE: usize = 3;

impl Plain {
    /// The terms of a law as its link passes it; none where lanes cannot hold it.
    pub fn of(law: &Law, forward: bool) -> Option<Plain> {
        let is_driven = matches!(law, Law::Booster { holds_pa: Some(_), .. });
        if is_driven || law.lacks_bore() {
            return None;
        }
        let Terms { offset_pa, linear, quadratic, curved } = law.terms(true)?;
        let pipe = match curved {
            None => None,
            Some(Curved::Pipe(pipe)) => Some(pipe.numbers()),
            Some(Curved::HazenWilliams(_) | Curved::Pump(_) | Curved::Table(_) | Curved::Power { .. }) => None,
            Some(Curved::Soaker(_) | Curved::Stored { .. }) => return None,
        };
        // An outlet ends its link, whichever way that was turned.
        let forward = forward || law.discharges();
        Some(Plain { offset_pa: if forward { offset_pa } else { -offset_pa }, linear, quadratic, pipe })
    }
}

/// What a link or some steps of it lose.
#[derive(Clone, Debug)]
pub struct Span {
    /// The place of offset, factor of the flow and factor of its square among the numbers.
    pub terms: usize,
    /// Pipes among all.
    pub pipes: Range<usize>,
    /// Bent terms among all.
    pub bends: Range<usize>,
}

/// A link in lanes.
#[derive(Clone, Debug)]
pub struct LaneLink {
    pub ends: Ends,
    pub span: Span,
    /// Flow cannot be negative.
    pub one_way: bool,
    /// An outlet of it may rise so steeply that its tangents mislead.
    pub steep: bool,
    /// Water comes in by its `to` end too, from a node or a source: while it is closed, water may be trapped there.
    pub joins: bool,
    /// Where its crests stand among the numbers, if its elevation changes and nothing pumps in it.
    pub crests: Option<usize>,
    /// Where its water may part, among all such places, if something pumps in it.
    pub gaps: Range<usize>,
    /// What its regulators hold at its end, among all that is held.
    pub held: Range<usize>,
}

impl LaneLink {
    /// True where it holds no more than straight lines, squares and pipes.
    pub fn is_plain(&self) -> bool {
        self.span.bends.is_empty() && self.held.is_empty()
    }

    /// True where a regulator may hold in it.
    pub fn regulates(&self) -> bool {
        !self.held.is_empty()
    }
}

/// Some steps of a link, whose terms stand among the numbers.
#[derive(Clone, Debug)]
pub struct Stretch {
    pub link: usize,
    pub steps: Range<usize>,
    pub span: Span,
    /// What regulators in it hold at its end, among all that is held, where it begins with its link.
    pub held: Range<usize>,
}

/// What a regulator holds at the end of a stretch that begins downstream of it.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// The place of its setting among the numbers.
    pub set: usize,
    pub stretch: usize,
}

/// A regulator in a link, alone or inside a head.
#[derive(Clone, Copy, Debug)]
struct Regulator {
    link: usize,
    step: usize,
    /// Its nozzle is downstream of it.
    discharges: bool,
    /// The place of its setting among the numbers.
    set: usize,
}

/// Which place has which number of its own, for changes of its law.
#[derive(Clone, Copy, Debug)]
pub enum Own {
    /// Static pressure, then resistance of a source.
    Source(usize),
    /// Offset, factor of the flow and factor of its square of an outlet.
    Outlet(usize),
    /// Flow of a demand.
    Demand(usize),
    /// Setting of a regulator.
    Set(usize),
    /// Pressure at which a switch or control starts its booster, then that, or the flow, at which it stops it.
    Starter(usize),
}

impl Own {
    /// The places of its numbers.
    pub fn numbers(&self) -> Range<usize> {
        match *self {
            Own::Source(number) | Own::Starter(number) => number..number + 2,
            Own::Outlet(number) => number..number + LINK,
            Own::Demand(number) | Own::Set(number) => number..number + 1,
        }
    }

    /// What a switch or control is set to.
    pub fn settings(starter: &Part) -> [f64; 2] {
        let stops = starter.si(Id::CutOut).or_else(|| starter.si(Id::MinimumFlow));
        [starter.starts_at_pa(), stops].map(|setting| setting.unwrap_or(f64::NEG_INFINITY))
    }
}

/// A state to begin from.
#[derive(Clone, Debug)]
pub struct Beginning {
    pub flows: Vec<f64>,
    pub closed: Vec<bool>,
    pub pressures_pa: Vec<f64>,
}

/// What is fixed for all cases of a network.
#[derive(Clone, Debug)]
pub struct LaneModel {
    pub structure: Arc<Structure>,
    pub links: Vec<LaneLink>,
    pub number_of_pipes: usize,
    pub bends: Vec<Bend>,
    /// Which boosters run, by their numbers among the bent terms.
    pub runs: Vec<bool>,
    /// All numbers of the laws as the network has them: those of links, of pipes, the demands of nodes, then those that others have asked for.
    pub numbers: Vec<f64>,
    /// What places have for themselves among the numbers.
    pub own: Vec<(usize, Own)>,
    pub beginning: Beginning,
    /// Parts of links whose loss is asked for by itself.
    pub stretches: Vec<Stretch>,
    pub held: Vec<Held>,
    regulators: Vec<Regulator>,
    /// Where water may part beside a pump, each by the stretch before it.
    pub gaps: Vec<usize>,
    /// Slope that stands in for less in a step, Pa s/m3.
    pub least_slope: f64,
    /// Change of a flow that counts as none where hardly anything flows, m3/s.
    pub rests_within: f64,
    /// Gauge pressure at which water parts, Pa.
    pub vapor_pa: f64,
}

impl LaneModel {
    /// The model of a solved circuit; none where lanes cannot hold one of its laws. `pieces` says how many a bent term of a place may get.
    pub fn of(circuit: &Circuit, pieces: impl Fn(usize) -> usize) -> Option<LaneModel> {
        if !circuit.state.taps.is_empty() {
            return None;
        }
        let structure = Arc::clone(&circuit.structure);
        let mut model = LaneModel {
            links: Vec::with_capacity(structure.links.len()),
            number_of_pipes: 0,
            bends: Vec::new(),
            runs: Vec::new(),
            numbers: Vec::new(),
            own: Vec::new(),
            beginning: Beginning {
                flows: circuit.state.links.iter().map(|state| state.flow).collect(),
                closed: circuit.state.links.iter().map(|state| state.closed).collect(),
                pressures_pa: circuit.state.pressures_pa.clone(),
            },
            stretches: Vec::new(),
            held: Vec::new(),
            regulators: Vec::new(),
            gaps: Vec::new(),
            least_slope: circuit.stand_in_slope(),
            rests_within: circuit.tolerances.rests_within,
            vapor_pa: circuit.vapor_pa,
            structure: Arc::clone(&structure),
        };
        let mut pipes = Vec::new();
        for (link, ends) in structure.links.iter().zip(&structure.ends) {
            let (first_pipe, first_bend) = (pipes.len() / PIPE, model.bends.len());
            let mut forward_only = false;
            for step in &link.steps {
                let law = &circuit.laws[step.place];
                pipes.extend(Plain::of(law, step.forward)?.pipe.into_iter().flatten());
                let forward = step.forward || law.discharges();
                if law.is_one_way() && !forward {
                    return None;
                }
                forward_only |= law.is_one_way();
                if let Some(bent) = Bent::of(law) {
                    let shape = if matches!(bent, Bent::Rise(_)) { Shape::Rise(model.runs.len()) } else { Shape::Power };
                    model.runs.extend(matches!(bent, Bent::Rise(_)).then_some(circuit.runs[step.place]));
                    let pieces = bent.pieces().max(pieces(step.place));
                    model.bends.push(Bend { place: step.place, shape, number: 0, pieces, forward: step.forward });
                }
            }
            model.numbers.extend(sum_of(&link.steps, |place| &circuit.laws[place])?);
            model.links.push(LaneLink {
                ends: *ends,
                span: Span {
                    terms: LINK * model.links.len(),
                    pipes: first_pipe..pipes.len() / PIPE,
                    bends: first_bend..model.bends.len(),
                },
                one_way: forward_only,
                steep: link
                    .steps
                    .iter()
                    .any(|step| matches!(circuit.laws[step.place], Law::Power { .. } | Law::Tabulated { .. })),
                joins: link.to.is_some() || link.ends_in_source,
                crests: None,
                gaps: 0..0,
                held: 0..0,
            });
        }
        model.number_of_pipes = pipes.len() / PIPE;
        model.numbers.extend(pipes);
        model.numbers.extend(&circuit.demands);
        for bend in &mut model.bends {
            bend.number = model.numbers.len();
            let bent = Bent::of(&circuit.laws[bend.place])?;
            (0..bend.pieces).for_each(|piece| model.numbers.extend(bent.piece(piece)));
        }
        for index in 0..model.links.len() {
            model.find_held(circuit, index)?;
            let link = &structure.links[index];
            if link.steps.iter().any(|step| matches!(circuit.laws[step.place], Law::Booster { .. })) {
                model.find_gaps(circuit, index)?;
            } else if link.steps.iter().any(|step| matches!(circuit.laws[step.place], Law::Climb { .. })) {
                let steps = link.steps.iter().map(|step| {
                    let law = &circuit.laws[step.place];
                    let offset_pa = Plain::of(law, step.forward).map_or(f64::NAN, |plain| plain.offset_pa);
                    (offset_pa, matches!(law, Law::Climb { .. }))
                });
                let crests = crests(steps, model.links[index].one_way);
                model.links[index].crests = Some(model.another(crests[0]));
                model.another(crests[1]);
            }
        }
        Some(model)
    }

    /// Finds the regulators of a link, and what they hold at its end.
    fn find_held(&mut self, circuit: &Circuit, link: usize) -> Option<()> {
        let structure = Arc::clone(&self.structure);
        let (steps, mut held) = (&structure.links[link].steps, Vec::new());
        for (at, step) in steps.iter().enumerate() {
            let law = &circuit.laws[step.place];
            let Some(set_pa) = law.holds_pa() else { continue };
            let (set, discharges) = (self.another(set_pa), law.discharges());
            self.own.push((step.place, Own::Set(set)));
            let stretch = self.stretch(circuit, link, if discharges { at } else { at + 1 }..steps.len())?;
            held.push(Held { set, stretch });
            self.regulators.push(Regulator { link, step: at, discharges, set });
        }
        self.links[link].held = self.hold(held);
        Some(())
    }

    /// Keeps what is held, and gives its place among all of that.
    fn hold(&mut self, held: Vec<Held>) -> Range<usize> {
        let first = self.held.len();
        self.held.extend(held);
        first..self.held.len()
    }

    /// Finds where water may part in a link: as it enters a pump or a way down, whichever way it flows.
    fn find_gaps(&mut self, circuit: &Circuit, link: usize) -> Option<()> {
        let first = self.gaps.len();
        let structure = Arc::clone(&self.structure);
        for (at, step) in structure.links[link].steps.iter().enumerate() {
            let with_the_link = match &circuit.laws[step.place] {
                Law::Booster { .. } => step.forward,
                Law::Climb { rise_pa } if *rise_pa != 0.0 => (*rise_pa < 0.0) == step.forward,
                _ => continue,
            };
            if with_the_link || !self.links[link].one_way {
                let gap = self.stretch(circuit, link, 0..if with_the_link { at } else { at + 1 })?;
                self.gaps.push(gap);
            }
        }
        self.links[link].gaps = first..self.gaps.len();
        Some(())
    }

    /// A place for the terms of some steps of a link, by its number among the stretches.
    pub fn stretch(&mut self, circuit: &Circuit, link: usize, steps: Range<usize>) -> Option<usize> {
        let structure = Arc::clone(&self.structure);
        let all = &structure.links[link].steps;
        let law = |step: &LinkStep| &circuit.laws[step.place];
        let count = |steps: Range<usize>, is: fn(&Law) -> bool| all[steps].iter().filter(|step| is(law(step))).count();
        let within = |first: usize, is: fn(&Law) -> bool| {
            let start = first + count(0..steps.start, is);
            start..start + count(steps.clone(), is)
        };
        let pipes = within(self.links[link].span.pipes.start, |law| matches!(law, Law::Friction { .. }));
        let bends = within(self.links[link].span.bends.start, |law| Bent::of(law).is_some());
        let terms = self.numbers.len();
        self.numbers.extend(sum_of(&all[steps.clone()], |place| &circuit.laws[place])?);
        let mut held = Vec::new();
        if steps.start == 0 {
            let within = |one: &Regulator| one.link == link && one.step < steps.end && !one.discharges;
            let upstream: Vec<Regulator> = self.regulators.iter().filter(|one| within(one)).copied().collect();
            for Regulator { step, set, .. } in upstream {
                held.push(Held { set, stretch: self.stretch(circuit, link, step + 1..steps.end)? });
            }
        }
        let held = self.hold(held);
        self.stretches.push(Stretch { link, steps, span: Span { terms, pipes, bends }, held });
        Some(self.stretches.len() - 1)
    }

    /// True where all links hold no more than straight lines, squares and pipes.
    pub fn is_plain(&self) -> bool {
        self.bends.is_empty() && !self.regulates()
    }

    /// True where a regulator may hold somewhere.
    pub fn regulates(&self) -> bool {
        !self.held.is_empty()
    }

    /// A place for another number.
    pub fn another(&mut self, number: f64) -> usize {
        self.numbers.push(number);
        self.numbers.len() - 1
    }

    /// The place of the first number of a link.
    pub fn of_link(&self, link: usize) -> usize {
        LINK * link
    }

    /// The place of the first number of a pipe.
    pub fn of_pipe(&self, pipe: usize) -> usize {
        LINK * self.links.len() + PIPE * pipe
    }

    /// The place of what the demands at a node take.
    pub fn of_demand(&self, unknown: usize) -> usize {
        LINK * self.links.len() + PIPE * self.number_of_pipes + unknown
    }
}

/// What steps of a link add up to: offset, factor of the flow and factor of its square. None where lanes cannot hold a law of them.
pub fn sum_of<'l>(steps: &[LinkStep], law: impl Fn(usize) -> &'l Law) -> Option<[f64; LINK]> {
    steps.iter().try_fold([0.0; LINK], |[offset_pa, linear, quadratic], step| {
        let plain = Plain::of(law(step.place), step.forward)?;
        Some([offset_pa + plain.offset_pa, linear + plain.linear, quadratic + plain.quadratic])
    })
}

/// The crests of a link, where water may part: the highest sum of offsets up to one that forward flow comes down from, and the lowest sum from one
/// to the end that backward flow comes down from, Pa. Infinite where there is none.
///
/// Each step has its offset as the link passes it, Pa, and whether it is a change of height.
pub fn crests(steps: impl Iterator<Item = (f64, bool)> + Clone, one_way: bool) -> [f64; 2] {
    let whole: f64 = steps.clone().map(|(offset_pa, _)| offset_pa).sum();
    let (mut before, mut forward, mut backward) = (0.0, f64::NEG_INFINITY, f64::INFINITY);
    for (offset_pa, is_climb) in steps {
        // Downhill in the direction of the link is a crest for forward flow, uphill one for backward flow.
        if is_climb && offset_pa < 0.0 {
            forward = f64::max(forward, before);
        } else if is_climb && offset_pa > 0.0 && !one_way {
            backward = f64::min(backward, whole - before - offset_pa);
        }
        before += offset_pa;
    }
    [forward, backward]
}
