//! Marks: dashed lines across the plot with the texts of their labels, and where these may stand.

use super::axis::{Axis, Mark, MarkedAxis};
use super::geometry::{Rect, Spot, clip_segment};
use super::labels::Obstacle;
use super::palette::{MARK, PAPER};
use super::scale::Scale;
use super::scene::{Scene, Shape};
use super::text::tidy;
use super::ticks::number;

const DASH: &[f64] = &[6.0, 4.0];
pub(super) const LABEL_HEIGHT: f64 = 19.0;
/// Room left and right of the text in its box.
pub(super) const PAD: f64 = 6.0;

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

/// A mark beyond the end of its axis, which an arrow at that end stands for.
pub(super) struct Beyond {
    pub axis: MarkedAxis,
    /// It lies beyond the upper end, not the lower.
    pub above: bool,
    pub label: String,
}

/// Marks that lie beyond the ends of their axes.
pub(super) fn beyond<'m>(marks: impl Iterator<Item = (&'m Mark, &'m Scale, &'m Axis)>) -> Vec<Beyond> {
    let outside = marks.filter(|(mark, scale, _)| !scale.holds(mark.at));
    outside.map(|(mark, scale, axis)| Beyond { axis: mark.axis, above: mark.at > scale.high, label: label(mark, axis) }).collect()
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

    /// The line from a label that stands away from it.
    pub fn leader(&self, rect: &Rect) -> (Spot, Spot) {
        let (x, y) = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0);
        match self.course {
            Course::Level => ((x, if rect.top > self.at_px { rect.top } else { rect.bottom }), (x, self.at_px)),
            Course::Upright => ((if rect.left > self.at_px { rect.left } else { rect.right }, y), (self.at_px, y)),
        }
    }

    /// The places for a label on both sides of the line, that far away from it, at a share of its length.
    pub fn beside(&self, label_width: f64, away: f64, share: f64, plot: &Rect) -> [Rect; 2] {
        let at = |left: f64, top: f64| Rect { left, top, right: left + label_width, bottom: top + LABEL_HEIGHT };
        match self.course {
            Course::Level => {
                let left = plot.left + 4.0 + share * (plot.width() - 8.0 - label_width);
                [at(left, self.at_px - away - LABEL_HEIGHT), at(left, self.at_px + away)]
            }
            Course::Upright => {
                let top = plot.top + 4.0 + share * (plot.height() - 8.0 - LABEL_HEIGHT);
                [at(self.at_px + away, top), at(self.at_px - away - label_width, top)]
            }
        }
    }

    /// The place for a label over the line, within the plot.
    pub fn over(&self, label_width: f64, share: f64, plot: &Rect) -> Rect {
        let [one, _] = self.beside(label_width, 0.0, share, plot);
        let (across, down) = match self.course {
            Course::Level => (one.left, self.at_px - LABEL_HEIGHT / 2.0),
            Course::Upright => (self.at_px - label_width / 2.0, one.top),
        };
        let left = across.clamp(plot.left, (plot.right - label_width).max(plot.left));
        let top = down.clamp(plot.top, (plot.bottom - LABEL_HEIGHT).max(plot.top));
        Rect { left, top, right: left + label_width, bottom: top + LABEL_HEIGHT }
    }
}

#[cfg(test)]
mod tests {
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
