//! Histograms: how often values fall into even steps, with steps that are round numbers.

use super::curves::counted;
use super::description::{Figure, MarkedAxis, drawable};
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, tick_width, upright_count};
use super::geometry::{Rect, Spot};
use super::in_words;
use super::labels::Obstacle;
use super::legend::{Column, Sample};
use super::marks::{Course, MarkLine, beyond, draw_lines_on_bars, label};
use super::palette::look;
use super::plot_labels::PlotLabels;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Scene, Shape};
use super::text::words;
use super::ticks::number;
use crate::limits::{self, while_going_on};

/// More steps than this cannot be distinguished.
const MOST_STEPS: f64 = 60.0;

/// Start, width and counts of the steps for rising values.
///
/// The width is that of Freedman and Diaconis 1981, 2 IQR / cbrt(n), made a round number; equal values are one step.
pub(super) fn steps(rising: &[f64]) -> (f64, f64, Vec<usize>) {
    let (least, greatest) = (rising[0], rising[rising.len() - 1]);
    let spread = greatest - least;
    if spread <= 1e-9 * least.abs().max(greatest.abs()) {
        let width = if least == 0.0 { 1.0 } else { 0.1 * least.abs() };
        return (least - width / 2.0, width, vec![rising.len()]);
    }
    let [_, lower, _, upper, _] = super::boxes::five_numbers(rising);
    let wanted = 2.0 * (upper - lower) / (rising.len() as f64).cbrt();
    let width = round_up(wanted.clamp(spread / MOST_STEPS, spread / 4.0));
    let first = (least / width).floor();
    let count = ((greatest / width).floor() - first) as usize + 1;
    let mut counts = vec![0; count];
    for value in while_going_on(rising) {
        counts[(((value / width).floor() - first) as usize).min(count - 1)] += 1;
    }
    (first * width, width, counts)
}

/// How many of the values fall into each step; what is no number into none.
fn counts(values: &[f64], start: f64, step: f64, n_steps: usize) -> Vec<usize> {
    let mut counts = vec![0; n_steps];
    for value in while_going_on(values).copied().filter_map(drawable) {
        // Steps begin at whole multiples of their width, and the last holds its end too.
        let index = ((value / step).floor() - (start / step).round()).max(0.0) as usize;
        counts[index.min(n_steps - 1)] += 1;
    }
    counts
}

/// The next of 1, 2, 2.5 and 5 times a power of ten.
fn round_up(width: f64) -> f64 {
    let power = 10f64.powf(width.log10().floor());
    [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|step| step * power).find(|step| *step >= width * (1.0 - 1e-9)).unwrap_or(width)
}

