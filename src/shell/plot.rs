//! A figure as a small plot of characters, for the terminal; the file beside the script is the good one.
//!
//! One curve is drawn with half blocks, several with a letter each, bars with full blocks.

use crate::figure::{BarSeries, Figure, MarkedAxis, Plot, Series};
use crate::numeric::lowest_and_highest;
use crate::quantity::show_number_with;

/// Lines of the field of curves.
const LINES: usize = 11;
/// Columns of the field, where the terminal has them.
const MOST_COLUMNS: usize = 64;

/// The figure in at most `width` columns; empty where there is nothing to draw or no room.
pub fn plot(figure: &Figure, width: usize) -> String {
    let text = match &figure.plot {
        Plot::Curves { series, .. } => curves(figure, series, width).unwrap_or_default(),
        Plot::Bars { categories, series } => bars(figure, categories, series, width),
        Plot::Layers(layers) => {
            let series: Vec<Series> = layers.iter().map(|(_, series)| series.clone()).collect();
            curves(figure, &series, width).unwrap_or_default()
        }
        // Other kinds of figures are shown by their file alone.
        _ => String::new(),
    };
    text.lines().map(|line| line.chars().take(width).chain(['\n']).collect::<String>()).collect()
}

/// The smallest and the largest of finite numbers, apart.
fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = lowest_and_highest(values.filter(|value| value.is_finite()));
    match low <= high {
        false => None,
        true if low == high => Some((low - 0.5, high + 0.5)),
        true => Some((low, high)),
    }
}

fn label(axis: &crate::figure::Axis) -> String {
    let name = axis.label.replace('.', " ");
    axis.unit.as_ref().map_or(name.clone(), |unit| format!("{name} ({unit})"))
}

fn number(value: f64) -> String {
    show_number_with(value, 3)
}

fn curves(figure: &Figure, series: &[Series], width: usize) -> Option<String> {
    let points = || series.iter().flat_map(|series| &series.points);
    let marks = |axis: MarkedAxis| figure.marks.iter().filter(move |mark| mark.axis == axis).map(|mark| mark.at);
    let (x_low, x_high) = ends(points().map(|(x, _)| *x).chain(marks(MarkedAxis::X)))?;
    let (y_low, y_high) = ends(points().filter_map(|(_, y)| *y).chain(marks(MarkedAxis::Y)))?;
    let numbers = [number(y_high), number((y_high + y_low) / 2.0), number(y_low)];
    let margin = numbers.iter().map(|text| text.chars().count()).max().unwrap_or(0) + 1;
    let columns = width.checked_sub(margin + 2).filter(|columns| *columns >= 16)?.min(MOST_COLUMNS);
    let mut field = vec![vec![' '; columns]; LINES];
    let across = |x: f64| ((x - x_low) / (x_high - x_low) * (columns - 1) as f64).round() as usize;
    let half_down = |y: f64| ((y_high - y) / (y_high - y_low) * (2 * LINES - 1) as f64).round() as usize;
    for mark in &figure.marks {
        match mark.axis {
            MarkedAxis::Y => field[half_down(mark.at) / 2].iter_mut().for_each(|cell| *cell = '-'),
            MarkedAxis::X => field.iter_mut().for_each(|line| line[across(mark.at)] = ':'),
        }
    }
    for (index, one) in series.iter().enumerate() {
        let pen = if series.len() == 1 { None } else { Some((b'a' + (index % 26) as u8) as char) };
        for (column, half) in trace(one, columns, &across, &half_down) {
            let cell = &mut field[half / 2][column];
            *cell = match (pen, *cell, half % 2) {
                (Some(letter), _, _) => letter,
                (None, '▄', 0) | (None, '▀', 1) | (None, '█', _) => '█',
                (None, _, 0) => '▀',
                (None, _, _) => '▄',
            };
        }
    }
    let mut text = format!("{:margin$}{}\n", "", label(&figure.y));
    for (at, line) in field.iter().enumerate() {
        let side = match at {
            0 => numbers[0].as_str(),
            at if at == LINES / 2 => numbers[1].as_str(),
            at if at == LINES - 1 => numbers[2].as_str(),
            _ => "",
        };
        let line: String = line.iter().collect();
        text += &format!("{side:>width$} |{}\n", line.trim_end(), width = margin - 1);
    }
    text += &format!("{:margin$}+{}\n", "", "-".repeat(columns));
    let (left, right) = (number(x_low), number(x_high));
    let middle = label(&figure.x);
    let room = columns.saturating_sub(left.chars().count() + right.chars().count());
    text += &format!(
        "{:margin$} {left}{}{right}\n",
        "",
        if middle.chars().count() + 2 <= room { format!("{middle:^room$}") } else { " ".repeat(room) }
    );
    text += &legend(figure, series, margin);
    Some(text)
}

