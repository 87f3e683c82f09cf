//! A scheme: layers and rows, wide and high enough for their labels; the rows of the table beside their things where each has its own.
//! Or, for a narrow page, lanes and lines of text.

use super::ground::EDGE;
use super::projection::Projection;
use super::roster::{HEAD_HEIGHT, Table};
use super::tag::{BODY, LINE, Tag};
use super::what::{Label, Map, Seat};
use crate::figure::geometry::Spot;

/// Between things above each other.
const BETWEEN: f64 = 4.0;
/// Rows of the table are at least this far from each other.
const LEAST_ROW: f64 = 18.0;
/// Layers without labels.
const LEAST_GAP: f64 = 30.0;
/// From lane to lane where every label stands right of its symbol.
const LANE: f64 = 24.0;

/// Layers and rows.
pub(super) struct Scheme {
    /// x of each layer; the last entry is the right edge.
    layers: Vec<f64>,
    top: f64,
    row: f64,
    first_row: f64,
    head_top: f64,
    pub bottom: f64,
    pub width: f64,
    /// The labels of the symbols; spare ones are empty where they would make the sheet too wide.
    pub tags: Vec<Tag>,
    /// Where the rows of the table begin that stand beside their things.
    pub rows_left: Option<f64>,
}

impl Scheme {
    /// The scheme below an upper edge; with the rows of the table beside their things where all of them have rows of their own.
    pub fn new(map: &Map, top: f64, table: Option<&Table>) -> Scheme {
        let tags: Vec<Tag> = map.symbols.iter().map(Tag::new).collect();
        let beside = table.filter(|_| rows_are_apart(map));
        let scheme = Scheme::of(map, tags, top, beside);
        if scheme.width <= f64::from(map.width) {
            return scheme;
        }
        let spare = |symbol: &super::what::Symbol| matches!(symbol.label, Label::Spare(_));
        let tag = |symbol| if spare(symbol) { Tag::of(&[], false, true) } else { Tag::new(symbol) };
        Scheme::of(map, map.symbols.iter().map(tag).collect(), top, beside)
    }

    fn of(map: &Map, tags: Vec<Tag>, top: f64, beside: Option<&Table>) -> Scheme {
        let places = || map.routes.iter().flat_map(|route| &route.points).chain(map.symbols.iter().map(|symbol| &symbol.at));
        let last = places().map(|place| place.0).fold(0.0, f64::max).ceil() as usize;
        let mut gaps = vec![LEAST_GAP; last + 1];
        let mut left = 20.0_f64;
        for (symbol, tag) in map.symbols.iter().zip(&tags) {
            let layer = (symbol.at.0.floor().max(0.0) as usize).min(last);
            let need = match symbol.seat {
                Seat::OnLine if tag.is_empty() => {
                    if tag.bare {
                        LEAST_GAP
                    } else {
                        2.0 * BODY + 18.0
                    }
                }
                Seat::OnLine => {
                    let share = symbol.at.0.fract();
                    (tag.width.max(2.0 * BODY) / 2.0 + 12.0) / share.min(1.0 - share).max(0.2)
                }
                Seat::AtEnd if tag.is_empty() => (BODY + 16.0) / (1.0 - symbol.at.0.fract()),
                Seat::AtEnd => (tag.width + BODY + 18.0) / (1.0 - symbol.at.0.fract()),
                Seat::AtStart => 0.0,
            };
            gaps[layer] = gaps[layer].max(need);
            if symbol.seat == Seat::AtStart {
                let before = tag.width + BODY + 6.0;
                match layer {
                    0 => left = left.max(before),
                    _ => gaps[layer - 1] = gaps[layer - 1].max(before + 16.0),
                }
            }
        }
        let mut layers = vec![EDGE + left];
        for gap in gaps {
            layers.push(layers[layers.len() - 1] + gap);
        }
        let rows = || places().map(|place| place.1);
        let (low, high) = (rows().fold(f64::INFINITY, f64::min), rows().fold(f64::NEG_INFINITY, f64::max));
        let (mut width, mut rows_left) = (layers[layers.len() - 1] + EDGE, None);
        let mut head = 0.0;
        if let Some(table) = beside {
            let farthest = numbered(map).map(|symbol| symbol.at.0).fold(0.0, f64::max);
            let scheme = Scheme {
                layers: layers.clone(),
                top,
                row: 1.0,
                first_row: low,
                head_top: top,
                bottom: top,
                width,
                tags: Vec::new(),
                rows_left,
            };
            let from = scheme.px((farthest, low)).0 + BODY + 12.0;
            rows_left = Some(from);
            width = width.max(from + table.width() + EDGE);
            head = HEAD_HEIGHT;
        }
        let mut scheme = Scheme {
            layers,
            top,
            row: 1.0,
            first_row: low,
            head_top: top,
            bottom: top,
            width: width.max(360.0),
            tags,
            rows_left,
        };
        scheme.row = scheme.pitch(map);
        let (above, below) = scheme.reach_beyond(map, (low, high));
        scheme.top = top + head + above + 4.0;
        let first_numbered = numbered(map).map(|symbol| symbol.at.1).fold(f64::INFINITY, f64::min);
        scheme.head_top = scheme.px((0.0, first_numbered)).1 - LEAST_ROW / 2.0 - HEAD_HEIGHT - 2.0;
        scheme.bottom = scheme.top + (high - low) * scheme.row + below + 8.0;
        scheme
    }

