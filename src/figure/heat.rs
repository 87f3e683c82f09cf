//! Heat maps: a value over two axes as colors, with contours at round values and strong ones at marks.

use super::contour::{Segment, contour};
use super::curves::counted;
use super::description::{Field, Figure, Mark, MarkedAxis, drawable};
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, print_upright_base, tick_width, upright_count};
use super::geometry::{Reading, Rect, Spot};
use super::in_words;
use super::labels::{Candidate, Label, MUST, Obstacle, Surroundings, place};
use super::marks::label;
use super::palette::{GRID, INK, PAPER};
use super::ramp::{KEY_HEIGHT, draw_key, ramp};
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, Ink, NOTE_SIZE, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, width, words, wrap};
use crate::limits::{self, Ended, while_going_on};
use std::borrow::Cow;

/// Pixels of the sheet for one cell of color.
const CELL: f64 = 2.0;
/// Widths of the contours of marks and of round values.
const STRONG: f64 = 2.6;
const PLAIN: f64 = 1.0;
/// Places tried for the label of a contour.
const MOST_PLACES: usize = 80;

/// Composes the figure. Errors: no grid, or no value that can be drawn.
pub(super) fn compose(figure: &Figure, field: &Field) -> Result<Scene, FigureError> {
    let (columns, n_rows) = (field.xs.len(), field.ys.len());
    if columns < 2 || n_rows < 2 || field.values.len() != columns * n_rows {
        return Err(FigureError::SmallField { columns, rows: n_rows });
    }
    let known: Vec<f64> = while_going_on(&field.values).flatten().copied().filter_map(drawable).collect();
    limits::go_on()?;
    if known.is_empty() {
        return Err(FigureError::NothingToDraw { values: field.values.len() });
    }
    let (low, high) = choose_range(&known, &field.axis, Fit::Rounded, 8);
    let z = Scale { kind: field.axis.scale, low, high, pixels: (0.0, 1.0) };
    let notes: Vec<String> =
        counted(field.values.len() - known.len(), "missing value is", "missing values are", "left blank").into_iter().collect();
    let sheet = Sheet::new(figure, &figure.y.title(), &figure.x.title(), &notes);
    let mut x = Scale { kind: figure.x.scale, low: field.xs[0], high: field.xs[columns - 1], pixels: (0.0, 1.0) };
    let mut y = Scale { kind: figure.y.scale, low: field.ys[0], high: field.ys[n_rows - 1], pixels: (1.0, 0.0) };
    let (top, bottom) = (sheet.top() + KEY_HEIGHT + 4.0, sheet.bottom(1));
    let ticks = y.ticks(upright_count(bottom - top));
    let plot = Rect { left: sheet.left(tick_width(&ticks)), top, right: sheet.right(18.0), bottom };
    (x.pixels, y.pixels) = ((plot.left, plot.right), (plot.bottom, plot.top));
    let mut scene = sheet.scene(figure, describe(figure, field, &known));
    print_upright(&y, &ticks, &plot, &mut scene);
    print_level(&x, &level_ticks(&x), &plot, &mut scene);
    scene.shapes.push(picture(field, &x, &y, &z, &plot)?);
    let coarse = no_finer_than_the_sheet(field, &x, &y)?;
    draw_contours(&coarse, &x, &y, &z, &plot, &mut scene)?;
    print_base(plot.bottom, &plot, &mut scene);
    print_upright_base(plot.left, &plot, &mut scene);
    draw_key(&mut scene, &field.axis.title(), &z, (16.0, sheet.top() - 8.0), (sheet.width - 32.0).min(480.0));
    sheet.print(&plot, &mut scene);
    scene.reading = Some(Reading { plot: plot.edges(), x: (x.low, x.high), y: (y.low, y.high) });
    Ok(scene)
}

