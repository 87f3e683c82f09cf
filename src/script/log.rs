//! A log as tables and as the text that a shell shows.
//!
//! The numbers come from `crate::operation`; the warnings from `crate::findings`.

use super::Context;
use super::error::{Answer, ScriptError, raise};
use super::quantities::value_of;
use crate::findings::{counted, of_log};
use crate::garden::Garden;
use crate::operation::{DrawTime, Log, Moment, Programme, PumpRun, Tank, Timer, day_and_clock, days_and_clocks, time_in_words};
use crate::parts::{Id, Kind, Placing};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim, find_unit, show_number};
use crate::table::{Column, Sheet, Table, Values};
use rhai::{Array, Dynamic};

/// Moments of a trace between two events, and in all.
const BETWEEN: usize = 10;
const MOST_MOMENTS: usize = 6000;
const DAY_S: f64 = 86_400.0;

fn clock(seconds: f64) -> String {
    let whole = day_and_clock(seconds);
    let clock = whole.split(", ").nth(1).unwrap_or_default();
    clock.strip_suffix(":00").unwrap_or(clock).to_string()
}

fn lasting(seconds: f64) -> String {
    time_in_words(seconds).to_string()
}

/// A timer in words.
pub fn timer_in_words(timer: &Timer) -> String {
    let starts: Vec<String> = timer.starts_s.iter().map(|&start_s| clock(start_s)).collect();
    let zones: Vec<String> = timer.zones.iter().map(|(zone, lasting_s)| format!("{zone} {}", lasting(*lasting_s))).collect();
    let every = match show_number(timer.every_s / DAY_S) {
        days if days == "1" => "day".to_string(),
        days => format!("{days} days"),
    };
    let mut text = format!("{}: {} every {every}", timer.name, starts.join(", "));
    if timer.first_day > 1 {
        text += &format!(" from day {}", timer.first_day);
    }
    text += &format!(": {}", zones.join(", "));
    if timer.pause_s > 0.0 {
        text += &format!(", {} between", lasting(timer.pause_s));
    }
    if !timer.skipped_days.is_empty() {
        let days: Vec<String> = timer.skipped_days.iter().map(u32::to_string).collect();
        text += &format!(", not on day {}", days.join(", "));
    }
    text
}

/// A programme in words.
pub fn programme_in_words(programme: &Programme) -> String {
    let draw = |draw: &DrawTime| match draw.every_s {
        Some(_) => format!("{} {} daily for {}", draw.name, clock(draw.at_s), lasting(draw.lasting_s)),
        None => format!("{} once at {} for {}", draw.name, day_and_clock(draw.at_s), lasting(draw.lasting_s)),
    };
    let mut lines: Vec<String> = programme.timers.iter().map(timer_in_words).collect();
    if !programme.draws.is_empty() {
        lines.push(format!("by hand: {}", programme.draws.iter().map(draw).collect::<Vec<_>>().join("; ")));
    }
    if lines.is_empty() { "nothing is opened".into() } else { lines.join("\n") }
}

fn hours() -> Preference {
    find_unit("h").map_or(Preference::Usual, Preference::Written)
}

fn times(name: &str, seconds: impl IntoIterator<Item = f64>) -> Column {
    Column::quantities(name, seconds.into_iter().map(Some), dim::TIME, hours())
}

fn usual(name: &str, values: impl IntoIterator<Item = Option<f64>>, dimension: Dimension) -> Column {
    Column::quantities(name, values, dimension, Preference::Usual)
}

/// All events, or those of the parts named.
pub fn events(log: &Log, names: Option<&[String]>) -> Answer<Table> {
    let places = names.map(|names| names.iter().map(|name| log.garden.find(name)).collect::<Result<Vec<_>, _>>());
    let places = places.transpose().map_err(raise)?;
    let asked = |place: usize| places.as_ref().is_none_or(|places| places.contains(&place));
    let events: Vec<_> = log.events().iter().filter(|event| asked(event.place)).collect();
    let moments_s: Vec<f64> = events.iter().map(|event| event.time_s).collect();
    Table::new(vec![
        Column::texts("at", days_and_clocks(&moments_s)),
        // In seconds, so that no digit is lost however long the run is.
        usual("time", moments_s.iter().map(|&time_s| Some(time_s)), dim::TIME),
        Column::texts("part", events.iter().map(|event| log.garden.name(event.place))),
        Column::texts("event", events.iter().map(|event| event.kind.words())),
    ])
    .map_err(raise)
}