    /// Lanes and lines of text: the rows are as far apart as the labels need.
    pub fn in_rows(map: &Map, top: f64) -> Scheme {
        let tags: Vec<Tag> = map.symbols.iter().map(Tag::new).collect();
        let places = || map.routes.iter().flat_map(|route| &route.points).chain(map.symbols.iter().map(|symbol| &symbol.at));
        let last = places().map(|place| place.0).fold(0.0, f64::max).ceil() as usize;
        let layers: Vec<f64> = (0..=last + 1).map(|lane| EDGE + BODY + LANE * lane as f64).collect();
        let ends = |row: fn(&(f64, f64)) -> f64| {
            let rows = || places().map(row);
            (rows().fold(f64::INFINITY, f64::min), rows().fold(f64::NEG_INFINITY, f64::max))
        };
        let (low, high) = ends(|place| place.1);
        let mut scheme =
            Scheme { layers, top, row: LINE, first_row: low, head_top: top, bottom: top, width: 0.0, tags, rows_left: None };
        let labels = map.symbols.iter().zip(&scheme.tags).map(|(symbol, tag)| scheme.px(symbol.at).0 + BODY + 3.0 + tag.width);
        scheme.width = labels.fold(0.0, f64::max) + EDGE;
        let (above, below) = scheme.reach_beyond(map, (low, high));
        scheme.top = top + above + 4.0;
        scheme.bottom = scheme.top + (high - low) * scheme.row + below + 8.0;
        scheme
    }

    /// How far things reach above the first and below the last row.
    fn reach_beyond(&self, map: &Map, (low, high): (f64, f64)) -> (f64, f64) {
        let reach = |at_row: f64, side: fn(&(f64, f64)) -> f64| {
            let here = map.symbols.iter().zip(&self.tags).map(|(symbol, tag)| {
                let away = (symbol.at.1 - at_row).abs() * self.row;
                side(&tag.reach(symbol.seat)) - away
            });
            here.fold(BODY, f64::max)
        };
        (reach(low, |reach| reach.0), reach(high, |reach| reach.1))
    }

