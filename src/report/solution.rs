//! A steady state as tables and text, and single numbers of it by the names of parts.

use super::{Look, ReportError, given_by, summary};
use crate::findings::{grouped, of_run};
use crate::garden::Garden;
use crate::hydraulics::{PartState, Solution};
use crate::parts::{Id, Placing};
use crate::quantity::{Currency, Dimension, Preference, Quantity, dim};
use crate::table::{Column, Table, TableError, Values};

/// The open zones in words.
pub fn zones_in_words(solution: &Solution) -> String {
    match solution.zones.as_slice() {
        [] if solution.garden.valves().next().is_none() => "all open".into(),
        [] => "all valves closed".into(),
        zones => format!("{} open", zones.join(" and ")),
    }
}

/// The word of a part as people write it.
fn kind_in_words(garden: &Garden, place: usize) -> String {
    garden.spec(place).word.replace('_', " ")
}

/// All parts that have a price; where prices are in several currencies, each has a column of its own.
pub fn bill_of_materials(garden: &Garden) -> Result<Table, TableError> {
    let priced: Vec<(usize, Quantity)> =
        garden.parts().iter().enumerate().filter_map(|(place, part)| Some((place, part.quantity(Id::Price)?))).collect();
    let mut currencies: Vec<Currency> = Vec::new();
    for (_, price) in &priced {
        if !currencies.contains(&price.dimension.currency) {
            currencies.push(price.dimension.currency);
        }
    }
    if currencies.is_empty() {
        currencies.push(Currency::NONE);
    }
    let prices_in = |currency: &Currency| {
        let dimension = Dimension { currency: *currency, ..dim::MONEY };
        let name = if currencies.len() > 1 { format!("price_{}", currency.code()) } else { "price".into() };
        Column::quantities(
            name,
            priced.iter().map(|(_, price)| Some(price.si).filter(|_| price.dimension == dimension)),
            dimension,
            Preference::Usual,
        )
    };
    let mut columns = vec![
        Column::texts("part", priced.iter().map(|(place, _)| garden.name(*place))),
        Column::texts("kind", priced.iter().map(|(place, _)| kind_in_words(garden, *place))),
    ];
    columns.extend(currencies.iter().map(prices_in));
    Table::new(columns)
}

/// All parts that water reaches.
pub fn table(solution: &Solution) -> Result<Table, TableError> {
    let garden = &solution.garden;
    let reached = |state: &&PartState| solution.open[state.place] && state.pressure_out_pa.is_some();
    let states: Vec<&PartState> = solution.parts.iter().filter(reached).collect();
    let column = |name: &str, dimension, value: &dyn Fn(&PartState) -> Option<f64>| {
        given_by(garden, name, states.iter().map(|state| value(state)), dimension)
    };
    let placing = |state: &PartState| garden.spec(state.place).placing;
    let doing = |state: &&PartState| solution.doing(state.place).map(|doing| doing.words().into());
    Table::new(vec![
        Column::texts("part", states.iter().map(|state| garden.name(state.place))),
        Column::texts("kind", states.iter().map(|state| kind_in_words(garden, state.place))),
        column("flow", dim::FLOW, &|state| (placing(state) != Placing::AtPoint).then_some(state.flow_m3_per_s)),
        column("pressure", dim::PRESSURE, &|state| state.pressure_out_pa),
        column("loss", dim::PRESSURE, &|state| state.loss_pa().filter(|_| placing(state) == Placing::Inline)),
        column("velocity", dim::SPEED, &|state| state.speed_m_per_s),
        Column { name: "state".into(), values: Values::Texts(states.iter().map(doing).collect()) },
        column("reynolds", dim::NUMBER, &|state| state.reynolds.map(f64::round)),
    ])
}

/// The way of the water to a part. Errors: an unknown name; no supply reaches it.
pub fn pressure_profile(solution: &Solution, name: &str) -> Result<Table, ReportError> {
    let points = solution.pressure_profile(name)?;
    if points.is_empty() {
        return Err(unreached(solution, name));
    }
    let garden = &solution.garden;
    let length = |name: &str, values: Vec<f64>| given_by(garden, name, values.into_iter().map(Some), dim::LENGTH);
    let columns = vec![
        Column::texts("part", points.iter().map(|point| garden.name(point.place))),
        length("distance", points.iter().map(|point| point.distance_m).collect()),
        length("height", points.iter().map(|point| point.height_m).collect()),
        given_by(garden, "pressure", points.iter().map(|point| Some(point.pressure_pa)), dim::PRESSURE),
        length("grade", points.iter().map(|point| solution.grade_m(point)).collect()),
    ];
    Ok(Table::new(columns)?)
}

fn unreached(solution: &Solution, name: &str) -> ReportError {
    ReportError::Unreached { name: name.into(), zones: zones_in_words(solution) }
}

/// Pressure at a part. Errors: an unknown name; no supply reaches it.
pub fn pressure(solution: &Solution, name: &str) -> Result<Quantity, ReportError> {
    let pressure_pa = solution.pressure_pa(name)?.ok_or_else(|| unreached(solution, name))?;
    Ok(solution.garden.quantity(pressure_pa, dim::PRESSURE))
}

/// Flow through a part. Errors: an unknown name.
pub fn flow(solution: &Solution, name: &str) -> Result<Quantity, ReportError> {
    Ok(solution.garden.quantity(solution.flow_m3_per_s(name)?, dim::FLOW))
}

/// Mean speed in the diameter of a part. Errors: an unknown name; it has no diameter.
pub fn speed(solution: &Solution, name: &str) -> Result<Quantity, ReportError> {
    let speed = solution.state(name)?.speed_m_per_s.ok_or_else(|| ReportError::NoBore { name: name.into() })?;
    Ok(solution.garden.quantity(speed, dim::SPEED))
}

/// Electrical power of a booster. Errors: an unknown name; no booster; it does not say what it takes.
pub fn power(solution: &Solution, name: &str) -> Result<Quantity, ReportError> {
    let place = solution.garden.find(name)?;
    let part = &solution.garden.parts()[place];
    if !part.traits().pumps {
        return Err(ReportError::NotABooster { name: name.into(), kind: part.spec().word });
    }
    let unknown = || ReportError::PowerUnknown { asked: "power", name: name.into() };
    Ok(solution.garden.quantity(solution.electric_power_w(place).ok_or_else(unknown)?, dim::POWER))
}

/// A solution for people: which zones, all parts that water reaches, and what to mind.
pub fn in_words(solution: &Solution, look: Look) -> String {
    let look = look.or_own(&solution.garden);
    let findings = grouped(&of_run(solution), solution.garden.accepted());
    summary(zones_in_words(solution), table(solution).ok(), &findings, look)
}
