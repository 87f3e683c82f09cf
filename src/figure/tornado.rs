//! A tornado: bars from a base both ways, the widest on top.

use super::curves::counted;
use super::description::{Figure, TornadoBar, drawable};
use super::error::FigureError;
use super::geometry::Rect;
use super::labels::Obstacle;
use super::palette::{INK, QUIET, look};
use super::rows::Rows;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, NOTE_SIZE, Scene, Shape, Text, half_height};
use super::text::{Weight, width, words};
use super::ticks::{number, with_like_decimals};

/// A bar is not drawn higher than this.
const HIGHEST: f64 = 34.0;

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
        let ends = || ends.iter().flatten().copied().chain([base]);
        ends().fold(f64::NEG_INFINITY, f64::max) - ends().fold(f64::INFINITY, f64::min)
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
    let notes: Vec<String> = std::iter::once("dark bars: low end of the range; light bars: high end".to_string())
        .chain(counted(missing, "missing value is", "missing values are", "left out"))
        .collect();
    let mut rows = Rows::new(figure, &names, scale, &notes, describe(figure, base, &known));
    let printed: Vec<f64> =
        std::iter::once(base).chain(known.iter().flat_map(|(_, ends)| ends.iter().flatten().copied())).collect();
    let plain = printed.iter().map(|value| number(*value, 4)).collect();
    let mut printed = with_like_decimals(&printed, plain).into_iter();
    let today = format!("now {}", printed.next().unwrap_or_default());
    let (mut texts, mut obstacles) = (Vec::new(), Vec::new());
    let from = rows.x.px(base);
    for (row, (_, ends)) in known.iter().enumerate() {
        let y = rows.middle(row);
        let half = (0.36 * rows.height).min(HIGHEST / 2.0);
        let overlap = ends[0].zip(ends[1]).is_some_and(|(low, high)| (low - base) * (high - base) > 0.0);
        for (side, end) in ends.iter().enumerate() {
            let Some(value) = end else { continue };
            let to = rows.x.px(*value);
            // Two bars on one side share the height.
            let (top, bottom) = match (overlap, side) {
                (false, _) => (y - half, y + half),
                (true, 0) => (y - half, y),
                (true, _) => (y, y + half),
            };
            let rect = Rect { left: from.min(to), right: from.max(to), top, bottom };
            rows.scene.shapes.push(Shape::Box { rect, ink: look(if side == 0 { 0 } else { 4 }).ink });
            let text = printed.next().unwrap_or_default();
            let (at, anchor) = if to < from { (to - 5.0, Anchor::End) } else { (to + 5.0, Anchor::Start) };
            let wide = width(&text, NOTE_SIZE, Weight::Regular);
            texts.push(Text::new(text, (at, (top + bottom) / 2.0 + half_height(NOTE_SIZE)), NOTE_SIZE, anchor, QUIET));
            obstacles.push(Obstacle::Area(Rect { left: rect.left - wide - 8.0, right: rect.right + wide + 8.0, ..rect }));
        }
    }
    let (top, bottom) = (rows.plot.top, rows.plot.bottom);
    rows.scene.line(vec![(from, top), (from, bottom)], INK, 1.6);
    rows.scene.text(Text::new(today, (from, top - 4.0), NOTE_SIZE, Anchor::Middle, INK));
    Ok(rows.finish(figure, texts, obstacles))
}

fn describe(figure: &Figure, base: f64, known: &[(&str, [Option<f64>; 2])]) -> String {
    let mut text = format!("{}, from {}.", figure.x.title(), number(base, 4));
    for (name, ends) in known {
        let ends = ends.map(|end| end.map_or("missing".to_string(), |value| number(value, 4)));
        text += &format!(" {name}: {} when low, {} when high.", ends[0], ends[1]);
    }
    text
}
