//! What surrounds the data: title, axis titles, grid, numbers along the axes and notes at the foot.

use super::description::Figure;
use super::geometry::Rect;
use super::in_words;
use super::palette::{AXIS, GRID, INK, PAPER, QUIET};
use super::scale::Scale;
use super::scene::{Anchor, LABEL_SIZE, NOTE_SIZE, Scene, Shape, TICK_SIZE, TITLE_SIZE, Text, half_height};
use super::text::{Weight, tidy, widest, width, wrap};
use super::ticks::Tick;

/// Room at the edge of the sheet.
const EDGE: f64 = 16.0;
const TITLE_LINE: f64 = 23.0;
const LABEL_LINE: f64 = 19.0;
const NOTE_LINE: f64 = 16.0;
const CAPTION_LINE: f64 = 18.0;
/// Between the texts above the plot and the plot, whose highest number reaches into it.
const ABOVE_PLOT: f64 = 14.0;
/// A plot is not drawn lower than this: texts that leave it less make the sheet higher.
const LEAST_PLOT: f64 = 84.0;
/// Between an axis and its numbers.
const GAP: f64 = 8.0;
/// Pixels that a tick needs across the sheet, and up it.
const PIXELS_PER_TICK: (f64, f64) = (70.0, 44.0);

/// The sheet with its texts measured, before the place of the plot is known.
pub(super) struct Sheet {
    pub width: f64,
    pub height: f64,
    title: Vec<String>,
    upper: Vec<String>,
    lower: Vec<String>,
    caption: Vec<String>,
    notes: Vec<String>,
}

impl Sheet {
    /// `upper` is the title of the upright axis, printed above it; `lower` of the one along the foot.
    pub fn new(figure: &Figure, upper: &str, lower: &str, notes: &[String]) -> Sheet {
        let (width, height) = (f64::from(figure.size.0), f64::from(figure.size.1));
        let room = width - 2.0 * EDGE;
        let title = figure.title.as_deref().map(tidy).unwrap_or_default();
        let mut sheet = Sheet {
            width,
            height,
            title: wrap(&title, TITLE_SIZE, Weight::Bold, room, 2),
            upper: wrap(upper, LABEL_SIZE, Weight::Regular, room, 1),
            lower: wrap(lower, LABEL_SIZE, Weight::Regular, room, 1),
            caption: wrap(&figure.caption.as_deref().map(tidy).unwrap_or_default(), TICK_SIZE, Weight::Regular, room, 4),
            notes: wrap(&notes.join("; "), NOTE_SIZE, Weight::Regular, room, 3),
        };
        sheet.height += (sheet.top() + LEAST_PLOT - sheet.bottom(1)).max(0.0).ceil();
        sheet
    }

    /// An empty scene, as high as its texts and the plot need.
    pub fn scene(&self, figure: &Figure, description: String) -> Scene {
        let title = figure.title.as_deref().map(tidy).filter(|title| !title.is_empty());
        let title = title.unwrap_or_else(|| in_words::axes(figure));
        let rect = Rect { left: 0.0, top: 0.0, right: self.width, bottom: self.height };
        let shapes = vec![Shape::Box { rect, ink: PAPER }];
        let caption = figure.caption.as_deref().map(tidy).unwrap_or_default();
        let description = [description.as_str(), &caption, figure.remarks.as_str()];
        let description = description.iter().filter(|part| !part.is_empty()).copied().collect::<Vec<_>>().join(" ");
        Scene::new((figure.size.0, self.height as u32), title, description, shapes)
    }

    /// Upper edge of the plot.
    pub fn top(&self) -> f64 {
        let heading = self.title.len() as f64 * TITLE_LINE + self.upper.len() as f64 * LABEL_LINE;
        let gap = if self.title.is_empty() || self.upper.is_empty() { 0.0 } else { 4.0 };
        12.0 + heading + gap + ABOVE_PLOT
    }

    /// Lower edge of the plot when the texts along the lower axis have this many lines.
    pub fn bottom(&self, tick_lines: usize) -> f64 {
        let lower = if self.lower.is_empty() { 0.0 } else { LABEL_LINE + 6.0 };
        self.floor() - lower - GAP - tick_lines as f64 * NOTE_LINE
    }

    /// Above the notes at the foot, where a legend must end.
    pub fn floor(&self) -> f64 {
        let height = |lines: &[String], line: f64| if lines.is_empty() { 0.0 } else { lines.len() as f64 * line + 4.0 };
        self.height - 12.0 - height(&self.notes, NOTE_LINE) - height(&self.caption, CAPTION_LINE)
    }

    /// Left edge of the plot for texts of the given width beside it.
    pub fn left(&self, text_width: f64) -> f64 {
        EDGE + text_width + GAP
    }

    /// Right edge of the plot for a column of the given width beside it.
    pub fn right(&self, column: f64) -> f64 {
        self.width - EDGE - column
    }

