//! Marks: dashed lines across the plot, each with its label where it covers least.

use super::description::{Axis, Mark};
use super::geometry::{Rect, clip_segment};
use super::labels::{Obstacle, emptiest};
use super::palette::{MARK, MARK_PAPER, PAPER};
use super::scene::{Anchor, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, tidy, width, wrap};
use super::ticks::number;

const DASH: &[f64] = &[6.0, 4.0];
const LABEL_HEIGHT: f64 = 19.0;
/// Room left and right of the text in its box.
const PAD: f64 = 6.0;
/// Between the line and its label.
const AWAY: f64 = 3.0;
/// Places tried along the line.
const PLACES: usize = 16;

/// A mark with its place on the sheet.
pub(super) struct MarkLine {
    pub course: Course,
    /// y of a level line, x of an upright one.
    pub at_px: f64,
    pub label: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Course {
    Level,
    Upright,
}

/// The label with value and unit: `stalls below 30 psi`. A label that already names the value is left as it is.
pub(super) fn label(mark: &Mark, axis: &Axis) -> String {
    let value = axis.text(mark.at);
    let words = tidy(&mark.label);
    let named = words.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | ':'))).any(|part| part == value);
    let with_unit = match axis.shown_unit() {
        Some(unit) if unit == "$" && mark.at < 0.0 => format!("-${}", number(-mark.at, 4)),
        Some(unit) if unit == "$" => format!("${value}"),
        Some(unit) => format!("{value} {unit}"),
        None => value.clone(),
    };
    match (words.is_empty(), named) {
        (_, true) => words,
        (true, _) => with_unit,
        (false, _) => format!("{words} {with_unit}"),
    }
}

/// Draws the dashed lines.
pub(super) fn draw_lines(marks: &[MarkLine], plot: &Rect, scene: &mut Scene) {
    for mark in marks {
        let points = mark.ends(plot);
        scene.shapes.push(Shape::Line { points, ink: MARK, width: 1.4, dash: DASH });
    }
}

/// Draws the dashed lines across bars, on a strip of paper that sets them off from dark colors.
pub(super) fn draw_lines_on_bars(marks: &[MarkLine], plot: &Rect, scene: &mut Scene) {
    for mark in marks {
        scene.line(mark.ends(plot), PAPER, 3.4);
    }
    draw_lines(marks, plot, scene);
}

/// Prints the labels, each at the end of its line that covers least of the obstacles and of the labels before it.
pub(super) fn print_labels(marks: &[MarkLine], mut obstacles: Vec<Obstacle>, plot: &Rect, scene: &mut Scene) {
    let lines: Vec<Obstacle> = marks.iter().map(|mark| mark.obstacle(plot)).collect();
    for (index, mark) in marks.iter().enumerate() {
        let text = wrap(&mark.label, TICK_SIZE, Weight::Regular, plot.width() - 2.0 * PAD - 8.0, 1).concat();
        let text_width = width(&text, TICK_SIZE, Weight::Regular);
        let candidates = mark.places(text_width + 2.0 * PAD, plot);
        let others = lines.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, line)| *line);
        let all: Vec<Obstacle> = obstacles.iter().copied().chain(others).collect();
        let grown: Vec<Rect> = candidates.iter().map(|rect| rect.grown(2.0)).collect();
        let Some(rect) = emptiest(&grown, &all).map(|best| candidates[best]) else { continue };
        scene.shapes.push(Shape::Box { rect, ink: MARK_PAPER });
        let at = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0 + half_height(TICK_SIZE));
        scene.text(Text::new(text, at, TICK_SIZE, Anchor::Middle, MARK));
        obstacles.push(Obstacle::Area(rect.grown(2.0)));
    }
}

impl MarkLine {
    fn ends(&self, plot: &Rect) -> Vec<(f64, f64)> {
        match self.course {
            Course::Level => vec![(plot.left, self.at_px), (plot.right, self.at_px)],
            Course::Upright => vec![(self.at_px, plot.top), (self.at_px, plot.bottom)],
        }
    }

    /// Whether the line runs through a rectangle.
    pub fn crosses(&self, rect: &Rect, plot: &Rect) -> bool {
        let ends = self.ends(plot);
        clip_segment(ends[0], ends[1], rect).is_some()
    }

    /// The line, for labels that keep clear of it.
    pub fn obstacle(&self, plot: &Rect) -> Obstacle {
        let ends = self.ends(plot);
        Obstacle::Segment(ends[0], ends[1])
    }

    /// Places for a label of this width inside the plot, the better ones first: the two ends, then between.
    fn places(&self, label_width: f64, plot: &Rect) -> Vec<Rect> {
        let shares = [0, PLACES].into_iter().chain(1..PLACES).map(|place| place as f64 / PLACES as f64);
        let boxed = |left: f64, top: f64| Rect { left, top, right: left + label_width, bottom: top + LABEL_HEIGHT };
        let sides = match self.course {
            Course::Level => [self.at_px - AWAY - LABEL_HEIGHT, self.at_px + AWAY],
            Course::Upright => [self.at_px + AWAY, self.at_px - AWAY - label_width],
        };
        let along = |share: f64, side: f64| match self.course {
            Course::Level => boxed(plot.left + 4.0 + share * (plot.width() - 8.0 - label_width), side),
            Course::Upright => boxed(side, plot.top + 4.0 + share * (plot.height() - 8.0 - LABEL_HEIGHT)),
        };
        let all: Vec<Rect> = shares.flat_map(|share| sides.map(|side| along(share, side))).collect();
        let inside =
            |rect: &&Rect| plot.grown(1.0).holds((rect.left, rect.top)) && plot.grown(1.0).holds((rect.right, rect.bottom));
        let fitting: Vec<Rect> = all.iter().filter(inside).copied().collect();
        if fitting.is_empty() { all } else { fitting }
    }
}

#[cfg(test)]
mod tests {
    use super::super::description::MarkedAxis;
    use super::*;

    #[test]
    fn a_label_names_its_value_once() {
        let axis = Axis::new("berry.pressure").unit("psi");
        let mark = |label: &str| Mark { at: 30.0, axis: MarkedAxis::Y, label: label.into() };
        assert_eq!(label(&mark("stalls below"), &axis), "stalls below 30 psi");
        assert_eq!(label(&mark("stalls below 30 psi"), &axis), "stalls below 30 psi");
        assert_eq!(label(&mark("zone 130"), &axis), "zone 130 30 psi");
        assert_eq!(label(&mark(""), &axis), "30 psi");
        assert_eq!(label(&mark("budget"), &Axis::new("price").unit("$")), "budget $30");
    }
}
