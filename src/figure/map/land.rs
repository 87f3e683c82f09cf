//! Water on the ground of a map: classes of color, outlines of beds and obstacles, cans, the driest spot, the wind.

use super::projection::Projection;
use super::tag::Tag;
use super::what::Rain;
use crate::figure::contour::rings;
use crate::figure::error::FigureError;
use crate::figure::geometry::{Rect, Spot, thinned_ring};
use crate::figure::palette::{AXIS, INK, PAPER, QUIET};
use crate::figure::ramp::ramp;
use crate::figure::scale::{Fit, choose_range};
use crate::figure::scene::{Anchor, Ink, NOTE_SIZE, Scene, Shape, TICK_SIZE, Text};
use crate::figure::text::{Weight, width};
use crate::figure::ticks::{Tick, linear};
use crate::limits;

/// Ground that takes no water.
const HARD: Ink = Ink(196, 196, 196);
/// Length of the arrow of the wind.
const ARROW: f64 = 34.0;
/// A can with the color of its rate.
const CAN: f64 = 5.0;
/// Edges of classes of color at most.
const CLASSES: usize = 9;
/// Height of the bar of the key.
const BAR: f64 = 12.0;
/// Between classes on the map.
const RIM: f64 = 0.6;

/// The classes of the values: each reaches from one edge to the next.
pub(super) struct Classes {
    edges: Vec<Tick>,
}

impl Classes {
    /// None where there is no value.
    pub fn of(rain: &Rain) -> Option<Classes> {
        let values: Vec<f64> = rain.values.iter().flatten().copied().chain(rain.cans.iter().map(|can| can.1)).collect();
        if values.is_empty() {
            return None;
        }
        let (low, high) = choose_range(&values, &rain.axis, Fit::Rounded, CLASSES);
        let edges = (4..=CLASSES).rev().map(|most| linear(low, high, most)).find(|ticks| ticks.len() > 2)?;
        Some(Classes { edges })
    }

    fn count(&self) -> usize {
        self.edges.len() - 1
    }

    fn ink(&self, class: usize) -> Ink {
        ramp(if self.count() > 1 { class as f64 / (self.count() - 1) as f64 } else { 0.5 })
    }

    /// The color of a value; values on an edge are of the upper class.
    pub fn ink_of(&self, value: f64) -> Ink {
        let class = self.edges[1..self.count()].iter().filter(|edge| value >= edge.value).count();
        self.ink(class)
    }

    /// The key: title, a box for each class and the values between them.
    pub fn draw_key(&self, title: &str, (left, top): Spot, most_width: f64, scene: &mut Scene) {
        let title_width = width(title, TICK_SIZE, Weight::Regular) + 14.0;
        scene.text(Text::new(title, (left, top + BAR - 1.0), TICK_SIZE, Anchor::Start, INK));
        let texts: Vec<f64> = self.edges.iter().map(|edge| width(&edge.label, TICK_SIZE, Weight::Regular)).collect();
        let widest = texts.iter().copied().fold(0.0, f64::max) + 8.0;
        let room = (most_width - title_width - widest) / self.count() as f64;
        let each = room.min(64.0).max(widest.min(30.0));
        let x = |edge: usize| left + title_width + texts[0] / 2.0 + edge as f64 * each;
        for class in 0..self.count() {
            let rect = Rect { left: x(class), right: x(class + 1), top, bottom: top + BAR };
            scene.shapes.push(Shape::Box { rect, ink: self.ink(class) });
        }
        scene.line(vec![(x(0), top + BAR), (x(self.count()), top + BAR)], AXIS, 1.0);
        // Every value, or every other where they would run into each other.
        let stride = if each >= widest { 1 } else { 2 };
        for (edge, tick) in self.edges.iter().enumerate().step_by(stride) {
            scene.line(vec![(x(edge), top + BAR), (x(edge), top + BAR + 4.0)], AXIS, 1.0);
            scene.text(Text::new(&tick.label, (x(edge), top + BAR + 17.0), TICK_SIZE, Anchor::Middle, QUIET));
        }
    }
}

/// Colors and outlines, below everything else. Errors: the evaluation is to end.
pub(super) fn draw_ground(rain: &Rain, ground: &dyn Projection, classes: &Classes, scene: &mut Scene) -> Result<(), FigureError> {
    let (lower, upper) = (ground.px(rain.frame.0), ground.px(rain.frame.1));
    let rect = Rect { left: lower.0, top: upper.1, right: upper.0, bottom: lower.1 };
    let rows = rain.values.len() / rain.columns.max(1);
    let cell = (rect.width() / rain.columns as f64, rect.height() / rows.max(1) as f64);
    let values = filled(rain.columns, &rain.values)?;
    let px = |(column, row): (f64, f64)| (rect.left + (column + 0.5) * cell.0, rect.bottom - (row + 0.5) * cell.1);
    scene.shapes.push(Shape::Box { rect, ink: classes.ink(0) });
    for class in 1..classes.count() {
        let rings = rings(rain.columns, &values, classes.edges[class].value)?;
        let rings: Vec<Vec<Spot>> = rings.into_iter().map(|ring| thinned_ring(ring.into_iter().map(px).collect())).collect();
        if rings.is_empty() {
            continue;
        }
        scene.shapes.push(Shape::Area { points: joined(&rings), ink: classes.ink(class) });
        for ring in rings {
            let closed = ring.iter().chain(ring.first()).copied().collect();
            scene.line(closed, PAPER, RIM);
        }
    }
    let pixels = |outline: &Vec<(f64, f64)>| -> Vec<Spot> { outline.iter().map(|place| ground.px(*place)).collect() };
    let beds: Vec<Vec<Spot>> = rain.beds.iter().map(pixels).collect();
    draw_surroundings(&rect.grown(2.5 * cell.0.max(cell.1) + 2.0), &beds, scene);
    for outline in &rain.obstacles {
        scene.shapes.push(Shape::Area { points: pixels(outline), ink: HARD });
    }
    for mut points in beds.into_iter().chain(rain.obstacles.iter().map(pixels)) {
        points.extend(points.first().copied());
        scene.line(points, INK, 1.2);
    }
    Ok(())
}

