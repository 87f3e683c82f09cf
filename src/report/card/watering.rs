//! The card beside the timer: zone, days, start times, minutes, cycles.

use super::super::ReportError;
use super::lines::{clocks, names, sheet, table, text};
use crate::figure::{Sheet, SheetBlock, SheetCell};
use crate::garden::Garden;
use crate::operation::{Schedule, Timer};
use crate::quantity::{DAY_S, show_number, show_number_with};

/// What one zone gets.
#[derive(Clone, Debug, PartialEq)]
pub struct WateringRow {
    /// The name of its valve.
    pub zone: String,
    /// The days, in words.
    pub days: String,
    /// When it opens, s after midnight; one for each cycle.
    pub starts_s: Vec<f64>,
    /// How long each cycle is, s.
    pub run_s: f64,
}

/// The days of a timer in words: by its calendar, by the day of the week where the date is known, or by its interval.
fn days(timer: &Timer, schedule: &Schedule) -> String {
    if let Some(calendar) = &timer.calendar {
        return calendar.in_words().trim_start_matches("on ").to_string();
    }
    let interval = timer.every_s / DAY_S;
    let first_s = f64::from(timer.first_day.saturating_sub(1)) * DAY_S;
    let first = schedule.first_date.and_then(|date| date.later_by(first_s));
    match first {
        Some(date) if interval == 7.0 => date.date().weekday().to_string(),
        _ if interval == 1.0 => "every day".into(),
        Some(date) => format!("every {} days from {date}", show_number(interval)),
        None if timer.first_day > 1 => format!("every {} days from day {}", show_number(interval), timer.first_day),
        None => format!("every {} days", show_number(interval)),
    }
}

/// The zones of a schedule: starts of one zone on the same days and as long as each other are its cycles.
pub fn rows_of_schedule(schedule: &Schedule) -> Vec<WateringRow> {
    let mut rows: Vec<WateringRow> = Vec::new();
    for timer in &schedule.timers {
        let days = days(timer, schedule);
        for start_s in &timer.starts_s {
            let mut begin_s = *start_s;
            for (zone, lasting_s) in &timer.zones {
                let run_s = lasting_s * timer.adjustment;
                let alike = |row: &&mut WateringRow| row.zone == *zone && row.days == days && (row.run_s - run_s).abs() < 0.5;
                match rows.iter_mut().find(alike) {
                    Some(row) => row.starts_s.push(begin_s),
                    None => rows.push(WateringRow { zone: zone.clone(), days: days.clone(), starts_s: vec![begin_s], run_s }),
                }
                begin_s += run_s + timer.pause_s;
            }
        }
    }
    rows.iter_mut().for_each(|row| row.starts_s.sort_by(f64::total_cmp));
    rows
}

/// Minutes as they are set on a timer: whole from ten on.
fn minutes(run_s: f64) -> String {
    let minutes = run_s / 60.0;
    if minutes >= 10.0 { format!("{minutes:.0}") } else { show_number_with(minutes, 2) }
}

/// The card of a schedule. Errors: a zone that is no valve of the garden; nothing on the timer.
pub fn watering_card(garden: &Garden, schedule: &Schedule) -> Result<Sheet, ReportError> {
    let rows = rows_of_schedule(schedule);
    if rows.is_empty() {
        return Err(ReportError::EmptyCard { card: "watering", missing: "zone on a timer" });
    }
    for row in &rows {
        garden.valve(&row.zone)?;
    }
    let cells = |row: &WateringRow| {
        let starts: Vec<String> = row.starts_s.iter().map(|start_s| clocks(*start_s, garden)).collect();
        let per_day = row.starts_s.len();
        vec![
            text(&*row.zone),
            text(&*row.days),
            text(starts.join(", ")),
            text(minutes(row.run_s)),
            text(per_day.to_string()),
            SheetCell::Blank,
        ]
    };
    let mut blocks = vec![table(&["Zone", "Days", "Start", "Minutes", "Cycles", "Set"], rows.iter().map(cells).collect())];
    let cycles = rows.iter().any(|row| row.starts_s.len() > 1);
    if cycles {
        blocks.push(SheetBlock::Text("Minutes are those of one cycle; each start is a cycle.".into()));
    }
    let left: Vec<&str> =
        garden.valves().map(|place| garden.name(place)).filter(|name| rows.iter().all(|row| row.zone != *name)).collect();
    if !left.is_empty() {
        blocks.push(SheetBlock::Text(format!("Not on the timer: {}.", names(&left))));
    }
    if !schedule.by_hand.is_empty() {
        let by_hand: Vec<&str> = schedule.by_hand.iter().map(|opening| opening.name.as_str()).collect();
        blocks.push(SheetBlock::Text(format!("Opened by hand: {}.", names(&by_hand))));
    }
    blocks
        .push(SheetBlock::Text("Local watering rules go first. Look at the soil with a spade before you change minutes.".into()));
    blocks.push(SheetBlock::Heading("Set".into()));
    let lines = ["Set on the timer on", "by", "Battery changed on", "Clock checked on", "Changed on", "why"];
    blocks.push(SheetBlock::Blanks(lines.map(String::from).to_vec()));
    let date = schedule.first_date.map_or(String::new(), |date| format!("From {} {date}", date.date().weekday()));
    Ok(sheet(garden, "Watering", date, blocks))
}
