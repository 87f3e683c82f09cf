//! How series are distinguished: color, dash and marker; and the quiet colors of everything else.
//!
//! The colors stay apart for the common color vision and for protanopia, deuteranopia and tritanopia: the test simulates them
//! and measures CIEDE2000 differences (`vision.rs`). All have enough contrast with white for lines.

use super::geometry::Spot;
use super::scene::{Ink, Scene, Shape};

pub(super) const PAPER: Ink = Ink(255, 255, 255);
pub(super) const INK: Ink = Ink(34, 40, 46);
pub(super) const QUIET: Ink = Ink(92, 100, 108);
pub(super) const GRID: Ink = Ink(228, 231, 235);
pub(super) const AXIS: Ink = Ink(150, 157, 165);
pub(super) const MARK: Ink = Ink(74, 74, 74);
pub(super) const MARK_PAPER: Ink = Ink(255, 250, 232);

const COLOURS: [Ink; 8] = [
    Ink(86, 2, 152),
    Ink(182, 144, 0),
    Ink(0, 90, 66),
    Ink(0, 163, 191),
    Ink(58, 78, 255),
    Ink(108, 0, 0),
    Ink(136, 127, 123),
    Ink(49, 50, 68),
];

/// Lengths of stroke and space in pixels.
const DASHES: [&[f64]; 4] = [&[], &[9.0, 4.0], &[2.5, 3.5], &[12.0, 3.5, 2.5, 3.5]];

/// This many series differ in color or dash.
pub(super) const MOST_SERIES: usize = 32;

/// Dash of each half of the colors, in each round through them.
const DASH_OF_ROUND: [[usize; 2]; 4] = [[0, 1], [2, 3], [1, 0], [3, 2]];

/// How one series looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Look {
    pub ink: Ink,
    /// The color for text, dark enough to read.
    pub text: Ink,
    pub dash: &'static [f64],
    pub marker: Marker,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Marker {
    Disc,
    Square,
    TriangleUp,
    Diamond,
    TriangleDown,
    Cross,
}

/// The look of the series at `index`; the first four have whole lines.
pub(super) fn look(index: usize) -> Look {
    const MARKERS: [Marker; 6] =
        [Marker::Disc, Marker::Square, Marker::TriangleUp, Marker::Diamond, Marker::TriangleDown, Marker::Cross];
    let ink = COLOURS[index % COLOURS.len()];
    let (round, half) = (index / COLOURS.len() % DASH_OF_ROUND.len(), index % COLOURS.len() / 4);
    let dash = DASHES[DASH_OF_ROUND[round][half]];
    Look { ink, text: readable(ink), dash, marker: MARKERS[index % MARKERS.len()] }
}

/// Draws a marker with a thin rim of paper, which keeps neighbors apart.
pub(super) fn draw_marker(scene: &mut Scene, marker: Marker, (x, y): Spot, radius: f64, ink: Ink) {
    // Small markers have no rim: it would eat their neighbors.
    let rim = (radius >= 3.0).then_some((1.0, PAPER));
    for (grow, ink) in rim.into_iter().chain([(0.0, ink)]) {
        let r = radius + grow;
        let corners = |spots: &[(f64, f64)]| spots.iter().map(|(dx, dy)| (x + r * dx, y + r * dy)).collect();
        let points: Vec<Spot> = match marker {
            Marker::Disc => {
                scene.shapes.push(Shape::Disc { center: (x, y), radius: r, ink });
                continue;
            }
            Marker::Square => corners(&[(-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88)]),
            Marker::TriangleUp => corners(&[(0.0, -1.25), (1.1, 0.8), (-1.1, 0.8)]),
            Marker::TriangleDown => corners(&[(0.0, 1.25), (1.1, -0.8), (-1.1, -0.8)]),
            Marker::Diamond => corners(&[(0.0, -1.3), (1.1, 0.0), (0.0, 1.3), (-1.1, 0.0)]),
            Marker::Cross => {
                let (a, b) = (0.38, 1.2);
                corners(&[
                    (-a, -b),
                    (a, -b),
                    (a, -a),
                    (b, -a),
                    (b, a),
                    (a, a),
                    (a, b),
                    (-a, b),
                    (-a, a),
                    (-b, a),
                    (-b, -a),
                    (-a, -a),
                ])
            }
        };
        scene.shapes.push(Shape::Area { points, ink });
    }
}

/// The color darkened until text in it has a contrast of 4.5 with white (WCAG 2.1, criterion 1.4.3).
fn readable(ink: Ink) -> Ink {
    let mut dark = ink;
    while contrast_with_white(dark) < 4.5 {
        let darker = |channel: u8| (f64::from(channel) * 0.96) as u8;
        dark = Ink(darker(dark.0), darker(dark.1), darker(dark.2));
    }
    dark
}

/// Contrast ratio by WCAG 2.1: (1 + 0.05) / (relative luminance + 0.05).
fn contrast_with_white(ink: Ink) -> f64 {
    1.05 / (luminance(ink) + 0.05)
}

/// Relative luminance by WCAG 2.1, 0 to 1.
pub(super) fn luminance(ink: Ink) -> f64 {
    let [red, green, blue] = linear_light(ink);
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Channels in linear light, 0 to 1 (sRGB, IEC 61966-2-1).
pub(super) fn linear_light(ink: Ink) -> [f64; 3] {
    [ink.0, ink.1, ink.2].map(|channel| {
        let share = f64::from(channel) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    })
}

#[cfg(test)]
mod tests {
    use super::super::vision::{VISIONS, difference, lab};
    use super::*;

    #[test]
    fn colors_stay_apart_for_every_color_vision() {
        let mut report = String::new();
        for (vision, matrix) in &VISIONS {
            for (a, one) in COLOURS.into_iter().enumerate() {
                for (b, other) in COLOURS.into_iter().enumerate().take(a) {
                    let apart = difference(lab(one, matrix), lab(other, matrix));
                    // The first four have nothing but their color in a figure of lines; later ones have a dash too.
                    let least = if a < 4 { 30.0 } else { 15.0 };
                    if apart < least {
                        report += &format!("{vision}: colors {b} and {a} are {apart:.1} apart, expected {least}\n");
                    }
                }
            }
        }
        assert!(report.is_empty(), "{report}");
    }

    #[test]
    fn every_color_can_be_seen_on_white() {
        for ink in COLOURS {
            assert!(contrast_with_white(ink) >= 3.0, "{ink:?} has {:.2}", contrast_with_white(ink));
            assert!(contrast_with_white(readable(ink)) >= 4.5);
        }
    }

    #[test]
    fn no_two_series_look_alike() {
        for a in 0..MOST_SERIES {
            for b in 0..a {
                assert!(look(a).ink != look(b).ink || look(a).dash != look(b).dash, "{b} and {a}");
            }
        }
    }
}
