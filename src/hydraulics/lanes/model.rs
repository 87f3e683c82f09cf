//! What is fixed for all cases of a network: its links, the place of each number that a law may change, and the state to begin from.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::ends::Ends;
use crate::hydraulics::model::structure::{Link, LinkStep, Structure};
use crate::parts::{Curved, Law, Terms};
use std::ops::Range;
use std::sync::Arc;

/// Terms of a law that lanes can hold: offset, factor of the flow, factor of its square, and the numbers of a pipe.
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
        if law.holds_pa().is_some() || law.lacks_bore() {
            return None;
        }
        let Terms { offset_pa, linear, quadratic, curved } = law.terms(true)?;
        let pipe = match curved {
            None => None,
            Some(Curved::Pipe(pipe)) => Some(pipe.numbers()),
            Some(_) => return None,
        };
        // An outlet ends its link, whichever way that was turned.
        let forward = forward || law.discharges();
        Some(Plain { offset_pa: if forward { offset_pa } else { -offset_pa }, linear, quadratic, pipe })
    }
}

/// A link in lanes.
#[derive(Clone, Debug)]
pub struct LaneLink {
    pub ends: Ends,
    /// Its pipes among all.
    pub pipes: Range<usize>,
    /// Flow cannot be negative.
    pub one_way: bool,
    /// Water comes in by its `to` end too, from a node or a source: while it is closed, water may be trapped there.
    pub joins: bool,
    /// Where its crests stand among the numbers, if its elevation changes.
    pub crests: Option<usize>,
}

/// The first steps of a link, whose terms stand among the numbers.
#[derive(Clone, Copy, Debug)]
pub struct Prefix {
    pub link: usize,
    /// How many steps.
    pub steps: usize,
    /// The place of their offset, factor of the flow and factor of its square.
    pub terms: usize,
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
    /// All numbers of the laws as the network has them: those of links, of pipes, the demands of nodes, then those that others have asked for.
    pub numbers: Vec<f64>,
    pub beginning: Beginning,
    /// Beginnings of links of which the pressure at the end is read.
    pub prefixes: Vec<Prefix>,
    /// Slope that stands in for less in a step, Pa s/m3.
    pub least_slope: f64,
    /// Change of a flow that counts as none where hardly anything flows, m3/s.
    pub rests_within: f64,
    /// Gauge pressure at which water parts, Pa.
    pub vapor_pa: f64,
}

impl LaneModel {
    /// The model of a solved circuit; none where lanes cannot hold one of its laws.
    pub fn of(circuit: &Circuit) -> Option<LaneModel> {
        if !circuit.state.taps.is_empty() {
            return None;
        }
        let structure = Arc::clone(&circuit.structure);
        let mut model = LaneModel {
            links: Vec::with_capacity(structure.links.len()),
            number_of_pipes: 0,
            numbers: Vec::new(),
            beginning: Beginning {
                flows: circuit.state.links.iter().map(|state| state.flow).collect(),
                closed: circuit.state.links.iter().map(|state| state.closed).collect(),
                pressures_pa: circuit.state.pressures_pa.clone(),
            },
            prefixes: Vec::new(),
            least_slope: circuit.stand_in_slope(),
            rests_within: circuit.tolerances.rests_within,
            vapor_pa: circuit.vapor_pa,
            structure: Arc::clone(&structure),
        };
        let mut pipes = Vec::new();
        for (link, ends) in structure.links.iter().zip(&structure.ends) {
            let first_pipe = pipes.len() / PIPE;
            let mut forward_only = false;
            for step in &link.steps {
                let law = &circuit.laws[step.place];
                pipes.extend(Plain::of(law, step.forward)?.pipe.into_iter().flatten());
                let forward = step.forward || law.discharges();
                if law.is_one_way() && !forward {
                    return None;
                }
                forward_only |= law.is_one_way();
            }
            model.numbers.extend(sum_of(&link.steps, |place| &circuit.laws[place])?);
            model.links.push(LaneLink {
                ends: *ends,
                pipes: first_pipe..pipes.len() / PIPE,
                one_way: forward_only,
                joins: link.to.is_some() || link.ends_in_source,
                crests: None,
            });
        }
        model.number_of_pipes = pipes.len() / PIPE;
        model.numbers.extend(pipes);
        model.numbers.extend(&circuit.demands);
        for index in 0..model.links.len() {
            let link = &structure.links[index];
            if link.steps.iter().any(|step| matches!(circuit.laws[step.place], Law::Climb { .. })) {
                let crests = crests(link, model.links[index].one_way, |place| circuit.laws[place].clone());
                model.links[index].crests = Some(model.another(crests[0]));
                model.another(crests[1]);
            }
        }
        Some(model)
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
pub fn crests(link: &Link, one_way: bool, law: impl Fn(usize) -> Law) -> [f64; 2] {
    let offsets: Vec<(f64, Option<bool>)> = link
        .steps
        .iter()
        .map(|step| {
            let law = law(step.place);
            let offset_pa = Plain::of(&law, step.forward).map_or(f64::NAN, |plain| plain.offset_pa);
            // Downhill in the direction of the link is a crest for forward flow, uphill one for backward flow.
            let falls =
                if let Law::Climb { rise_pa } = law { (rise_pa != 0.0).then_some((rise_pa < 0.0) == step.forward) } else { None };
            (offset_pa, falls)
        })
        .collect();
    let whole: f64 = offsets.iter().map(|(offset_pa, _)| offset_pa).sum();
    let (mut before, mut forward, mut backward) = (0.0, f64::NEG_INFINITY, f64::INFINITY);
    for (offset_pa, falls) in offsets {
        match falls {
            Some(true) => forward = f64::max(forward, before),
            Some(false) if !one_way => backward = f64::min(backward, whole - before - offset_pa),
            _ => {}
        }
        before += offset_pa;
    }
    [forward, backward]
}
