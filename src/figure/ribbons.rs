//! Bands between a lower and an upper course, in the colors of series.

use super::axis::{Ribbon, drawable};
use super::geometry::{Rect, Spot, clip_segment};
use super::palette::look;
use super::scale::Scale;
use super::scene::{Ink, Scene, Shape};
use crate::limits::while_going_on;

/// Draws the bands within the plot, each in the color of its series.
pub(super) fn draw(ribbons: &[Ribbon], x: &Scale, y: &Scale, plot: &Rect, scene: &mut Scene) {
    draw_in(ribbons, |series| look(series).ink, x, y, plot, scene);
}

/// The same with colors that a series is given.
pub(super) fn draw_in(ribbons: &[Ribbon], color: impl Fn(usize) -> Ink, x: &Scale, y: &Scale, plot: &Rect, scene: &mut Scene) {
    for ribbon in ribbons {
        let known = while_going_on(&ribbon.points).filter(|(at, low, high)| {
            drawable(*at).is_some() && drawable(*low).is_some() && drawable(*high).is_some() && x.holds(*at)
        });
        let course: Vec<(Spot, Spot)> =
            known.map(|(at, low, high)| ((x.px(*at), y.px(*low)), (x.px(*at), y.px(*high)))).collect();
        // A part of it beyond the axes is cut at their edge.
        let cut = |spot: Spot| (spot.0, spot.1.clamp(plot.top, plot.bottom));
        let lower = course.iter().map(|(low, _)| cut(*low));
        let upper = course.iter().rev().map(|(_, high)| cut(*high));
        let points: Vec<Spot> = lower.chain(upper).collect();
        if course.len() > 1 && points.iter().all(|spot| spot.0.is_finite() && spot.1.is_finite()) {
            scene.shapes.push(Shape::Veil { points, ink: color(ribbon.series), opacity: ribbon.opacity });
        }
    }
}

/// The line on which both axes are equal, as far as it lies in the plot.
pub(super) fn line_of_equality(x: &Scale, y: &Scale, plot: &Rect) -> Option<(Spot, Spot)> {
    let (low, high) = (x.low.max(y.low), x.high.min(y.high));
    let at = |value: f64| (x.px(value), y.px(value));
    if low < high { clip_segment(at(low), at(high), &plot.grown(0.01)) } else { None }
}
