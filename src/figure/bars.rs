//! Figures of bars: upright while the names fit below them, lying when the names are long.

use super::curves::counted;
use super::description::{Axis, AxisScale, BarSeries, Figure, MarkedAxis, Plot, drawable};
use super::error::FigureError;
use super::frame::{
    Sheet, level_ticks, print_base, print_level, print_names, print_side_names, print_upright, print_upright_base, tick_width,
    upright_count,
};
use super::geometry::Rect;
use super::in_words;
use super::labels::Obstacle;
use super::legend::{Column, Sample};
use super::marks::{Course, MarkLine, beyond, draw_lines_on_bars, label};
use super::palette::{INK, PAPER, QUIET, look};
use super::plot_labels::{PlotLabels, arrow};
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Anchor, NOTE_SIZE, Scene, Shape, TICK_SIZE, Text, half_height};
use super::text::{Weight, tidy, widest, width, words, words_fit, wrap};
use super::ticks::{numbers, with_like_decimals};

/// Share of the room of a group that its bars fill.
const FILLED: f64 = 0.74;
/// A single bar is not drawn thicker than this.
const THICKEST: f64 = 90.0;
/// Values are printed beside up to this number of bars.
const MOST_PRINTED: usize = 24;
/// Pixels that a row of lying bars needs, and each bar in it.
const LEAST_ROW: f64 = 16.0;
const LEAST_BAR: f64 = 5.0;

/// How the bars stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stand {
    Upright,
    Lying,
}

/// One bar, still in numbers.
struct Bar {
    group: usize,
    series: usize,
    /// The value and its text; nothing when missing.
    value: Option<(f64, String)>,
}

/// The parts that both ways of standing share.
struct Plan<'a> {
    figure: &'a Figure,
    sheet: Sheet,
    column: Option<Column>,
    names: Vec<String>,
    n_series: usize,
    bars: Vec<Bar>,
    values: Scale,
    right: f64,
}

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, categories: &[String], series: &[BarSeries]) -> Result<Scene, FigureError> {
    let bars = read(&figure.y, series);
    let known: Vec<f64> = bars.iter().filter_map(|bar| bar.value.as_ref().map(|(value, _)| *value)).collect();
    if known.is_empty() {
        return Err(FigureError::NothingToDraw { values: bars.len() });
    }
    let values = value_scale(figure, &known);
    let names: Vec<String> = categories.iter().map(|name| tidy(name)).collect();
    let mut notes: Vec<String> =
        counted(bars.len() - known.len(), "missing value is", "missing values are", "shown as –").into_iter().collect();
    notes.extend(counted(known.iter().filter(|value| !values.holds(**value)).count(), "bar goes", "bars go", "beyond the axis"));

    let (value_title, name_title) = (figure.y.title(), figure.x.title());
    let column = (series.len() > 1).then(|| {
        let entries = series.iter().enumerate().map(|(index, one)| (words(&one.name), look(index))).collect();
        let title = figure.legend_title.as_deref().map(words).unwrap_or_default();
        Column::new(&title, entries, Sample::Block, false, f64::from(figure.size.0))
    });
    let sheet = Sheet::new(figure, &value_title, &name_title, &notes);
    let right = sheet.right(column.as_ref().map_or(8.0, Column::width));
    let description = describe(figure, &name_title, &names, series, &bars, &notes);
    let mut plan = Plan { figure, sheet, column, names, n_series: series.len(), bars, values, right };
    if let Some(lines) = plan.names_below() {
        return Ok(plan.upright(&lines, description));
    }
    if plan.rows_fit() {
        plan.sheet = Sheet::new(figure, &name_title, &value_title, &notes);
        return Ok(plan.lying(description));
    }
    notes.push("not every name is printed".into());
    // What all names begin with is said once.
    let common = plan.strip_common_words();
    let name_title = if common.is_empty() { name_title } else { format!("{name_title}: {common} …") };
    plan.sheet = Sheet::new(figure, &value_title, &name_title, &notes);
    let lines = plan.thinned_names();
    Ok(plan.upright(&lines, description))
}

