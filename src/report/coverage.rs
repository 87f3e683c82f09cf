//! Coverage of a bed, depths over a schedule and catch cans as tables and text, and their values as people read them.

use super::in_short;
use crate::coverage::{CanError, CatchCans, Comparison, Coverage, Depth, Grid, Uniformity};
use crate::findings::{Finding, counted, grouped, of_cans, of_coverage, of_depth};
use crate::garden::Accepted;
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim, show_number};
use crate::table::{Column, Table, TableError};

/// A rate of rain as people read it, in the units of a garden.
pub fn rate(units: UnitSystem, si: f64) -> Quantity {
    Quantity { preference: units.preference_of("in/h"), ..Quantity::new(si, dim::SPEED) }
}

/// A depth of water as people read it, in the units of a garden.
pub fn depth(units: UnitSystem, si: f64) -> Quantity {
    Quantity { preference: units.preference_of("in"), ..Quantity::new(si, dim::LENGTH) }
}

/// A speed of wind as people read it, in the units of a garden.
fn wind(units: UnitSystem, si: f64) -> Quantity {
    Quantity { preference: units.preference_of("mph"), ..Quantity::new(si, dim::SPEED) }
}

/// A time of watering as people read it.
pub fn minutes(seconds: f64) -> Quantity {
    let preference = Preference::written_in("min");
    Quantity { preference, ..Quantity::new(seconds, dim::TIME) }
}

/// A place on the plan.
pub fn place(units: UnitSystem, (x_m, y_m): (f64, f64)) -> [Quantity; 2] {
    [x_m, y_m].map(|length_m| units.quantity(length_m, dim::LENGTH))
}

/// A share in percent as people read it, to a tenth.
fn in_percent(share: f64) -> String {
    format!("{}%", show_number((share * 1000.0).round() / 10.0))
}

fn uniformity_in_words(uniformity: &Uniformity) -> String {
    format!("CU {} (Christiansen), DU {} (low quarter)", in_percent(uniformity.christiansen), in_percent(uniformity.du))
}

/// The ground of a grid in words: its sides, or its area.
fn ground_in_words(grid: &Grid, units: UnitSystem, system: UnitSystem) -> String {
    let ground = &grid.ground;
    let shown = |si: f64, dimension: Dimension| units.quantity(si, dimension).show(system);
    if ground.is_rectangle() {
        let frame = ground.frame();
        return format!("a bed of {} by {}", shown(frame.width_m(), dim::LENGTH), shown(frame.height_m(), dim::LENGTH));
    }
    let beds = if ground.beds.len() == 1 { "a bed".to_string() } else { counted(ground.beds.len(), "bed") };
    let without = match ground.obstacles.len() {
        0 => String::new(),
        number => format!(" without {}", counted(number, "obstacle")),
    };
    let area = Quantity { preference: units.preference_of("ft2"), ..Quantity::new(ground.area_m2(), dim::AREA) };
    format!("{beds} of {}{without}", area.show(system))
}

fn with_findings(mut lines: Vec<String>, findings: &[Finding], accepted: &Accepted, system: UnitSystem) -> String {
    lines.extend(in_short(&grouped(findings, accepted), system));
    lines.join("\n")
}

/// The rain for people, with what is to be minded.
pub fn in_words(rain: &Coverage, system: UnitSystem) -> String {
    let units = rain.units;
    let shown = |quantity: Quantity| quantity.show(system);
    let rate = |si: f64| shown(rate(units, si));
    let blows = rain.wind.map_or_else(String::new, |known| {
        let shift = units.quantity(rain.shift_m.0.hypot(rain.shift_m.1), dim::LENGTH);
        let speed = shown(wind(units, known.speed_m_per_s));
        format!(" in a wind of {speed} from {} degrees, which moves the water by {}", show_number(known.from_deg), shown(shift))
    });
    let mut lines = vec![
        format!("coverage of {} on {}{blows}", counted(rain.sprays.len(), "head"), ground_in_words(&rain.grid, units, system)),
        format!("application rate {}", extremes(&rain.uniformity, rate, place(units, rain.place_m(rain.driest())).map(shown))),
        uniformity_in_words(&rain.uniformity),
        format!("{} of the water falls on the bed", in_percent(rain.caught_share())),
    ];
    if rain.bare_share() > 0.0 {
        lines.push(format!("{} of the ground gets no water", in_percent(rain.bare_share())));
    }
    with_findings(lines, &of_coverage(rain), &rain.accepted, system)
}

