//! Figures of lines and points.

use super::callouts;
use super::description::{AxisScale, CurveStyle, Figure, MarkedAxis, Series, drawable};
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, tick_width, upright_count};
use super::from_above;
use super::geometry::{Rect, Spot, clip_line, thinned};
use super::labels::Obstacle;
use super::legend::{Column, Sample};
use super::marks::{Course, MarkLine, draw_lines, label, print_labels};
use super::on_off_rows;
use super::palette::{Look, draw_marker, look};
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Scene, Shape};
use super::text::{tidy, words};
use crate::limits::{self, Ended, while_going_on};
use std::collections::HashSet;

/// More lines than this have a legend instead of labels at their ends.
const MOST_END_LABELS: usize = 4;
/// Lines that end before this share of the axis have a legend too.
const END_SHARE: f64 = 0.85;

/// A series without its missing values: runs of points between gaps.
struct Curve {
    name: String,
    look: Look,
    style: CurveStyle,
    runs: Vec<Vec<(f64, f64)>>,
}

/// What was left out, to be said at the foot.
#[derive(Default)]
struct LeftOut {
    missing: usize,
    not_above_zero: usize,
    outside: usize,
    empty: Vec<String>,
}

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, series: &[(CurveStyle, &Series)]) -> Result<Scene, FigureError> {
    let mut left_out = LeftOut::default();
    let curves: Vec<Curve> =
        series.iter().enumerate().map(|(index, (style, one))| read(one, *style, look(index), figure, &mut left_out)).collect();
    let all_points = curves.iter().any(|curve| curve.style == CurveStyle::Points);
    let x_fit = if all_points { Fit::Padded } else { Fit::Snug };
    limits::go_on()?;
    let points = || while_going_on(curves.iter().flat_map(|curve| curve.runs.iter().flatten()));
    if points().next().is_none() {
        if left_out.not_above_zero > 0 {
            let axis = if figure.y.scale == AxisScale::Log { &figure.y } else { &figure.x };
            return Err(FigureError::NothingAboveZero { axis: words(&axis.label) });
        }
        return Err(FigureError::NothingToDraw { values: series.iter().map(|(_, one)| one.points.len()).sum() });
    }

    let (mut x, mut y) = scales(figure, x_fit, &curves);
    left_out.outside = points().filter(|point| !x.holds(point.0) || !y.holds(point.1)).count();
    let mut notes = left_out.notes();
    let marks_outside = figure.marks.iter().filter(|mark| !mark_scale(mark.axis, &x, &y).holds(mark.at)).count();
    notes.extend(counted(marks_outside, "mark lies", "marks lie", "outside the axes"));

    let sheet = Sheet::new(figure, &figure.y.title(), &figure.x.title(), &notes);
    let (top, bottom) = (sheet.top(), sheet.bottom(1));
    let mut column = column(figure, &curves, &x, &y, bottom - top);
    let y_ticks = y.ticks(upright_count(bottom - top));
    let right = sheet.right(column.as_ref().map_or(8.0, Column::width));
    let (names_width, strip) = on_off_rows::room(&figure.bands);
    // Below the curves is a strip of the rows of on and off.
    let whole = Rect { left: sheet.left(tick_width(&y_ticks).max(names_width)), top, right, bottom };
    let plot = Rect { bottom: bottom - strip, ..whole };
    x.pixels = (plot.left, plot.right);
    y.pixels = (plot.bottom, plot.top);

    let mut scene = sheet.scene(figure, describe(figure, &curves, &notes));
    print_upright(&y, &y_ticks, &plot, &mut scene);
    print_level(&x, &level_ticks(&x), &whole, &mut scene);
    on_off_rows::draw(&figure.bands, &x, &whole, plot.bottom, &mut scene);
    print_base(plot.bottom, &plot, &mut scene);
    if let Some(above) = &figure.above {
        from_above::draw(above, &x, &plot, &mut scene);
    }
    let marks = mark_lines(figure, &x, &y);
    draw_lines(&marks, &plot, &mut scene);
    let mut obstacles = draw_curves(&curves, &x, &y, &plot, &mut scene)?;
    let lines: Vec<Obstacle> = obstacles.iter().copied().chain(marks.iter().map(|mark| mark.obstacle(&plot))).collect();
    obstacles.extend(callouts::print(&figure.callouts, &x, &y, &lines, &plot, &mut scene));
    if let Some(column) = &mut column {
        for (entry, curve) in column.entries.iter_mut().zip(&curves) {
            entry.end = curve.end().map(|(at_x, at_y)| (x.px(at_x), y.px(at_y)));
        }
        column.print(&plot, sheet.floor(), &mut scene);
    }
    print_labels(&marks, obstacles, &plot, &mut scene);
    sheet.print(&whole, &mut scene);
    Ok(scene)
}

