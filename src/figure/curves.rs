//! Figures of lines and points.

use super::description::{Axis, AxisScale, CurveStyle, Figure, FromAbove, MarkedAxis, Series, Shades, drawable};
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, tick_width, upright_count};
use super::from_above;
use super::geometry::{Reading, Rect, Spot, clip_line, thinned};
use super::in_words;
use super::labels::Obstacle;
use super::legend::{Column, Sample};
use super::marks::{Course, MarkLine, beyond, draw_lines, label};
use super::on_off_rows;
use super::palette::{INK, Look, Marker, QUIET, draw_marker, look};
use super::plot_labels::{NO_ROOM, PlotLabels, arrow};
use super::ramp::{KEY_HEIGHT, draw_key, is_of_values, ramp};
use super::ribbons;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Ink, Scene, Shape};
use super::telling::Axes;
use super::text::{tidy, words};
use crate::limits::{self, Ended, while_going_on};
use std::collections::HashSet;

/// More lines than this have a legend instead of labels at their ends.
const MOST_END_LABELS: usize = 4;
/// Lines are looked at for coinciding up to this number of points, and coincide within this many pixels.
const MOST_COMPARED: usize = 100;
const COINCIDES: f64 = 1.6;
/// Width of lines in colors of values.
const SHADED: f64 = 3.2;
/// Points beyond the plot that have an arrow at its edge, of each run.
const MOST_ARROWS: usize = 60;
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

/// Composes the figure, its plot within the edges at the left and the right where they are given. Errors: no value can be drawn.
pub(super) fn compose(
    figure: &Figure,
    series: &[(CurveStyle, &Series)],
    edges: Option<(f64, f64)>,
) -> Result<Scene, FigureError> {
    match laid_out(figure, series, edges, false)? {
        (scene, 0) => Ok(scene),
        _ => laid_out(figure, series, edges, true).map(|(scene, _)| scene),
    }
}

