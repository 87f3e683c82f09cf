//! The changes that are tried: parts of the stock in the place of others, in parallel to them or put in, zones in two, and settings of
//! switches and regulators.

use super::made::{Made, called};
use super::split::{Split, splits};
use crate::garden::{Garden, Side};
use crate::parts::{Id, Part, Placing};
use crate::quantity::{Quantity, find_unit};
use crate::settings::{Ask, switch_window};

/// A change of a garden.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Move {
    /// A part of the stock in the place of each of these.
    Swap { names: Vec<String>, from_stock: usize },
    /// A hose of the stock in parallel to one, as long as that.
    Parallel { name: String, from_stock: usize },
    /// A part of the stock downstream of another one, or upstream.
    Insert { side: Side, name: String, from_stock: usize },
    /// Some heads of a zone on a valve of their own.
    Split(Split),
    /// A regulator set to another pressure.
    SetRegulator { name: String, to: Quantity },
    /// The pressure switch set to what its window suggests.
    SetSwitch { name: Option<String> },
}

/// All single changes of a garden from a stock; the parts in these places stay as they are.
pub(super) fn moves(garden: &Garden, stock: &[Part], kept: &[usize]) -> Vec<Move> {
    let free = |place: &usize| !kept.contains(place);
    let name = |place: usize| garden.name(place).to_string();
    let zones = garden.zones_of_places();
    let trunk: Vec<usize> = trunk(garden).into_iter().filter(free).collect();
    let mut found = Vec::new();
    for (from_stock, part) in stock.iter().enumerate() {
        let (spec, traits) = (part.spec(), part.traits());
        let after = |place: usize| Move::Insert { side: Side::After, name: name(place), from_stock };
        let alike: Vec<usize> =
            garden.of_kind(part.kind()).filter(free).filter(|&place| differ(&garden.parts()[place], part)).collect();
        if spec.is_line() {
            for &place in &garden.of_spec(|spec| spec.is_line()).filter(free).collect::<Vec<_>>() {
                if differ(&garden.parts()[place], part) {
                    found.push(Move::Swap { names: vec![name(place)], from_stock });
                }
                found.push(Move::Parallel { name: name(place), from_stock });
            }
            continue;
        }
        found.extend(alike.iter().map(|&place| Move::Swap { names: vec![name(place)], from_stock }));
        if traits.waters {
            // All heads of a zone at once, and all there are.
            let mut groups: Vec<Vec<usize>> = garden
                .valves()
                .map(|valve| alike.iter().copied().filter(|&place| zones[place].contains(&valve)).collect())
                .collect();
            groups.push(alike.clone());
            for group in groups.into_iter().filter(|group: &Vec<usize>| group.len() > 1) {
                let change = Move::Swap { names: group.into_iter().map(name).collect(), from_stock };
                if !found.contains(&change) {
                    found.push(change);
                }
            }
        } else if traits.opens {
            let zones = garden.valves().filter(free);
            found.extend(zones.flat_map(|valve| splits(garden, valve, from_stock, stock, kept)).map(Move::Split));
        } else if spec.placing == Placing::Source {
            // A source more needs lines of its own.
        } else if spec.placing == Placing::Inline {
            found.extend(trunk.iter().map(|&place| after(place)));
            if spec.regulates() {
                found.extend(garden.valves().filter(free).map(after));
            }
            found.extend(garden.boosters().filter(free).map(|place| Move::Insert {
                side: Side::Before,
                name: name(place),
                from_stock,
            }));
        } else if !traits.demands && (traits.relieves || spec.placing == Placing::AtPoint) {
            let pumps: Vec<usize> = garden.boosters().filter(free).collect();
            let places = if pumps.is_empty() { trunk.last().copied().into_iter().collect() } else { pumps };
            found.extend(places.into_iter().map(after));
        }
    }
    for place in garden.of_spec(|spec| spec.regulates()).filter(free) {
        found.extend(settings(garden, place).into_iter().map(|to| Move::SetRegulator { name: name(place), to }));
    }
    let switches: Vec<usize> = garden.switches().collect();
    if switches.iter().all(free) && (!switches.is_empty() || stock.iter().any(|part| part.spec().is_switch())) {
        found.push(Move::SetSwitch { name: switches.first().map(|&place| name(place)) });
    }
    found
}

