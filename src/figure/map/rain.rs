//! Rain on the ground of a map: cells of color, outlines of beds and obstacles, cans, the wind.

use super::ground::Projection;
use super::what::Rain;
use crate::figure::geometry::{Rect, Spot};
use crate::figure::palette::{AXIS, INK, PAPER};
use crate::figure::ramp::ramp;
use crate::figure::scale::{Fit, Scale, choose_range};
use crate::figure::scene::{Anchor, Ink, NOTE_SIZE, Scene, Shape, Text};

/// Ground that takes no water.
const HARD: Ink = Ink(196, 196, 196);
/// Length of the arrow of the wind.
const ARROW: f64 = 34.0;
/// A can with the color of its rate.
const CAN: f64 = 5.0;

/// The range of the colors.
pub(super) fn scale(rain: &Rain) -> Option<Scale> {
    let values: Vec<f64> = rain.values.iter().flatten().copied().chain(rain.cans.iter().map(|can| can.1)).collect();
    if values.is_empty() {
        return None;
    }
    let (low, high) = choose_range(&values, &rain.axis, Fit::Rounded, 6);
    Some(Scale { kind: rain.axis.scale, low, high, pixels: (0.0, 1.0) })
}

/// The cells and outlines, below everything else.
pub(super) fn draw_ground(rain: &Rain, ground: &dyn Projection, scale: &Scale, scene: &mut Scene) {
    let (lower, upper) = (ground.px(rain.frame.0), ground.px(rain.frame.1));
    let rect = Rect { left: lower.0, top: upper.1, right: upper.0, bottom: lower.1 };
    // A picture begins at the top.
    let color = |value: &Option<f64>| value.map_or(PAPER, |value| ramp(scale.px(value)));
    let cells = rain.values.chunks(rain.columns).rev().flatten().map(color).collect();
    scene.shapes.push(Shape::Picture { rect, columns: rain.columns, cells });
    let pixels = |outline: &Vec<(f64, f64)>| -> Vec<Spot> { outline.iter().map(|place| ground.px(*place)).collect() };
    for outline in &rain.obstacles {
        scene.shapes.push(Shape::Area { points: pixels(outline), ink: HARD });
    }
    for outline in rain.beds.iter().chain(&rain.obstacles) {
        let mut points = pixels(outline);
        points.extend(points.first().copied());
        scene.line(points, INK, 1.2);
    }
}

/// Cans, the driest spot and the wind, above the lines; returns what labels should not cover.
pub(super) fn draw_marks(rain: &Rain, ground: &dyn Projection, scale: &Scale, top: f64, scene: &mut Scene) -> Vec<Rect> {
    let around = |(x, y): Spot, r: f64| Rect { left: x - r, top: y - r, right: x + r, bottom: y + r };
    let mut taken = Vec::new();
    for (place, value) in &rain.cans {
        let center = ground.px(*place);
        scene.shapes.push(Shape::Disc { center, radius: CAN + 2.5, ink: PAPER });
        scene.shapes.push(Shape::Disc { center, radius: CAN + 1.3, ink: INK });
        scene.shapes.push(Shape::Disc { center, radius: CAN, ink: ramp(scale.px(*value)) });
        taken.push(around(center, CAN + 2.5));
    }
    if let Some(place) = rain.driest {
        let (x, y) = ground.px(place);
        for (ink, width) in [(PAPER, 5.0), (INK, 2.0)] {
            scene.line(vec![(x - 5.0, y - 5.0), (x + 5.0, y + 5.0)], ink, width);
            scene.line(vec![(x - 5.0, y + 5.0), (x + 5.0, y - 5.0)], ink, width);
        }
        taken.push(around((x, y), 7.0));
    }
    if let Some((toward, text)) = &rain.wind {
        let frame = ground.frame();
        let (dx, dy) = ground.turn(*toward);
        let middle = (frame.left + 12.0 + 0.5 * ARROW, frame.top.max(top) + 6.0 + 0.5 * ARROW);
        let at =
            |share: f64, aside: f64| (middle.0 + share * ARROW * dx - aside * dy, middle.1 + share * ARROW * dy + aside * dx);
        scene.line(vec![at(-0.5, 0.0), at(0.25, 0.0)], AXIS, 2.4);
        scene.shapes.push(Shape::Area { points: vec![at(0.5, 0.0), at(0.15, 6.0), at(0.15, -6.0)], ink: INK });
        let text = Text::new(text, (frame.left + 20.0 + ARROW, middle.1 + 4.0), NOTE_SIZE, Anchor::Start, INK);
        taken.push(text.bounds());
        taken.push(around(middle, 0.5 * ARROW));
        scene.text(text);
    }
    taken
}
