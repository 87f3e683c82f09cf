//! A map: symbols joined by lines, on a grid of layers and rows or on real ground with a scale.
//!
//! Knows nothing of gardens: places, shapes and labels arrive ready; here they find their pixels, and labels places where
//! they cover nothing.

mod ground;
mod heap;
mod land;
mod projection;
mod roster;
mod scheme;
mod symbols;
mod tag;
#[cfg(test)]
mod tests;
mod what;

#[cfg(test)]
pub(crate) use tests::{faults as faults_of_map, watered as map_with_water};

pub use what::{Activity, Ground, InRows, Label, Map, Rain, Roster, RosterGroup, Route, Seat, Symbol, Throw, USUAL_WIDTH, Water};

use self::ground::{EDGE, RealGround, outline};
use self::land::Classes;
use self::projection::Projection;
use self::roster::Table;
use self::scheme::Scheme;
use super::Axis;
use super::description::check_ratio;
use super::error::FigureError;
use super::geometry::{Rect, Spot};
use super::palette::{INK, PAPER, QUIET};
use super::ramp::{KEY_HEIGHT, draw_key, ramp};
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, Cells, Ink, NOTE_SIZE, Scene, Shape, TICK_SIZE, TITLE_SIZE, Text};
use super::text::{Weight, tidy, wrap};

/// Color of a line of water whose value is not shown, and of one without flow.
const WATER: Ink = Ink(39, 96, 160);
const STILL: Ink = Ink(150, 158, 166);
const THROWN: Ink = Ink(69, 132, 214);
/// Height of a line of notes, and of the title.
const NOTE_LINE: f64 = 16.0;
const CAPTION_LINE: f64 = 18.0;
const TITLE_LINE: f64 = 23.0;
/// A table stands beside the ground where the ground keeps this share of its scale.
const SCALE_BESIDE: f64 = 0.8;
/// Lines of notes at most: all of them on a narrow sheet.
const MOST_NOTE_LINES: usize = 9;
/// Widths of the sheet in pixels.
const WIDTHS: (u32, u32) = (320, 4000);

/// A map with everything on it measured.
struct Laid<'a> {
    ground: Plot,
    /// The table and where it is printed, with its number of panels; none where its rows stand beside their things.
    table: Option<(&'a Table<'a>, usize, Spot)>,
    /// The lower edge of map and table.
    bottom: f64,
    width: f64,
}

/// The two kinds of ground with their pixels.
enum Plot {
    Real(Box<RealGround>),
    Scheme(Scheme),
}

impl Plot {
    fn projection(&self) -> &dyn Projection {
        match self {
            Plot::Real(ground) => ground.as_ref(),
            Plot::Scheme(scheme) => scheme,
        }
    }
}

/// The map in so little width: a scheme that needs more stands in rows there.
pub(super) fn narrow(map: &Map, width: u32) -> Map {
    let map = Map { width, ..map.clone() };
    let Some(in_rows) = map.in_rows.clone() else { return map };
    let table = map.roster.as_ref().map(|roster| table_of(&map, roster));
    if laid(&map, table.as_ref(), 0.0).width <= f64::from(width) {
        return map;
    }
    let InRows { routes, symbols, tees } = in_rows;
    Map { ground: Ground::Rows, routes, symbols, tees, roster: None, in_rows: None, ..map }
}

/// Measures a map below an upper edge.
fn laid<'a>(map: &Map, table: Option<&'a Table<'a>>, top: f64) -> Laid<'a> {
    let width = f64::from(map.width.clamp(WIDTHS.0, WIDTHS.1));
    match &map.ground {
        Ground::Grid => {
            let scheme = Scheme::new(map, top, table);
            let (bottom, width) = (scheme.bottom, scheme.width.max(width));
            let below = table.filter(|_| scheme.rows_left.is_none());
            below_map(Plot::Scheme(scheme), below, bottom, width)
        }
        Ground::Rows => {
            let scheme = Scheme::in_rows(map, top);
            let (bottom, width) = (scheme.bottom, scheme.width.max(width));
            below_map(Plot::Scheme(scheme), None, bottom, width)
        }
        Ground::Real { unit } => {
            let room = |table: &Table| width - table.width() - 2.0 * EDGE;
            let beside = table.filter(|table| {
                let scale = |width: f64| RealGround::scale_in(map, width);
                room(table) > 0.3 * width && scale(room(table)) >= SCALE_BESIDE * scale(width)
            });
            if let Some(table) = beside {
                let ground = RealGround::new(map, unit, top, room(table));
                let (at, bottom) = ((ground.width + EDGE, top + 8.0), ground.bottom());
                if table.height(1) <= 1.4 * (bottom - top) {
                    let bottom = bottom.max(top + 8.0 + table.height(1));
                    let width = width.max(at.0 + table.width() + EDGE);
                    return Laid { ground: Plot::Real(Box::new(ground)), table: Some((table, 1, at)), bottom, width };
                }
            }
            let ground = RealGround::new(map, unit, top, width);
            let (bottom, width) = (ground.bottom(), width.max(ground.width));
            below_map(Plot::Real(Box::new(ground)), table, bottom, width)
        }
    }
}

