//! From places to pixels: layers and rows wide enough for their labels, or ground to scale; and labels as blocks.

use super::what::{Map, Seat, Symbol, Throw};
use crate::figure::geometry::{Rect, Spot};
use crate::figure::palette::{AXIS, INK, PAPER, QUIET};
use crate::figure::scene::{Anchor, LABEL_SIZE, NOTE_SIZE, Scene, Shape, Text};
use crate::figure::text::{Weight, tidy, width};
use crate::figure::ticks::number;
use crate::parts::SymbolShape;

/// Room at the edge of the sheet.
const EDGE: f64 = 16.0;
/// Height of a line of a label.
const LINE: f64 = 16.0;
/// Half the size of a symbol, with some room.
const BODY: f64 = 14.0;
/// The plot of real ground is at most so wide and high.
const MOST_REAL: (f64, f64) = (860.0, 680.0);
/// Room around real ground for labels.
const REAL_MARGIN: (f64, f64) = (86.0, 46.0);

/// How places become pixels.
pub(super) trait Projection {
    fn px(&self, place: (f64, f64)) -> Spot;
    /// A direction on the map as a direction on the sheet.
    fn turn(&self, toward: (f64, f64)) -> Spot;
    /// Width of the sheet and the lower edge of the map.
    fn size(&self) -> (f64, f64);
    fn frame(&self) -> Rect;
    /// Draws what belongs to the ground, such as its scale.
    fn furnish(&self, _scene: &mut Scene) {}
    /// What labels should not cover.
    fn furniture(&self) -> Vec<Rect> {
        Vec::new()
    }
}

/// A symbol's label, measured.
pub(super) struct Labelled {
    lines: Vec<String>,
    width: f64,
    /// The symbol is a bare label on its line.
    bare: bool,
}

impl Labelled {
    pub fn new(symbol: &Symbol) -> Labelled {
        let lines: Vec<String> = symbol.lines.iter().map(|line| tidy(line)).filter(|line| !line.is_empty()).collect();
        let sizes = lines.iter().enumerate().map(|(row, line)| width(line, size(row), weight(row)));
        Labelled { width: sizes.fold(0.0, f64::max), bare: symbol.shape == SymbolShape::Bare, lines }
    }

    /// The rectangle of the symbol itself.
    pub fn body(&self, (x, y): Spot) -> Rect {
        Rect { left: x - BODY, top: y - BODY, right: x + BODY, bottom: y + BODY }
    }

    fn height(&self) -> f64 {
        self.lines.len() as f64 * LINE
    }

    /// The label at its seat on a grid.
    pub fn print_seated(&self, seat: Seat, (x, y): Spot, scene: &mut Scene) {
        let top = y - self.height() / 2.0;
        match seat {
            Seat::AtEnd => return self.print_range(0..self.lines.len(), (x + BODY + 2.0, top), Anchor::Start, scene),
            Seat::AtStart => return self.print_range(0..self.lines.len(), (x - BODY - 2.0, top), Anchor::End, scene),
            Seat::OnLine => {}
        }
        let away = if self.bare { 7.0 } else { BODY };
        self.print_range(0..1, (x, y - away - LINE), Anchor::Middle, scene);
        self.print_range(1..self.lines.len(), (x, y + away - 1.0), Anchor::Middle, scene);
    }

    /// Places for the whole block around a symbol, the better ones first.
    pub fn around(&self, (x, y): Spot) -> Vec<Rect> {
        let (w, h) = (self.width, self.height());
        let boxed = |left: f64, top: f64| Rect { left, top, right: left + w, bottom: top + h };
        let first = if self.bare { 6.0 } else { BODY };
        let near = [first, first + 12.0, first + 28.0, first + 46.0];
        let rings = near.into_iter().flat_map(|away| {
            let diagonal = 0.75 * away;
            [
                boxed(x + away, y - h / 2.0),
                boxed(x - away - w, y - h / 2.0),
                boxed(x - w / 2.0, y - away - h),
                boxed(x - w / 2.0, y + away),
                boxed(x + diagonal, y - diagonal - h),
                boxed(x + diagonal, y + diagonal),
                boxed(x - diagonal - w, y - diagonal - h),
                boxed(x - diagonal - w, y + diagonal),
            ]
        });
        rings.collect()
    }

