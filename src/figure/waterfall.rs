//! Waterfalls: lying bars, each beginning where the one above it ends, from a first to a last value.

use super::curves::counted;
use super::description::{Figure, MarkedAxis, drawable};
use super::error::FigureError;
use super::geometry::Rect;
use super::in_words;
use super::kinds::{Fall, Waterfall};
use super::labels::Obstacle;
use super::palette::{AXIS, INK, QUIET, look};
use super::rows::Rows;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Ink, NOTE_SIZE, Scene, Shape};
use super::text::{Weight, tidy, width};
use super::ticks::number;

/// A bar is not drawn higher than this.
const HIGHEST: f64 = 26.0;
/// Colors of values, of falls and of rises, as numbers of series.
const TOTAL: usize = 7;
const FALL: usize = 1;
const RISE: usize = 3;

/// A bar of the figure.
struct Bar {
    row: usize,
    thing: usize,
    fall: Fall,
    from: f64,
    to: f64,
}

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, waterfall: &Waterfall) -> Result<Scene, FigureError> {
    let (bars, missing) = bars(waterfall);
    if bars.is_empty() {
        return Err(FigureError::NothingToDraw { values: missing });
    }
    let ends = || bars.iter().flat_map(|bar| [bar.from, bar.to]);
    let (least, greatest) = (ends().fold(0.0, f64::min), ends().fold(0.0, f64::max));
    // Room for the values printed beyond the bars.
    let room = 0.12 * (greatest - least);
    let all = figure.marks.iter().map(|mark| mark.at).chain([if least < 0.0 { least - room } else { 0.0 }, greatest + room]);
    let (low, high) = choose_range(&all.collect::<Vec<_>>(), &figure.x, Fit::Padded, 8);
    let scale = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let several = waterfall.things.len() > 1;
    let mut notes: Vec<String> = counted(missing, "missing value is", "missing values are", "left out").into_iter().collect();
    if several {
        let names: Vec<String> = waterfall.things.iter().map(|thing| tidy(&thing.name)).collect();
        notes.insert(0, format!("in each row from top to bottom: {}", names.join(", ")));
    }
    let mut rows = Rows::new(figure, &waterfall.names, scale, &notes, describe(figure, waterfall), None);
    let (mut texts, mut obstacles) = (Vec::new(), Vec::new());
    let count = waterfall.things.len() as f64;
    let decimals = decimals_of(waterfall);
    let thick = (0.74 * rows.height / count).min(HIGHEST);
    let middle = |row: usize, thing: usize, rows: &Rows| rows.middle(row) + thick * (thing as f64 - (count - 1.0) / 2.0);
    for (thing, _) in waterfall.things.iter().enumerate() {
        let of: Vec<&Bar> = bars.iter().filter(|bar| bar.thing == thing).collect();
        // Thin lines lead from the end of one bar to the next.
        for pair in of.windows(2) {
            let x = rows.px(pair[0].to);
            let ends = vec![(x, middle(pair[0].row, thing, &rows)), (x, middle(pair[1].row, thing, &rows))];
            rows.scene.line(ends, AXIS, 1.0);
        }
        for bar in of {
            let y = middle(bar.row, thing, &rows);
            let (from, to) = (rows.px(bar.from), rows.px(bar.to));
            let gap = (0.07 * thick).min(1.5);
            let rect = Rect {
                left: from.min(to),
                right: from.max(to).max(from.min(to) + 1.0),
                top: y - thick / 2.0 + gap,
                bottom: y + thick / 2.0 - gap,
            };
            rows.scene.shapes.push(Shape::Box { rect, ink: faded(look(color(bar.fall)).ink, thing) });
            let of = if several { format!(", {}", tidy(&waterfall.things[thing].name)) } else { String::new() };
            let unit = figure.x.unit.as_deref().map_or(String::new(), |unit| format!(" {unit}"));
            rows.scene.tell(
                (to, y),
                thing,
                format!("{}{of}: {}{unit}", tidy(&waterfall.names[bar.row]), printed(bar.fall, decimals)),
            );
            let name =
                if several && matches!(bar.fall, Fall::Total(_)) { tidy(&waterfall.things[thing].name) } else { String::new() };
            let text =
                [printed(bar.fall, decimals), name].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join("  ");
            let wide = width(&text, NOTE_SIZE, Weight::Regular);
            let ink = if matches!(bar.fall, Fall::Total(_)) { INK } else { QUIET };
            texts.push(rows.beside(text, &rect, true, true, ink));
            obstacles.push(Obstacle::Area(Rect { left: rect.left - 4.0, right: rect.right + wide + 8.0, ..rect }));
        }
    }
    Ok(rows.finish(figure, texts, obstacles))
}