/// The same with the number of labels that have no room; `crowded` says so at the foot.
fn laid_out(
    figure: &Figure,
    series: &[(CurveStyle, &Series)],
    edges: Option<(f64, f64)>,
    crowded: bool,
) -> Result<(Scene, usize), FigureError> {
    let mut left_out = LeftOut::default();
    let shades = figure.shades.as_ref().and_then(|shades| Some((shades, shade_scale(shades)?)));
    let looks = |index: usize| match &shades {
        Some((shades, scale)) => shaded(shades.values.get(index).copied().and_then(drawable), scale),
        None => look(index),
    };
    let curves: Vec<Curve> =
        series.iter().enumerate().map(|(index, (style, one))| read(one, *style, looks(index), figure, &mut left_out)).collect();
    let all_points = curves.iter().any(|curve| curve.style == CurveStyle::Points);
    let x_fit = if all_points { Fit::Padded } else { Fit::Snug };
    limits::go_on()?;
    let points = || while_going_on(curves.iter().flat_map(|curve| curve.runs.iter().flatten()));
    if points().next().is_none() && figure.ribbons.iter().all(|ribbon| ribbon.points.len() < 2) {
        if left_out.not_above_zero > 0 {
            let axis = if figure.y.scale == AxisScale::Log { &figure.y } else { &figure.x };
            return Err(FigureError::NothingAboveZero { axis: words(&axis.label) });
        }
        return Err(FigureError::NothingToDraw { values: series.iter().map(|(_, one)| one.points.len()).sum() });
    }

    let (mut x, mut y) = scales(figure, x_fit, &curves);
    let outside = points().filter(|point| !x.holds(point.0) || !y.holds(point.1)).count();
    left_out.outside = if figure.held { 0 } else { outside };
    let mut notes = left_out.notes();
    notes.extend(crowded.then(|| NO_ROOM.to_string()));

    let sheet = Sheet::new(figure, &figure.y.title(), &figure.x.title(), &notes);
    let (mut top, bottom) = (sheet.top(), sheet.bottom(1));
    // Many colors of values have one key in place of a legend.
    let key = shades.as_ref().filter(|_| curves.len() > MOST_END_LABELS || all_points);
    let mut column = if key.is_some() { None } else { column(figure, &curves, &x, &y, bottom - top) };
    if key.is_some() {
        top += KEY_HEIGHT + 4.0;
    }
    let y_ticks = y.ticks(upright_count(bottom - top));
    let (names_width, strip) = on_off_rows::room(&figure.bands);
    let (most_left, most_right) = edges.unwrap_or((0.0, f64::INFINITY));
    let left = sheet.left(tick_width(&y_ticks).max(names_width)).max(most_left);
    let right = sheet.right(column.as_ref().map_or(8.0, Column::width)).min(most_right);
    // Below the curves is a strip of the rows of on and off.
    let whole = Rect { left, top, right, bottom };
    let plot = Rect { bottom: bottom - strip, ..whole };
    x.pixels = (plot.left, plot.right);
    y.pixels = (plot.bottom, plot.top);

    let mut scene = sheet.scene(figure, describe(figure, &curves, &x, &notes));
    print_upright(&y, &y_ticks, &plot, &mut scene);
    print_level(&x, &level_ticks(&x), &whole, &mut scene);
    on_off_rows::draw(&figure.bands, &x, &whole, plot.bottom, &mut scene);
    print_base(plot.bottom, &plot, &mut scene);
    if let Some(above) = &figure.above {
        from_above::draw(above, &x, &plot, &mut scene);
    }
    let marks = mark_lines(figure, &x, &y);
    ribbons::draw_in(&figure.ribbons, |series| looks(series).ink, &x, &y, &plot, &mut scene);
    draw_lines(&marks, &plot, &mut scene);
    let equal = if figure.equality && x.kind == y.kind { ribbons::line_of_equality(&x, &y, &plot) } else { None };
    if let Some((from, to)) = equal {
        scene.shapes.push(Shape::Line { points: vec![from, to], ink: QUIET, width: 1.2, dash: &[2.0, 3.0] });
    }
    let mut obstacles = draw_curves(&curves, &x, &y, &plot, &mut scene)?;
    obstacles.extend(equal.map(|(from, to)| Obstacle::Segment(from, to)));
    obstacles.extend(marks.iter().map(|mark| mark.obstacle(&plot)));
    if let Some(column) = &mut column {
        for (entry, curve) in column.entries.iter_mut().zip(&curves) {
            entry.end = curve.end().map(|(at_x, at_y)| (x.px(at_x), y.px(at_y).clamp(plot.top, plot.bottom)));
        }
        column.print(&plot, sheet.floor(), &mut scene);
    }
    if let Some((shades, scale)) = key {
        draw_key(&mut scene, &shades.axis.title(), scale, (16.0, sheet.top() - 8.0), (sheet.width - 32.0).min(480.0));
    }
    let both = |mark| {
        let mark: &super::description::Mark = mark;
        (mark, mark_scale(mark.axis, &x, &y), if mark.axis == MarkedAxis::X { &figure.x } else { &figure.y })
    };
    let mut labels = PlotLabels::new(&plot);
    labels.marks(&marks);
    labels.beyond(&beyond(figure.marks.iter().map(both)));
    labels.names(&figure.callouts, &x, &y);
    if let Some(ends) = equal {
        labels.word("equal", ends);
    }
    let without_room = labels.print(&[], &obstacles, &mut scene);
    sheet.print(&whole, &mut scene);
    let courses: Vec<_> = curves.iter().map(|curve| (curve.name.as_str(), curve.runs.concat())).collect();
    Axes { x: (&figure.x, &x), y: (&figure.y, &y) }.tell(&courses, &mut scene);
    scene.reading = Some(Reading { plot: plot.edges(), x: (x.low, x.high), y: (y.low, y.high) });
    Ok((scene, without_room))
}

/// The scale of the colors; nothing without a value.
fn shade_scale(shades: &Shades) -> Option<Scale> {
    let mut known: Vec<f64> = shades.values.iter().copied().filter_map(drawable).collect();
    if shades.axis.scale == AxisScale::Log {
        known.retain(|value| *value > 0.0);
    }
    if known.is_empty() {
        return None;
    }
    let (low, high) = choose_range(&known, &shades.axis, Fit::Snug, 8);
    Some(Scale { kind: shades.axis.scale, low, high, pixels: (0.0, 1.0) })
}