/// Overlaps of a programme.
pub fn overlaps(programme: &Programme, until_s: f64) -> Answer<Table> {
    let found = programme.overlaps(until_s).map_err(raise)?;
    let by = |timer: &Option<String>| timer.clone().unwrap_or_else(|| "by hand".into());
    Table::new(vec![
        Column::texts("from", found.iter().map(|overlap| day_and_clock(overlap.from_s))),
        Column::texts("to", found.iter().map(|overlap| day_and_clock(overlap.to_s))),
        Column::texts("first", found.iter().map(|overlap| overlap.first.name.clone())),
        Column::texts("opened by", found.iter().map(|overlap| by(&overlap.first.timer))),
        Column::texts("second", found.iter().map(|overlap| overlap.second.name.clone())),
        Column::texts("also by", found.iter().map(|overlap| by(&overlap.second.timer))),
    ])
    .map_err(raise)
}

fn moments(log: &Log, from_s: f64, to_s: f64) -> Answer<Vec<Moment>> {
    let found = log.trace(from_s, to_s, BETWEEN, MOST_MOMENTS);
    found.map_err(|error| ScriptError::new(error.named(&log.garden).to_string()).into())
}

/// The trace at named parts.
pub fn trace(log: &Log, names: &[String], from_s: f64, to_s: f64) -> Answer<Table> {
    let places = names.iter().map(|name| log.garden.find(name)).collect::<Result<Vec<_>, _>>().map_err(raise)?;
    let moments = moments(log, from_s, to_s)?;
    let mut columns = vec![times("time", moments.iter().map(|moment| moment.time_s))];
    columns.extend(places.iter().map(|&place| column_of(log, &moments, place)));
    Table::new(columns).map_err(raise)
}

fn column_of(log: &Log, moments: &[Moment], place: usize) -> Column {
    let name = log.garden.name(place);
    if log.garden.parts()[place].kind() == Kind::Booster {
        let on = moments.iter().map(|moment| if moment.runs[place] { 1.0 } else { 0.0 });
        return Column::numbers(format!("{name}.on"), on);
    }
    let pressure = |moment: &Moment| Some(moment.pressure_pa[place]).filter(|pressure| pressure.is_finite());
    usual(&format!("{name}.pressure"), moments.iter().map(pressure), dim::PRESSURE)
}

/// The trace of all that is worth it.
pub fn trace_of_all(log: &Log) -> Answer<Table> {
    let moments = moments(log, 0.0, log.duration_s())?;
    let garden = &log.garden;
    let mut columns = vec![times("time", moments.iter().map(|moment| moment.time_s))];
    columns.extend(garden.of_kind(Kind::Booster).map(|place| column_of(log, &moments, place)));
    for (place, part) in garden.parts().iter().enumerate() {
        let name = garden.name(place);
        let told = matches!(part.kind(), Kind::PressureSwitch | Kind::PressureTank | Kind::Head | Kind::Point);
        if part.spec().placing == Placing::Source {
            let flows = moments.iter().map(|moment| Some(moment.flow_m3_per_s[place]));
            columns.push(usual(&format!("{name}.flow"), flows, dim::FLOW));
        } else if told {
            columns.push(column_of(log, &moments, place));
        }
    }
    Table::new(columns).map_err(raise)
}

/// Errors: the run was cut short, so that a sum over it would be too small.
pub fn is_whole(log: &Log, word: &str) -> Answer<()> {
    let Some(words) = log.cut_short_in_words() else { return Ok(()) };
    let error = ScriptError::new(format!("{word}: the run was {words}; its sums would be too small"));
    Err(error.with_hint(".findings() tells more; cure it, or run a shorter time").into())
}

