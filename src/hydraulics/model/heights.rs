//! Elevations: the elevation changes around every loop must sum to zero, or water would run in a circle for ever.
//!
//! It looks at elevation changes alone; elevations of sources are not compared with them.

use crate::garden::walk::Walk;
use crate::garden::{Layout, Place};
use crate::hydraulics::tolerances::HEIGHTS_CLOSE_TO_M;
use crate::parts::{Id, Part, Placing};
use std::sync::Arc;

/// The part through which a loop does not come back to its height, and by how many meters; none when all loops close.
///
/// Closed valves count like open ones: ground does not move with them.
pub fn crooked(parts: &[Arc<Part>], layout: &Layout) -> Option<(usize, f64)> {
    if !layout.kinds().iter().any(|kind| kind.spec().has(Id::Height)) {
        return None;
    }
    let mut height_m = vec![0.0; layout.number_of_nodes];
    let mut walk = Walk::over(layout);
    for start in 0..layout.number_of_nodes {
        if !walk.has_seen(start) {
            for (passage, ()) in walk.from([start], |_| Some(())) {
                height_m[passage.to] = height_m[passage.from] + passage.way.sign() * parts[passage.place].rise_m();
            }
        }
    }
    // A part that the walk has taken is off by rounding at most.
    let off_m = |(place, joint): (usize, &Place)| {
        let is_inline = layout.spec(place).placing == Placing::Inline;
        is_inline.then(|| (place, (height_m[joint.from] + parts[place].rise_m() - height_m[joint.to]).abs()))
    };
    layout.places.iter().enumerate().filter_map(off_m).find(|(_, off_m)| *off_m > HEIGHTS_CLOSE_TO_M)
}
