//! Labels of a map, measured: lines of text as a block, where it may stand, and how it is printed.

use super::what::{Label, Seat, Symbol};
use crate::figure::geometry::{Rect, Spot};
use crate::figure::labels::{self, Candidate, MUST};
use crate::figure::palette::{INK, PAPER, QUIET};
use crate::figure::scene::{Anchor, LABEL_SIZE, NOTE_SIZE, Scene, Shape, Text};
use crate::figure::text::{Weight, tidy, width};
use crate::parts::SymbolShape;

/// Height of a line of a label.
pub(super) const LINE: f64 = 16.0;
/// Half the size of a symbol, with some room.
pub(super) const BODY: f64 = 12.0;
/// Half the size of the point on a line that a label without a symbol names.
const ON_LINE: f64 = 4.0;
/// Size of the names on a map.
const NAME_SIZE: f64 = LABEL_SIZE - 1.0;
/// Cost at which a label that is not needed is left out: what covers this many pixels of lines.
const SPARE: f64 = 70.0;
/// How far from their things labels stand.
const RINGS: [f64; 8] = [1.0, 7.0, 14.0, 24.0, 38.0, 56.0, 80.0, 110.0];
/// Where on its line a label without a symbol stands, as shares of the line, the better ones first.
const SHARES: [f64; 5] = [0.5, 0.36, 0.64, 0.22, 0.78];
/// Between places for labels at the edges of the map.
const STEP: f64 = 12.0;

/// A label, measured.
#[derive(Clone, Debug)]
pub(super) struct Tag {
    lines: Vec<String>,
    pub width: f64,
    pub needed: bool,
    /// Its first line is a name.
    named: bool,
    /// The symbol is a bare label on its line.
    pub bare: bool,
}

impl Tag {
    pub fn new(symbol: &Symbol) -> Tag {
        let (lines, needed) = match &symbol.label {
            Label::Lines(lines) => (lines.as_slice(), true),
            Label::Spare(lines) => (lines.as_slice(), false),
            Label::Number(_) | Label::Nothing => (&[][..], false),
        };
        Tag::of(lines, needed, symbol.shape == SymbolShape::Bare)
    }

    pub fn of(lines: &[String], needed: bool, bare: bool) -> Tag {
        let lines: Vec<String> = lines.iter().map(|line| tidy(line)).filter(|line| !line.is_empty()).collect();
        let named = needed || !bare || lines.len() > 1;
        let sizes = lines.iter().enumerate().map(|(row, line)| width(line, size(row), weight(row)));
        Tag { named, width: sizes.fold(0.0, f64::max), needed, bare, lines }
    }

    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    fn count(&self) -> f64 {
        self.lines.len() as f64
    }

    pub fn size(&self) -> (f64, f64) {
        (self.width, self.count() * LINE)
    }

    /// Room that the label and its symbol need above and below the row of a scheme.
    pub fn reach(&self, seat: Seat) -> (f64, f64) {
        if self.is_empty() {
            let body = if self.bare { ON_LINE } else { BODY - 2.5 };
            return (body, body);
        }
        let body = if self.bare { ON_LINE } else { BODY };
        match seat {
            Seat::OnLine => {
                (self.away() + LINE, if self.lines.len() > 1 { self.away() + (self.count() - 1.0) * LINE } else { body })
            }
            Seat::AtEnd | Seat::AtStart => (body.max(self.count() * LINE / 2.0), body.max(self.count() * LINE / 2.0)),
        }
    }

    fn away(&self) -> f64 {
        if self.bare { ON_LINE + 1.0 } else { BODY }
    }