fn read(series: &Series, style: CurveStyle, look: Look, figure: &Figure, left_out: &mut LeftOut) -> Curve {
    let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
    let shown = |scale: AxisScale, value: f64| scale != AxisScale::Log || value > 0.0;
    for (x, y) in while_going_on(&series.points) {
        match (drawable(*x), y.and_then(drawable)) {
            (Some(x), Some(y)) => {
                if shown(figure.x.scale, x) && shown(figure.y.scale, y) {
                    if let Some(run) = runs.last_mut() {
                        run.push((x, y));
                    }
                    continue;
                }
                left_out.not_above_zero += 1;
            }
            _ => left_out.missing += 1,
        }
        runs.push(Vec::new());
    }
    runs.retain(|run| !run.is_empty());
    let name = words(&series.name);
    if runs.is_empty() {
        left_out.empty.push(name.clone());
    }
    Curve { name, look, style, runs }
}

/// Both scales, their pixels still unknown.
fn scales(figure: &Figure, x_fit: Fit, curves: &[Curve]) -> (Scale, Scale) {
    let points: Vec<(f64, f64)> = while_going_on(curves.iter().flat_map(|curve| curve.runs.iter().flatten().copied())).collect();
    let at_marks = |axis: MarkedAxis| figure.marks.iter().filter(move |mark| mark.axis == axis).map(|mark| mark.at);
    let xs: Vec<f64> = while_going_on(&points).map(|point| point.0).chain(at_marks(MarkedAxis::X)).collect();
    let (x_low, x_high) = choose_range(&xs, &figure.x, x_fit, 8);
    let x = Scale { kind: figure.x.scale, low: x_low, high: x_high, pixels: (0.0, 1.0) };

    // The upright axis shows what lies within a range that was asked for along the level one.
    let seen: Vec<f64> = while_going_on(&points).filter(|point| x.holds(point.0)).map(|point| point.1).collect();
    let ys = if seen.is_empty() { while_going_on(&points).map(|point| point.1).collect() } else { seen };
    let ys: Vec<f64> = ys.into_iter().chain(at_marks(MarkedAxis::Y)).collect();
    let count = upright_count(f64::from(figure.size.1) * 0.75);
    let (y_low, y_high) = choose_range(&ys, &figure.y, Fit::Rounded, count);
    (x, Scale { kind: figure.y.scale, low: y_low, high: y_high, pixels: (1.0, 0.0) })
}

fn mark_scale<'a>(axis: MarkedAxis, x: &'a Scale, y: &'a Scale) -> &'a Scale {
    if axis == MarkedAxis::X { x } else { y }
}

fn mark_lines(figure: &Figure, x: &Scale, y: &Scale) -> Vec<MarkLine> {
    let line = |mark: &super::description::Mark| {
        let scale = mark_scale(mark.axis, x, y);
        let (course, axis) = match mark.axis {
            MarkedAxis::X => (Course::Upright, &figure.x),
            MarkedAxis::Y => (Course::Level, &figure.y),
        };
        scale.holds(mark.at).then(|| MarkLine { course, at_px: scale.px(mark.at), label: label(mark, axis) })
    };
    figure.marks.iter().filter_map(line).collect()
}

/// Labels at the ends, a legend, or nothing when one series says no more than the axis.
fn column(figure: &Figure, curves: &[Curve], x: &Scale, y: &Scale, height: f64) -> Option<Column> {
    let title = figure.legend_title.as_deref().map(words).unwrap_or_default();
    let says_no_more = |only: &Curve| only.name.is_empty() || only.name == words(&figure.y.label);
    if curves.len() == 1 && title.is_empty() && curves.iter().all(says_no_more) {
        return None;
    }
    let sample = |curve: &Curve| match curve.style {
        CurveStyle::Lines | CurveStyle::Steps => Sample::Line,
        CurveStyle::Points => Sample::Marker,
        CurveStyle::LinesAndPoints => Sample::LineAndMarker,
    };
    let ends_late =
        |curve: &Curve| curve.end().is_none_or(|(at_x, at_y)| x.px(at_x) >= END_SHARE && x.holds(at_x) && y.holds(at_y));
    let lined = curves.iter().all(|curve| curve.style != CurveStyle::Points);
    let at_ends = lined && curves.len() <= MOST_END_LABELS && curves.iter().all(ends_late);
    let names = || curves.iter().map(|curve| (curve.name.clone(), curve.look)).collect();
    let width = f64::from(figure.size.0);
    let make = |at_ends| {
        let each = curves.iter().map(sample).collect();
        Column { each, ..Column::new(&title, names(), Sample::Line, at_ends, width) }
    };
    let column = make(at_ends);
    if at_ends && column.height() > height { Some(make(false)) } else { Some(column) }
}