/// Mean, most and least, and where the driest spot is.
fn extremes(found: &Uniformity, shown: impl Fn(f64) -> String, [x, y]: [String; 2]) -> String {
    let (mean, highest, lowest) = (shown(found.mean), shown(found.highest), shown(found.lowest));
    format!("{mean} (mean), {highest} at the wettest spot, {lowest} at the driest: x {x}, y {y}")
}

/// Depths over a schedule for people.
pub fn depth_in_words(found: &Depth, system: UnitSystem) -> String {
    let units = found.units;
    let shown = |quantity: Quantity| quantity.show(system);
    let depth = |si: f64| shown(depth(units, si));
    let mut lines = vec![
        format!("depth of water on {}", ground_in_words(&found.grid, units, system)),
        extremes(&found.uniformity, depth, place(units, found.grid.place_m(found.driest())).map(shown)),
        uniformity_in_words(&found.uniformity),
    ];
    if found.bare_share() > 0.0 {
        lines.push(format!("{} of the ground gets no water", in_percent(found.bare_share())));
    }
    with_findings(lines, &of_depth(found), &found.accepted, system)
}

fn column(name: &str, values: impl IntoIterator<Item = f64>, like: Quantity) -> Column {
    Column::quantities(name, values.into_iter().map(Some), like.dimension, like.preference)
}

/// Places in two columns, then one of values.
fn map_table(grid: &Grid, units: UnitSystem, name: &str, values: &[f64], like: Quantity) -> Result<Table, TableError> {
    let length = units.quantity(0.0, dim::LENGTH);
    let cells = 0..grid.columns * grid.rows;
    let places: Vec<(f64, f64)> = cells.clone().map(|cell| grid.place_m(cell)).collect();
    let on_ground = cells.map(|cell| (grid.share_of(cell) > 0.0).then(|| values[cell]));
    Table::new(vec![
        column("x", places.iter().map(|place| place.0), length),
        column("y", places.iter().map(|place| place.1), length),
        Column::quantities(name, on_ground, like.dimension, like.preference),
    ])
}

/// The rain spot by spot: x, y and rate; missing where there is no ground to water.
pub fn table(rain: &Coverage) -> Result<Table, TableError> {
    map_table(&rain.grid, rain.units, "application_rate", &rain.rates_m_per_s, rate(rain.units, 0.0))
}

/// Depths spot by spot.
pub fn depth_table(found: &Depth) -> Result<Table, TableError> {
    map_table(&found.grid, found.units, "depth", &found.depths_m, depth(found.units, 0.0))
}

/// What ran together, for how long, and what it gave: a row for each set of zones.
pub fn together_table(found: &Depth) -> Result<Table, TableError> {
    let each = || found.together.iter();
    Table::new(vec![
        Column::texts("zones", each().map(|one| one.zones.join(", "))),
        column("time", each().map(|one| one.time_s), minutes(0.0)),
        column("depth", each().map(|one| one.mean_m), depth(found.units, 0.0)),
    ])
}

/// The can in words: its place in its row, or its number.
fn can_in_words(cans: &CatchCans, can: usize) -> String {
    cans.row_and_column(can).map_or_else(|| format!("can {}", can + 1), |(row, column)| format!("can {column} of row {row}"))
}

/// Units in which the rates of cans show: those of their catches say little, as milliliters are read everywhere.
fn cans_units(cans: &CatchCans) -> UnitSystem {
    if cans.is_metric() { UnitSystem::AsWrittenMetric } else { UnitSystem::default() }
}