    pub fn print_in(&self, rect: &Rect, scene: &mut Scene) {
        self.print_range(0..self.lines.len(), (rect.left, rect.top), Anchor::Start, scene);
    }

    /// Lines from an upper edge down, each on a strip of paper that keeps lines of the map off.
    fn print_range(&self, range: std::ops::Range<usize>, (x, top): Spot, anchor: Anchor, scene: &mut Scene) {
        for (count, row) in range.enumerate() {
            let Some(line) = self.lines.get(row) else { return };
            let at = (x, top + (count as f64 + 1.0) * LINE - 4.0);
            let mut text = Text::new(line, at, size(row), anchor, if row == 0 { INK } else { QUIET });
            if row == 0 {
                text = text.bold();
            }
            let bounds = text.bounds();
            let rect = Rect { top: bounds.top + 2.0, ..bounds };
            let points = vec![(rect.left, rect.top), (rect.right, rect.top), (rect.right, rect.bottom), (rect.left, rect.bottom)];
            scene.shapes.push(Shape::Veil { points, ink: PAPER, opacity: 0.75 });
            scene.text(text);
        }
    }
}

fn size(row: usize) -> f64 {
    if row == 0 { NAME_SIZE } else { NOTE_SIZE }
}

fn weight(row: usize) -> Weight {
    if row == 0 { Weight::Bold } else { Weight::Regular }
}

/// Layers and rows.
pub(super) struct Grid {
    /// x of each layer; the last entry is the right edge.
    layers: Vec<f64>,
    top: f64,
    row: f64,
    first_row: f64,
    bottom: f64,
}

impl Grid {
    pub fn new(map: &Map, labels: &[Labelled], top: f64) -> Grid {
        let places = || map.routes.iter().flat_map(|route| &route.points).chain(map.symbols.iter().map(|symbol| &symbol.at));
        let last = places().map(|place| place.0).fold(0.0, f64::max).ceil() as usize;
        let mut gaps = vec![44.0_f64; last + 1];
        let mut left = 20.0_f64;
        for (symbol, label) in map.symbols.iter().zip(labels) {
            let layer = (symbol.at.0.floor().max(0.0) as usize).min(last);
            let need = match symbol.seat {
                Seat::OnLine => label.width + 26.0,
                Seat::AtEnd => (label.width + BODY + 16.0) / (1.0 - symbol.at.0.fract()),
                Seat::AtStart => 0.0,
            };
            gaps[layer] = gaps[layer].max(need);
            if symbol.seat == Seat::AtStart {
                let before = label.width + BODY + 4.0;
                match layer {
                    0 => left = left.max(before),
                    _ => gaps[layer - 1] = gaps[layer - 1].max(before + 16.0),
                }
            }
        }
        let most_lines = map.symbols.iter().map(|symbol| symbol.lines.len()).max().unwrap_or(1);
        let row = 46.0 + 14.0 * most_lines as f64;
        let rows = || places().map(|place| place.1);
        let (low, high) = (rows().fold(f64::INFINITY, f64::min), rows().fold(f64::NEG_INFINITY, f64::max));
        let mut layers = vec![EDGE + left];
        for gap in gaps {
            layers.push(layers[layers.len() - 1] + gap);
        }
        let below = BODY + 8.0 + 16.0 * (most_lines.max(2) - 1) as f64;
        let top = top + BODY + LINE + 8.0;
        Grid { layers, top, row, first_row: low, bottom: top + (high - low) * row + below }
    }
}

impl Projection for Grid {
    fn px(&self, (x, y): (f64, f64)) -> Spot {
        let layer = (x.floor().max(0.0) as usize).min(self.layers.len() - 2);
        let (from, to) = (self.layers[layer], self.layers[layer + 1]);
        (from + (x - layer as f64) * (to - from), self.top + (y - self.first_row) * self.row)
    }

    fn turn(&self, toward: (f64, f64)) -> Spot {
        toward
    }

    fn size(&self) -> (f64, f64) {
        ((self.layers[self.layers.len() - 1] + EDGE).max(360.0), self.bottom)
    }

    fn frame(&self) -> Rect {
        Rect { left: 0.0, top: 0.0, right: self.size().0, bottom: self.bottom }
    }
}

/// Ground to scale.
pub(super) struct RealGround {
    unit: String,
    low: (f64, f64),
    /// Pixels for a unit of length.
    per_unit: f64,
    plot: Rect,
}