    /// The label at its seat in a scheme.
    pub fn print_seated(&self, seat: Seat, (x, y): Spot, scene: &mut Scene) {
        let top = y - self.count() * LINE / 2.0;
        match seat {
            Seat::AtEnd => return self.print_range(0..self.lines.len(), (x + BODY + 3.0, top), Anchor::Start, scene),
            Seat::AtStart => return self.print_range(0..self.lines.len(), (x - BODY - 3.0, top), Anchor::End, scene),
            Seat::OnLine => {}
        }
        self.print_range(0..1, (x, y - self.away() - LINE), Anchor::Middle, scene);
        self.print_range(1..self.lines.len(), (x, y + self.away() - 1.0), Anchor::Middle, scene);
    }

    /// The label with the places where it may stand on ground to scale, beside its symbol or along its line, or, where it is needed, at
    /// the edges of the map.
    pub fn placed_freely(&self, at: Spot, line: Option<&(Spot, Spot)>, frame: &Rect) -> labels::Label {
        if self.is_empty() {
            return labels::Label { candidates: Vec::new(), worth: 0.0 };
        }
        let mut candidates = Vec::new();
        match line.filter(|_| self.bare) {
            Some((from, to)) => {
                for (rank, share) in SHARES.into_iter().enumerate() {
                    let on_line = (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
                    let places =
                        labels::around(on_line, ON_LINE, self.size(), if self.needed { &RINGS[..] } else { &RINGS[..2] });
                    candidates.extend(places.into_iter().map(|one| Candidate { cost: one.cost + rank as f64, ..one }));
                }
            }
            None => candidates = labels::around(at, BODY, self.size(), if self.needed { &RINGS[..] } else { &RINGS[..3] }),
        }
        if self.needed {
            candidates.extend(self.at_edges(at, frame));
        }
        labels::Label { candidates, worth: if self.needed { MUST } else { SPARE } }
    }

    /// Places along the edges of the map, with leaders.
    fn at_edges(&self, at: Spot, frame: &Rect) -> Vec<Candidate> {
        let (wide, high) = self.size();
        let clear = if self.bare { ON_LINE } else { BODY };
        let boxed = |left: f64, top: f64| {
            let rect = Rect { left, top, right: left + wide, bottom: top + high };
            Candidate { rect, cost: 24.0, leader: Some(labels::leader(at, clear, &rect)) }
        };
        let steps = |length: f64| (0..=(length / STEP).max(0.0) as usize).map(|step| step as f64 * STEP);
        let upright =
            steps(frame.height() - high).flat_map(|y| [frame.left, frame.right - wide].map(|x| boxed(x, frame.top + y)));
        let level = steps(frame.width() - wide).flat_map(|x| [frame.top, frame.bottom - high].map(|y| boxed(frame.left + x, y)));
        upright.chain(level).collect()
    }

    /// The label in a rectangle; its lines end or begin at the thing it names.
    pub fn print_in(&self, rect: &Rect, (x, _): Spot, scene: &mut Scene) {
        let (left, anchor) = if rect.right <= x {
            (rect.right, Anchor::End)
        } else if rect.left >= x {
            (rect.left, Anchor::Start)
        } else {
            ((rect.left + rect.right) / 2.0, Anchor::Middle)
        };
        self.print_range(0..self.lines.len(), (left, rect.top), anchor, scene);
    }

    /// Lines from an upper edge down, each on a strip of paper that keeps lines of the map off.
    fn print_range(&self, range: std::ops::Range<usize>, (x, top): Spot, anchor: Anchor, scene: &mut Scene) {
        for (count, row) in range.enumerate() {
            let Some(line) = self.lines.get(row) else { return };
            let at = (x, top + (count as f64 + 1.0) * LINE - 4.0);
            let mut text = Text::new(line, at, size(row), anchor, if row == 0 && self.named { INK } else { QUIET });
            if row == 0 && self.named {
                text = text.bold();
            }
            let bounds = text.bounds();
            let rect = Rect { top: bounds.top + 2.0, ..bounds };
            let points = vec![(rect.left, rect.top), (rect.right, rect.top), (rect.right, rect.bottom), (rect.left, rect.bottom)];
            scene.shapes.push(Shape::Veil { points, ink: PAPER, opacity: 0.82 });
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