/// A map with its table below it.
fn below_map<'a>(ground: Plot, table: Option<&'a Table<'a>>, bottom: f64, width: f64) -> Laid<'a> {
    let Some(table) = table else { return Laid { ground, table: None, bottom, width } };
    let width = width.max(table.width() + 2.0 * EDGE);
    let panels = table.panels_in(width - 2.0 * EDGE);
    let at = (EDGE, bottom + 10.0);
    Laid { ground, bottom: at.1 + table.height(panels), table: Some((table, panels, at)), width }
}

/// The map with everything on it. Errors: nothing on it; a pixel ratio that is not drawn.
pub(super) fn compose(map: &Map) -> Result<Scene, FigureError> {
    if map.symbols.is_empty() {
        return Err(FigureError::NothingToDraw { values: 0 });
    }
    check_ratio(map.pixel_ratio)?;
    let title = tidy(&map.title);
    let (title_lines, top) = heading(map);
    let table = map.roster.as_ref().map(|roster| table_of(map, roster));
    let laid = laid(map, table.as_ref(), top);
    let ground = laid.ground.projection();
    let mut notes = map.notes.clone();
    if let Plot::Real(real) = &laid.ground
        && real.left_out > 0
    {
        notes.push(format!("{} labels did not fit", real.left_out));
    }
    let notes: Vec<String> = wrap(&notes.join("; "), NOTE_SIZE, Weight::Regular, laid.width - 2.0 * EDGE, MOST_NOTE_LINES);
    let caption = tidy(map.caption.as_deref().unwrap_or_default());
    let caption: Vec<String> = wrap(&caption, TICK_SIZE, Weight::Regular, laid.width - 2.0 * EDGE, 8);
    let rain = map.rain.as_ref().and_then(|rain| Classes::of(rain).map(|classes| (rain, classes)));
    // Only one key fits: that of the rain, where there is any.
    let key = map.key.as_ref().filter(|_| rain.is_none()).and_then(|axis| key_scale(map, axis).map(|scale| (axis, scale)));
    let key_top = laid.bottom + 10.0;
    let key_bottom = if key.is_some() || rain.is_some() { key_top + KEY_HEIGHT } else { laid.bottom };
    let below = |lines: &[String], line: f64| if lines.is_empty() { 0.0 } else { lines.len() as f64 * line + 4.0 };
    let notes_top = key_bottom + below(&caption, CAPTION_LINE);
    let height = notes_top + 12.0 + below(&notes, NOTE_LINE);
    let rect = Rect { left: 0.0, top: 0.0, right: laid.width, bottom: height };
    let size = (laid.width.ceil() as u32, height.ceil() as u32);
    let name = if title.is_empty() { "plan".into() } else { title };
    let mut scene = Scene::new(size, name, describe(map), vec![Shape::Box { rect: rect.grown(1.0), ink: PAPER }]);
    if let Some((rain, classes)) = &rain {
        land::draw_ground(rain, ground, classes, &mut scene)?;
    }
    draw_throws(map, ground, &mut scene);
    draw_routes(map, ground, key.as_ref().map(|(_, scale)| scale), &mut scene);
    for place in &map.tees {
        scene.shapes.push(Shape::Disc { center: ground.px(*place), radius: 3.6, ink: INK });
    }
    if let Some((rain, classes)) = &rain {
        land::draw_marks(rain, ground, classes, &mut scene);
    }
    match &laid.ground {
        Plot::Real(real) => draw_real(map, real, &mut scene),
        Plot::Scheme(scheme) => draw_scheme(map, scheme, table.as_ref(), &mut scene),
    }
    tell(map, &laid.ground, &mut scene);
    if let Some((table, panels, at)) = laid.table {
        table.print(panels, at, &mut scene);
    }
    let key_width = laid.width - 2.0 * EDGE;
    if let Some((rain, classes)) = &rain {
        classes.draw_key(&rain.axis.title(), (EDGE, key_top), key_width, &mut scene);
    } else if let Some((axis, scale)) = key {
        draw_key(&mut scene, &axis.title(), &scale, (EDGE, key_top), key_width.min(420.0));
    }
    for (row, line) in title_lines.into_iter().enumerate() {
        let at = (EDGE, 29.0 + row as f64 * TITLE_LINE);
        scene.text(Text::new(line, at, TITLE_SIZE, Anchor::Start, INK).bold());
    }
    for (row, line) in caption.iter().enumerate() {
        let at = (EDGE, key_bottom + 19.0 + row as f64 * CAPTION_LINE);
        scene.text(Text::new(line, at, TICK_SIZE, Anchor::Start, INK));
    }
    for (row, line) in notes.iter().enumerate() {
        let at = (EDGE, notes_top + 18.0 + row as f64 * NOTE_LINE);
        scene.text(Text::new(line, at, NOTE_SIZE, Anchor::Start, QUIET));
    }
    Ok(scene)
}