/// Which letter is which, and what the marks are.
fn legend(figure: &Figure, series: &[Series], margin: usize) -> String {
    let mut text = String::new();
    if series.len() > 1 {
        for (index, one) in series.iter().enumerate() {
            text += &format!("{:margin$} {}  {}\n", "", (b'a' + (index % 26) as u8) as char, one.name);
        }
    }
    for mark in &figure.marks {
        let line = if mark.axis == MarkedAxis::Y { '-' } else { ':' };
        text += &format!("{:margin$} {line}  {} {}\n", "", mark.label, number(mark.at));
    }
    text
}

/// The cells that a curve passes, column by column, joined by straight lines.
fn trace(
    series: &Series,
    columns: usize,
    across: &dyn Fn(f64) -> usize,
    half_down: &dyn Fn(f64) -> usize,
) -> Vec<(usize, usize)> {
    let mut cells = Vec::new();
    let mut last: Option<(usize, f64)> = None;
    for (x, y) in &series.points {
        let Some(y) = y.filter(|y| y.is_finite() && x.is_finite()) else {
            last = None;
            continue;
        };
        let column = across(*x).min(columns - 1);
        let (from, from_y) = last.unwrap_or((column, y));
        for at in from.min(column)..=from.max(column) {
            let part = if column == from { 1.0 } else { (at as f64 - from as f64) / (column as f64 - from as f64) };
            cells.push((at, half_down(from_y + (y - from_y) * part)));
        }
        last = Some((column, y));
    }
    cells
}

fn bars(figure: &Figure, categories: &[String], series: &[BarSeries], width: usize) -> String {
    let values = || series.iter().flat_map(|one| one.values.iter().flatten().copied());
    let Some((_, high)) = ends(values().map(f64::abs)) else { return String::new() };
    let name = |category: &str, one: &BarSeries| {
        if series.len() > 1 { format!("{category}, {}", one.name) } else { category.to_string() }
    };
    let names = categories.iter().flat_map(|category| series.iter().map(move |one| name(category, one)));
    let margin = names.map(|name| name.chars().count()).max().unwrap_or(0).min(width / 3);
    let room = width.saturating_sub(margin + 14).min(MOST_COLUMNS);
    if room < 8 {
        return String::new();
    }
    let mut text = format!("{:margin$}  {}\n", "", label(&figure.y));
    for (at, category) in categories.iter().enumerate() {
        for one in series {
            let short: String = name(category, one).chars().take(margin).collect();
            let value = one.values.get(at).copied().flatten();
            let halves = value.map_or(0, |value| (value.abs() / high * 2.0 * room as f64).round() as usize);
            let bar = format!("{}{}", "█".repeat(halves / 2), if halves % 2 == 1 { "▌" } else { "" });
            text += &format!("{short:<margin$}  {bar} {}\n", value.map_or("-".into(), number));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{Axis, CurveStyle};

    fn line(series: Vec<Series>) -> Figure {
        let (x, y) = (Axis::new("feed.length").unit("ft"), Axis::new("berry.pressure").unit("psi"));
        Figure::curves(x, y, CurveStyle::Lines, series).marked(MarkedAxis::Y, 30.0, "stalls below")
    }

    #[test]
    fn one_curve_is_drawn_with_half_blocks() {
        insta::assert_snapshot!(plot(&line(vec![Series::new("p", [(0.0, 45.0), (100.0, 38.0), (300.0, 25.0)])]), 60));
    }

    #[test]
    fn several_curves_have_letters_and_bars_have_blocks() {
        let two = vec![Series::new("narrow", [(0.0, 45.0), (300.0, 20.0)]), Series::new("wide", [(0.0, 46.0), (300.0, 40.0)])];
        let bars = Figure::bars(
            Axis::new("pump"),
            Axis::new("price").unit("$"),
            vec!["small".into(), "large".into()],
            vec![BarSeries::new("price", [90.0, 210.0])],
        );
        insta::assert_snapshot!(format!("{}\n{}", plot(&line(two), 50), plot(&bars, 50)));
    }

    #[test]
    fn what_cannot_be_drawn_is_left_out() {
        assert_eq!(plot(&line(vec![Series::new("p", [(0.0, 1.0)])]), 10), "");
        assert_eq!(plot(&line(vec![Series::new("p", [(f64::NAN, f64::NAN)])]).clone(), 10), "");
        for width in 0..80 {
            let text = plot(&line(vec![Series::new("p", [(1.0, 30.0)])]), width);
            assert!(text.lines().all(|line| line.chars().count() <= width.max(1)), "{width}: {text}");
        }
    }
}
