//! Windows of a pressure switch as tables, and falls of pressure in words.

use crate::quantity::{Preference, Quantity, UnitSystem, dim};
use crate::settings::{DriveWindow, DrivenZones, Fall, Window};
use crate::table::{Column, Table, TableError};

fn written(unit: &str) -> Preference {
    Preference::written_in(unit)
}

/// A time in seconds, minutes, hours or days, whichever reads best.
fn readable_time(time_s: f64) -> Quantity {
    let units = [("day", 172_800.0), ("h", 7_200.0), ("min", 120.0)];
    let unit = units.into_iter().find(|(_, least_s)| time_s >= *least_s).map_or("s", |(unit, _)| unit);
    Quantity { preference: written(unit), ..Quantity::new(time_s, dim::TIME) }
}

/// How long a fall takes; nothing where it never happens.
pub fn time_of_fall(fall: &Fall) -> Option<Quantity> {
    fall.time_s.map(readable_time)
}

/// A fall of pressure for people.
pub fn fall_in_words(fall: &Fall, system: UnitSystem) -> String {
    let pressure = |si: f64| fall.units.quantity(si, dim::PRESSURE).show(system);
    let flow = |si: f64| Quantity { preference: fall.units.preference_of("gph"), ..Quantity::new(si, dim::FLOW) }.show(system);
    let course = format!("from {} to {} at '{}'", pressure(fall.from_pa), pressure(fall.to_pa), fall.at);
    match (time_of_fall(fall), fall.main_pa) {
        (Some(time), _) => format!(
            "{} {course}: {} leak away, {} at first and {} at the end",
            time.show(system),
            fall.units.quantity(fall.water_m3, dim::VOLUME).show(system),
            flow(fall.leak_from_m3_per_s),
            flow(fall.leak_to_m3_per_s)
        ),
        (None, Some(main_pa)) if main_pa > fall.to_pa => {
            format!("never {course}: main pressure is {} there and supplies the leak", pressure(main_pa))
        }
        _ => format!("never {course}: the leaks stop at {}", pressure(fall.end_pa)),
    }
}

fn pressures(window: &Window, name: &str, values: impl Iterator<Item = f64>) -> Column {
    Column::quantities(name, values.map(Some), dim::PRESSURE, window.pressure(0.0).preference)
}

/// The zones of a window: pressures at the switch without and with the pump.
pub fn table(window: &Window) -> Result<Table, TableError> {
    let cases = || window.cases.iter();
    Table::new(vec![
        Column::texts("zones", cases().map(|case| case.title())),
        pressures(window, "off", cases().map(|case| case.off_pa)),
        pressures(window, "on", cases().map(|case| case.on_pa)),
        pressures(window, "off_highest", cases().map(|case| case.off_highest_pa)),
        pressures(window, "on_highest", cases().map(|case| case.on_highest_pa)),
        super::given_by(&window.garden, "flow", cases().map(|case| Some(case.flow_m3_per_s)), dim::FLOW),
        super::given_by(&window.garden, "relieved", cases().map(|case| Some(case.relieved_m3_per_s)), dim::FLOW),
    ])
}

/// The zones of a drive window: pressures at the pump, and what the suggested set pressure makes of it.
pub fn drive_table(window: &DriveWindow) -> Result<Table, TableError> {
    let zones = || window.zones.iter();
    let column = |name: &str, value: &dyn Fn(&DrivenZones) -> Option<f64>| {
        Column::quantities(name, zones().map(value), dim::PRESSURE, window.pressure(0.0).preference)
    };
    let given = |name: &str, dimension, value: &dyn Fn(&DrivenZones) -> Option<f64>| {
        super::given_by(&window.garden, name, zones().map(value), dimension)
    };
    Table::new(vec![
        Column::texts("zones", zones().map(DrivenZones::title)),
        column("needs", &|zone| zone.needs_pa.filter(|needs_pa| needs_pa.is_finite())),
        column("allows", &|zone| zone.allows_pa),
        column("full_speed", &|zone| Some(zone.full_speed_pa)),
        column("off", &|zone| Some(zone.off_pa)),
        given("flow", dim::FLOW, &|zone| Some(zone.suggested?.0)),
        given("speed", dim::NUMBER, &|zone| Some(zone.suggested?.1)),
        given("power", dim::POWER, &|zone| zone.suggested?.2),
    ])
}

/// What bounds the settings of a window.
pub fn bounds(window: &Window, system: UnitSystem) -> Result<Table, TableError> {
    let bounds = || window.bounds.iter();
    Table::new(vec![
        Column::texts("setting", bounds().map(|bound| bound.setting())),
        Column::texts("side", bounds().map(|bound| if bound.is_lower() { "above" } else { "below" })),
        pressures(window, "limit", bounds().map(|bound| bound.limit_pa)),
        pressures(window, "margin", bounds().map(|bound| bound.margin_pa)),
        Column::texts("from", bounds().map(|bound| window.source_of(bound).show(system))),
    ])
}

/// Changes that give settings which keep all margins, and the ranges they give.
pub fn remedies(window: &Window, system: UnitSystem) -> Result<Table, TableError> {
    let remedies = || window.remedies.iter();
    Table::new(vec![
        Column::texts("change", remedies().map(|remedy| remedy.change.words(system.or_own(window.garden.units())))),
        pressures(window, "cut_in_low", remedies().map(|remedy| remedy.cut_in.low_pa)),
        pressures(window, "cut_in_high", remedies().map(|remedy| remedy.cut_in.high_pa)),
        pressures(window, "cut_out_low", remedies().map(|remedy| remedy.cut_out.low_pa)),
        pressures(window, "cut_out_high", remedies().map(|remedy| remedy.cut_out.high_pa)),
    ])
}
