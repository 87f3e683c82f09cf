//! The frame of figures whose things lie in rows: names at the left, one axis of numbers along the foot.

use super::description::{Figure, MarkedAxis};
use super::frame::{Sheet, level_ticks, print_level, print_side_names, print_upright_base};
use super::geometry::Rect;
use super::labels::Obstacle;
use super::marks::{Course, MarkLine, draw_lines_on_bars, label, print_labels};
use super::palette::PAPER;
use super::scale::Scale;
use super::scene::{Scene, Shape, TICK_SIZE, Text};
use super::text::{Weight, tidy, widest, wrap};

/// The frame, drawn as far as the rows.
pub(super) struct Rows {
    pub scene: Scene,
    pub plot: Rect,
    pub x: Scale,
    sheet: Sheet,
    /// Height of a row.
    pub height: f64,
}

impl Rows {
    /// A frame for these names; `x` has its range, not its pixels yet.
    pub fn new(figure: &Figure, names: &[String], mut x: Scale, notes: &[String], description: String) -> Rows {
        let sheet = Sheet::new(figure, "", &figure.x.title(), notes);
        let room = 0.34 * f64::from(figure.size.0);
        let lines: Vec<Vec<String>> = names.iter().map(|name| wrap(&tidy(name), TICK_SIZE, Weight::Regular, room, 2)).collect();
        let name_width = lines.iter().map(|lines| widest(lines, TICK_SIZE, Weight::Regular)).fold(0.0, f64::max);
        let plot = Rect { left: sheet.left(name_width), top: sheet.top(), right: sheet.right(12.0), bottom: sheet.bottom(1) };
        x.pixels = (plot.left, plot.right);
        let height = plot.height() / names.len().max(1) as f64;
        let mut scene = sheet.scene(figure, description);
        print_level(&x, &level_ticks(&x), &plot, &mut scene);
        let places: Vec<(f64, Vec<String>)> =
            lines.into_iter().enumerate().map(|(row, lines)| (plot.top + height * (row as f64 + 0.5), lines)).collect();
        print_side_names(&places, &plot, &mut scene);
        print_upright_base(plot.left, &plot, &mut scene);
        Rows { scene, plot, x, sheet, height }
    }

    /// The middle of a row.
    pub fn middle(&self, row: usize) -> f64 {
        self.plot.top + self.height * (row as f64 + 0.5)
    }

    /// Marks and the texts beside the things in the rows, on top of what was drawn there.
    pub fn finish(mut self, figure: &Figure, texts: Vec<Text>, obstacles: Vec<Obstacle>) -> Scene {
        let on_numbers = figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X && self.x.holds(mark.at));
        let line = |mark| -> MarkLine {
            let mark: &super::description::Mark = mark;
            MarkLine { course: Course::Upright, at_px: self.x.px(mark.at), label: label(mark, &figure.x) }
        };
        let marks: Vec<MarkLine> = on_numbers.map(line).collect();
        draw_lines_on_bars(&marks, &self.plot, &mut self.scene);
        for text in texts {
            // A mark neither strikes through a text nor touches it.
            let bounds = text.bounds().grown(2.0);
            if marks.iter().any(|mark| mark.crosses(&bounds, &self.plot)) {
                self.scene.shapes.push(Shape::Box { rect: bounds, ink: PAPER });
            }
            self.scene.text(text);
        }
        print_labels(&marks, obstacles, &self.plot, &mut self.scene);
        self.sheet.print(&self.plot, &mut self.scene);
        self.scene
    }
}
