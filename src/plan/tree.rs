//! The network as a tree: layers by distance from the supply, and what leaves each node; lines that close loops or bring a second supply are
//! not of the tree.

use super::view::View;
use crate::parts::Placing;

/// Something that leaves a node in the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Item {
    /// An inline part to a node below it in the tree.
    Branch { place: usize, node: usize },
    /// An inline part to a node elsewhere in the tree.
    Closing { place: usize, node: usize },
    /// A part that sits at the node, on a short side line.
    Side { place: usize },
}

/// The tree of the drawing.
pub(super) struct Tree {
    /// The layer of each node.
    pub layers: Vec<usize>,
    /// The nodes where the drawing begins.
    pub roots: Vec<usize>,
    /// What leaves each node.
    pub items: Vec<Vec<Item>>,
    /// Parts drawn at the node itself: a source at its start or a single outlet at its end.
    pub seated: Vec<Option<usize>>,
    /// Outlets that are drawn as one thing at the node, with the lines to them.
    pub folded: Vec<Option<Vec<usize>>>,
}

/// At least this number of outlets are drawn as one thing.
const FEWEST_FOLDED: usize = 4;

impl Tree {
    pub fn of(view: &View) -> Tree {
        let layout = view.garden.layout();
        let n_nodes = layout.number_of_nodes;
        let mut onward: Vec<Vec<usize>> = vec![Vec::new(); n_nodes];
        for place in view.all(Placing::Inline) {
            onward[layout.places[place].from].push(place);
        }
        let to = |place: usize| layout.places[place].to;
        let mut starts: Vec<usize> = view.all(Placing::Source).map(to).chain(layout.inlet).collect();
        let mut fed: Vec<bool> = vec![false; n_nodes];
        view.all(Placing::Inline).for_each(|place| fed[to(place)] = true);
        starts.extend((0..n_nodes).filter(|node| !fed[*node]));
        starts.extend(0..n_nodes);
        let order = Order::of(&starts, &onward, &to);
        let layers = order.layers(&onward, &to, starts.first().copied());

        // Each node belongs to the line that comes from the nearest layer before it.
        let mut parent: Vec<Option<usize>> = vec![None; n_nodes];
        for place in view.all(Placing::Inline).filter(|place| !order.backward[*place]) {
            let from = |place: usize| layers[layout.places[place].from];
            let better = parent[to(place)].is_none_or(|other| from(place) > from(other));
            if better {
                parent[to(place)] = Some(place);
            }
        }
        let mut items: Vec<Vec<Item>> = vec![Vec::new(); n_nodes];
        for node in 0..n_nodes {
            let hangs = |place: &usize| parent[to(*place)] == Some(*place);
            items[node].extend(onward[node].iter().copied().filter(hangs).map(|place| Item::Branch { place, node: to(place) }));
            let closes = |place: &usize| parent[to(*place)] != Some(*place);
            items[node].extend(onward[node].iter().copied().filter(closes).map(|place| Item::Closing { place, node: to(place) }));
        }
        let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); n_nodes];
        (0..layout.places.len())
            .filter(|place| view.placing(*place) != Placing::Inline)
            .for_each(|place| at_node[to(place)].push(place));
        let mut seated = vec![None; n_nodes];
        for (node, here) in at_node.iter().enumerate() {
            let source = here.iter().copied().find(|place| view.placing(*place) == Placing::Source && parent[node].is_none());
            let alone = here.first().copied().filter(|_| here.len() == 1 && items[node].is_empty());
            seated[node] = source.or(alone);
            items[node]
                .extend(here.iter().copied().filter(|place| seated[node] != Some(*place)).map(|place| Item::Side { place }));
        }
        let mut roots: Vec<usize> = Vec::new();
        for start in starts.into_iter().filter(|node| parent[*node].is_none()) {
            if !roots.contains(&start) {
                roots.push(start);
            }
        }
        Tree { layers, roots, items, seated, folded: vec![None; n_nodes] }
    }

    /// The tree with outlets of a sort as one thing where only lines lead to several of them from a node.
    pub fn with_folded(mut self, view: &View, sort: &[bool]) -> Tree {
        let mut closes_on = vec![false; self.items.len()];
        for item in self.items.iter().flatten() {
            if let Item::Closing { node, .. } = item {
                closes_on[*node] = true;
            }
        }
        let mut ahead = self.roots.clone();
        while let Some(node) = ahead.pop() {
            match self.outlets_alone(view, node, sort, &closes_on).filter(|(_, outlets)| outlets.len() >= FEWEST_FOLDED) {
                Some((nodes, mut outlets)) => {
                    for below in nodes {
                        self.items[below].clear();
                        self.seated[below] = None;
                    }
                    outlets.sort_unstable();
                    self.folded[node] = Some(outlets);
                }
                None => ahead.extend(self.items[node].iter().filter_map(Item::end)),
            }
        }
        self
    }

    /// The nodes at and below a node, and the outlets there; nothing where something else than lines and outlets of the sort is there.
    fn outlets_alone(&self, view: &View, node: usize, sort: &[bool], closes_on: &[bool]) -> Option<(Vec<usize>, Vec<usize>)> {
        let (mut nodes, mut outlets) = (vec![node], Vec::new());
        let mut at = 0;
        while let Some(&node) = nodes.get(at) {
            at += 1;
            if closes_on[node] {
                return None;
            }
            outlets.extend(self.seated[node]);
            for item in &self.items[node] {
                match *item {
                    Item::Branch { place, node: next } if view.is_run(place) => nodes.push(next),
                    Item::Side { place } => outlets.push(place),
                    _ => return None,
                }
            }
        }
        outlets.iter().all(|place| sort[*place]).then_some((nodes, outlets))
    }
}