    /// Prints title, axis titles and notes.
    pub fn print(&self, plot: &Rect, scene: &mut Scene) {
        let mut y = 12.0;
        for line in &self.title {
            y += TITLE_LINE;
            scene.text(Text::new(line, (EDGE, y - 6.0), TITLE_SIZE, Anchor::Start, INK).bold());
        }
        y = self.top() - ABOVE_PLOT;
        for line in &self.upper {
            scene.text(Text::new(line, (EDGE, y - 5.0), LABEL_SIZE, Anchor::Start, INK));
        }
        y = self.height - 12.0;
        for line in self.notes.iter().rev() {
            scene.text(Text::new(line, (EDGE, y - 4.0), NOTE_SIZE, Anchor::Start, QUIET));
            y -= NOTE_LINE;
        }
        if !self.notes.is_empty() {
            y -= 4.0;
        }
        for line in self.caption.iter().rev() {
            scene.text(Text::new(line, (EDGE, y - 4.0), TICK_SIZE, Anchor::Start, INK));
            y -= CAPTION_LINE;
        }
        if !self.caption.is_empty() {
            y -= 4.0;
        }
        for line in &self.lower {
            let half = width(line, LABEL_SIZE, Weight::Regular) / 2.0;
            let middle = ((plot.left + plot.right) / 2.0).clamp(EDGE + half, (self.width - EDGE - half).max(EDGE + half));
            scene.text(Text::new(line, (middle, y - 5.0), LABEL_SIZE, Anchor::Middle, INK));
        }
    }
}

/// As many ticks as there is room for up the sheet.
pub(super) fn upright_count(pixels: f64) -> usize {
    ((pixels / PIXELS_PER_TICK.1) as usize).max(if pixels > 100.0 { 4 } else { 2 })
}

/// As many ticks as there is room for across the sheet.
fn level_count(pixels: f64) -> usize {
    ((pixels / PIXELS_PER_TICK.0) as usize).max(5)
}

/// Ticks along a level axis whose texts do not run into each other.
pub(super) fn level_ticks(scale: &Scale) -> Vec<Tick> {
    let length = (scale.pixels.1 - scale.pixels.0).abs();
    let crowded = |ticks: &[Tick]| {
        let half = |tick: &Tick| width(&tick.label, TICK_SIZE, Weight::Regular) / 2.0;
        ticks
            .windows(2)
            .any(|pair| (scale.px(pair[1].value) - scale.px(pair[0].value)).abs() < half(&pair[0]) + half(&pair[1]) + 8.0)
    };
    let choices = (2..=level_count(length)).rev().map(|most| scale.ticks(most));
    choices.into_iter().find(|ticks| !crowded(ticks)).unwrap_or_else(|| scale.ticks(2))
}

/// Width of the widest text of the ticks.
pub(super) fn tick_width(ticks: &[Tick]) -> f64 {
    let labels: Vec<&str> = ticks.iter().map(|tick| tick.label.as_str()).collect();
    widest(&labels, TICK_SIZE, Weight::Regular)
}

/// Grid and numbers of the upright axis.
pub(super) fn print_upright(scale: &Scale, ticks: &[Tick], plot: &Rect, scene: &mut Scene) {
    for tick in ticks {
        let y = scale.px(tick.value);
        scene.line(vec![(plot.left, y), (plot.right, y)], GRID, 1.0);
        let at = (plot.left - GAP, y + half_height(TICK_SIZE));
        scene.text(Text::new(&tick.label, at, TICK_SIZE, Anchor::End, QUIET));
    }
}

/// Grid and numbers of the level axis.
pub(super) fn print_level(scale: &Scale, ticks: &[Tick], plot: &Rect, scene: &mut Scene) {
    for tick in ticks {
        let x = scale.px(tick.value);
        scene.line(vec![(x, plot.top), (x, plot.bottom)], GRID, 1.0);
        let at = (x, plot.bottom + GAP + 11.0);
        scene.text(Text::new(&tick.label, at, TICK_SIZE, Anchor::Middle, QUIET));
    }
}

/// The base line of the level axis.
pub(super) fn print_base(y: f64, plot: &Rect, scene: &mut Scene) {
    scene.line(vec![(plot.left, y), (plot.right, y)], AXIS, 1.2);
}

/// The base line of the upright axis.
pub(super) fn print_upright_base(x: f64, plot: &Rect, scene: &mut Scene) {
    scene.line(vec![(x, plot.top), (x, plot.bottom)], AXIS, 1.2);
}

/// Names under groups of bars: each in its lines, centerd on its place.
pub(super) fn print_names(names: &[(f64, Vec<String>)], plot: &Rect, scene: &mut Scene) {
    for (x, lines) in names {
        for (row, line) in lines.iter().enumerate() {
            // The outermost names stay on the sheet.
            let half = width(line, TICK_SIZE, Weight::Regular) / 2.0;
            let x = x.min(plot.right + EDGE + 4.0 - half).max(half + 2.0);
            let at = (x, plot.bottom + GAP + 11.0 + row as f64 * NOTE_LINE);
            scene.text(Text::new(line, at, TICK_SIZE, Anchor::Middle, INK));
        }
    }
}

/// Names left of lying bars: each in its lines, its middle at its place.
pub(super) fn print_side_names(names: &[(f64, Vec<String>)], plot: &Rect, scene: &mut Scene) {
    for (y, lines) in names {
        let first = y + half_height(TICK_SIZE) - (lines.len() as f64 - 1.0) * NOTE_LINE / 2.0;
        for (row, line) in lines.iter().enumerate() {
            let at = (plot.left - GAP, first + row as f64 * NOTE_LINE);
            scene.text(Text::new(line, at, TICK_SIZE, Anchor::End, INK));
        }
    }
}
