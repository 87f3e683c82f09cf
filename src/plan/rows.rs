//! The scheme for a narrow page: from top to bottom, one thing below the other, each with its label to the right. What leaves a line runs in the
//! lane to the right of it; lines that close loops or bring a second supply come back at the left.
//!
//! A row is as high as its label. While the rows of a branch are filled, nothing runs in the lanes to the right, so that labels have all
//! the room there.

use super::numbers::Numbers;
use super::tree::{Item, Tree};
use super::view::View;
use crate::figure::{Activity, Ground, InRows, Label, Route, Seat, Symbol, Water};
use crate::parts::{Placing, SymbolShape};

/// Between the labels of two rows, in lines of text.
const BETWEEN: f64 = 0.25;
/// Height of a symbol, in lines of text.
const SYMBOL: f64 = 1.5;
/// Room for a corner without a label, and below a line that turns back.
const CORNER: f64 = 0.75;
/// Before another supply.
const APART: f64 = 0.5;
/// From lane to lane at the left.
const LEFT_LANE: f64 = 0.5;
/// With more lanes than this the largest branch stays in the lane of its line.
const MOST_LANES: usize = 6;

pub(super) fn lay_out(view: &View, numbers: &Numbers, tree: &Tree) -> InRows {
    let n_nodes = view.garden.layout().number_of_nodes;
    let sizes = tree.roots.iter().fold(vec![0; n_nodes], |sizes, root| sized(tree, *root, sizes));
    let lanes = tree.roots.iter().map(|root| depth(tree, *root)).max().unwrap_or(0);
    let rows = InRows::default();
    let (at, closings) = (vec![(0.0, 0.0); n_nodes], Vec::new());
    let mut drawing = Drawing { view, numbers, tree, sizes, straight: lanes > MOST_LANES, rows, at, next: 0.0, closings };
    for root in &tree.roots {
        drawing.root(*root);
    }
    drawing.close();
    drawing.rows
}

/// Numbers of lines below each node.
fn sized(tree: &Tree, node: usize, mut sizes: Vec<usize>) -> Vec<usize> {
    for item in &tree.items[node] {
        if let Item::Branch { node: next, .. } = item {
            sizes = sized(tree, *next, sizes);
            sizes[node] += sizes[*next];
        }
        sizes[node] += 1;
    }
    sizes
}

/// Lanes that a node needs where every branch of a fork has a lane of its own.
fn depth(tree: &Tree, node: usize) -> usize {
    let branches =
        || tree.items[node].iter().filter_map(|item| if let Item::Branch { node, .. } = item { Some(*node) } else { None });
    let more = usize::from(branches().count() > 1);
    branches().map(|next| more + depth(tree, next)).max().unwrap_or(0)
}

/// A line that closes a loop, on its way back: the part, the way from its node, and the node to which it goes.
struct Closing {
    place: usize,
    way: Vec<(f64, f64)>,
    node: usize,
}

/// The rows in the making.
struct Drawing<'a> {
    view: &'a View<'a>,
    numbers: &'a Numbers,
    tree: &'a Tree,
    sizes: Vec<usize>,
    /// The largest branch of a fork stays in the lane of its line.
    straight: bool,
    rows: InRows,
    /// Lane and row of each node.
    at: Vec<(f64, f64)>,
    /// Where the next row begins.
    next: f64,
    closings: Vec<Closing>,
}

