//! Strips over one time: rows of on and off, numbered events, and curves on axes of their own, all above one axis of times.
//!
//! What goes on and off too fast to be drawn is one hatched block with its count.

use super::axis::{AxisScale, Series, drawable};
use super::description::Figure;
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, tick_width};
use super::geometry::{Rect, Spot, clip_line, thinned};
use super::in_words::{self, mark_with_share};
use super::kinds::{Span, StripEvent, StripPanel, StripRow, Strips};
use super::labels::{Candidate, Label, MUST, Obstacle, Surroundings, place};
use super::marks::{Course, MarkLine, beyond, draw_lines, label};
use super::palette::{AXIS, GRID, INK, PAPER, QUIET, draw_marker, look};
use super::plot_labels::PlotLabels;
use super::ribbons;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, NOTE_SIZE, Scene, Shape, TICK_SIZE, Text, half_height};
use super::telling::Axes;
use super::text::{Weight, tidy, widest, width, words, wrap};
use super::ticks::number;
use crate::limits::{self, while_going_on};
use crate::numeric::lowest_and_highest;

/// Height of a row, and of what is filled of it.
const ROW: f64 = 21.0;
const FILLED: f64 = 13.0;
/// Between the rows and the first panel, and the heading of a panel.
const GAP: f64 = 10.0;
const HEADING: f64 = 24.0;
/// Share of a panel that the label of a mark at its upper edge needs.
const HEADROOM: f64 = 0.2;
/// A panel is not drawn lower than this.
const LOWEST: f64 = 70.0;
/// Events with a number on the sheet.
const MOST_EVENTS: usize = 9;
/// Between two events with a number each, px.
const BETWEEN_EVENTS: f64 = 38.0;
/// Between two bars of a hatched block.
const HATCH: f64 = 5.0;
/// A span is drawn at least this wide.
const LEAST_WIDTH: f64 = 1.5;