/// The look of a series by its value.
fn shaded(value: Option<f64>, scale: &Scale) -> Look {
    let ink = value.map_or(QUIET, |value| ramp(scale.px(value)));
    Look { ink, text: INK, dash: &[], marker: Marker::Disc }
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
    let bands = figure.ribbons.iter().flat_map(|ribbon| &ribbon.points).flat_map(|(at, low, high)| [(*at, *low), (*at, *high)]);
    let fits = |kind: AxisScale, value: f64| drawable(value).is_some_and(|value| kind != AxisScale::Log || value > 0.0);
    let points: Vec<(f64, f64)> = points
        .into_iter()
        .chain(while_going_on(bands).filter(|(at, value)| fits(figure.x.scale, *at) && fits(figure.y.scale, *value)))
        .collect();
    let xs: Vec<f64> = while_going_on(&points).map(|point| point.0).chain(at_marks(MarkedAxis::X)).collect();
    let count = upright_count(f64::from(figure.size.1) * 0.75);
    // Where both are compared, both axes show the same range.
    if figure.equality && figure.x.scale == figure.y.scale {
        let ys = while_going_on(&points).map(|point| point.1);
        let all: Vec<f64> = xs.into_iter().chain(ys).chain(at_marks(MarkedAxis::Y)).collect();
        let scale = |axis: &Axis, pixels| {
            let (low, high) = choose_range(&all, axis, Fit::Rounded, count);
            Scale { kind: axis.scale, low, high, pixels }
        };
        return (scale(&figure.x, (0.0, 1.0)), scale(&figure.y, (1.0, 0.0)));
    }
    let (x_low, x_high) = choose_range(&xs, &figure.x, x_fit, 8);
    let x = Scale { kind: figure.x.scale, low: x_low, high: x_high, pixels: (0.0, 1.0) };

    // The upright axis shows what lies within a range that was asked for along the level one.
    let seen: Vec<f64> = while_going_on(&points).filter(|point| x.holds(point.0)).map(|point| point.1).collect();
    let ys = if seen.is_empty() { while_going_on(&points).map(|point| point.1).collect() } else { seen };
    let ys: Vec<f64> = ys.into_iter().chain(at_marks(MarkedAxis::Y)).collect();
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
    // On held axes the names stay where they were, also beside a curve that has left the plot.
    let within = |(at_x, at_y)| figure.held || (x.holds(at_x) && y.holds(at_y));
    let ends_late = |curve: &Curve| curve.end().is_none_or(|end| x.px(end.0) >= END_SHARE && within(end));
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
    let thin = if curves.len() > 8 { 1.7 } else { 2.3 };
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
    let is_shaded = figure_is_shaded(curves);
    // Of points that lie closely together one is enough to keep labels away.
    let mut taken = HashSet::new();
    for curve in order(false).chain(order(true)) {
        let style = curve.style;
        let earlier = curves.iter().take_while(|other| !std::ptr::eq(*other, curve));
        // A line below another stays visible at both sides of it.
        let width = match is_shaded {
            true => SHADED,
            false if lies_below(curve, earlier, &to_px) => thin + 3.6,
            false => thin,
        };
        for run in &curve.runs {
            let spots: Vec<Spot> = while_going_on(run).map(to_px).collect();
            limits::go_on()?;
            let lined = style != CurveStyle::Points && spots.len() > 1;
            if lined {
                let path = if style == CurveStyle::Steps { stepped(&spots) } else { spots.clone() };
                limits::go_on()?;
                for points in clip_line(&thinned(path), plot) {
                    obstacles.extend(points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1])));
                    if is_shaded {
                        // A dark rim keeps light colors visible on paper.
                        scene.line(points.clone(), INK, width + 1.2);
                    }
                    scene.shapes.push(Shape::Line { points, ink: curve.look.ink, width, dash: curve.look.dash });
                }
            }
            // A point alone between gaps would vanish from a line.
            let marked = matches!(style, CurveStyle::Points | CurveStyle::LinesAndPoints) || !lined;
            if marked {
                let has_room = plot.width().min(plot.height()) > 40.0;
                for spot in spots.iter().filter(|spot| has_room && !plot.grown(0.5).holds(**spot)).take(MOST_ARROWS) {
                    let rect = draw_arrow(spot, plot, curve.look.ink, scene);
                    obstacles.push(Obstacle::Area(rect));
                }
                for spot in while_going_on(distinct(&spots)).filter(|spot| plot.grown(0.5).holds(*spot)) {
                    let is_new = taken.insert(((spot.0 / 4.0) as i64, (spot.1 / 4.0) as i64));
                    if is_shaded {
                        scene.shapes.push(Shape::Disc { center: spot, radius: radius + 0.8, ink: INK });
                        scene.shapes.push(Shape::Disc { center: spot, radius, ink: curve.look.ink });
                    } else {
                        draw_marker(scene, curve.look.marker, spot, radius, curve.look.ink);
                    }
                    let (left, right) = (spot.0 - radius, spot.0 + radius);
                    let area = Rect { left, right, top: spot.1 - radius, bottom: spot.1 + radius };
                    obstacles.extend(is_new.then_some(Obstacle::Area(area)));
                }
            }
        }
    }
    Ok(obstacles)
}

