//! A map: symbols joined by lines, on a grid of layers and rows or on real ground with a scale.
//!
//! Knows nothing of gardens: places, shapes and labels arrive ready; here they find their pixels, and labels places where
//! they cover nothing.

mod ground;
mod rain;
mod symbols;
mod what;

pub use what::{Activity, Ground, Map, Rain, Route, Seat, Symbol, Throw, Water};

use self::ground::{Grid, Labelled, Projection, RealGround, outline};
use super::error::FigureError;
use super::geometry::{Rect, Spot};
use super::labels::{Obstacle, emptiest};
use super::palette::{INK, PAPER, QUIET};
use super::ramp::{KEY_HEIGHT, draw_key, ramp};
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, Ink, NOTE_SIZE, Scene, Shape, TITLE_SIZE, Text};
use super::text::{Weight, tidy, wrap};
use super::{Axis, pdf, png, svg};
use crate::parts::SymbolShape;

/// Color of a line of water whose value is not shown, and of one without flow.
const WATER: Ink = Ink(39, 96, 160);
const STILL: Ink = Ink(168, 176, 184);
const THROWN: Ink = Ink(69, 132, 214);
/// More samples than this are not drawn into a picture.
const MOST_PIXELS: f64 = 6.0e6;

/// The map as an SVG text. Errors: nothing on it.
pub fn map_svg(map: &Map) -> Result<String, FigureError> {
    Ok(svg::write(&compose(map)?))
}

/// The map as the bytes of a PNG picture. Errors: nothing on it, or too large for a picture.
pub fn map_png(map: &Map) -> Result<Vec<u8>, FigureError> {
    let scene = compose(map)?;
    if f64::from(scene.width) * f64::from(scene.height) > MOST_PIXELS {
        return Err(FigureError::LargePicture { width: scene.width, height: scene.height });
    }
    png::write(&scene)
}

/// The map as the bytes of a PDF document of one page. Errors: nothing on it.
pub fn map_pdf(map: &Map) -> Result<Vec<u8>, FigureError> {
    pdf::write(&[compose(map)?])
}

fn compose(map: &Map) -> Result<Scene, FigureError> {
    if map.symbols.is_empty() {
        return Err(FigureError::NothingToDraw { values: 0 });
    }
    let title = tidy(&map.title);
    let top = if title.is_empty() { 10.0 } else { 42.0 };
    let labeled: Vec<Labelled> = map.symbols.iter().map(Labelled::new).collect();
    let ground: Box<dyn Projection> = match &map.ground {
        Ground::Grid => Box::new(Grid::new(map, &labeled, top)),
        Ground::Real { unit } => Box::new(RealGround::new(map, unit, top)),
    };
    let (width, plot_bottom) = ground.size();
    let notes: Vec<String> = wrap(&map.notes.join("; "), NOTE_SIZE, Weight::Regular, width - 32.0, 3);
    let rain = map.rain.as_ref().and_then(|rain| rain::scale(rain).map(|scale| (rain, scale)));
    // Only one key fits: that of the rain, where there is any.
    let key = match &rain {
        Some((rain, scale)) => Some((&rain.axis, *scale)),
        None => map.key.as_ref().and_then(|axis| key_scale(map, axis).map(|scale| (axis, scale))),
    };
    let key_top = plot_bottom + 6.0;
    let key_bottom = if key.is_some() { key_top + KEY_HEIGHT } else { plot_bottom };
    let height = key_bottom + 10.0 + notes.len() as f64 * 16.0 + if notes.is_empty() { 0.0 } else { 4.0 };
    let rect = Rect { left: 0.0, top: 0.0, right: width, bottom: height };
    let mut scene = Scene {
        width: width.ceil() as u32,
        height: height.ceil() as u32,
        title: if title.is_empty() { "plan".into() } else { title.clone() },
        description: describe(map),
        shapes: vec![Shape::Box { rect: rect.grown(1.0), ink: PAPER }],
    };
    if let Some((rain, scale)) = &rain {
        rain::draw_ground(rain, ground.as_ref(), scale, &mut scene);
    }
    let mut obstacles = draw_throws(map, ground.as_ref(), &mut scene);
    let of_lines = key.as_ref().filter(|_| rain.is_none()).map(|(_, scale)| scale);
    obstacles.extend(draw_routes(map, ground.as_ref(), of_lines, &mut scene));
    if let Some((rain, scale)) = &rain {
        obstacles.extend(rain::draw_marks(rain, ground.as_ref(), scale, top, &mut scene).into_iter().map(Obstacle::Area));
    }
    for place in &map.tees {
        scene.shapes.push(Shape::Disc { center: ground.px(*place), radius: 3.6, ink: INK });
    }
    for (symbol, labeled) in map.symbols.iter().zip(&labeled) {
        let (at, toward) = (ground.px(symbol.at), ground.turn(symbol.toward));
        symbols::draw(&mut scene, symbol.shape, at, toward, symbol.active);
        if symbol.shape != SymbolShape::Bare {
            obstacles.push(Obstacle::Area(labeled.body(at)));
        }
    }
    ground.furnish(&mut scene);
    match map.ground {
        Ground::Grid => labeled
            .iter()
            .zip(&map.symbols)
            .for_each(|(label, symbol)| label.print_seated(symbol.seat, ground.px(symbol.at), &mut scene)),
        Ground::Real { .. } => print_free(map, &labeled, ground.as_ref(), obstacles, &mut scene),
    }
    if let Some((axis, scale)) = key {
        draw_key(&mut scene, &axis.title(), &scale, (16.0, key_top), (width - 32.0).min(420.0));
    }
    if !title.is_empty() {
        let line = wrap(&title, TITLE_SIZE, Weight::Bold, width - 32.0, 1).concat();
        scene.text(Text::new(line, (16.0, 29.0), TITLE_SIZE, Anchor::Start, INK).bold());
    }
    for (row, line) in notes.iter().enumerate() {
        let at = (16.0, key_bottom + 18.0 + row as f64 * 16.0);
        scene.text(Text::new(line, at, NOTE_SIZE, Anchor::Start, QUIET));
    }
    Ok(scene)
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

fn draw_throws(map: &Map, ground: &dyn Projection, scene: &mut Scene) -> Vec<Obstacle> {
    let outlines: Vec<(Vec<Spot>, Activity)> = map
        .throws
        .iter()
        .map(|throw| (outline(throw).into_iter().map(|place| ground.px(place)).collect(), throw.active))
        .collect();
    // Rain has colors of its own.
    for (points, active) in outlines.iter().filter(|_| map.rain.is_none()) {
        let opacity = if *active == Activity::Active { 0.16 } else { 0.05 };
        scene.shapes.push(Shape::Veil { points: points.clone(), ink: THROWN, opacity });
    }
    for (points, active) in &outlines {
        let closed: Vec<Spot> = points.iter().chain(points.first()).copied().collect();
        let dash: &[f64] = if *active == Activity::Active { &[] } else { &[5.0, 4.0] };
        scene.shapes.push(Shape::Line { points: closed, ink: THROWN, width: 1.0, dash });
    }
    outlines.iter().flat_map(|(points, _)| points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1]))).collect()
}

