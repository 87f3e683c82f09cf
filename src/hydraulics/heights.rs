//! Heights: the climbs around every loop must add up to nothing, or water would run in a circle for ever.
//!
//! It looks at climbs alone; elevations of sources are not compared with them.

use crate::parts::{Id, Kind, Part, Placing};
use std::collections::VecDeque;
use std::sync::Arc;

/// Heights around a loop may differ by this much, m: rounding of conversions.
const CLOSES_TO_M: f64 = 1e-6;

/// The part through which a loop does not come back to its height, and by how many metres; nothing when all loops close.
///
/// `joints` are the nodes before and behind each part. Shut valves count like open ones: ground does not move with them.
pub(super) fn crooked(parts: &[Arc<Part>], joints: &[(usize, usize)], number_of_nodes: usize) -> Option<(usize, f64)> {
    if !parts.iter().any(|part| part.kind() == Kind::Climb) {
        return None;
    }
    let inline = |place: usize| parts[place].spec().placing == Placing::Inline;
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); number_of_nodes];
    for (place, &(from, to)) in joints.iter().enumerate().filter(|(place, _)| inline(*place)) {
        at_node[from].push(place);
        at_node[to].push(place);
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
                let (from, to) = joints[place];
                let rise = if parts[place].kind() == Kind::Climb { parts[place].value(Id::Height) } else { 0.0 };
                let (other, there) = if node == from { (to, here + rise) } else { (from, here - rise) };
                match height_m[other] {
                    None => {
                        height_m[other] = Some(there);
                        queue.push_back(other);
                    }
                    Some(known) if (known - there).abs() > CLOSES_TO_M => return Some((place, (known - there).abs())),
                    Some(_) => {}
                }
            }
        }
    }
    None
}
