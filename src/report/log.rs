//! A log as tables and text, and single numbers of it by the names of parts.

use super::{Look, ReportError, given_by, summary};
use crate::findings::{counted, grouped, of_log};
use crate::garden::Garden;
use crate::operation::{Cycle, Log, Moment, Tank, time_in_words};
use crate::parts::Placing;
use crate::quantity::{Preference, Quantity, UnitSystem, dim, show_number};
use crate::table::{Column, Table, TableError};

/// Moments of a trace between two events, and in all.
const BETWEEN: usize = 10;
const MOST_MOMENTS: usize = 6000;

/// Moments of a run, as times of the day from the midnight with which it begins.
fn times(name: &str, seconds: impl IntoIterator<Item = f64>) -> Column {
    Column::quantities(name, seconds.into_iter().map(Some), dim::TIME, Preference::Clock)
}

/// All events, or those of the parts named. Errors: an unknown name.
pub fn events(log: &Log, names: Option<&[String]>) -> Result<Table, ReportError> {
    let places = names.map(|names| places_of(log, names)).transpose()?;
    let asked = |place: usize| places.as_ref().is_none_or(|places| places.contains(&place));
    let events: Vec<_> = log.events().filter(|event| asked(event.place)).collect();
    let moments_s: Vec<f64> = events.iter().map(|event| event.time_s).collect();
    let mut columns = Vec::new();
    // Where the schedule has dates, the day has its date.
    let dates: Option<Vec<String>> = moments_s.iter().map(|time_s| log.schedule.date(*time_s)).collect();
    if let (Some(dates), Some(_)) = (dates, log.schedule.first_date) {
        columns.push(Column::texts("date", dates));
    }
    columns.extend([
        times("time", moments_s.iter().copied()),
        Column::texts("part", events.iter().map(|event| log.garden.name(event.place))),
        Column::texts("event", events.iter().map(|event| event.kind.words())),
    ]);
    let levels: Vec<Option<f64>> =
        events.iter().map(|event| Some(log.garden.parts()[event.place].clock().get(event.kind.level()?)?.1)).collect();
    if levels.iter().any(Option::is_some) {
        columns.push(given_by(&log.garden, "static_pressure", levels, dim::PRESSURE));
    }
    Ok(Table::new(columns)?)
}

fn places_of(log: &Log, names: &[String]) -> Result<Vec<usize>, ReportError> {
    names.iter().map(|name| Ok(log.garden.find(name)?)).collect()
}

fn moments(log: &Log, from_s: f64, to_s: f64) -> Result<Vec<Moment>, ReportError> {
    Ok(log.trace(from_s, to_s, BETWEEN, MOST_MOMENTS).map_err(|error| error.named(&log.garden))?)
}

/// The trace at named parts between two times. Errors: an unknown name; a state that has no solution.
pub fn trace(log: &Log, names: &[String], from_s: f64, to_s: f64) -> Result<Table, ReportError> {
    let places = places_of(log, names)?;
    let moments = moments(log, from_s, to_s)?;
    let mut columns = vec![times("time", moments.iter().map(|moment| moment.time_s))];
    columns.extend(places.iter().map(|&place| column_of(log, &moments, place)));
    Ok(Table::new(columns)?)
}

fn column_of(log: &Log, moments: &[Moment], place: usize) -> Column {
    let name = log.garden.name(place);
    if log.garden.spec(place).traits.pumps {
        let on = moments.iter().map(|moment| if moment.runs[place] { 1.0 } else { 0.0 });
        return Column::numbers(format!("{name}.on"), on);
    }
    let pressure = |moment: &Moment| Some(moment.pressure_pa[place]).filter(|pressure| pressure.is_finite());
    given_by(&log.garden, &format!("{name}.pressure"), moments.iter().map(pressure), dim::PRESSURE)
}

/// The trace of all that is worth it.
pub fn trace_of_all(log: &Log) -> Result<Table, ReportError> {
    let moments = moments(log, 0.0, log.duration_s())?;
    let garden = &log.garden;
    let mut columns = vec![times("time", moments.iter().map(|moment| moment.time_s))];
    columns.extend(garden.boosters().map(|place| column_of(log, &moments, place)));
    for (place, part) in garden.parts().iter().enumerate() {
        let name = garden.name(place);
        let told = part.spec().placing == Placing::AtPoint || part.spec().throws();
        if part.spec().placing == Placing::Source {
            let flows = moments.iter().map(|moment| Some(moment.flow_m3_per_s[place]));
            columns.push(given_by(garden, &format!("{name}.flow"), flows, dim::FLOW));
        } else if told {
            columns.push(column_of(log, &moments, place));
        }
    }
    Ok(Table::new(columns)?)
}

