//! What can flow, and how it is connected: links of parts in series between the nodes where water divides.
//!
//! Worked out once for a layout and a set of open valves; it knows the kinds of parts and no numbers.

use super::ends::Ends;
use super::sparse::{Pattern, order};
use super::tree::{Feeder, bridges, feeders};
use crate::garden::walk::reached_from;
use crate::garden::{Garden, Layout};
use crate::hydraulics::tolerances::MANY_NODES;
use crate::parts::Placing;
use std::collections::VecDeque;

/// A part in a link.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinkStep {
    pub place: usize,
    /// True when the link passes it in its own direction.
    pub forward: bool,
}

/// Parts in series between two ends; an end that is no unknown node is the atmosphere.
#[derive(Clone, Debug)]
pub struct Link {
    pub from: Option<usize>,
    pub to: Option<usize>,
    pub steps: Vec<LinkStep>,
    /// The slot of its ends in the matrix, when both are unknown and different.
    pub slot: Option<usize>,
    /// The layout nodes after each step; the last is that of the `to` end, or that of the outlet or source that ends it.
    pub nodes: Vec<usize>,
    /// Its last part is a source: water may come in by its far end too.
    pub ends_in_source: bool,
}

/// How a part without flow passes pressure on.
#[derive(Clone, Copy, Debug)]
pub struct Still {
    pub place: usize,
    pub from_node: usize,
    pub to_node: usize,
    pub forward: bool,
}

/// The structure of a garden for one set of open valves.
#[derive(Debug)]
pub struct Structure {
    pub links: Vec<Link>,
    /// The ends of each link and its slot, close together for the inner loop.
    pub ends: Vec<Ends>,
    /// The tree by which water first reaches each unknown.
    pub feeders: Vec<Feeder>,
    /// The links between unknowns that are no feeders: each closes a loop.
    pub bridges: Vec<u32>,
    /// The layout node of each unknown.
    pub unknowns: Vec<usize>,
    pub pattern: Pattern,
    /// Demands: the unknown and the place.
    pub demands: Vec<(usize, usize)>,
    /// The same by place: the place and the number among the demands, in order.
    demands_by_place: Vec<(usize, usize)>,
    /// Sources without anything to feed: place and node.
    pub idle_sources: Vec<(usize, usize)>,
    /// Legs without flow, in the order in which pressure spreads.
    pub still: Vec<Still>,
    /// For each place the link it is part of.
    pub link_of: Vec<Option<usize>>,
    /// For each layout node: does any source reach it through open parts.
    pub fed: Vec<bool>,
    /// For each place whether its link passes it in its own direction.
    pub forward: Vec<bool>,
    /// For each place whether it is a demand that something feeds.
    pub drawn: Vec<bool>,
    /// For each place whether water leaves the garden there at the pressure of the air; demands take it at any pressure.
    pub outlet: Vec<bool>,
}

impl Structure {
    /// The structure of a garden with these places open.
    pub fn of(garden: &Garden, open: &[bool]) -> Structure {
        Builder::new(garden, open).build()
    }

    /// The number of a place among the demands; none where it is none that something feeds.
    pub fn draw_at(&self, place: usize) -> Option<usize> {
        let at = self.demands_by_place.binary_search_by_key(&place, |&(place, _)| place).ok()?;
        Some(self.demands_by_place[at].1)
    }
}

/// Numbers the unknowns in the order in which they are best eliminated, and puts links in the order of their ends, so that
/// what belongs together lies together in memory. Gives the layout node of each unknown.
fn renumber(links: &mut [Link], unknowns: &[usize]) -> Vec<usize> {
    let is_fed = |link: &&Link| unknowns.len() >= MANY_NODES && (link.from.is_none() || link.ends_in_source);
    let fed = links.iter().filter(is_fed).filter_map(|link| link.to.or(link.from));
    let order = order(unknowns.len(), couples(links), fed);
    let mut place = vec![0; unknowns.len()];
    order.iter().enumerate().for_each(|(position, &unknown)| place[unknown] = position);
    for link in links.iter_mut() {
        link.from = link.from.map(|unknown| place[unknown]);
        link.to = link.to.map(|unknown| place[unknown]);
    }
    links.sort_by_key(|link| match (link.from, link.to) {
        (Some(from), Some(to)) => from.min(to),
        (from, to) => from.or(to).unwrap_or(0),
    });
    order.iter().map(|&unknown| unknowns[unknown]).collect()
}

/// The pairs of unknowns that links couple.
fn couples(links: &[Link]) -> impl Iterator<Item = (usize, usize)> {
    links.iter().filter_map(|link| Some((link.from?, link.to?)))
}

/// One way out of a node.
#[derive(Clone, Copy, Debug)]
struct Exit {
    place: usize,
    /// The node at the other end; none for the atmosphere.
    to: Option<usize>,
    forward: bool,
}