/// Pressures to which a regulator may be set, in steps of 5 psi or 0.25 bar, the nearest to what it has first.
fn settings(garden: &Garden, place: usize) -> Vec<Quantity> {
    let Some(now) = garden.parts()[place].si(Id::Set) else { return Vec::new() };
    let (step, unit) = garden.units().pick((5.0, "psi"), (0.25, "bar"));
    let all =
        find_unit(unit).into_iter().flat_map(|unit| (2..=20).map(move |steps| Quantity::written(step * f64::from(steps), unit)));
    let mut others: Vec<Quantity> = all.filter(|to| (to.si - now).abs() > 1e-6 * now).collect();
    others.sort_by(|a, b| (a.si - now).abs().total_cmp(&(b.si - now).abs()));
    others
}

/// Whether a part of the stock is another one than that in a place: in a parameter besides price, position and length, or in its curve.
fn differ(old: &Part, new: &Part) -> bool {
    let plain = |id: Id| !matches!(id, Id::Price | Id::X | Id::Y | Id::Length | Id::Arc | Id::Facing | Id::Riser);
    old.kind() != new.kind()
        || old.curve() != new.curve()
        || old.table() != new.table()
        || old
            .spec()
            .parameters
            .iter()
            .any(|known| plain(known.id) && old.value(known.id).to_bits() != new.value(known.id).to_bits())
}

/// The parts from the first supply to where the line branches or a zone begins: where a part serves all zones.
fn trunk(garden: &Garden) -> Vec<usize> {
    let layout = garden.layout();
    let mut found = Vec::new();
    let Some(source) = garden.of_spec(|spec| spec.placing == Placing::Source).next() else { return found };
    found.push(source);
    let mut node = layout.places[source].to;
    loop {
        let onward: Vec<usize> = layout.joined()[node]
            .iter()
            .copied()
            .filter(|&place| garden.spec(place).placing == Placing::Inline && !found.contains(&place))
            .collect();
        match onward[..] {
            [only] if !garden.spec(only).traits.opens && layout.places[only].from == node => {
                found.push(only);
                node = layout.places[only].to;
            }
            _ => return found,
        }
    }
}

impl Move {
    /// What it costs: of a hose as many pieces as it takes.
    pub fn cost(&self, garden: &Garden, stock: &[Part], prices: &[f64]) -> f64 {
        let pieces = |name: &String, from_stock: usize| {
            let needed = garden.part(name).ok().and_then(|part| part.si(Id::Length));
            match (needed, stock[from_stock].si(Id::Length)) {
                (Some(needed), Some(has)) => (needed / has * (1.0 - 1e-9)).ceil().max(1.0),
                _ => 1.0,
            }
        };
        match self {
            Move::Swap { names, from_stock } => names.iter().map(|name| pieces(name, *from_stock) * prices[*from_stock]).sum(),
            Move::Parallel { name, from_stock } => pieces(name, *from_stock) * prices[*from_stock],
            Move::Insert { from_stock, .. } => prices[*from_stock],
            Move::Split(split) => split.cost(prices, pieces, garden),
            Move::SetSwitch { .. } | Move::SetRegulator { .. } => 0.0,
        }
    }

    /// What it has in common with changes that differ from it by a setting alone: the best of those is reported.
    pub fn family(&self) -> String {
        match self {
            Move::SetRegulator { name, .. } => format!("set {name}"),
            other => format!("{other:?}"),
        }
    }

    /// Whether it is tried as the first of a pair with another one: not both at one part, and each pair in one order; a zone is split
    /// first, and a switch set last.
    pub fn goes_before(&self, other: &Move, stands_before: bool) -> bool {
        let of = |step: &Move| match step {
            Move::Swap { names, .. } => names.clone(),
            Move::SetRegulator { name, .. } => vec![name.clone()],
            Move::Split(split) => vec![split.valve.clone()],
            _ => Vec::new(),
        };
        let turn = |step: &Move| match step {
            Move::Split(_) => 0,
            Move::SetSwitch { .. } => 2,
            _ => 1,
        };
        if matches!(self, Move::SetSwitch { .. }) || turn(self) > turn(other) {
            return false;
        }
        let both = of(self).iter().any(|name| of(other).contains(name));
        !both && (stands_before || turn(self) < turn(other)) && self != other
    }