impl Drawing<'_> {
    fn root(&mut self, root: usize) {
        if self.next > 0.0 {
            self.next += APART;
        }
        self.seat(root, 0.0);
        self.below(root);
    }

    /// Gives a node its place at the end of what is drawn: that of the part that sits there, or the next row's edge.
    fn seat(&mut self, node: usize, lane: f64) {
        let row = match (self.tree.seated[node], &self.tree.folded[node]) {
            (Some(place), _) => self.symbol(place, lane, (0.0, 1.0)).unwrap_or(self.next),
            (None, Some(outlets)) => self.together(outlets, lane),
            (None, None) => self.next,
        };
        self.at[node] = (lane, row);
    }

    /// Everything that leaves a node.
    fn below(&mut self, node: usize) {
        let items = &self.tree.items[node];
        let mut leaving: Vec<Item> = items.iter().copied().filter(|item| !matches!(item, Item::Branch { .. })).collect();
        let (mut branches, straight) = self.branches(node);
        branches.retain(|item| Some(*item) != straight);
        leaving.extend(branches);
        let last = leaving.len();
        let (x, y) = self.at[node];
        for (index, item) in leaving.into_iter().enumerate() {
            let row = self.leave((x, y), item);
            if index + 1 < last || straight.is_some() {
                self.rows.tees.push((x, row));
            }
        }
        if let Some(Item::Branch { place, node: next }) = straight {
            self.symbol(place, x, (0.0, 1.0));
            self.seat(next, x);
            self.route(place, vec![(x, y), self.at[next]]);
            self.below(next);
        }
    }

    /// The branches of a node, and that which stays in its lane: the only one, or in a deep tree the largest.
    fn branches(&self, node: usize) -> (Vec<Item>, Option<Item>) {
        let all: Vec<Item> = self.tree.items[node].iter().copied().filter(|item| matches!(item, Item::Branch { .. })).collect();
        let size = |item: &&Item| if let Item::Branch { node, .. } = item { self.sizes[*node] } else { 0 };
        let straight = match all[..] {
            [only] => Some(only),
            _ if self.straight => all.iter().max_by_key(size).copied(),
            _ => None,
        };
        (all, straight)
    }

    /// A thing in the lane to the right; returns the row in which it leaves the line.
    fn leave(&mut self, (x, y): (f64, f64), item: Item) -> f64 {
        let right = x + 1.0;
        match item {
            Item::Branch { place, node: next } => {
                let own = self.symbol(place, right, (1.0, 0.0));
                let seated = self.tree.seated[next].is_some() || self.tree.folded[next].is_some();
                let corner = own.or_else(|| (!seated).then(|| self.take(CORNER)));
                self.seat(next, right);
                let row = corner.unwrap_or(self.at[next].1);
                self.route(place, vec![(x, y), (x, row), (right, row), self.at[next]]);
                self.below(next);
                row
            }
            Item::Side { place } => {
                let row = self.symbol(place, right, (1.0, 0.0)).unwrap_or(self.next);
                self.route(place, vec![(x, y), (x, row), (right, row)]);
                row
            }
            Item::Closing { place, node } => {
                let row = self.symbol(place, right, (0.0, 1.0)).unwrap_or_else(|| self.take(CORNER));
                let turn = self.next;
                self.next += CORNER;
                self.closings.push(Closing { place, way: vec![(x, y), (x, row), (right, row), (right, turn)], node });
                row
            }
        }
    }

    /// The lines that close loops, each in a lane of its own at the left; then the leftmost lane is made the first.
    fn close(&mut self) {
        let closings = std::mem::take(&mut self.closings);
        for (index, Closing { place, mut way, node }) in closings.into_iter().enumerate() {
            let (lane, end) = (-LEFT_LANE * (index as f64 + 1.0), self.at[node]);
            let turn = way.last().map_or(end.1, |last| last.1);
            way.extend([(lane, turn), (lane, end.1), end]);
            self.rows.tees.push(end);
            self.route(place, way);
        }
        let least = self.rows.routes.iter().flat_map(|route| &route.points).map(|point| point.0).fold(0.0, f64::min);
        let points = self.rows.routes.iter_mut().flat_map(|route| &mut route.points).chain(&mut self.rows.tees);
        points.chain(self.rows.symbols.iter_mut().map(|symbol| &mut symbol.at)).for_each(|point| point.0 -= least);
    }

    /// The middle of a row of this height.
    fn take(&mut self, height: f64) -> f64 {
        let middle = self.next + height / 2.0;
        self.next += height;
        middle
    }

    /// The part with its label in a row of its own, which is returned; a line without a label needs none.
    fn symbol(&mut self, place: usize, lane: f64, toward: (f64, f64)) -> Option<f64> {
        let shape = self.view.garden.spec(place).symbol;
        let (lines, label) = self.numbers.told(self.view, place, &Ground::Grid);
        let label = match label {
            Label::Number(_) => Label::Lines(self.view.short_lines(place)),
            label => label,
        };
        let n_lines = if let Label::Lines(lines) | Label::Spare(lines) = &label { lines.len() as f64 } else { 0.0 };
        let height = match shape {
            SymbolShape::Bare => n_lines,
            _ => n_lines.max(SYMBOL),
        };
        let row = (height > 0.0).then(|| self.take(height + BETWEEN));
        let at = (lane, row.unwrap_or(self.next));
        let active = self.view.activity(place);
        self.rows.symbols.push(Symbol { shape, at, toward, seat: Seat::AtEnd, active, lines, label });
        row
    }

    /// Outlets that are drawn as one thing, in a row of their own, which is returned.
    fn together(&mut self, outlets: &[usize], lane: f64) -> f64 {
        let shape = self.view.garden.spec(outlets[0]).symbol;
        let (lines, label) = self.numbers.told_together(self.view, outlets);
        let row = self.take(SYMBOL + BETWEEN);
        let (at, toward) = ((lane, row), (0.0, 1.0));
        self.rows.symbols.push(Symbol { shape, at, toward, seat: Seat::AtEnd, active: Activity::Idle, lines, label });
        row
    }

    fn route(&mut self, place: usize, mut points: Vec<(f64, f64)>) {
        points.dedup();
        if points.len() < 2 {
            return;
        }
        let water = match self.view.placing(place) {
            Placing::AtPoint if self.view.solution.is_none() => Water::Unknown,
            _ => self.view.water(place),
        };
        self.rows.routes.push(Route { points, width: self.view.thickness(place), water });
    }
}