/// Composes the figure. Errors: nothing to draw.
pub(super) fn compose(figure: &Figure, strips: &Strips) -> Result<Scene, FigureError> {
    let xs: Vec<f64> = all_xs(strips).into_iter().filter_map(drawable).collect();
    limits::go_on()?;
    if xs.is_empty() {
        return Err(FigureError::NothingToDraw { values: 0 });
    }
    let (low, high) = choose_range(&xs, &figure.x, Fit::Snug, 8);
    let mut x = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let (shown, legend) = events_in_words(figure, strips, &x);
    // Counts of blocks may have no room in the picture.
    let many = strips.rows.iter().filter(|row| row.spans.len() > 1 && row.spans.iter().any(|span| span.times > 1));
    let counts = many.map(|row| format!("{}: on {} times", tidy(&row.name), times_on(row)));
    let notes: Vec<String> = counts.chain(legend).collect();
    let sheet = Sheet::new(figure, "", &figure.x.title(), &notes);
    let has_events = !shown.is_empty();
    let rows = strips.rows.len() + usize::from(has_events);
    let top = sheet.top() - if figure.title.is_some() { 6.0 } else { 14.0 };
    let rows_bottom = top + ROW * rows as f64;
    let count = strips.panels.len();
    // Rows that need more room than the sheet has make it higher.
    let needed = rows_bottom + count as f64 * (HEADING + LOWEST) + GAP;
    let more = (needed - sheet.bottom(1)).max(0.0).ceil();
    let bottom = sheet.bottom(1) + more;
    let panel_room = if count > 0 { (bottom - rows_bottom - GAP) / count as f64 } else { 0.0 };
    let scales: Vec<Scale> = strips.panels.iter().map(|panel| upright(panel, &x)).collect();
    let most_ticks = (((panel_room - HEADING) / 30.0) as usize).clamp(2, 6);
    let names: Vec<String> = strips.rows.iter().map(|row| tidy(&row.name)).chain(has_events.then(|| "events".into())).collect();
    let room = 0.26 * sheet.width;
    let names: Vec<String> = names.iter().map(|name| wrap(name, TICK_SIZE, Weight::Regular, room, 1).concat()).collect();
    let ticks_width = scales.iter().map(|scale| tick_width(&scale.ticks(most_ticks))).fold(0.0, f64::max);
    let left = sheet.left(widest(&names, TICK_SIZE, Weight::Regular).max(ticks_width));
    let end = if count > 0 { bottom } else { rows_bottom };
    let whole = Rect { left, top, right: sheet.right(12.0), bottom: end };
    x.pixels = (whole.left, whole.right);

    let mut scene = sheet.scene(figure, describe(figure, strips, &shown));
    scene.height += more as u32;
    if let Some(Shape::Box { rect, .. }) = scene.shapes.first_mut() {
        rect.bottom += more;
    }
    print_level(&x, &level_ticks(&x), &whole, &mut scene);
    for (row, name) in names.iter().enumerate() {
        let middle = top + ROW * (row as f64 + 0.5);
        scene.line(vec![(whole.left, middle), (whole.right, middle)], GRID, 1.0);
        let at = (whole.left - 8.0, middle + half_height(TICK_SIZE));
        scene.text(Text::new(name, at, TICK_SIZE, Anchor::End, INK));
        if let Some(strip) = strips.rows.get(row) {
            draw_row(strip, &x, &whole, middle, &mut scene);
        }
    }
    for (index, (panel, mut scale)) in strips.panels.iter().zip(scales).enumerate() {
        let panel_top = rows_bottom + GAP + panel_room * index as f64;
        let plot = Rect { top: panel_top + HEADING, bottom: panel_top + panel_room - 4.0, ..whole };
        scale.pixels = (plot.bottom, plot.top);
        draw_panel(panel, &x, &scale, most_ticks, &plot, panel_top, &mut scene)?;
        let known = |series: &Series| -> Vec<(f64, f64)> {
            series.points.iter().filter_map(|(at, value)| Some((*at, (*value)?))).collect()
        };
        let courses: Vec<_> = panel.series.iter().map(|series| (series.name.as_str(), known(series))).collect();
        Axes { x: (&figure.x, &x), y: (&panel.axis, &scale) }.tell(&courses, &mut scene);
    }
    if has_events {
        draw_events(&shown, &x, &whole, top + ROW * (rows as f64 - 0.5), &mut scene);
    }
    tell(figure, strips, &x, &whole, &mut scene);
    let before = scene.shapes.len();
    sheet.print(&whole, &mut scene);
    for shape in &mut scene.shapes[before..] {
        if let Shape::Text(text) = shape
            && text.at.1 > top
        {
            text.at.1 += more;
        }
    }
    Ok(scene)
}

/// What is on when, and what happened, for whoever points at it.
fn tell(figure: &Figure, strips: &Strips, x: &Scale, whole: &Rect, scene: &mut Scene) {
    let first = scene.free_row();
    let middle = |row: usize| whole.top + ROW * (row as f64 + 0.5);
    for (row, strip) in strips.rows.iter().enumerate() {
        for span in strip.spans.iter().filter(|span| span.to >= x.low && span.from <= x.high) {
            let (from, to) = (x.px(span.from).max(whole.left), x.px(span.to).min(whole.right));
            let times = if span.times > 1 { format!("{} times, ", span.times) } else { String::new() };
            let when = format!("{} to {}", when(figure, span.from), when(figure, span.to));
            scene.tell(((from + to) / 2.0, middle(row)), first + row, format!("{}: on {times}{when}", tidy(&strip.name)));
        }
    }
    for event in strips.events.iter().filter(|event| x.holds(event.at)) {
        let (row, at) = (strips.rows.len(), when(figure, event.at));
        scene.tell((x.px(event.at), middle(row)), first + row, format!("event at {at}: {}", tidy(&event.label)));
    }
}

fn all_xs(strips: &Strips) -> Vec<f64> {
    let spans = strips.rows.iter().flat_map(|row| row.spans.iter().flat_map(|span| [span.from, span.to]));
    let events = strips.events.iter().map(|event| event.at);
    let points = strips.panels.iter().flat_map(|panel| &panel.series).flat_map(|series| &series.points);
    let bands = strips.panels.iter().flat_map(|panel| &panel.ribbons).flat_map(|ribbon| &ribbon.points);
    while_going_on(spans.chain(events).chain(points.map(|point| point.0)).chain(bands.map(|point| point.0))).collect()
}