/// Draws lines and markers; returns what labels should not cover. Errors: the evaluation is to end.
fn draw_curves(curves: &[Curve], x: &Scale, y: &Scale, plot: &Rect, scene: &mut Scene) -> Result<Vec<Obstacle>, Ended> {
    let mut obstacles = Vec::new();
    let to_px = |(at_x, at_y): &(f64, f64)| (x.px(*at_x), y.px(*at_y));
    let width = if curves.len() > 8 { 1.7 } else { 2.3 };
    let most = curves.iter().map(Curve::len).max().unwrap_or(0);
    let radius = if most <= 40 {
        4.0
    } else if most <= 200 {
        3.0
    } else {
        2.0
    };
    // Later curves lie on top; drawing backwards leaves the first, often the main one, uncovered.
    let order = |points: bool| curves.iter().rev().filter(move |curve| (curve.style == CurveStyle::Points) == points);
    for curve in order(false).chain(order(true)) {
        let style = curve.style;
        for run in &curve.runs {
            let spots: Vec<Spot> = while_going_on(run).map(to_px).collect();
            limits::go_on()?;
            let lined = style != CurveStyle::Points && spots.len() > 1;
            if lined {
                let path = if style == CurveStyle::Steps { stepped(&spots) } else { spots.clone() };
                limits::go_on()?;
                for points in clip_line(&thinned(path), plot) {
                    obstacles.extend(points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1])));
                    scene.shapes.push(Shape::Line { points, ink: curve.look.ink, width, dash: curve.look.dash });
                }
            }
            // A point alone between gaps would vanish from a line.
            let marked = matches!(style, CurveStyle::Points | CurveStyle::LinesAndPoints) || !lined;
            if marked {
                for spot in while_going_on(distinct(&spots)).filter(|spot| plot.grown(0.5).holds(*spot)) {
                    draw_marker(scene, curve.look.marker, spot, radius, curve.look.ink);
                    let (left, right) = (spot.0 - radius, spot.0 + radius);
                    obstacles.push(Obstacle::Area(Rect { left, right, top: spot.1 - radius, bottom: spot.1 + radius }));
                }
            }
        }
    }
    Ok(obstacles)
}

/// Each value holds until the next point.
fn stepped(spots: &[Spot]) -> Vec<Spot> {
    let mut path: Vec<Spot> = spots.first().copied().into_iter().collect();
    for pair in spots.windows(2) {
        path.extend([(pair[1].0, pair[0].1), pair[1]]);
    }
    path
}

/// Without points that would be drawn on top of each other, when there are very many.
fn distinct(spots: &[Spot]) -> Vec<Spot> {
    if spots.len() < 2000 {
        return spots.to_vec();
    }
    let mut seen = HashSet::new();
    while_going_on(spots).copied().filter(|(x, y)| seen.insert(((x * 2.0) as i64, (y * 2.0) as i64))).collect()
}

fn describe(figure: &Figure, curves: &[Curve], notes: &[String]) -> String {
    let mut text = format!("{} by {}.", figure.y.title(), figure.x.title());
    for curve in curves {
        let ys = || while_going_on(curve.runs.iter().flatten()).map(|point| point.1);
        let (low, high) = (ys().fold(f64::INFINITY, f64::min), ys().fold(f64::NEG_INFINITY, f64::max));
        let name = if curve.name.is_empty() { "series".to_string() } else { tidy(&curve.name) };
        text += &match curve.len() {
            0 => format!(" {name}: no points."),
            1 => format!(" {name}: 1 point, {}.", figure.y.text(low)),
            count => format!(" {name}: {count} points, {} to {}.", figure.y.text(low), figure.y.text(high)),
        };
    }
    for mark in &figure.marks {
        text += &format!(" Mark: {}.", label(mark, if mark.axis == MarkedAxis::X { &figure.x } else { &figure.y }));
    }
    notes.iter().for_each(|note| text += &format!(" Note: {note}."));
    text
}

impl Curve {
    fn len(&self) -> usize {
        self.runs.iter().map(Vec::len).sum()
    }

    fn end(&self) -> Option<(f64, f64)> {
        self.runs.last()?.last().copied()
    }
}

impl LeftOut {
    fn notes(&self) -> Vec<String> {
        let mut notes: Vec<String> =
            counted(self.missing, "missing value is", "missing values are", "left out").into_iter().collect();
        notes.extend(counted(
            self.not_above_zero,
            "value at or below zero is",
            "values at or below zero are",
            "left out, since a logarithmic axis cannot show them",
        ));
        notes.extend(counted(self.outside, "point lies", "points lie", "outside the axes"));
        if !self.empty.is_empty() {
            notes.push(format!("no values for {}", self.empty.join(", ")));
        }
        notes
    }
}

/// `1 missing value is left out`; nothing when there is none.
pub(super) fn counted(count: usize, one: &str, many: &str, rest: &str) -> Option<String> {
    (count > 0).then(|| format!("{count} {} {rest}", if count == 1 { one } else { many }))
}
