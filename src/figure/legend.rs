//! Which line is which: labels at the ends of lines, or a legend, both in a column right of the plot and never on data.

use super::geometry::{Rect, Spot};
use super::labels::spread;
use super::palette::{INK, Look, QUIET, draw_marker};
use super::scene::{Anchor, LABEL_SIZE, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, widest, width, wrap};

const LINE: f64 = 17.0;
/// Between the plot and a label at the end of a line.
const REACH: f64 = 18.0;
/// Between the plot and the legend, and the length of its samples of line.
const AWAY: f64 = 16.0;
const SAMPLE: f64 = 28.0;
const SAMPLE_GAP: f64 = 8.0;

/// Share of the sheet that a column takes at most.
const MOST: f64 = 0.42;

/// What stands for a series in the legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sample {
    Line,
    Marker,
    LineAndMarker,
    Block,
}

/// One name in the column.
pub(super) struct Entry {
    pub lines: Vec<String>,
    pub look: Look,
    /// Where the line of this series ends, when it has a label at its end.
    pub end: Option<Spot>,
}

/// The column right of the plot.
pub(super) struct Column {
    pub title: Vec<String>,
    pub entries: Vec<Entry>,
    pub sample: Sample,
    /// What stands for each series, where they differ.
    pub each: Vec<Sample>,
    /// Labels are at the ends of lines instead of in a list.
    pub at_ends: bool,
}

impl Column {
    /// `sheet_width` limits the names to under a third of the sheet, or a little more where a line would break inside a name.
    pub fn new(title: &str, names: Vec<(String, Look)>, sample: Sample, at_ends: bool, sheet_width: f64) -> Column {
        let beside = if at_ends { REACH } else { AWAY + SAMPLE + SAMPLE_GAP };
        // Lines break between the pieces of a name where there is room.
        let words: Vec<&str> = names.iter().flat_map(|(name, _)| name.split(' ')).collect();
        let room = (0.3 * sheet_width).max((widest(&words, LABEL_SIZE, Weight::Regular) + beside + 0.5).min(MOST * sheet_width))
            - beside;
        let most_lines = match names.len() {
            0..=4 => 5,
            5..=10 => 3,
            _ => 1,
        };
        let entry = |(name, look): (String, Look)| {
            let name = if name.is_empty() { "(no name)".to_string() } else { name };
            Entry { lines: wrap(&name, LABEL_SIZE, Weight::Regular, room, most_lines), look, end: None }
        };
        let entries = names.into_iter().map(entry).collect();
        Column {
            title: wrap(title, TICK_SIZE, Weight::Bold, 0.3 * sheet_width - AWAY, 2),
            entries,
            sample,
            each: Vec::new(),
            at_ends,
        }
    }

    /// Width in pixels, with the gap to the plot.
    pub fn width(&self) -> f64 {
        let names = self.entries.iter().map(|entry| widest(&entry.lines, LABEL_SIZE, Weight::Regular)).fold(0.0, f64::max);
        let title = widest(&self.title, TICK_SIZE, Weight::Bold);
        if self.at_ends { REACH + names.max(title) } else { AWAY + (SAMPLE + SAMPLE_GAP + names).max(title) }
    }

    /// Height in pixels of all labels stacked.
    pub fn height(&self) -> f64 {
        let lines = self.title.len() + self.entries.iter().map(|entry| entry.lines.len()).sum::<usize>();
        lines as f64 * LINE + 2.0 * (self.entries.len() + 1) as f64
    }

    /// Prints the column right of `plot`; a list ends at `lowest` and says how many names are left.
    pub fn print(&self, plot: &Rect, lowest: f64, scene: &mut Scene) {
        if self.at_ends { self.print_at_ends(plot, scene) } else { self.print_list(plot, lowest, scene) }
    }

