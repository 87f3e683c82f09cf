//! A part by itself, as a card and in a line.

use crate::parts::Part;
use crate::quantity::{UnitSystem, dim};

/// The part as a labelled card: one line a number that is given.
pub fn card(part: &Part, system: UnitSystem) -> String {
    let title = match part.name() {
        Some(name) => format!("{name} ({})", part.spec().word.replace('_', " ")),
        None => part.spec().word.replace('_', " "),
    };
    let mut lines: Vec<(String, String)> =
        part.given().map(|(number, value)| (number.name().replace('_', " "), value.show_size(system))).collect();
    for (flow, rise) in part.curve().iter().flat_map(|curve| curve.points()) {
        let units = part.units();
        let point = |si: f64, dimension| units.quantity(si, dimension).show(system);
        lines.push(("curve".into(), format!("{} at {}", point(*rise, dim::PRESSURE), point(*flow, dim::FLOW))));
    }
    let width = lines.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let lines: Vec<String> = lines.iter().map(|(name, value)| format!("  {name:<width$}  {value}")).collect();
    if lines.is_empty() { title } else { format!("{title}\n{}", lines.join("\n")) }
}

/// The part in a line, with its first two numbers.
pub fn one_line(part: &Part, system: UnitSystem) -> String {
    let numbers: Vec<String> = part
        .given()
        .take(2)
        .map(|(number, value)| format!("{} {}", number.name().replace('_', " "), value.show_size(system)))
        .collect();
    format!("{}: {}", part.title(), numbers.join(", "))
}
