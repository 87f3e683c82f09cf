//! A part by itself, as a card and in a line.

use crate::parts::Part;
use crate::quantity::{Quantity, UnitSystem};

/// The part as a labeled card: one line a parameter that is given.
pub fn card(part: &Part, system: UnitSystem) -> String {
    let title = match part.name() {
        Some(name) => format!("{name} ({})", part.spec().word.replace('_', " ")),
        None => part.spec().word.replace('_', " "),
    };
    let own = system.or_own(part.units());
    let mut lines: Vec<(String, String)> = values(part, own).map(|(name, value)| (name, value.show(system))).collect();
    for [flow, rise] in part.curve().iter().flat_map(|curve| curve.quantities()) {
        lines.push(("curve".into(), format!("{} at {}", rise.show(own), flow.show(own))));
    }
    let width = lines.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let lines: Vec<String> = lines.iter().map(|(name, value)| format!("  {name:<width$}  {value}")).collect();
    if lines.is_empty() { title } else { format!("{title}\n{}", lines.join("\n")) }
}

/// Its parameters that have a value, those by default in these units.
fn values(part: &Part, units: UnitSystem) -> impl Iterator<Item = (String, Quantity)> + '_ {
    part.given().filter_map(move |(known, _)| Some((known.name().replace('_', " "), part.shown(known.id, units)?)))
}

/// The part in a line, with its first two parameters.
pub fn one_line(part: &Part, system: UnitSystem) -> String {
    let own = system.or_own(part.units());
    let numbers: Vec<String> = values(part, own).take(2).map(|(name, value)| format!("{name} {}", value.show(system))).collect();
    format!("{}: {}", part.title(), numbers.join(", "))
}
