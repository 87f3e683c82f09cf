//! The frame of figures whose things lie in rows: names at the left, one axis of numbers along the foot.

use super::description::{Figure, MarkedAxis};
use super::frame::{Sheet, level_ticks, print_level, print_side_names, print_upright_base};
use super::geometry::Rect;
use super::labels::Obstacle;
use super::legend::Column;
use super::marks::{Course, MarkLine, beyond, draw_lines_on_bars, label};
use super::palette::PAPER;
use super::plot_labels::PlotLabels;
use super::scale::Scale;
use super::scene::{Anchor, Ink, NOTE_SIZE, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, tidy, widest, width, wrap};

/// Height that a name needs, px.
const NAME_HEIGHT: f64 = 16.0;

/// The text of a bar.
pub(super) struct RowText {
    text: Text,
    /// Whether it stands on its bar.
    on_bar: bool,
}

/// The frame, drawn as far as the rows.
pub(super) struct Rows {
    pub scene: Scene,
    pub plot: Rect,
    pub x: Scale,
    sheet: Sheet,
    /// What the colors mean.
    column: Option<Column>,
    /// Height of a row.
    pub height: f64,
}

impl Rows {
    /// Where a value stands; one beyond an axis that was chosen, at its end.
    pub fn px(&self, value: f64) -> f64 {
        self.x.px(value).clamp(self.plot.left, self.plot.right.max(self.plot.left))
    }

    /// A frame for these names; `x` has its range, not its pixels yet. `column` says what the colors mean.
    pub fn new(
        figure: &Figure,
        names: &[String],
        mut x: Scale,
        notes: &[String],
        description: String,
        column: Option<Column>,
    ) -> Rows {
        let sheet = Sheet::new(figure, "", &figure.x.title(), notes);
        let room = 0.34 * f64::from(figure.size.0);
        // Rows too low for a name each have one name for every few.
        let row = (sheet.bottom(1) - sheet.top()) / names.len().max(1) as f64;
        let (stride, most_lines) = ((NAME_HEIGHT / row).ceil().max(1.0) as usize, if row < 2.0 * NAME_HEIGHT { 1 } else { 2 });
        let lines_of = |(at, name): (usize, &String)| match at % stride {
            0 => wrap(&tidy(name), TICK_SIZE, Weight::Regular, room, most_lines),
            _ => Vec::new(),
        };
        let lines: Vec<Vec<String>> = names.iter().enumerate().map(lines_of).collect();
        let name_width = lines.iter().map(|lines| widest(lines, TICK_SIZE, Weight::Regular)).fold(0.0, f64::max);
        let right = sheet.right(column.as_ref().map_or(12.0, Column::width));
        let plot = Rect { left: sheet.left(name_width), top: sheet.top(), right, bottom: sheet.bottom(1) };
        x.pixels = (plot.left, plot.right);
        let height = plot.height() / names.len().max(1) as f64;
        let mut scene = sheet.scene(figure, description);
        print_level(&x, &level_ticks(&x), &plot, &mut scene);
        let places: Vec<(f64, Vec<String>)> =
            lines.into_iter().enumerate().map(|(row, lines)| (plot.top + height * (row as f64 + 0.5), lines)).collect();
        print_side_names(&places, &plot, &mut scene);
        print_upright_base(plot.left, &plot, &mut scene);
        Rows { scene, plot, x, sheet, column, height }
    }

    /// The middle of a row.
    pub fn middle(&self, row: usize) -> f64 {
        self.plot.top + self.height * (row as f64 + 0.5)
    }

    /// The text of a bar at the end to which it points, or at the other where `either` end will do; on the bar where it has no room beside it
    /// in the plot.
    pub fn beside(&self, text: String, bar: &Rect, rightward: bool, either: bool, ink: Ink) -> RowText {
        let wide = width(&text, NOTE_SIZE, Weight::Regular);
        let (right, left) = ((bar.right + 5.0, Anchor::Start), (bar.left - 5.0, Anchor::End));
        let fits = |(at, anchor): &(f64, Anchor)| match anchor {
            Anchor::Start => at + wide <= self.plot.right + 8.0,
            _ => at - wide >= self.plot.left + 2.0,
        };
        let (first, second) = if rightward { (right, left) } else { (left, right) };
        let found = [first, second].into_iter().take(if either { 2 } else { 1 }).find(fits);
        let on_it = if rightward {
            ((self.plot.right + 8.0).min(bar.right - 4.0).max(self.plot.left + wide + 2.0), Anchor::End)
        } else {
            ((self.plot.left + 2.0).max(bar.left + 4.0).min(self.plot.right - wide), Anchor::Start)
        };
        let (x, anchor) = found.unwrap_or(on_it);
        let at = (x, (bar.top + bar.bottom) / 2.0 + half_height(NOTE_SIZE));
        RowText { text: Text::new(text, at, NOTE_SIZE, anchor, ink), on_bar: found.is_none() }
    }

    /// Marks and the texts beside the things in the rows, on top of what was drawn there. A text that would cover one before
    /// it or the names of the rows is left out.
    pub fn finish(mut self, figure: &Figure, texts: Vec<RowText>, obstacles: Vec<Obstacle>) -> Scene {
        let on_numbers = figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X && self.x.holds(mark.at));
        let line = |mark| -> MarkLine {
            let mark: &super::description::Mark = mark;
            MarkLine { course: Course::Upright, at_px: self.x.px(mark.at), label: label(mark, &figure.x) }
        };
        let marks: Vec<MarkLine> = on_numbers.map(line).collect();
        draw_lines_on_bars(&marks, &self.plot, &mut self.scene);
        let mut solids: Vec<Rect> = Vec::new();
        for RowText { text, on_bar } in texts {
            let bounds = text.bounds();
            // Letters reach less far up and down than their line.
            let letters = |line: &Rect| Rect { top: line.top + 0.2 * NOTE_SIZE, bottom: line.bottom - 0.1 * NOTE_SIZE, ..*line };
            let covers = |other: &Rect| letters(other).shared_area(&letters(&bounds)) > 0.0;
            if bounds.left < self.plot.left || solids.iter().any(covers) {
                continue;
            }
            solids.push(bounds);
            // A mark neither strikes through a text nor touches it.
            let bounds = text.bounds().grown(2.0);
            if on_bar {
                self.scene.shapes.push(Shape::Box { rect: bounds.grown(-1.0), ink: PAPER });
            } else if marks.iter().any(|mark| mark.crosses(&bounds, &self.plot)) {
                self.scene.shapes.push(Shape::Box { rect: bounds, ink: PAPER });
            }
            self.scene.text(text);
        }
        let on_x = figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X);
        let mut obstacles = obstacles;
        obstacles.extend(marks.iter().map(|mark| mark.obstacle(&self.plot)));
        let mut labels = PlotLabels::new(&self.plot);
        labels.marks(&marks);
        labels.beyond(&beyond(on_x.map(|mark| (mark, &self.x, &figure.x))));
        labels.print(&solids, &obstacles, &mut self.scene);
        if let Some(column) = &self.column {
            column.print(&self.plot, self.sheet.floor(), &mut self.scene);
        }
        self.sheet.print(&self.plot, &mut self.scene);
        self.scene
    }
}
