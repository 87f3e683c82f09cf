//! A steady state as tables and text, and single numbers of it by the names of parts.

use super::{Look, ReportError, given_by, summary};
use crate::findings::{grouped, of_run};
use crate::garden::{self, Change, Garden, TreeLine};
use crate::hydraulics::{Doing, PartState, Solution};
use crate::parts::{Id, Placing};
use crate::quantity::{Currency, Dimension, Preference, Quantity, UnitSystem, dim};
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

/// The garden as a tree in the way of the water, with what each part does: all parts that water reaches, and the closed valves beside.
pub fn tree(solution: &Solution) -> Result<Table, TableError> {
    let garden = &solution.garden;
    let state = |place: usize| &solution.parts[place];
    let reached = |place: usize| solution.open[place] && state(place).pressure_out_pa.is_some();
    let beside = |place: usize| !solution.open[place] && state(place).pressure_in_pa.is_some();
    let mut lines: Vec<TreeLine> = Vec::new();
    let mut follows = true;
    for line in garden::tree(garden) {
        // A branch that joins what is above is shown where the branch itself is.
        follows = line.place.map_or(follows, |place| reached(place) || beside(place));
        lines.extend(follows.then_some(line));
    }
    let places: Vec<Option<usize>> = lines.iter().map(|line| line.place).collect();
    let column = |name: &str, dimension, value: &dyn Fn(usize) -> Option<f64>| {
        given_by(garden, name, places.iter().map(|place| place.filter(|&place| reached(place)).and_then(value)), dimension)
    };
    let placing = |place: usize| garden.spec(place).placing;
    let texts = |name: &str, of: &dyn Fn(usize) -> Option<String>| Column {
        name: name.into(),
        values: Values::Texts(places.iter().map(|place| place.and_then(of)).collect()),
    };
    Table::new(vec![
        Column::texts("part", lines.iter().map(|line| line.text.as_str())),
        texts("kind", &|place| Some(kind_in_words(garden, place))),
        column("flow", dim::FLOW, &|place| (placing(place) != Placing::AtPoint).then_some(state(place).flow_m3_per_s)),
        column("pressure", dim::PRESSURE, &|place| state(place).pressure_out_pa),
        column("loss", dim::PRESSURE, &|place| state(place).loss_pa().filter(|_| placing(place) == Placing::Inline)),
        column("velocity", dim::SPEED, &|place| state(place).speed_m_per_s),
        texts("state", &|place| solution.doing(place).map(|doing| doing.words().into())),
    ])
}