    fn print_at_ends(&self, plot: &Rect, scene: &mut Scene) {
        let ends: Vec<(&Entry, Spot)> = self.entries.iter().filter_map(|entry| Some((entry, entry.end?))).collect();
        let mut wanted: Vec<f64> = ends.iter().map(|(_, end)| end.1).collect();
        let mut heights: Vec<f64> = ends.iter().map(|(entry, _)| entry.lines.len() as f64 * LINE + 2.0).collect();
        if !self.title.is_empty() {
            // The title of the column stands right above its highest label.
            let title_height = self.title.len() as f64 * LINE + 2.0;
            let highest = (0..ends.len()).min_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
            wanted.push(highest.map_or(plot.top, |index| wanted[index] - (heights[index] + title_height) / 2.0));
            heights.push(title_height);
        }
        let middles = spread(&wanted, &heights, plot.top - 12.0, plot.bottom + 12.0);
        let x = plot.right + REACH;
        for ((entry, end), middle) in ends.iter().zip(&middles) {
            let points = vec![(end.0 + 3.0, end.1), (x - 4.0, *middle)];
            scene.shapes.push(Shape::Line { points, ink: entry.look.ink, width: 0.8, dash: &[] });
            print_lines(&entry.lines, (x, *middle), entry.look, scene);
        }
        if let Some(middle) = middles.get(ends.len()) {
            self.print_title((x, middle - (self.title.len() as f64 - 1.0) * LINE / 2.0), scene);
        }
    }

    fn print_list(&self, plot: &Rect, lowest: f64, scene: &mut Scene) {
        let x = plot.right + AWAY;
        let mut y = plot.top + 6.0;
        self.print_title((x, y), scene);
        y += self.title.len() as f64 * LINE + if self.title.is_empty() { 0.0 } else { 4.0 };
        // Many names move closer together before the last are left out.
        let lines = self.entries.iter().map(|entry| entry.lines.len()).sum::<usize>() as f64;
        let room = lowest + LINE / 2.0 - y;
        let gap = ((room - lines * LINE) / self.entries.len().max(1) as f64).clamp(-2.0, 3.0);
        let all_fit = lines * LINE + gap * self.entries.len() as f64 <= room + 0.1;
        for (index, entry) in self.entries.iter().enumerate() {
            let height = entry.lines.len() as f64 * LINE + gap;
            let rest = self.entries.len() - index;
            if !all_fit && y + height + LINE > lowest + LINE / 2.0 {
                // In a narrow column the count alone.
                let texts = [format!("and {rest} more"), format!("+{rest}")];
                let fits = |text: &&String| width(text, TICK_SIZE, Weight::Regular) <= self.width() - AWAY;
                let text = texts.iter().find(fits).unwrap_or(&texts[1]);
                scene.text(Text::new(text, (x, y + half_height(TICK_SIZE)), TICK_SIZE, Anchor::Start, QUIET));
                return;
            }
            self.print_sample((x, y), entry.look, self.each.get(index).copied().unwrap_or(self.sample), scene);
            let middle = y + (entry.lines.len() as f64 - 1.0) * LINE / 2.0;
            let plain = Look { text: INK, ..entry.look };
            print_lines(&entry.lines, (x + SAMPLE + SAMPLE_GAP, middle), plain, scene);
            y += height;
        }
    }

    fn print_title(&self, (x, y): Spot, scene: &mut Scene) {
        for (row, line) in self.title.iter().enumerate() {
            let at = (x, y + row as f64 * LINE + half_height(TICK_SIZE));
            scene.text(Text::new(line, at, TICK_SIZE, Anchor::Start, QUIET).bold());
        }
    }

    fn print_sample(&self, (x, y): Spot, look: Look, sample: Sample, scene: &mut Scene) {
        let (left, right) = (x, x + SAMPLE);
        if matches!(sample, Sample::Line | Sample::LineAndMarker) {
            scene.shapes.push(Shape::Line { points: vec![(left, y), (right, y)], ink: look.ink, width: 2.2, dash: look.dash });
        }
        if matches!(sample, Sample::Marker | Sample::LineAndMarker) {
            draw_marker(scene, look.marker, ((left + right) / 2.0, y), 4.5, look.ink);
        }
        if sample == Sample::Block {
            let rect = Rect { left: right - 16.0, top: y - 6.0, right, bottom: y + 6.0 };
            scene.shapes.push(Shape::Box { rect, ink: look.ink });
        }
    }
}

fn print_lines(lines: &[String], (x, middle): Spot, look: Look, scene: &mut Scene) {
    let first = middle - (lines.len() as f64 - 1.0) * LINE / 2.0;
    for (row, line) in lines.iter().enumerate() {
        let at = (x, first + row as f64 * LINE + half_height(LABEL_SIZE));
        scene.text(Text::new(line, at, LABEL_SIZE, Anchor::Start, look.text));
    }
}
