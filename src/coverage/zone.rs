//! Which heads water the same bed: those that no valve keeps apart.

use crate::garden::Garden;
use crate::garden::walk::reached;
use crate::parts::{Id, Spec};

/// The middle of the heads downstream of the same valve as this one, m; none where fewer than two have a place.
///
/// Arcs without a `facing` point there: a head of another zone, which is closed, does not turn them.
pub fn middle_of_zone_m(garden: &Garden, head: usize) -> Option<(f64, f64)> {
    let layout = garden.layout();
    let joined = reached(garden, layout.places[head].to, |place, _| !garden.spec(place).traits.opens);
    let mates = garden.of_spec(Spec::throws).filter(|&place| joined[layout.places[place].to]);
    let at: Vec<(f64, f64)> =
        mates.filter_map(|place| garden.parts()[place].si(Id::X).zip(garden.parts()[place].si(Id::Y))).collect();
    let apart = at.iter().any(|other| *other != at[0]);
    let count = at.len() as f64;
    apart.then(|| (at.iter().map(|at| at.0).sum::<f64>() / count, at.iter().map(|at| at.1).sum::<f64>() / count))
}
