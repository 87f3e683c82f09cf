//! Names of single points, each where it covers least.

use super::description::Callout;
use super::geometry::Rect;
use super::labels::{Obstacle, emptiest};
use super::palette::INK;
use super::scale::Scale;
use super::scene::{Anchor, Scene, TICK_SIZE, Text};
use super::text::{Weight, tidy, width};

const HEIGHT: f64 = 16.0;

/// Prints the names; returns what they cover.
pub(super) fn print(
    callouts: &[Callout],
    x: &Scale,
    y: &Scale,
    lines: &[Obstacle],
    plot: &Rect,
    scene: &mut Scene,
) -> Vec<Obstacle> {
    let mut taken: Vec<Obstacle> = Vec::new();
    for callout in callouts.iter().filter(|callout| x.holds(callout.at.0) && y.holds(callout.at.1)) {
        let (px, py) = (x.px(callout.at.0), y.px(callout.at.1));
        let label = tidy(&callout.label);
        let wide = width(&label, TICK_SIZE, Weight::Regular);
        let boxed = |left: f64, top: f64| Rect { left, top, right: left + wide, bottom: top + HEIGHT };
        let candidates: Vec<Rect> = [7.0, 14.0, 24.0, 36.0]
            .into_iter()
            .flat_map(|away| {
                let (above, below) = (py - away - HEIGHT, py + away);
                [
                    boxed(px + away, above + 4.0),
                    boxed(px - wide / 2.0, above),
                    boxed(px + away, py - HEIGHT / 2.0),
                    boxed(px - wide / 2.0, below),
                    boxed(px + away, below - 4.0),
                    boxed(px - away - wide, above + 4.0),
                    boxed(px - away - wide, below - 4.0),
                    boxed(px - away - wide, py - HEIGHT / 2.0),
                ]
            })
            .filter(|rect| plot.holds((rect.left, rect.top)) && plot.holds((rect.right, rect.bottom)))
            .collect();
        let all: Vec<Obstacle> = lines.iter().chain(&taken).copied().collect();
        let Some(rect) = emptiest(&candidates, &all).map(|best| candidates[best]) else { continue };
        scene.text(Text::new(label, (rect.left, rect.bottom - 4.0), TICK_SIZE, Anchor::Start, INK));
        taken.extend([Obstacle::Area(rect); 3]);
    }
    taken
}