fn times_on(row: &StripRow) -> usize {
    row.spans.iter().map(|span| span.times.max(1)).sum()
}

/// The upright axis of a panel by what is seen of it.
fn upright(panel: &StripPanel, x: &Scale) -> Scale {
    let points = panel.series.iter().flat_map(|series| &series.points).filter(|(at, _)| x.holds(*at)).filter_map(|point| point.1);
    let bands = panel.ribbons.iter().flat_map(|ribbon| &ribbon.points).filter(|point| x.holds(point.0));
    let values = points.chain(bands.flat_map(|point| [point.1, point.2])).chain(panel.marks.iter().map(|mark| mark.at));
    let mut values: Vec<f64> = while_going_on(values).filter_map(drawable).collect();
    if panel.axis.scale == AxisScale::Log {
        values.retain(|value| *value > 0.0);
    }
    if values.is_empty() {
        values.push(0.0);
    }
    // The label of a mark at the upper edge stands above it.
    let (least, greatest) = lowest_and_highest(values.iter().copied());
    if panel.axis.scale == AxisScale::Linear && panel.marks.iter().any(|mark| mark.at > greatest - HEADROOM * (greatest - least))
    {
        values.push(greatest + HEADROOM * (greatest - least));
    }
    let (low, high) = choose_range(&values, &panel.axis, Fit::Rounded, 5);
    Scale { kind: panel.axis.scale, low, high, pixels: (1.0, 0.0) }
}

fn draw_row(row: &StripRow, x: &Scale, whole: &Rect, middle: f64, scene: &mut Scene) {
    let ink = look(row.color).ink;
    let (top, bottom) = (middle - FILLED / 2.0, middle + FILLED / 2.0);
    let mut counts = Vec::new();
    for span in &row.spans {
        let (from, to) = (x.px(span.from).max(whole.left), x.px(span.to).min(whole.right));
        if to < whole.left || from > whole.right {
            continue;
        }
        let rect = Rect { left: from, right: to.max(from + LEAST_WIDTH), top, bottom };
        if span.times <= 1 {
            scene.shapes.push(Shape::Box { rect, ink });
            continue;
        }
        let points = vec![(rect.left, top), (rect.right, top), (rect.right, bottom), (rect.left, bottom)];
        scene.shapes.push(Shape::Veil { points: points.clone(), ink, opacity: 0.18 });
        let bars = ((rect.width() / HATCH) as usize).max(1);
        for bar in 0..bars {
            let at = rect.left + (bar as f64 + 0.5) * rect.width() / bars as f64;
            scene.line(vec![(at, top), (at, bottom)], ink, 1.4);
        }
        counts.push(count_label(row, span, &rect, x, whole));
    }
    // Each count beside its block, or on it where the block is wide enough; none on another.
    let frame = Rect { top, bottom, ..*whole };
    let labels: Vec<Label> = counts.iter().map(|(_, label)| label.clone()).collect();
    let placed = place(&labels, &Surroundings { frame, solids: &[], obstacles: &[], touch: 0.0 });
    for ((text, label), at) in counts.into_iter().zip(placed) {
        let Some(at) = at else { continue };
        let rect = label.candidates[at].rect;
        let text = Text::new(text, (rect.left, middle + half_height(NOTE_SIZE)), NOTE_SIZE, Anchor::Start, INK);
        let bounds = text.bounds();
        scene
            .shapes
            .push(Shape::Box { rect: Rect { top: bounds.top + 1.0, bottom: bounds.bottom, ..bounds.grown(1.5) }, ink: PAPER });
        scene.text(text);
    }
}