/// Errors: the run was cut short, so that a sum over it would be too small.
pub(super) fn is_whole(log: &Log, asked: &'static str) -> Result<(), ReportError> {
    log.cut_short_in_words().map_or(Ok(()), |why| Err(ReportError::CutShort { asked, why }))
}

/// Energy of all boosters. Errors: the run was cut short; a booster does not say what it takes.
pub fn energy(log: &Log) -> Result<Quantity, ReportError> {
    is_whole(log, "energy")?;
    let mut sum_j = 0.0;
    for (place, energy_j) in log.energy_j() {
        let unknown = || ReportError::PowerUnknown { asked: "energy", name: log.garden.name(place).into() };
        sum_j += energy_j.ok_or_else(unknown)?;
    }
    Ok(Quantity::new(sum_j, dim::ENERGY))
}

/// What went through sources and outlets, as a sum that must be whole. Errors: the run was cut short.
pub fn whole_water(log: &Log) -> Result<Table, ReportError> {
    is_whole(log, "water")?;
    Ok(water(log)?)
}

/// What went through sources and outlets.
pub fn water(log: &Log) -> Result<Table, TableError> {
    let mut rows: Vec<(String, String, f64)> = Vec::new();
    let kind = |place: usize| log.garden.spec(place).word.replace('_', " ");
    for &(place, volume_m3) in log.drawn_m3() {
        let name = log.garden.name(place).to_string();
        if volume_m3 > 0.0 {
            rows.push((name, kind(place), volume_m3));
        } else if volume_m3 < 0.0 {
            let fills = log.garden.spec(place).traits.fills;
            rows.push((name, if fills { "filled" } else { "backflow" }.into(), -volume_m3));
        }
    }
    rows.extend(
        log.discharged_m3().iter().map(|&(place, volume_m3)| (log.garden.name(place).to_string(), kind(place), volume_m3)),
    );
    Table::new(vec![
        Column::texts("part", rows.iter().map(|row| row.0.clone())),
        Column::texts("kind", rows.iter().map(|row| row.1.clone())),
        given_by(&log.garden, "volume", rows.iter().map(|row| Some(row.2)), dim::VOLUME),
    ])
}

/// What went through one part. Errors: the run was cut short; an unknown name; nothing is added up for it.
pub fn water_of(log: &Log, name: &str) -> Result<Quantity, ReportError> {
    is_whole(log, "water")?;
    let place = log.garden.find(name)?;
    let not_added_up = || ReportError::NotAddedUp { name: name.into(), kind: log.garden.spec(place).word };
    Ok(log.garden.quantity(log.water_m3(place).ok_or_else(not_added_up)?, dim::VOLUME))
}

fn pressure_or(log: &Log, name: &str, found: Option<f64>) -> Result<Quantity, ReportError> {
    let pressure_pa = found.ok_or_else(|| ReportError::NeverReached { name: name.into() })?;
    Ok(log.garden.quantity(pressure_pa, dim::PRESSURE))
}

/// The highest pressure at a part. Errors: an unknown name; no supply ever reaches it.
pub fn highest_of(log: &Log, name: &str) -> Result<Quantity, ReportError> {
    pressure_or(log, name, log.highest(log.garden.find(name)?).map(|extreme| extreme.pressure_pa))
}

/// The lowest pressure downstream of a part. Errors: an unknown name; no supply ever reaches it.
pub fn lowest_of(log: &Log, name: &str) -> Result<Quantity, ReportError> {
    pressure_or(log, name, log.lowest(log.garden.find(name)?).map(|extreme| extreme.pressure_pa))
}

/// When a booster ran: start and stop of each run; one that goes on stops with the log. Errors: an unknown name; no booster.
pub fn runs_of(log: &Log, name: &str) -> Result<Vec<[Quantity; 2]>, ReportError> {
    let place = log.garden.find(name)?;
    if !log.boosters().any(|booster| booster == place) {
        return Err(ReportError::NoRuns { name: name.into() });
    }
    let time = |seconds: f64| Quantity { preference: Preference::Clock, ..Quantity::new(seconds, dim::TIME) };
    Ok(log.runs(place).map(|run| [time(run.from_s), time(run.to_s.unwrap_or(log.duration_s()))]).collect())
}

/// The shortest run of a booster. Errors: none was finished.
pub fn shortest_run(log: &Log) -> Result<Quantity, ReportError> {
    log.shortest_run_s().map(time_in_words).ok_or(ReportError::NoRun)
}

