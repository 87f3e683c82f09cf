//! The colours of a quantity that grows: dark for low, light for high, in even steps of lightness.
//!
//! Lightness carries the order, so it reads in grey and for colour-blind readers too (see the test).

use super::geometry::Rect;
use super::palette::{AXIS, INK, QUIET};
use super::scale::Scale;
use super::scene::{Anchor, Ink, Scene, Shape, TICK_SIZE, Text};
use super::text::{Weight, width};

/// Colours at even steps from low to high.
const STOPS: [Ink; 6] =
    [Ink(38, 30, 84), Ink(36, 74, 132), Ink(22, 116, 138), Ink(58, 157, 116), Ink(150, 190, 70), Ink(250, 216, 92)];
/// Height of the bar of colours.
const BAR: f64 = 11.0;
/// Height of a key with its numbers.
pub(super) const KEY_HEIGHT: f64 = 34.0;

/// The colour at a share from 0 to 1; shares beyond are taken as the ends.
pub(super) fn ramp(share: f64) -> Ink {
    let along = share.clamp(0.0, 1.0) * (STOPS.len() - 1) as f64;
    let index = (along as usize).min(STOPS.len() - 2);
    let (from, to, part) = (STOPS[index], STOPS[index + 1], along - index as f64);
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * part).round() as u8;
    Ink(mix(from.0, to.0), mix(from.1, to.1), mix(from.2, to.2))
}

/// Draws the key of the colours: title, bar and numbers, `width` pixels wide from the given upper left corner.
pub(super) fn draw_key(scene: &mut Scene, title: &str, scale: &Scale, (left, top): (f64, f64), key_width: f64) {
    let title_width = if title.is_empty() { 0.0 } else { width(title, TICK_SIZE, Weight::Regular) + 14.0 };
    scene.text(Text::new(title, (left, top + BAR - 1.0), TICK_SIZE, Anchor::Start, INK));
    let (start, end) = (left + title_width, left + key_width.max(title_width + 120.0));
    let steps = 60;
    for step in 0..steps {
        let at = |share: f64| start + (end - start) * share;
        let (from, to) = (f64::from(step) / f64::from(steps), f64::from(step + 1) / f64::from(steps));
        // Neighbours overlap a little, so that no paper shows between them.
        let rect = Rect { left: at(from), right: at(to) + if step + 1 < steps { 0.4 } else { 0.0 }, top, bottom: top + BAR };
        scene.shapes.push(Shape::Box { rect, ink: ramp((from + to) / 2.0) });
    }
    let placed = Scale { pixels: (start, end), ..*scale };
    for tick in placed.ticks((((end - start) / 60.0) as usize).max(2)) {
        let x = placed.px(tick.value);
        scene.line(vec![(x, top + BAR), (x, top + BAR + 4.0)], AXIS, 1.0);
        scene.text(Text::new(&tick.label, (x, top + BAR + 17.0), TICK_SIZE, Anchor::Middle, QUIET));
    }
}

#[cfg(test)]
mod tests {
    use super::super::palette::relative_luminance;
    use super::*;

    #[test]
    fn higher_values_are_always_lighter() {
        let lights: Vec<f64> = (0..=50).map(|step| relative_luminance(ramp(f64::from(step) / 50.0))).collect();
        assert!(lights.windows(2).all(|pair| pair[1] > pair[0]), "{lights:?}");
        assert!(lights[50] / lights[0] > 20.0);
    }

    #[test]
    fn shares_beyond_the_ends_have_the_colours_of_the_ends() {
        assert_eq!(ramp(-3.0), STOPS[0]);
        assert_eq!(ramp(7.0), STOPS[5]);
    }
}