/// Energy of all boosters. Errors: one does not say what it takes.
pub fn energy(log: &Log) -> Answer<Dynamic> {
    let mut sum_j = 0.0;
    for (place, energy_j) in log.energy_j() {
        let Some(energy_j) = energy_j else {
            let name = log.garden.name(place);
            let error = ScriptError::new(format!("energy: '{name}' has neither watts nor an efficiency"));
            return Err(error.with_hint("say .watts(550.W) or .efficiency(0.4)").into());
        };
        sum_j += energy_j;
    }
    value_of(Quantity::new(sum_j, dim::ENERGY))
}

/// What went through sources and outlets.
pub fn water(log: &Log) -> Answer<Table> {
    let mut rows: Vec<(String, String, f64)> = Vec::new();
    let kind = |place: usize| log.garden.parts()[place].spec().word.replace('_', " ");
    for &(place, volume_m3) in log.drawn_m3() {
        let name = log.garden.name(place).to_string();
        if volume_m3 > 0.0 {
            rows.push((name, kind(place), volume_m3));
        } else if volume_m3 < 0.0 {
            let fills = log.garden.parts()[place].spec().traits.fills;
            rows.push((name, if fills { "filled" } else { "ran-back" }.into(), -volume_m3));
        }
    }
    rows.extend(
        log.discharged_m3().iter().map(|&(place, volume_m3)| (log.garden.name(place).to_string(), kind(place), volume_m3)),
    );
    Table::new(vec![
        Column::texts("part", rows.iter().map(|row| row.0.clone())),
        Column::texts("kind", rows.iter().map(|row| row.1.clone())),
        usual("volume", rows.iter().map(|row| Some(row.2)), dim::VOLUME),
    ])
    .map_err(raise)
}

/// What went through one part.
pub fn water_of(log: &Log, name: &str) -> Answer<Dynamic> {
    let place = log.garden.find(name).map_err(raise)?;
    let volume_m3 = log.water_m3(place).ok_or_else(|| {
        let word = log.garden.parts()[place].spec().word;
        let error = ScriptError::new(format!("water: nothing is added up for '{name}', a {word}"));
        Box::<rhai::EvalAltResult>::from(error.with_hint("ask for a supply, a valve, a head or another outlet"))
    })?;
    value_of(Quantity::new(volume_m3, dim::VOLUME))
}

fn pressure_or(log: &Log, name: &str, found: Option<f64>) -> Answer<Dynamic> {
    let _ = log;
    let never = || ScriptError::new(format!("no supply ever reaches '{name}' in this run"));
    value_of(Quantity::new(found.ok_or_else(|| raise(never()))?, dim::PRESSURE))
}

/// The highest pressure at a part.
pub fn highest_of(log: &Log, name: &str) -> Answer<Dynamic> {
    let place = log.garden.find(name).map_err(raise)?;
    pressure_or(log, name, log.highest(place).map(|extreme| extreme.pressure_pa))
}

/// The lowest pressure behind a part.
pub fn runs_of(log: &Log, name: &str) -> Answer<Array> {
    let place = log.garden.find(name).map_err(raise)?;
    if !log.boosters().any(|booster| booster == place) {
        let error = ScriptError::new(format!("runs: '{name}' is no booster"));
        return Err(error.with_hint("name the pump whose runs you want").into());
    }
    let time = |seconds: f64| Dynamic::from(Quantity::new(seconds, dim::TIME));
    let span = |run: &PumpRun| Dynamic::from(vec![time(run.from_s), time(run.to_s.unwrap_or(log.duration_s()))]);
    Ok(log.runs(place).iter().map(span).collect())
}

pub fn lowest_of(log: &Log, name: &str) -> Answer<Dynamic> {
    let place = log.garden.find(name).map_err(raise)?;
    pressure_or(log, name, log.lowest(place).map(|extreme| extreme.pressure_pa))
}