/// Paper over all that is no bed.
fn draw_surroundings(rect: &Rect, beds: &[Vec<Spot>], scene: &mut Scene) {
    let corners = vec![(rect.left, rect.top), (rect.right, rect.top), (rect.right, rect.bottom), (rect.left, rect.bottom)];
    // Holes run the other way round.
    let hole = |bed: &Vec<Spot>| -> Vec<Spot> {
        if turn(bed) * turn(&corners) > 0.0 { bed.iter().rev().copied().collect() } else { bed.clone() }
    };
    let rings: Vec<Vec<Spot>> = std::iter::once(corners.clone()).chain(beds.iter().map(hole)).collect();
    scene.shapes.push(Shape::Area { points: joined(&rings), ink: PAPER });
}

/// Above zero for one way round, below for the other.
fn turn(ring: &[Spot]) -> f64 {
    ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum()
}

/// Rings as one outline that goes from the first to each other and back, so that they are filled together.
fn joined(rings: &[Vec<Spot>]) -> Vec<Spot> {
    let mut points = Vec::new();
    for ring in rings {
        points.extend(ring.iter().chain(ring.first()).copied());
        points.extend(rings[0].first().copied().filter(|_| rings.len() > 1));
    }
    points
}

/// Values also where there is no ground, as at the nearest ground, so that colors reach its edges. Errors: the evaluation is to end.
fn filled(columns: usize, values: &[Option<f64>]) -> Result<Vec<f64>, FigureError> {
    let mut known: Vec<Option<f64>> = values.to_vec();
    let rows = values.len() / columns.max(1);
    loop {
        limits::go_on()?;
        let mut next = known.clone();
        let mut grew = false;
        for (cell, value) in next.iter_mut().enumerate().filter(|(_, value)| value.is_none()) {
            let (column, row) = (cell % columns, cell / columns);
            let (across, along) =
                (column.saturating_sub(1)..(column + 2).min(columns), row.saturating_sub(1)..(row + 2).min(rows));
            let near: Vec<f64> = along
                .flat_map(|row| across.clone().map(move |column| row * columns + column))
                .filter_map(|cell| known[cell])
                .collect();
            if !near.is_empty() {
                *value = Some(near.iter().sum::<f64>() / near.len() as f64);
                grew = true;
            }
        }
        known = next;
        if !grew {
            return Ok(known.into_iter().map(|value| value.unwrap_or(0.0)).collect());
        }
    }
}

/// The cans and the cross of the driest spot, above the lines; returns what labels do not cover.
pub(super) fn draw_marks(rain: &Rain, ground: &dyn Projection, classes: &Classes, scene: &mut Scene) {
    for (place, value) in &rain.cans {
        let center = ground.px(*place);
        scene.shapes.push(Shape::Disc { center, radius: CAN + 2.5, ink: PAPER });
        scene.shapes.push(Shape::Disc { center, radius: CAN + 1.3, ink: INK });
        scene.shapes.push(Shape::Disc { center, radius: CAN, ink: classes.ink_of(*value) });
    }
    if let Some((place, _)) = &rain.driest {
        let (x, y) = ground.px(*place);
        for (ink, width) in [(PAPER, 5.0), (INK, 2.0)] {
            scene.line(vec![(x - 5.0, y - 5.0), (x + 5.0, y + 5.0)], ink, width);
            scene.line(vec![(x - 5.0, y + 5.0), (x + 5.0, y - 5.0)], ink, width);
        }
    }
}

/// What labels do not cover: cans and the driest spot.
pub(super) fn solids(rain: &Rain, ground: &dyn Projection) -> Vec<Rect> {
    let around = |(x, y): Spot, r: f64| Rect { left: x - r, top: y - r, right: x + r, bottom: y + r };
    let cans = rain.cans.iter().map(|(place, _)| around(ground.px(*place), CAN + 2.5));
    cans.chain(rain.driest.iter().map(|(place, _)| around(ground.px(*place), 7.0))).collect()
}

/// The label of the driest spot with its place.
pub(super) fn driest(rain: &Rain, ground: &dyn Projection) -> Option<(Tag, Spot)> {
    let (place, text) = rain.driest.as_ref()?;
    Some((Tag::of(std::slice::from_ref(text), true, false), ground.px(*place)))
}

/// The wind as an arrow with its text, right of an upper left corner; its width.
pub(super) fn draw_wind(rain: &Rain, ground: &dyn Projection, (left, top): Spot, scene: &mut Scene) {
    let Some((toward, text)) = &rain.wind else { return };
    let (dx, dy) = ground.turn(*toward);
    let middle = (left + 0.5 * ARROW, top + 0.5 * ARROW);
    let at = |share: f64, aside: f64| (middle.0 + share * ARROW * dx - aside * dy, middle.1 + share * ARROW * dy + aside * dx);
    scene.line(vec![at(-0.5, 0.0), at(0.25, 0.0)], AXIS, 2.4);
    scene.shapes.push(Shape::Area { points: vec![at(0.5, 0.0), at(0.15, 6.0), at(0.15, -6.0)], ink: INK });
    scene.text(Text::new(text, (left + 8.0 + ARROW, middle.1 + 4.0), NOTE_SIZE, Anchor::Start, INK));
}

/// Height of the arrow of the wind.
pub(super) const WIND_HEIGHT: f64 = ARROW;