/// The colors, each cell by the values of the four corners around it. Errors: the evaluation is to end.
fn picture(field: &Field, x: &Scale, y: &Scale, z: &Scale, plot: &Rect) -> Result<Shape, Ended> {
    let columns = (plot.width() / CELL).ceil() as usize;
    let rows = (plot.height() / CELL).ceil() as usize;
    let value_at = |scale: &Scale, share: f64| match scale.kind {
        super::AxisScale::Linear | super::AxisScale::Clock => scale.low + share * (scale.high - scale.low),
        super::AxisScale::Log => scale.low * (scale.high / scale.low).powf(share),
    };
    let along_x = |column: usize| interval(&field.xs, value_at(x, (column as f64 + 0.5) / columns as f64));
    let along_y = |row: usize| interval(&field.ys, value_at(y, 1.0 - (row as f64 + 0.5) / rows as f64));
    let x_spots: Vec<(usize, f64)> = (0..columns).map(along_x).collect();
    let width = field.xs.len();
    let mut cells: Vec<Ink> = Vec::with_capacity(columns * rows);
    for (row, v) in (0..rows).map(along_y) {
        limits::go_on()?;
        for (column, u) in &x_spots {
            let corner = |down: usize, right: usize| field.values[(row + down) * width + column + right].and_then(drawable);
            let mixed = (|| {
                let lower = corner(0, 0)? * (1.0 - u) + corner(0, 1)? * u;
                let upper = corner(1, 0)? * (1.0 - u) + corner(1, 1)? * u;
                Some(lower * (1.0 - v) + upper * v)
            })();
            cells.push(
                mixed.filter(|value| z.kind != super::AxisScale::Log || *value > 0.0).map_or(GRID, |value| ramp(z.px(value))),
            );
        }
    }
    Ok(Shape::Picture { rect: *plot, columns, cells })
}

/// The interval of rising numbers that holds a value, and how far along in it.
fn interval(rising: &[f64], value: f64) -> (usize, f64) {
    let index = rising.partition_point(|edge| *edge <= value).clamp(1, rising.len() - 1) - 1;
    (index, ((value - rising[index]) / (rising[index + 1] - rising[index])).clamp(0.0, 1.0))
}

/// The field without rows and columns that lie nearer to the one before than a cell of color: contours between them would be finer than
/// anybody can see, and as many as the values. Errors: the evaluation is to end.
fn no_finer_than_the_sheet<'f>(field: &'f Field, x: &Scale, y: &Scale) -> Result<Cow<'f, Field>, Ended> {
    let (columns, rows) = (apart(&field.xs, x), apart(&field.ys, y));
    if columns.len() == field.xs.len() && rows.len() == field.ys.len() {
        return Ok(Cow::Borrowed(field));
    }
    let mut values = Vec::with_capacity(columns.len() * rows.len());
    for row in &rows {
        limits::go_on()?;
        values.extend(columns.iter().map(|column| field.values[row * field.xs.len() + column]));
    }
    let kept = |all: &[f64], places: &[usize]| places.iter().map(|place| all[*place]).collect();
    let (xs, ys) = (kept(&field.xs, &columns), kept(&field.ys, &rows));
    Ok(Cow::Owned(Field { xs, ys, values, axis: field.axis.clone(), marks: field.marks.clone() }))
}

/// Places of rising numbers, the first and the last among them, that lie a cell apart on the sheet or more.
fn apart(rising: &[f64], scale: &Scale) -> Vec<usize> {
    let px = |place: usize| scale.px(rising[place]);
    let far = |a: usize, b: usize| (px(a) - px(b)).abs() >= CELL;
    let last = rising.len() - 1;
    let mut kept = vec![0];
    for place in while_going_on(1..last) {
        if far(place, kept[kept.len() - 1]) && far(place, last) {
            kept.push(place);
        }
    }
    kept.push(last);
    kept
}

