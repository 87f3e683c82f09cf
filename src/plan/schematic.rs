//! The scheme of a network without places: layers by distance from the supply, rows by branch.
//!
//! Every line gets the longest way from a supply as its layer (Sugiyama's layering); a spanning tree of the lines is laid
//! out compactly by the outlines of its branches, layer by layer (after Reingold and Tilford 1981, from memory); what is
//! left, the lines that close loops or bring a second supply, runs along a row of its own and drops into its node.

use super::numbers::Numbers;
use super::view::View;
use crate::figure::{Activity, Ground, Map, Route, Seat, Symbol, Water};
use crate::parts::Placing;

/// Where a short side line to a part at a point ends, in layers after its node.
const STUB: f64 = 0.32;
/// How far before its node a closing line drops, in layers; the next ones drop a little earlier.
const DROP: f64 = 0.1;

/// Something that leaves a node in the drawing.
#[derive(Clone, Copy, Debug)]
enum Item {
    /// An inline part to a node below it in the tree.
    Branch { place: usize, node: usize },
    /// An inline part to a node elsewhere in the tree.
    Closing { place: usize, node: usize },
    /// A part that sits at the node, on a short side line.
    Side { place: usize },
}

/// The tree of the drawing.
struct Tree {
    layers: Vec<usize>,
    roots: Vec<usize>,
    items: Vec<Vec<Item>>,
    /// Parts drawn at the node itself: a source at its start or a single outlet at its end.
    seated: Vec<Option<usize>>,
}

/// Rows of a part of the tree, relative to its root, and its outline: lowest and highest row in each layer.
struct Block {
    nodes: Vec<(usize, f64)>,
    /// Rows of closing and side lines by their part.
    lines: Vec<(usize, f64)>,
    outline: Vec<Option<(f64, f64)>>,
}

pub(super) fn lay_out(view: &View, numbers: &Numbers) -> Map {
    let tree = Tree::of(view);
    let mut sheet = Block::empty();
    for root in &tree.roots {
        sheet.below(tree.block(*root));
    }
    let layout = view.garden.layout();
    let mut rows = vec![0.0; layout.number_of_nodes];
    let mut line_rows = vec![0.0; layout.places.len()];
    sheet.nodes.iter().for_each(|(node, row)| rows[*node] = *row);
    sheet.lines.iter().for_each(|(place, row)| line_rows[*place] = *row);
    let map = Map::empty(Ground::Grid);
    let mut drawing = Drawing { view, numbers, tree: &tree, rows, line_rows, map, drops: vec![0; layout.number_of_nodes] };
    for node in 0..layout.number_of_nodes {
        drawing.node(node);
    }
    drawing.map
}

impl Tree {
    fn of(view: &View) -> Tree {
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
        Tree { layers, roots, items, seated }
    }

    /// The rows of all that is below a node.
    fn block(&self, node: usize) -> Block {
        let layer = self.layers[node];
        let mut block = Block::empty();
        let mut own = Vec::new();
        for item in &self.items[node] {
            let child = match *item {
                Item::Branch { node: next, .. } => {
                    let mut child = self.block(next);
                    child.cover(layer + 1, self.layers[next], 0.0);
                    child
                }
                Item::Closing { place, node: next } => {
                    let (first, last) = (self.layers[next].min(layer), self.layers[next].max(layer + 1));
                    Block::line(place, first + usize::from(first == layer), last)
                }
                Item::Side { place } => Block::line(place, layer + 1, layer + 1),
            };
            own.push((matches!(item, Item::Branch { .. }), block.below(child)));
        }
        let main: Vec<f64> = own.iter().filter(|(branch, _)| *branch).map(|(_, row)| *row).collect();
        let all: Vec<f64> = own.iter().map(|(_, row)| *row).collect();
        let middle = |rows: &[f64]| rows.first().zip(rows.last()).map(|(first, last)| 0.5 * (first + last));
        let row = match (middle(&main), all.first()) {
            (Some(row), _) => row,
            (None, Some(first)) => *first,
            (None, None) => 0.0,
        };
        let (low, high) = all.iter().fold((row, row), |(low, high), row| (low.min(*row), high.max(*row)));
        block.nodes.push((node, row));
        block.cover(layer, layer, low);
        block.cover(layer, layer, high);
        // The label of what is seated at the end of a line reaches into the next layer, at the start into the one before.
        if self.items[node].is_empty() {
            block.cover(layer, layer + 1, row);
        } else if self.seated[node].is_some() {
            block.cover(layer.saturating_sub(1), layer, row);
        }
        block.shift(-row);
        block
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

impl Block {
    fn empty() -> Block {
        Block { nodes: Vec::new(), lines: Vec::new(), outline: Vec::new() }
    }

    fn line(place: usize, first: usize, last: usize) -> Block {
        let mut block = Block { lines: vec![(place, 0.0)], ..Block::empty() };
        block.cover(first, last, 0.0);
        block
    }

    fn cover(&mut self, first: usize, last: usize, row: f64) {
        if self.outline.len() <= last {
            self.outline.resize(last + 1, None);
        }
        for layer in &mut self.outline[first..=last] {
            *layer = Some(layer.map_or((row, row), |(low, high)| (low.min(row), high.max(row))));
        }
    }

    fn shift(&mut self, by: f64) {
        self.nodes.iter_mut().chain(&mut self.lines).for_each(|(_, row)| *row += by);
        self.outline.iter_mut().flatten().for_each(|(low, high)| (*low, *high) = (*low + by, *high + by));
    }

    /// Puts another block below, as near as their outlines allow; returns the row its root has got.
    fn below(&mut self, mut other: Block) -> f64 {
        let pairs =
            self.outline.iter().zip(&other.outline).filter_map(|(mine, its)| Some(mine.as_ref()?.1 - its.as_ref()?.0 + 1.0));
        let by = pairs.fold(f64::NEG_INFINITY, f64::max);
        let by = if by.is_finite() { by } else { 0.0 };
        other.shift(by);
        for (layer, reach) in other.outline.iter().enumerate() {
            if let Some((low, high)) = reach {
                self.cover(layer, layer, *low);
                self.cover(layer, layer, *high);
            }
        }
        self.nodes.extend(other.nodes);
        self.lines.extend(other.lines);
        by
    }
}

/// The map in the making.
struct Drawing<'a> {
    view: &'a View<'a>,
    numbers: &'a Numbers,
    tree: &'a Tree,
    rows: Vec<f64>,
    line_rows: Vec<f64>,
    map: Map,
    /// Closing lines that dropped into each node up to now.
    drops: Vec<usize>,
}

impl Drawing<'_> {
    fn at(&self, node: usize) -> (f64, f64) {
        (self.tree.layers[node] as f64, self.rows[node])
    }

