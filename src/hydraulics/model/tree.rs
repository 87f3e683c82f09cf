//! The tree by which water first reaches each unknown node, and the links that close loops beside it.

use super::ends::Ends;
use std::collections::VecDeque;

/// A link by which water reaches an unknown node first.
#[derive(Clone, Copy, Debug)]
pub struct Feeder {
    pub link: u32,
    /// The node it feeds.
    pub node: u32,
    /// The node it comes from; none for a source.
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
