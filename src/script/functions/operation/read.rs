//! From values of a script to times of the day, days and schedules.
//!
//! Contains no script functions; those are in its siblings.

use crate::operation::{CalendarDays, Hours, Schedule, Timer, clock_time_s};
use crate::quantity::dim;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, describe, expect_number, expect_quantity, weekday};
use rhai::{Array, Dynamic};

/// A time of the day or a time since the first midnight, in seconds, and whether it was a time of the day.
pub fn moment(value: &Dynamic, what: &str) -> Answer<(f64, bool)> {
    if let Ok(text) = value.as_immutable_string_ref() {
        return Ok((clock_time_s(&text).map_err(raise)?, true));
    }
    Ok((expect_quantity(value, dim::TIME, what)?, false))
}

/// A schedule, a timer, or a list of timers and schedules.
pub fn as_schedule(value: &Dynamic) -> Answer<Schedule> {
    if let Some(schedule) = value.read_lock::<Schedule>() {
        return Ok(schedule.clone());
    }
    if let Some(timer) = value.read_lock::<Timer>() {
        return Ok(Schedule { timers: vec![timer.clone()], ..Schedule::default() });
    }
    if let Some(list) = value.read_lock::<Array>() {
        let mut schedule = Schedule::default();
        for item in list.iter() {
            let more = as_schedule(item)?;
            schedule.timers.extend(more.timers);
            schedule.by_hand.extend(more.by_hand);
            schedule.held_pa = more.held_pa.or(schedule.held_pa);
            schedule.allowed = more.allowed.or(schedule.allowed);
            if let (Some(first), Some(other)) = (schedule.first_date, more.first_date)
                && first != other
            {
                let what = format!("schedules in a list begin on one day, found {} and {}", first.date(), other.date());
                return Err(ScriptError::new(what)
                    .with_hint("give the first day to the list, as in schedule([..]).starts_on(date(\"2026-07-01\"))")
                    .into());
            }
            schedule.first_date = schedule.first_date.or(more.first_date);
        }
        return Ok(schedule);
    }
    let error = ScriptError::new(format!("a schedule consists of timers, found {}", describe(value)));
    Err(error.with_hint("write timer(\"east\").start(\"05:30\").zone(\"beds\", 20.min)").into())
}

/// Hours between two times of the day.
pub fn hours_between(from: &str, to: &str) -> Answer<Hours> {
    Ok(Hours { from_s: clock_time_s(from).map_err(raise)?, to_s: clock_time_s(to).map_err(raise)? })
}

/// Days of the week, "odd" or "even"; a hint names two days as an example.
pub fn calendar_days(days: &Dynamic, word: &str, [one, other]: [&str; 2]) -> Answer<CalendarDays> {
    let names = as_names(days, word)?;
    Ok(match names.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["odd"] => CalendarDays::Odd,
        ["even"] => CalendarDays::Even,
        names => {
            let hint = format!("write \"{one}\", a list such as [\"{one}\", \"{other}\"], \"odd\" or \"even\"");
            CalendarDays::Weekdays(names.iter().map(|name| weekday(name, word, &hint)).collect::<Result<_, _>>()?)
        }
    })
}

pub fn days(value: &Dynamic, word: &str) -> Answer<Vec<u32>> {
    if let Some(list) = value.read_lock::<Array>() {
        let mut all = Vec::new();
        for item in list.iter() {
            all.extend(days(item, word)?);
        }
        return Ok(all);
    }
    let number = expect_number(value, &format!("{word}: day"))?;
    if number < 1.0 || number.fract() != 0.0 || number > 1e6 {
        return Err(ScriptError::new(format!("{word}: days are counted 1, 2, 3, found {number}")).into());
    }
    Ok(vec![number as u32])
}
