//! Settings that can be bought and set: in the steps of a switch's scale, cut-in and cut-out no further apart than switches go.

use super::bounds::Bound;
use super::scale::{Suggestion, scale};
use super::window::{Window, preference};
use crate::findings::limits::{AT_LIMIT, GAUGE_MARGIN};
use crate::quantity::PSI_PA;

#[derive(Clone, Copy)]
struct Pair {
    cut_in_pa: f64,
    cut_out_pa: f64,
}

/// The lowest cut-in that keeps all margins, so that the garden is quiet at rest and a tank gives much water between two starts,
/// and with it a cut-out in the middle of what is left. Where no setting keeps them all, that which keeps most of them.
///
/// A cut-in near the pressure at rest leaves open whether the pump starts: one that lies clear below it comes
/// first, then one a little below, then one clear above.
pub fn suggestion(window: &Window) -> Option<Suggestion> {
    let found = |pair: Pair, keeps_margins: bool| {
        let (cut_in, cut_out) = (window.pressure(pair.cut_in_pa), window.pressure(pair.cut_out_pa));
        Suggestion { cut_in, cut_out, keeps_margins }
    };
    let pairs = pairs(window);
    let kept = |pair: &Pair| window.bounds.iter().map(|bound| share(bound, pair)).fold(f64::INFINITY, f64::min);
    let sound: Vec<Pair> = pairs.iter().copied().filter(|pair| kept(pair) >= 1.0 - AT_LIMIT).collect();
    if let Some(pair) = quietest(window, &sound) {
        return Some(found(pair, true));
    }
    // Of equals the last is taken, which is the lowest when they come from above.
    let works = pairs.into_iter().rev().filter(|pair| kept(pair) > 0.0);
    let best = works.max_by(|a, b| kept(a).total_cmp(&kept(b)))?;
    Some(found(best, false))
}

/// The share of a margin that is kept; more than all of it is not better.
fn share(bound: &Bound, pair: &Pair) -> f64 {
    bound.kept_share(pair.cut_in_pa, pair.cut_out_pa).min(1.0)
}

/// All pairs on the scale between no pressure and the highest bound, the lowest cut-in first.
fn pairs(window: &Window) -> Vec<Pair> {
    let step_pa = scale(preference(&window.garden, window.switch)).step_pa;
    let Some(highest_pa) = window.lowest_ceiling().map(|bound| bound.limit_pa).filter(|pa| pa.is_finite()) else {
        return Vec::new();
    };
    /// No scale has more steps.
    const MOST_STEPS: f64 = 1000.0;
    let steps = (highest_pa / step_pa).floor().clamp(0.0, MOST_STEPS) as u32;
    let of = |n: u32| f64::from(n) * step_pa;
    let apart = window.differential_pa * (1.0 - AT_LIMIT)..=window.widest_pa * (1.0 + AT_LIMIT);
    let both = |low: u32| (low + 1..=steps).map(move |high| Pair { cut_in_pa: of(low), cut_out_pa: of(high) });
    (1..=steps).flat_map(both).filter(|pair| apart.contains(&(pair.cut_out_pa - pair.cut_in_pa))).collect()
}

fn quietest(window: &Window, pairs: &[Pair]) -> Option<Pair> {
    // A hair less than the margin will do: both lie on round numbers.
    let (rest_pa, clear_pa) = (window.rest_pa, 0.99 * GAUGE_MARGIN.of(&window.garden));
    let places = [
        f64::NEG_INFINITY..=rest_pa - clear_pa,
        f64::NEG_INFINITY..=rest_pa - 0.99 * PSI_PA,
        rest_pa + clear_pa..=f64::INFINITY,
        f64::NEG_INFINITY..=f64::INFINITY,
    ];
    let first = |place: &std::ops::RangeInclusive<f64>| {
        pairs.iter().find(|pair| place.contains(&pair.cut_in_pa)).map(|pair| pair.cut_in_pa)
    };
    let cut_in_pa = places.iter().find_map(first)?;
    let stops: Vec<f64> = pairs.iter().filter(|pair| pair.cut_in_pa == cut_in_pa).map(|pair| pair.cut_out_pa).collect();
    // The lower of two in the middle leaves more to a main that falls.
    Some(Pair { cut_in_pa, cut_out_pa: stops[(stops.len() - 1) / 2] })
}
