//! Water hammer as tables, and its values as quantities.

use super::given_by;
use crate::parts::Id;
use crate::quantity::{Quantity, dim};
use crate::table::{Column, Table, TableError};
use crate::water_hammer::{Struck, WaterHammer};

/// The highest pressure.
pub fn peak(water_hammer: &WaterHammer) -> Quantity {
    water_hammer.garden().quantity(water_hammer.hardest().map_or(f64::NAN, |part| part.highest_pa), dim::PRESSURE)
}

/// The name of the part that sees it.
pub fn at(water_hammer: &WaterHammer) -> String {
    water_hammer.hardest().map_or(String::new(), |part| water_hammer.garden().name(part.place).to_string())
}

/// How much the pressure upstream of the valve rises.
pub fn rise(water_hammer: &WaterHammer) -> Quantity {
    water_hammer
        .garden()
        .quantity(water_hammer.at_valve().map_or(f64::NAN, |valve| valve.highest_pa - valve.before_pa), dim::PRESSURE)
}

/// Part by part, those on the way to the valve first.
pub fn table(water_hammer: &WaterHammer) -> Result<Table, TableError> {
    let rating = |part: &Struck| water_hammer.garden().parts()[part.place].si(Id::PressureRating);
    let column = |name: &str, dimension, value: &dyn Fn(&Struck) -> Option<f64>| {
        given_by(water_hammer.garden(), name, water_hammer.parts.iter().map(value), dimension)
    };
    Table::new(vec![
        Column::texts("part", water_hammer.parts.iter().map(|part| water_hammer.garden().name(part.place))),
        column("wave_speed", dim::SPEED, &|part| part.hose.map(|hose| hose.wave_speed_m_per_s)),
        column("velocity", dim::SPEED, &|part| part.speed_m_per_s),
        column("working_pressure", dim::PRESSURE, &|part| Some(part.before_pa)),
        column("highest", dim::PRESSURE, &|part| Some(part.highest_pa)),
        column("rise", dim::PRESSURE, &|part| Some(part.highest_pa - part.before_pa)),
        column("lowest", dim::PRESSURE, &|part| Some(part.lowest_pa)),
        column("pressure_rating", dim::PRESSURE, &rating),
        column("margin", dim::PRESSURE, &|part| Some(rating(part)? - part.highest_pa)),
    ])
}

/// Over time: pressure upstream of the valve, and downstream of the nearest check valve with the flow through it.
pub fn trace(water_hammer: &WaterHammer) -> Result<Table, TableError> {
    let trace = &water_hammer.trace;
    let of = |name: &str, values: &[f64], dimension| {
        given_by(water_hammer.garden(), name, values.iter().map(|value| Some(*value)), dimension)
    };
    let mut columns = vec![of("time", &trace.time_s, dim::TIME), of("valve", &trace.valve_pa, dim::PRESSURE)];
    if !trace.check_pa.is_empty() {
        columns.push(of("check", &trace.check_pa, dim::PRESSURE));
        columns.push(of("check_flow", &trace.check_m3_per_s, dim::FLOW));
    }
    Table::new(columns)
}
