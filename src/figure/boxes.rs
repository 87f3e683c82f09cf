//! Boxes: from the lower to the upper quartile with the median, and whiskers to the least and greatest value.

use super::curves::counted;
use super::description::{BoxRow, Figure, MarkedAxis, drawable};
use super::error::FigureError;
use super::geometry::Rect;
use super::in_words;
use super::labels::Obstacle;
use super::palette::{INK, PAPER, look};
use super::rows::Rows;
use super::scale::{Fit, Scale, choose_range};
use super::scene::{Scene, Shape};
use crate::limits::{self, Ended, while_going_on};

/// A box is not drawn higher than this.
const HIGHEST: f64 = 44.0;

/// Least, lower quartile, median, upper quartile and greatest of rising values.
///
/// Quartiles lie between neighbors in proportion: the value at (n - 1) p counted from zero (Hyndman and Fan 1996, type 7).
pub(super) fn five_numbers(rising: &[f64]) -> [f64; 5] {
    [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| {
        let at = share * (rising.len() - 1) as f64;
        let (below, above) = (rising[at.floor() as usize], rising[at.ceil() as usize]);
        below + (above - below) * at.fract()
    })
}

/// Composes the figure. Errors: no value can be drawn.
pub(super) fn compose(figure: &Figure, boxes: &[BoxRow]) -> Result<Scene, FigureError> {
    let sorted = |values: &[f64]| limits::sorted(while_going_on(values).copied().filter_map(drawable).collect(), f64::total_cmp);
    let count: usize = boxes.iter().map(|row| row.values.len()).sum();
    let groups: Vec<(&String, Vec<f64>)> =
        boxes.iter().map(|row| Ok((&row.name, sorted(&row.values)?))).collect::<Result<_, Ended>>()?;
    let known: Vec<f64> = while_going_on(groups.iter().flat_map(|(_, values)| values.iter().copied())).collect();
    if known.is_empty() {
        return Err(FigureError::NothingToDraw { values: count });
    }
    let all: Vec<f64> = while_going_on(&known).copied().chain(figure.marks.iter().map(|mark| mark.at)).collect();
    let (low, high) = choose_range(&all, &figure.x, Fit::Rounded, 8);
    let scale = Scale { kind: figure.x.scale, low, high, pixels: (0.0, 1.0) };
    let notes: Vec<String> =
        std::iter::once("boxes: middle half of the values; line: median; whiskers: lowest and highest".to_string())
            .chain(counted(count - known.len(), "missing value is", "missing values are", "left out"))
            .collect();
    let names: Vec<String> = groups.iter().map(|(name, values)| format!("{name} ({})", values.len())).collect();
    let mut rows = Rows::new(figure, &names, scale, &notes, describe(figure, &groups), None);
    let mut obstacles = Vec::new();
    for (row, (of, values)) in groups.iter().enumerate() {
        if values.is_empty() {
            continue;
        }
        let y = rows.middle(row);
        let [least, lower, median, upper, greatest] = five_numbers(values).map(|value| rows.px(value));
        let half = (0.3 * rows.height).min(HIGHEST / 2.0);
        let rect = Rect { left: lower, right: upper.max(lower + 1.0), top: y - half, bottom: y + half };
        rows.scene.line(vec![(least, y), (greatest, y)], INK, 1.4);
        for end in [least, greatest] {
            rows.scene.line(vec![(end, y - 0.5 * half), (end, y + 0.5 * half)], INK, 1.4);
        }
        rows.scene.shapes.push(Shape::Box { rect, ink: look(boxes[row].color).ink });
        rows.scene.line(vec![(median, y - half), (median, y + half)], PAPER, 5.0);
        rows.scene.line(vec![(median, y - half), (median, y + half)], INK, 2.4);
        let names = ["lowest", "lower quartile", "median", "upper quartile", "highest"];
        for (name, value) in names.into_iter().zip(five_numbers(values)) {
            rows.scene.tell((rows.px(value), y), row, format!("{of}, {name}: {}", figure.x.said(value)));
        }
        obstacles.push(Obstacle::Area(Rect { left: least, right: greatest, ..rect }));
    }
    Ok(rows.finish(figure, Vec::new(), obstacles))
}

fn describe(figure: &Figure, groups: &[(&String, Vec<f64>)]) -> String {
    let mut text = format!("{}: lowest, lower quartile, median, upper quartile, highest.", figure.x.title());
    for (name, values) in groups.iter().filter(|(_, values)| !values.is_empty()) {
        let numbers: Vec<String> = five_numbers(values).iter().map(|value| figure.x.text(*value)).collect();
        text += &format!(" {name}: {}.", numbers.join(", "));
    }
    text += &in_words::marks(figure, MarkedAxis::X, &[]);
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quartiles of type 7 by hand: of 1..=5 they are 2, 3, 4; of 1..=4 they are 1.75, 2.5, 3.25.
    #[test]
    fn five_numbers_of_small_samples_are_those_made_by_hand() {
        assert_eq!(five_numbers(&[1.0, 2.0, 3.0, 4.0, 5.0]), [1.0, 2.0, 3.0, 4.0, 5.0]);
        assert_eq!(five_numbers(&[1.0, 2.0, 3.0, 4.0]), [1.0, 1.75, 2.5, 3.25, 4.0]);
        assert_eq!(five_numbers(&[7.0]), [7.0; 5]);
    }
}