/// Errors: the evaluation is to end.
fn draw_contours(field: &Field, x: &Scale, y: &Scale, z: &Scale, plot: &Rect, scene: &mut Scene) -> Result<(), Ended> {
    let to_px = |(a, b): Segment| -> (Spot, Spot) { ((x.px(a.0), y.px(a.1)), (x.px(b.0), y.px(b.1))) };
    let strong = field.marks.iter().map(|(at, text)| {
        let mark = Mark { at: *at, axis: MarkedAxis::Y, label: text.clone() };
        (*at, label(&mark, &field.axis), STRONG)
    });
    let ticks = z.ticks(8);
    let plain = ticks.iter().filter(|tick| field.marks.iter().all(|(at, _)| (at - tick.value).abs() > 1e-9 * z.high.abs()));
    let plain = plain.map(|tick| (tick.value, tick.label.clone(), PLAIN));
    let (mut texts, mut labels, mut obstacles) = (Vec::new(), Vec::new(), Vec::new());
    for (level, text, thick) in strong.chain(plain) {
        let pieces: Vec<(Spot, Spot)> = contour(field, level)?.into_iter().map(to_px).collect();
        for (from, to) in &pieces {
            scene.line(vec![*from, *to], PAPER, thick + 1.2);
        }
        for (from, to) in &pieces {
            scene.line(vec![*from, *to], INK, thick);
        }
        let size = if thick == STRONG { TICK_SIZE } else { NOTE_SIZE };
        let text = wrap(&text, size, Weight::Regular, plot.width() - 12.0, 1).concat();
        labels.push(on_contour(&pieces, width(&text, size, Weight::Regular) + 8.0, thick));
        texts.push((text, size));
        obstacles.extend(pieces.into_iter().map(|(from, to)| Obstacle::Segment(from, to)));
    }
    let surroundings = Surroundings { frame: *plot, solids: &[], obstacles: &obstacles, touch: 0.0 };
    for ((text, size), (label, at)) in texts.into_iter().zip(labels.iter().zip(place(&labels, &surroundings))) {
        let Some(rect) = at.map(|at| label.candidates[at].rect) else { continue };
        scene.shapes.push(Shape::Box { rect: rect.grown(-1.0), ink: PAPER });
        let at = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0 + half_height(size));
        scene.text(Text::new(text, at, size, Anchor::Middle, INK));
    }
    Ok(())
}

/// The label of a contour: on its line, the nearer to its middle the better.
fn on_contour(pieces: &[(Spot, Spot)], wide: f64, thick: f64) -> Label {
    let boxed = |(from, to): &(Spot, Spot)| {
        let (x, y) = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        Rect { left: x - wide / 2.0, right: x + wide / 2.0, top: y - 9.0, bottom: y + 9.0 }
    };
    let step = pieces.len().div_ceil(MOST_PLACES).max(1);
    let middle = pieces.len() as f64 / 2.0;
    let places = pieces.iter().enumerate().step_by(step).map(|(at, piece)| {
        let cost = 10.0 * (at as f64 - middle).abs() / middle;
        Candidate { rect: boxed(piece), cost, leader: None }
    });
    Label { candidates: places.collect(), worth: if thick == STRONG { MUST } else { 40.0 + 3.0 * wide } }
}

fn describe(figure: &Figure, field: &Field, known: &[f64]) -> String {
    let (columns, rows) = (field.xs.len(), field.ys.len());
    let cells = || field.values.iter().enumerate().filter_map(|(at, value)| Some((at, value.and_then(drawable)?)));
    let place = |at: usize| (figure.x.text(field.xs[at % columns]), figure.y.text(field.ys[at / columns]));
    let told = |what: &str, found: Option<(usize, f64)>| {
        found.map_or(String::new(), |(at, value)| {
            let (x, y) = place(at);
            let (along, up) = (words(&figure.x.label), words(&figure.y.label));
            format!(" {what} {} at {along} {x} and {up} {y}.", field.axis.text(value))
        })
    };
    let by_value = |a: &(usize, f64), b: &(usize, f64)| a.1.total_cmp(&b.1);
    let mut text = format!(
        "{} over {} and {}: {columns} by {rows} values.{}{}",
        field.axis.title(),
        figure.x.title(),
        figure.y.title(),
        told("Lowest", while_going_on(cells()).min_by(by_value)),
        told("Highest", while_going_on(cells()).max_by(by_value)),
    );
    for (at, label) in &field.marks {
        let mark = Mark { at: *at, axis: MarkedAxis::Y, label: label.clone() };
        text += &in_words::mark_with_share(&mark, &field.axis, known);
    }
    text
}
