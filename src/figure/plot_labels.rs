//! The labels inside a plot: of marks, of marks beyond the axes, names of points and words along lines. They are collected and placed
//! together, so that none covers another, nor a line where that can be avoided.

use super::axis::MarkedAxis;
use super::description::Callout;
use super::geometry::{Rect, Spot};
use super::labels::{Candidate, Label, Obstacle, Surroundings, around, place};
use super::marks::{Beyond, LABEL_HEIGHT, MarkLine, PAD};
use super::palette::{INK, MARK, MARK_PAPER, QUIET};
use super::scale::Scale;
use super::scene::{Anchor, Ink, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, tidy, widest, width, wrap};
use crate::limits::while_going_on;

/// What is said at the foot where a label has no room.
pub(super) const NO_ROOM: &str = "not every label has room";

/// Kept free around a label, px.
const CLEAR: f64 = 2.0;
/// What it costs to cover a line or a point at all, in pixels of covered line: more than to stand a little apart.
const TOUCH: f64 = 30.0;
/// A label that is asked for is left out only where it would cover another.
const ASKED: f64 = 1e9;
/// What only explains is left out where it would cover more than this.
const EXPLAINS: f64 = 60.0;
/// Places along an edge, and along a line, whose labels must find the gaps between bars.
const PLACES: usize = 16;
const ALONG: usize = 48;
/// Between a line and its label, and how far from it a label may stand with a thin line to it.
const AWAY: f64 = 3.0;
const FAR: [f64; 4] = [21.0, 38.0, 57.0, 80.0];
/// How far from its point a name may stand.
const RINGS: [f64; 6] = [3.5, 9.0, 19.0, 31.0, 48.0, 70.0];
/// A name of at most this width has one line, px.
const SHORT: f64 = 90.0;
/// Height of a line of a name, and the radius of its point.
const NAME_LINE: f64 = 16.0;
const POINT: f64 = 5.0;
/// Room for the arrow of a mark beyond the axis.
const ARROW: f64 = 14.0;

/// What a label is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sort {
    /// A mark across the plot.
    Mark,
    /// A mark beyond the end of an axis: above its upper end or below its lower one.
    Arrow(MarkedAxis, bool),
    /// A point.
    Name,
    /// A line that everybody knows.
    Word,
}

/// A label in the making.
struct PlotLabel {
    /// Its lines, in one or several ways to break it.
    shapes: Vec<Vec<String>>,
    places: Vec<Candidate>,
    /// For each place, which of the shapes stands there.
    shape_at: Vec<usize>,
    /// Its own line, which it may stand on.
    own: Option<Obstacle>,
    sort: Sort,
}

/// The labels of a plot.
pub(super) struct PlotLabels<'p> {
    plot: &'p Rect,
    labels: Vec<PlotLabel>,
}

