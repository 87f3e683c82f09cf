//! Bars that reach down from the upper edge of the plot, as rain over a course of the soil: on a scale of their own, whose longest bar is
//! named.

use super::description::FromAbove;
use super::geometry::Rect;
use super::palette::{QUIET, look};
use super::scale::Scale;
use super::scene::{Anchor, Scene, Shape, TICK_SIZE, Text};
use super::text::tidy;
use super::ticks::number;

/// Share of the height of the plot that the longest bar takes.
const LONGEST: f64 = 0.3;
/// Width of a bar as a share of the distance to its neighbor, and the least and greatest width.
const FILLED: f64 = 0.6;
const WIDTHS: std::ops::RangeInclusive<f64> = 1.0..=12.0;

/// Draws the bars between the edges of the plot.
pub(super) fn draw(above: &FromAbove, x: &Scale, plot: &Rect, scene: &mut Scene) {
    let drawable = |(at, value): &(f64, f64)| at.is_finite() && *value > 0.0 && x.holds(*at);
    let bars: Vec<(f64, f64)> = above.points.iter().filter(|point| drawable(point)).copied().collect();
    let Some(longest) = bars.iter().copied().max_by(|one, other| one.1.total_cmp(&other.1)) else { return };
    let mut places: Vec<f64> = above.points.iter().map(|(at, _)| x.px(*at)).filter(|px| px.is_finite()).collect();
    places.sort_by(f64::total_cmp);
    let nearest = places.windows(2).map(|pair| pair[1] - pair[0]).filter(|gap| *gap > 0.1).fold(f64::INFINITY, f64::min);
    let width = (FILLED * nearest).clamp(*WIDTHS.start(), *WIDTHS.end());
    for (at, value) in &bars {
        let middle = x.px(*at);
        let left = (middle - width / 2.0).max(plot.left);
        let right = (middle + width / 2.0).min(plot.right).max(left + 0.5);
        let bottom = plot.top + LONGEST * (plot.bottom - plot.top) * value / longest.1;
        scene.shapes.push(Shape::Box { rect: Rect { left, right, top: plot.top, bottom }, ink: look(INK_OF_BARS).ink });
    }
    // Above the plot, beside its right edge.
    scene.text(Text::new(words(above, x), (plot.right, plot.top - 3.0), TICK_SIZE, Anchor::End, QUIET));
}

/// What they are, with the longest that is seen: `rain, up to 2 in`.
pub(super) fn words(above: &FromAbove, x: &Scale) -> String {
    let seen = above.points.iter().filter(|(at, value)| x.holds(*at) && value.is_finite());
    let longest = seen.map(|point| point.1).fold(0.0, f64::max);
    let unit = above.unit.as_ref().map_or(String::new(), |unit| format!(" {unit}"));
    format!("{}, up to {}{unit}", tidy(&above.name), number(longest, 3))
}

/// Which of the colors of series the bars have: one that few figures use.
const INK_OF_BARS: usize = 4;
