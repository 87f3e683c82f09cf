//! Symbols that stand in a heap are drawn side by side, each joined to its own place by a thin line.

use crate::figure::geometry::{Rect, Spot};
use crate::figure::palette::QUIET;
use crate::figure::scene::{Scene, Shape};
use crate::limits;

/// Symbols closer than this cover each other, px.
const APART: f64 = 24.0;
/// Symbols this much nearer than that do not cover each other yet.
const SLACK: f64 = 2.0;
/// Symbols moved less than this keep their own place.
const MOVED: f64 = 3.0;
/// Rounds in which everything is drawn back to its own place, then those in which nothing is, and then those in which what is firm gives
/// way to everything: a valve between heads that touch finds no room otherwise.
const ROUNDS: [usize; 3] = [120, 120, 400];
/// Share of the way back to its own place that a symbol goes in a round.
const BACK: f64 = 0.06;

/// Where symbols are drawn so that none covers another and none leaves `within`: as near to their own places as that allows. `toward` is
/// the way in which each leaves a place that it shares with others; what is `firm`, a head, gives way only to what is firm too.
pub(super) fn spread(own: &[Spot], toward: &[Spot], firm: &[bool], within: &Rect) -> Vec<Spot> {
    let own: Vec<Spot> = own.iter().map(|spot| within.nearest(*spot)).collect();
    let mut at = own.clone();
    let near = |a: Spot, b: Spot| (a.0 - b.0).hypot(a.1 - b.1) < APART;
    let in_heap: Vec<usize> =
        (0..own.len()).filter(|one| (0..own.len()).any(|other| other != *one && near(own[*one], own[other]))).collect();
    // What shares a place parts in the way of its line, and what has the same way by its turn.
    for (turn, place) in in_heap.iter().enumerate() {
        let (dx, dy) = toward[*place];
        let step = if firm[*place] { 0.0 } else { 0.5 * APART / dx.hypot(dy).max(1e-9) };
        let (sin, cos) = (2.4 * turn as f64).sin_cos();
        at[*place].0 += step * dx + 0.1 * cos;
        at[*place].1 += step * dy + 0.1 * sin;
    }
    if in_heap.is_empty() {
        return at;
    }
    for round in limits::while_going_on(0..ROUNDS.iter().sum::<usize>()) {
        let (drawn_back, held) = (round < ROUNDS[0], round < ROUNDS[0] + ROUNDS[1]);
        let mut moved = false;
        for one in 0..at.len() {
            for other in 0..one {
                let (dx, dy) = (at[one].0 - at[other].0, at[one].1 - at[other].1);
                let length = dx.hypot(dy);
                if length >= APART - 1e-6 {
                    continue;
                }
                moved = true;
                let (ux, uy) = if length > 1e-9 { (dx / length, dy / length) } else { (1.0, 0.0) };
                let push = APART - length + 2e-3;
                let share = if firm[one] == firm[other] || !held { 0.5 } else { f64::from(u8::from(firm[other])) };
                let (mine, its) = (share * push, (1.0 - share) * push);
                at[one] = within.nearest((at[one].0 + mine * ux, at[one].1 + mine * uy));
                at[other] = within.nearest((at[other].0 - its * ux, at[other].1 - its * uy));
            }
        }
        if drawn_back {
            for (now, own) in at.iter_mut().zip(&own) {
                *now = (now.0 + BACK * (own.0 - now.0), now.1 + BACK * (own.1 - now.1));
            }
        } else if !moved {
            break;
        }
    }
    at
}

/// Whether some symbols cover each other.
pub(super) fn is_crowded(at: &[Spot]) -> bool {
    let near = |a: &Spot, b: &Spot| (a.0 - b.0).hypot(a.1 - b.1) < APART - SLACK;
    at.iter().enumerate().any(|(index, one)| at[..index].iter().any(|other| near(one, other)))
}

/// Thin lines from the own places of symbols to where they are drawn.
pub(super) fn draw_threads(own: &[Spot], at: &[Spot], scene: &mut Scene) {
    for (own, at) in own.iter().zip(at).filter(|(own, at)| (own.0 - at.0).hypot(own.1 - at.1) > MOVED) {
        scene.line(vec![*own, *at], QUIET, 1.0);
        scene.shapes.push(Shape::Disc { center: *own, radius: 2.2, ink: QUIET });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SHEET: Rect = Rect { left: -100.0, top: -100.0, right: 600.0, bottom: 600.0 };

    fn closest(spots: &[Spot]) -> f64 {
        let pairs = (0..spots.len()).flat_map(|one| (0..one).map(move |other| (one, other)));
        pairs.map(|(a, b)| (spots[a].0 - spots[b].0).hypot(spots[a].1 - spots[b].1)).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn a_manifold_of_six_valves_at_one_place_becomes_six_symbols_around_it() {
        let ways = [(1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (-1.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
        let at = spread(&[(100.0, 100.0); 6], &ways, &[false; 6], &SHEET);
        assert!(closest(&at) > APART - 1.0, "{at:?}");
        for (spot, way) in at.iter().zip(ways) {
            let (dx, dy) = (spot.0 - 100.0, spot.1 - 100.0);
            assert!(dx.hypot(dy) < 60.0 && dx * way.0 + dy * way.1 > 0.0, "{spot:?} on the way {way:?}");
        }
    }

    #[test]
    fn a_head_stays_where_a_valve_stands_too() {
        let at = spread(&[(50.0, 50.0), (52.0, 50.0)], &[(1.0, 0.0); 2], &[false, true], &SHEET);
        assert!((at[1].0 - 52.0).hypot(at[1].1 - 50.0) < 3.0 && closest(&at) > APART - 1.0, "{at:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

        #[test]
        fn symbols_come_apart_and_those_that_stand_alone_stay(spots in prop::collection::vec((0.0f64..400.0, 0.0f64..400.0), 0..40)) {
            let at = spread(&spots, &vec![(1.0, 0.0); spots.len()], &vec![false; spots.len()], &SHEET);
            prop_assert!(!is_crowded(&at), "{}", closest(&at));
            if closest(&spots) > APART {
                prop_assert_eq!(at, spots);
            }
        }

        /// Heads and valves on a small sheet, of which they fill up to two fifths, many of them at its edge.
        #[test]
        fn symbols_come_apart_where_there_is_little_room_and_stay_on_the_sheet(
            things in prop::collection::vec((-40.0f64..360.0, -40.0f64..260.0, any::<bool>()), 0..65),
        ) {
            let sheet = Rect { left: 0.0, top: 0.0, right: 324.0, bottom: 230.0 };
            let spots: Vec<Spot> = things.iter().map(|(x, y, _)| (*x, *y)).collect();
            let firm: Vec<bool> = things.iter().map(|thing| thing.2).collect();
            let at = spread(&spots, &vec![(1.0, 0.0); spots.len()], &firm, &sheet);
            prop_assert!(!is_crowded(&at), "{}", closest(&at));
            prop_assert!(at.iter().all(|spot| sheet.holds(*spot)));
        }
    }
}
