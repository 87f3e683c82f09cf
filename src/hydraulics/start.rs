//! Where a solve begins when nothing is known: flows as they would be if loops were cut open.
//!
//! Newton's method halves a flow that is far too large with each step, so a guess of the right size saves steps. The guess
//! is only a guess: it touches no answer. Knows the structure and the laws of links.

use super::network::{FIRST_FLOW, LEAST_FIRST_FLOW, LinkState, Network};
use super::parting;
use super::structure::Ends;
use crate::parts::Law;
use std::collections::VecDeque;

/// A link by which water reaches an unknown node first.
#[derive(Clone, Copy, Debug)]
pub struct Feeder {
    pub link: u32,
    /// The node it feeds.
    pub node: u32,
    /// The node it comes from; nothing for a source.
    pub from: Option<u32>,
    /// True when the link runs from there to here.
    pub forward: bool,
}

/// A tree of feeders, those near a source first.
pub fn feeders(number_of_unknowns: usize, ends: &[Ends], sources: impl Iterator<Item = usize>) -> Vec<Feeder> {
    let mut at: Vec<Vec<(u32, u32, bool)>> = vec![Vec::new(); number_of_unknowns];
    for (link, ends) in ends.iter().enumerate() {
        if let (Some(from), Some(to)) = (ends.from(), ends.to()) {
            at[from].push((link as u32, to as u32, true));
            at[to].push((link as u32, from as u32, false));
        }
    }
    let mut reached = vec![false; number_of_unknowns];
    let mut tree: Vec<Feeder> = Vec::with_capacity(number_of_unknowns);
    let mut queue = VecDeque::new();
    for link in sources {
        if let (None, Some(node)) = (ends[link].from(), ends[link].to())
            && !std::mem::replace(&mut reached[node], true)
        {
            tree.push(Feeder { link: link as u32, node: node as u32, from: None, forward: true });
            queue.push_back(node);
        }
    }
    while let Some(node) = queue.pop_front() {
        for &(link, next, forward) in &at[node] {
            if !std::mem::replace(&mut reached[next as usize], true) {
                tree.push(Feeder { link, node: next, from: Some(node as u32), forward });
                queue.push_back(next as usize);
            }
        }
    }
    tree
}

/// The links between unknowns that are no feeders.
pub fn bridges(ends: &[Ends], feeders: &[Feeder]) -> Vec<u32> {
    let mut feeds = vec![false; ends.len()];
    feeders.iter().for_each(|feeder| feeds[feeder.link as usize] = true);
    (0..ends.len()).filter(|&link| !feeds[link] && ends[link].slot().is_some()).map(|link| link as u32).collect()
}

/// Share of the highest pressure at which outlets are first thought to work.
const MIDDLING: f64 = 0.7;
/// Share of the highest pressure that the longest way may use up in a guess.
const MOST_LOST: f64 = 0.9;
/// Share of the flow that a link which closes a loop would take if it did not even out the pressures at its ends.
const BRIDGE: f64 = 0.3;

/// Forgets the last state and guesses flows.
pub fn start_afresh(network: &mut Network) {
    parting::look(network, false);
    let highest = network.laws.iter().fold(1e5f64, |most, law| match law {
        Law::Source { pressure_pa, .. } => most.max(*pressure_pa),
        Law::Stored { store, from_m3, span_s } => most.max(store.stand(*from_m3, *span_s).pressure_pa),
        _ => most,
    });
    network.pressures_pa.fill(MIDDLING * highest);
    for state in &mut network.states {
        *state = LinkState { flow: FIRST_FLOW, holding: None, closed: false };
    }
    outlets(network);
    gather(network);
    march(network, highest);
    // Once more, with the pressures that these flows leave.
    outlets(network);
    gather(network);
    march(network, highest);
    guess_bridges(network);
    network.pressures_pa.fill(MIDDLING * highest);
    for (state, law) in network.states.iter_mut().zip(&network.link_laws) {
        if state.flow.abs() < LEAST_FIRST_FLOW || (law.one_way && state.flow < 0.0) {
            state.flow = FIRST_FLOW;
        }
    }
}

/// Guesses the flow of each link to the atmosphere from the pressure before it.
fn outlets(network: &mut Network) {
    let Network { structure, link_laws, states, pressures_pa, .. } = network;
    for ((ends, law), state) in structure.ends.iter().zip(link_laws).zip(states) {
        if let (Some(from), None) = (ends.from(), ends.to()) {
            let flow = if law.blocked { 0.0 } else { law.rough_flow(pressures_pa[from], FIRST_FLOW) };
            state.flow = flow;
        }
    }
}

/// Guesses the flow of the links that close loops from the pressures at their ends.
fn guess_bridges(network: &mut Network) {
    let Network { structure, link_laws, states, pressures_pa, .. } = network;
    for &link in &structure.bridges {
        let link = link as usize;
        let (Some(from), Some(to)) = (structure.ends[link].from(), structure.ends[link].to()) else { continue };
        let drop_pa = pressures_pa[from] - pressures_pa[to];
        states[link].flow = BRIDGE * link_laws[link].rough_flow(drop_pa.abs(), FIRST_FLOW).copysign(drop_pa);
    }
}

/// Adds up what outlets and draws take, from the far ends to the sources.
fn gather(network: &mut Network) {
    let Network { structure, states, demands, taps, scratch, .. } = network;
    scratch.copy_from_slice(demands);
    taps.iter().for_each(|tap| scratch[tap.unknown] += tap.most_m3_per_s);
    for (ends, state) in structure.ends.iter().zip(&*states) {
        if let (Some(from), None) = (ends.from(), ends.to()) {
            scratch[from] += state.flow;
        }
    }
    for feeder in structure.feeders.iter().rev() {
        let flow = scratch[feeder.node as usize];
        states[feeder.link as usize].flow = if feeder.forward { flow } else { -flow };
        if let Some(from) = feeder.from {
            scratch[from as usize] += flow;
        }
    }
}

/// Pressures from the sources to the far ends; where a way would use up too much, all losses are taken smaller by one factor.
fn march(network: &mut Network, highest: f64) {
    let Network { structure, link_laws, states, pressures_pa, .. } = network;
    let mut lowest = f64::INFINITY;
    for feeder in &structure.feeders {
        let (law, flow) = (&mut link_laws[feeder.link as usize], states[feeder.link as usize].flow);
        let before = feeder.from.map_or(0.0, |from| pressures_pa[from as usize]);
        let loss = if law.blocked { 0.0 } else { law.open(flow).loss_pa };
        let pressure = if feeder.forward { before - loss } else { before + loss };
        pressures_pa[feeder.node as usize] = pressure;
        lowest = lowest.min(pressure);
    }
    let lost = (highest - lowest) / (MOST_LOST * highest);
    let share = if lost > 1.0 { 1.0 / lost } else { 1.0 };
    pressures_pa.iter_mut().for_each(|pressure| *pressure = highest - (highest - *pressure) * share);
}