/// The count of a block, with where it may stand: right or left of it, where nothing else of the row is, or on it.
fn count_label(row: &StripRow, span: &Span, rect: &Rect, x: &Scale, whole: &Rect) -> (String, Label) {
    let text = format!("{} times", span.times);
    let wide = width(&text, NOTE_SIZE, Weight::Regular);
    let free = |left: f64| {
        let taken = |other: &Span| x.px(other.from) < left + wide + 4.0 && x.px(other.to) > left - 4.0;
        left >= whole.left && left + wide <= whole.right && !row.spans.iter().filter(|other| *other != span).any(taken)
    };
    let at = |left: f64, cost: f64| Candidate { rect: Rect { left, right: left + wide, ..*rect }, cost, leader: None };
    let beside = [(rect.right + 6.0, 0.0), (rect.left - 6.0 - wide, 1.0)].into_iter().filter(|(left, _)| free(*left));
    let on = (rect.width() > wide + 12.0).then_some((rect.left + 4.0, 2.0));
    let candidates = beside.chain(on).map(|(left, cost)| at(left, cost)).collect();
    (text, Label { candidates, worth: MUST })
}

fn draw_panel(
    panel: &StripPanel,
    x: &Scale,
    y: &Scale,
    most_ticks: usize,
    plot: &Rect,
    top: f64,
    scene: &mut Scene,
) -> Result<(), FigureError> {
    heading(panel, plot, top, scene);
    print_upright(y, &y.ticks(most_ticks), plot, scene);
    print_base(plot.bottom, plot, scene);
    let marks: Vec<MarkLine> = panel
        .marks
        .iter()
        .filter(|mark| y.holds(mark.at))
        .map(|mark| MarkLine { course: Course::Level, at_px: y.px(mark.at), label: label(mark, &panel.axis) })
        .collect();
    ribbons::draw(&panel.ribbons, x, y, plot, scene);
    draw_lines(&marks, plot, scene);
    let mut obstacles = Vec::new();
    for ribbon in &panel.ribbons {
        for pair in ribbon.points.windows(2) {
            let (left, right) = (x.px(pair[0].0), x.px(pair[1].0));
            let (upper, lower) = (y.px(pair[0].2.max(pair[1].2)), y.px(pair[0].1.min(pair[1].1)));
            obstacles.push(Obstacle::Area(Rect { left, right, top: upper, bottom: lower }));
        }
    }
    for (index, series) in panel.series.iter().enumerate().rev() {
        let look = look(index);
        let known = series.points.split(|point| point.1.and_then(drawable).is_none());
        for run in known.filter(|run| !run.is_empty()) {
            let spots: Vec<Spot> =
                while_going_on(run).filter_map(|(at, value)| Some((x.px(drawable(*at)?), y.px((*value)?)))).collect();
            limits::go_on()?;
            for points in clip_line(&thinned(spots), plot) {
                obstacles.extend(points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1])));
                scene.shapes.push(Shape::Line { points, ink: look.ink, width: 1.9, dash: look.dash });
            }
        }
    }
    obstacles.extend(marks.iter().map(|mark| mark.obstacle(plot)));
    let mut labels = PlotLabels::new(plot);
    labels.marks(&marks);
    labels.beyond(&beyond(panel.marks.iter().map(|mark| (mark, y, &panel.axis))));
    labels.print(&[], &obstacles, scene);
    Ok(())
}

/// What a panel shows, and a sample of each curve beside its name.
fn heading(panel: &StripPanel, plot: &Rect, top: f64, scene: &mut Scene) {
    let base = top + HEADING - 9.0;
    let title = panel.axis.title();
    let mut at = plot.left;
    scene.text(Text::new(&title, (at, base), TICK_SIZE, Anchor::Start, INK));
    at += width(&title, TICK_SIZE, Weight::Regular) + 18.0;
    if panel.series.len() == 1 && words(&panel.series[0].name) == words(&panel.axis.label) {
        return;
    }
    for (index, series) in panel.series.iter().enumerate() {
        let (name, look) = (words(&series.name), look(index));
        let wide = width(&name, TICK_SIZE, Weight::Regular);
        if at + 26.0 + wide > plot.right {
            scene.text(Text::new("…", (at, base), TICK_SIZE, Anchor::Start, QUIET));
            return;
        }
        let y = base - half_height(TICK_SIZE);
        scene.shapes.push(Shape::Line { points: vec![(at, y), (at + 20.0, y)], ink: look.ink, width: 2.2, dash: look.dash });
        scene.text(Text::new(name, (at + 25.0, base), TICK_SIZE, Anchor::Start, INK));
        at += 25.0 + wide + 16.0;
    }
}