impl Item {
    /// The node below, for an item of the tree.
    fn end(&self) -> Option<usize> {
        if let Item::Branch { node, .. } = self { Some(*node) } else { None }
    }
}

/// An order of nodes in which lines lead onward, and the lines that would lead back.
struct Order {
    sequence: Vec<usize>,
    backward: Vec<bool>,
}

impl Order {
    fn of(starts: &[usize], onward: &[Vec<usize>], to: &dyn Fn(usize) -> usize) -> Order {
        let n_places = onward.iter().flatten().max().map_or(0, |place| place + 1);
        let mut order = Order { sequence: Vec::new(), backward: vec![false; n_places] };
        let mut state = vec![0u8; onward.len()];
        for start in starts {
            if state[*start] == 0 {
                order.visit(*start, onward, to, &mut state);
            }
        }
        order.sequence.reverse();
        order
    }

    fn visit(&mut self, node: usize, onward: &[Vec<usize>], to: &dyn Fn(usize) -> usize, state: &mut [u8]) {
        state[node] = 1;
        for place in &onward[node] {
            match state[to(*place)] {
                0 => self.visit(to(*place), onward, to, state),
                1 => self.backward[*place] = true,
                _ => {}
            }
        }
        state[node] = 2;
        self.sequence.push(node);
    }

    /// The longest way from a start; what only other starts than the first reach stands close before what it feeds.
    fn layers(&self, onward: &[Vec<usize>], to: &dyn Fn(usize) -> usize, first: Option<usize>) -> Vec<usize> {
        let mut layers = vec![0usize; onward.len()];
        let mut from_first = vec![false; onward.len()];
        first.into_iter().for_each(|node| from_first[node] = true);
        for node in &self.sequence {
            for place in onward[*node].iter().filter(|place| !self.backward[**place]) {
                layers[to(*place)] = layers[to(*place)].max(layers[*node] + 1);
                from_first[to(*place)] |= from_first[*node];
            }
        }
        for node in self.sequence.iter().rev().filter(|node| !from_first[**node]) {
            let ahead = onward[*node].iter().filter(|place| !self.backward[**place]).map(|place| layers[to(*place)]).min();
            layers[*node] = ahead.map_or(layers[*node], |ahead| ahead - 1);
        }
        layers
    }
}