/// All heads, emitters and soakers of the garden, also those without water.
pub fn heads(solution: &Solution) -> Result<Table, TableError> {
    let garden = &solution.garden;
    let places: Vec<usize> = garden.of_spec(|spec| spec.traits.waters).collect();
    let zones = garden.zones_of_places();
    let zone_of = |place: usize| {
        let names: Vec<&str> = zones[place].iter().map(|&valve| garden.name(valve)).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let own = |name: &str, id: Id| {
        let given = places.iter().find_map(|&place| garden.parts()[place].quantity(id)).map(|quantity| quantity.preference);
        let preference = given.unwrap_or(garden.units().preference(dim::PRESSURE));
        Column::quantities(name, places.iter().map(|&place| garden.parts()[place].si(id)), dim::PRESSURE, preference)
    };
    let state = |place: usize| match solution.parts[place].pressure_out_pa {
        Some(_) => solution.doing(place),
        None => Some(Doing::NoFlow),
    };
    Table::new(vec![
        Column::texts("head", places.iter().map(|&place| garden.name(place))),
        Column { name: "zone".into(), values: Values::Texts(places.iter().map(|&place| zone_of(place)).collect()) },
        given_by(garden, "pressure", places.iter().map(|&place| solution.parts[place].pressure_out_pa), dim::PRESSURE),
        given_by(garden, "flow", places.iter().map(|&place| Some(solution.parts[place].flow_m3_per_s)), dim::FLOW),
        own("range_low", Id::RangeLow),
        own("range_high", Id::RangeHigh),
        Column {
            name: "state".into(),
            values: Values::Texts(places.iter().map(|&place| state(place).map(|doing| doing.words().into())).collect()),
        },
    ])
}

/// Options side by side: the price of all parts where all are in one currency, the flow of all sources, and the pressure at each
/// head, under the name of the head.
pub fn side_by_side(results: &[(String, Solution)]) -> Result<Table, TableError> {
    let units = |dimension| results.first().map_or(Preference::Usual, |(_, first)| first.garden.units().preference(dimension));
    let prices: Vec<Option<Quantity>> = results.iter().map(|(_, result)| price(&result.garden)).collect();
    let currency = prices.iter().flatten().next().copied();
    let flow = |result: &Solution| {
        let sources = result.garden.of_spec(|spec| spec.placing == Placing::Source);
        sources.map(|place| result.parts[place].flow_m3_per_s.max(0.0)).sum()
    };
    let mut heads: Vec<&str> = Vec::new();
    for (_, result) in results {
        for place in result.garden.of_spec(|spec| spec.traits.waters) {
            let name = result.garden.name(place);
            if result.parts[place].pressure_out_pa.is_some() && !heads.contains(&name) {
                heads.push(name);
            }
        }
    }
    let mut columns = vec![Column::texts("option", results.iter().map(|(name, _)| name.as_str()))];
    if let Some(one) = currency {
        let same = |price: &Option<Quantity>| price.filter(|price| price.dimension == one.dimension).map(|price| price.si);
        columns.push(Column::quantities("price", prices.iter().map(same), one.dimension, one.preference));
    }
    columns.push(Column::quantities("flow", results.iter().map(|(_, result)| Some(flow(result))), dim::FLOW, units(dim::FLOW)));
    columns.extend(heads.into_iter().filter(|name| !["option", "price", "flow"].contains(name)).map(|name| {
        let pressure = |(_, result): &(String, Solution)| result.pressure_pa(name).ok().flatten();
        Column::quantities(name, results.iter().map(pressure), dim::PRESSURE, units(dim::PRESSURE))
    }));
    Table::new(columns)
}

/// What all parts that have a price cost; none where none has one, or where they are in several currencies.
pub fn price(garden: &Garden) -> Option<Quantity> {
    let mut prices = garden.parts().iter().filter_map(|part| part.quantity(Id::Price));
    let first = prices.next()?;
    prices.try_fold(first, |sum, price| (price.dimension == sum.dimension).then_some(Quantity { si: sum.si + price.si, ..sum }))
}

/// What differs between two gardens, a row for each difference.
pub fn changes(before: &Garden, after: &Garden, system: UnitSystem) -> Result<Table, TableError> {
    let changes = crate::garden::changes(before, after, system);
    let column = |name: &str, text: &dyn Fn(&Change) -> Option<String>| Column {
        name: name.into(),
        values: Values::Texts(changes.iter().map(text).collect()),
    };
    Table::new(vec![
        column("part", &|change| change.part.clone()),
        column("change", &|change| Some(change.what.into())),
        column("parameter", &|change| change.parameter.map(Into::into)),
        column("before", &|change| change.before.clone()),
        column("after", &|change| change.after.clone()),
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

pub(super) fn unreached(solution: &Solution, name: &str) -> ReportError {
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
    let place = booster(solution, name)?;
    let unknown = || ReportError::PowerUnknown { asked: "power", name: name.into() };
    Ok(solution.garden.quantity(solution.electric_power_w(place).ok_or_else(unknown)?, dim::POWER))
}

/// Speed of a booster as a share of its own speed, zero while it is off. Errors: an unknown name; no booster.
pub fn pump_speed(solution: &Solution, name: &str) -> Result<Quantity, ReportError> {
    Ok(Quantity::new(solution.share_of_speed(booster(solution, name)?), dim::NUMBER))
}

/// The place of a booster. Errors: an unknown name; no booster.
fn booster(solution: &Solution, name: &str) -> Result<usize, ReportError> {
    let place = solution.garden.find(name)?;
    let part = &solution.garden.parts()[place];
    match part.traits().pumps {
        true => Ok(place),
        false => Err(ReportError::NotABooster { name: name.into(), kind: part.spec().word }),
    }
}

/// A solution for people: which zones, all parts that water reaches, and what to mind.
pub fn in_words(solution: &Solution, look: Look) -> String {
    let look = look.or_own(&solution.garden);
    let findings = grouped(&of_run(solution), solution.garden.accepted());
    summary(zones_in_words(solution), tree(solution).ok(), &findings, look)
}