/// The events that get a number, and what stands for them at the foot.
fn events_in_words<'e>(figure: &Figure, strips: &'e Strips, x: &Scale) -> (Vec<&'e StripEvent>, Option<String>) {
    let within: Vec<&StripEvent> = strips.events.iter().filter(|event| x.holds(event.at)).collect();
    let shown: Vec<&StripEvent> = within.iter().take(MOST_EVENTS).copied().collect();
    let mut texts: Vec<String> = shown
        .iter()
        .enumerate()
        .map(|(index, event)| format!("{}: {} {}", index + 1, when(figure, event.at), tidy(&event.label)))
        .collect();
    if within.len() > shown.len() {
        texts.push(format!("and {} more events", within.len() - shown.len()));
    }
    (shown, (!texts.is_empty()).then(|| texts.join("; ")))
}

fn when(figure: &Figure, at: f64) -> String {
    match figure.x.scale {
        AxisScale::Clock => figure.x.text(((at * 60.0).round()) / 60.0),
        _ => number(at, 4),
    }
}

fn draw_events(shown: &[&StripEvent], x: &Scale, whole: &Rect, middle: f64, scene: &mut Scene) {
    // Events too near to each other for a number each share one text.
    let places: Vec<(usize, f64)> = shown.iter().enumerate().map(|(index, event)| (index + 1, x.px(event.at))).collect();
    for group in places.chunk_by(|one, next| next.1 - one.1 < BETWEEN_EVENTS) {
        for (_, at) in group {
            let points = vec![(*at, middle), (*at, whole.bottom)];
            scene.shapes.push(Shape::Line { points, ink: AXIS, width: 0.8, dash: &[2.0, 3.0] });
            draw_marker(scene, look(4).marker, (*at, middle), 4.0, QUIET);
        }
        let ((first, _), (last, at)) = (group[0], group[group.len() - 1]);
        let text = if first == last { first.to_string() } else { format!("{first}–{last}") };
        // There is room for it right of the plot too.
        scene.text(Text::new(text, (at + 6.0, middle + half_height(NOTE_SIZE)), NOTE_SIZE, Anchor::Start, INK));
    }
}

fn describe(figure: &Figure, strips: &Strips, shown: &[&StripEvent]) -> String {
    let mut text = format!("Over {}.", figure.x.title());
    for row in &strips.rows {
        let times = times_on(row);
        let one_by_one: Vec<(f64, f64)> = row.spans.iter().map(|span| (span.from, span.to)).collect();
        let on = match row.spans.first() {
            Some(first) if times > one_by_one.len() => format!("on {times} times, first at {}", when(figure, first.from)),
            _ => in_words::spans(&one_by_one, &figure.x),
        };
        text += &format!(" {}: {on}.", tidy(&row.name));
    }
    for panel in &strips.panels {
        for (index, series) in panel.series.iter().enumerate() {
            let bands = panel.ribbons.iter().filter(|ribbon| ribbon.series == index);
            let bands = bands.flat_map(|ribbon| &ribbon.points).flat_map(|point| [point.1, point.2]);
            let values = series.points.iter().filter_map(|point| point.1).chain(bands).filter_map(drawable);
            let (low, high) = lowest_and_highest(while_going_on(values));
            if low <= high {
                // What is left of a pressure that is gone is zero.
                let low = if low.abs() < 1e-6 * high.abs() { 0.0 } else { low };
                let (low, high) = (panel.axis.text(low), panel.axis.text(high));
                text += &format!(" {} of {}: {low} to {high}.", panel.axis.title(), words(&series.name));
            }
        }
        panel.marks.iter().for_each(|mark| text += &mark_with_share(mark, &panel.axis, &[]));
    }
    shown.iter().for_each(|event| text += &format!(" {} {}.", when(figure, event.at), tidy(&event.label)));
    let within = strips.events.len();
    if within > shown.len() {
        text += &format!(" And {} more events.", within - shown.len());
    }
    text
}