/// Where each bar begins and ends, and how many are no numbers.
fn bars(waterfall: &Waterfall) -> (Vec<Bar>, usize) {
    let (mut bars, mut missing) = (Vec::new(), 0);
    for (thing, falls) in waterfall.things.iter().enumerate() {
        let mut at = 0.0;
        for (row, fall) in falls.rows.iter().enumerate().take(waterfall.names.len()) {
            let Some(fall) = fall else { continue };
            let (Fall::Total(value) | Fall::Change(value)) = *fall;
            let Some(value) = drawable(value) else {
                missing += 1;
                continue;
            };
            let (from, to) = if matches!(fall, Fall::Total(_)) { (0.0, value) } else { (at, at + value) };
            bars.push(Bar { row, thing, fall: *fall, from, to });
            at = to;
        }
    }
    (bars, missing)
}

fn color(fall: Fall) -> usize {
    match fall {
        Fall::Total(_) => TOTAL,
        Fall::Change(value) if value < 0.0 => FALL,
        Fall::Change(_) => RISE,
    }
}

/// The color of a later thing: nearer to paper.
fn faded(ink: Ink, thing: usize) -> Ink {
    let share = [0.0, 0.4, 0.6, 0.75][thing.min(3)];
    let mix = |channel: u8| (f64::from(channel) + (255.0 - f64::from(channel)) * share).round() as u8;
    Ink(mix(ink.0), mix(ink.1), mix(ink.2))
}

/// As many decimals as show three digits of the largest value; all numbers have the same, since they add up.
fn decimals_of(waterfall: &Waterfall) -> usize {
    let values = waterfall.things.iter().flat_map(|thing| thing.rows.iter().flatten());
    let size = |fall: &Fall| {
        let (Fall::Total(value) | Fall::Change(value)) = fall;
        value.abs()
    };
    let largest: f64 = values.map(size).filter(|value| value.is_finite()).fold(0.0, f64::max);
    if largest > 0.0 { (2.0 - largest.log10().floor()).clamp(0.0, 6.0) as usize } else { 0 }
}

/// A value as it is, a change with its sign; one that these decimals do not show has digits of its own.
fn printed(fall: Fall, decimals: usize) -> String {
    let (Fall::Total(value) | Fall::Change(value)) = fall;
    let is_shown = value == 0.0 || value.abs() >= 0.5 * 10f64.powi(-(decimals as i32));
    let text = if is_shown && value.abs() < 1e7 { format!("{:.decimals$}", value + 0.0) } else { number(value, 1) };
    if matches!(fall, Fall::Change(change) if change > 0.0) { format!("+{text}") } else { text }
}

fn describe(figure: &Figure, waterfall: &Waterfall) -> String {
    let mut text = format!("{}, step by step.", figure.x.title());
    let decimals = decimals_of(waterfall);
    for thing in &waterfall.things {
        if !thing.name.is_empty() {
            text += &format!(" {}:", tidy(&thing.name));
        }
        for (name, fall) in waterfall.names.iter().zip(&thing.rows) {
            if let Some(fall) = fall {
                text += &format!(" {}: {}.", tidy(name), printed(*fall, decimals));
            }
        }
    }
    text += &in_words::marks(figure, MarkedAxis::X, &[]);
    text
}