struct Builder<'a> {
    garden: &'a Garden,
    layout: &'a Layout,
    open: &'a [bool],
    exits: Vec<Vec<Exit>>,
    demands_at: Vec<Vec<usize>>,
    fed: Vec<bool>,
}

impl<'a> Builder<'a> {
    fn new(garden: &'a Garden, open: &'a [bool]) -> Builder<'a> {
        let layout = garden.layout();
        let n = layout.number_of_nodes;
        let mut builder =
            Builder { garden, layout, open, exits: vec![Vec::new(); n], demands_at: vec![Vec::new(); n], fed: vec![false; n] };
        builder.find_fed();
        builder.find_exits();
        builder
    }

    fn placing(&self, place: usize) -> Placing {
        self.garden.spec(place).placing
    }

    fn is_outlet(&self, place: usize) -> bool {
        self.placing(place) == Placing::Outlet && !self.garden.spec(place).traits.demands
    }

    /// Marks the nodes that a source reaches through open parts.
    fn find_fed(&mut self) {
        // A source that is closed feeds nothing.
        let open = (0..self.open.len()).filter(|&place| self.open[place] && self.placing(place) == Placing::Source);
        let nodes: Vec<usize> = open.map(|place| self.layout.places[place].to).collect();
        self.fed = reached_from(self.garden, nodes, |place, _| self.open[place]);
    }

    fn find_exits(&mut self) {
        for (place, joint) in self.layout.places.iter().enumerate() {
            let inline = self.placing(place) == Placing::Inline;
            if !self.fed[joint.from] || !self.open[place] || (inline && joint.from == joint.to) {
                continue;
            }
            match self.placing(place) {
                Placing::Inline => {
                    self.exits[joint.from].push(Exit { place, to: Some(joint.to), forward: true });
                    self.exits[joint.to].push(Exit { place, to: Some(joint.from), forward: false });
                }
                Placing::Source => self.exits[joint.to].push(Exit { place, to: None, forward: false }),
                Placing::Outlet if self.garden.spec(place).traits.demands => self.demands_at[joint.from].push(place),
                Placing::Outlet => self.exits[joint.from].push(Exit { place, to: None, forward: true }),
                Placing::AtPoint => {}
            }
        }
    }

    fn build(mut self) -> Structure {
        let (legs, idle_sources) = self.strip_dead_legs();
        let n = self.layout.number_of_nodes;
        let kept = |builder: &Builder, node: usize| {
            let count = builder.exits[node].len();
            count > 0 && (count != 2 || !builder.demands_at[node].is_empty())
        };
        let unknowns: Vec<usize> = (0..n).filter(|&node| kept(&self, node)).collect();
        let mut number: Vec<Option<usize>> = vec![None; n];
        for (index, &node) in unknowns.iter().enumerate() {
            number[node] = Some(index);
        }
        let mut links = self.chains(&number);
        links.iter_mut().for_each(|link| self.turn(link, &unknowns));
        let unknowns = renumber(&mut links, &unknowns);
        let pattern = Pattern::new(unknowns.len(), couples(&links));
        let mut link_of = vec![None; self.layout.places.len()];
        let mut forward = vec![true; self.layout.places.len()];
        for (index, link) in links.iter_mut().enumerate() {
            link.slot = match (link.from, link.to) {
                (Some(a), Some(b)) if a != b => Some(pattern.slot(a, b)),
                _ => None,
            };
            for step in &link.steps {
                link_of[step.place] = Some(index);
                forward[step.place] = step.forward;
            }
        }
        let ends: Vec<Ends> = links.iter().map(|link| Ends::new(link.from, link.to, link.slot)).collect();
        let feeders = feeders(unknowns.len(), &ends, 0..links.len());
        let bridges = bridges(&ends, &feeders);
        let demands =
            unknowns.iter().enumerate().flat_map(|(index, &node)| self.demands_at[node].iter().map(move |&place| (index, place)));
        let demands: Vec<(usize, usize)> = demands.collect();
        let mut drawn = vec![false; self.layout.places.len()];
        demands.iter().for_each(|&(_, place)| drawn[place] = true);
        let mut demands_by_place: Vec<(usize, usize)> =
            demands.iter().enumerate().map(|(demand, &(_, place))| (place, demand)).collect();
        demands_by_place.sort_unstable();
        Structure {
            links,
            ends,
            feeders,
            bridges,
            unknowns,
            pattern,
            demands,
            demands_by_place,
            idle_sources,
            still: legs,
            link_of,
            forward,
            drawn,
            outlet: (0..self.layout.places.len()).map(|place| self.is_outlet(place)).collect(),
            fed: self.fed,
        }
    }

    /// Takes away legs that end nowhere, so that their flow is exactly nothing; returns them in the order in which pressure
    /// spreads into them, and the sources that are left with nothing to feed.
    fn strip_dead_legs(&mut self) -> (Vec<Still>, Vec<(usize, usize)>) {
        let mut legs = Vec::new();
        let mut idle = Vec::new();
        let mut queue: VecDeque<usize> = (0..self.layout.number_of_nodes).filter(|&node| self.exits[node].len() == 1).collect();
        while let Some(node) = queue.pop_front() {
            if self.exits[node].len() != 1 || !self.demands_at[node].is_empty() {
                continue;
            }
            let exit = self.exits[node][0];
            match exit.to {
                Some(other) if other != node => {
                    self.exits[node].clear();
                    self.exits[other].retain(|back| back.place != exit.place);
                    legs.push(Still { place: exit.place, from_node: other, to_node: node, forward: !exit.forward });
                    if self.exits[other].len() == 1 {
                        queue.push_back(other);
                    }
                }
                None if self.placing(exit.place) == Placing::Source => {
                    self.exits[node].clear();
                    idle.push((exit.place, node));
                }
                _ => {}
            }
        }
        legs.reverse();
        (legs, idle)
    }

    /// Follows every way from the kept nodes and sources to the next kept node or the atmosphere.
    fn chains(&self, number: &[Option<usize>]) -> Vec<Link> {
        let mut used = vec![false; self.layout.places.len()];
        let mut links = Vec::new();
        let sources = (0..self.layout.places.len()).filter(|&place| self.placing(place) == Placing::Source);
        for place in sources {
            let node = self.layout.places[place].to;
            if used[place] || !self.exits[node].iter().any(|exit| exit.place == place) {
                continue;
            }
            used[place] = true;
            let start = LinkStep { place, forward: true };
            links.push(self.follow(None, vec![start], vec![node], node, &mut used, number));
        }
        for node in (0..self.layout.number_of_nodes).filter(|&node| number[node].is_some()) {
            for exit in &self.exits[node] {
                if used[exit.place] {
                    continue;
                }
                used[exit.place] = true;
                let first = LinkStep { place: exit.place, forward: exit.forward };
                links.push(match exit.to {
                    None => self.link(number[node], None, vec![first], vec![node]),
                    Some(next) => self.follow(number[node], vec![first], vec![next], next, &mut used, number),
                });
            }
        }
        links
    }

    fn follow(
        &self,
        from: Option<usize>,
        mut steps: Vec<LinkStep>,
        mut nodes: Vec<usize>,
        mut node: usize,
        used: &mut [bool],
        number: &[Option<usize>],
    ) -> Link {
        loop {
            if number[node].is_some() {
                return self.link(from, number[node], steps, nodes);
            }
            let Some(exit) = self.exits[node].iter().find(|exit| !used[exit.place]) else {
                return self.link(from, None, steps, nodes);
            };
            used[exit.place] = true;
            steps.push(LinkStep { place: exit.place, forward: exit.forward });
            let Some(next) = exit.to else {
                nodes.push(node);
                return self.link(from, None, steps, nodes);
            };
            nodes.push(next);
            node = next;
        }
    }

    fn link(&self, from: Option<usize>, to: Option<usize>, steps: Vec<LinkStep>, nodes: Vec<usize>) -> Link {
        let ends_in_source = steps.last().is_some_and(|step| self.placing(step.place) == Placing::Source);
        Link { from, to, steps, slot: None, nodes, ends_in_source: ends_in_source && to.is_none() }
    }

    /// Turns a link so that its one-way parts point forward, and its pumps where there are none.
    ///
    /// Wherever a link was laid from, a node or a source, water may run through it both ways; only an outlet ends it for good.
    fn turn(&self, link: &mut Link, unknowns: &[usize]) {
        if link.to.is_none() && !link.ends_in_source {
            return;
        }
        let balance = |of: &dyn Fn(usize) -> bool| -> i32 {
            let counts = link.steps.iter().filter(|step| of(step.place));
            counts.map(|step| if step.forward { 1 } else { -1 }).sum()
        };
        // Gates decide before drives, and drives before pumps: water can be driven back through a pump, never through a gate, and a pump with
        // a drive stops before.
        let gates = balance(&|place| self.garden.spec(place).is_one_way());
        let driven = balance(&|place| self.garden.drive_of(place).is_some());
        let between_nodes = link.from.is_some() && link.to.is_some();
        let backward = match (gates, driven) {
            (0, 0) => between_nodes && balance(&|place| self.garden.spec(place).traits.pumps) < 0,
            (0, driven) => driven < 0,
            (gates, _) => gates < 0,
        };
        if !backward {
            return;
        }
        // What lies downstream of each step from the other end is what lay before it; before a source, that is its own node.
        let first = link.from.map_or(link.nodes[0], |from| unknowns[from]);
        link.nodes.pop();
        link.nodes.reverse();
        link.nodes.push(first);
        link.steps.reverse();
        link.steps.iter_mut().for_each(|step| step.forward = !step.forward);
        link.ends_in_source = link.from.is_none();
        (link.from, link.to) = (link.to, link.from);
    }
}
