//! The pieces of which a body is made, and what is sent of one to a page that shows a former one: at best the texts of some cells of a table.

use super::node::Node;
use super::rules::Use;
use crate::visible::visible;
use serde::Serialize;
use std::ops::Range;

/// A piece of a body: a table, a figure, a text.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Where its markup stands in that of the body.
    range: Range<usize>,
    grid: Option<Grid>,
}

/// A table, apart from the texts in its cells.
#[derive(Clone, Debug)]
struct Grid {
    /// Its markup without them.
    frame: String,
    /// Them in the order of the markup; a cell that holds more than a text belongs to the frame.
    cells: Vec<String>,
}

/// The body of these nodes as HTML, and where each of them stands in it.
pub fn body(nodes: &[Node], used: Use) -> (String, Vec<Piece>) {
    let (mut body, mut pieces) = (String::new(), Vec::new());
    for node in nodes {
        let start = body.len();
        body.push_str(&node.write());
        let grid = if used == Use::Live { Grid::of(node) } else { None };
        pieces.push(Piece { range: start..body.len(), grid });
        body.push('\n');
    }
    (body, pieces)
}

impl Grid {
    fn of(node: &Node) -> Option<Grid> {
        let Node::Element { tag: "div", attributes, .. } = node else { return None };
        if attributes.first().is_none_or(|(name, value)| *name != "class" || value != "table") {
            return None;
        }
        let (mut frame, mut cells) = (node.clone(), Vec::new());
        take_cells(&mut frame, &mut cells);
        Some(Grid { frame: frame.write(), cells })
    }
}

/// Takes the texts out of the cells of a table.
fn take_cells(node: &mut Node, cells: &mut Vec<String>) {
    let Node::Element { tag, children, .. } = node else { return };
    if let ("td", [Node::Text(text)]) = (*tag, &mut children[..]) {
        cells.push(visible(&std::mem::take(text)).into_owned());
        return;
    }
    children.iter_mut().for_each(|child| take_cells(child, cells));
}

#[derive(Serialize)]
#[serde(untagged)]
pub enum PieceNews<'a> {
    Whole(&'a str),
    Cells {
        /// How many cells the table has that hold a text alone.
        of: usize,
        cells: Vec<CellText<'a>>,
    },
}

/// The next cell in the order of the markup, or how many of them stay.
#[derive(Serialize)]
#[serde(untagged)]
pub enum CellText<'a> {
    Stay(usize),
    New(&'a str),
}

impl Piece {
    /// Its markup in the body.
    pub fn markup<'a>(&self, body: &'a str) -> &'a str {
        &body[self.range.clone()]
    }

    /// What is sent of it to a page that shows a former piece in its place; both stand in their bodies. Nothing where they are the same.
    pub fn news<'a>(&'a self, body: &'a str, former: (&Piece, &str)) -> Option<PieceNews<'a>> {
        let (markup, (former, former_body)) = (self.markup(body), former);
        if former.markup(former_body) == markup {
            return None;
        }
        match (&self.grid, &former.grid) {
            (Some(grid), Some(before)) if grid.frame == before.frame => Some(cells_news(grid, before)),
            _ => Some(PieceNews::Whole(markup)),
        }
    }

    /// Its markup without the texts in the cells of a table, and these.
    #[cfg(test)]
    pub fn apart(&self, body: &str) -> (String, Vec<String>) {
        match &self.grid {
            Some(grid) => (grid.frame.clone(), grid.cells.clone()),
            None => (self.markup(body).to_string(), Vec::new()),
        }
    }
}

fn cells_news<'a>(grid: &'a Grid, known: &Grid) -> PieceNews<'a> {
    let mut cells = Vec::new();
    for (new, old) in grid.cells.iter().zip(&known.cells) {
        match cells.last_mut() {
            _ if new != old => cells.push(CellText::New(new)),
            Some(CellText::Stay(number)) => *number += 1,
            _ => cells.push(CellText::Stay(1)),
        }
    }
    PieceNews::Cells { of: grid.cells.len(), cells }
}
