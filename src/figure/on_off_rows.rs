//! Rows of on and off below curves: one row a thing, filled while it is on.

use super::description::Band;
use super::geometry::Rect;
use super::palette::{GRID, INK, look};
use super::scale::Scale;
use super::scene::{Anchor, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, tidy, widest};

/// Height of a row, and of what is filled of it.
const ROW: f64 = 20.0;
const FILLED: f64 = 12.0;
/// Above the first row.
const ABOVE: f64 = 6.0;

/// Width of the names and height of all rows; nothing without any.
pub(super) fn room(bands: &[Band]) -> (f64, f64) {
    let names: Vec<String> = bands.iter().map(|band| tidy(&band.name)).collect();
    let height = if bands.is_empty() { 0.0 } else { ABOVE + ROW * bands.len() as f64 };
    (widest(&names, TICK_SIZE, Weight::Regular), height)
}

/// Draws the rows between `top` and the lower edge of `whole`.
pub(super) fn draw(bands: &[Band], x: &Scale, whole: &Rect, top: f64, scene: &mut Scene) {
    for (index, band) in bands.iter().enumerate() {
        let middle = top + ABOVE + ROW * (index as f64 + 0.5);
        scene.line(vec![(whole.left, middle), (whole.right, middle)], GRID, 1.0);
        let at = (whole.left - 8.0, middle + half_height(TICK_SIZE));
        scene.text(Text::new(tidy(&band.name), at, TICK_SIZE, Anchor::End, INK));
        for (start, end) in &band.spans {
            let (left, right) = (x.px(*start).max(whole.left), x.px(*end).min(whole.right));
            if right > left {
                let rect = Rect { left, right: right.max(left + 1.0), top: middle - FILLED / 2.0, bottom: middle + FILLED / 2.0 };
                scene.shapes.push(Shape::Box { rect, ink: look(index + 4).ink });
            }
        }
    }
}
