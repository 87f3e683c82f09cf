//! The scheme of a network without places: layers by distance from the supply, rows by branch.
//!
//! Every line gets the longest way from a supply as its layer (Sugiyama's layering); a spanning tree of the lines is laid
//! out compactly by the outlines of its branches, layer by layer (after Reingold and Tilford 1981, from memory); what is
//! left, the lines that close loops or bring a second supply, runs along a row of its own and drops into its node.

use super::numbers::Numbers;
use super::tree::{Item, Tree};
use super::view::View;
use crate::figure::{Activity, Ground, Map, Route, Seat, Symbol, Water};
use crate::parts::Placing;

/// Where a short side line to a part at a point ends, in layers after its node.
const STUB: f64 = 0.32;
/// How far before its node a closing line drops, in layers; the next ones drop a little earlier.
const DROP: f64 = 0.1;

/// Rows of a part of the tree, relative to its root, and its outline: lowest and highest row in each layer.
struct Block {
    nodes: Vec<(usize, f64)>,
    /// Rows of closing and side lines by their part.
    lines: Vec<(usize, f64)>,
    outline: Vec<Option<(f64, f64)>>,
}

pub(super) fn lay_out(view: &View, numbers: &Numbers, tree: &Tree) -> Map {
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
    let mut drawing = Drawing { view, numbers, tree, rows, line_rows, map, drops: vec![0; layout.number_of_nodes] };
    for node in 0..layout.number_of_nodes {
        drawing.node(node);
    }
    drawing.map
}

impl Tree {
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
        if self.folded[node].is_some() {
            // The label of its valve has rows of its own, which are as low as those of heads.
            for beside in [row - 1.0, row + 1.0] {
                block.cover(layer.saturating_sub(1), layer + 1, beside);
            }
        } else if self.items[node].is_empty() {
            block.cover(layer, layer + 1, row);
        } else if self.seated[node].is_some() {
            block.cover(layer.saturating_sub(1), layer, row);
        }
        block.shift(-row);
        block
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
        if let Some(outlets) = &self.tree.folded[node] {
            let shape = self.view.garden.spec(outlets[0]).symbol;
            let (lines, label) = self.numbers.told_together(self.view, outlets);
            let (at, toward, seat, active) = ((x, y), (1.0, 0.0), Seat::AtEnd, Activity::Idle);
            self.map.symbols.push(Symbol { shape, at, toward, seat, active, lines, label });
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