/// Highest pressures of all parts, the highest first.
pub fn highest(log: &Log) -> Answer<Table> {
    let garden = &log.garden;
    let mut rows: Vec<_> = (0..garden.parts().len()).filter_map(|place| Some((place, log.highest(place)?))).collect();
    rows.sort_by(|a, b| b.1.pressure_pa.total_cmp(&a.1.pressure_pa));
    Table::new(vec![
        Column::texts("part", rows.iter().map(|row| garden.name(row.0))),
        usual("pressure", rows.iter().map(|row| Some(row.1.pressure_pa)), dim::PRESSURE),
        Column::texts("at", rows.iter().map(|row| day_and_clock(row.1.time_s))),
    ])
    .map_err(raise)
}

/// How long heads had too little.
pub fn starved(log: &Log) -> Answer<Table> {
    let garden = &log.garden;
    let needy: Vec<usize> = (0..garden.parts().len()).filter(|&place| garden.parts()[place].si(Id::NeedsLow).is_some()).collect();
    Table::new(vec![
        Column::texts("part", needy.iter().map(|&place| garden.name(place))),
        usual("open", needy.iter().map(|&place| Some(log.need_s(place).0)), dim::TIME),
        usual("below", needy.iter().map(|&place| Some(log.need_s(place).1)), dim::TIME),
    ])
    .map_err(raise)
}

/// Tanks that were worked out.
pub fn tanks(garden: &Garden, tanks: &[Tank]) -> Answer<Table> {
    let volume = |value: &dyn Fn(&Tank) -> f64, name: &str| usual(name, tanks.iter().map(|tank| Some(value(tank))), dim::VOLUME);
    Table::new(vec![
        Column::texts("switch", tanks.iter().map(|tank| garden.name(tank.switch))),
        volume(&|tank| tank.volume_m3, "volume"),
        usual("precharge", tanks.iter().map(|tank| Some(tank.precharge_pa)), dim::PRESSURE),
        volume(&|tank| tank.drawdown_m3, "drawdown"),
        usual("worst draw", tanks.iter().map(|tank| Some(tank.worst_draw_m3_per_s)), dim::FLOW),
        usual("shortest run", tanks.iter().map(|tank| Some(tank.shortest_run_s)), dim::TIME),
        usual("starts", tanks.iter().map(|tank| Some(tank.starts_per_s)), dim::PER_TIME),
        Column {
            name: "decides".into(),
            values: Values::Texts(tanks.iter().map(|tank| Some(tank.decides.to_string())).collect()),
        },
    ])
    .map_err(raise)
}

/// A log in a few lines: how long, how often pumps ran.
pub fn headline(log: &Log, system: UnitSystem) -> String {
    let events = log.events().len();
    let mut lines =
        vec![format!("{} from day 1, 00:00, {}", time_in_words(log.duration_s()).show(system), counted(events, "event"))];
    lines.extend(log.cut_short_in_words());
    for booster in log.boosters() {
        let runs = log.runs(booster).len();
        let share = log.on_s(booster) / log.duration_s();
        let runs = counted(runs, "run");
        lines.push(format!(
            "{}: {runs}, on for {}% of the time",
            log.garden.name(booster),
            show_number((share * 1000.0).round() / 10.0)
        ));
    }
    if let Some(shortest_s) = log.shortest_run_s() {
        lines.push(format!(
            "shortest run {}, at most {} in an hour",
            time_in_words(shortest_s).show(system),
            counted(log.busiest_hour(), "start")
        ));
    }
    lines.join("\n")
}

/// A log as the shell shows it.
pub fn summary(log: &Log, context: &Context) -> String {
    let system = context.units();
    let mut lines = vec![headline(log, system)];
    if let Ok(table) = water(log) {
        let sheet = Sheet { system, width: Some(context.width()), rows: Some(40), ..Sheet::default() };
        lines.push(table.show_on(&sheet));
    }
    let findings = of_log(log);
    lines.extend(findings.iter().map(|finding| format!("{}: {}", finding.level().word(), finding.what(system))));
    if !findings.is_empty() {
        lines.push("(.findings() tells why, and what to do)".into());
    }
    lines.join("\n")
}
