//! Zones from a list of heads as a table and in words.

use super::{Look, given_by};
use crate::quantity::{Preference, dim};
use crate::study::zoning::{ALL_COMPARED, Zone, Zones};
use crate::table::{Column, Table, TableError, Values};

/// One row for each zone.
pub fn table(found: &Zones) -> Result<Table, TableError> {
    let garden = &found.garden;
    let zones = &found.zones;
    let numbers = |name: &str, value: &dyn Fn(&Zone) -> f64| {
        Column::quantities(name, zones.iter().map(|zone| Some(value(zone))), dim::NUMBER, Preference::Usual)
    };
    let given = |name: &str, value: &dyn Fn(&Zone) -> f64, dimension| {
        given_by(garden, name, zones.iter().map(|zone| Some(value(zone))), dimension)
    };
    let names = |zone: &Zone| zone.heads.iter().map(|&head| found.heads[head].as_str()).collect::<Vec<_>>().join(", ");
    let listed: Vec<String> = zones.iter().map(names).collect();
    Table::new(vec![
        Column::texts("zone", zones.iter().map(|zone| zone.name.as_str())),
        numbers("count", &|zone| zone.heads.len() as f64),
        given("flow", &|zone| zone.judged.flow_m3_per_s, dim::FLOW),
        given("lowest", &|zone| zone.judged.lowest.1, dim::PRESSURE),
        Column::texts("at", zones.iter().map(|zone| found.heads[zone.judged.lowest.0].as_str())),
        given("highest", &|zone| zone.judged.highest_pa, dim::PRESSURE),
        numbers("variation_percent", &|zone| 100.0 * zone.judged.variation),
        given("velocity", &|zone| zone.judged.fastest_m_per_s, dim::SPEED),
        given("laterals", &|zone| zone.judged.lateral_m, dim::LENGTH),
        Column { name: "limit".into(), values: Values::Texts(zones.iter().map(|zone| limit(found, zone)).collect()) },
        Column::texts("heads", listed.iter().map(String::as_str)),
    ])
}

/// What stands against more heads in a zone; none where all that may share its valve would fit.
fn limit(found: &Zones, zone: &Zone) -> Option<String> {
    let (added, hindrance) = zone.limit.as_ref()?;
    let why = hindrance.in_words(&found.heads, found.garden.units());
    Some(match added.as_slice() {
        [head] => format!("with {}, {why}", found.heads[*head]),
        heads => format!("with {} more, {why}", heads.len()),
    })
}

/// How many zones, how many heads at once, and what decides, in a few sentences.
pub fn in_words(found: &Zones) -> String {
    let count = |count: usize, one: &str| if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") };
    let most = found.zones.iter().map(|zone| zone.heads.len()).max().unwrap_or(0);
    let mut lines = vec![format!(
        "{} for {}: at most {} at once",
        count(found.zones.len(), "zone"),
        count(found.heads.len(), "head"),
        count(most, "head")
    )];
    let limits = found.zones.iter().filter_map(|zone| Some((zone, limit(found, zone)?)));
    if let Some((zone, why)) = limits.max_by_key(|(zone, _)| zone.heads.len()) {
        lines.push(format!("what limits {}: {why}", zone.name));
    }
    if found.groups > 1 {
        lines.push(format!("{} groups of heads do not share a valve: their kinds or application rates differ", found.groups));
    }
    lines.push(if found.all_compared {
        "all divisions were compared".into()
    } else {
        format!("the best division found; above {ALL_COMPARED} heads that may share a valve not all are compared")
    });
    if !found.placed {
        lines.push("heads have no places: each has a lateral of its own".into());
    }
    lines.join("\n")
}

/// The words and the table below them.
pub fn text(found: &Zones, look: Look) -> Result<String, TableError> {
    let shown = table(found)?.select(&["zone", "count", "flow", "lowest", "at", "velocity", "laterals", "heads"])?;
    Ok(format!("{}\n\n{}", in_words(found), shown.show_on(&look.or_own(&found.garden).sheet())))
}
