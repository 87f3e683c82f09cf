//! The same figure on dark paper: grays with their lightness turned round, colors of data lifted, all in their hue.
//!
//! The colors of values (`ramp`) stay as they are, since their key and the pictures of a heat map stay too.

use super::palette::linear_light;
use super::ramp::is_of_values;
use super::scene::{Ink, Scene, Shape};

/// Lightness in Oklab that white paper gets.
const PAPER_LIGHTNESS: f64 = 0.2;
/// How strongly middle grays are lightened, so that quiet texts stay readable.
const BEND: f64 = 1.5;
/// Colors more colorful than this are of data. They differ in lightness too, so they are lifted in their order and not turned.
const COLORFUL: f64 = 0.06;
const LIFT: (f64, f64) = (0.33, 0.9);
const LIGHTEST: f64 = 0.95;

/// The color on dark paper.
pub(super) fn on_dark(ink: Ink) -> Ink {
    if is_of_values(ink) {
        return ink;
    }
    let [lightness, a, b] = oklab(ink);
    let light = match a.hypot(b) > COLORFUL {
        true => (LIFT.0 + LIFT.1 * lightness).min(LIGHTEST),
        false => 1.0 - (1.0 - PAPER_LIGHTNESS) * lightness.powf(BEND),
    };
    srgb([light, a, b])
}

/// The scene in the colors of dark paper.
pub(super) fn darkened(mut scene: Scene) -> Scene {
    for shape in &mut scene.shapes {
        if let Some(ink) = ink_of(shape) {
            *ink = on_dark(*ink);
        }
    }
    scene
}

/// The color of a shape; a picture has many.
fn ink_of(shape: &mut Shape) -> Option<&mut Ink> {
    match shape {
        Shape::Line { ink, .. }
        | Shape::Area { ink, .. }
        | Shape::Veil { ink, .. }
        | Shape::Disc { ink, .. }
        | Shape::Box { ink, .. } => Some(ink),
        Shape::Text(text) => Some(&mut text.ink),
        Shape::Picture { .. } => None,
    }
}

/// Lightness and the two axes of color of Oklab (Ottosson 2020, A perceptual color space for image processing).
fn oklab(ink: Ink) -> [f64; 3] {
    let [r, g, b] = linear_light(ink);
    let l = (0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b).cbrt();
    let m = (0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b).cbrt();
    let s = (0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b).cbrt();
    [
        0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
        1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
        0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
    ]
}

/// Back from Oklab; what no screen shows gets the nearest channels.
fn srgb([lightness, a, b]: [f64; 3]) -> Ink {
    let l = (lightness + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m = (lightness - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s = (lightness - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    let channels = [
        4.076_741_662_1 * l - 3.307_711_591_3 * m + 0.230_969_929_2 * s,
        -1.268_438_004_6 * l + 2.609_757_401_1 * m - 0.341_319_396_5 * s,
        -0.004_196_086_3 * l - 0.703_418_614_7 * m + 1.707_614_701_0 * s,
    ];
    // IEC 61966-2-1.
    let coded = |light: f64| if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
    let [r, g, b] = channels.map(|light| (255.0 * coded(light.clamp(0.0, 1.0))).round() as u8);
    Ink(r, g, b)
}

#[cfg(test)]
mod tests {
    use super::super::palette::{GRID, INK, MARK, MARK_PAPER, PAPER, QUIET, look, luminance};
    use super::super::ramp::ramp;
    use super::super::vision::{VISIONS, difference, lab};
    use super::*;

    fn contrast(one: Ink, other: Ink) -> f64 {
        let (a, b) = (luminance(one) + 0.05, luminance(other) + 0.05);
        a.max(b) / a.min(b)
    }

    #[test]
    fn colors_come_back_from_oklab() {
        for ink in [Ink(0, 0, 0), Ink(255, 255, 255), Ink(86, 2, 152), Ink(182, 144, 0), Ink(0, 163, 191)] {
            assert_eq!(srgb(oklab(ink)), ink);
        }
    }

    /// Contrast 4.5 for texts and 3 for what is drawn (WCAG 2.1, criteria 1.4.3 and 1.4.11).
    #[test]
    fn texts_can_be_read_and_lines_seen_on_dark_paper() {
        let paper = on_dark(PAPER);
        assert!(luminance(paper) < 0.02, "{paper:?}");
        for text in [INK, QUIET] {
            assert!(contrast(on_dark(text), paper) >= 4.5, "{text:?}: {:.2}", contrast(on_dark(text), paper));
        }
        assert!(contrast(on_dark(MARK), on_dark(MARK_PAPER)) >= 4.5);
        for index in 0..8 {
            let (ink, text) = (on_dark(look(index).ink), on_dark(look(index).text));
            assert!(contrast(ink, paper) >= 3.0, "{index}: {:.2}", contrast(ink, paper));
            assert!(contrast(text, paper) >= 4.5, "{index}: {:.2}", contrast(text, paper));
        }
        let grid = contrast(on_dark(GRID), paper);
        assert!((1.1..2.0).contains(&grid), "{grid}");
        assert_eq!(on_dark(ramp(0.37)), ramp(0.37));
    }

    #[test]
    fn the_first_colors_stay_apart_on_dark_paper_for_every_color_vision() {
        for (vision, matrix) in &VISIONS {
            for a in 0..4 {
                for b in 0..a {
                    let seen = |index: usize| lab(on_dark(look(index).ink), matrix);
                    let apart = difference(seen(a), seen(b));
                    assert!(apart >= 18.0, "{vision}: {b} and {a} are {apart:.1} apart");
                }
            }
        }
    }
}