/// Composes the figure: blocks of one group, outlines of several. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, groups: &[(String, Vec<f64>)]) -> Result<Scene, FigureError> {
    let n_values: usize = groups.iter().map(|(_, values)| values.len()).sum();
    let all = while_going_on(groups.iter().flat_map(|(_, values)| values));
    let known: Vec<f64> = all.copied().filter_map(drawable).collect();
    if known.is_empty() {
        return Err(FigureError::NothingToDraw { values: n_values });
    }
    let known = limits::sorted(known, f64::total_cmp)?;
    let (start, step, all_counts) = steps(&known);
    let counts_of: Vec<Vec<usize>> = groups.iter().map(|(_, values)| counts(values, start, step, all_counts.len())).collect();
    limits::go_on()?;
    let end = start + step * all_counts.len() as f64;
    let at_marks = || figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X).map(|mark| mark.at);
    let (low, high) =
        figure.x.range.unwrap_or((at_marks().fold(start, f64::min) - 0.3 * step, at_marks().fold(end, f64::max) + 0.3 * step));
    let mut x = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let most = counts_of.iter().flatten().copied().max().unwrap_or(1) as f64;
    let (y_low, y_high) = choose_range(&[0.0, most], &figure.y, Fit::Rounded, 6);
    let mut y = Scale { kind: figure.y.scale, low: y_low, high: y_high, pixels: (1.0, 0.0) };
    let notes: Vec<String> =
        counted(n_values - known.len(), "missing value is", "missing values are", "left out").into_iter().collect();
    let sheet = Sheet::new(figure, &figure.y.title(), &figure.x.title(), &notes);
    let (top, bottom) = (sheet.top(), sheet.bottom(1));
    let ticks = y.ticks(upright_count(bottom - top));
    let column = (groups.len() > 1).then(|| {
        let entries = groups.iter().enumerate().map(|(index, (name, _))| (words(name), look(index))).collect();
        let title = figure.legend_title.as_deref().map(words).unwrap_or_default();
        Column::new(&title, entries, Sample::Line, false, f64::from(figure.size.0))
    });
    let right = sheet.right(column.as_ref().map_or(8.0, Column::width));
    let plot = Rect { left: sheet.left(tick_width(&ticks)), top, right, bottom };
    (x.pixels, y.pixels) = ((plot.left, plot.right), (plot.bottom, plot.top));
    let mut description = format!(
        "{}: {} values from {} to {}, in steps of {}.",
        figure.x.title(),
        known.len(),
        figure.x.text(known[0]),
        figure.x.text(known[known.len() - 1]),
        number(step, 4)
    );
    for ((name, _), counts) in groups.iter().zip(&counts_of) {
        // The first of the fullest steps.
        let fullest = (0..counts.len()).rev().max_by_key(|step| counts[*step]).unwrap_or_default();
        let from = start + step * fullest as f64;
        let most = format!("most often {} to {}, {} times", figure.x.text(from), figure.x.text(from + step), counts[fullest]);
        let n_values = counts.iter().sum::<usize>();
        description += &match groups.len() {
            1 => format!(" {most}."),
            _ if n_values == 0 => format!(" {}: no values.", words(name)),
            _ => format!(" {}: {n_values} values, {most}.", words(name)),
        };
    }
    description += &in_words::marks(figure, MarkedAxis::X, &known);
    let mut scene = sheet.scene(figure, description);
    print_upright(&y, &ticks, &plot, &mut scene);
    print_level(&x, &level_ticks(&x), &plot, &mut scene);
    let mut obstacles = Vec::new();
    for (group, counts) in counts_of.iter().enumerate().rev() {
        let mut outline: Vec<Spot> = Vec::new();
        for (index, count) in counts.iter().enumerate() {
            let from = start + step * index as f64;
            let (left, right) = (x.px(from).max(plot.left), x.px(from + step).min(plot.right));
            let top = y.px((*count as f64).min(y.high));
            if left >= right {
                continue;
            }
            outline.extend([(left, top), (right, top)]);
            let of = if groups.len() > 1 { format!("{}, ", words(&groups[group].0)) } else { String::new() };
            let span = format!("{} to {}", figure.x.text(from), figure.x.said(from + step));
            scene.tell(((left + right) / 2.0, top), group, format!("{of}{span}: {count}"));
            if *count > 0 {
                let rect = Rect { left: left + 0.5, right: right - 0.5, top, bottom: plot.bottom };
                if groups.len() == 1 {
                    scene.shapes.push(Shape::Box { rect, ink: look(4).ink });
                }
                obstacles.push(Obstacle::Area(rect));
            }
        }
        if let (true, Some(first), Some(last)) = (groups.len() > 1, outline.first().copied(), outline.last().copied()) {
            let look = look(group);
            let closed: Vec<Spot> = [(first.0, plot.bottom)].into_iter().chain(outline).chain([(last.0, plot.bottom)]).collect();
            scene.shapes.push(Shape::Veil { points: closed.clone(), ink: look.ink, opacity: 0.12 });
            scene.shapes.push(Shape::Line { points: closed, ink: look.ink, width: 2.0, dash: look.dash });
        }
    }
    print_base(plot.bottom, &plot, &mut scene);
    let marks: Vec<MarkLine> = figure
        .marks
        .iter()
        .filter(|mark| mark.axis == MarkedAxis::X && x.holds(mark.at))
        .map(|mark| MarkLine { course: Course::Upright, at_px: x.px(mark.at), label: label(mark, &figure.x) })
        .collect();
    draw_lines_on_bars(&marks, &plot, &mut scene);
    let on_x = figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X);
    obstacles.extend(marks.iter().map(|mark| mark.obstacle(&plot)));
    let mut labels = PlotLabels::new(&plot);
    labels.marks(&marks);
    labels.beyond(&beyond(on_x.map(|mark| (mark, &x, &figure.x))));
    labels.print(&[], &obstacles, &mut scene);
    if let Some(column) = &column {
        column.print(&plot, sheet.floor(), &mut scene);
    }
    sheet.print(&plot, &mut scene);
    Ok(scene)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_is_counted_once_and_steps_are_round() {
        let values: Vec<f64> = (0..500).map(|i| 30.0 + f64::from(i) * 0.02).collect();
        let (start, step, counts) = steps(&values);
        assert_eq!(counts.iter().sum::<usize>(), 500);
        assert!((start, step) == (30.0, 2.0), "{start} {step}");
        // The steps are even but for the last, which holds what is left.
        assert_eq!(counts, [100, 100, 100, 100, 100]);
    }

    #[test]
    fn groups_are_counted_in_the_same_steps() {
        let all: Vec<f64> = (0..500).map(|i| 30.0 + f64::from(i) * 0.02).collect();
        let (start, step, together) = steps(&all);
        assert_eq!(counts(&all, start, step, together.len()), together);
        let (low, high) = all.split_at(150);
        let (one, other) = (counts(low, start, step, 5), counts(high, start, step, 5));
        assert_eq!((one, other), (vec![100, 50, 0, 0, 0], vec![0, 50, 100, 100, 100]));
        let (start, step, _) = steps(&[5.0, 5.0, 5.0]);
        assert_eq!(counts(&[5.0, 5.0, f64::NAN], start, step, 1), [2]);
    }

    #[test]
    fn equal_values_are_one_step() {
        assert_eq!(steps(&[5.0, 5.0, 5.0]).2, [3]);
        assert_eq!(steps(&[0.0]).2, [1]);
    }
}