    fn node(&mut self, node: usize) {
        let (x, y) = self.at(node);
        let items = &self.tree.items[node];
        if let Some(place) = self.tree.seated[node] {
            let seat = if self.view.placing(place) == Placing::Source { Seat::AtStart } else { Seat::AtEnd };
            self.symbol(place, (x, y), seat);
        }
        let mut leaves = Vec::new();
        for item in items {
            let row = match *item {
                Item::Branch { place, node: next } => {
                    let end = self.at(next);
                    self.route(place, vec![(x, y), (x, end.1), end]);
                    self.symbol(place, (x + 0.5, end.1), Seat::OnLine);
                    end.1
                }
                Item::Closing { place, node: next } => {
                    let (row, end) = (self.line_rows[place], self.at(next));
                    let drop = end.0 - DROP - 0.06 * self.drops[next] as f64;
                    self.drops[next] += 1;
                    self.route(place, vec![(x, y), (x, row), (drop, row), (drop, end.1), end]);
                    self.map.tees.push((drop, end.1));
                    self.symbol(place, (if drop > x { x + 0.45 } else { x - 0.5 }, row), Seat::OnLine);
                    row
                }
                Item::Side { place } => {
                    let row = self.line_rows[place];
                    self.route(place, vec![(x, y), (x, row), (x + STUB, row)]);
                    self.symbol(place, (x + STUB, row), Seat::AtEnd);
                    row
                }
            };
            leaves.push(row);
        }
        self.tees(node, &leaves);
    }

    /// Dots where lines part: not at the two ends of the upright line they leave.
    fn tees(&mut self, node: usize, leaves: &[f64]) {
        let (x, y) = self.at(node);
        if leaves.len() < 2 {
            return;
        }
        let (low, high) = leaves.iter().fold((y, y), |(low, high), row| (low.min(*row), high.max(*row)));
        let between = leaves.iter().copied().filter(|row| *row > low && *row < high && (row - y).abs() > 1e-9);
        self.map.tees.extend(between.map(|row| (x, row)));
        self.map.tees.push((x, y));
    }

    fn route(&mut self, place: usize, mut points: Vec<(f64, f64)>) {
        points.dedup();
        let water = match self.view.placing(place) {
            Placing::AtPoint if self.view.solution.is_none() => Water::Unknown,
            _ => self.view.water(place),
        };
        self.map.routes.push(Route { points, width: self.view.thickness(place), water });
    }

    fn symbol(&mut self, place: usize, at: (f64, f64), seat: Seat) {
        let shape = self.view.garden.spec(place).symbol;
        let active: Activity = self.view.activity(place);
        let (lines, label) = self.numbers.told(self.view, place, &self.map.ground);
        self.map.symbols.push(Symbol { shape, at, toward: (1.0, 0.0), seat, active, lines, label });
    }
}