/// What each thing is and how it fares, what the cans caught, and how much water each spot of the ground gets.
fn tell(map: &Map, plot: &Plot, scene: &mut Scene) {
    let ground = plot.projection();
    for (index, symbol) in map.symbols.iter().enumerate() {
        let Some((name, rest)) = symbol.lines.split_first() else { continue };
        let at = if let Plot::Real(real) = plot { real.spots[index] } else { ground.px(symbol.at) };
        let rest = if rest.is_empty() { String::new() } else { format!(": {}", rest.join(", ")) };
        scene.tell(at, 0, format!("{}{}", tidy(name), tidy(&rest)));
    }
    let (Some(rain), Ground::Real { unit }) = (&map.rain, &map.ground) else { return };
    for (place, value) in &rain.cans {
        scene.tell(ground.px(*place), 1, format!("can: {}", rain.axis.said(*value)));
    }
    let ((left, bottom), (right, top)) = (ground.px(rain.frame.0), ground.px(rain.frame.1));
    scene.cells = Some(Cells {
        edges: [left, top, right, bottom],
        columns: rain.columns,
        values: rain.values.clone(),
        axis: rain.axis.clone(),
        ground: rain.frame,
        ground_unit: unit.clone(),
    });
}

/// The lines of the title, and where the map below them begins.
fn heading(map: &Map) -> (Vec<String>, f64) {
    let width = f64::from(map.width.clamp(WIDTHS.0, WIDTHS.1));
    let lines = wrap(&tidy(&map.title), TITLE_SIZE, Weight::Bold, width - 2.0 * EDGE, 4);
    let top = 10.0 + TITLE_LINE * lines.len() as f64 + if lines.is_empty() { 0.0 } else { 6.0 };
    (lines, top)
}

/// The table of a map in its width.
fn table_of<'a>(map: &Map, roster: &'a Roster) -> Table<'a> {
    let width = f64::from(map.width.clamp(WIDTHS.0, WIDTHS.1));
    Table::new(roster, needs_numbers(map, roster), width - 2.0 * EDGE)
}

/// Whether a table needs its numbers: on ground to scale, and in a scheme whose things do not have rows of their own.
fn needs_numbers(map: &Map, roster: &Roster) -> bool {
    map.ground != Ground::Grid || Scheme::new(map, 0.0, Some(&Table::new(roster, false, f64::INFINITY))).rows_left.is_none()
}

/// Symbols, threads and labels on ground to scale.
fn draw_real(map: &Map, real: &RealGround, scene: &mut Scene) {
    let own: Vec<Spot> = map.symbols.iter().map(|symbol| real.px(symbol.at)).collect();
    heap::draw_threads(&own, &real.spots, scene);
    for printed in &real.printed {
        if let Some((from, to)) = printed.where_to.leader {
            scene.line(vec![from, to], QUIET, 0.9);
        }
    }
    for (symbol, at) in map.symbols.iter().zip(&real.spots) {
        match symbol.label {
            Label::Number(number) => symbols::draw_number(scene, number, symbol.shape, *at, symbol.active),
            _ => symbols::draw(scene, symbol.shape, *at, real.turn(symbol.toward), symbol.active),
        }
    }
    real.furnish(map, scene);
    for printed in &real.printed {
        printed.tag.print_in(&printed.where_to.rect, printed.at, scene);
    }
}