fn draw_routes(map: &Map, ground: &dyn Projection, scale: Option<&Scale>, scene: &mut Scene) -> Vec<Obstacle> {
    let mut obstacles = Vec::new();
    // Water that moves lies on top.
    let order = |route: &&Route| i32::from(!matches!(route.water, Water::Still));
    let mut routes: Vec<&Route> = map.routes.iter().collect();
    routes.sort_by_key(order);
    for route in routes {
        let points: Vec<Spot> = route.points.iter().map(|place| ground.px(*place)).collect();
        obstacles.extend(points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1])));
        match (route.water, scale) {
            (Water::Flows(value), Some(scale)) => {
                // A dark rim keeps light colors visible on paper.
                scene.line(points.clone(), INK, route.width + 1.6);
                scene.line(points, ramp(scale.px(value)), route.width);
            }
            (Water::Still, _) => scene.shapes.push(Shape::Line { points, ink: STILL, width: route.width, dash: &[4.0, 3.0] }),
            _ => scene.line(points, WATER, route.width),
        }
    }
    obstacles
}

/// Labels on real ground, each where it covers least.
fn print_free(map: &Map, labeled: &[Labelled], ground: &dyn Projection, mut obstacles: Vec<Obstacle>, scene: &mut Scene) {
    obstacles.extend(ground.furniture().into_iter().map(Obstacle::Area));
    let frame = ground.frame();
    for (symbol, label) in map.symbols.iter().zip(labeled) {
        let candidates: Vec<Rect> = label.around(ground.px(symbol.at));
        let inside: Vec<Rect> = candidates
            .iter()
            .copied()
            .filter(|rect| frame.holds((rect.left, rect.top)) && frame.holds((rect.right, rect.bottom)))
            .collect();
        let candidates = if inside.is_empty() { candidates } else { inside };
        let Some(best) = emptiest(&candidates, &obstacles) else { continue };
        label.print_in(&candidates[best], scene);
        obstacles.extend([Obstacle::Area(candidates[best].grown(3.0)); 4]);
    }
}

fn describe(map: &Map) -> String {
    let mut text = String::from("Plan.");
    for symbol in &map.symbols {
        text += &format!(" {}.", symbol.lines.join(", "));
    }
    map.notes.iter().for_each(|note| text += &format!(" Note: {note}."));
    if !map.remarks.is_empty() {
        text += &format!(" {}", map.remarks);
    }
    text
}
