//! The colors of a quantity that grows: sand for low (dry), blue for high (wet), in even steps to the eye.
//!
//! Lightness carries the order, so it reads without colors and with every color vision too (see the tests).

use super::frame::level_ticks;
use super::geometry::Rect;
use super::palette::{AXIS, INK, QUIET};
use super::scale::Scale;
use super::scene::{Anchor, Ink, Scene, Shape, TICK_SIZE, Text};
use super::text::{Weight, width};

/// Colors at even steps from low to high: the map "lapaz" of the Scientific colour maps (Crameri 2018, doi:10.5281/zenodo.1243862,
/// MIT license, see NOTICE), reversed, from share 0.11 to 0.90 of its length. Between the steps the mix is within 0.6 of 255 of the map.
const STOPS: [Ink; 24] = [
    Ink(239, 211, 192),
    Ink(227, 199, 177),
    Ink(212, 189, 163),
    Ink(196, 179, 154),
    Ink(181, 173, 150),
    Ink(167, 168, 149),
    Ink(154, 164, 151),
    Ink(142, 161, 153),
    Ink(130, 157, 156),
    Ink(118, 153, 159),
    Ink(106, 148, 161),
    Ink(95, 142, 163),
    Ink(85, 136, 164),
    Ink(76, 128, 163),
    Ink(68, 121, 162),
    Ink(61, 113, 160),
    Ink(55, 105, 157),
    Ink(50, 96, 154),
    Ink(47, 88, 150),
    Ink(43, 79, 145),
    Ink(41, 70, 140),
    Ink(38, 61, 134),
    Ink(36, 52, 128),
    Ink(34, 43, 121),
];
/// Height of the bar of colors.
const BAR: f64 = 11.0;
/// Height of a key with its numbers.
pub(super) const KEY_HEIGHT: f64 = 34.0;

/// The color at a share from 0 to 1; shares beyond the ends have the colors of the ends.
pub(super) fn ramp(share: f64) -> Ink {
    let along = share.clamp(0.0, 1.0) * (STOPS.len() - 1) as f64;
    let index = (along as usize).min(STOPS.len() - 2);
    let (from, to, part) = (STOPS[index], STOPS[index + 1], along - index as f64);
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * part).round() as u8;
    Ink(mix(from.0, to.0), mix(from.1, to.1), mix(from.2, to.2))
}

/// Whether a color is one of those that [`ramp`] gives.
pub(super) fn is_of_values(ink: Ink) -> bool {
    let between = |(from, to): (&Ink, &Ink)| {
        // Red falls from stop to stop, so it says where between two a color lies, but coarsely toward the end.
        let part = f64::from(from.0.saturating_sub(ink.0)) / f64::from(from.0 - to.0).max(1.0);
        let near = |a: u8, b: u8, c: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * part - f64::from(c)).abs() <= 5.0;
        (to.0..=from.0).contains(&ink.0) && near(from.1, to.1, ink.1) && near(from.2, to.2, ink.2)
    };
    STOPS.iter().zip(&STOPS[1..]).any(between)
}

/// Draws the key of the colors: title, bar and numbers, `width` pixels wide from the given upper left corner.
pub(super) fn draw_key(scene: &mut Scene, title: &str, scale: &Scale, (left, top): (f64, f64), key_width: f64) {
    let title_width = if title.is_empty() { 0.0 } else { width(title, TICK_SIZE, Weight::Regular) + 14.0 };
    scene.text(Text::new(title, (left, top + BAR - 1.0), TICK_SIZE, Anchor::Start, INK));
    let (start, end) = (left + title_width, left + key_width.max(title_width + 120.0));
    let steps = 60;
    for step in 0..steps {
        let at = |share: f64| start + (end - start) * share;
        let (from, to) = (f64::from(step) / f64::from(steps), f64::from(step + 1) / f64::from(steps));
        // Neighbors overlap a little, so that no paper shows between them.
        let rect = Rect { left: at(from), right: at(to) + if step + 1 < steps { 0.4 } else { 0.0 }, top, bottom: top + BAR };
        scene.shapes.push(Shape::Box { rect, ink: ramp((from + to) / 2.0) });
    }
    let placed = Scale { pixels: (start, end), ..*scale };
    let mut ticks = placed.ticks((((end - start) / 60.0) as usize).max(2));
    if ticks.len() < 2 {
        // One number alone does not say how far the colors reach.
        ticks = level_ticks(&placed);
    }
    for tick in ticks {
        let x = placed.px(tick.value);
        scene.line(vec![(x, top + BAR), (x, top + BAR + 4.0)], AXIS, 1.0);
        scene.text(Text::new(&tick.label, (x, top + BAR + 17.0), TICK_SIZE, Anchor::Middle, QUIET));
    }
}

#[cfg(test)]
mod tests {
    use super::super::axis::AxisScale;
    use super::super::vision::{VISIONS, difference, lab};
    use super::*;

    #[test]
    fn higher_values_are_always_darker_for_every_color_vision() {
        for (vision, matrix) in &VISIONS {
            let lightness: Vec<f64> = (0..=100).map(|step| lab(ramp(f64::from(step) / 100.0), matrix)[0]).collect();
            assert!(lightness.windows(2).all(|pair| pair[1] < pair[0]), "{vision}: {lightness:?}");
            assert!(lightness[0] - lightness[100] > 55.0, "{vision}: {lightness:?}");
        }
    }

    #[test]
    fn a_key_has_at_least_two_numbers() {
        for (low, high) in [(2.06, 3.06), (2.1, 2.4), (0.0, 100.0), (31.3, 39.9), (0.49, 0.52)] {
            let scale = Scale { kind: AxisScale::Linear, low, high, pixels: (0.0, 1.0) };
            let mut scene = Scene::new((360, 60), String::new(), String::new(), Vec::new());
            draw_key(&mut scene, "application rate (mm/h)", &scale, (16.0, 10.0), 328.0);
            let texts = scene.shapes.iter().filter(|shape| matches!(shape, Shape::Text(_))).count();
            assert!(texts > 2, "{low} to {high}: {texts}");
        }
    }

    #[test]
    fn equal_steps_look_alike() {
        let colors: Vec<[f64; 3]> = (0..=25).map(|step| lab(ramp(f64::from(step) / 25.0), &VISIONS[0].1)).collect();
        let steps: Vec<f64> = colors.windows(2).map(|pair| difference(pair[0], pair[1])).collect();
        let (least, most) = steps.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), step| (low.min(*step), high.max(*step)));
        assert!(most < 2.0 * least, "{least} to {most}");
    }

    #[test]
    fn low_is_sand_and_high_is_blue() {
        let (Ink(red, green, blue), Ink(deep_red, deep_green, deep_blue)) = (ramp(0.0), ramp(1.0));
        assert!(red > green && green > blue && blue > 150, "sand");
        assert!(deep_blue > 2 * deep_green && deep_blue > 2 * deep_red, "blue");
    }

    #[test]
    fn the_colors_of_values_are_known_from_others() {
        assert!((0..=500).all(|step| is_of_values(ramp(f64::from(step) / 500.0))));
        for other in [INK, QUIET, AXIS, super::super::palette::PAPER] {
            assert!(!is_of_values(other), "{other:?}");
        }
    }

    #[test]
    fn shares_beyond_the_ends_have_the_colors_of_the_ends() {
        assert_eq!(ramp(-3.0), STOPS[0]);
        assert_eq!(ramp(7.0), STOPS[STOPS.len() - 1]);
    }
}
