//! Heights: the climbs around every loop must add up to nothing, or water would run in a circle for ever.
//!
//! It looks at climbs alone; elevations of sources are not compared with them.

use crate::garden::Layout;
use crate::hydraulics::tolerances::HEIGHTS_CLOSE_TO_M;
use crate::parts::{Id, Part, Placing};
use std::collections::VecDeque;
use std::sync::Arc;

/// The part through which a loop does not come back to its height, and by how many metres; nothing when all loops close.
///
/// Shut valves count like open ones: ground does not move with them.
pub fn crooked(parts: &[Arc<Part>], layout: &Layout) -> Option<(usize, f64)> {
    if !layout.kinds().iter().any(|kind| kind.spec().has(Id::Height)) {
        return None;
    }
    let number_of_nodes = layout.number_of_nodes;
    let inline = |place: usize| layout.spec(place).placing == Placing::Inline;
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); number_of_nodes];
    for (place, joint) in layout.places.iter().enumerate().filter(|(place, _)| inline(*place)) {
        at_node[joint.from].push(place);
        at_node[joint.to].push(place);
    }
    let mut height_m: Vec<Option<f64>> = vec![None; number_of_nodes];
    for start in 0..number_of_nodes {
        if height_m[start].is_some() {
            continue;
        }
        height_m[start] = Some(0.0);
        let mut queue = VecDeque::from([start]);
        while let Some(node) = queue.pop_front() {
            let here = height_m[node].unwrap_or(0.0);
            for &place in &at_node[node] {
                let (from, to) = (layout.places[place].from, layout.places[place].to);
                let rise = parts[place].rise_m();
                let (other, there) = if node == from { (to, here + rise) } else { (from, here - rise) };
                match height_m[other] {
                    None => {
                        height_m[other] = Some(there);
                        queue.push_back(other);
                    }
                    Some(known) if (known - there).abs() > HEIGHTS_CLOSE_TO_M => return Some((place, (known - there).abs())),
                    Some(_) => {}
                }
            }
        }
    }
    None
}