    /// The garden with the change; none where it cannot be made.
    pub fn made(&self, garden: &Garden, stock: &[Part]) -> Option<Made> {
        let called = |from_stock: usize| called(stock, from_stock);
        match self {
            Move::Swap { names, from_stock } => {
                let (mut changed, mut script) = (garden.clone(), String::new());
                for name in names {
                    let old = garden.part(name).ok()?;
                    changed = changed.replace(name, &stock[*from_stock]).ok()?;
                    script += &format!(".replace(\"{name}\", stock[{from_stock}])");
                    for id in restored(old, &stock[*from_stock]) {
                        let path = format!("{name}.{id}");
                        changed = changed.with(&path, old.quantity(id)?).ok()?;
                        script += &format!(".with(\"{path}\", garden[\"{path}\"])");
                    }
                }
                let words = format!("{} in the place of {}", called(*from_stock), names.join(", "));
                Some(Made { garden: changed, script, words, twin: None })
            }
            Move::Parallel { name, from_stock } => {
                let twin = garden.free_name(&format!("second {name}"));
                let part = stock[*from_stock].clone().named(&twin).ok()?;
                let length = garden.part(name).ok()?.quantity(Id::Length)?;
                let changed = garden.parallel(name, &Garden::of(part)).ok()?.with(&format!("{twin}.length"), length).ok()?;
                let script = format!(
                    ".parallel(\"{name}\", stock[{from_stock}].named(\"{twin}\")).with(\"{twin}.length\", garden[\"{name}.length\"])"
                );
                Some(Made { garden: changed, script, words: format!("{} parallel to {name}", called(*from_stock)), twin: None })
            }
            Move::Insert { side, name, from_stock } => {
                let part = &stock[*from_stock];
                let own = part.name().unwrap_or(part.spec().word);
                let free = garden.free_name(own);
                let called_so = part.clone().named(&free).ok()?;
                let changed = garden.insert(*side, name, &Garden::of(called_so)).ok()?;
                let renamed = if part.name() == Some(&free) { String::new() } else { format!(".named(\"{free}\")") };
                let (word, place) =
                    if *side == Side::After { ("insert_after", "downstream") } else { ("insert_before", "upstream") };
                let script = format!(".{word}(\"{name}\", stock[{from_stock}]{renamed})");
                Some(Made { garden: changed, script, words: format!("{} {place} of {name}", called(*from_stock)), twin: None })
            }
            Move::Split(split) => split.made(garden, stock).ok(),
            Move::SetRegulator { name, to } => {
                let path = format!("{name}.{}", Id::Set);
                let changed = garden.with(&path, *to).ok()?;
                let script = format!(".with(\"{path}\", q(\"{to}\"))");
                Some(Made { garden: changed, script, words: format!("{name} set to {to}"), twin: None })
            }
            Move::SetSwitch { name } => {
                let place = match name {
                    Some(name) => garden.find(name).ok()?,
                    None => garden.switches().next()?,
                };
                let name = garden.name(place);
                let wanted = switch_window(garden, &Ask::default()).ok()?.suggestion?;
                let now = [Id::CutIn, Id::CutOut].map(|id| garden.parts()[place].si(id));
                if now == [Some(wanted.cut_in.si), Some(wanted.cut_out.si)] {
                    return None;
                }
                // Both at once: one after the other may contradict.
                let part =
                    (*garden.parts()[place]).clone().with(&[(Id::CutIn, wanted.cut_in), (Id::CutOut, wanted.cut_out)]).ok()?;
                let changed = garden.replace(name, &part).ok()?;
                let shown = [wanted.cut_in, wanted.cut_out].map(|value| value.to_string());
                let script = format!(".replace(\"{name}\", pressure_switch(q(\"{}\"), q(\"{}\")))", shown[0], shown[1]);
                let words = format!("{name} set to cut-in {}, cut-out {}", shown[0], shown[1]);
                Some(Made { garden: changed, script, words, twin: None })
            }
        }
    }
}

/// What a part keeps of the one in whose place it comes: the length of a line, and where a head stands and waters.
fn restored(old: &Part, new: &Part) -> Vec<Id> {
    let ids = [Id::Length, Id::X, Id::Y, Id::Arc, Id::Facing, Id::Riser];
    let keeps = |id: &Id| old.si(*id).is_some() && new.spec().has(*id) && old.value(*id).to_bits() != new.value(*id).to_bits();
    ids.into_iter().filter(keeps).collect()
}