/// Symbols and labels of a scheme, with the rows of the table that stand beside their things.
fn draw_scheme(map: &Map, scheme: &Scheme, table: Option<&Table>, scene: &mut Scene) {
    let beside = scheme.rows_left.zip(table);
    if let Some((left, table)) = beside {
        table.print_head((left, scheme.head_top()), scene);
    }
    for (symbol, tag) in map.symbols.iter().zip(&scheme.tags) {
        let at = scheme.px(symbol.at);
        match (&symbol.label, beside) {
            (Label::Number(number), Some((left, table))) => {
                symbols::draw(scene, symbol.shape, at, symbol.toward, symbol.active);
                if let Some(cells) = table.cells_of(*number) {
                    if left - at.0 > 60.0 {
                        let points = vec![(at.0 + 14.0, at.1), (left - 6.0, at.1)];
                        scene.shapes.push(Shape::Line { points, ink: STILL, width: 0.8, dash: &[1.5, 4.0] });
                    }
                    table.print_cells(cells, (left, at.1 + 4.5), scene);
                }
            }
            (Label::Number(number), None) => symbols::draw_number(scene, *number, symbol.shape, at, symbol.active),
            _ => symbols::draw(scene, symbol.shape, at, symbol.toward, symbol.active),
        }
        tag.print_seated(symbol.seat, at, scene);
    }
}

/// The range of the values that color the lines; nothing when none flows.
fn key_scale(map: &Map, axis: &Axis) -> Option<Scale> {
    let values: Vec<f64> =
        map.routes.iter().filter_map(|route| if let Water::Flows(value) = route.water { Some(value) } else { None }).collect();
    if values.is_empty() {
        return None;
    }
    let (low, high) = choose_range(&values, axis, Fit::Rounded, 6);
    Some(Scale { kind: axis.scale, low, high, pixels: (0.0, 1.0) })
}

fn draw_throws(map: &Map, ground: &dyn Projection, scene: &mut Scene) {
    let outlines: Vec<(Vec<Spot>, Activity)> = map
        .throws
        .iter()
        .map(|throw| (outline(throw).into_iter().map(|place| ground.px(place)).collect(), throw.active))
        .collect();
    // Rain has colors of its own; veils of many circles would hide the lines below.
    let opacity = if map.throws.len() > 12 { 0.09 } else { 0.16 };
    for (points, active) in outlines.iter().filter(|_| map.rain.is_none()) {
        let opacity = if *active == Activity::Active { opacity } else { 0.04 };
        scene.shapes.push(Shape::Veil { points: points.clone(), ink: THROWN, opacity });
    }
    for (points, active) in &outlines {
        let closed: Vec<Spot> = points.iter().chain(points.first()).copied().collect();
        let dash: &[f64] = if *active == Activity::Active { &[] } else { &[5.0, 4.0] };
        scene.shapes.push(Shape::Line { points: closed, ink: THROWN, width: 1.0, dash });
    }
}

fn draw_routes(map: &Map, ground: &dyn Projection, scale: Option<&Scale>, scene: &mut Scene) {
    // Water that moves lies on top.
    let order = |route: &&Route| i32::from(!matches!(route.water, Water::Still));
    let mut routes: Vec<&Route> = map.routes.iter().collect();
    routes.sort_by_key(order);
    for route in routes {
        let points: Vec<Spot> = route.points.iter().map(|place| ground.px(*place)).collect();
        match (route.water, scale) {
            (Water::Flows(value), Some(scale)) => {
                // A dark rim keeps light colors visible on paper.
                scene.line(points.clone(), INK, route.width + 1.6);
                scene.line(points, ramp(scale.px(value)), route.width);
            }
            (Water::Still, _) => scene.shapes.push(Shape::Line { points, ink: STILL, width: route.width, dash: &[4.0, 3.0] }),
            // Where colors lie on the ground, a line of paper below sets the hose off.
            _ if map.rain.is_some() => {
                scene.line(points.clone(), PAPER, route.width.min(4.0) + 2.0);
                scene.line(points, QUIET, route.width.min(4.0));
            }
            _ => scene.line(points, WATER, route.width),
        }
    }
}

fn describe(map: &Map) -> String {
    let mut text = String::from("Plan.");
    for symbol in &map.symbols {
        text += &format!(" {}.", symbol.lines.join(", "));
    }
    map.notes.iter().for_each(|note| text += &format!(" Note: {note}."));
    if let Some(caption) = map.caption.as_deref().filter(|caption| !caption.is_empty()) {
        text += &format!(" {}", tidy(caption));
    }
    if !map.remarks.is_empty() {
        text += &format!(" {}", map.remarks);
    }
    text
}
