//! A garden cut at its valves: what water can reach with some of them open, as a garden of its own.
//!
//! A garden of many zones is cut once; each zone then costs what it opens, not what the garden has. An excerpt keeps the order
//! of places and nodes, their names, and the hoses that lend their diameters, so that a solve of it takes the same steps as one of
//! the whole.

use super::layout::{Driven, Lenders};
use super::{Garden, Layout, Place};
use crate::parts::Placing;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// A garden cut at its valves: sections of parts between which no water goes while all of them are closed.
#[derive(Clone, Debug)]
pub struct Sections {
    layout: Arc<Layout>,
    /// The section of each node.
    of_node: Vec<usize>,
    /// The places of each section, in their order; valves belong to none.
    places: Vec<Vec<usize>>,
    /// Sections that hold a source.
    fed: Vec<usize>,
}

/// The part of a garden that water can reach with some valves open.
#[derive(Clone, Debug)]
pub struct Excerpt {
    layout: Arc<Layout>,
    /// The place in the garden of each of its places, in order.
    places: Vec<usize>,
    /// The node in the garden of each of its nodes, in order.
    nodes: Vec<usize>,
}

impl Sections {
    /// The sections of a garden.
    pub fn of(garden: &Garden) -> Sections {
        let layout = garden.shared_layout();
        let is_valve = |place: usize| garden.spec(place).traits.opens;
        let of_node = sections(&layout, is_valve);
        let mut places = vec![Vec::new(); of_node.iter().max().map_or(0, |&last| last + 1)];
        let mut fed = Vec::new();
        for (place, joint) in layout.places.iter().enumerate().filter(|(place, _)| !is_valve(*place)) {
            places[of_node[joint.to]].push(place);
            if garden.spec(place).placing == Placing::Source {
                fed.push(of_node[joint.to]);
            }
        }
        Sections { layout, of_node, places, fed }
    }

    /// What sources reach with these valves open and all others closed, and beside it the places that are asked for whether
    /// water reaches them or not.
    pub fn excerpt(&self, open: &[usize], beside: &[usize]) -> Excerpt {
        let reached = self.reached(open);
        let ends = |place: usize| [self.layout.places[place].from, self.layout.places[place].to];
        let mut places: Vec<usize> = reached.iter().flat_map(|&section| self.places[section].iter().copied()).collect();
        let opened = |valve: &usize| ends(*valve).iter().any(|&node| reached.contains(&self.of_node[node]));
        places.extend(open.iter().copied().filter(opened));
        places.extend(beside);
        self.cut(places)
    }

    /// The section that holds a node, by itself.
    pub fn around(&self, node: usize) -> Excerpt {
        self.cut(self.places[self.of_node[node]].clone())
    }

    /// These places, and the hoses that lend them diameters.
    fn cut(&self, mut places: Vec<usize>) -> Excerpt {
        let ends = |place: usize| [self.layout.places[place].from, self.layout.places[place].to];
        let lenders: Vec<usize> = places.iter().filter_map(|&place| self.layout.diameter_from()[place]).collect();
        places.extend(lenders);
        places.sort_unstable();
        places.dedup();
        let mut nodes: Vec<usize> = places.iter().flat_map(|&place| ends(place)).collect();
        nodes.sort_unstable();
        nodes.dedup();
        let is_whole = places.len() == self.layout.places.len() && nodes.len() == self.layout.number_of_nodes;
        let layout = if is_whole { Arc::clone(&self.layout) } else { Arc::new(self.layout.excerpt(&places, &nodes)) };
        Excerpt { layout, places, nodes }
    }

    /// How many sections there are.
    pub(super) fn count(&self) -> usize {
        self.places.len()
    }

    /// The section of a node.
    pub(crate) fn of_node(&self, node: usize) -> usize {
        self.of_node[node]
    }

    /// Whether a source is in a section.
    pub(super) fn is_fed(&self, section: usize) -> bool {
        self.fed.contains(&section)
    }

    /// The sections that sources reach through these valves.
    fn reached(&self, open: &[usize]) -> HashSet<usize> {
        let mut beyond: HashMap<usize, Vec<usize>> = HashMap::new();
        for &valve in open {
            let joint = &self.layout.places[valve];
            let (from, to) = (self.of_node[joint.from], self.of_node[joint.to]);
            beyond.entry(from).or_default().push(to);
            beyond.entry(to).or_default().push(from);
        }
        let mut reached: HashSet<usize> = self.fed.iter().copied().collect();
        let mut ahead: Vec<usize> = reached.iter().copied().collect();
        while let Some(section) = ahead.pop() {
            for &next in beyond.get(&section).into_iter().flatten() {
                if reached.insert(next) {
                    ahead.push(next);
                }
            }
        }
        reached
    }
}

impl Excerpt {
    /// The garden of it, with the parameters of a garden of the same layout.
    pub fn garden(&self, whole: &Garden) -> Garden {
        if self.places.len() == whole.parts().len() {
            return whole.with_laid(Arc::clone(&self.layout), whole.shared_parts());
        }
        let parts: Vec<_> = self.places.iter().map(|&place| Arc::clone(&whole.parts()[place])).collect();
        whole.with_laid(Arc::clone(&self.layout), Arc::new(parts))
    }

    /// The places in the whole garden of its places, in order.
    pub fn places(&self) -> &[usize] {
        &self.places
    }

    /// The place in the whole garden of a place of the excerpt.
    pub fn whole(&self, place: usize) -> usize {
        self.places[place]
    }

