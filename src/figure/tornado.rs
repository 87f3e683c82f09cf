//! A tornado: bars from a base both ways, the widest on top.

use super::curves::counted;
use super::description::{Figure, MarkedAxis, TornadoBar, drawable};
use super::error::FigureError;
use super::geometry::Rect;
use super::in_words;
use super::labels::Obstacle;
use super::legend::{Column, Sample};
use super::palette::{INK, QUIET, look};
use super::rows::Rows;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, NOTE_SIZE, Scene, Shape, Text};
use super::text::{Weight, width, words};
use super::ticks::{number, with_like_decimals};
use crate::numeric::lowest_and_highest;

/// A bar is not drawn higher than this.
const HIGHEST: f64 = 34.0;
/// Colors of the ends of a range, as numbers of series.
const LOW: usize = 0;
const HIGH: usize = 4;

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, base: f64, bars: &[TornadoBar]) -> Result<Scene, FigureError> {
    let mut known: Vec<(&str, [Option<f64>; 2])> =
        bars.iter().map(|bar| (bar.name.as_str(), [bar.low, bar.high].map(|value| value.and_then(drawable)))).collect();
    let missing = known.iter().flat_map(|(_, ends)| ends).filter(|end| end.is_none()).count();
    let values: Vec<f64> = known.iter().flat_map(|(_, ends)| ends.iter().flatten().copied()).collect();
    let Some(base) = drawable(base).filter(|_| !values.is_empty()) else {
        return Err(FigureError::NothingToDraw { values: 2 * bars.len() });
    };
    let reach = |ends: &[Option<f64>; 2]| {
        let (lowest, highest) = lowest_and_highest(ends.iter().flatten().copied().chain([base]));
        highest - lowest
    };
    known.sort_by(|a, b| reach(&b.1).total_cmp(&reach(&a.1)));
    let least = values.iter().copied().fold(base, f64::min);
    let greatest = values.iter().copied().fold(base, f64::max);
    // Room for the values printed beyond the bars.
    let room = 0.12 * (greatest - least);
    let all: Vec<f64> = figure.marks.iter().map(|mark| mark.at).chain([least - room, greatest + room]).collect();
    let (low, high) = choose_range(&all, &figure.x, Fit::Padded, 8);
    let scale = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let names: Vec<String> = known.iter().map(|(name, _)| words(name)).collect();
    let notes: Vec<String> = counted(missing, "missing value is", "missing values are", "left out").into_iter().collect();
    let ends = [("low end", LOW), ("high end", HIGH)].map(|(name, color)| (name.to_string(), look(color))).to_vec();
    let column = Column::new("", ends, Sample::Block, false, f64::from(figure.size.0));
    let mut rows = Rows::new(figure, &names, scale, &notes, describe(figure, base, &known), Some(column));
    let printed: Vec<f64> =
        std::iter::once(base).chain(known.iter().flat_map(|(_, ends)| ends.iter().flatten().copied())).collect();
    let plain = printed.iter().map(|value| number(*value, 4)).collect();
    let mut printed = with_like_decimals(&printed, plain).into_iter();
    let today = format!("now {}", printed.next().unwrap_or_default());
    let (mut texts, mut obstacles) = (Vec::new(), Vec::new());
    // What lies beyond an axis that was chosen ends at its edge.
    let (x, plot) = (rows.x, rows.plot);
    let px = |value: f64| x.px(value).clamp(plot.left, plot.right.max(plot.left));
    let from = px(base);
    for (row, (name, ends)) in known.iter().enumerate() {
        let y = rows.middle(row);
        let half = (0.36 * rows.height).min(HIGHEST / 2.0);
        let overlap = ends[0].zip(ends[1]).is_some_and(|(low, high)| (low - base) * (high - base) > 0.0);
        for (side, end) in ends.iter().enumerate() {
            let Some(value) = end else { continue };
            let to = px(*value);
            // Two bars on one side share the height.
            let (top, bottom) = match (overlap, side) {
                (false, _) => (y - half, y + half),
                (true, 0) => (y - half, y),
                (true, _) => (y, y + half),
            };
            let rect = Rect { left: from.min(to), right: from.max(to), top, bottom };
            rows.scene.shapes.push(Shape::Box { rect, ink: look(if side == 0 { LOW } else { HIGH }).ink });
            let set = if side == 0 { "low" } else { "high" };
            rows.scene.tell((to, (top + bottom) / 2.0), row, format!("{}, {set}: {}", words(name), figure.x.said(*value)));
            let text = printed.next().unwrap_or_default();
            let wide = width(&text, NOTE_SIZE, Weight::Regular);
            texts.push(rows.beside(text, &rect, to >= from, false, QUIET));
            obstacles.push(Obstacle::Area(Rect { left: rect.left - wide - 8.0, right: rect.right + wide + 8.0, ..rect }));
        }
    }
    let (top, bottom) = (rows.plot.top, rows.plot.bottom);
    if x.holds(base) {
        rows.scene.line(vec![(from, top), (from, bottom)], INK, 1.6);
        rows.scene.text(Text::new(today, (from, top - 4.0), NOTE_SIZE, Anchor::Middle, INK));
    }
    Ok(rows.finish(figure, texts, obstacles))
}

fn describe(figure: &Figure, base: f64, known: &[(&str, [Option<f64>; 2])]) -> String {
    let mut text = format!("{}, now {}.", figure.x.title(), number(base, 4));
    for (name, ends) in known {
        let ends = ends.map(|end| end.map_or("missing".to_string(), |value| number(value, 4)));
        text += &format!(" {name}: {} at the low end, {} at the high end.", ends[0], ends[1]);
    }
    text += &in_words::marks(figure, MarkedAxis::X, &[]);
    text
}
