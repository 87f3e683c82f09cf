//! A reading as tables and as the text that a shell shows.
//!
//! The numbers come from `crate::hydraulics`; the warnings from `crate::findings`.

use super::Context;
use super::error::{Answer, ScriptError, raise};
use crate::findings::of_run;
use crate::garden::Garden;
use crate::hydraulics::{PartState, Reading};
use crate::parts::{Id, Kind, Part, Placing};
use crate::quantity::{Preference, dim, find_unit};
use crate::table::{Column, Sheet, Table, Values};
use rhai::EvalAltResult;

/// The part under the name it has in a garden.
pub fn part_named(part: Part, name: &str) -> Answer<Part> {
    part.named(name).map_err(raise)
}

/// The open zones in words.
pub fn zones_in_words(reading: &Reading) -> String {
    match reading.zones.as_slice() {
        [] if reading.garden.of_kind(Kind::Valve).next().is_none() => "everything open".into(),
        [] => "all valves shut".into(),
        zones => format!("{} open", zones.join(" and ")),
    }
}

/// The parts that water reaches.
fn reached(reading: &Reading) -> impl Iterator<Item = &PartState> {
    reading.parts.iter().filter(|state| reading.open[state.place] && state.pressure_out_pa.is_some())
}

/// All parts that have a price.
pub fn bill(garden: &Garden) -> Answer<Table> {
    let priced: Vec<(usize, f64)> =
        garden.parts().iter().enumerate().filter_map(|(place, part)| Some((place, part.si(Id::Price)?))).collect();
    Table::new(vec![
        Column::texts("part", priced.iter().map(|(place, _)| garden.name(*place))),
        Column::texts("kind", priced.iter().map(|(place, _)| garden.parts()[*place].spec().word.replace('_', " "))),
        Column::quantities("price", priced.iter().map(|(_, price)| Some(*price)), dim::MONEY, Preference::Usual),
    ])
    .map_err(raise)
}

/// All parts that water reaches.
pub fn table(reading: &Reading) -> Answer<Table> {
    let garden = &reading.garden;
    let inline = |state: &&PartState| garden.parts()[state.place].spec().placing == Placing::Inline;
    let states: Vec<&PartState> = reached(reading).collect();
    let column = |name: &str, dimension, value: &dyn Fn(&PartState) -> Option<f64>| {
        Column::quantities(name, states.iter().map(|state| value(state)), dimension, Preference::Usual)
    };
    let flow =
        |state: &PartState| (garden.parts()[state.place].spec().placing != Placing::AtPoint).then_some(state.flow_m3_per_s);
    let columns = vec![
        Column::texts("part", states.iter().map(|state| garden.name(state.place))),
        Column::texts("kind", states.iter().map(|state| garden.parts()[state.place].spec().word.replace('_', " "))),
        column("flow", dim::FLOW, &flow),
        column("pressure", dim::PRESSURE, &|state| state.pressure_out_pa),
        column("loss", dim::PRESSURE, &|state| Some(state).filter(inline).and_then(PartState::loss_pa)),
        column("speed", dim::SPEED, &|state| state.speed_m_per_s),
        Column {
            name: "state".into(),
            values: Values::Texts(states.iter().map(|state| state_in_words(reading, state)).collect()),
        },
        column("reynolds", dim::NUMBER, &|state| state.reynolds.map(f64::round)),
    ];
    Table::new(columns).map_err(raise)
}

