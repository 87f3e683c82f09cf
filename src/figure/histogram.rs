//! Histograms: how often values fall into even steps, with steps that are round numbers.

use super::curves::counted;
use super::description::{Figure, MarkedAxis, drawable};
use super::error::FigureError;
use super::frame::{Sheet, level_ticks, print_base, print_level, print_upright, tick_width, upright_count};
use super::geometry::Rect;
use super::labels::Obstacle;
use super::marks::{Course, MarkLine, draw_lines_on_bars, label, print_labels};
use super::palette::look;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Scene, Shape};
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

/// The next of 1, 2, 2.5 and 5 times a power of ten.
fn round_up(width: f64) -> f64 {
    let power = 10f64.powf(width.log10().floor());
    [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|step| step * power).find(|step| *step >= width * (1.0 - 1e-9)).unwrap_or(width)
}

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, values: &[f64]) -> Result<Scene, FigureError> {
    let known: Vec<f64> = while_going_on(values).copied().filter_map(drawable).collect();
    if known.is_empty() {
        return Err(FigureError::NothingToDraw { values: values.len() });
    }
    let known = limits::sorted(known, f64::total_cmp)?;
    let (start, step, counts) = steps(&known);
    let end = start + step * counts.len() as f64;
    let at_marks = || figure.marks.iter().filter(|mark| mark.axis == MarkedAxis::X).map(|mark| mark.at);
    let (low, high) =
        figure.x.range.unwrap_or((at_marks().fold(start, f64::min) - 0.3 * step, at_marks().fold(end, f64::max) + 0.3 * step));
    let mut x = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let most = counts.iter().copied().max().unwrap_or(1) as f64;
    let (y_low, y_high) = choose_range(&[0.0, most], &figure.y, Fit::Rounded, 6);
    let mut y = Scale { kind: figure.y.scale, low: y_low, high: y_high, pixels: (1.0, 0.0) };
    let notes: Vec<String> =
        counted(values.len() - known.len(), "missing value is", "missing values are", "left out").into_iter().collect();
    let sheet = Sheet::new(figure, &figure.y.title(), &figure.x.title(), &notes);
    let (top, bottom) = (sheet.top(), sheet.bottom(1));
    let ticks = y.ticks(upright_count(bottom - top));
    let plot = Rect { left: sheet.left(tick_width(&ticks)), top, right: sheet.right(8.0), bottom };
    (x.pixels, y.pixels) = ((plot.left, plot.right), (plot.bottom, plot.top));
    let description = format!(
        "{}: {} values from {} to {}, in steps of {}.",
        figure.x.title(),
        known.len(),
        figure.x.text(known[0]),
        figure.x.text(known[known.len() - 1]),
        number(step, 4)
    );
    let mut scene = sheet.scene(figure, description);
    print_upright(&y, &ticks, &plot, &mut scene);
    print_level(&x, &level_ticks(&x), &plot, &mut scene);
    let mut obstacles = Vec::new();
    for (index, count) in counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        let from = start + step * index as f64;
        let rect = Rect { left: x.px(from) + 0.5, right: x.px(from + step) - 0.5, top: y.px(*count as f64), bottom: plot.bottom };
        if rect.left < plot.left - 1.0 || rect.right > plot.right + 1.0 {
            continue;
        }
        scene.shapes.push(Shape::Box { rect, ink: look(4).ink });
        obstacles.push(Obstacle::Area(rect));
    }
    print_base(plot.bottom, &plot, &mut scene);
    let marks: Vec<MarkLine> = figure
        .marks
        .iter()
        .filter(|mark| mark.axis == MarkedAxis::X && x.holds(mark.at))
        .map(|mark| MarkLine { course: Course::Upright, at_px: x.px(mark.at), label: label(mark, &figure.x) })
        .collect();
    draw_lines_on_bars(&marks, &plot, &mut scene);
    print_labels(&marks, obstacles, &plot, &mut scene);
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
    fn equal_values_are_one_step() {
        assert_eq!(steps(&[5.0, 5.0, 5.0]).2, [3]);
        assert_eq!(steps(&[0.0]).2, [1]);
    }
}