    /// The least height of a row at which nothing covers what stands above or below it.
    fn pitch(&self, map: &Map) -> f64 {
        /// What stands on a row: its ends across and its reach up and down.
        struct Standing {
            row: f64,
            ends: (f64, f64),
            reach: (f64, f64),
        }
        let mut all: Vec<Standing> = Vec::new();
        for (symbol, tag) in map.symbols.iter().zip(&self.tags) {
            let x = self.px(symbol.at).0;
            let body = BODY - 2.5;
            let ends = match symbol.seat {
                Seat::OnLine => (x - (tag.width / 2.0).max(body), x + (tag.width / 2.0).max(body)),
                Seat::AtEnd => (x + body, x + BODY + 3.0 + tag.width),
                Seat::AtStart => (x - BODY - 3.0 - tag.width, x - body),
            };
            all.push(Standing { row: symbol.at.1, ends, reach: tag.reach(symbol.seat) });
            if symbol.seat != Seat::OnLine {
                all.push(Standing { row: symbol.at.1, ends: (x - body, x + body), reach: (body, body) });
            }
        }
        if let Some(left) = self.rows_left {
            let rows = || numbered(map).map(|symbol| symbol.at.1);
            let ends = (left, self.width);
            all.extend(rows().map(|row| Standing { row, ends, reach: (LEAST_ROW / 2.0, LEAST_ROW / 2.0) }));
            let head = LEAST_ROW / 2.0 + HEAD_HEIGHT + BETWEEN;
            all.push(Standing { row: rows().fold(f64::INFINITY, f64::min), ends, reach: (head, 0.0) });
        }
        for pair in map.routes.iter().flat_map(|route| route.points.windows(2)).filter(|pair| pair[0].1 == pair[1].1) {
            let (a, b) = (self.px(pair[0]).0, self.px(pair[1]).0);
            all.push(Standing { row: pair[0].1, ends: (a.min(b), a.max(b)), reach: (BETWEEN, BETWEEN) });
        }
        all.sort_by(|a, b| a.row.total_cmp(&b.row));
        let mut pitch = if self.rows_left.is_some() { LEAST_ROW } else { 2.0 * BODY + BETWEEN };
        for (at, below) in all.iter().enumerate() {
            for above in all[..at].iter().rev() {
                let rows = below.row - above.row;
                // Farther rows need less for each.
                if rows * pitch > 9.0 * LINE {
                    break;
                }
                let beside = above.ends.0 < below.ends.1 && below.ends.0 < above.ends.1;
                if rows > 1e-6 && beside {
                    pitch = pitch.max((above.reach.1 + below.reach.0 + BETWEEN) / rows);
                }
            }
        }
        pitch
    }

    /// Upper edge of the heads of the columns, above the first row.
    pub fn head_top(&self) -> f64 {
        self.head_top
    }
}

/// The symbols with a number.
fn numbered(map: &Map) -> impl Iterator<Item = &super::what::Symbol> {
    map.symbols.iter().filter(|symbol| matches!(symbol.label, Label::Number(_)))
}

/// Whether everything that has a number is on a row of its own, to the right of which nothing else stands.
fn rows_are_apart(map: &Map) -> bool {
    let farthest = numbered(map).map(|symbol| symbol.at.0).fold(0.0, f64::max);
    let mut rows: Vec<f64> = numbered(map).map(|symbol| symbol.at.1).collect();
    rows.sort_by(f64::total_cmp);
    let is_last =
        |symbol: &super::what::Symbol| !map.symbols.iter().any(|other| other.at.1 == symbol.at.1 && other.at.0 > symbol.at.0);
    let none_beyond = map.symbols.iter().all(|symbol| symbol.at.0 <= farthest);
    rows.windows(2).all(|pair| pair[1] - pair[0] > 0.99) && none_beyond && numbered(map).all(is_last)
}

impl Projection for Scheme {
    fn px(&self, (x, y): (f64, f64)) -> Spot {
        let layer = (x.floor().max(0.0) as usize).min(self.layers.len() - 2);
        let (from, to) = (self.layers[layer], self.layers[layer + 1]);
        (from + (x - layer as f64) * (to - from), self.top + (y - self.first_row) * self.row)
    }

    fn turn(&self, toward: (f64, f64)) -> Spot {
        toward
    }
}