/// What a part does, in a word or two.
fn state_in_words(reading: &Reading, state: &PartState) -> Option<String> {
    let part = &reading.garden.parts()[state.place];
    let flows = state.flow_m3_per_s != 0.0;
    if reading.undetermined.iter().flatten().any(|&place| place == state.place) {
        return Some("split undetermined".into());
    }
    if part.spec().traits.fills && state.flow_m3_per_s < 0.0 {
        return Some("fills".into());
    }
    let words = match part.kind() {
        Kind::Head | Kind::Emitter if !flows => "dry",
        Kind::Head => {
            let pressure = state.pressure_out_pa?;
            if part.si(Id::NeedsLow).is_some_and(|low| pressure < low) {
                "stalls"
            } else if part.si(Id::NeedsHigh).is_some_and(|high| pressure > high) {
                "too much"
            } else if part.si(Id::NeedsLow).is_some() {
                "well"
            } else {
                return None;
            }
        }
        Kind::CheckValve | Kind::Backflow => {
            if flows {
                "open"
            } else {
                "shut"
            }
        }
        Kind::Relief => {
            if flows {
                "blows off"
            } else {
                "shut"
            }
        }
        Kind::Regulator => {
            let holds = state.pressure_out_pa.is_some_and(|out| (out - part.value(Id::Set)).abs() < 1e-6 * part.value(Id::Set));
            if !flows {
                "shut"
            } else if holds {
                "holds"
            } else {
                "wide open"
            }
        }
        Kind::Booster => {
            if reading.runs[state.place] {
                "runs"
            } else {
                "off"
            }
        }
        Kind::PressureSwitch => reading.switches.iter().find(|switch| switch.place == state.place)?.verdict.word(),
        Kind::Hose | Kind::Pipe => state.regime()?.name(),
        _ => return None,
    };
    Some(words.into())
}

/// The way of the water to a part.
pub fn profile(reading: &Reading, name: &str) -> Answer<Table> {
    let points = reading.profile(name).map_err(raise)?;
    if points.is_empty() {
        let error = ScriptError::new(format!("no supply reaches '{name}' with {}", zones_in_words(reading)));
        return Err(error.with_hint("open the valve of its zone in run(..)").into());
    }
    let feet = find_unit("ft").map_or(Preference::Usual, Preference::Written);
    let length = |name: &str, values: Vec<f64>| Column::quantities(name, values.into_iter().map(Some), dim::LENGTH, feet);
    let columns = vec![
        Column::texts("part", points.iter().map(|point| reading.garden.name(point.place))),
        length("distance", points.iter().map(|point| point.distance_m).collect()),
        length("height", points.iter().map(|point| point.height_m).collect()),
        Column::quantities("pressure", points.iter().map(|point| Some(point.pressure_pa)), dim::PRESSURE, Preference::Usual),
        length("grade", points.iter().map(|point| reading.grade_m(point)).collect()),
    ];
    Table::new(columns).map_err(raise)
}

/// Electrical power of a booster.
pub fn power_w(reading: &Reading, name: &str) -> Result<f64, Box<EvalAltResult>> {
    let state = reading.state(name).map_err(raise)?;
    let part = &reading.garden.parts()[state.place];
    if part.kind() != Kind::Booster {
        return Err(ScriptError::new(format!("power: '{name}' is a {}, not a booster", part.spec().word)).into());
    }
    if !reading.runs[state.place] {
        return Ok(0.0);
    }
    if let Some(watts) = part.si(Id::Watts) {
        return Ok(watts);
    }
    let Some(efficiency) = part.si(Id::Efficiency) else {
        let error = ScriptError::new(format!("power: '{name}' has neither watts nor an efficiency"));
        return Err(error.with_hint("say .watts(550.W) or .efficiency(0.4)").into());
    };
    let rise = part.curve().map_or(0.0, |curve| curve.at_speed(part.value(Id::Speed)).rise(state.flow_m3_per_s).0);
    Ok((rise * state.flow_m3_per_s / efficiency).max(0.0))
}

/// A reading as the shell shows it: which zones, all parts that water reaches, and what to mind.
pub fn summary(reading: &Reading, context: &Context) -> String {
    let mut lines = vec![zones_in_words(reading)];
    if let Ok(table) = table(reading) {
        let sheet = Sheet { system: context.units(), width: Some(context.width()), rows: Some(40), ..Sheet::default() };
        lines.push(table.show_on(&sheet));
    }
    let findings = of_run(reading);
    lines.extend(findings.iter().map(|finding| format!("{}: {}", finding.level().word(), finding.what(context.units()))));
    if !findings.is_empty() {
        lines.push("(.findings() tells why, and what to do)".into());
    }
    lines.join("\n")
}
