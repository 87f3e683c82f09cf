//! What differs between two gardens: parts added, removed or replaced, and parameters before and after.

use super::Garden;
use crate::parts::Part;
use crate::quantity::{UnitSystem, dim};
use std::collections::BTreeSet;

/// One difference between two gardens, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Name of the part; none for the garden as a whole.
    pub part: Option<String>,
    /// What happened to it: added, removed, replaced, changed or moved.
    pub what: &'static str,
    /// The parameter; none for a part as a whole.
    pub parameter: Option<&'static str>,
    /// What was there before.
    pub before: Option<String>,
    /// What is there after.
    pub after: Option<String>,
}

/// The differences from one garden to another, by the names of their parts, in the order of the first and then of what is new.
///
/// A part is called moved where its neighbors upstream are others although no part was added or removed.
pub fn changes(before: &Garden, after: &Garden, system: UnitSystem) -> Vec<Change> {
    let system = system.or_own(before.units());
    let mut found = surroundings(before, after, system);
    let in_short = |part: &Part| super::drawing::describe(part, system);
    let same_parts = before.parts().len() == after.parts().len()
        && before.layout().places.iter().all(|place| after.layout().find(&place.name).is_some());
    for (place, old) in before.parts().iter().enumerate() {
        let name = before.name(place);
        let of_part = |what, parameter, before, after| Change { part: Some(name.to_string()), what, parameter, before, after };
        let Some(there) = after.layout().find(name) else {
            found.push(of_part("removed", None, Some(in_short(old)), None));
            continue;
        };
        let new = &after.parts()[there];
        if old.kind() != new.kind() {
            found.push(of_part("replaced", None, Some(in_short(old)), Some(in_short(new))));
        } else {
            let each = parameters(old, new, system).map(|(id, before, after)| of_part("changed", Some(id), before, after));
            found.extend(each);
        }
        let (up, now_up) = (upstream(before, place), upstream(after, there));
        if same_parts && up != now_up {
            let text =
                |names: BTreeSet<&str>| Some(names.into_iter().collect::<Vec<_>>().join(", ")).filter(|text| !text.is_empty());
            found.push(of_part("moved", Some("upstream"), text(up), text(now_up)));
        }
    }
    for (place, part) in after.parts().iter().enumerate().filter(|(place, _)| before.layout().find(after.name(*place)).is_none())
    {
        let part_of = Some(after.name(place).to_string());
        found.push(Change { part: part_of, what: "added", parameter: None, before: None, after: Some(in_short(part)) });
    }
    found
}

type Told = (&'static str, Option<String>, Option<String>);

/// The parameters in which two parts of a kind differ.
fn parameters<'a>(old: &'a Part, new: &'a Part, system: UnitSystem) -> impl Iterator<Item = Told> + 'a {
    let shown = move |part: &Part, id| part.shown(id, system).map(|value| value.show(system));
    let differ = old.spec().parameters.iter().filter(|known| old.value(known.id).to_bits() != new.value(known.id).to_bits());
    let curve = |part: &Part| part.curve().map(|curve| curve.described());
    let table = |part: &Part| part.table().map(|_| "a table of the manufacturer".to_string());
    differ
        .map(move |known| (known.id.word(), shown(old, known.id), shown(new, known.id)))
        .chain((old.curve() != new.curve()).then(|| ("pump curve", curve(old), curve(new))))
        .chain((old.table() != new.table()).then(|| ("performance_table", table(old), table(new))))
}

fn surroundings(before: &Garden, after: &Garden, system: UnitSystem) -> Vec<Change> {
    let (old, new) = (before.surroundings(), after.surroundings());
    let values = [
        ("water temperature", dim::TEMPERATURE, old.water.temperature_k, new.water.temperature_k),
        ("atmosphere", dim::PRESSURE, old.atmosphere_pa, new.atmosphere_pa),
    ];
    let shown = |si, dimension| Some(system.quantity(si, dimension).show(system));
    let differ = values.into_iter().filter(|(_, _, old, new)| old != new);
    differ
        .map(|(name, dimension, old, new)| Change {
            part: None,
            what: "changed",
            parameter: Some(name),
            before: shown(old, dimension),
            after: shown(new, dimension),
        })
        .collect()
}

/// The parts from which water comes to a part.
fn upstream(garden: &Garden, place: usize) -> BTreeSet<&str> {
    let node = garden.layout().places[place].from;
    let there = garden.layout().joined()[node].iter().filter(|&&other| other != place);
    there.filter(|&&other| garden.layout().places[other].to == node).map(|&other| garden.name(other)).collect()
}
