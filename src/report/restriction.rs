//! Causes of readings that a garden as drawn does not give: a table and a few sentences.

use super::Look;
use crate::hydraulics::ProbeKind;
use crate::quantity::{Quantity, dim};
use crate::study::restriction::{Cause, Fault, Restriction, UNEXPLAINED};
use crate::table::{Column, Table, TableError};
use crate::unit_system::UnitSystem;

/// One row for each cause, the likeliest first.
pub fn table(found: &Restriction, system: UnitSystem) -> Result<Table, TableError> {
    let causes = &found.causes;
    let system = system.or_own(found.garden.units());
    let shown = |value: Option<Quantity>| value.map_or(String::new(), |value| value.show(system));
    Table::new(vec![
        Column::texts("cause", causes.iter().map(in_short)),
        Column::texts("drawn", causes.iter().map(|cause| shown(cause.drawn))),
        Column::texts("fits", causes.iter().map(|cause| shown(Some(cause.fits)))),
        Column::numbers("chi_square", causes.iter().map(|cause| cause.chi_square)),
        Column::numbers("likelihood_percent", causes.iter().map(|cause| (1000.0 * cause.likelihood).round() / 10.0)),
    ])
}

/// A cause without its value.
pub fn in_short(cause: &Cause) -> String {
    let part = &cause.part;
    match cause.fault {
        Fault::PartlyClosed => format!("{part} is not fully open"),
        Fault::Clogged => format!("{part} is clogged"),
        Fault::Narrower => format!("{part} is kinked, scaled or narrower"),
        Fault::Obstructed => format!("{part} is obstructed"),
        Fault::LargerNozzle => format!("{part} has a larger or worn nozzle"),
        Fault::SmallerNozzle => format!("{part} has a smaller or clogged nozzle"),
        Fault::Leak => format!("leak downstream of {part}"),
        Fault::WeakMain => format!("main pressure at {part} is lower"),
        Fault::Service => format!("the service line to {part} is restricted"),
        Fault::WeakPump => format!("{part} is worn or slow"),
    }
}

/// What the fitted value means.
fn value_in_words(cause: &Cause, system: UnitSystem) -> String {
    let fits = cause.fits.show(system);
    match (cause.fault, cause.drawn) {
        (Fault::PartlyClosed | Fault::Obstructed, _) => format!("it acts like a hole of {fits}"),
        (Fault::Leak, _) => format!("{fits} at 50 psi (3.4 bar)"),
        (Fault::WeakPump, _) => format!("it runs as at {fits} of its speed"),
        (_, Some(drawn)) => format!("{fits} in place of {}", drawn.show(system)),
        (_, None) => fits,
    }
}

/// How the readings compare with the garden as drawn, the likeliest cause, and what to read next.
pub fn in_words(found: &Restriction, system: UnitSystem) -> String {
    let system = system.or_own(found.garden.units());
    let (worst, off) = found
        .off
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .map_or((0, 0.0), |(index, off)| (index, *off));
    let readings = match found.readings.len() {
        1 => "1 reading".to_string(),
        count => format!("{count} readings"),
    };
    let mut lines = Vec::new();
    if found.agrees() {
        lines.push(format!("{readings} agree with the garden as drawn: none is off by more than {UNEXPLAINED} errors"));
        return lines.join("\n");
    }
    let reading = &found.readings[worst];
    let direction = if off < 0.0 { "more" } else { "less" };
    lines.push(format!(
        "of {readings} the one at {} is farthest from the garden as drawn: {} read, {:.1} errors {direction} than computed",
        reading.at,
        reading.value.show(system),
        off.abs()
    ));
    let Some(first) = found.causes.first() else {
        lines.push("no single cause explains the readings better than the garden as drawn".into());
        return lines.join("\n");
    };
    lines.push(format!("likeliest: {}, {} ({:.0} %)", in_short(first), value_in_words(first, system), 100.0 * first.likelihood));
    if let Some((index, left)) = first.left.iter().enumerate().find(|(_, left)| left.abs() > UNEXPLAINED) {
        lines.push(format!(
            "it does not explain the reading at {}, which stays off by {:.1} errors: look for a second cause",
            found.readings[index].at,
            left.abs()
        ));
    }
    match &found.next {
        Some(next) => {
            let dimension = if next.kind == ProbeKind::Flow { dim::FLOW } else { dim::PRESSURE };
            let show = |si: f64| found.garden.quantity(si, dimension).show(system);
            let zones = match next.zones.as_slice() {
                [] => "all zones off".to_string(),
                zones => format!("{} on", zones.join(" + ")),
            };
            let what = if next.kind == ProbeKind::Flow { "flow" } else { "pressure" };
            lines.push(format!("next, read the {what} at {} with {zones}:", next.at));
            for (cause, would) in [(next.between.0, next.would_be.0), (next.between.1, next.would_be.1)] {
                lines.push(format!("  {} if {}", show(would), in_short(&found.causes[cause])));
            }
        }
        None if found.causes.len() > 1 => lines.push("no single further reading distinguishes the causes".into()),
        None => {}
    }
    lines.join("\n")
}

/// Below this likelihood a cause is not shown, unless it is among the first [`FIRST`].
const UNLIKELY: f64 = 0.005;
/// Causes that are shown in any case.
const FIRST: usize = 3;

/// The words, and the table of the likely causes below them.
pub fn text(found: &Restriction, look: Look) -> Result<String, TableError> {
    let words = in_words(found, look.system);
    if found.causes.is_empty() || found.agrees() {
        return Ok(words);
    }
    let own = look.or_own(&found.garden);
    let likely = found.causes.iter().filter(|cause| cause.likelihood >= UNLIKELY).count().max(FIRST);
    let left_out = match found.causes.len().saturating_sub(likely) {
        0 => String::new(),
        count => format!("\n{count} less likely causes are in .table()"),
    };
    let shown = table(found, look.system)?.head(likely).show_on(&own.sheet());
    Ok(format!("{words}\n\n{}{left_out}", shown.trim_end()))
}