fn read(axis: &Axis, series: &[BarSeries]) -> Vec<Bar> {
    let known: Vec<f64> = series.iter().flat_map(|one| one.values.iter().filter_map(|value| value.and_then(drawable))).collect();
    let texts = match axis.scale {
        _ if known.len() > MOST_PRINTED => vec![String::new(); known.len()],
        AxisScale::Clock => known.iter().map(|value| axis.text(*value)).collect(),
        AxisScale::Linear | AxisScale::Log => with_like_decimals(&known, numbers(&known)),
    };
    let mut texts = texts.into_iter();
    let mut bars = Vec::new();
    for (index, one) in series.iter().enumerate() {
        for (group, value) in one.values.iter().enumerate() {
            let value = value.and_then(drawable).map(|value| (value, texts.next().unwrap_or_default()));
            bars.push(Bar { group, series: index, value });
        }
    }
    bars
}

/// The axis of the values: always with zero, and with some room for texts beyond the longest bar.
fn value_scale(figure: &Figure, known: &[f64]) -> Scale {
    let beyond = known.iter().map(|value| 1.05 * value);
    let all: Vec<f64> = beyond.chain(figure.marks.iter().map(|mark| mark.at)).chain([0.0]).collect();
    let count = upright_count(f64::from(figure.size.1) * 0.7);
    let (low, high) = choose_range(&all, &figure.y, Fit::Rounded, count);
    Scale { kind: figure.y.scale, low: low.min(0.0), high: high.max(0.0), pixels: (1.0, 0.0) }
}