/// An arrow at the edge of the plot toward a point beyond it; returns what it covers.
fn draw_arrow(spot: &Spot, plot: &Rect, ink: Ink, scene: &mut Scene) -> Rect {
    let (x, y) = plot.grown(-7.0).nearest(*spot);
    let (axis, above) = match spot {
        (_, down) if *down < plot.top => (MarkedAxis::Y, true),
        (_, down) if *down > plot.bottom => (MarkedAxis::Y, false),
        (across, _) => (MarkedAxis::X, *across > plot.right),
    };
    scene.shapes.push(Shape::Area { points: arrow((x, y), axis, above), ink });
    Rect { left: x - 5.0, right: x + 5.0, top: y - 5.0, bottom: y + 5.0 }
}

/// Whether colors of values draw the curves: their looks differ in nothing else.
fn figure_is_shaded(curves: &[Curve]) -> bool {
    curves.iter().all(|curve| is_of_values(curve.look.ink) || curve.look.ink == QUIET)
}

/// Whether a good part of a line lies on those before it; looked at where lines have few points.
fn lies_below<'c>(curve: &Curve, earlier: impl Iterator<Item = &'c Curve>, to_px: &impl Fn(&(f64, f64)) -> Spot) -> bool {
    let spots = |curve: &Curve| curve.runs.iter().flatten().map(to_px).collect::<Vec<Spot>>();
    if curve.style == CurveStyle::Points || curve.len() > MOST_COMPARED || curve.len() < 2 {
        return false;
    }
    let own = spots(curve);
    let others: Vec<Vec<Spot>> =
        earlier.filter(|other| other.style != CurveStyle::Points && other.len() <= MOST_COMPARED).map(spots).collect();
    let near = |(x, y): &Spot| {
        others.iter().any(|other| {
            other.windows(2).any(|pair| {
                let ((x1, y1), (x2, y2)) = (pair[0], pair[1]);
                let length = (x2 - x1).hypot(y2 - y1);
                let along = if length > 0.0 {
                    (((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / length.powi(2)).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                (x - x1 - along * (x2 - x1)).hypot(y - y1 - along * (y2 - y1)) < COINCIDES
            })
        })
    };
    own.iter().filter(|spot| near(spot)).count() * 4 > own.len()
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

fn describe(figure: &Figure, curves: &[Curve], x: &Scale, notes: &[String]) -> String {
    let mut text = format!("{}.", in_words::axes(figure));
    for curve in curves {
        let points: Vec<(f64, f64)> = while_going_on(curve.runs.iter().flatten()).copied().collect();
        let name = if curve.name.is_empty() { "series".to_string() } else { tidy(&curve.name) };
        let told = match (points.is_empty(), curve.style) {
            (true, _) => "no points".to_string(),
            (_, CurveStyle::Points) => in_words::cloud(&points, figure),
            _ => in_words::course(&points, figure),
        };
        text += &format!(" {name}: {told}.");
    }
    for band in &figure.bands {
        text += &format!(" {}: {}.", tidy(&band.name), in_words::spans(&band.spans, &figure.x));
    }
    let is_seen = |above: &&FromAbove| above.points.iter().any(|(at, value)| *value > 0.0 && x.holds(*at));
    if let Some(above) = figure.above.as_ref().filter(is_seen) {
        text += &format!(" {}.", from_above::words(above, x));
    }
    text += &in_words::names(&figure.callouts, figure);
    text += &in_words::marks(figure, MarkedAxis::X, &[]);
    text += &in_words::marks(figure, MarkedAxis::Y, &[]);
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