/// The shortest rest of a booster between two runs. Errors: there was none.
pub fn shortest_off_time(log: &Log) -> Result<Quantity, ReportError> {
    log.shortest_rest_s().map(time_in_words).ok_or(ReportError::NoRest)
}

/// Starts of all boosters for each hour.
pub fn starts_per_hour(log: &Log) -> Quantity {
    Quantity::new(log.starts_per_hour() / 3600.0, dim::PER_TIME)
}

/// Highest pressures of all parts, the highest first.
pub fn highest(log: &Log) -> Result<Table, TableError> {
    let garden = &log.garden;
    let mut rows: Vec<_> = (0..garden.parts().len()).filter_map(|place| Some((place, log.highest(place)?))).collect();
    rows.sort_by(|a, b| b.1.pressure_pa.total_cmp(&a.1.pressure_pa));
    Table::new(vec![
        Column::texts("part", rows.iter().map(|row| garden.name(row.0))),
        given_by(garden, "pressure", rows.iter().map(|row| Some(row.1.pressure_pa)), dim::PRESSURE),
        Column::texts("at", rows.iter().map(|row| log.schedule.moment(row.1.time_s))),
    ])
}

/// How long heads had too little. Errors: the run was cut short.
pub fn time_below_range(log: &Log) -> Result<Table, ReportError> {
    is_whole(log, "time_below_range")?;
    let garden = &log.garden;
    let needy: Vec<usize> = (0..garden.parts().len()).filter(|&place| garden.parts()[place].needs_pa().is_some()).collect();
    Ok(Table::new(vec![
        Column::texts("part", needy.iter().map(|&place| garden.name(place))),
        given_by(garden, "open", needy.iter().map(|&place| Some(log.need_s(place).0)), dim::TIME),
        given_by(garden, "below", needy.iter().map(|&place| Some(log.need_s(place).1)), dim::TIME),
    ])?)
}

/// Tanks that were worked out.
pub fn tanks(garden: &Garden, tanks: &[Tank]) -> Result<Table, TableError> {
    let volume = |value: &dyn Fn(&Tank) -> f64, name: &str| {
        given_by(garden, name, tanks.iter().map(|tank| Some(value(tank))), dim::VOLUME)
    };
    Table::new(vec![
        Column::texts("switch", tanks.iter().map(|tank| garden.name(tank.switch))),
        volume(&|tank| tank.volume_m3, "volume"),
        given_by(garden, "precharge", tanks.iter().map(|tank| Some(tank.precharge_pa)), dim::PRESSURE),
        volume(&|tank| tank.drawdown_m3, "drawdown"),
        given_by(garden, "highest demand", tanks.iter().map(|tank| Some(tank.worst_demand_m3_per_s)), dim::FLOW),
        given_by(garden, "shortest run", tanks.iter().map(|tank| Some(tank.shortest_run_s)), dim::TIME),
        given_by(garden, "starts", tanks.iter().map(|tank| Some(tank.starts_per_s)), dim::PER_TIME),
        Column::texts("controlling limit", tanks.iter().map(|tank| tank.controlling_limit.to_string())),
    ])
}

/// Days that repeat others, in words.
fn cycle_in_words(cycle: Cycle) -> String {
    let from = cycle.from_day;
    match cycle.days {
        Some(1) => format!("from day {from} on every day is like the one before"),
        Some(days) => format!("from day {from} on every day is like the one {days} days before"),
        None => format!("from day {from} on every day is like an earlier one"),
    }
}

/// A log in a few lines: how long, how often pumps ran.
pub fn headline(log: &Log, system: UnitSystem) -> String {
    let events = log.number_of_events();
    let mut lines =
        vec![format!("{} from day 1, 00:00, {}", time_in_words(log.duration_s()).show(system), counted(events, "event"))];
    lines.extend(log.cut_short_in_words());
    lines.extend(log.cycle().map(cycle_in_words));
    for booster in log.boosters() {
        let runs = log.runs(booster).count();
        let share = log.on_s(booster) / log.duration_s();
        let runs = counted(runs, "run");
        lines.push(format!("{}: {runs}, duty cycle {}%", log.garden.name(booster), show_number((share * 1000.0).round() / 10.0)));
    }
    if let Some(shortest_s) = log.shortest_run_s() {
        lines.push(format!(
            "shortest run {}, at most {} in an hour",
            time_in_words(shortest_s).show(system),
            counted(log.peak_starts_per_hour(), "start")
        ));
    }
    lines.join("\n")
}

/// A log for people.
pub fn in_words(log: &Log, look: Look) -> String {
    let look = look.or_own(&log.garden);
    summary(headline(log, look.system), water(log).ok(), &grouped(&of_log(log), log.garden.accepted()), look)
}