impl Plan<'_> {
    fn upright_plot(&self, name_lines: usize) -> Rect {
        let (top, bottom) = (self.sheet.top(), self.sheet.bottom(name_lines));
        let ticks = self.values.ticks(upright_count(bottom - top));
        Rect { left: self.sheet.left(tick_width(&ticks)), top, right: self.right, bottom }
    }

    /// The names in lines below upright bars; `None` where a name does not fit there.
    fn names_below(&self) -> Option<Vec<Vec<String>>> {
        let room = self.upright_plot(2).width() / self.names.len() as f64 - 8.0;
        let most_lines = if self.figure.size.1 < 360 { 2 } else { 3 };
        let all_fit = self.names.iter().all(|name| words_fit(name, TICK_SIZE, room));
        let lines: Vec<Vec<String>> =
            self.names.iter().map(|name| wrap(name, TICK_SIZE, Weight::Regular, room, most_lines + 1)).collect();
        (all_fit && lines.iter().all(|lines| lines.len() <= most_lines)).then_some(lines)
    }

    fn rows_fit(&self) -> bool {
        let row = (self.sheet.bottom(1) - self.sheet.top()) / self.names.len() as f64;
        row >= LEAST_ROW && row * FILLED / self.n_series as f64 >= LEAST_BAR
    }

    /// Takes the words with which all names begin off them, and gives these words; what is left of each name is never empty.
    fn strip_common_words(&mut self) -> String {
        let words: Vec<Vec<String>> = self.names.iter().map(|name| name.split(' ').map(String::from).collect()).collect();
        let Some(first) = words.first() else { return String::new() };
        let is_common = |at: usize| words.iter().all(|name| name.len() > at + 1 && name[at] == first[at]);
        let count = (0..first.len()).take_while(|at| is_common(*at)).count();
        self.names = words.iter().map(|name| name[count..].join(" ")).collect();
        first[..count].join(" ")
    }

    /// One line for every few names, as many as fit.
    fn thinned_names(&self) -> Vec<Vec<String>> {
        let room = self.upright_plot(1).width() / self.names.len() as f64;
        let cut: Vec<String> = self.names.iter().map(|name| wrap(name, TICK_SIZE, Weight::Regular, 90.0, 1).concat()).collect();
        let stride = ((widest(&cut, TICK_SIZE, Weight::Regular) + 26.0) / room).ceil().max(1.0) as usize;
        cut.into_iter().enumerate().map(|(index, name)| if index % stride == 0 { vec![name] } else { Vec::new() }).collect()
    }

    fn upright(mut self, names: &[Vec<String>], description: String) -> Scene {
        let plot = self.upright_plot(names.iter().map(Vec::len).max().unwrap_or(1).max(1));
        self.make_room_for_texts(Stand::Upright, &plot);
        self.values.pixels = (plot.bottom, plot.top);
        let mut scene = self.sheet.scene(self.figure, description);
        let ticks = self.values.ticks(upright_count(plot.height()));
        print_upright(&self.values, &ticks, &plot, &mut scene);
        let room = plot.width() / self.names.len() as f64;
        let placed = names.iter().enumerate().map(|(group, lines)| (plot.left + room * (group as f64 + 0.5), lines.clone()));
        print_names(&placed.collect::<Vec<_>>(), &plot, &mut scene);
        self.finish(Stand::Upright, &plot, scene)
    }

    fn lying(mut self, description: String) -> Scene {
        let (top, bottom) = (self.sheet.top(), self.sheet.bottom(1));
        let row = (bottom - top) / self.names.len() as f64;
        let most_lines = ((row / NOTE_SIZE / 1.35) as usize).clamp(1, 3);
        let most_width = 0.34 * self.sheet.width;
        let lines: Vec<Vec<String>> =
            self.names.iter().map(|name| wrap(name, TICK_SIZE, Weight::Regular, most_width, most_lines)).collect();
        let name_width = lines.iter().map(|lines| widest(lines, TICK_SIZE, Weight::Regular)).fold(0.0, f64::max);
        let plot = Rect { left: self.sheet.left(name_width), top, right: self.right, bottom };
        self.make_room_for_texts(Stand::Lying, &plot);
        self.values.pixels = (plot.left, plot.right);
        let mut scene = self.sheet.scene(self.figure, description);
        print_level(&self.values, &level_ticks(&self.values), &plot, &mut scene);
        let placed = lines.into_iter().enumerate().map(|(group, lines)| (plot.top + row * (group as f64 + 0.5), lines));
        print_side_names(&placed.collect::<Vec<_>>(), &plot, &mut scene);
        self.finish(Stand::Lying, &plot, scene)
    }

    /// Lengthens the axis until the texts beyond the longest positive and negative bars stay in the plot, clear of the names beside or below it.
    fn make_room_for_texts(&mut self, stand: Stand, plot: &Rect) {
        if self.figure.y.range.is_some() {
            return;
        }
        let length = if stand == Stand::Upright { plot.height() } else { plot.width() };
        let needed = |text: &str| match stand {
            Stand::Upright => NOTE_SIZE + 6.0,
            Stand::Lying => width(text, NOTE_SIZE, Weight::Regular) + 8.0,
        };
        let known = || self.bars.iter().filter_map(|bar| bar.value.as_ref());
        let room = |sign: f64| {
            let texts = known().filter(|(value, text)| sign * value > 0.0 && !text.is_empty());
            texts.map(|(_, text)| needed(text)).fold(0.0, f64::max)
        };
        let (above, below) = (room(1.0), room(-1.0));
        let free = (length - above - below).max(length / 2.0);
        let ends = || known().map(|(value, _)| *value).chain([0.0]);
        let (greatest, least) = (ends().fold(0.0, f64::max), ends().fold(0.0, f64::min));
        let per_pixel = (greatest - least) / free;
        if above > 0.0 {
            self.values.high = self.values.high.max(greatest + above * per_pixel);
        }
        if below > 0.0 {
            self.values.low = self.values.low.min(least - below * per_pixel);
        }
    }

    fn finish(self, stand: Stand, plot: &Rect, mut scene: Scene) -> Scene {
        let zero = self.values.px(0.0);
        let (mut obstacles, mut solids, mut texts, mut boxes) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut dashes: Vec<Rect> = Vec::new();
        let printed = self.texts_fit(stand, plot);
        for bar in &self.bars {
            let rect = self.bar_rect(bar, stand, plot);
            let Some((value, text)) = &bar.value else {
                let at = match stand {
                    Stand::Upright => ((rect.left + rect.right) / 2.0, zero - 5.0),
                    Stand::Lying => (zero + 8.0, (rect.top + rect.bottom) / 2.0 + half_height(NOTE_SIZE)),
                };
                let dash = Text::new("–", at, NOTE_SIZE, Anchor::Middle, QUIET);
                let bounds = dash.bounds();
                // Bars thinner than a dash share one.
                if dashes.iter().all(|other: &Rect| other.shared_area(&bounds) <= 0.0) {
                    dashes.push(bounds);
                    scene.text(dash);
                }
                continue;
            };
            scene.shapes.push(Shape::Box { rect, ink: look(bar.series).ink });
            let end = self.values.px(value.clamp(self.values.low, self.values.high));
            let at = match stand {
                Stand::Upright => ((rect.left + rect.right) / 2.0, end),
                Stand::Lying => (end, (rect.top + rect.bottom) / 2.0),
            };
            scene.tell(at, bar.series, self.told(bar, *value));
            if !self.values.holds(*value) {
                // A bar that is cut has a tip at its end.
                let above = *value > self.values.high;
                let (x, y) = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0);
                let (axis, at) = match (stand, above) {
                    (Stand::Upright, true) => (MarkedAxis::Y, (x, rect.top + 9.0)),
                    (Stand::Upright, false) => (MarkedAxis::Y, (x, rect.bottom - 9.0)),
                    (Stand::Lying, true) => (MarkedAxis::X, (rect.right - 9.0, y)),
                    (Stand::Lying, false) => (MarkedAxis::X, (rect.left + 9.0, y)),
                };
                scene.shapes.push(Shape::Area { points: arrow(at, axis, above), ink: PAPER });
            }
            obstacles.push(Obstacle::Area(rect));
            if printed && self.values.holds(*value) {
                let mut text = beside(text, *value, &rect, stand);
                // At the end of an axis that was chosen there may be no room beside a lying bar.
                let bounds = text.bounds();
                let (over_left, over_right) = (plot.left + 2.0 - bounds.left, bounds.right - plot.right - 8.0);
                if stand == Stand::Lying && over_left.max(over_right) > 0.0 {
                    text.at.0 += over_left.max(0.0) - over_right.max(0.0);
                    boxes.push(text.bounds().grown(-1.0));
                }
                solids.push(text.bounds());
                texts.push(text);
            }
        }
        solids.extend(dashes);
        match stand {
            Stand::Upright => print_base(zero, plot, &mut scene),
            Stand::Lying => print_upright_base(zero, plot, &mut scene),
        }
        let course = if stand == Stand::Upright { Course::Level } else { Course::Upright };
        let shown = self.figure.marks.iter().filter(|mark| self.values.holds(mark.at));
        let marks: Vec<MarkLine> =
            shown.map(|mark| MarkLine { course, at_px: self.values.px(mark.at), label: label(mark, &self.figure.y) }).collect();
        draw_lines_on_bars(&marks, plot, &mut scene);
        boxes.into_iter().for_each(|rect| scene.shapes.push(Shape::Box { rect, ink: PAPER }));
        for text in texts {
            // A mark does not strike through a value.
            let bounds = text.bounds();
            if marks.iter().any(|mark| mark.crosses(&bounds.grown(2.0), plot)) {
                scene.shapes.push(Shape::Box { rect: bounds, ink: PAPER });
            }
            scene.text(text);
        }
        // On lying bars the values run along the level axis.
        let axis = if stand == Stand::Upright { MarkedAxis::Y } else { MarkedAxis::X };
        let mut arrows = beyond(self.figure.marks.iter().map(|mark| (mark, &self.values, &self.figure.y)));
        arrows.iter_mut().for_each(|arrow| arrow.axis = axis);
        obstacles.extend(marks.iter().map(|mark| mark.obstacle(plot)));
        let mut labels = PlotLabels::new(plot);
        labels.marks(&marks);
        labels.beyond(&arrows);
        labels.print(&solids, &obstacles, &mut scene);
        if let Some(column) = &self.column {
            column.print(plot, self.sheet.floor(), &mut scene);
        }
        self.sheet.print(plot, &mut scene);
        scene
    }

    /// What a bar shows.
    fn told(&self, bar: &Bar, value: f64) -> String {
        let series = match &self.figure.plot {
            Plot::Bars { series, .. } if self.n_series > 1 => format!(", {}", words(&series[bar.series].name)),
            _ => String::new(),
        };
        format!("{}{series}: {}", self.names[bar.group], self.figure.y.said(value))
    }

    /// Thickness of a group's room and of each bar in it.
    fn thickness(&self, stand: Stand, plot: &Rect) -> (f64, f64) {
        let length = if stand == Stand::Upright { plot.width() } else { plot.height() };
        let room = length / self.names.len() as f64;
        (room, (room * FILLED / self.n_series as f64).min(THICKEST))
    }

    fn bar_rect(&self, bar: &Bar, stand: Stand, plot: &Rect) -> Rect {
        let (room, thick) = self.thickness(stand, plot);
        let start = room * (bar.group as f64 + 0.5) + thick * (bar.series as f64 - self.n_series as f64 / 2.0);
        let gap = (thick * 0.06).min(1.5);
        let value = bar.value.as_ref().map_or(0.0, |(value, _)| value.clamp(self.values.low, self.values.high));
        let (a, b) = (self.values.px(0.0), self.values.px(value));
        let (from, to) = (a.min(b), a.max(b));
        match stand {
            Stand::Upright => {
                Rect { left: plot.left + start + gap, right: plot.left + start + thick - gap, top: from, bottom: to }
            }
            Stand::Lying => Rect { left: from, right: to, top: plot.top + start + gap, bottom: plot.top + start + thick - gap },
        }
    }

    /// Whether each bar's value can stand beside it without touching its neighbor.
    fn texts_fit(&self, stand: Stand, plot: &Rect) -> bool {
        let texts: Vec<&str> = self.bars.iter().filter_map(|bar| bar.value.as_ref()).map(|(_, text)| text.as_str()).collect();
        let (room, thick) = self.thickness(stand, plot);
        let available = if self.n_series == 1 { room - 4.0 } else { thick + 1.0 };
        let needed = match stand {
            Stand::Upright => widest(&texts, NOTE_SIZE, Weight::Regular),
            Stand::Lying => 1.2 * NOTE_SIZE,
        };
        texts.iter().all(|text| !text.is_empty()) && needed <= available
    }
}