    /// The nodes in the whole garden of the nodes of the excerpt, in order.
    pub fn nodes(&self) -> &[usize] {
        &self.nodes
    }

    /// The node in the excerpt of a node of the whole garden; none where it is left out.
    pub fn node(&self, whole: usize) -> Option<usize> {
        self.nodes.binary_search(&whole).ok()
    }

    /// The place in the excerpt of a place of the whole garden; none where it is left out.
    pub fn place(&self, whole: usize) -> Option<usize> {
        self.places.binary_search(&whole).ok()
    }
}

impl Layout {
    /// The layout of some of its places, with these nodes; both in order. What lends a diameter and is left out lends none.
    fn excerpt(&self, places: &[usize], nodes: &[usize]) -> Layout {
        // A node that is missing would be numbered after all others; the nodes are the ends of the places.
        let node = |whole: usize| nodes.partition_point(|&known| known < whole);
        let cut = |&place: &usize| {
            let Place { name, from, to } = &self.places[place];
            Place { name: Arc::clone(name), from: node(*from), to: node(*to) }
        };
        let lenders = places.iter().map(|&place| self.diameter_from()[place].and_then(|hose| places.binary_search(&hose).ok()));
        let kinds = places.iter().map(|&place| self.kinds()[place]).collect();
        let place = |whole: usize| places.binary_search(&whole).ok();
        // A drive that is not whole in it holds nothing.
        let drives =
            self.drives.iter().filter_map(|drive| Some(Driven { place: place(drive.place)?, booster: place(drive.booster)? }));
        let mut excerpt =
            Layout::of_places(places.iter().map(cut).collect(), kinds, nodes.len(), Lenders::Known(lenders.collect()));
        excerpt.drives = drives.collect();
        excerpt
    }
}

/// The section of each node: nodes that parts in line join belong together.
fn sections(layout: &Layout, is_valve: impl Fn(usize) -> bool) -> Vec<usize> {
    const NONE: usize = usize::MAX;
    let mut of_node = vec![NONE; layout.number_of_nodes];
    let mut count = 0;
    for start in 0..layout.number_of_nodes {
        if of_node[start] != NONE {
            continue;
        }
        of_node[start] = count;
        let mut ahead = vec![start];
        while let Some(node) = ahead.pop() {
            for &place in layout.joined()[node].iter().filter(|&&place| !is_valve(place)) {
                for next in [layout.places[place].from, layout.places[place].to] {
                    if of_node[next] == NONE {
                        of_node[next] = count;
                        ahead.push(next);
                    }
                }
            }
        }
        count += 1;
    }
    of_node
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::{Kind, Part};

    /// A tap, a feed, a valve before all, and two zones downstream of it; the node numbers follow the order of joining.
    fn two_zones() -> Garden {
        let named = |kind: Kind, name: &str| Part::new(kind).named(name).expect("a good name");
        let (hose, valve, head) = (Kind::Hose, Kind::Valve, Kind::Head);
        let parts = vec![
            named(Kind::Supply, "tap"),
            named(hose, "feed"),
            named(valve, "main"),
            named(valve, "a"),
            named(hose, "line of a"),
            named(head, "head of a"),
            named(valve, "b"),
            named(hose, "line of b"),
            named(head, "head of b"),
        ];
        let joints = [(0, 0), (0, 1), (1, 2), (2, 3), (3, 4), (4, 4), (2, 5), (5, 6), (6, 6)];
        Garden::from_joints(parts, &joints).expect("joins")
    }

    fn names(garden: &Garden, open: &[&str], beside: &[&str]) -> Vec<String> {
        let places = |names: &[&str]| names.iter().map(|name| garden.find(name).expect("known")).collect::<Vec<_>>();
        let cut = Sections::of(garden).excerpt(&places(open), &places(beside)).garden(garden);
        (0..cut.parts().len()).map(|place| cut.name(place).to_string()).collect()
    }

    #[test]
    fn an_excerpt_ends_at_shut_valves() {
        let garden = two_zones();
        assert_eq!(names(&garden, &["main", "b"], &[]), ["tap", "feed", "main", "b", "line of b", "head of b"]);
        assert_eq!(names(&garden, &["b"], &[]), ["tap", "feed"], "the valve before all is shut");
    }

    #[test]
    fn what_is_asked_for_is_there_without_water() {
        let garden = two_zones();
        assert_eq!(
            names(&garden, &[], &["head of a"]),
            ["tap", "feed", "line of a", "head of a"],
            "a head beside its hose, for the diameter"
        );
    }

    #[test]
    fn places_and_nodes_are_found_both_ways() {
        let garden = two_zones();
        let [main, b, head] = ["main", "b", "head of b"].map(|name| garden.find(name).expect("known"));
        let excerpt = Sections::of(&garden).excerpt(&[main, b], &[]);
        let cut = excerpt.garden(&garden);
        for place in 0..cut.parts().len() {
            let whole = excerpt.whole(place);
            assert_eq!(cut.name(place), garden.name(whole));
            assert_eq!(excerpt.place(whole), Some(place));
            let node = cut.layout().places[place].to;
            assert_eq!(excerpt.nodes()[node], garden.layout().places[whole].to);
            let lends = cut.layout().diameter_from()[place].map(|hose| excerpt.whole(hose));
            assert_eq!(lends, garden.layout().diameter_from()[whole]);
        }
        assert_eq!(excerpt.place(garden.find("a").expect("known")), None);
        assert_eq!(cut.find("head of b").expect("known"), excerpt.place(head).expect("kept"));
    }
}
