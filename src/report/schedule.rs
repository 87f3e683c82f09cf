//! Timers, schedules and faults in words, and where openings overlap.

use super::ReportError;
use crate::operation::{Fault, HandOpening, Schedule, Timer, clock, time_in_words};
use crate::quantity::{DAY_S, show_number};
use crate::table::{Column, Table};

fn lasting(seconds: f64) -> String {
    time_in_words(seconds).to_string()
}

/// A timer in words.
pub fn timer_in_words(timer: &Timer) -> String {
    let starts: Vec<String> = timer.starts_s.iter().map(|&start_s| clock(start_s)).collect();
    let zones: Vec<String> = timer.zones.iter().map(|(zone, lasting_s)| format!("{zone} {}", lasting(*lasting_s))).collect();
    let every = match show_number(timer.every_s / DAY_S) {
        days if days != "1" => Some(format!("every {days} days")),
        _ => timer.calendar.is_none().then(|| "every day".to_string()),
    };
    let from = (timer.first_day > 1).then(|| format!("from day {}", timer.first_day));
    let on = timer.calendar.as_ref().map(|days| days.in_words());
    let when: Vec<String> = [Some(starts.join(", ")), every, from, on].into_iter().flatten().collect();
    let mut text = format!("{}: {}", timer.name, when.join(" "));
    text += &format!(": {}", zones.join(", "));
    if timer.adjustment != 1.0 {
        text += &format!(", adjusted to {} %", show_number(100.0 * timer.adjustment));
    }
    if timer.pause_s > 0.0 {
        text += &format!(", {} between", lasting(timer.pause_s));
    }
    if !timer.skipped_days.is_empty() {
        let days: Vec<String> = timer.skipped_days.iter().map(u32::to_string).collect();
        text += &format!(", not on day {}", days.join(", "));
    }
    text
}

/// A schedule in words.
pub fn schedule_in_words(schedule: &Schedule) -> String {
    let opening = |opening: &HandOpening| match opening.every_s {
        Some(_) => format!("{} {} daily for {}", opening.name, clock(opening.at_s), lasting(opening.lasting_s)),
        None => format!("{} once at {} for {}", opening.name, schedule.moment(opening.at_s), lasting(opening.lasting_s)),
    };
    let date = schedule.first_date.map(|date| format!("from {} {date}", date.date().weekday()));
    let mut lines: Vec<String> = schedule.timers.iter().map(timer_in_words).collect();
    if !schedule.by_hand.is_empty() {
        lines.push(format!("by hand: {}", schedule.by_hand.iter().map(opening).collect::<Vec<_>>().join("; ")));
    }
    if lines.is_empty() {
        return "no zone opens".into();
    }
    lines.extend(date);
    lines.extend(schedule.allowed.as_ref().map(|allowed| format!("allowed {}", allowed.in_words())));
    lines.join("\n")
}

/// A fault in words.
pub fn fault_in_words(fault: &Fault) -> String {
    format!("{} {}", fault.part, fault.kind.words())
}

/// Openings of a schedule that overlap until a time. Errors: those of the schedule.
pub fn overlaps(schedule: &Schedule, until_s: f64) -> Result<Table, ReportError> {
    let found = schedule.overlaps(until_s)?;
    let by = |timer: &Option<String>| timer.clone().unwrap_or_else(|| "by hand".into());
    Ok(Table::new(vec![
        Column::texts("from", found.iter().map(|overlap| schedule.moment(overlap.from_s))),
        Column::texts("to", found.iter().map(|overlap| schedule.moment(overlap.to_s))),
        Column::texts("first", found.iter().map(|overlap| overlap.first.name.clone())),
        Column::texts("opened by", found.iter().map(|overlap| by(&overlap.first.timer))),
        Column::texts("second", found.iter().map(|overlap| overlap.second.name.clone())),
        Column::texts("also by", found.iter().map(|overlap| by(&overlap.second.timer))),
    ])?)
}