/// The rate of a catch as people read it. Errors: the mouth of the cans or the time of the test is not known.
pub fn can_rate(cans: &CatchCans, catch: f64) -> Result<Quantity, CanError> {
    Ok(rate(cans_units(cans), cans.rate_m_per_s(catch)?))
}

/// The place of a can as people read it. Errors: it is not known.
pub fn can_place(cans: &CatchCans, can: usize) -> Result<[Quantity; 2], CanError> {
    Ok(place(cans_units(cans), cans.places_m(None)?[can]))
}

/// A catch-can test for people.
pub fn cans_in_words(cans: &CatchCans, system: UnitSystem) -> String {
    let shown = |si: f64| cans.quantity(si).show(system);
    let rate =
        can_rate(cans, cans.uniformity.mean).map(|rate| format!(", application rate {}", rate.show(system))).unwrap_or_default();
    let band = cans.band().map(|band| format!(", known to {}", in_percent(band))).unwrap_or_default();
    let lines = vec![
        format!("{}, mean {}{band}{rate}", counted(cans.catches.len(), "can"), shown(cans.uniformity.mean)),
        uniformity_in_words(&cans.uniformity),
        format!("driest {}: {}", can_in_words(cans, cans.driest()), shown(cans.uniformity.lowest)),
    ];
    with_findings(lines, &of_cans(cans), &Accepted::default(), system)
}

/// Cans with their places, where these are known, and their catches; with rates, where these are known.
pub fn cans_table(cans: &CatchCans) -> Result<Table, TableError> {
    let units = cans_units(cans);
    let length = units.quantity(0.0, dim::LENGTH);
    let mut columns = Vec::new();
    if let Ok(places) = cans.places_m(None) {
        columns.push(column("x", places.iter().map(|at| at.0), length));
        columns.push(column("y", places.iter().map(|at| at.1), length));
    }
    columns.push(column("caught", cans.catches.iter().copied(), cans.quantity(0.0)));
    let rates: Result<Vec<f64>, CanError> = cans.catches.iter().map(|catch| cans.rate_m_per_s(*catch)).collect();
    if let Ok(rates) = rates {
        columns.push(column("application_rate", rates, rate(units, 0.0)));
    }
    Table::new(columns)
}

/// Cans beside the computation for people.
pub fn comparison_in_words(both: &Comparison, system: UnitSystem) -> String {
    let Some((ratio, scatter, farthest)) = both.ratio().zip(both.scatter()).zip(both.farthest()).map(|((a, b), c)| (a, b, c))
    else {
        return format!("{} where no water was computed", counted(both.cans.len(), "can"));
    };
    let can = &both.cans[farthest];
    let [x, y] = place(both.units, can.at_m).map(|length| length.show(system));
    let shown = |si: f64| rate(both.units, si).show(system);
    format!(
        "{} caught {} of what was computed; brought to that, they are off by {} of the mean\nfarthest off at x {x}, y {y}: {} caught, {} computed",
        counted(both.cans.len(), "can"),
        in_percent(ratio),
        in_percent(scatter),
        shown(can.caught_m_per_s),
        shown(can.computed_m_per_s)
    )
}

/// Cans beside the computation: places, both rates, and caught over computed where something was computed.
pub fn comparison_table(both: &Comparison) -> Result<Table, TableError> {
    let (length, like) = (both.units.quantity(0.0, dim::LENGTH), rate(both.units, 0.0));
    let cans = || both.cans.iter();
    let ratios = cans().map(|can| (can.computed_m_per_s > 0.0).then(|| can.caught_m_per_s / can.computed_m_per_s));
    Table::new(vec![
        column("x", cans().map(|can| can.at_m.0), length),
        column("y", cans().map(|can| can.at_m.1), length),
        column("computed", cans().map(|can| can.computed_m_per_s), like),
        column("caught", cans().map(|can| can.caught_m_per_s), like),
        Column::quantities("ratio", ratios, dim::NUMBER, Preference::Usual),
    ])
}
