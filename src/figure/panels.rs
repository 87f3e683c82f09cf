//! Several figures on one sheet, each in a part of it, with a common title and caption.

use super::description::Figure;
use super::frame::Sheet;
use super::geometry::{Rect, Spot};
use super::palette::PAPER;
use super::scene::{Scene, Shape, Told};
use crate::lines::as_sentence;

/// The least sizes in which a panel can be drawn, pixels.
const LEAST: (f64, f64) = (240.0, 220.0);

/// The rectangle that is left for the panels between title and caption.
fn room(figure: &Figure) -> Rect {
    let sheet = Sheet::new(figure, "", "", &[]);
    let top = if figure.title.is_some() { sheet.top() - 14.0 } else { 0.0 };
    let bottom = if figure.caption.is_some() { sheet.floor() } else { sheet.height };
    Rect { left: 0.0, top, right: f64::from(figure.size.0), bottom }
}

/// Width and height of each panel, pixels.
pub(super) fn sizes(figure: &Figure, columns: usize, count: usize) -> Vec<(u32, u32)> {
    let (room, columns) = (room(figure), columns.min(count).max(1));
    let rows = count.div_ceil(columns).max(1);
    let width = (room.width() / columns as f64).max(LEAST.0) as u32;
    let height = (room.height() / rows as f64).max(LEAST.1) as u32;
    vec![(width, height); count]
}

/// Left and right edges for the panels whose plots are wider than another below or above them, by their numbers, pixels.
///
/// Panels above each other are compared along one edge at the left and one at the right; those that show no plot of curves stay as they are.
pub(super) fn common_edges(columns: usize, scenes: &[Scene]) -> Vec<(usize, (f64, f64))> {
    let columns = columns.min(scenes.len()).max(1);
    let plot = |at: usize| scenes[at].reading.as_ref().map(|reading| (reading.plot[0], reading.plot[2]));
    let mut wider = Vec::new();
    for column in 0..columns {
        let stacked = || (column..scenes.len()).step_by(columns).filter_map(|at| Some((at, plot(at)?)));
        let edges = stacked().fold((0.0_f64, f64::INFINITY), |edges, (_, plot)| (edges.0.max(plot.0), edges.1.min(plot.1)));
        wider.extend(stacked().filter(|(_, plot)| *plot != edges).map(|(at, _)| (at, edges)));
    }
    wider
}

/// The sheet with the panels in their places.
pub(super) fn on_one_sheet(figure: &Figure, columns: usize, scenes: Vec<Scene>) -> Scene {
    let (room, columns) = (room(figure), columns.min(scenes.len()).max(1));
    let width = f64::from(scenes.iter().map(|scene| scene.width).max().unwrap_or(0));
    let height = f64::from(scenes.iter().map(|scene| scene.height).max().unwrap_or(0));
    let rows = scenes.len().div_ceil(columns) as f64;
    let told: Vec<String> = scenes.iter().map(|scene| format!("{} {}", as_sentence(&scene.title), scene.description)).collect();
    let sheet = Sheet::new(figure, "", "", &[]);
    let mut whole = sheet.scene(figure, told.join(" "));
    if figure.title.is_none() {
        whole.title = scenes.iter().map(|scene| scene.title.as_str()).collect::<Vec<_>>().join("; ");
    }
    // Panels that need more than their part make the sheet larger.
    whole.width = whole.width.max((width * columns as f64).ceil() as u32);
    let foot = sheet.height - room.bottom;
    let needed = room.top + height * rows + foot;
    let down = (needed - f64::from(whole.height)).max(0.0);
    whole.height += down.ceil() as u32;
    let rect = Rect { left: 0.0, top: 0.0, right: f64::from(whole.width), bottom: f64::from(whole.height) };
    whole.shapes = vec![Shape::Box { rect, ink: PAPER }];
    for (index, scene) in scenes.into_iter().enumerate() {
        let by = ((index % columns) as f64 * width, room.top + (index / columns) as f64 * height);
        let before = whole.free_row();
        let told = scene.told.iter().map(|told| Told {
            at: (told.at.0 + by.0, told.at.1 + by.1),
            row: before + told.row,
            words: told.words.clone(),
        });
        whole.told.extend(told);
        // The first shape of a scene is its paper.
        whole.shapes.extend(scene.shapes.into_iter().skip(1).map(|shape| moved(shape, by)));
    }
    let before = whole.shapes.len();
    sheet.print(&room, &mut whole);
    // What is at the foot moves down with it.
    let middle = sheet.height / 2.0;
    for shape in &mut whole.shapes[before..] {
        if let Shape::Text(text) = shape
            && text.at.1 > middle
        {
            text.at.1 += down.ceil();
        }
    }
    whole
}

fn moved(shape: Shape, (dx, dy): Spot) -> Shape {
    let to = |(x, y): Spot| (x + dx, y + dy);
    let of_rect =
        |rect: Rect| Rect { left: rect.left + dx, right: rect.right + dx, top: rect.top + dy, bottom: rect.bottom + dy };
    let all = |points: Vec<Spot>| points.into_iter().map(to).collect();
    match shape {
        Shape::Line { points, ink, width, dash } => Shape::Line { points: all(points), ink, width, dash },
        Shape::Area { points, ink } => Shape::Area { points: all(points), ink },
        Shape::Veil { points, ink, opacity } => Shape::Veil { points: all(points), ink, opacity },
        Shape::Disc { center, radius, ink } => Shape::Disc { center: to(center), radius, ink },
        Shape::Box { rect, ink } => Shape::Box { rect: of_rect(rect), ink },
        Shape::Picture { rect, columns, cells } => Shape::Picture { rect: of_rect(rect), columns, cells },
        Shape::Text(mut text) => {
            text.at = to(text.at);
            Shape::Text(text)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::composed;
    use super::*;
    use crate::figure::{Axis, CurveStyle, Plot, Series};

    #[test]
    fn plots_above_each_other_share_their_edges() {
        let panel = |name: &str, high: f64| {
            let series = [name, "b"].map(|name| Series::new(name, vec![(0.0, 0.0), (1.0, high)])).to_vec();
            Figure::new(Axis::new("x"), Axis::new("y"), Plot::Curves { style: CurveStyle::Lines, series }).sized(500, 300)
        };
        let figures = [panel("a", 30_000.0), panel("a curve of a long name", 3.0), panel("c", 3.0)];
        let mut scenes: Vec<Scene> = figures.iter().map(|figure| composed(figure, None).expect("a scene")).collect();
        let ends = |scenes: &[Scene]| -> Vec<(f64, f64)> {
            scenes.iter().filter_map(|scene| scene.reading.as_ref().map(|reading| (reading.plot[0], reading.plot[2]))).collect()
        };
        let before = ends(&scenes);
        assert!(before[0].0 > before[1].0 && before[0].1 > before[1].1, "{before:?}");
        assert!(common_edges(3, &scenes).is_empty(), "beside each other, each has its own");
        let common = common_edges(1, &scenes);
        assert_eq!(common.len(), 3);
        for (at, edges) in common {
            scenes[at] = composed(&figures[at], Some(edges)).expect("a scene");
        }
        assert_eq!(ends(&scenes), [(before[0].0, before[1].1); 3]);
        assert!(common_edges(1, &scenes).is_empty());
    }
}