impl RealGround {
    pub fn new(map: &Map, unit: &str, top: f64) -> RealGround {
        let mut low = (f64::INFINITY, f64::INFINITY);
        let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        let mut include = |(x, y): (f64, f64)| {
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
        };
        map.symbols.iter().for_each(|symbol| include(symbol.at));
        map.routes.iter().flat_map(|route| &route.points).for_each(|place| include(*place));
        map.throws.iter().flat_map(outline).for_each(&mut include);
        map.rain.iter().flat_map(|rain| rain.places()).for_each(&mut include);
        let (wide, high_) = ((high.0 - low.0).max(1e-6), (high.1 - low.1).max(1e-6));
        let room = (MOST_REAL.0 - 2.0 * REAL_MARGIN.0, MOST_REAL.1 - 2.0 * REAL_MARGIN.1);
        let per_unit = (room.0 / wide).min(room.1 / high_);
        let width = (wide * per_unit + 2.0 * REAL_MARGIN.0).max(420.0);
        let top = top + REAL_MARGIN.1;
        let left = (width - wide * per_unit) / 2.0;
        let plot = Rect { left, top, right: width - left, bottom: top + high_ * per_unit };
        RealGround { unit: unit.to_string(), low, per_unit, plot }
    }

    /// Length of the scale bar: a round number of the unit, about a sixth of the ground.
    fn bar(&self) -> f64 {
        let wanted = 120.0 / self.per_unit;
        let power = 10f64.powf(wanted.log10().floor());
        [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|length| *length <= wanted).unwrap_or(power)
    }
}

impl Projection for RealGround {
    fn px(&self, (x, y): (f64, f64)) -> Spot {
        (self.plot.left + (x - self.low.0) * self.per_unit, self.plot.bottom - (y - self.low.1) * self.per_unit)
    }

    fn turn(&self, toward: (f64, f64)) -> Spot {
        (toward.0, -toward.1)
    }

    fn size(&self) -> (f64, f64) {
        (self.plot.right + self.plot.left, self.plot.bottom + REAL_MARGIN.1 + 30.0)
    }

    fn frame(&self) -> Rect {
        let (width, bottom) = self.size();
        Rect { left: 6.0, top: 4.0, right: width - 6.0, bottom: bottom - 36.0 }
    }

    /// A scale bar at the lower left and an arrow to the north at the lower right.
    fn furnish(&self, scene: &mut Scene) {
        let (width, bottom) = self.size();
        let y = bottom - 12.0;
        let (left, right) = (EDGE, EDGE + self.bar() * self.per_unit);
        scene.line(vec![(left, y - 5.0), (left, y), (right, y), (right, y - 5.0)], INK, 1.4);
        let text = format!("{} {}", number(self.bar(), 4), self.unit);
        scene.text(Text::new(text, (right + 8.0, y + 3.0), NOTE_SIZE, Anchor::Start, QUIET));
        let x = width - EDGE - 8.0;
        scene.line(vec![(x, y + 4.0), (x, y - 22.0)], AXIS, 1.4);
        scene.shapes.push(Shape::Area { points: vec![(x, y - 30.0), (x + 5.0, y - 18.0), (x - 5.0, y - 18.0)], ink: INK });
        scene.text(Text::new("north", (x - 9.0, y + 3.0), NOTE_SIZE, Anchor::End, QUIET));
    }

    fn furniture(&self) -> Vec<Rect> {
        let (width, bottom) = self.size();
        vec![Rect { left: width - 70.0, top: bottom - 46.0, right: width, bottom }]
    }
}

/// The rim of the wetted ground; of a sector with its tip at the head.
pub(super) fn outline(throw: &Throw) -> Vec<(f64, f64)> {
    let whole = throw.arc_deg >= 360.0;
    let n_steps = ((throw.arc_deg / 5.0).ceil() as i32).max(2);
    let at = |step: i32| {
        let share = f64::from(step) / f64::from(n_steps) - 0.5;
        let angle = (throw.middle_deg + throw.arc_deg * share).to_radians();
        (throw.center.0 + throw.radius * angle.cos(), throw.center.1 + throw.radius * angle.sin())
    };
    let rim = (0..n_steps + i32::from(!whole)).map(at);
    if whole { rim.collect() } else { std::iter::once(throw.center).chain(rim).collect() }
}

/// Size of the names on a map.
const NAME_SIZE: f64 = LABEL_SIZE - 1.0;