/// The text of a value at the end of its bar.
fn beside(text: &str, value: f64, rect: &Rect, stand: Stand) -> Text {
    let middle = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0 + half_height(NOTE_SIZE));
    let (at, anchor) = match (stand, value < 0.0) {
        (Stand::Upright, false) => ((middle.0, rect.top - 5.0), Anchor::Middle),
        (Stand::Upright, true) => ((middle.0, rect.bottom + 13.0), Anchor::Middle),
        (Stand::Lying, false) => ((rect.right + 5.0, middle.1), Anchor::Start),
        (Stand::Lying, true) => ((rect.left - 5.0, middle.1), Anchor::End),
    };
    Text::new(text, at, NOTE_SIZE, anchor, INK)
}

fn describe(figure: &Figure, name_title: &str, names: &[String], series: &[BarSeries], bars: &[Bar], notes: &[String]) -> String {
    let values = &figure.y;
    let mut text = format!("Bars of {} by {name_title}.", values.title());
    for bar in bars.iter().take(MOST_PRINTED) {
        let of = if series.len() > 1 { format!(", {}", words(&series[bar.series].name)) } else { String::new() };
        let value = bar.value.as_ref().map_or("missing".to_string(), |(value, _)| values.text(*value));
        text += &format!(" {}{of}: {value}.", names[bar.group]);
    }
    if bars.len() > MOST_PRINTED {
        text += &format!(" Bars not listed: {}.", bars.len() - MOST_PRINTED);
    }
    text += &in_words::marks(figure, MarkedAxis::Y, &[]);
    notes.iter().for_each(|note| text += &format!(" Note: {note}."));
    text
}