impl<'p> PlotLabels<'p> {
    pub fn new(plot: &'p Rect) -> PlotLabels<'p> {
        PlotLabels { plot, labels: Vec::new() }
    }

    /// Each mark at its line, the ends first, or a little away from it with a thin line to it.
    pub fn marks(&mut self, marks: &[MarkLine]) {
        for mark in marks {
            let text = wrap(&mark.label, TICK_SIZE, Weight::Regular, self.plot.width() - 2.0 * PAD - 8.0, 1).concat();
            let wide = width(&text, TICK_SIZE, Weight::Regular) + 2.0 * PAD;
            let shares = [0, ALONG].into_iter().chain(1..ALONG).map(|place| place as f64 / ALONG as f64);
            let (mut places, own) = (Vec::new(), mark.obstacle(self.plot));
            for (order, share) in shares.enumerate() {
                let cost = if order < 2 { 0.0 } else { 1.0 } + 0.007 * order as f64;
                let near = mark.beside(wide, AWAY, share, self.plot);
                places.extend(near.into_iter().zip([0.0, 0.3]).map(|(rect, side)| candidate(rect, cost + side, None)));
                // Where a line leaves no room beside it, on it; that costs nothing for covering it.
                let over = candidate(mark.over(wide, share, self.plot), cost + 4.0, None);
                places.push(Candidate { cost: over.cost - TOUCH - own.covered_by(&over.rect), ..over });
                for (ring, away) in FAR.into_iter().enumerate() {
                    let rects = mark.beside(wide, away, share, self.plot).into_iter();
                    places.extend(rects.map(|rect| candidate(rect, cost + 1.0 + ring as f64, Some(mark.leader(&rect)))));
                }
            }
            self.labels.push(PlotLabel { own: Some(own), ..PlotLabel::new(text, places, Sort::Mark) });
        }
    }

    /// Each mark that lies beyond an axis at that edge of the plot, with an arrow.
    pub fn beyond(&mut self, marks: &[Beyond]) {
        let plot = self.plot;
        for mark in marks {
            let text = wrap(&mark.label, TICK_SIZE, Weight::Regular, plot.width() - 2.0 * PAD - ARROW - 8.0, 1).concat();
            let wide = width(&text, TICK_SIZE, Weight::Regular) + 2.0 * PAD + ARROW;
            let boxed = |left: f64, top: f64| Rect { left, top, right: left + wide, bottom: top + LABEL_HEIGHT };
            let at = |row: usize, share: f64| {
                let inward = 2.0 + row as f64 * (LABEL_HEIGHT + 3.0);
                match (mark.axis, mark.above) {
                    (MarkedAxis::Y, above) => {
                        let left = plot.left + 4.0 + share * (plot.width() - 8.0 - wide);
                        boxed(left, if above { plot.top + inward } else { plot.bottom - inward - LABEL_HEIGHT })
                    }
                    (MarkedAxis::X, above) => {
                        let top = plot.top + 2.0 + share * (plot.height() - 4.0 - LABEL_HEIGHT);
                        boxed(if above { plot.right - 2.0 - wide } else { plot.left + 2.0 }, top)
                    }
                }
            };
            // Along the edge; from above or below also in a second and a third row.
            let rows = if mark.axis == MarkedAxis::Y { 3 } else { 1 };
            let cells = (0..rows).flat_map(|row| (0..=PLACES).map(move |place| (row, place)));
            let cell = |(row, place): (usize, usize)| {
                candidate(at(row, place as f64 / PLACES as f64), 3.0 * row as f64 + 0.05 * place as f64, None)
            };
            self.labels.push(PlotLabel::new(text, cells.map(cell).collect(), Sort::Arrow(mark.axis, mark.above)));
        }
    }

    /// Each name around its point.
    pub fn names(&mut self, callouts: &[Callout], x: &Scale, y: &Scale) {
        for callout in callouts.iter().filter(|callout| x.holds(callout.at.0) && y.holds(callout.at.1)) {
            let spot = (x.px(callout.at.0), y.px(callout.at.1));
            let name = tidy(&callout.label);
            if name.is_empty() {
                continue;
            }
            // In one line where there is room, else in two: after its colon, or where it breaks best.
            let whole = width(&name, TICK_SIZE, Weight::Regular);
            let room = self.plot.width() - 8.0;
            let wrapped = |share: f64| wrap(&name, TICK_SIZE, Weight::Regular, (share * whole).max(SHORT).min(room), 2);
            let at_colon = name.split_once(": ").map(|(what, rest)| vec![format!("{what}:"), rest.to_string()]);
            let fits = |lines: &Vec<String>| widest(lines, TICK_SIZE, Weight::Regular) <= room && whole > SHORT;
            let halves = [wrapped(1.0), at_colon.filter(fits).unwrap_or_else(|| wrapped(0.6))];
            let mut label =
                PlotLabel { shapes: Vec::new(), places: Vec::new(), shape_at: Vec::new(), own: None, sort: Sort::Name };
            for (shape, lines) in halves.into_iter().enumerate() {
                if label.shapes.contains(&lines) {
                    continue;
                }
                let size = (widest(&lines, TICK_SIZE, Weight::Regular), NAME_LINE * lines.len() as f64);
                let places = around(spot, POINT, size, &RINGS);
                label.shape_at.extend(vec![shape; places.len()]);
                let grown =
                    |one: Candidate| Candidate { rect: one.rect.grown(CLEAR), cost: one.cost + 2.0 * shape as f64, ..one };
                label.places.extend(places.into_iter().map(grown));
                label.shapes.push(lines);
            }
            self.labels.push(label);
        }
    }

    /// A text beside a line that rises to the right, from its upper end down.
    pub fn word(&mut self, word: &str, (from, to): (Spot, Spot)) {
        let (wide, high) = (width(word, TICK_SIZE, Weight::Regular), 16.0);
        let at = |share: f64| (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
        let boxed = |left: f64, top: f64| Rect { left, top, right: left + wide, bottom: top + high };
        let places = (1..12).flat_map(|step| {
            let (x, y) = at(1.0 - 0.08 * f64::from(step));
            let rects = [boxed(x + 10.0, y + 3.0), boxed(x - 10.0 - wide, y - 3.0 - high)];
            rects.map(|rect| candidate(rect, 0.1 * f64::from(step), None))
        });
        self.labels.push(PlotLabel::new(word.into(), places.collect(), Sort::Word));
    }

    /// Places all labels where they cover no solid thing and as little of the obstacles as possible, and prints them. Returns how many have
    /// no room.
    pub fn print(self, solids: &[Rect], obstacles: &[Obstacle], scene: &mut Scene) -> usize {
        let worth = |sort: Sort| if sort == Sort::Word { EXPLAINS } else { ASKED };
        let labels: Vec<Label> =
            self.labels.iter().map(|label| Label { candidates: label.places.clone(), worth: worth(label.sort) }).collect();
        let frame = self.plot.grown(1.0 + CLEAR);
        let placed = place(&labels, &Surroundings { frame, solids, obstacles, touch: TOUCH });
        let found: Vec<(&PlotLabel, usize)> =
            self.labels.iter().zip(&placed).filter_map(|(label, at)| Some((label, (*at)?))).collect();
        for (label, at) in &found {
            if let Some((from, to)) = label.places[*at].leader {
                scene.line(vec![from, to], if label.sort == Sort::Mark { MARK } else { QUIET }, 0.8);
            }
        }
        for (label, at) in found {
            let rect = &label.places[at].rect;
            let others = obstacles.iter().filter(|obstacle| label.own.as_ref() != Some(obstacle));
            let is_free = while_going_on(others).all(|obstacle| obstacle.covered_by(rect) <= 0.0);
            label.print(at, &rect.grown(-CLEAR), is_free, scene);
        }
        self.labels.iter().zip(&placed).filter(|(label, at)| at.is_none() && label.sort != Sort::Word).count()
    }
}

fn candidate(rect: Rect, cost: f64, leader: Option<(Spot, Spot)>) -> Candidate {
    Candidate { rect: rect.grown(CLEAR), cost, leader }
}

impl PlotLabel {
    /// A label in one line.
    fn new(text: String, places: Vec<Candidate>, sort: Sort) -> PlotLabel {
        PlotLabel { shapes: vec![vec![text]], shape_at: vec![0; places.len()], places, own: None, sort }
    }

    /// Prints it at one of its places, in its rectangle. Where it covers something it has no box, so that what lies below stays visible.
    fn print(&self, at: usize, rect: &Rect, is_free: bool, scene: &mut Scene) {
        let lines = &self.shapes[self.shape_at[at]];
        match self.sort {
            Sort::Mark => {
                if is_free {
                    scene.shapes.push(Shape::Box { rect: *rect, ink: MARK_PAPER });
                }
                print_lines(lines, rect, Anchor::Middle, MARK, scene);
            }
            Sort::Arrow(axis, above) => {
                if is_free {
                    scene.shapes.push(Shape::Box { rect: *rect, ink: MARK_PAPER });
                }
                print_lines(lines, &Rect { left: rect.left + ARROW, ..*rect }, Anchor::Middle, MARK, scene);
                let (x, y) = (rect.left + PAD + 4.0, (rect.top + rect.bottom) / 2.0);
                scene.shapes.push(Shape::Area { points: arrow((x, y), axis, above), ink: MARK });
            }
            Sort::Name => print_lines(lines, rect, Anchor::Start, INK, scene),
            Sort::Word => print_lines(lines, rect, Anchor::Start, QUIET, scene),
        }
    }
}

fn print_lines(lines: &[String], rect: &Rect, anchor: Anchor, ink: Ink, scene: &mut Scene) {
    let x = if anchor == Anchor::Middle { (rect.left + rect.right) / 2.0 } else { rect.left };
    let middle = (rect.top + rect.bottom) / 2.0 - NAME_LINE * (lines.len() as f64 - 1.0) / 2.0;
    for (row, line) in lines.iter().enumerate() {
        let at = (x, middle + NAME_LINE * row as f64 + half_height(TICK_SIZE));
        scene.text(Text::new(line, at, TICK_SIZE, anchor, ink));
    }
}

/// A tip that points beyond an end of an axis.
pub(super) fn arrow((x, y): Spot, axis: MarkedAxis, above: bool) -> Vec<Spot> {
    match (axis, above) {
        (MarkedAxis::Y, true) => vec![(x, y - 5.0), (x + 4.5, y + 4.0), (x - 4.5, y + 4.0)],
        (MarkedAxis::Y, false) => vec![(x, y + 5.0), (x + 4.5, y - 4.0), (x - 4.5, y - 4.0)],
        (MarkedAxis::X, true) => vec![(x + 5.0, y), (x - 4.0, y + 4.5), (x - 4.0, y - 4.5)],
        (MarkedAxis::X, false) => vec![(x - 5.0, y), (x + 4.0, y + 4.5), (x + 4.0, y - 4.5)],
    }
}
